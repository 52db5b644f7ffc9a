"""The events of one tree told in order: what each named part was given, and when.

This is the first half of replay. It keeps plain dictionaries and lists; rows and arrays come after,
when every part and its parent are known.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias

from boughwright.journal.events import (
    BranchSet,
    FrontTurned,
    LookAgain,
    Measured,
    Promised,
    Saw,
    TraitSet,
    TreeSet,
    Withdrawn,
    Worked,
    standing,
)
from boughwright.journal.names import clock_after_turn
from boughwright.journal.terms import Amount, Job, Kind, Quantity, Sign, Vigour, Work

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import date
    from uuid import UUID

    from boughwright.journal.events import Event, FieldValue

    Day: TypeAlias = tuple[date, UUID]
    """A day and the event that says so."""

STRENGTH = {
    Sign.FAILING: Vigour.FAILING,
    Sign.WEAK: Vigour.WEAK,
    Sign.STEADY: Vigour.STEADY,
    Sign.STRONG: Vigour.STRONG,
}
_RUNS = {Work.LET_RUN: 1, Work.CUT: 0, Work.PINCH: 0}
_UNION_SIGNS = {Sign.GAP: "union_gap", Sign.MOVED: "union_moves"}
_GRAFTS = frozenset({Work.GRAFT_IN, Work.GRAFT_ON})
_KEPT_BY: dict[str, frozenset[Work]] = {
    "cut past later": frozenset({Work.CUT}),
    "until base": frozenset({Work.CUT}),
    "until": frozenset({Work.CUT}),
    "swap when": frozenset({Work.CUT}),
    "for graft": _GRAFTS | {Work.SEVER},
}
"""Works that carry out a promise. ``keep`` and ``for scar`` end with the branch or a withdrawal."""


def done(work: Worked) -> bool:
    """Tell whether a work was done; the amount ``none`` records that it was not."""
    return work.amount is not Amount.NONE


@dataclass(slots=True)
class Part:
    """One named part of the tree while its story is told."""

    id: str
    fields: dict[str, FieldValue] = field(default_factory=dict)
    set_by: dict[str, UUID] = field(default_factory=dict)
    names: list[tuple[str, date, UUID]] = field(default_factory=list)
    first: Day | None = None
    """The first event that speaks of it."""
    entered: date | None = None
    """The day it was entered as a branch; None when only works or readings name it."""
    dead: Day | None = None
    cut_off: Day | None = None
    set_gone: Day | None = None
    grafted: list[Day] = field(default_factory=list)
    base_mm: float = float("nan")
    job_from_run: bool = False

    @property
    def gone(self) -> Day | None:
        """The first day it is known to be gone."""
        known = [day for day in (self.dead, self.cut_off, self.set_gone) if day is not None]
        return min(known, key=lambda day: day[0]) if known else None

    @property
    def name(self) -> str:
        """The name it bears at the end."""
        return self.names[-1][0] if self.names else self.id


@dataclass(frozen=True, slots=True)
class Said:
    """Something said of a branch, a zone or the whole crown, with the front of that day."""

    event: Event
    value: int
    zone: str
    front_deg: float
    instead_of: int | None = None
    """Only where this value stood before; None: whatever stood."""


@dataclass(slots=True)
class Story:
    """What the events of one tree say, in order."""

    tree: str
    events: list[Event]
    facts: dict[str, FieldValue] = field(default_factory=dict)
    facts_by: dict[str, UUID] = field(default_factory=dict)
    own_traits: dict[tuple[str, str], FieldValue] = field(default_factory=dict)
    garden_traits: dict[tuple[str, str], FieldValue] = field(default_factory=dict)
    front_deg: float = 0.0
    parts: dict[str, Part] = field(default_factory=dict)
    strength: list[Said] = field(default_factory=list)
    runs: list[Said] = field(default_factory=list)
    wiring: list[Said] = field(default_factory=list)
    seen: list[Said] = field(default_factory=list)
    promises: dict[tuple[str | None, str, str], Event] = field(default_factory=dict)

    def part(self, event: Event) -> Part | None:
        """Return the part an event speaks of, new when it is the first; None for the tree."""
        if event.branch is None:
            return None
        part = self.parts.get(event.branch)
        if part is None:
            part = self.parts[event.branch] = Part(event.branch)
            part.first = (event.on, event.id)
        return part


def tell(tree_id: str, events: Iterable[Event], until: date | None = None) -> Story:
    """Tell the story of one tree from any events, in any order.

    Events of other trees are passed over, and so are events that happened after ``until``:
    a withdrawal made later does not reach back.
    """
    mine = [
        event
        for event in events
        if (
            event.tree == tree_id
            or isinstance(event.body, Withdrawn)
            or (event.tree is None and isinstance(event.body, TraitSet))
        )
        and (until is None or event.on <= until)
    ]
    story = Story(tree_id, standing(mine))
    for event in story.events:
        teller = _TELLERS.get(type(event.body))
        if teller is not None:
            teller(story, event)
    return story


def traits_of(story: Story) -> dict[str, FieldValue]:
    """Return the overrides that hold for the tree: the garden's for its species, then its own."""
    species = story.facts.get("species")
    mine = None if species is None else str(species).casefold()
    traits = {
        trait: value for (of, trait), value in story.garden_traits.items() if of.casefold() == mine
    }
    for (of, trait), value in story.own_traits.items():
        if value is not None and mine in {None, of.casefold()}:
            traits[trait] = value
    return {trait: value for trait, value in traits.items() if value is not None}


def _put(
    into: dict[str, FieldValue], by: dict[str, UUID], key: str, value: FieldValue, event: Event
) -> None:
    by[key] = event.id
    if value is None:
        into.pop(key, None)
    else:
        into[key] = value


def _tree_set(story: Story, event: Event) -> None:
    assert isinstance(event.body, TreeSet)
    for key, value in event.body.fields.items():
        _put(story.facts, story.facts_by, key, value, event)
        if key == "vigour":
            day = None if value is None else event.on
            _put(story.facts, story.facts_by, "vigour_on", day, event)


def _branch_set(story: Story, event: Event) -> None:
    part, body = story.part(event), event.body
    assert isinstance(body, BranchSet)
    if part is None:
        return
    part.entered = part.entered or event.on
    for key, value in body.fields.items():
        if key == "name" and value is not None:
            if not part.names or part.name != str(value):
                part.names.append((str(value), event.on, event.id))
        elif key == "clock" and isinstance(value, int | float):
            # Kept as of the first front, so that a turn moves every branch alike.
            hour = clock_after_turn(float(value), -story.front_deg)
            _put(part.fields, part.set_by, key, hour, event)
        elif key == "gone_on":
            _set_gone(part, value, event)
        elif key == "vigour":
            strength = -1 if value is None else Vigour[str(value).upper()].value
            story.strength.append(Said(event, strength, "", story.front_deg))
        else:
            _put(part.fields, part.set_by, key, value, event)
            if key == "job":
                part.job_from_run = False


def _set_gone(part: Part, value: FieldValue, event: Event) -> None:
    if value is None:
        part.dead = part.cut_off = part.set_gone = None
    else:
        part.set_gone = (value, event.id)  # type: ignore[assignment]  # a date by its field


def _turned(story: Story, event: Event) -> None:
    assert isinstance(event.body, FrontTurned)
    story.front_deg = (story.front_deg + event.body.degrees) % 360.0


def _trait_set(story: Story, event: Event) -> None:
    body = event.body
    assert isinstance(body, TraitSet)
    into = story.garden_traits if event.tree is None else story.own_traits
    into[body.species, body.trait] = body.value


def _measured(story: Story, event: Event) -> None:
    part, body = story.part(event), event.body
    assert isinstance(body, Measured)
    if part is not None and body.what is Quantity.BASE:
        part.base_mm = body.value
    if body.what is Quantity.HEIGHT:
        into = (story.facts, story.facts_by) if part is None else (part.fields, part.set_by)
        _put(*into, "height_mm", body.value, event)


def _worked(story: Story, event: Event) -> None:
    part, body = story.part(event), event.body
    assert isinstance(body, Worked)
    if not done(body):
        return
    if body.work in _RUNS:
        story.runs.append(Said(event, _RUNS[body.work], body.zone, story.front_deg))
    if body.work in {Work.WIRE_ON, Work.WIRE_OFF}:
        story.wiring.append(Said(event, -1, body.zone, story.front_deg))
    _carry_out(story, event, part)
    if part is None:
        return
    if body.work is Work.CUT:
        _cut(part, event)
    elif body.work is Work.LET_RUN and body.until_base_mm is not None:
        _put(part.fields, part.set_by, "job_until_base_mm", body.until_base_mm, event)
        if "job" not in part.fields:
            _put(part.fields, part.set_by, "job", Job.THICKEN.value, event)
            part.job_from_run = True
    elif body.work in _GRAFTS:
        _graft(part, event)
    elif body.work is Work.SEVER:
        _put(part.fields, part.set_by, "weaned", True, event)


def _cut(part: Part, event: Event) -> None:
    assert isinstance(event.body, Worked)
    if event.body.to == "base" and part.cut_off is None:
        part.cut_off = (event.on, event.id)
    goal = part.fields.get("job_until_base_mm")
    if part.job_from_run and isinstance(goal, int | float) and part.base_mm >= goal:
        for key in ("job", "job_until_base_mm"):
            _put(part.fields, part.set_by, key, None, event)
        part.job_from_run = False


def _graft(part: Part, event: Event) -> None:
    body = event.body
    assert isinstance(body, Worked)
    for key in ("union_moves", "union_gap", "lips_joined", "donor"):
        part.fields.pop(key, None)  # an older union at this place says nothing of the new one
    part.grafted.append((event.on, event.id))
    new: dict[str, FieldValue] = {
        "kind": Kind.GRAFT.value, "grafted_on": event.on, "weaned": False, "donor": body.donor,
    }  # fmt: skip
    if body.method in {"thread", "approach"}:
        new["graft_kind"] = body.method
    for key, value in new.items():
        _put(part.fields, part.set_by, key, value, event)


def _carry_out(story: Story, event: Event, part: Part | None) -> None:
    """Close the promises that a work on a branch, or on the graft it serves, carries out."""
    body = event.body
    assert isinstance(body, Worked)
    if not story.promises or part is None:
        return
    served = {part.id} | ({body.donor} if body.work in _GRAFTS and body.donor else set())
    for key, promised in list(story.promises.items()):
        what = promised.body
        assert isinstance(what, Promised)
        if key[0] not in served or body.work not in _KEPT_BY.get(what.what, ()):
            continue
        thin = what.until_base_mm is not None and not part.base_mm >= what.until_base_mm
        early = what.until is not None and event.on < what.until
        if not thin and not early:
            del story.promises[key]


def _saw(story: Story, event: Event) -> None:
    part, body = story.part(event), event.body
    assert isinstance(body, Saw)
    story.seen.append(Said(event, -1, body.zone, story.front_deg))
    if body.amount is Amount.NONE:
        _not_seen(story, event, part)
        return
    if body.sign in STRENGTH:
        strength = STRENGTH[body.sign]
        if part is None and not body.zone:
            _put(story.facts, story.facts_by, "vigour", strength.word, event)
            _put(story.facts, story.facts_by, "vigour_on", event.on, event)
        else:
            story.strength.append(Said(event, strength.value, body.zone, story.front_deg))
    if body.sign is Sign.BITE or (body.sign is Sign.OK and (part is not None or body.zone)):
        story.wiring.append(Said(event, -1, body.zone, story.front_deg))
    if part is None:
        return
    if body.sign is Sign.DEAD and part.dead is None:
        part.dead = (event.on, event.id)
    elif body.sign in _UNION_SIGNS:
        _put(part.fields, part.set_by, _UNION_SIGNS[body.sign], True, event)


def _not_seen(story: Story, event: Event, part: Part | None) -> None:
    """Take back a sign that was looked for and not there, at the place that was looked at."""
    body = event.body
    assert isinstance(body, Saw)
    whole = part is None and not body.zone
    if body.sign in STRENGTH:
        strength = STRENGTH[body.sign]
        if whole and story.facts.get("vigour") == strength.word:
            _put(story.facts, story.facts_by, "vigour", None, event)
            _put(story.facts, story.facts_by, "vigour_on", None, event)
        elif not whole:
            story.strength.append(Said(event, -1, body.zone, story.front_deg, strength.value))
    elif body.sign is Sign.BITE:
        story.wiring.append(Said(event, -1, body.zone, story.front_deg))
    elif body.sign is Sign.FRUIT and whole:
        _put(story.facts, story.facts_by, "fruiting", False, event)
    elif part is not None and body.sign is Sign.DEAD:
        part.dead = None
    elif part is not None and body.sign in _UNION_SIGNS:
        _put(part.fields, part.set_by, _UNION_SIGNS[body.sign], False, event)


def _promised(story: Story, event: Event) -> None:
    assert isinstance(event.body, Promised)
    story.part(event)
    story.promises[event.branch, event.body.zone, event.body.what] = event


def _looked(story: Story, event: Event) -> None:
    assert isinstance(event.body, LookAgain)
    story.part(event)


_TELLERS: dict[type, Callable[[Story, Event], None]] = {
    TreeSet: _tree_set,
    BranchSet: _branch_set,
    FrontTurned: _turned,
    TraitSet: _trait_set,
    Measured: _measured,
    Worked: _worked,
    Saw: _saw,
    Promised: _promised,
    LookAgain: _looked,
}

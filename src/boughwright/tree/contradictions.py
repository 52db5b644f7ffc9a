"""Records that cannot both be right: found and listed for the grower, none mended.

Each finder looks for one kind of fault and returns what it finds with the events behind it.
Faults of parents and of wire are found where rows and the wire register are made.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from boughwright.journal.events import Measured, Saw, Worked
from boughwright.journal.terms import Amount, Job, Kind, Quantity, Sign, Work
from boughwright.tree.model import Contradiction
from boughwright.tree.naming import name_key
from boughwright.tree.readings import WOOD, noise_mm
from boughwright.tree.story import done
from boughwright.units import show_date

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from uuid import UUID

    from boughwright.journal.events import Event
    from boughwright.tree.build import Frame
    from boughwright.tree.model import Tree
    from boughwright.tree.readings import DayReading, Index
    from boughwright.tree.story import Part, Story

GROWN_PAST_DAYS = 400
"""A base read longer after the wood it grows from may have outgrown that reading."""

OVER_OUTLINE = 1.15
"""A start higher than this share of the agreed outline is a mistake, unless it is a sacrifice."""

PAST_TIP = 1.15
ROOM_SLACK_MM = 2.0
"""Starting values; room and heights are read by tape, good to 2 mm."""

_KINDS, _JOBS = tuple(Kind), tuple(Job)
_CROWN = {_KINDS.index(kind) for kind in (Kind.BRANCH, Kind.TOP, Kind.GRAFT)}
_SACRIFICE = _JOBS.index(Job.SACRIFICE)
_CLEARING = {Work.CUT, Work.RUB, Work.WIRE_OFF, Work.GUY_OFF, Work.SEVER}
"""Works that are still done on a dead branch."""

_ALIVE = {Sign.OK, Sign.STRONG, Sign.STEADY, Sign.WEAK, Sign.SWELL, Sign.BURST, Sign.FIRST_LEAF,
          Sign.RUNNING, Sign.CLOSING, Sign.HARD, Sign.REGROWTH}  # fmt: skip
_WORDS = {
    Quantity.BASE: "base", Quantity.TRUNK: "trunk beside", Quantity.EXIT: "exit of",
    Quantity.ENTRY: "entry of",
}  # fmt: skip
_AGAIN = "Measure again at the mark, and withdraw the reading that is wrong."


@dataclass(frozen=True, slots=True)
class Case:
    """What the finders look at: the tree, its story, its rows, its readings and days gone."""

    tree: Tree
    story: Story
    frame: Frame
    index: Index
    gone: list[int]

    def name(self, row: int) -> str:
        """Return the name of a row, or of the tree."""
        return self.tree.branches.names[row] if row >= 0 else self.tree.name

    def last(self, what: Quantity, row: int) -> DayReading | None:
        """Return the last reading of a quantity on a row."""
        readings = self.index.get((what, row))
        return readings[-1] if readings else None


def find_contradictions(case: Case) -> tuple[Contradiction, ...]:
    """Return every contradiction of a tree's record, by kind and then by row."""
    return tuple(fault for finder in _FINDERS for fault in finder(case))


def _mm(value: float) -> str:
    return f"{{{value:.1f} mm}}"


def _day(ordinal: int) -> str:
    return show_date(date.fromordinal(ordinal))


# --- readings against each other -----------------------------------------------------------------


def _shrank(case: Case) -> Iterator[Contradiction]:
    """Hold each reading of wood against the thickest before it: wood does not get thinner."""
    for (what, row), readings in case.index.items():
        if what not in WOOD:
            continue
        since = int(case.tree.branches.grafted_on[row]) if what in _UNION else -1
        good = [one for one in readings if one.agree and one.day >= since]
        for peak, low, events in _falls(good):
            trunk = what is Quantity.TRUNK or row == 0
            thing = "trunk" if row == 0 else f"{_WORDS[what]} {case.name(row)}"
            yield Contradiction(
                "trunk-shrank" if trunk else "shrank", row, events,
                f"The {thing} was {_mm(peak.value)} on {_day(peak.day)} and {_mm(low.value)} on "
                f"{_day(low.day)}. Wood does not get thinner.",
                _AGAIN,
            )  # fmt: skip


_UNION = {Quantity.EXIT, Quantity.ENTRY}


def _falls(
    readings: list[DayReading],
) -> Iterator[tuple[DayReading, DayReading, tuple[UUID, ...]]]:
    """Yield each peak, the first reading that falls too far below it, and all events behind."""
    peak: DayReading | None = None
    fallen: list[DayReading] = []
    for one in readings:
        if peak is None or one.value >= peak.value:
            if peak is not None and fallen:
                yield peak, fallen[0], _events(peak, *fallen)
            peak, fallen = one, []
        elif peak.value - one.value > noise_mm(peak.reading_sd, one.reading_sd):
            fallen.append(one)
    if peak is not None and fallen:
        yield peak, fallen[0], _events(peak, *fallen)


def _events(*readings: DayReading) -> tuple[UUID, ...]:
    return tuple(event for one in readings for event in one.events)


def _two_readings(case: Case) -> Iterator[Contradiction]:
    for (what, row), readings in case.index.items():
        for one in readings:
            if not one.agree:
                low, high = (f(one.all, key=lambda m: m.value) for f in (min, max))
                yield Contradiction(
                    "two-readings", row, tuple(m.event for m in one.all),
                    f"On {_day(one.day)} the {what.value} of {case.name(row)} was read as "
                    f"{_mm(low.value)} and as {_mm(high.value)}. No oval branch differs so much.",
                    _AGAIN,
                )  # fmt: skip


def _too_thick(case: Case) -> Iterator[Contradiction]:
    """Find branches thicker than the wood they grow from."""
    rows = case.tree.branches
    for row in range(1, len(rows)):
        base = case.last(Quantity.BASE, row)
        if base is None or rows.gone[row] or int(rows.kind[row]) not in _CROWN:
            continue
        parent = int(rows.parent[row])
        beside = case.last(Quantity.TRUNK, row)
        wood = beside or case.last(Quantity.BASE, parent)
        if wood is None or base.day - wood.day > GROWN_PAST_DAYS:
            continue
        if base.value - wood.value > noise_mm(base.reading_sd, wood.reading_sd):
            primary = rows.order[row] == 1
            where = "beside it" if beside else "at its base"
            thing = "the trunk" if primary else f"its parent {case.name(parent)}"
            yield Contradiction(
                "thicker-than-trunk" if primary else "thicker-than-parent", row,
                _events(base, wood),
                f"{case.name(row)} is {_mm(base.value)} at its base ({_day(base.day)}), thicker "
                f"than {thing} {where}, {_mm(wood.value)} ({_day(wood.day)}).",
                "Measure both again at the mark.",
            )  # fmt: skip


def _scar_opened(case: Case) -> Iterator[Contradiction]:
    pared: dict[int, list[int]] = {}
    for work in case.tree.works:
        if work.what.work in {Work.RIM, Work.CUT}:
            pared.setdefault(work.branch, []).append(work.on.toordinal())
    for (what, row), readings in case.index.items():
        if what is not Quantity.OPEN:
            continue
        days = pared.get(row, [])
        for was, now in pairwise(readings):
            if any(was.day <= day <= now.day for day in days):
                continue
            if now.value - was.value > noise_mm(was.reading_sd, now.reading_sd):
                yield _opened(
                    case,
                    row,
                    now,
                    was=was.value,
                    when=f"on {_day(was.day)}",
                    events=_events(was, now),
                )
        for one in readings:
            before = one.all[-1].earlier
            if one.value - before > noise_mm(one.reading_sd) and not any(
                day <= one.day for day in days
            ):
                yield _opened(case, row, one, was=before, when="before", events=one.events)


def _opened(
    case: Case, row: int, now: DayReading, *, was: float, when: str, events: tuple[UUID, ...]
) -> Contradiction:
    return Contradiction(
        "scar-opened", row, events,
        f"{case.name(row)} was open {_mm(was)} {when} and {_mm(now.value)} on {_day(now.day)}, "
        "with no work on its rim between.",
        "Measure again across the widest place, or enter the rim work.",
    )  # fmt: skip


def _room_shorter(case: Case) -> Iterator[Contradiction]:
    for row in range(len(case.tree.branches)):
        node, room = case.last(Quantity.NODE, row), case.last(Quantity.ROOM, row)
        if node is None or room is None or case.tree.branches.gone[row]:
            continue
        if node.value - room.value > max(ROOM_SLACK_MM, noise_mm(node.reading_sd, room.reading_sd)):
            yield Contradiction(
                "room-shorter", row, _events(node, room),
                f"The internode in doubt on {case.name(row)} is {_mm(node.value)} "
                f"({_day(node.day)}), longer than the room of {_mm(room.value)} from its node to "
                f"the outline ({_day(room.day)}).",
                "Measure both again, or draw the outline anew.",
            )  # fmt: skip


# --- places --------------------------------------------------------------------------------------


def _too_high(case: Case) -> Iterator[Contradiction]:
    rows, outline = case.tree.branches, case.tree.facts.get("height_mm")
    if not isinstance(outline, int | float):
        return
    for row in range(len(rows)):
        high = rows.height_mm[row] > OVER_OUTLINE * outline  # False when unknown
        if not high or rows.order[row] != 1 or rows.gone[row] or rows.job[row] == _SACRIFICE:
            continue
        part = case.frame.parts[row]
        yield Contradiction(
            "too-high", row, (part.set_by["height_mm"], case.story.facts_by["height_mm"]),
            f"{case.name(row)} is said to start {_mm(float(rows.height_mm[row]))} up, above the "
            f"agreed outline of {_mm(float(outline))}.",
            "Measure its height again, or enter it as a sacrifice.",
        )  # fmt: skip


def _past_tip(case: Case) -> Iterator[Contradiction]:
    rows = case.tree.branches
    for row in range(1, len(rows)):
        length = case.last(Quantity.LENGTH, int(rows.parent[row]))
        if length is None or rows.gone[row] or rows.order[row] < 2:
            continue
        if rows.along_mm[row] > PAST_TIP * length.value:
            yield Contradiction(
                "past-tip", row, (case.frame.parts[row].set_by["along_mm"], *length.events),
                f"{case.name(row)} is said to start {_mm(float(rows.along_mm[row]))} along "
                f"{case.name(int(rows.parent[row]))}, which is {_mm(length.value)} long "
                f"({_day(length.day)}).",
                "Measure again where it starts, or name its right parent.",
            )  # fmt: skip


def _name_twice(case: Case) -> Iterator[Contradiction]:
    bearers: dict[str, list[int]] = {}
    for row, name in enumerate(case.tree.branches.names):
        if not case.tree.branches.gone[row]:
            bearers.setdefault(name_key(name), []).append(row)
    for rows in bearers.values():
        given = [case.frame.parts[row].names[-1] for row in rows if case.frame.parts[row].names]
        if len(rows) > 1:
            days = " and ".join(show_date(day) for _, day, _ in given)
            yield Contradiction(
                "name-twice", rows[0], tuple(event for _, _, event in given),
                f"{len(rows)} branches are called {case.name(rows[0])} (named on {days}).",
                "Give one of them another name.",
            )  # fmt: skip


def _not_a_graft(case: Case) -> Iterator[Contradiction]:
    told: dict[int, list[Event]] = {}
    for event in case.story.events:
        body = event.body
        read = isinstance(body, Measured) and body.what in _UNION
        cut = isinstance(body, Worked) and body.work is Work.SEVER and done(body)
        if (read or cut) and event.branch is not None:
            row = case.frame.row[event.branch]
            if not _is_graft(case, row):
                told.setdefault(row, []).append(event)
    for row, events in sorted(told.items()):
        body = events[0].body
        said = f"{body.what.value} {_mm(body.value)}" if isinstance(body, Measured) else "severed"
        yield Contradiction(
            "not-a-graft", row, tuple(event.id for event in events),
            f"{case.name(row)} has “{said}” on {show_date(events[0].on)}, but it is on record as a "
            f"{_KINDS[case.tree.branches.kind[row]].value}, not as a graft.",
            "Enter the graft and its day, or move this to the right branch.",
        )  # fmt: skip


def _is_graft(case: Case, row: int) -> bool:
    part = case.frame.parts[row]
    kind = _KINDS[case.tree.branches.kind[row]]
    return kind is Kind.GRAFT or bool(part.grafted) or "grafted_on" in part.fields


# --- dates ---------------------------------------------------------------------------------------


def _gone_but(case: Case) -> Iterator[Contradiction]:
    """Works, readings and signs of life after a branch was gone."""
    told: dict[tuple[int, str], list[Event]] = {}
    for event in case.story.events:
        # A note may name a branch that nothing else does: it has no row.
        row = case.frame.row.get(event.branch or "", -1)
        if row < 0 or case.gone[row] < 0 or event.on.toordinal() <= case.gone[row]:
            continue
        kind = _after_gone(event, _lost_with(case, row))
        if kind:
            told.setdefault((row, kind), []).append(event)
    for (row, kind), events in sorted(told.items()):
        gone = _lost_with(case, row).gone
        assert gone is not None
        yield Contradiction(
            kind, row, (gone[1], *(event.id for event in events)),
            f"{case.name(row)} is gone since {show_date(gone[0])}, yet it was "
            f"{kind.rpartition('-')[2]} on {show_date(events[0].on)}.",
            "Withdraw that it is gone, or move the later record to the right branch.",
        )  # fmt: skip


def _lost_with(case: Case, row: int) -> Part:
    """Return the part whose loss took this row away."""
    parent = case.frame.parent[row]
    while parent >= 0 and case.gone[parent] == case.gone[row]:
        row, parent = parent, case.frame.parent[parent]
    return case.frame.parts[row]


def _after_gone(event: Event, lost: Part) -> str:
    body = event.body
    if isinstance(body, Measured):
        return "gone-but-measured"
    if isinstance(body, Saw):
        alive = body.sign in _ALIVE and body.amount is not Amount.NONE
        return "gone-but-seen" if alive else ""
    if not isinstance(body, Worked) or not done(body):
        return ""
    taken = [day[0] for day in (lost.cut_off, lost.set_gone) if day is not None]
    clearing = body.work in _CLEARING and event.on <= min(taken, default=date.max)
    return "" if clearing else "gone-but-worked"


def _donors(case: Case) -> Iterator[Contradiction]:
    rows = case.tree.branches
    for row in range(len(rows)):
        donor, day = int(rows.donor[row]), int(rows.grafted_on[row])
        if donor < 0 or day < 0:
            continue
        part, giver = case.frame.parts[row], case.frame.parts[donor]
        behind = (part.set_by["grafted_on"],)
        since = _not_before(part, giver, int(rows.grafted_on[donor]), day)
        graft = f"{case.name(row)} was grafted from {case.name(donor)} on {_day(day)}, but"
        if since is not None:
            yield Contradiction(
                "graft-before-donor", row, (*behind, since[1]),
                f"{graft} {case.name(donor)} is there only since {show_date(since[0])}.",
                "Name the right donor, or mend one of the two days.",
            )  # fmt: skip
        gone = _lost_with(case, donor).gone
        if 0 <= case.gone[donor] < day and gone is not None:
            yield Contradiction(
                "donor-gone", row, (*behind, gone[1]),
                f"{graft} {case.name(donor)} is gone since {show_date(gone[0])}.",
                "Name the right donor, or mend one of the two days.",
            )  # fmt: skip


def _not_before(part: Part, giver: Part, donor_grafted: int, day: int) -> tuple[date, UUID] | None:
    """Return since when a donor is there, when that is after the graft.

    A donor entered later counts only when the graft itself was entered in its time: a record
    made up afterwards enters every branch late.
    """
    if donor_grafted > day:
        return date.fromordinal(donor_grafted), giver.set_by["grafted_on"]
    graft_day = date.fromordinal(day)
    timely = part.entered is not None and part.entered <= graft_day
    if timely and giver.first is not None and giver.first[0] > graft_day:
        return giver.first
    return None


def _before_grafted(case: Case) -> Iterator[Contradiction]:
    """Wire on a graft, or its severing, before it was made."""
    for work in case.tree.works:
        if work.branch < 0 or work.what.work not in {Work.WIRE_ON, Work.SEVER}:
            continue
        part = case.frame.parts[work.branch]
        made = part.grafted[0] if part.grafted else _made(case, work.branch)
        if made is not None and work.on < made[0]:
            yield Contradiction(
                "date-order", work.branch, (work.event, made[1]),
                f"{case.name(work.branch)} was {_DONE[work.what.work]} on {show_date(work.on)}, "
                f"before it was grafted on {show_date(made[0])}.",
                "Mend one of the two days.",
            )  # fmt: skip


_DONE = {Work.WIRE_ON: "wired", Work.SEVER: "severed"}


def _made(case: Case, row: int) -> tuple[date, UUID] | None:
    day = int(case.tree.branches.grafted_on[row])
    return (date.fromordinal(day), case.frame.parts[row].set_by["grafted_on"]) if day >= 0 else None


def _acquired(case: Case) -> Iterator[Contradiction]:
    facts, by = case.tree.facts, case.story.facts_by
    came, dug = facts.get("acquired_on"), facts.get("collected_on")
    if not isinstance(came, date):
        return
    if isinstance(dug, date) and dug > came:
        yield Contradiction(
            "date-order", -1, (by["collected_on"], by["acquired_on"]),
            f"{case.tree.name} came on {show_date(came)} but was collected on {show_date(dug)}.",
            "Mend one of the two days.",
        )  # fmt: skip
    early = [work for work in case.tree.works if work.on < came]
    if early:
        yield Contradiction(
            "date-order", -1, (by["acquired_on"], *(work.event for work in early)),
            f"{case.tree.name} came on {show_date(came)}, yet “{early[0].what.work.value}” is on "
            f"record for {show_date(early[0].on)}.",
            "Mend the day it came, or the day of the work.",
        )  # fmt: skip


def _future(case: Case) -> Iterator[Contradiction]:
    """Find days after the one of entry; one day is left for places ahead of UTC."""
    for event in case.story.events:
        if event.on > event.recorded.date() + timedelta(days=1):
            row = -1 if event.branch is None else case.frame.row[event.branch]
            yield Contradiction(
                "future-date", row, (event.id,),
                f"A record of {case.name(row)} is dated {show_date(event.on)}, but was entered on "
                f"{show_date(event.recorded.date())}.",
                "Mend its day.",
            )  # fmt: skip


_FINDERS: tuple[Callable[[Case], Iterator[Contradiction]], ...] = (
    _shrank,
    _two_readings,
    _too_thick,
    _scar_opened,
    _room_shorter,
    _too_high,
    _past_tip,
    _name_twice,
    _not_a_graft,
    _gone_but,
    _donors,
    _before_grafted,
    _acquired,
    _future,
)

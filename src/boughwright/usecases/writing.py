"""From a line as it was understood, and a tree, to the records it makes; nothing is stored here."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from boughwright.errors import AmbiguousNameError, BoughwrightError, UnknownNameError
from boughwright.journal.check import check
from boughwright.journal.events import (
    BranchSet,
    Event,
    LookAgain,
    Measured,
    Noted,
    Promised,
    Saw,
    Withdrawn,
    Worked,
)
from boughwright.journal.names import is_name, normal_name
from boughwright.journal.phrases import Entry, Line
from boughwright.journal.receipt import receipt
from boughwright.journal.terms import Kind, Work
from boughwright.tree.naming import find

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date, datetime

    from boughwright.journal.events import Body
    from boughwright.tree.model import Tree
    from boughwright.usecases.called import HasNames

GRAFTS = frozenset({Work.GRAFT_IN, Work.GRAFT_ON})


@dataclass(frozen=True, slots=True)
class Said:
    """What became of one line.

    ``receipts`` are plain sentences, one for each event; ``doubts`` say what was kept only as a
    note, and why; ``unread`` are words that nothing was made of; ``withdrawn`` counts events taken
    back; ``units`` is the unit that lengths are told in; ``known`` tells that a line of the same
    id was kept before, and that this is what was answered then.
    """

    text: str
    tree: str | None
    events: tuple[Event, ...]
    receipts: tuple[str, ...]
    doubts: tuple[str, ...]
    unread: tuple[str, ...]
    withdrawn: int = 0
    units: str = "mm"
    known: bool = field(default=False, compare=False)


@dataclass(frozen=True, slots=True)
class Stamp:
    """What every event of one line shares."""

    now: datetime
    who: str
    today: date
    units: str

    def event(self, body: Body, tree: str, branch: str | None, on: date | None = None) -> Event:
        """Return an event of the line."""
        return Event(
            body, on or self.today, tree=tree, branch=branch, who=self.who, recorded=self.now
        )


@dataclass(slots=True)
class _Page:
    """One line while it is being turned into events."""

    tree: Tree
    stamp: Stamp
    doubts: list[str]
    events: list[Event] = field(default_factory=list)

    def put(self, body: Body, branch: str | None, on: date) -> None:
        self.events.append(self.stamp.event(body, self.tree.id, branch, on))


def written(line: Line, tree: Tree, stamp: Stamp) -> Said:
    """Return what a line writes down of a tree.

    What no branch is found for, or cannot be right, is kept as a note, with a doubt that says why.
    """
    line = _without_strangers(line)
    page = _Page(tree, stamp, list(line.doubts))
    for entry in line.entries:
        on = entry.when or line.when or stamp.today
        for body, branch in _resolved(entry, page, on):
            event = stamp.event(_donor_found(body, tree), tree.id, branch, on)
            try:
                check(event)
            except BoughwrightError as error:
                page.doubts.append(f"Kept as a note only: {error}")
                event = replace(event, body=Noted(entry.spelled, unread=True))
            page.events.append(event)
    if not page.events and not page.doubts:
        page.doubts.append("There is nothing to repeat; nothing was written.")
    receipts = tuple(told(event, tree, stamp, page.events) for event in page.events)
    return Said(
        line.text, tree.name, tuple(page.events), receipts, tuple(page.doubts), line.unread,
        units=stamp.units,
    )  # fmt: skip


def mended(line: Line, last: Sequence[Event], tree: Tree, stamp: Stamp) -> Said:
    """Return what takes the last line back: whole, on some places, or to another day."""
    if line.not_places:
        rows = {row for place in line.not_places for row in find(tree, place).rows}
        ids = {tree.branches.ids[row] for row in rows}
        last = [event for event in last if event.branch in ids]
    said = taken_back(line.text, last, tree, stamp)
    if not line.moved_to:
        return replace(said, unread=line.unread)
    again = [stamp.event(e.body, tree.id, e.branch, line.moved_to) for e in last]
    receipts = tuple(told(event, tree, stamp) for event in again)
    return replace(said, events=(*said.events, *again), receipts=receipts, unread=line.unread)


def taken_back(text: str, last: Sequence[Event], tree: Tree, stamp: Stamp) -> Said:
    """Return what takes events back, ``text`` the line that says so."""
    back = tuple(stamp.event(Withdrawn(e.id, because=text), tree.id, None) for e in last)
    receipts = tuple(f"Taken back: {told(event, tree, stamp)}" for event in last)
    doubts = () if last else ("There is nothing to take back.",)
    return Said(text, tree.name, back, receipts, doubts, (), len(last), stamp.units)


def told(event: Event, tree: Tree, stamp: Stamp, new: Iterable[Event] = ()) -> str:
    """Return the plain sentence of an event; ``new`` are events that enter branches."""
    names = dict(zip(tree.branches.ids, tree.branches.names, strict=True))
    for one in new:
        if isinstance(one.body, BranchSet) and one.branch is not None:
            names.setdefault(one.branch, str(one.body.fields.get("name") or one.branch))
    place = names.get(event.branch or "", getattr(event.body, "zone", ""))
    body = event.body
    if isinstance(body, Worked) and body.donor in names:
        body = replace(body, donor=names[body.donor])
    return receipt(body, place, on=event.on, today=stamp.today, units=stamp.units)


def last_said(last: Sequence[Event], tree: Tree) -> tuple[str, list[Body]]:
    """Return the place and the bodies that a line goes on from, given the events before it."""
    if not last:
        return "", []
    names = dict(zip(tree.branches.ids, tree.branches.names, strict=True))
    own = [e for e in last if e.branch == last[-1].branch and not isinstance(e.body, BranchSet)]
    place = names.get(last[-1].branch or "", getattr(last[-1].body, "zone", ""))
    return place, [event.body for event in own]


def as_note(line: Line, doubt: str) -> Line:
    """Return a line of which nothing but its words is kept."""
    note = Entry((), (), (Noted(line.text, unread=True),), line.text)
    return Line(line.text, entries=(note,), doubts=(doubt,), unread=line.unread)


def _without_strangers(line: Line) -> Line:
    """Return a line whose clauses that begin with a word nobody knows are kept as notes only.

    Such a word stands where a place stands, so that what follows would go to another branch.
    """
    odd = {word.casefold().strip(",.;:") for text in line.unread for word in text.split()}
    entries, doubts = [], list(line.doubts)
    for entry in line.entries:
        head = next(iter(entry.spelled.split()), "").strip(",.;:")
        acts = [body for body in entry.bodies if not isinstance(body, Noted)]
        if head.casefold() in odd and acts:
            doubts.append(f"Kept as a note only: {head!r} is no place on the tree")
            entries.append(Entry((), (), (Noted(entry.spelled, unread=True),), entry.spelled))
        else:
            entries.append(entry)
    return replace(line, entries=tuple(entries), doubts=tuple(doubts))


def stranger(line: Line) -> str:
    """Return the first word of a line when nothing was made of it: it may name another tree."""
    head = line.text.split()[0].casefold().strip(",.;:") if line.text.split() else ""
    strange = {word.casefold().strip(",.;:") for text in line.unread for word in text.split()[:1]}
    return head if head in strange and len(line.text.split()) > 1 else ""


def callable_names(trees: Sequence[HasNames]) -> list[str]:
    """Return what a line may begin with; a key or tag spelled like a name is left out."""
    tags = [str(tree.facts["tag"]) for tree in trees if tree.facts.get("tag")]
    names = dict.fromkeys(tree.name for tree in trees)
    spelled = {name.casefold() for name in names}
    for other in (*(tree.id for tree in trees), *tags):
        if other.casefold() not in spelled:
            names[other] = None
            spelled.add(other.casefold())
    return list(names)


def _resolved(entry: Entry, page: _Page, on: date) -> list[tuple[Body, str | None]]:
    """Return each body of an entry with the branch it belongs to, None for the tree or a zone."""
    left_out = {row for place in entry.excepts for row in _rows(place, page)}
    found: list[tuple[Body, str | None]] = []
    for place, body in entry.acts:
        if not place:
            found.append((body, None))
            continue
        try:
            where = find(page.tree, place)
        except (UnknownNameError, AmbiguousNameError) as error:
            new = _new_branch(place, body, page, on)
            if new is None:
                page.doubts.append(f"Kept as a note only: {error}")
                found.append((Noted(entry.spelled, unread=True), None))
            else:
                found.append((body, new))
            continue
        if where.match in {"zone", "all"} and not left_out and not isinstance(body, Measured):
            found.append((body, None))
            continue
        ids = [page.tree.branches.ids[row] for row in where.rows if row not in left_out]
        plain = replace(body, zone="") if isinstance(body, _ZONED) else body
        found += [(plain, branch) for branch in ids]
    return found


_ZONED = Worked | Saw | Promised | LookAgain


def _rows(place: str, page: _Page) -> tuple[int, ...]:
    try:
        return find(page.tree, place).rows
    except BoughwrightError as error:
        page.doubts.append(str(error))
        return ()


def _new_branch(place: str, body: Body, page: _Page, on: date) -> str | None:
    """Enter a branch that a graft makes, or a scar first measured; None for any other act."""
    for event in page.events:
        if isinstance(event.body, BranchSet) and event.body.fields.get("name") == place:
            return event.branch
    graft = isinstance(body, Worked) and body.work in GRAFTS
    scar = place.startswith("scar")
    if not is_name(place) or not (graft or scar):
        return None
    name = normal_name(place)
    if graft and not name.endswith("g"):
        name += "g"
    key = name if name not in page.tree.branches.ids else f"{name}-{on.isoformat()}"
    kind = Kind.GRAFT if graft else Kind.SCAR
    page.put(BranchSet({"name": name, "kind": kind.value}), key, on)
    return key


def _donor_found(body: Body, tree: Tree) -> Body:
    """Return a graft's body with its donor's lasting id in place of its name."""
    if not isinstance(body, Worked) or not body.donor:
        return body
    try:
        rows = find(tree, body.donor).rows
    except BoughwrightError:
        return body
    return replace(body, donor=tree.branches.ids[rows[0]]) if len(rows) == 1 else body

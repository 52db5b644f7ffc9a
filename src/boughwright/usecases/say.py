"""Write down bench phrases: read them, find the branches, keep the events, echo plain words."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

from boughwright.errors import AmbiguousNameError, BoughwrightError, UnknownNameError
from boughwright.journal.check import check
from boughwright.journal.codec import to_record
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
    standing,
)
from boughwright.journal.garden import garden_of
from boughwright.journal.names import is_name, normal_name
from boughwright.journal.phrases import Entry, Line, parse
from boughwright.journal.receipt import receipt
from boughwright.journal.terms import Kind, Work
from boughwright.settings import settings_of
from boughwright.store.book import Book
from boughwright.store.reader import Reader
from boughwright.tree.naming import find
from boughwright.tree.replay import replay
from boughwright.usecases.called import named
from boughwright.usecases.shapes import shaped

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from boughwright.journal.events import Body
    from boughwright.settings import Settings
    from boughwright.tree.model import Tree
    from boughwright.usecases.shapes import Json

GRAFTS = frozenset({Work.GRAFT_IN, Work.GRAFT_ON})
SAID_ID = 7
"""Version of the id of a record made where it was said."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """One line to write down.

    ``on`` is the day it is said, ``who`` says it; ``units`` tells lengths, else the garden's.
    """

    text: str
    on: date
    tree: str | None = None
    who: str = ""
    now: datetime | None = None
    units: str | None = None


@dataclass(frozen=True, slots=True)
class Said:
    """What became of one line.

    ``receipts`` are plain sentences, one for each event; ``doubts`` say what was kept only as a
    note, and why; ``unread`` are words that nothing was made of; ``withdrawn`` counts events taken
    back; ``units`` is the unit that lengths are told in.
    """

    text: str
    tree: str | None
    events: tuple[Event, ...]
    receipts: tuple[str, ...]
    doubts: tuple[str, ...]
    unread: tuple[str, ...]
    withdrawn: int = 0
    units: str = "mm"


def say(path: Path, phrases: Sequence[Phrase], *, create: bool = False) -> list[Said]:
    """Write down bench phrases, each as its own line of the book.

    Parameters
    ----------
    path : Path
        The book.
    phrases : sequence of Phrase
        In the order said.
    create : bool
        Make the book when there is none.

    Returns
    -------
    list of Said
        One a phrase. Everything in them is on the disk.

    Raises
    ------
    TextError
        When a line is empty.
    UnknownNameError
        When no tree is meant, or the tree named is not in the book.
    """
    with Book.open(path, create=create) as book:
        bench = _Bench.of(book.events())
        answers = []
        for phrase in phrases:
            said = bench.take(phrase)
            book.append(said.events)
            bench.add(said.events)
            answers.append(said)
    return answers


def withdraw(
    path: Path, tree: str, record: str, *, on: date, who: str = "", units: str | None = None
) -> Said:
    """Take back one record of a tree, however old.

    Parameters
    ----------
    path : Path
        The book.
    tree : str
        Name, tag or key of the tree.
    record : str
        The record's id, or its last letters as `records` gives them.
    on : date
        The day it is taken back.
    who : str
        Who takes it back; else who writes by the garden's settings.
    units : str, optional
        Unit that lengths are told in; else the garden's.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
        When no tree or record is meant, or more than one.
    """
    with Book.open(path) as book:
        bench = _Bench.of(book.events())
        trees = [bench.tree(name) for name in bench.by_tree if name is not None]
        here = trees[named(tree, trees)]
        settings = bench.settings
        stamp = _Stamp(datetime.now(UTC), who or settings.who, on, units or settings.units)
        wanted = record.strip().casefold().replace("-", "")
        counted = standing(bench.by_tree[here.id])
        found = [event for event in counted if wanted and event.id.hex.endswith(wanted)]
        if not found:
            raise UnknownNameError(
                f"no record of {here.name} that counts has the id {record!r}",
                allowed="an id that boughwright records --ids lists",
                todo="Copy it from there",
            )
        if len(found) > 1:
            raise AmbiguousNameError(
                f"{len(found)} records of {here.name} end in {record!r}",
                allowed=", ".join(event.id.hex[-12:] for event in found[:5]),
                todo="Give more of the id",
            )
        said = bench.taken_back(f"withdraw {record}", found, here, stamp)
        book.append(said.events)
    return said


@dataclass
class _Bench:
    """What is known while lines are written down: events by tree, and trees replayed once."""

    by_tree: dict[str | None, list[Event]]
    trees: dict[str, Tree] = field(default_factory=dict)

    @classmethod
    def of(cls, events: Iterable[Event]) -> _Bench:
        by_tree: dict[str | None, list[Event]] = {None: []}
        for event in events:
            by_tree.setdefault(event.tree, []).append(event)
        return cls(by_tree)

    def add(self, events: Iterable[Event]) -> None:
        for event in events:
            self.by_tree.setdefault(event.tree, []).append(event)
            self.trees.pop(event.tree or "", None)

    def tree(self, tree_id: str) -> Tree:
        if tree_id not in self.trees:
            events = [*self.by_tree[None], *self.by_tree[tree_id]]
            self.trees[tree_id] = replay(tree_id, events)
        return self.trees[tree_id]

    @property
    def settings(self) -> Settings:
        return settings_of(garden_of(standing(self.by_tree[None])).fields)

    def last_line(self, tree_id: str | None, who: str) -> list[Event]:
        """Return the standing events of the line written last, of one tree or of any."""
        names = [tree_id] if tree_id else [name for name in self.by_tree if name is not None]
        counted = [e for name in names for e in standing(self.by_tree.get(name, [])) if _is_said(e)]
        own = [event for event in counted if not who or event.who == who] or counted
        latest = max((event.recorded for event in own), default=None)
        return [event for event in own if event.recorded == latest]

    def _tree_at_hand(self, who: str) -> str | None:
        """Return the tree written of last, also by a line taken back since."""
        trees = {tree: own for tree, own in self.by_tree.items() if tree is not None}
        if len(trees) == 1:
            return next(iter(trees))
        events = [event for own in trees.values() for event in own if _is_said(event)]
        own = [event for event in events if not who or event.who == who] or events
        latest = max(own, key=lambda e: (e.recorded, e.id), default=None)
        return None if latest is None else latest.tree

    def take(self, phrase: Phrase) -> Said:
        """Turn one phrase into events; nothing is stored here."""
        settings = self.settings
        who = phrase.who or settings.who
        units = phrase.units or settings.units
        ids = [name for name in self.by_tree if name is not None]
        trees = [self.tree(tree_id) for tree_id in ids]
        at_hand = trees[named(phrase.tree, trees)].id if phrase.tree else None
        hand = at_hand or self._tree_at_hand(who)
        last = self.last_line(hand, who)
        # A new day begins a new bench session: no place carries over.
        place, bodies = self._last_said([e for e in last if e.on == phrase.on] if hand else [])
        line = parse(
            phrase.text,
            today=phrase.on,
            units=units,
            trees=_callable_names(trees),
            last_place=place,
            last_bodies=bodies,
        )
        tree_id = trees[named(line.tree, trees)].id if line.tree else hand
        if tree_id is None:
            raise UnknownNameError(
                "no tree is named and none was written of before",
                allowed=", ".join(tree.name for tree in trees) or "a tree of the book",
                todo="Begin the line with the tree's name, or give --tree",
            )
        stranger = _stranger(line) if not (line.tree or phrase.tree) else ""
        if stranger:
            line = Line(
                line.text,
                entries=(Entry((), (), (Noted(line.text, unread=True),), line.text),),
                doubts=(f"No tree is called {stranger!r}; the line is kept as a note only.",),
                unread=line.unread,
            )
        stamp = _Stamp(phrase.now or datetime.now(UTC), who, phrase.on, units)
        if line.undo or line.not_places or line.moved_to:
            return self._mend(line, self.last_line(tree_id, who), self.tree(tree_id), stamp)
        return _write_line(line, self.tree(tree_id), stamp)

    def _last_said(self, last: list[Event]) -> tuple[str, list[Body]]:
        if not last or last[-1].tree is None:
            return "", []
        tree = self.tree(last[-1].tree)
        names = dict(zip(tree.branches.ids, tree.branches.names, strict=True))
        own = [e for e in last if e.branch == last[-1].branch and not isinstance(e.body, BranchSet)]
        place = names.get(last[-1].branch or "", getattr(last[-1].body, "zone", ""))
        return place, [event.body for event in own]

    def _mend(self, line: Line, last: list[Event], tree: Tree, stamp: _Stamp) -> Said:
        """Take the last line back, whole, on some places, or to another day."""
        if line.not_places:
            rows = {row for place in line.not_places for row in find(tree, place).rows}
            ids = {tree.branches.ids[row] for row in rows}
            last = [event for event in last if event.branch in ids]
        said = self.taken_back(line.text, last, tree, stamp)
        if not line.moved_to:
            return replace(said, unread=line.unread)
        again = [stamp.event(e.body, tree.id, e.branch, line.moved_to) for e in last]
        receipts = tuple(_told(event, tree, stamp) for event in again)
        return replace(said, events=(*said.events, *again), receipts=receipts, unread=line.unread)

    def taken_back(self, text: str, last: Sequence[Event], tree: Tree, stamp: _Stamp) -> Said:
        """Return what takes events back, ``text`` the line that says so; nothing is stored."""
        back = tuple(stamp.event(Withdrawn(e.id, because=text), tree.id, None) for e in last)
        receipts = tuple(f"Taken back: {_told(event, tree, stamp)}" for event in last)
        doubts = () if last else ("There is nothing to take back.",)
        return Said(text, tree.name, back, receipts, doubts, (), len(last), stamp.units)


def _is_said(event: Event) -> bool:
    """Tell a record that was said from a row of a table, whose id is worked out from the row."""
    return event.id.version == SAID_ID


def _stranger(line: Line) -> str:
    """Return the first word of a line when nothing was made of it: it may name another tree."""
    head = line.text.split()[0].casefold().strip(",.;:") if line.text.split() else ""
    strange = {word.casefold().strip(",.;:") for text in line.unread for word in text.split()[:1]}
    return head if head in strange and len(line.text.split()) > 1 else ""


@dataclass(frozen=True, slots=True)
class _Stamp:
    """What every event of one line shares."""

    now: datetime
    who: str
    today: date
    units: str

    def event(self, body: Body, tree: str, branch: str | None, on: date | None = None) -> Event:
        return Event(
            body, on or self.today, tree=tree, branch=branch, who=self.who, recorded=self.now
        )


@dataclass(slots=True)
class _Page:
    """One line while it is being turned into events."""

    tree: Tree
    stamp: _Stamp
    doubts: list[str]
    events: list[Event] = field(default_factory=list)

    def put(self, body: Body, branch: str | None, on: date) -> None:
        self.events.append(self.stamp.event(body, self.tree.id, branch, on))


def _write_line(line: Line, tree: Tree, stamp: _Stamp) -> Said:
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
    receipts = tuple(_told(event, tree, stamp, page.events) for event in page.events)
    return Said(
        line.text, tree.name, tuple(page.events), receipts, tuple(page.doubts), line.unread,
        units=stamp.units,
    )  # fmt: skip


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


def _told(event: Event, tree: Tree, stamp: _Stamp, new: Sequence[Event] = ()) -> str:
    names = dict(zip(tree.branches.ids, tree.branches.names, strict=True))
    for one in new:
        if isinstance(one.body, BranchSet) and one.branch is not None:
            names.setdefault(one.branch, str(one.body.fields.get("name") or one.branch))
    place = names.get(event.branch or "", getattr(event.body, "zone", ""))
    body = event.body
    if isinstance(body, Worked) and body.donor in names:
        body = replace(body, donor=names[body.donor])
    return receipt(body, place, on=event.on, today=stamp.today, units=stamp.units)


def _callable_names(trees: Sequence[Tree]) -> list[str]:
    """Return what a line may begin with; a key or tag spelled like a name is left out."""
    tags = [str(tree.facts["tag"]) for tree in trees if tree.facts.get("tag")]
    names = dict.fromkeys(tree.name for tree in trees)
    spelled = {name.casefold() for name in names}
    for other in (*(tree.id for tree in trees), *tags):
        if other.casefold() not in spelled:
            names[other] = None
            spelled.add(other.casefold())
    return list(names)


def standing_day(path: Path) -> date | None:
    """Return the day a demonstration garden takes as today, None for any other book."""
    with Reader.open(path) as reader:
        events = [event for event in reader.events() if event.tree is None]
    day = garden_of(standing(events)).fields.get("standing_date")
    return day if isinstance(day, date) else None


def said_shape(answer: Said, command: str = "say") -> dict[str, Json]:
    """Return what became of a line, or of a record taken back, in its JSON shape."""
    return shaped(
        f"boughwright/{command}",
        1,
        {
            "phrase": answer.text,
            "tree": answer.tree,
            "events": [to_record(event) for event in answer.events],
            "receipts": answer.receipts,
            "doubts": answer.doubts,
            "unread": answer.unread,
            "withdrawn": answer.withdrawn,
        },
    )


def backdated(on: date, step: int = 0) -> datetime:
    """Return the evening of a day, for a line written down long ago; ``step`` keeps the order."""
    return datetime(on.year, on.month, on.day, 20, tzinfo=UTC) + timedelta(seconds=step)

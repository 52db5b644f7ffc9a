"""What is known while lines are written down: only what a line needs is read, and only once."""

from __future__ import annotations

import json
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING, Any
from uuid import UUID

from boughwright.journal.events import TreeSet, Withdrawn, standing
from boughwright.journal.garden import garden_of
from boughwright.settings import settings_of
from boughwright.store.layout import KeptLine
from boughwright.store.rows import moment_text, row_event
from boughwright.tree.replay import replay
from boughwright.usecases.line_ids import SAID_ID, event_id
from boughwright.usecases.writing import Said

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from boughwright.journal.events import Event, FieldValue
    from boughwright.settings import Settings
    from boughwright.store.turn import Turn
    from boughwright.tree.model import Tree
    from boughwright.usecases.writing import Stamp

MOST_STEPS = 200
"""How many lines back a line may reach for the one it goes on from."""


@dataclass(frozen=True, slots=True)
class Called:
    """A tree as far as it can be called by a word."""

    id: str
    facts: dict[str, FieldValue]

    @property
    def name(self) -> str:
        """The plain name, or the id when none was given."""
        return str(self.facts.get("name") or self.id)


@dataclass
class Bench:
    """The journal as far as it was read, kept true over any number of turns at writing."""

    garden: list[Event] = field(default_factory=list)
    _turn: Turn | None = None
    _position: int = -1
    _facts: dict[str, list[Event]] = field(default_factory=dict)
    _events: dict[str, list[Event]] = field(default_factory=dict)
    _trees: dict[str, Tree] = field(default_factory=dict)
    _called: list[Called] | None = None

    @property
    def turn(self) -> Turn:
        """The turn at writing that is being taken."""
        assert self._turn is not None
        return self._turn

    def sit_down(self, turn: Turn) -> None:
        """Begin a turn: read what was written since the last one."""
        self._turn = turn
        if self._position < 0:
            self.garden = turn.garden_events()
            self._facts = {tree: [] for tree in turn.tree_ids()}
            for event in turn.facts_of_trees():
                self._facts[event.tree or ""].append(event)
            self._position = turn.position()
            return
        rows = turn.raw_events(after_seq=self._position)
        new = [row_event(row) for row in rows]
        for event in new:
            self._add(event)
        self._position = rows[-1][0] if rows else self._position

    def _add(self, event: Event) -> None:
        if event.tree is None:
            self.garden.append(event)
            self._trees.clear()
            self._called = None
            return
        self._trees.pop(event.tree, None)
        if event.tree in self._events:
            self._events[event.tree].append(event)
        facts = self._facts.setdefault(event.tree, [])
        if isinstance(event.body, (TreeSet, Withdrawn)):
            facts.append(event)
            self._called = None

    @property
    def settings(self) -> Settings:
        """The garden's settings."""
        return settings_of(garden_of(standing(self.garden)).fields)

    def standing_date(self) -> date | None:
        """Return the day a demonstration garden takes as today, None for any other book."""
        day = garden_of(standing(self.garden)).fields.get("standing_date")
        return day if isinstance(day, date) else None

    def called(self) -> list[Called]:
        """Return how every tree of the book is called, the first entered first."""
        if self._called is None:
            back = [event for event in self.garden if isinstance(event.body, Withdrawn)]
            self._called = [_called(tree, [*back, *own]) for tree, own in self._facts.items()]
        return self._called

    def events(self, tree: str) -> list[Event]:
        """Return everything written of a tree."""
        if tree not in self._events:
            self._events[tree] = self.turn.events(tree)
        return self._events[tree]

    def tree(self, tree: str) -> Tree:
        """Return a tree as all that is written of it tells it."""
        if tree not in self._trees:
            self._trees[tree] = replay(tree, [*self.garden, *self.events(tree)])
        return self._trees[tree]

    # ---- what was said last

    def tree_at_hand(self, who: str) -> str | None:
        """Return the tree written of last, also by a line taken back since."""
        trees = self.called()
        return trees[0].id if len(trees) == 1 else self.turn.last_said(who)

    def tree_before(self, after: UUID | None) -> str | None:
        """Return the tree of the line ``after``, or of the one it went on from."""
        trees = self.called()
        if len(trees) == 1:
            return trees[0].id
        for _ in range(MOST_STEPS):
            line = self.turn.line(str(after)) if after else None
            if line is None or line.tree is not None:
                return None if line is None else line.tree
            after = UUID(line.after_line) if line.after_line else None
        return None

    def last_line(self, tree: str, who: str) -> list[Event]:
        """Return the standing events of the line of a tree that was written last."""
        return last_line_of(self.events(tree), who)

    def line_before(self, after: UUID | None, tree: str) -> list[Event]:
        """Return the standing events of the line of a tree that a line goes on from.

        That is the line ``after`` itself; when it is of another tree, or nothing of it stands any
        more, the one that it went on from in its turn.
        """
        standing_ids = {event.id for event in standing(self.events(tree))}
        for _ in range(MOST_STEPS):
            line = self.turn.line(str(after)) if after else None
            if line is None:
                return []
            if line.tree == tree:
                own = [e for e in self.events_of(line) if e.id in standing_ids]
                if own:
                    return own
            after = UUID(line.after_line) if line.after_line else None
        return []

    def events_of(self, line: KeptLine) -> list[Event]:
        """Return the events that a kept line made, also those made after it was answered."""
        if line.withdraws is None:
            return self.turn.events_with(_ids(line))
        target = self.turn.line(line.withdraws)
        many = 0 if target is None else len(_ids(target))
        return self.turn.events_with([str(event_id(UUID(line.id), n)) for n in range(many)])

    def counts(self, line: KeptLine, seen: tuple[str, ...] = ()) -> bool:
        """Tell whether no line that counts takes a line back."""
        against = [one for one in self.turn.lines_against(line.id) if one.id not in seen]
        return not any(self.counts(one, (*seen, line.id)) for one in against)

    # ---- lines with an id of their own

    def answered(self, line: KeptLine) -> Said:
        """Return what was answered to a kept line when it first came."""
        answer = json.loads(line.answer)
        return Said(
            answer["text"],
            answer["tree"],
            tuple(self.turn.events_with(answer["events"])),
            tuple(answer["receipts"]),
            tuple(answer["doubts"]),
            tuple(answer["unread"]),
            answer["withdrawn"],
            answer["units"],
            known=True,
        )

    def keep(self, said: Said, stamp: Stamp, *, id_: UUID, asked: str = "", text: str = "",
             after: UUID | None = None, withdraws: UUID | None = None, tree: str | None,
             device: str = "") -> None:  # fmt: skip
        """Keep a line with what is answered to it."""
        answer: dict[str, Any] = {
            "text": said.text,
            "tree": said.tree,
            "events": [str(event.id) for event in said.events],
            "receipts": said.receipts,
            "doubts": said.doubts,
            "unread": said.unread,
            "withdrawn": said.withdrawn,
            "units": said.units,
        }
        self.turn.keep_line(
            KeptLine(
                id=str(id_),
                asked=asked,
                text=text,
                after_line=str(after) if after else None,
                withdraws=str(withdraws) if withdraws else None,
                tree=tree,
                on_day=stamp.today.isoformat(),
                who=stamp.who,
                recorded=moment_text(stamp.now),
                device=device,
                answer=json.dumps(answer),
            )
        )


def last_line_of(events: Iterable[Event], who: str) -> list[Event]:
    """Return the standing events of the line written last, among everything written of a tree.

    That of ``who``, when they ever wrote of it. A row of a table, whose id is worked out from the
    row, was not said.
    """
    counted = [event for event in standing(events) if event.id.version == SAID_ID]
    own = [event for event in counted if not who or event.who == who] or counted
    latest = max((event.recorded for event in own), default=None)
    return [event for event in own if event.recorded == latest]


def _ids(line: KeptLine) -> list[str]:
    """Return the ids of the records that were written when a line was answered."""
    return [str(id_) for id_ in json.loads(line.answer)["events"]]


def _called(tree: str, events: Iterable[Event]) -> Called:
    """Return how a tree is called after these events, in the way replay tells its facts."""
    facts: dict[str, FieldValue] = {}
    for event in standing(events):
        if isinstance(event.body, TreeSet):
            facts.update(event.body.fields)
    return Called(tree, facts)


def numbered(line: UUID, events: Sequence[Event]) -> tuple[Event, ...]:
    """Return events under the ids that follow from the id of their line."""
    return tuple(replace(event, id=event_id(line, n)) for n, event in enumerate(events))

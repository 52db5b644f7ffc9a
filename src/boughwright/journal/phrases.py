"""The bench phrase: place, act, amount, why, next; typed, spoken or tapped in that order.

::

    line    = [tree] entry { ";" entry } [when] | "undo" | "not" place | "that was" when
    entry   = [place { "," place }] act [amount] ["because" words] [next]
            | "same" place { place } ["except" place]            (no place = the last place)

Every line is taken. Words that nothing is made of are kept with their whole clause as an unread
note; a wrong date or an impossible number is kept the same way, with a plain message. The reader
gives names; which branch a name reaches is found elsewhere.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from boughwright.errors import TextError
from boughwright.journal.events import Noted
from boughwright.journal.phrase_clause import ClauseReader, Entry, Heard, in_zone, place_list
from boughwright.journal.phrase_parts import (
    Cursor,
    Day,
    clauses,
    match_act,
    read_day,
    read_place,
    said,
)
from boughwright.journal.phrase_words import AMOUNTS, FILLERS

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from boughwright.journal.events import Body
    from boughwright.journal.phrase_parts import Token

__all__ = ["Entry", "Line", "in_zone", "parse"]


@dataclass(frozen=True, slots=True)
class Line:
    """One line as it was understood.

    Parameters
    ----------
    text : str
        The line as it was said.
    tree : str, optional
        The tree it names, as written in the list of trees; ``None`` for the tree at hand.
    entries : tuple of Entry
        In the order said.
    when : date, optional
        The day it names for all entries without one of their own; ``None`` for today.
    undo : bool
        Take the last line back.
    not_places : tuple of str
        Take the last line back on these places only.
    moved_to : date, optional
        The last line was of this day.
    unread : tuple of str
        Words that nothing was made of.
    doubts : tuple of str
        Plain messages about what was not taken, lengths in braces.
    """

    text: str
    tree: str | None = None
    entries: tuple[Entry, ...] = ()
    when: date | None = None
    undo: bool = False
    not_places: tuple[str, ...] = ()
    moved_to: date | None = None
    unread: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()


def parse(
    line: str,
    *,
    today: date,
    units: str = "mm",
    trees: Sequence[str] = (),
    last_place: str = "",
    last_bodies: Sequence[Body] = (),
) -> Line:
    """Read one line of bench phrases.

    Parameters
    ----------
    line : str
        As typed or spoken.
    today : date
        The day it is said.
    units : str
        ``mm`` or ``in``: the unit of the grower's screens. Numbers are mm unless ``in`` or
        ``cm`` follows; a grower who reads inches is told so.
    trees : sequence of str
        Names and tags of trees that a line may begin with.
    last_place : str
        The place of the entry before, for entries without one.
    last_bodies : sequence of Body
        What was said there, for ``same``.

    Raises
    ------
    TextError
        When the line is empty.
    """
    clean = "".join(c if c.isprintable() or c == "\n" else " " for c in line).strip()
    if not clean:
        raise TextError("the line is empty", allowed="a bench phrase such as 2R wire on 2 al",
                        todo="Say the place and what was done")  # fmt: skip
    parts = clauses(clean)
    tree = None
    if parts:
        tree, parts = _take_tree(parts, trees)
    command = _command(clean, parts, tree, today)
    if command is not None:
        return command
    heard = Heard()
    if tree is None:
        heard.places, heard.bodies = (last_place,) if last_place else (), tuple(last_bodies)
    return _LineReader(clean, tree, today, units, heard).read(parts)


# --- the whole line ------------------------------------------------------------------------------


def _take_tree(
    parts: list[list[Token]], trees: Sequence[str]
) -> tuple[str | None, list[list[Token]]]:
    """Take the name of a tree off the front: whole, or a part of it that no other tree shares."""
    first = parts[0]
    words = [token.word for token in first]
    names = {tree: tree.casefold().split() for tree in trees}
    if read_place(words, 0) is not None and not any(words[: len(n)] == n for n in names.values()):
        return None, parts
    for size in range(len(words), 0, -1):
        head = words[:size]
        whole = [tree for tree, name in names.items() if name == head]
        part = [tree for tree, name in names.items() if _holds(name, head)]
        fits = whole or (part if _is_telling(head) else [])
        if len(fits) == 1 and not (head[0].isdigit() and read_place(words, 0)):
            rest = first[size:]
            return fits[0], [rest, *parts[1:]] if rest else parts[1:]
    return None, parts


def _holds(name: list[str], head: list[str]) -> bool:
    return any(name[i : i + len(head)] == head for i in range(len(name) - len(head) + 1))


def _is_telling(head: list[str]) -> bool:
    """Tell whether words can only be a tree's name: not ones that the phrase itself uses."""
    return not any(w in FILLERS or w in AMOUNTS or match_act([w], 0) or w.isdigit() for w in head)


def _command(clean: str, parts: list[list[Token]], tree: str | None, today: date) -> Line | None:
    """Read ``undo``, ``not`` places and ``that was`` a day."""
    if len(parts) != 1:
        return None
    words = [token.word for token in parts[0]]
    if words in (["undo"], ["undo", "that"], ["take", "that", "back"]):
        return Line(clean, tree, undo=True)
    if words[0] == "not" and len(words) > 1:
        cursor = Cursor(parts[0], today, at=1)
        places = place_list(cursor, "")
        if places and cursor.at == len(words):
            return Line(clean, tree, not_places=places)
    if words[:2] == ["that", "was"]:
        day = read_day(words, 2, today)
        if day is not None and day.after == len(words) and day.day and day.day <= today:
            return Line(clean, tree, moved_to=day.day)
    return None


@dataclass(slots=True)
class _LineReader:
    """Reads the clauses of one line in turn and keeps what one hands on to the next."""

    clean: str
    tree: str | None
    today: date
    units: str
    heard: Heard

    def read(self, parts: list[list[Token]]) -> Line:
        """Read every clause; a line of which nothing comes is kept as a note."""
        heard = self.heard
        whole, parts = self._lead(parts)
        dated: list[_Dated] = [(parts[0], None)] if whole and parts else []
        for clause in parts[len(dated) :]:
            dated += _dated(clause, self.today)
        if whole is None and dated:
            clause, whole = dated[-1]
            dated[-1] = (clause, None)
        doubt = self._bad_day(whole)
        if doubt:
            self._keep(self.clean, doubt)
            dated = []
        for clause, own in dated:
            self._clause(clause, whole, own)
        if not heard.entries:
            self._keep(self.clean, f"Nothing was made of {self.clean!r}; it is kept as a note.")
        return Line(
            self.clean,
            self.tree,
            tuple(heard.entries),
            whole.day if whole and not doubt else None,
            unread=tuple(heard.unread),
            doubts=tuple(dict.fromkeys(heard.doubts)),
        )

    def _lead(self, parts: list[list[Token]]) -> tuple[Day | None, list[list[Token]]]:
        """Take a day off the front of the line."""
        words = [token.word for token in parts[0]] if parts else []
        day = read_day(words, 0, self.today)
        if day is None:
            return None, parts
        rest = parts[0][day.after :]
        day = _as_said(day, parts[0][: day.after])
        return day, [rest, *parts[1:]] if rest else parts[1:]

    def _bad_day(self, day: Day | None) -> str:
        """Return what is wrong with a day on which something is said to have been done."""
        if day is None:
            return ""
        named = day.said.removeprefix("on ")
        if day.day is None:
            return f"{named} is no date, so nothing was recorded for it. Say the day again."
        if day.day > self.today:
            return f"{named} lies ahead, so nothing was recorded for it. Say when it was done."
        return ""

    def _clause(self, clause: list[Token], whole: Day | None, own: Day | None) -> None:
        """Read one clause, its day already taken out of it."""
        doubt = self._bad_day(own)
        text = said(clause)
        if own is not None and doubt:
            text = f"{text} {own.said}".strip()
        if any(token.word == "?" for token in clause):
            doubt = "A question is kept as a note, not as something done."
        if doubt:
            self._keep(text, doubt)
        elif clause:
            day = (own or whole or Day(self.today, 0, "")).day or self.today
            ClauseReader(Cursor(clause, day, self.units), self.heard).read(day if own else None)

    def _keep(self, text: str, doubt: str) -> None:
        """Keep words as they were said and record nothing of them."""
        self.heard.entries.append(Entry((), (), (Noted(text, unread=True),), text))
        self.heard.unread += text.split()
        self.heard.doubts.append(doubt)


_Dated = tuple["list[Token]", "Day | None"]


def _as_said(day: Day, tokens: list[Token]) -> Day:
    return replace(day, said=said(tokens).rstrip(",.:"))


def _dated(clause: list[Token], today: date) -> list[_Dated]:
    """Take the day out of a clause; where a place follows the day, a new clause begins there."""
    words = [token.word for token in clause]
    day, at = _own_day(words, today)
    if day is None:
        return [(clause, None)]
    after = day.after
    while after < len(words) and words[after] == ",":
        after += 1
    before, rest = clause[:at], clause[after:]
    day = _as_said(day, clause[at : day.after])
    if before and read_place(words, after) is not None:
        return [(before, day), *_dated(rest, today)]
    return [(before + rest, day)]


def _own_day(words: Sequence[str], today: date) -> tuple[Day | None, int]:
    """Find the day a clause names and where it starts.

    Not the end of ``until`` or ``look``, and among the words of a reason or a note only at the
    very end.
    """
    free = False
    for at in range(len(words)):
        act = match_act(words, at)
        free = free or (act is not None and act[0] in {"because", "note", "will"})
        if at and words[at] == "on" and words[at - 1] in {"wire", "guy", "graft"}:
            continue
        day = read_day(words, at, today)
        if day is None or (free and day.after < len(words)):
            continue
        if at and words[at - 1] in _NOT_WHEN:
            return None, len(words)
        return day, at
    return None, len(words)


_NOT_WHEN = frozenset({"until", "look", "again", "in", "note"})
"""Words after which a day is not that of the work."""

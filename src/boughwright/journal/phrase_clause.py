"""Reading one clause of a bench phrase into entries: which place is meant, and what was said."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from boughwright.journal.events import LookAgain, Noted, Promised, Saw, Worked
from boughwright.journal.names import DEPTHS, is_name, is_zone
from boughwright.journal.phrase_acts import read_act, read_because
from boughwright.journal.phrase_parts import bare_words, match_act, read_place, said
from boughwright.journal.phrase_words import (
    AMOUNTS,
    BEFORE,
    DENIABLE,
    DENIALS,
    FILLERS,
    NOT_YET,
    WHOLE_TREE,
)
from boughwright.journal.terms import Amount, Quantity, Sign, Work

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from boughwright.journal.events import Body
    from boughwright.journal.phrase_parts import Cursor


@dataclass(frozen=True, slots=True)
class Entry:
    """What one entry of a line says.

    Parameters
    ----------
    places : tuple of str
        Names of branches, zones, ``all`` or ``pot``; none when the whole tree is meant.
    excepts : tuple of str
        Places taken out again.
    bodies : tuple of Body
        What was done, seen, measured or promised. The same for each place.
    spelled : str
        The entry as it was said.
    when : date, optional
        Its own day, when it differs from that of the line.
    same : bool
        Said as ``same``. Without bodies, the last entry before this line is meant.
    """

    places: tuple[str, ...]
    excepts: tuple[str, ...]
    bodies: tuple[Body, ...]
    spelled: str
    when: date | None = None
    same: bool = False

    @property
    def acts(self) -> Iterator[tuple[str, Body]]:
        """Each place with each body, the zone written into bodies that can carry one."""
        for place in self.places or ("",):
            for body in self.bodies:
                yield place, in_zone(body, place)


def in_zone(body: Body, place: str) -> Body:
    """Return a body with its zone set when the place is a zone and the body has none yet."""
    if isinstance(body, Worked | Saw | Promised | LookAgain) and not body.zone and is_zone(place):
        return replace(body, zone=place)
    return body


@dataclass(slots=True)
class Heard:
    """What has been heard of a line so far, and what one entry hands on to the next."""

    places: tuple[str, ...] = ()
    excepts: tuple[str, ...] = ()
    bodies: tuple[Body, ...] = ()
    entries: list[Entry] = field(default_factory=list)
    unread: list[str] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)


# --- one clause ----------------------------------------------------------------------------------


def place_list(cursor: Cursor, last: str, *, most: int = 99) -> tuple[str, ...]:
    """Read places one after another, with commas or ``and`` between them.

    A zone right after a branch is none of them: ``cut 3B back`` names no back.
    """
    places: list[str] = []
    while len(places) < most:
        start = cursor.at
        while cursor.word in {",", "and", "the", "on"}:
            cursor.at += 1
        apart = cursor.at > start or not places or not is_name(places[-1])
        found = None
        if cursor.word != "lower" or not _is_act_lower(cursor, bool(places)):
            found = read_place(cursor.words, cursor.at, places[-1] if places else last)
        if found is None or not (apart or is_name(found[0])):
            cursor.at = start
            break
        places.append(found[0])
        cursor.at = found[1]
    return tuple(places)


def _is_act_lower(cursor: Cursor, placed: bool) -> bool:
    """Tell ``3B lower`` (the work) from ``lower left spots`` (the zone)."""
    following = match_act(cursor.words, cursor.at + 1)
    ends = cursor.at + 1 >= len(cursor.words)
    return placed or ends or bool(following and following[0] in {"because", "look"})


@dataclass(slots=True)
class ClauseReader:
    """Reads one clause into one entry or, where a new place starts, several."""

    cursor: Cursor
    heard: Heard
    places: tuple[str, ...] = ()
    excepts: tuple[str, ...] = ()
    bodies: list[Body] = field(default_factory=list)
    same: bool = False
    start: int = 0

    def read(self, own: date | None) -> None:
        """Read the whole clause; ``own`` is its day, when it differs from that of the line."""
        cursor = self.cursor
        self._hoist()
        while cursor.at < len(cursor.words):
            if cursor.word in {","} or (cursor.word in FILLERS and not self._starts_place()):
                cursor.at += 1
            elif not (self._denied() or self._amount_first() or self._place(own) or self._act()):
                cursor.unread.add(cursor.at)
                cursor.at += 1
        self._flush(own)
        self.heard.doubts += cursor.doubts

    def _starts_place(self) -> bool:
        return read_place(self.cursor.words, self.cursor.at) is not None

    def _hoist(self) -> None:
        """Put places said right after their act before it: ``wire off 2R bite 3``."""
        cursor = self.cursor
        cursor.skip()
        words, act_at = cursor.words, cursor.at
        act = match_act(words, act_at)
        leads = place_list(cursor, "") != () or act is None
        cursor.at = 0
        if leads or act is None or not isinstance(act[0], Work | Sign | Quantity):
            return
        ends = [act[1]]
        while len(ends) == 1 or words[ends[-1] : ends[-1] + 1] in ([","], ["and"]):
            cursor.at = ends[-1]
            found = place_list(cursor, "", most=1)
            if not found or found == ("all",):
                break
            ends.append(cursor.at)
        cursor.at = 0
        following = match_act(words, ends[-1])
        goes_on = following is not None and isinstance(following[0], Work)
        if goes_on and (len(ends) > 2 or not isinstance(act[0], Work)):
            ends.pop()  # the last place begins the next entry
        if len(ends) > 1:
            tokens = list(cursor.tokens)
            moved = tokens[act[1] : ends[-1]]
            cursor.tokens = [*moved, *tokens[: act[1]], *tokens[ends[-1] :]]
            cursor.words = [token.word for token in cursor.tokens]

    def _acts_after(self, at: int) -> bool:
        """Tell whether a work, a sign or a measure follows before a reason or the end."""
        words = self.cursor.words
        while at < len(words):
            act = match_act(words, at)
            if act is not None and act[0] in {"because", "note"}:
                return False
            if act is not None and isinstance(act[0], Work | Sign | Quantity):
                return True
            at += 1
        return False

    def _last(self) -> str:
        return self.heard.places[-1] if self.heard.places else ""

    def _place(self, own: date | None) -> bool:
        """Read places where an entry begins, or begin a new entry at them."""
        cursor = self.cursor
        if cursor.take("same"):
            if self.bodies or self.same:
                self._begin(own, cursor.at - 1)
            self.same = True
            cursor.take("again")
            self.places = (*self.places, *place_list(cursor, self._last()))
            return True
        start = cursor.at
        if cursor.word == "lower" and self.places and not self.bodies:
            return False  # the work
        places = place_list(cursor, self.places[-1] if self.places else self._last())
        goes_on = not self.bodies or not self._acts_after(cursor.at)
        if not places:
            return False
        if goes_on and not self.places:
            self.places = places
        elif goes_on and self.bodies and len(places) == 1 and places[0] in DEPTHS.values():
            self._zone_of_last(places[0])
        elif goes_on and not self.bodies:
            self.places = (*self.places, *places)
        else:
            self._begin(own, start)
            self.places = places
        return True

    def _zone_of_last(self, zone: str) -> None:
        """Put ``inner`` or ``outer`` after an act into its body."""
        body = self.bodies[-1]
        if isinstance(body, Worked | Saw | Promised | LookAgain) and not body.zone:
            self.bodies[-1] = replace(body, zone=zone)
        else:
            self.cursor.unread.add(self.cursor.at - 1)

    def _begin(self, own: date | None, start: int) -> None:
        """Close the entry at hand, if anything was said in it, and start the next at a word."""
        if self.bodies or self.places or self.same:
            after, self.cursor.at = self.cursor.at, start
            self._flush(own)
            self.cursor.at = after

    def _denied(self) -> bool:
        """Read ``no spots``; keep any other denial, and what is yet to be done, as unread words."""
        cursor = self.cursor
        not_yet = cursor.word in NOT_YET or "tomorrow" in cursor.words[cursor.at :]
        if not (cursor.word in DENIALS or not_yet) or match_act(cursor.words, cursor.at):
            return False
        act = match_act(cursor.words, cursor.at + 1)
        if act is not None and act[0] in DENIABLE and not not_yet:
            cursor.at = act[1]
            if isinstance(act[0], Sign):
                self.bodies.append(Saw(act[0], amount=Amount.NONE))
            return True
        while cursor.at < len(cursor.words) and cursor.word != ",":
            following = match_act(cursor.words, cursor.at)
            if following is not None and following[0] in {"because", "look"}:
                break
            cursor.unread.add(cursor.at)
            cursor.at += 1
        return True

    def _amount_first(self) -> bool:
        """Read an amount that stands before its act: ``few spots``, ``hard repot``."""
        cursor = self.cursor
        amount, start = AMOUNTS.get(cursor.word), cursor.at
        act = match_act(cursor.words, start + 1)
        if amount is None or act is None or not isinstance(act[0], Work | Sign):
            return False
        if act[0] not in BEFORE.get(amount, (act[0],)):
            return False
        cursor.at += 1
        body = read_act(cursor)
        if isinstance(body, Worked | Saw) and body.amount is None:
            self.bodies.append(replace(body, amount=amount))
            return True
        cursor.at = start
        return False

    def _act(self) -> bool:
        cursor = self.cursor
        start = cursor.at
        body = read_act(cursor)
        if body == "because":
            self._because()
        elif body == "except":
            self.excepts = (*self.excepts, *self._except_places())
        elif body is None or isinstance(body, str):
            return cursor.at > start
        else:
            self.bodies.append(body)
        return True

    def _except_places(self) -> tuple[str, ...]:
        start = self.cursor.at
        places = place_list(self.cursor, self.places[-1] if self.places else self._last())
        if not places:
            self.cursor.unread.add(start - 1)
        return places

    def _because(self) -> None:
        """Give the reason to the last thing said that can carry one; else keep it as a note."""
        start = self.cursor.at
        reason = read_because(self.cursor)
        for index in range(len(self.bodies) - 1, -1, -1):
            body = self.bodies[index]
            if isinstance(body, Worked | Saw | Promised) and not body.because:
                self.bodies[index] = replace(body, because=reason)
                return
        self.bodies.append(Noted(said(self.cursor.tokens[start - 1 : self.cursor.at])))

    def _flush(self, own: date | None) -> None:
        """Hand the entry at hand to the line."""
        cursor, heard = self.cursor, self.heard
        tokens = cursor.tokens[self.start : cursor.at]
        unread = [t for i, t in enumerate(tokens, self.start) if i in cursor.unread]
        spelled, bodies, places, excepts = said(tokens), self.bodies, self.places, self.excepts
        self.start = cursor.at
        if not spelled:
            return
        if self.same and not bodies:
            bodies = list(heard.bodies)
        elif not bodies:
            unread = [t for t in tokens if t.word != ","]
            if not cursor.doubts:
                heard.doubts.append(f"Nothing was made of {spelled!r}; it is kept as a note.")
        if not places:
            places, excepts = self._implied(bodies, excepts)
        done = tuple(bodies)
        if unread:
            heard.unread += bare_words(unread)
            bodies = [*bodies, Noted(spelled, unread=True)]
        heard.entries.append(Entry(places, excepts, tuple(bodies), spelled, own, self.same))
        heard.places, heard.excepts = places, excepts
        heard.bodies = done or heard.bodies
        self.places, self.excepts, self.bodies, self.same = (), (), [], False

    def _implied(
        self, bodies: list[Body], excepts: tuple[str, ...]
    ) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """Return the places meant when none is named: the last ones, or the whole tree."""
        acts = [getattr(b, "work", getattr(b, "what", getattr(b, "sign", None))) for b in bodies]
        named = [act for act in acts if act is not None]
        if named and all(act in WHOLE_TREE for act in named):
            return (), excepts
        return self.heard.places, excepts or self.heard.excepts

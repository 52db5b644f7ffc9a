"""The pieces of a bench phrase: words, numbers with units, days and places."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING

from boughwright.journal.names import WHOLE, read_name, read_spoken_number, read_zone
from boughwright.journal.phrase_words import (
    ACTS,
    DAY_UNITS,
    FILLERS,
    LENGTH_UNITS,
    LONGEST_ACT,
    MONTHS,
    SHORT_DAYS,
    WEEKDAYS,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from boughwright.journal.phrase_words import Act

# --- words ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Token:
    """One word as it is matched, as it was said, and which word of the line it is part of.

    ``raw`` is that word of the line with its punctuation.
    """

    word: str
    said: str
    at: int
    raw: str


_UNIT = r"mm|cm|in|inch|inches|\"|″|d|w|wk|s|sec|min|g|kg|%|al|cu|x"
_GLUED = re.compile(rf"(\d+(?:\.\d+)?|\d+/\d+)({_UNIT})")
_NUMBER = re.compile(r"[-+]?\d+(?:\.\d+)?|\d+/\d+")
_OPENING, _CLOSING = "([{<“‘'\"*", ")]}>”’'!:*"
_SHORT_MONTHS = frozenset(name for name in MONTHS if len(name) < 5)


def clauses(text: str) -> list[list[Token]]:
    """Split a line into clauses of words, at ``;``, line ends and full stops."""
    found: list[list[Token]] = [[]]
    for at, chunk in enumerate(re.findall(r";|\n|[^\s;]+", text)):
        if chunk in {";", "\n"}:
            found.append([])
            continue
        stripped = chunk.lstrip(_OPENING)
        bare = stripped.rstrip(_CLOSING + ",.?") if len(stripped) > 1 else stripped
        if stripped[len(bare) :].startswith('"') or re.fullmatch(r"[\d.,/]+\"", stripped):
            bare = stripped
        tail = stripped[len(bare) :]
        found[-1] += _split(bare or chunk, at, chunk)
        if "?" in tail:
            found[-1].append(Token("?", "", at, chunk))
        elif "," in tail:
            found[-1].append(Token(",", "", at, chunk))
        elif "." in tail and bare.casefold() not in _SHORT_MONTHS:
            found.append([])
    return [clause for clause in found if clause]


def _split(said: str, at: int, raw: str) -> list[Token]:
    """Turn one written word into the words it is made of: ``10d`` into 10 and d."""
    word = said.casefold().replace("’", "'").replace("\u2212", "-")
    if re.search(r"[a-z],|,[a-z]", word):
        comma = Token(",", "", at, raw)
        pieces = [piece for piece in said.split(",") if piece]
        tokens = [token for piece in pieces for token in [*_split(piece, at, raw), comma]]
        return tokens[:-1] or [Token(word, said, at, raw)]
    word = re.sub(r"(\d),(\d)", r"\1.\2", word)
    parts: Sequence[str] = (word,)
    if match := _GLUED.fullmatch(word):
        parts = match.groups()
    elif word.startswith("±") and len(word) > 1:
        parts = ("±", word[1:])
    elif "-" in word and tuple(word.split("-")) in ACTS:
        parts = word.split("-")
    return [Token(part, said, at, raw) for part in parts]


def said(tokens: Sequence[Token]) -> str:
    """Return tokens as they were said, with their punctuation, each written word once."""
    words = {token.at: token.raw for token in tokens}
    return " ".join(words[at] for at in sorted(words))


def bare_words(tokens: Sequence[Token]) -> list[str]:
    """Return the words of tokens as they were said, without punctuation, each once."""
    words: dict[int, list[str]] = {}
    for token in tokens:
        if token.said and token.said not in words.setdefault(token.at, []):
            words[token.at].append(token.said)
    return [word for at in sorted(words) for word in words[at]]


# --- a place in the line -------------------------------------------------------------------------


@dataclass(slots=True)
class Cursor:
    """Words being read, where the reader stands, and what it could not take.

    ``day`` is the day of the work, ``doubts`` plain messages, ``unread`` positions of words that
    nothing was made of.
    """

    tokens: Sequence[Token]
    day: date
    units: str = "mm"
    at: int = 0
    words: list[str] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)
    unread: set[int] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.words = [token.word for token in self.tokens]

    @property
    def word(self) -> str:
        """The word at hand, empty at the end."""
        return self.words[self.at] if self.at < len(self.words) else ""

    def take(self, *words: str) -> bool:
        """Pass over these words if they come next."""
        found = self.words[self.at : self.at + len(words)] == list(words)
        self.at += len(words) if found else 0
        return found

    def skip(self) -> bool:
        """Pass over commas and filler words; tell whether there were any."""
        start = self.at
        while self.word == "," or self.word in FILLERS:
            self.at += 1
        return self.at > start

    def number(self) -> float | None:
        """Read a number, in digits or in words, unless it begins the name of a branch."""
        if read_name(self.words, self.at) is not None:
            return None
        if _NUMBER.fullmatch(self.word):
            top, _, bottom = self.word.partition("/")
            if bottom and not float(bottom):
                return None
            self.at += 1
            return float(top) / float(bottom or 1)
        found = read_spoken_number(self.words, self.at)
        if found is None:
            return None
        self.at = found[1]
        return found[0]

    def amount_of(self, units: Mapping[str, float]) -> float | None:
        """Read a number with its unit, or without one, in the unit whose factor is 1."""
        value = self.number()
        if value is None:
            return None
        factor = units.get(self.word)
        if factor is None:
            return value
        self.at += 1
        # Ten digits keep 0.5 in at 12.7 mm and hide the dust of binary fractions.
        return value if factor == 1.0 else float(f"{value * factor:.10g}")

    def length(self, *, gauge: bool = False) -> float | None:
        """Read a length in mm; one without a unit is in mm."""
        value = self.amount_of(LENGTH_UNITS)
        bare = value is not None and self.words[self.at - 1] not in LENGTH_UNITS
        if bare and not gauge and self.units == "in":
            self.doubts.append(f"{value:g} was read as mm. Put in after it for inches.")
        return value

    def refuse(self, start: int, message: str) -> None:
        """Leave the words from a position to here unread, with a reason."""
        self.unread.update(range(start, self.at))
        self.doubts.append(message)


def match_act(words: Sequence[str], at: int) -> tuple[Act, int] | None:
    """Return the act that the longest run of words from here stands for, and the place after it."""
    for size in range(min(LONGEST_ACT, len(words) - at), 0, -1):
        act = ACTS.get(tuple(words[at : at + size]))
        if act is not None:
            return act, at + size
    return None


# --- places --------------------------------------------------------------------------------------


def read_place(words: Sequence[str], at: int, last: str = "") -> tuple[str, int] | None:
    """Read one place: a branch, a zone, a side, the whole tree, the pot, or ``end``.

    ``last`` is the last place named: its running end is meant by ``end``.
    """
    for here in range(at, len(words) - 1):
        if words[here] == "left" and words[here + 1] == "alone":
            words = words[:here]  # "left alone" says that nothing was done; it is no side
            break
    if at >= len(words):
        return None
    if words[at] == "trunk" and _NUMBER.fullmatch(words[at + 1] if at + 1 < len(words) else ""):
        return None
    if words[at] == "top":
        zone = read_zone(["apex", *words[at + 1 :]], 0)
        if zone is not None and zone[1] > 1:
            return zone[0], at + zone[1]
    name = read_name(words, at)
    return (
        (str(name[0]), name[1]) if name else _fixed_place(words, at, last) or read_zone(words, at)
    )


def _fixed_place(words: Sequence[str], at: int, last: str) -> tuple[str, int] | None:
    """Read ``end``, the whole tree or the pot."""
    end = f"{last}-end" if last else "end"
    fixed = {"end": end, "running end": end, "pot": "pot", **WHOLE}
    for size in (2, 1):
        said_here = " ".join(words[at : at + size])
        if len(words) >= at + size and said_here in fixed:
            return fixed[said_here], at + size
    return None


# --- days ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Day:
    """A day that was named: ``day`` is None when it is none; ``after`` is the place after it."""

    day: date | None
    after: int
    said: str


def read_day(words: Sequence[str], at: int, today: date, *, ahead: bool = False) -> Day | None:
    """Read a day: ``yesterday``, a weekday, ``9 June``, ``9 Jun 2026``, ``3 days ago``, ISO.

    Parameters
    ----------
    words : sequence of str
        Lower-case words.
    at : int
        Where to start.
    today : date
        The day it is said.
    ahead : bool
        The day is still to come: a weekday is the next such day, a day and month the next one;
        otherwise the last one before today.
    """
    here = at
    while words[here : here + 1] in (["on"], ["the"]):
        here += 1
    for read in (_read_word, _read_weekday, _read_iso, _read_month_day, _read_ago):
        found = read(words, here, today, ahead)
        if found is not None:
            day, after = found
            return Day(day, after, " ".join(words[here:after]))
    return None


_HALF_YEAR = timedelta(days=183)
"""A day and month that lie further back than this are taken for a day still to come."""

_Found = tuple[date | None, int]


def _read_word(words: Sequence[str], at: int, today: date, ahead: bool) -> _Found | None:
    del ahead
    days = {"today": 0, "yesterday": -1, "tomorrow": 1}.get(words[at] if at < len(words) else "")
    return None if days is None else (shift_day(today, days), at + 1)


def shift_day(day: date, days: float) -> date | None:
    """Return the day so many days later; ``None`` beyond the ends of the calendar."""
    try:
        return day + timedelta(days=days)
    except OverflowError:
        return None


def _read_weekday(words: Sequence[str], at: int, today: date, ahead: bool) -> _Found | None:
    led = words[at : at + 1] == ["last"] or (at > 0 and words[at - 1] == "on")
    here = at + (words[at : at + 1] == ["last"])
    word = words[here] if here < len(words) else ""
    number = WEEKDAYS.get(word)
    if number is None or (word in SHORT_DAYS and not led):
        return None
    gap = (number - today.weekday()) % 7 if ahead else -((today.weekday() - number) % 7)
    return shift_day(today, gap or (7 if ahead else -7)), here + 1


def _read_iso(words: Sequence[str], at: int, today: date, ahead: bool) -> _Found | None:
    del today, ahead
    if at >= len(words) or not re.fullmatch(r"\d{4}-\d{1,2}-\d{1,2}", words[at]):
        return None
    year, month, day = map(int, words[at].split("-"))
    return _make(year, month, day), at + 1


def _make(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _read_month_day(words: Sequence[str], at: int, today: date, ahead: bool) -> _Found | None:
    """Read ``9 June``, ``9th of June 2026`` or ``June 9``."""
    pair = [word for word in words[at : at + 3] if word != "of"][:2]
    if len(pair) < 2:
        return None
    size = 2 + (words[at + 1] == "of")
    numbers = [re.fullmatch(r"(\d{1,2})(?:st|nd|rd|th)?", word) for word in pair]
    if numbers[0] and pair[1] in MONTHS:
        day, month = int(numbers[0][1]), MONTHS[pair[1]]
    elif numbers[1] and pair[0] in MONTHS and size == 2:
        day, month = int(numbers[1][1]), MONTHS[pair[0]]
    else:
        return None
    after = at + size
    if re.fullmatch(r"\d{4}", words[after] if after < len(words) else ""):
        return _make(int(words[after]), month, day), after + 1
    years = range(today.year, today.year + 9) if ahead else (today.year, today.year - 1)
    for year in years:
        found = _make(year, month, day)
        if found is None:
            continue
        if found >= today if ahead else timedelta() <= today - found < _HALF_YEAR:
            return found, after
    return (None if ahead else _make(today.year, month, day)), after


def _read_ago(words: Sequence[str], at: int, today: date, ahead: bool) -> _Found | None:
    """Read ``3 days ago``, ``a week ago``, ``ten days ago``."""
    if ahead or at >= len(words):
        return None
    found = (1.0, at + 1) if words[at] == "a" else read_spoken_number(words, at)
    if re.fullmatch(r"\d{1,4}", words[at]):
        found = (float(words[at]), at + 1)
    if found is None or words[found[1] + 1 : found[1] + 2] != ["ago"]:
        return None
    unit = DAY_UNITS.get(words[found[1]])
    return None if unit is None else (shift_day(today, -int(found[0]) * unit), found[1] + 2)

"""Names of branches and zones in plain trade words: read, tidied, sorted and said aloud.

Primaries are numbered from the soil up with the side seen from the front: ``1L``, ``2R``, ``3B``
(back), ``4F`` (front). ``2R-1`` is the first shoot along 2R, ``2R-1l`` the one on its left looking
out from the trunk, ``2R-end`` its running end. A branch made between 2 and 3 is ``2.5`` with its
side; a graft still fed from elsewhere carries ``g``. Names reach a branch; they are not its
identity, and finding the branch of a name is done elsewhere.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from boughwright.errors import TextError

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

SIDES: Mapping[str, str] = {"L": "left", "R": "right", "B": "back", "F": "front"}
"""The letter of each side and its word."""

_SIDE_OF: Mapping[str, str] = {
    **{word: letter for letter, word in SIDES.items()},
    **{letter.lower(): letter for letter in SIDES},
}

HEIGHTS: Mapping[str, str] = {
    "low": "low",
    "lower": "low",
    "bottom": "low",
    "mid": "mid",
    "middle": "mid",
    "apex": "apex",
    "crown": "apex",
}
DEPTHS: Mapping[str, str] = {
    "inner": "inner",
    "inside": "inner",
    "outer": "outer",
    "outside": "outer",
}
_FLANKS: Mapping[str, str] = {word: word for word in SIDES.values()}
_ZONE_PARTS: tuple[Mapping[str, str], ...] = (HEIGHTS, DEPTHS, _FLANKS)

WHOLE: Mapping[str, str] = {"all": "all", "everything": "all", "tree": "all", "whole tree": "all"}
"""Words for the whole tree."""

WAYS: Mapping[str, str] = {"l": "left", "r": "right", "u": "upper", "d": "lower"}
"""Where a side shoot stands on its branch, looking out from the trunk."""

_COUNTS = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen "
    "fifteen sixteen seventeen eighteen nineteen"
)
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety"
_ORDER = (
    "first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth "
    "thirteenth fourteenth fifteenth sixteenth seventeenth eighteenth nineteenth twentieth"
)
ORDINALS: tuple[str, ...] = tuple(_ORDER.split())
"""Spoken ordinals, ``first`` at 0."""
UNIT_WORDS: Mapping[str, int] = {word: value for value, word in enumerate(_COUNTS.split())}
TEN_WORDS: Mapping[str, int] = {word: 20 + 10 * value for value, word in enumerate(_TENS.split())}

_PATH = r"(?:-(?:\d{1,3}[lrud]?|end))*"
_WRITTEN = re.compile(
    rf"(?:(?P<number>\d{{1,3}}(?:\.\d{{1,3}})?)(?P<side>[lrbf])(?P<graft>g?)"
    rf"|(?P<word>top|trunk|root))(?P<path>{_PATH})"
)
_SCAR = re.compile(r"scar(?: (?P<which>\d{1,3}|front|back|left|right))?")


@dataclass(frozen=True, slots=True)
class BranchName:
    """One branch name in its parts.

    Parameters
    ----------
    number : float, optional
        From the soil up; ``None`` for a named part.
    side : str
        ``L``, ``R``, ``B`` or ``F``; empty for a named part.
    graft : bool
        A graft not yet on its own.
    path : tuple of str
        Steps outward along it: ``1``, ``1l``, ``end``.
    word : str
        ``top``, ``trunk``, ``root``, ``scar``, ``scar 1`` or ``scar front``; empty for a primary.
    """

    number: float | None = None
    side: str = ""
    graft: bool = False
    path: tuple[str, ...] = ()
    word: str = ""

    def __str__(self) -> str:
        """Return the written name."""
        start = self.word or f"{self.number:g}{self.side}{'g' if self.graft else ''}"
        return "-".join((start, *self.path))


# --- reading -------------------------------------------------------------------------------------


@lru_cache(maxsize=8192)
def parse_name(text: str) -> BranchName:
    """Read a written or spoken branch name.

    Parameters
    ----------
    text : str
        ``2R-1l``, ``2,5 Lg``, ``top``, ``scar front``, ``second right``, ``three back``,
        ``2nd right, 1st side shoot``.

    Raises
    ------
    TextError
        When it is not a branch name.
    """
    words = _words(text)
    found = read_name(words, 0)
    if found is None or found[1] != len(words):
        raise TextError(
            f"{text!r} is not a branch name",
            allowed="1L, 2R-1, 2R-end, 2.5Lg, top, trunk, root, scar 1, scar front, second right",
            todo="Give the number from the soil up and the side",
        )
    return found[0]


@lru_cache(maxsize=8192)
def is_name(text: str) -> bool:
    """Tell whether a text is a branch name, written or spoken."""
    words = _words(text)
    found = read_name(words, 0)
    return found is not None and found[1] == len(words)


def normal_name(text: str) -> str:
    """Return a branch name in its one written form; ``2r - 1L`` gives ``2R-1l``.

    Raises
    ------
    TextError
        When it is not a branch name.
    """
    return str(parse_name(text))


def _words(text: str) -> list[str]:
    spaced = re.sub(r"\s*-\s*", "-", text.strip().casefold())
    spaced = re.sub(r"(\d),(\d)", r"\1.\2", spaced)
    spaced = re.sub(r"(?<=\d) (?=[lrbf]g?(?:-|$))", "", spaced)
    return spaced.replace(",", " ").split()


def read_name(words: Sequence[str], at: int) -> tuple[BranchName, int] | None:
    """Read a branch name that starts at one of many words.

    Parameters
    ----------
    words : sequence of str
        Lower-case words, numbers with a decimal point.
    at : int
        Where to start.

    Returns
    -------
    tuple of BranchName and int, or None
        The name and the place after it; ``None`` when no name starts there.
    """
    if at >= len(words):
        return None
    found = _read_written(words, at) or _read_scar(words, at) or _read_spoken(words, at)
    if found is None or found[0].word.startswith("scar"):
        return found
    name, at = found
    return _read_path(name, words, at)


def _read_written(words: Sequence[str], at: int) -> tuple[BranchName, int] | None:
    match = _WRITTEN.fullmatch(words[at])
    if match is None:
        return None
    path = tuple(step for step in match["path"].split("-") if step)
    if match["word"]:
        return BranchName(path=path, word=match["word"]), at + 1
    if float(match["number"]) == 0:
        return None
    name = BranchName(float(match["number"]), match["side"].upper(), bool(match["graft"]), path)
    return name, at + 1


def _read_scar(words: Sequence[str], at: int) -> tuple[BranchName, int] | None:
    """Read ``scar 1``, ``scar front``, ``front scar`` or ``scar`` alone."""
    pair = " ".join(words[at : at + 2])
    if words[at] in _FLANKS and pair.endswith(" scar"):
        return BranchName(word=f"scar {words[at]}"), at + 2
    if words[at] != "scar":
        return None
    if _SCAR.fullmatch(pair):
        return BranchName(word=pair), at + 1 + (pair != "scar")
    spoken = UNIT_WORDS.get(words[at + 1], 0) if at + 1 < len(words) else 0
    if spoken:
        return BranchName(word=f"scar {spoken}"), at + 2
    return BranchName(word="scar"), at + 1


def read_position(words: Sequence[str], at: int) -> tuple[float, int] | None:
    """Read a number or an ordinal, as digits or spoken: ``2``, ``2nd``, ``two point five``."""
    if at >= len(words):
        return None
    word = words[at]
    if word in ORDINALS:
        return ORDINALS.index(word) + 1.0, at + 1
    if match := re.fullmatch(r"(\d{1,3})(?:st|nd|rd|th)", word):
        return float(match[1]), at + 1
    if re.fullmatch(r"\d{1,3}(?:\.\d{1,3})?", word):
        return float(word), at + 1
    return read_spoken_number(words, at)


def read_spoken_number(words: Sequence[str], at: int) -> tuple[float, int] | None:
    """Read a number in words: ``fourteen``, ``twenty four``, ``one point five``."""
    value, here = _spoken_whole(words, at)
    if value is None:
        return None
    if words[here : here + 1] == ["point"]:
        digits, here = "", here + 1
        while here < len(words) and UNIT_WORDS.get(words[here], 10) < 10 and len(digits) < 3:
            digits += str(UNIT_WORDS[words[here]])
            here += 1
        return (float(f"{value}.{digits}"), here) if digits else None
    if words[here : here + 3] == ["and", "a", "half"]:
        return value + 0.5, here + 3
    return float(value), here


def _spoken_whole(words: Sequence[str], at: int) -> tuple[int | None, int]:
    """Read 0 to 999 in words."""
    total: int | None = None
    if words[at : at + 2] == ["a", "hundred"]:
        total, at = 100, at + 2
    elif (
        at + 1 < len(words)
        and 1 <= UNIT_WORDS.get(words[at], 0) < 10
        and words[at + 1] == "hundred"
    ):
        total, at = 100 * UNIT_WORDS[words[at]], at + 2
    if total is not None and words[at : at + 1] == ["and"] and _spoken_whole(words, at + 1)[0]:
        at += 1
    if at < len(words) and words[at] in TEN_WORDS:
        total, at = (total or 0) + TEN_WORDS[words[at]], at + 1
        if at < len(words) and 1 <= UNIT_WORDS.get(words[at], 0) < 10:
            return total + UNIT_WORDS[words[at]], at + 1
        return total, at
    if at < len(words) and words[at] in UNIT_WORDS:
        return (total or 0) + UNIT_WORDS[words[at]], at + 1
    return total, at


def _read_spoken(words: Sequence[str], at: int) -> tuple[BranchName, int] | None:
    """Read ``two right``, ``2nd right``, ``two point five left graft``."""
    number = read_position(words, at)
    if number is None or number[1] >= len(words):
        return None
    value, at = number
    head, _, tail = words[at].partition("-")
    graft = len(head) == 2 and head[1] == "g"
    side = _SIDE_OF.get(head[0] if graft else head)
    if side is None or value <= 0 or (tail and not re.fullmatch(_PATH, f"-{tail}")):
        return None
    name = BranchName(value, side, graft, tuple(tail.split("-")) if tail else ())
    at += 1
    following = " ".join(words[at : at + 2])
    if following.startswith("graft") and following not in {"graft in", "graft on"}:
        return replace(name, graft=True), at + 1
    return name, at


_STEP_WAYS = {word: letter for letter, word in WAYS.items()} | {"up": "u", "down": "d"}


def _read_path(name: BranchName, words: Sequence[str], at: int) -> tuple[BranchName, int]:
    """Read spoken steps after a name: ``1st side shoot``, ``2nd left side shoot``, ``end``."""
    path = name.path
    while at < len(words):
        here = at + (words[at] == ",")
        if words[at] == "end" or words[here : here + 2] == ["running", "end"]:
            path, at = (*path, "end"), at + 1 if words[at] == "end" else here + 2
            continue
        number = read_position(words, here)
        if number is None or number[0] != int(number[0]) or number[0] < 1:
            break
        here = number[1]
        way = _STEP_WAYS.get(words[here], "") if here < len(words) else ""
        here += bool(way)
        if words[here : here + 2] != ["side", "shoot"]:
            break
        path, at = (*path, f"{number[0]:g}{way}"), here + 2
    return replace(name, path=path), at


# --- zones ---------------------------------------------------------------------------------------


def read_zone(words: Sequence[str], at: int) -> tuple[str, int] | None:
    """Read a run of zone words: height, depth and side, each at most once, in any order."""
    found: dict[int, str] = {}
    here = at
    while here < len(words):
        if words[here] == "side" and here > at and words[here - 1] in _FLANKS:
            here += 1
            continue
        part = next((i for i, p in enumerate(_ZONE_PARTS) if words[here] in p), None)
        if part is None or part in found:
            break
        found[part] = _ZONE_PARTS[part][words[here]]
        here += 1
    return (" ".join(found[i] for i in sorted(found)), here) if found else None


def normal_zone(text: str) -> str:
    """Return a zone in its one written form: height, depth, side; ``outer lower`` is ``low outer``.

    Raises
    ------
    TextError
        When it is not a zone.
    """
    words = text.casefold().split()
    found = read_zone(words, 0)
    if found is None or found[1] != len(words):
        raise TextError(
            f"{text!r} is not a zone",
            allowed="low, mid or apex; inner or outer; front, back, left or right; or a mix",
            todo="Use each at most once",
        )
    return found[0]


def is_zone(text: str) -> bool:
    """Tell whether a text names a zone."""
    words = text.casefold().split()
    found = read_zone(words, 0)
    return found is not None and found[1] == len(words)


# --- order, sides, half numbers -------------------------------------------------------------------

_RANK = {"all": 0, "top": 1, "apex": 2, "trunk": 6, "scar": 7, "root": 8, "pot": 9}
_END = 10_000


def head_to_foot(text: str) -> tuple[int, float, str, tuple[tuple[int, str], ...], str]:
    """Return a sort key that puts places from the apex down to the root.

    Zones stand before the branches of the tree, shoots after the branch they grow from, from the
    trunk outward. What is not a name comes last, by its letters.
    """
    if is_name(text):
        name = parse_name(text)
        steps = tuple((_END if s == "end" else int(s.rstrip("lrud")), s) for s in name.path)
        rank = _RANK[name.word.split(" ")[0]] if name.word else 5
        return (rank, -(name.number or 0.0), name.side, steps, name.word)
    low = text.casefold()
    if is_zone(low):
        zone = normal_zone(low)
        height = next((i for i, h in enumerate(("apex", "mid", "low")) if h in zone), 0)
        return (2 + height, 0.0, "", (), zone)
    return (_RANK.get(low, 10), 0.0, "", (), low)


def side_of_clock(clock: float) -> str:
    """Return the side letter of a clock hour seen from above with the front at 6.

    Each side takes a quarter: left 7:30 to 10:30, back to 1:30, right to 4:30, front to 7:30.
    """
    return "BRFL"[int((clock % 12 + 1.5) // 3) % 4]


def clock_after_turn(clock: float, degrees: float) -> float:
    """Return the clock hour of a branch after the front moved clockwise by so many degrees.

    In 0 < hour <= 12, as the hours on a clock.
    """
    hour = (clock - degrees / 30.0) % 12.0
    return hour if hour > 0 else 12.0


def with_side(name: str, clock: float) -> str:
    """Return a primary's name with the side of its clock hour; other names come back as they are.

    Raises
    ------
    TextError
        When it is not a branch name.
    """
    parts = parse_name(name)
    return str(parts if parts.word else replace(parts, side=side_of_clock(clock)))


def between(
    lower: str, upper: str, side: str, *, graft: bool = False, taken: Iterable[str] = ()
) -> str:
    """Suggest the name of a new primary between two: between 2R and 3B on the left, ``2.5L``.

    The number is the shortest one strictly between, nearest to the middle, and free of any name
    already taken, whatever its side.

    Parameters
    ----------
    lower, upper : str
        The primaries below and above it; an upper one without number (``top``) counts as 1 more.
    side : str
        ``L``, ``R``, ``B`` or ``F``.
    graft : bool
        The new branch is an unweaned graft.
    taken : iterable of str
        Names in use.

    Raises
    ------
    TextError
        When the lower is not a primary or not below the upper, or nothing is free between them.
    """
    below, above = parse_name(lower).number, parse_name(upper).number
    if below is not None and above is None and parse_name(upper).word == "top":
        above = float(int(below) + 1)
    if below is None or above is None or not below < above:
        raise TextError(
            f"{lower} does not stand below {upper}", allowed="two primaries, lower first"
        )
    used = {parse_name(name).number for name in taken if is_name(name)}
    for scale in (10, 100, 1000):
        free = [n / scale for n in range(int(below * scale), int(above * scale) + 2)]
        free = [n for n in free if below < n < above and n not in used]
        if free:
            middle = (below + above) / 2
            number = min(free, key=lambda n: (round(abs(n - middle), 9), n))
            return str(BranchName(number, side.upper(), graft))
    raise TextError(f"no number is free between {lower} and {upper}", todo="Tidy the names first")


# --- saying it aloud -----------------------------------------------------------------------------


def ordinal(number: int) -> str:
    """Return ``1st``, ``2nd``, ``3rd``, ``11th`` and so on."""
    ending = (
        "th" if number % 100 in {11, 12, 13} else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    )
    return f"{number}{ending}"


def _say_step(step: str) -> str:
    if step == "end":
        return "running end"
    way = WAYS.get(step[-1], "")
    number = ordinal(int(step.rstrip("lrud")))
    return f"{number} {way} side shoot" if way else f"{number} side shoot"


def spoken(place: str) -> str:
    """Return a place in spoken words: ``2R-1`` gives ``2nd right, 1st side shoot``.

    Zones, ``pot`` and names of other kinds come back as they were written.
    """
    if place == "all":
        return "whole tree"
    if not is_name(place):
        return place
    name = parse_name(place)
    if name.word:
        start = f"{name.word[5:]} scar" if name.word[5:] in _FLANKS else name.word
    else:
        number = name.number or 0.0
        count = ordinal(int(number)) if number.is_integer() else f"{number:g}"
        start = f"{count} {SIDES[name.side]}{' graft' if name.graft else ''}"
    return ", ".join((start, *map(_say_step, name.path)))

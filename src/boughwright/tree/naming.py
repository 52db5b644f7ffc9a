"""Which parts of a tree a place means: names, old names, half numbers, zones and sides.

A name reaches the branch that bears it now; failing that the branch that once bore it. Sides are
worked out afresh when the front is turned; names and identities are not.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from boughwright.errors import AmbiguousNameError, UnknownNameError
from boughwright.journal.names import (
    WHOLE,
    clock_after_turn,
    is_name,
    is_zone,
    normal_name,
    normal_zone,
    parse_name,
    side_of_clock,
)
from boughwright.journal.terms import Kind, Zone

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import date

    import numpy.typing as npt

    from boughwright.tree.model import Codes, Floats, Ints, Tree

_KINDS = tuple(Kind)
_ZONES = {"low": Zone.LOWER, "mid": Zone.MIDDLE, "apex": Zone.APEX}
_CROWN = [_KINDS.index(kind) for kind in (Kind.BRANCH, Kind.TOP, Kind.GRAFT)]


@dataclass(frozen=True, slots=True)
class Found:
    """What a place means on one tree.

    ``match`` tells how it was found: ``name``, ``alias`` (an older name), ``graft`` (with or
    without the g of an unweaned graft), ``side`` (by its side since the front was turned),
    ``number``, ``end``, ``zone`` or ``all``. ``zone`` is the zone in its written form, else empty;
    its rows are living ones, and none when no branch is known to stand there. ``also`` are rows
    that bore the name before the branch found.
    """

    rows: tuple[int, ...]
    zone: str
    match: str
    also: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Standing:
    """Where every row stands, for picking rows by zone. All arrays are (N,)."""

    kind: Codes
    zone: Codes
    outer: Codes
    clock: Floats
    parent: Ints


def find(tree: Tree, place: str, *, last: int | None = None, on: date | None = None) -> Found:
    """Find what a place of a bench phrase means.

    Parameters
    ----------
    tree : Tree
        The tree.
    place : str
        A branch name, written or spoken, a zone, ``all``, or ``end``.
    last : int, optional
        Row of the branch named before, whose running end ``end`` means.
    on : date, optional
        Read names as they were on that day; as they are now when absent.

    Raises
    ------
    AmbiguousNameError
        When the name fits more than one branch; the error lists them.
    UnknownNameError
        When no branch has or had that name; the error lists the three nearest.
    """
    word = " ".join(place.casefold().split())
    exact = _bearers(tree, on).get(name_key(word), [])
    if exact:
        return _one(tree, place, exact, "name", also=_once(tree, name_key(word)))
    if word in WHOLE:
        return Found(_living(tree, rows_of_zone("", standing_of(tree), tree.front_deg)), "", "all")
    if is_zone(word):
        rows = rows_of_zone(word, standing_of(tree), tree.front_deg)
        return Found(_living(tree, rows), normal_zone(word), "zone")
    if word in {"end", "running end"} and last is not None:
        return Found((last,), "", "end")
    for match, looked in _WAYS.items():
        rows_found = looked(tree, word)
        if rows_found:
            return _one(tree, place, rows_found, match)
    return _unknown(tree, place)


def clock_now(tree: Tree) -> Floats:
    """Return each row's direction as a clock hour seen from above with today's front at 6.

    Returns
    -------
    (N,) float
        Over 0 to 12; nan where the direction is unknown.
    """
    return _turned(tree.branches.clock, tree.front_deg)


def side_now(tree: Tree, row: int) -> str:
    """Return the side letter of a row from today's front, empty when its direction is unknown."""
    clock = float(tree.branches.clock[row])
    return "" if np.isnan(clock) else side_of_clock(clock_after_turn(clock, tree.front_deg))


def standing_of(tree: Tree) -> Standing:
    """Return the columns of a tree that tell its zones."""
    rows = tree.branches
    return Standing(rows.kind, rows.zone, rows.outer, rows.clock, rows.parent)


def rows_of_zone(zone: str, at: Standing, front_deg: float) -> npt.NDArray[np.bool_]:
    """Return which rows a zone covers, gone ones included.

    Every word narrows it. A branch whose height or side is unknown is in no such zone; one not
    known to be inner counts as outer and the other way about, as every branch has an outer half.

    Parameters
    ----------
    zone : str
        Zone words; empty for the whole crown.
    at : Standing
        Where rows stand.
    front_deg : float
        How far the front has been turned when the words were said. [degrees]
    """
    inside = np.isin(at.kind, _CROWN)
    for word in normal_zone(zone).split() if zone else ():
        if word in _ZONES:
            inside &= at.zone == tuple(Zone).index(_ZONES[word])
        elif word in {"inner", "outer"}:
            inside &= at.outer != int(word == "inner")
        else:
            inside &= _sides(at, front_deg) == word[0].upper()
    return inside


def _sides(at: Standing, front_deg: float) -> npt.NDArray[np.str_]:
    clock = _turned(at.clock, front_deg)
    for row in np.flatnonzero(
        np.isnan(clock)
    ):  # a shoot of unknown direction is on its parent's side
        if at.parent[row] > 0:
            clock[row] = clock[at.parent[row]]
    known = ~np.isnan(clock)
    sides = np.full(len(clock), "", "<U1")
    sides[known] = [side_of_clock(hour) for hour in clock[known].tolist()]
    return sides


def _turned(clock: Floats, front_deg: float) -> Floats:
    hour = np.mod(clock - front_deg / 30.0, 12.0)
    return np.where(hour == 0.0, 12.0, hour)


def _living(tree: Tree, rows: npt.NDArray[np.bool_]) -> tuple[int, ...]:
    return tuple(np.flatnonzero(rows & ~tree.branches.gone).tolist())


@lru_cache(maxsize=1 << 16)
def name_key(name: str) -> str:
    """Return the form under which names are compared."""
    return normal_name(name) if is_name(name) else " ".join(name.casefold().split())


def _bearers(tree: Tree, on: date | None) -> dict[str, list[int]]:
    """Rows by the name they bear on a day, now when None."""
    rows = tree.branches
    bears: dict[str, list[int]] = {}
    for row, name in enumerate(rows.names):
        then = name
        if on is not None and rows.alias_until:
            ended = zip(rows.aliases[row], rows.alias_until[row], strict=True)
            then = next((old for old, until in ended if on < until), name)
        bears.setdefault(name_key(then), []).append(row)
    return bears


def _once(tree: Tree, key: str) -> list[int]:
    """Rows that bore a name before."""
    return [
        row
        for row, old in enumerate(tree.branches.aliases)
        if any(name_key(name) == key for name in old)
    ]


def _by_alias(tree: Tree, word: str) -> list[int]:
    return _once(tree, name_key(word))


def _by_graft(tree: Tree, word: str) -> list[int]:
    """Find a graft with or without its g, which it loses when it is weaned."""
    if not is_name(word) or parse_name(word).number is None:
        return []
    parts = parse_name(word)
    other = str(replace(parts, graft=not parts.graft))
    return _bearers(tree, None).get(other, []) or _once(tree, other)


def _by_side(tree: Tree, word: str) -> list[int]:
    """Find the number with the side the branch has since the front was turned."""
    if not is_name(word) or parse_name(word).number is None or parse_name(word).path:
        return []
    wanted = parse_name(word)
    return [
        row for row in _numbered(tree, wanted.number or 0.0) if side_now(tree, row) == wanted.side
    ]


def _by_number(tree: Tree, word: str) -> list[int]:
    try:
        return _numbered(tree, float(word.replace(",", ".")))
    except ValueError:
        return []


def _by_end(tree: Tree, word: str) -> list[int]:
    """Find the branch whose running end is meant, when that has no name of its own."""
    if not is_name(word):
        return []
    parts = parse_name(word)
    if parts.path[-1:] != ("end",):
        return []
    base = str(replace(parts, path=parts.path[:-1]))
    return _bearers(tree, None).get(base, []) or _once(tree, base)


_WAYS: dict[str, Callable[[Tree, str], list[int]]] = {
    "alias": _by_alias,
    "graft": _by_graft,
    "end": _by_end,
    "side": _by_side,
    "number": _by_number,
}


def _numbered(tree: Tree, number: float) -> list[int]:
    found = []
    for row, name in enumerate(tree.branches.names):
        if is_name(name):
            parts = parse_name(name)
            if parts.number == number and not parts.path and not tree.branches.gone[row]:
                found.append(row)
    return found


def _one(tree: Tree, place: str, rows: list[int], match: str, also: Iterable[int] = ()) -> Found:
    """Settle on one row: the living one of several, else ask."""
    living = [row for row in rows if not tree.branches.gone[row]]
    chosen = living if living else rows
    if len(chosen) > 1:
        raise AmbiguousNameError(
            f"{place!r} fits {' and '.join(_where(tree, row) for row in chosen)}",
            where=tree.name,
            todo="Say which one",
        )
    return Found((chosen[0],), "", match, tuple(row for row in also if row != chosen[0]))


def _where(tree: Tree, row: int) -> str:
    rows = tree.branches
    height, clock = float(rows.height_mm[row]), float(clock_now(tree)[row])
    up = "height not known" if np.isnan(height) else f"{{{height:.0f} mm}} up"
    at = "direction not known" if np.isnan(clock) else f"at {clock:g} o'clock"
    return f"{rows.names[row]} ({up}, {at})"


def _unknown(tree: Tree, place: str) -> Found:
    rows = tree.branches
    every = {name: name.casefold() for name in rows.names}
    every |= {name: name.casefold() for old in rows.aliases for name in old}
    near = difflib.get_close_matches(place.casefold(), sorted(set(every.values())), 3, cutoff=0.0)
    spelled = {low: name for name, low in every.items()}
    raise UnknownNameError(
        f"no branch is called {place!r}",
        where=tree.name,
        allowed=f"the nearest names are {', '.join(spelled[low] for low in near)}" if near else "",
        todo="Pick one, or enter it as a new branch",
    )

"""The acts likeliest now for a branch, a zone or a tree, each with the bench phrase that logs it.

A tap says the same as a typed or spoken line: its phrase is made by the writer of bench phrases, so
reading it back gives what the tap stands for. Branch, act, amount: three taps at most.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from boughwright.errors import TextError
from boughwright.journal.events import Worked
from boughwright.journal.terms import Kind
from boughwright.usecases.bench_phrases import BLANK, done_phrase
from boughwright.usecases.blanks import filled
from boughwright.usecases.tap_acts import (
    LOOK_DAYS,
    MAKERS,
    STAGES,
    Choice,
    Spot,
    Tap,
    asked_of,
    key_of,
    plain_tap,
    read_phrase,
    with_ending,
)
from boughwright.verdicts.verdict import Act

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from boughwright.usecases.day import TreeDay

__all__ = ["LIKELY", "LOOK_DAYS", "Choice", "Tap", "complete", "free_places", "taps_for"]

LIKELY = 5
"""How many acts stand first, within reach of the thumb."""


def taps_for(day: TreeDay, row: int, place: str = "") -> tuple[Tap, ...]:
    """Return the acts that can be logged, the likeliest first.

    Parameters
    ----------
    day : TreeDay
    row : int
        The branch; -1 for the tree, a zone, or a place where nothing grows yet.
    place : str
        The zone, or a new branch's name such as ``2.5L``; empty for the whole tree.

    Returns
    -------
    tuple of Tap
        Each act once; the first `LIKELY` are those of the bar. None for a branch that is gone.
    """
    spot = _spot(day, row, place)
    if spot is None:
        return ()
    told = _told_keys(spot)
    keys = dict.fromkeys((*told, *_wired(spot), *_listed(spot)))
    return tuple(tap for key in keys if (tap := _made(spot, key, told)) is not None)


def free_places(day: TreeDay) -> tuple[str, ...]:
    """Return names for places between primaries where a graft could make a branch: ``2.5L``.

    Sides that a branch between the same two already takes are left out.
    """
    rows = day.tree.branches
    living = [n for n, gone in zip(rows.names, rows.gone.tolist(), strict=True) if not gone]
    numbers = sorted({int(n[:-1]) for n in living if n[:-1].isdigit() and n[-1:] in "LRBF"})
    taken = {name.rstrip("g") for name in living}
    names = (f"{number}.5{side}" for number in numbers for side in "LRBF")
    return tuple(name for name in names if name not in taken)


def complete(
    text: str,
    numbers: Sequence[str] = (),
    *,
    units: str = "mm",
    way: str = "",
    why: str = "",
    then: str = "",
) -> str:
    """Return a phrase with its numbers in the blanks, and what else was chosen at its end.

    Parameters
    ----------
    text : str
        The phrase, with ``__`` where a number is to be given.
    numbers : sequence of str
        As typed, one a blank; lengths in the grower's unit. What was left empty is left out.
    units : str
        ``mm`` or ``in``.
    way, why, then : str
        How it was done (``unwound``), the reason, and the next look (``look 10 d``).

    Raises
    ------
    TextError
        When no number is given, or one is none.
    """
    said = text
    if BLANK in text.split():
        said = filled(text, numbers, units=units)
        if not said:
            raise TextError(
                "a number is missing", allowed="a number such as 9.2", todo="Fill it in"
            )
    return with_ending(said, way, why, then)


# --- which ----------------------------------------------------------------------------------------

_LOOKED = ("ok", "ok_look")
_STATES = ("strong", "steady", "weak", "failing")
_ILLS = ("spots", "mildew", "pest", "curl", "canker", "dieback")
_LEAF = ("leaf_thin", "leaf_pair", "leaf_clear", "leaf_full")
_BRANCH_ACTS = (
    *_LOOKED, "let_run", "cut", "wire_on", "base", "wire_off", "bite", "pinch", "two", "rub",
    "raise", "lower", "guy_on", "guy_off", *_LEAF, "bud_select", "fruit_off", "node", "extension",
    "later", "keep", *_ILLS, *_STATES, "dead", "broke", "held", "sprang", "look",
)  # fmt: skip
_LISTS: Mapping[Kind, tuple[str, ...]] = {
    Kind.BRANCH: _BRANCH_ACTS,
    Kind.TOP: _BRANCH_ACTS,
    Kind.GRAFT: (
        *_LOOKED, "exit_entry", "notch", "sever", "moved", "gap", "let_run", "cut", "wire_on",
        "wire_off", "bite", "base", "guy_on", "guy_off", "keep", *_ILLS, *_STATES, "dead", "look",
    ),
    Kind.SCAR: ("open", *_LOOKED, "rim", "canker", "dieback", "look"),
    Kind.TRUNK: (*_LOOKED, "trunk", "wire_on", "wire_off", "bite", *_ILLS, "look"),
    Kind.ROOT: (*_LOOKED, "base", "cut", *_ILLS, "look"),
}  # fmt: skip
_ZONE_ACTS = (
    *_LOOKED, "cut", "leaf_thin", "wire_off", "wire_on", "bite", "pinch", "two", "rub",
    "leaf_pair", "leaf_clear", "leaf_full", "bud_select", "fruit_off", *_ILLS, *_STATES, "look",
)  # fmt: skip
_TREE_ACTS = (
    *_LOOKED, "feed", "spots", "pest", "mildew", "curl", "spray", "shade", "cover", "turn",
    "repot", "cut", "wire_off", "wire_on", "bite", "pinch", *_LEAF, "fruit_off", "drain",
    "height", "weight", *STAGES, "regrowth", "fruit", "dry", "wet", "wilt", "pale", "frost",
    "scorch", "hail", *_STATES, "hygiene", "look",
)  # fmt: skip
_NEW_BRANCH_ACTS = ("graft_in", "graft_on")


def _listed(spot: Spot) -> tuple[str, ...]:
    if spot.branch is not None:
        return _LISTS[spot.branch.kind]
    if spot.free:
        return _NEW_BRANCH_ACTS
    return _ZONE_ACTS if spot.place else _TREE_ACTS


def _wired(spot: Spot) -> tuple[str, ...]:
    """Return what is likeliest where wire is on."""
    branch = spot.branch
    on = branch is not None and (branch.wire is not None or branch.wire_on is not None)
    return ("wire_off", "bite") if on else ()


_KEYS_OF_ACTS: Mapping[Act, str] = {
    Act.KEEP_WIRE: "bite",
    Act.LET_RUN: "let_run",
    Act.LOOK_FIRST: "answer",
    Act.LEAVE: "ok",
    Act.REST: "ok",
    Act.GRAFT_WAIT: "ok",
    Act.WIRE_ON: "wire_on",
}
"""The tap of an act that no single work logs."""


def _told_keys(spot: Spot) -> dict[str, None]:
    """Return the taps that the verdicts ask for, the leading verdict's first."""
    keys: dict[str, None] = {}
    for told, where in asked_of(spot):
        if told.act in _KEYS_OF_ACTS:
            keys[_KEYS_OF_ACTS[told.act]] = None
        elif told.works:
            phrase = done_phrase(told.act, told.works, (spot.here,), where=where, share=told.share)
            bodies = read_phrase(phrase, spot.day) if phrase else []
            works = [body.work for body in bodies if isinstance(body, Worked)]
            keys |= dict.fromkeys([key_of(work) for work in works] or ["hygiene"] * bool(phrase))
    return keys


def _spot(day: TreeDay, row: int, place: str) -> Spot | None:
    if row < 0:
        free = place in free_places(day)
        return Spot(day, place, None, () if place else day.whole, free)
    branch = next((one for one in day.branches if one.row == row), None)
    if branch is None or branch.gone:
        return None
    verdicts = tuple(verdict for verdict in day.verdicts if verdict.row == row)
    return Spot(day, branch.name, branch, verdicts)


def _made(spot: Spot, key: str, told: Mapping[str, None]) -> Tap | None:
    maker = MAKERS.get(key)
    tap = maker(spot) if maker is not None else plain_tap(spot, key)
    return None if tap is None else replace(tap, key=key, advised=key in told)

"""How wire comes off: by the grade of the bite, the metal and the bark.

Common practice of the trade. Every case names what to do, what never to do, what comes after, and
the cautions of the work.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from itertools import product

from boughwright.errors import RangeError
from boughwright.journal.terms import Bark, Metal

EYES = "Wear eye protection: cut wire flies and its ends whip."
ENDS = "Hold both ends of every piece before you cut. Pick up all pieces."
CAUTIONS = (EYES, ENDS)

LOOK_AT_REST_HOURS = 48
"""After a bite, all other wire put on that day is looked at within this time."""


class Method(StrEnum):
    """How the wire leaves the branch."""

    LIFT = "cut and lift off"
    UNWIND = "cut, else unwind"
    PIECES = "cut in pieces"
    ROLL = "cut and roll out"
    LEAVE = "leave the coils"
    OPEN = "leave or open the lips"


@dataclass(frozen=True, slots=True)
class OffPlan:
    """How one wire comes off.

    ``logged_as`` is the method to log: ``cut``, ``unwound`` or ``left``. ``may_unwind`` tells
    whether unwinding is allowed at all. ``rewire`` says when the same run may carry wire again.
    """

    grade: int
    method: Method
    may_unwind: bool
    logged_as: str
    steps: tuple[str, ...]
    never: tuple[str, ...]
    aftercare: tuple[str, ...]
    rewire: str
    look_at_rest: bool
    cautions: tuple[str, ...] = CAUTIONS


_STEPS: dict[Method, tuple[str, ...]] = {
    Method.LIFT: (
        "Cut each coil on its outer face, from the tip to the base.",
        "Lift the pieces off.",
    ),
    Method.UNWIND: (
        "Cut where the jaw goes in without touching bark, and lift those pieces off.",
        "Unwind the rest with pliers from the tip end, back along the path it went on.",
        "Hold the branch still with the other hand.",
    ),
    Method.PIECES: (
        "Cut each coil in short pieces where the jaw goes in without touching bark.",
        "Ease each piece out sideways with pliers.",
    ),
    Method.ROLL: (
        "Cut every coil that still shows, in short pieces.",
        "Roll each piece out sideways along its own groove.",
    ),
    Method.LEAVE: (
        "Cut off the wire that still shows, close to the bark.",
        "Leave the buried coils where they are.",
    ),
    Method.OPEN: (
        "Cut off the wire that still shows, close to the bark.",
        "Leave one or two buried coils where they are.",
        "Where more must come out, and only while the tree grows, open the lips over at most "
        "{10 mm} at a time and lift that piece out.",
    ),
}

_LOGGED = {Method.UNWIND: "unwound", Method.LEAVE: "left", Method.OPEN: "left"}

_NO_UNWIND = "Never unwind: bark cracks and buds break off."
_NO_PULL = "Never pull on a piece that does not come."
_NO_LIPS = "Never open lips on thin bark."
_NO_LIPS_AT_REST = "Never open lips while the tree is at rest."
_NO_HARD_COPPER = "Never unwind copper here: it has gone hard and tears the bark."

_METHODS: dict[int, dict[tuple[Metal, bool], Method]] = {
    **{grade: dict.fromkeys(product(Metal, (False, True)), Method.LIFT) for grade in (0, 1, 2)},
    3: {
        (Metal.ALUMINIUM, False): Method.UNWIND,
        (Metal.ALUMINIUM, True): Method.UNWIND,
        (Metal.COPPER, False): Method.PIECES,
        (Metal.COPPER, True): Method.PIECES,
    },
    4: dict.fromkeys(product(Metal, (False, True)), Method.ROLL),
    5: {(metal, thick): Method.OPEN if thick else Method.LEAVE
        for metal, thick in product(Metal, (False, True))},
}  # fmt: skip
"""Method by grade, metal and whether the bark is thick."""

_REWIRE = {
    0: "Any time.",
    2: "Any time, with the coils beside the old line.",
    3: "Not on this run until the lips are level, at least one flush, most often a season. "
    "Hold the bend with a padded guy.",
}


def thick_bark(bark: Bark | None) -> bool:
    """Return whether bark is thick. Only corky bark is; unknown bark counts as thin."""
    return bark is Bark.CORKY


def wire_off(grade: int, metal: Metal | None, bark: Bark | None) -> OffPlan:
    """Return how wire of a grade comes off.

    Parameters
    ----------
    grade : int
        0 to 5, as seen.
    metal : Metal, optional
        Unknown metal is handled as copper, the harder one.
    bark : Bark, optional
        Unknown bark is handled as thin.

    Raises
    ------
    RangeError
        When the grade is not 0 to 5.
    """
    if grade not in _METHODS:
        raise RangeError(f"grade {grade} is no bite grade", allowed="0 to 5",
                         todo="Look at the wire first")  # fmt: skip
    used, thick = metal or Metal.COPPER, thick_bark(bark)
    method = _METHODS[grade][used, thick]
    bitten = grade >= 3
    return OffPlan(
        grade=grade,
        method=method,
        may_unwind=method is Method.UNWIND,
        logged_as=_LOGGED.get(method, "cut"),
        steps=_STEPS[method],
        never=_never(method, used, thick=thick, bitten=bitten),
        aftercare=_aftercare(grade),
        rewire=_REWIRE[3 if bitten else 2 if grade == 2 else 0],
        look_at_rest=bitten,
    )


def _never(method: Method, metal: Metal, *, thick: bool, bitten: bool) -> tuple[str, ...]:
    """Return what is never done with this method."""
    unwinding: tuple[str, ...] = (_NO_UNWIND,)
    if method is Method.UNWIND:
        unwinding = ()
    elif method is Method.PIECES and metal is Metal.COPPER:
        unwinding = (_NO_HARD_COPPER,)
    lips = {Method.LEAVE: _NO_LIPS, Method.OPEN: _NO_LIPS_AT_REST}.get(method)
    pulling = (_NO_PULL,) if bitten else ()
    thin = ("Never let the jaw press on the bark.",) if not thick else ()
    return (*unwinding, *pulling, *((lips,) if lips else ()), *thin)


def _aftercare(grade: int) -> tuple[str, ...]:
    """Return what follows on a branch once its wire is off."""
    if grade < 2:
        return ()
    if grade == 2:
        return ("The line fades as the branch thickens.",)
    common = (
        "Seal every tear.",
        f"Look at all other wire put on that day within {LOOK_AT_REST_HOURS} hours.",
    )
    if grade < 5:
        return common
    return (*common, "Where more than half of the run is buried and the branch can be replaced, "
                     "plan a new one.")  # fmt: skip

"""Bench time: what a round of each work takes on a small, middle and large tree, and setting up.

Times are those of one experienced person, common practice of the trade; a pupil takes half as
long again. They are replaced by a garden's own timed works when there are enough of them.
"""

from __future__ import annotations

from enum import IntEnum
from typing import Final

from boughwright.verdicts.verdict import Act


class Size(IntEnum):
    """Size of a tree by its height."""

    SMALL = 0
    """Under 250 mm."""
    MIDDLE = 1
    LARGE = 2
    """Over 550 mm."""


Range = tuple[float, float]
SETUP: Final[tuple[float, float, float]] = (8.0, 11.0, 15.0)
"""Minutes to set up and put away, by size."""
_OFF: Final = ((10.0, 25.0), (20.0, 60.0), (45.0, 120.0))
_THIN: Final = ((10.0, 25.0), (30.0, 75.0), (60.0, 150.0))
_PAIR: Final = ((10.0, 20.0), (20.0, 60.0), (60.0, 120.0))
_PINCH: Final = ((3.0, 6.0), (8.0, 20.0), (15.0, 40.0))
ROUND: Final[dict[Act, tuple[Range, Range, Range]]] = {
    Act.WIRE_OFF: _OFF,
    Act.LEAF_CLEAR: _THIN, Act.LEAF_THIN: _THIN, Act.LEAF_PAIR: _THIN, Act.LEAF_FULL: _THIN,
    Act.WEAKEN: _THIN,
    Act.CUT_TO_PAIR: _PAIR, Act.CUT_TO_LEAF: _PAIR, Act.SHORTEN: _PAIR, Act.TWO: _PAIR,
    Act.BUD_SELECT: _PAIR,
    Act.PINCH: _PINCH,
    Act.RUB: _PINCH,
    Act.WIRE_ON: ((60.0, 120.0), (120.0, 300.0), (240.0, 480.0)),
    Act.REPOT: ((30.0, 45.0), (45.0, 120.0), (120.0, 240.0)),
}  # fmt: skip
"""Minutes of one round over the whole tree, least and most."""
EACH: Final[dict[Act, tuple[Range, Range, Range]]] = {
    Act.GRAFT: ((15.0, 40.0),) * 3,
    Act.RIM: ((8.0, 15.0), (10.0, 20.0), (10.0, 30.0)),
}
"""Minutes of each one."""
FEW: Final[dict[Act, float]] = {
    Act.FEED: 2.0, Act.PROTECT: 5.0, Act.FRUIT_OFF: 5.0, Act.LOOK_FIRST: 1.0,
}  # fmt: skip
"""Minutes of small jobs on the tree as a whole."""
PUPIL: Final = 1.5


def size_of(tall_mm: float | None) -> Size:
    """Return the size of a tree; the middle one when its height is not known."""
    if tall_mm is None:
        return Size.MIDDLE
    return Size.SMALL if tall_mm < 250 else Size.LARGE if tall_mm > 550 else Size.MIDDLE


def setup_minutes(tall_mm: float | None, *, pupil: bool = False) -> float:
    """Return the minutes to set a tree up and put it away."""
    return SETUP[size_of(tall_mm)] * (PUPIL if pupil else 1.0)


def job_minutes(
    act: Act, tall_mm: float | None, *, count: int, share: float = 1.0, given: float = 0.0,
    pupil: bool = False,
) -> float:  # fmt: skip
    """Return the bench minutes of one job, without setting up.

    Parameters
    ----------
    act : Act
    tall_mm : float, optional
        Height of the tree.
    count : int
        Branches, grafts or rims it touches.
    share : float
        Part of the whole round, 0..1, used when the verdicts gave no minutes.
    given : float
        Sum of the minutes its verdicts gave. A round takes no longer than the whole tree does.
    pupil : bool
        Half as long again.
    """
    size = size_of(tall_mm)
    factor = PUPIL if pupil else 1.0
    if act in EACH:
        low, high = EACH[act][size]
        return factor * count * min(high, max(low, given / max(count, 1)))
    if act in ROUND:
        low, high = ROUND[act][size]
        whole = low + (high - low) * min(1.0, share)
        return factor * (min(given, high) if given > 0 else whole * min(1.0, share))
    return factor * max(given, FEW.get(act, 0.0))

"""How likely leaf disease is now: wet spells on soft leaf, with the temperature after bud burst.

Spells are counted by the generic infection model of Magarey, Sutton & Russo (2005), and a spring
is classed by the mean temperature of the two weeks after burst, both in
`boughwright.season.infection`. How the two join is a starting value.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import Final

from boughwright.season.infection import Blight, blight_class
from boughwright.season.stages import Stage
from boughwright.sources import Grade

SOFT: Final = frozenset({Stage.BURST, Stage.FIRST_LEAF, Stage.RUNNING, Stage.CLOSING})
HALF_SOFT: Final = frozenset({Stage.SECOND_PUSH})


class Pressure(IntEnum):
    """Class of disease pressure."""

    NONE = 0
    LOW = 1
    MEDIUM = 2
    HIGH = 3

    @property
    def word(self) -> str:
        """The word shown on screens."""
        return self.name.lower()


@dataclass(frozen=True, slots=True)
class Reading:
    """The class, why, and how far to trust it."""

    pressure: Pressure
    why: str
    grade: Grade


def pressure(
    stage: Stage, wet_spells_14d: int | None, *, after_burst_mean_c: float | None = None
) -> Reading | None:
    """Return the disease pressure on leaves, None when rain is unknown.

    Parameters
    ----------
    stage : Stage
        Soft leaf takes disease; hard leaf hardly does.
    wet_spells_14d : int or None
        Spells of infection length in the last 14 days: none is low, one medium, two high.
    after_burst_mean_c : float, optional
        Mean temperature of the two weeks after burst. A warm spring lowers the class by one. [°C]
    """
    if stage not in SOFT and stage not in HALF_SOFT:
        return Reading(Pressure.NONE, "No soft leaf to infect", Grade.BORROWED)
    if wet_spells_14d is None:
        return None
    steps = min(wet_spells_14d, 2) + 1
    why = f"{wet_spells_14d} wet spells on soft leaf in 14 days"
    if stage in HALF_SOFT:
        steps -= 1
        why += "; only new shoots are soft"
    warm = after_burst_mean_c is not None and blight_class(after_burst_mean_c) == Blight.SLIGHT
    if warm:
        steps -= 1
        why += "; the weeks after burst were warm"
    return Reading(Pressure(max(steps, 1)), why, Grade.GUESS)

"""How much a branch's radius grows in a year, before and after it was ever measured.

The yearly increment is told by its logarithm, as a mean and a spread, so it is never negative.
Before any reading it is a starting value: that of the species, moved by phase, strength and
whether the branch runs. What is not known about the branch is taken half-way and widens the
spread. Readings narrow it.

Shapes: B = branches, R = readings, K = nodes of a quadrature. Codes are positions in the
enumerations of `boughwright.journal.terms`, -1 unknown; tri-states -1 unknown, 0 no, 1 yes.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from statistics import NormalDist
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import numpy.typing as npt

from boughwright.errors import RangeError
from boughwright.journal.terms import Phase, Vigour
from boughwright.sources import Grade

if TYPE_CHECKING:
    from boughwright.species.model import Species

Floats: TypeAlias = npt.NDArray[np.float64]

SPECIES_SD, TREE_SD, BRANCH_SD = 0.5, 0.4, 0.5
"""Log-spread of the increment between species of a class, trees and branches (guess)."""
PRIOR_SD = float(np.sqrt(SPECIES_SD**2 + TREE_SD**2 + BRANCH_SD**2))
"""All three together, 0.81: what is known before any reading."""
DRIFT_SD = 0.2
"""Log-drift of one branch's increment from a season to the next (guess)."""
DRIFT_SD_AFTER_HARD_WORK = 0.4
"""The same over a hard cut, a repot or a new pot (guess)."""
RUN_OVER_CUT = 2.5
"""Increment of a branch that runs over that of the same branch cut to its first pair (guess)."""
VIGOUR_FACTOR: dict[Vigour, float] = {
    Vigour.STRONG: 1.0,
    Vigour.STEADY: 0.5,
    Vigour.WEAK: 0.2,
    Vigour.FAILING: 0.1,
}
"""Increment against a strong branch of the same tree and phase (guess)."""
INNER_FACTOR = 0.6
"""Increment of an inner branch against an outer one of the same strength (guess)."""
MEASURED_BELOW = 0.5
"""A branch's increment counts as measured once its readings halve the spread of its prior."""


@dataclass(frozen=True, slots=True)
class Increment:
    """The year's radial growth of each branch, as a log-normal.

    ``log_mean``, ``log_sd`` : (B,) float
        Mean and spread of the logarithm of the increment in mm of radius a year.
    ``grade`` : (B,) int8
        `boughwright.sources.Grade` of each.
    ``base_link`` : (B,) or (1,) float
        Correlation of the logarithm with the true base on the day of the last reading: a reading
        that came out too thick makes growth look too fast. 0 before any reading.
    """

    log_mean: Floats
    log_sd: Floats
    grade: npt.NDArray[np.int8]
    base_link: Floats = field(default_factory=lambda: np.zeros(1))

    def take(self, rows: npt.NDArray[np.int64]) -> Increment:
        """Return the increments of some branches."""
        link = self.base_link[rows] if len(self.base_link) > 1 else self.base_link
        return Increment(self.log_mean[rows], self.log_sd[rows], self.grade[rows], link)

    def quantile_mm(self, share: float) -> Floats:
        """Return the yearly increment that a share (0..1) of cases stays under; (B,), in mm."""
        return np.exp(self.log_mean + NormalDist().inv_cdf(share) * self.log_sd)


def prior(species: Species, *, phase: npt.ArrayLike, vigour: npt.ArrayLike,
          outer: npt.ArrayLike, running: npt.ArrayLike) -> Increment:  # fmt: skip
    """Return the increment expected before any reading.

    The species' value of a strong, running branch in development holds for trunk building and
    primary structure; its value of an outer twig holds for a steady, cut branch in refinement;
    ramification lies half-way on the logarithm.

    Parameters
    ----------
    species : Species
        Traits ``increment_developing_mm`` and ``increment_refined_mm``.
    phase, vigour, outer, running : (B,) array_like of int
        Codes and tri-states of each branch.

    Returns
    -------
    Increment
        Grade: that of the species' values, a guess where any of the four is unknown.
    """
    phases, vigours, outers, runs = np.broadcast_arrays(
        *(np.atleast_1d(np.asarray(code, np.int64)) for code in (phase, vigour, outer, running))
    )
    log_mean, var = _phase_part(species, phases)
    factors = np.log([VIGOUR_FACTOR[level] for level in Vigour])
    known_vigour = vigours >= 0
    # Unknown strength: steady, spread from weak to strong.
    log_mean = log_mean + np.where(known_vigour, factors[vigours], factors[Vigour.STEADY])
    var = var + np.where(known_vigour, 0.0, _half_range(factors[Vigour.WEAK], 0.0) ** 2)
    for state, log_ratio in (
        (outers, -np.log(INNER_FACTOR)),
        (runs, np.log(RUN_OVER_CUT)),
    ):
        # Half the ratio up for yes, half down for no; unknown keeps the middle.
        log_mean = log_mean + 0.5 * log_ratio * np.select(
            [state == 1, state == 0], [1.0, -1.0], 0.0
        )
        var = var + np.where(state < 0, (0.5 * log_ratio) ** 2, 0.0)
    log_mean = log_mean + 0.5 * np.log(INNER_FACTOR)  # the species' values are of outer branches
    known = (phases >= 0) & known_vigour & (outers >= 0) & (runs >= 0)
    traits = max(species.grade("increment_developing_mm"), species.grade("increment_refined_mm"))
    grade = np.where(known, int(traits), int(Grade.GUESS)).astype(np.int8)
    return Increment(log_mean, np.sqrt(PRIOR_SD**2 + var), grade, np.zeros_like(log_mean))


def _half_range(low: float, high: float) -> float:
    """Return the standard deviation of a uniform spread from ``low`` to ``high``."""
    return abs(high - low) / float(np.sqrt(12.0))


def _phase_part(species: Species, phases: npt.NDArray[np.int64]) -> tuple[Floats, Floats]:
    """Return log-increment of a strong outer branch, half-way between run and cut, and variance.

    The variance is that of an unknown phase: anything between development and refinement.
    """
    half_run = 0.5 * np.log(RUN_OVER_CUT)
    developing = np.log(species.number("increment_developing_mm")) - half_run
    refined = (
        np.log(species.number("increment_refined_mm"))
        - np.log(VIGOUR_FACTOR[Vigour.STEADY])
        + half_run
    )
    middle = 0.5 * (developing + refined)
    by_phase = {
        Phase.TRUNK: developing,
        Phase.PRIMARY: developing,
        Phase.RAMIFICATION: middle,
        Phase.REFINEMENT: refined,
    }
    table = np.array([by_phase[phase] for phase in Phase])
    known = phases >= 0
    var = np.where(known, 0.0, _half_range(float(refined), float(developing)) ** 2)
    return np.where(known, table[phases], middle), var


def switched(increment: Increment, *, running_was: npt.ArrayLike,
             running_will: npt.ArrayLike) -> Increment:  # fmt: skip
    """Return the increment of the same branches once they run, or are cut, instead.

    Parameters
    ----------
    increment : Increment
        Of the branches as they are.
    running_was, running_will : (B,) array_like of int
        Tri-states. Unknown counts as half-way, as in `prior`.
    """
    was, will = (np.select([np.asarray(s) == 1, np.asarray(s) == 0], [0.5, -0.5], 0.0)
                 for s in (running_was, running_will))  # fmt: skip
    shift = np.log(RUN_OVER_CUT) * (will - was)
    grade = np.where(shift == 0.0, increment.grade, np.int8(Grade.GUESS)).astype(np.int8)
    return replace(increment, log_mean=increment.log_mean + shift, grade=grade)


@dataclass(frozen=True, slots=True)
class Readings:
    """Caliper readings of bases, in any order. All (R,).

    ``row`` : which branch; ``base_mm``, ``sd_mm`` : diameter and its error [mm];
    ``rings`` : rings laid by the day of the reading, counted from one origin for all: the number
    of the season plus the share of its ring laid, so that a whole season is 1.
    """

    row: npt.NDArray[np.int64]
    base_mm: Floats
    sd_mm: Floats
    rings: Floats


def from_readings(before: Increment, readings: Readings, *, season: float,
                  drift_sd: npt.ArrayLike = DRIFT_SD) -> Increment:  # fmt: skip
    """Return the increments once the branches' own caliper readings are taken in.

    Each branch's diameter is a straight line on the rings laid, its start unknown, read with an
    error that adds to it. A reading that shrank is an error of reading, never a negative
    growth. The answer is the log-normal with the mean and spread of the exact posterior.

    Parameters
    ----------
    before : Increment
        What is known without the readings, (B,).
    readings : Readings
        Readings whose value, error or rings are nan are left out. One reading alone tells nothing.
    season : float
        Number of the season the increment is wanted for, on the count of ``Readings.rings``.
    drift_sd : float or (B,) array_like
        Log-drift of the increment in a season. Older readings count for less.

    Returns
    -------
    Increment
        Never wider than ``before``. Grade measured where readings halve the spread.

    Raises
    ------
    RangeError
        When a reading's row is none of the branches or its error is not above 0.
    """
    readings = _usable(readings, len(before.log_mean))
    precision, pull, mean_ring = _line_fit(readings, len(before.log_mean))
    told = precision > 0.0
    with np.errstate(invalid="ignore"):
        age = np.where(told, np.maximum(season + 0.5 - mean_ring, 0.0), 0.0)
    mean, sd = before.log_mean.copy(), before.log_sd.copy()
    mean[told], sd[told] = _posterior(mean[told], sd[told], precision[told], pull[told])
    # The increment then and now share `lasting` of their departure from the prior.
    drift_var = np.asarray(drift_sd, float) ** 2 * age
    lasting = np.clip(1.0 - drift_var / (2.0 * before.log_sd**2), 0.0, 1.0)
    new_mean = before.log_mean + lasting * (mean - before.log_mean)
    new_sd = np.sqrt(before.log_sd**2 * (1.0 - lasting**2) + (lasting * sd) ** 2)
    log_mean = np.where(told, new_mean, before.log_mean)
    log_sd = np.where(told, np.minimum(new_sd, before.log_sd), before.log_sd)
    measured = log_sd <= MEASURED_BELOW * before.log_sd
    grade = np.where(measured, np.int8(Grade.MEASURED), before.grade).astype(np.int8)
    with np.errstate(invalid="ignore"):
        lever = _last_lever(readings, mean_ring) * np.exp(mean) * sd
        link = np.where(told, np.clip(lever, 0.0, 0.95) * lasting * sd / log_sd, before.base_link)
    return Increment(log_mean, log_sd, grade, link)


def _usable(readings: Readings, branches: int) -> Readings:
    """Return the readings whose values are all known, checked, oldest first."""
    known = np.isfinite(readings.base_mm) & np.isfinite(readings.sd_mm)
    known &= np.isfinite(readings.rings)
    order = np.nonzero(known)[0][np.argsort(readings.rings[known], kind="stable")]
    row, sd = readings.row[order].astype(np.int64), readings.sd_mm[order]
    if np.any((row < 0) | (row >= branches)):
        raise RangeError("a reading belongs to none of the branches",
                         allowed=f"rows 0 to {branches - 1}", todo="Mend its branch")  # fmt: skip
    if np.any(sd <= 0.0):
        raise RangeError(f"a reading has an error of {sd.min():g} mm", allowed="more than 0",
                         todo="Give the error of the caliper")  # fmt: skip
    return Readings(row, readings.base_mm[order], sd, readings.rings[order])


def _last_lever(readings: Readings, mean_ring: Floats) -> Floats:
    """Return how far the last reading lies from the middle of all, over its error; (B,)."""
    lever = np.zeros_like(mean_ring)
    # Assigned oldest first: the last reading of a branch stays.
    lever[readings.row] = 2.0 * (readings.rings - mean_ring[readings.row]) / readings.sd_mm
    return lever


def _line_fit(readings: Readings, branches: int) -> tuple[Floats, Floats, Floats]:
    """Return per branch the likelihood of its increment A as exp(-P A²/2 + Q A).

    P, Q are (B,), the start of the line integrated out; the third is the mean ring of the
    readings, weighted by how much each tells.
    """
    row, base, sd, rings = readings.row, readings.base_mm, readings.sd_mm, readings.rings

    def total(values: Floats) -> Floats:
        return np.bincount(row, values, branches).astype(np.float64)

    weight = sd**-2.0
    grown = 2.0 * rings  # a ring of radius A adds 2 A to the diameter
    with np.errstate(invalid="ignore", divide="ignore"):
        all_weight = total(weight)
        mean_grown = total(weight * grown) / all_weight
        mean_base = total(weight * base) / all_weight
        apart = grown - mean_grown[row]
        precision = total(weight * apart**2)
        pull = total(weight * apart * (base - mean_base[row]))
    told = precision > 1e-12 * np.where(all_weight > 0, all_weight, 1.0)
    return np.where(told, precision, 0.0), np.where(told, pull, 0.0), mean_grown / 2.0


def _posterior(mean: Floats, sd: Floats, precision: Floats, pull: Floats) -> tuple[Floats, Floats]:
    """Return mean and spread of log A under N(mean, sd²) and exp(-P A²/2 + Q A).

    A grid that is narrowed three times around what it finds, all branches at once.
    """
    with np.errstate(invalid="ignore", divide="ignore"):
        best = np.where(pull > 0.0, np.log(pull / precision), mean)
    best = np.where(np.isfinite(best), best, mean)
    low, high = np.minimum(mean - 8 * sd, best - 1.0), np.maximum(mean + 6 * sd, best + 1.0)
    found, spread = mean, sd
    for _ in range(4):
        nodes = np.linspace(low, high, 121, axis=-1)
        grown = np.exp(nodes)
        log_weight = (
            -0.5 * ((nodes - mean[:, None]) / sd[:, None]) ** 2
            - 0.5 * precision[:, None] * grown**2
            + pull[:, None] * grown
        )
        weight = np.exp(log_weight - log_weight.max(axis=-1, keepdims=True))
        weight /= weight.sum(axis=-1, keepdims=True)
        found = (weight * nodes).sum(axis=-1)
        spread = np.sqrt((weight * (nodes - found[:, None]) ** 2).sum(axis=-1))
        reach = 7.0 * np.maximum(spread, (high - low) / 120.0)
        low, high = found - reach, found + reach
    return found, spread

"""When one tree opens its leaves: the model's answer, corrected by what the grower saw.

Leaf-out is held as the warmth at which it falls, with a standard error; the clock turns that into
dates. A look at a stage moves it, the nearer to leaf-out the more. A garden's own leaf-out dates
move the species' factor.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from boughwright.journal.terms import Sign
from boughwright.season.fill import ragged
from boughwright.season.leafout import required_warmth, sequential
from boughwright.sources import Grade

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from boughwright.season.record import Floats, SiteClock
    from boughwright.species.model import Species, Trait

MODEL_DAYS = 6.0
"""Error of any leaf-out model across years, standard deviation: 5 to 7 days as remembered from
comparisons of such models. [d]"""

TREE_SD = 0.25
"""Spread of the factor between trees of a species, on the log. Guess."""

YEAR_SD = 0.12
"""Spread of one tree's factor between years, on the log. Guess."""

GENERIC_FACTOR, GENERIC_SD = 1.0, 0.4
"""Factor of a tree of unknown species. Guess."""

NO_CHILL_SD_DAYS = 20.0
"""Error of the count of cold days when the winter was not recorded. Guess. [d]"""

FITTED_CHILL_DAYS = (20.0, 160.0)
"""Cold days of a winter between which the leaf-out rule is used as it stands. Ten days outside
and beyond it counts as if the winter had not been recorded. Starting value. [d]"""

_OUTSIDE_DAYS = 10.0

FEW_COLD = "So few days of this winter are cold that leaf-out is hard to tell; its dates are wide."
MANY_COLD = (
    "So many days of this winter are cold that leaf-out is hard to tell; its dates are wide."
)
PARTED = "The two rules for its leaf-out stray far apart this year, so its dates are wide."

_MODELS_PART_DAYS = 15
"""Most that the two leaf-out models may part, where winters are mild. Guess. [d]"""

SWELL_SHARE, BURST_SHARE = 0.30, 0.60
"""Share of the leaf-out warmth at which buds swell and burst. Guess."""

SHARE_SD = {Sign.SWELL: 0.35, Sign.BURST: 0.20}
"""How far those shares stray, as a share of themselves. Guess."""

AFTER_CD: Mapping[Sign, tuple[float, float]] = {
    Sign.BURST: (-50.0, 20.0),
    Sign.FIRST_LEAF: (0.0, 0.0),
    Sign.RUNNING: (60.0, 20.0),
    Sign.CLOSING: (250.0, 30.0),
    Sign.HARD: (400.0, 25.0),
}
"""Warmth from leaf-out to the start of a stage, and its standard deviation. Guess; leaves are hard
between 350 and 450 in nineteen of twenty years. [°C d]"""

ODD_YEAR_LOG = 0.16
"""One year alone moves the factor by no more than this on the log: 17 %."""

_AGREE_LOG = 0.25


@dataclass(frozen=True, slots=True)
class LeafOutFactor:
    """A tree's or garden's leaf-out factor: 1 is a generic tree, more is later.

    ``sd`` on the log; ``years`` of own leaf-out dates behind it.
    """

    value: float
    sd: float
    years: int
    grade: Grade


@dataclass(frozen=True, slots=True)
class LeafOut:
    """Leaf-out on a clock: ``warmth_cd`` and ``sd_cd`` [°C d], and what it rests on.

    ``notes`` say why the model is unsure of it, for the grower.
    """

    warmth_cd: float
    sd_cd: float
    seen: date | None
    grade: Grade
    notes: tuple[str, ...] = ()


def species_factor(species: Species | None) -> LeafOutFactor:
    """Return the leaf-out factor of a species' table row, or that of any tree."""
    trait = species.traits.get("leafout_factor") if species is not None else None
    if trait is None:
        return LeafOutFactor(GENERIC_FACTOR, GENERIC_SD, 0, Grade.GUESS)
    return LeafOutFactor(float(trait.value), _log_sd(trait), 0, trait.grade)


def _log_sd(trait: Trait) -> float:
    """Return the spread of a trait on the log; its range is one standard deviation each way."""
    if trait.low is None or trait.high is None or trait.low <= 0.0 or trait.high <= trait.low:
        return TREE_SD
    return max(float(np.log(trait.high / trait.low)) / 2.0, YEAR_SD)


def learned_factor(
    leaf_outs: Sequence[tuple[SiteClock, date]], species: Species | None = None
) -> LeafOutFactor:
    """Return the factor that this garden's own leaf-out dates speak for.

    Parameters
    ----------
    leaf_outs : sequence of (SiteClock, date)
        Logged leaf-outs of past seasons, each with the clock of its season.
    species : Species or None
        Where the factor starts from.

    Returns
    -------
    LeafOutFactor
        The start counts as one year. A year that strays from the middle of all is pulled in, and
        one year alone moves the factor by at most 17 %.
    """
    start = species_factor(species)
    ratios = [_factor_of(clock, day, species) for clock, day in leaf_outs]
    logs = np.log([ratio for ratio in ratios if np.isfinite(ratio) and ratio > 0.0])
    if logs.size == 0:
        return start
    own = np.log(start.value)
    if logs.size == 1:
        shift = float(np.clip((logs[0] - own) / 2.0, -ODD_YEAR_LOG, ODD_YEAR_LOG))
    else:
        every = np.append(logs, own) - own
        middle = float(np.median(every))
        shift = float(np.clip(every, middle - _AGREE_LOG, middle + _AGREE_LOG).mean())
    spread = float(np.sqrt(1.0 / (1.0 / start.sd**2 + logs.size / (2.0 * YEAR_SD) ** 2)))
    grade = Grade.MEASURED if logs.size >= 2 else start.grade
    return LeafOutFactor(float(start.value * np.exp(shift)), spread, int(logs.size), grade)


def _factor_of(clock: SiteClock, day: date, species: Species | None) -> float:
    """Return the factor at which the model would have given just that day."""
    row = clock.day(day)
    if not 0 <= row < clock.warmth_cd.size:
        return float("nan")
    if _is_sequential(species):
        tries = np.exp(np.linspace(np.log(0.2), np.log(5.0), 400))
        days = sequential(_rest_means(clock), factor=tries) - _lead_days(clock)
        good = np.isfinite(days)
        return float(np.interp(row + 0.5, days[good], tries[good])) if good.any() else float("nan")
    needed = required_warmth(clock.chill_days_run[row])
    return float(clock.warmth_cd[row] / needed)


def _is_sequential(species: Species | None) -> bool:
    return (
        species is not None
        and "leafout_model" in species.traits
        and species.word("leafout_model") == "sequential"
    )


def _rest_means(clock: SiteClock) -> Floats:
    """Return mean temperatures from 1 November or 1 May before the season to its end."""
    assert clock.before is not None
    parts = (ragged(clock.before), ragged(clock.weather))
    means = np.concatenate([(part.t_min_c + part.t_max_c) / 2.0 for part in parts])
    start = date(clock.before.start.year, 5 if clock.south else 11, 1)
    return np.asarray(means[clock.before.day(start) :])


def _lead_days(clock: SiteClock) -> int:
    """Return how many of those days lie before the season."""
    assert clock.before is not None
    start = date(clock.before.start.year, 5 if clock.south else 11, 1)
    return (clock.first - start).days


def forecast_leaf_out(
    clock: SiteClock, species: Species | None, factor: LeafOutFactor | None = None
) -> LeafOut:
    """Return leaf-out by the model alone: chill and warmth, or for beech chill, then warmth.

    Parameters
    ----------
    clock : SiteClock
    species : Species or None
        None, or one without the traits, counts as a generic tree with wider dates.
    factor : LeafOutFactor or None
        A learned factor; None for the species'.

    Returns
    -------
    LeafOut
        The error joins the model's 6 days, the tree's own factor, and a winter that was not
        recorded or lies outside those the rule is for.
    """
    used = factor or species_factor(species)
    warmth, row, apart = _modelled(clock, species, used.value)
    year = float(np.hypot(MODEL_DAYS, min(apart, _MODELS_PART_DAYS))) * _rate(clock, row)
    cold_days, (fewest, most) = float(clock.chill_days_run[row]), FITTED_CHILL_DAYS
    outside = max(fewest - cold_days, cold_days - most, 0.0)
    unrecorded = bool(np.isnan(clock.chill_days))
    cold = NO_CHILL_SD_DAYS * (1.0 if unrecorded else min(outside / _OUTSIDE_DAYS, 1.0))
    wanted = required_warmth(cold_days + np.array([-cold, cold]))
    winter = used.value * float(wanted[0] - wanted[1]) / 2.0
    sd = float(np.sqrt((used.sd * warmth) ** 2 + year**2 + winter**2))
    told = {FEW_COLD: cold_days < fewest, MANY_COLD: cold_days > most, PARTED: apart > 0.0}
    grade = Grade.GUESS if unrecorded or any(told.values()) else used.grade
    return LeafOut(warmth, sd, None, grade, tuple(text for text, holds in told.items() if holds))


def _modelled(clock: SiteClock, species: Species | None, factor: float) -> tuple[float, int, float]:
    """Return the warmth asked for, the row of the day it is there, and days it was held back.

    Where winters hardly chill, the sequential model runs off into summer; it is held to within 15
    days of the other.
    """
    asked = required_warmth(clock.chill_days_run, factor=factor)
    met = np.flatnonzero(clock.warmth_cd >= asked)
    last = clock.warmth_cd.size - 1
    row = int(met[0]) if met.size else last
    if not _is_sequential(species) or clock.before is None:
        return float(asked[row]), row, 0.0
    day = float(sequential(_rest_means(clock), factor=factor)) - _lead_days(clock)
    day = day if np.isfinite(day) else float(last)
    back = max(float(np.floor(day)) - row - _MODELS_PART_DAYS, 0.0)
    row = int(np.clip(day, max(row - _MODELS_PART_DAYS, 0), min(row + _MODELS_PART_DAYS, last)))
    return float(clock.warmth_cd[row]), row, back


def _rate(clock: SiteClock, row: int) -> float:
    """Return the warmth a day brings around a day, °C d."""
    low, high = max(row - 7, 0), min(row + 7, clock.warmth_cd.size - 1)
    return float((clock.warmth_cd[high] - clock.warmth_cd[low]) / max(high - low, 1))


def corrected(clock: SiteClock, forecast: LeafOut, seen: Mapping[Sign, date]) -> LeafOut:
    """Return leaf-out after the grower's looks of this season.

    Parameters
    ----------
    clock : SiteClock
    forecast : LeafOut
        By the model.
    seen : mapping of Sign to date
        First day on which each stage was seen.

    Returns
    -------
    LeafOut
        ``first leaf`` is leaf-out itself. Otherwise the stage nearest to leaf-out gives it, by
        warmth; a look at swell alone is weighed against the model.
    """
    if Sign.FIRST_LEAF in seen:
        day = seen[Sign.FIRST_LEAF]
        return LeafOut(_warmth_on(clock, day), 0.0, day, Grade.MEASURED)
    for sign in (Sign.BURST, Sign.RUNNING, Sign.CLOSING, Sign.HARD):
        if sign in seen:
            offset, sd = AFTER_CD[sign]
            warmth = max(_warmth_on(clock, seen[sign]) - offset, 0.0)
            return LeafOut(warmth, sd, None, Grade.MEASURED)
    if Sign.SWELL not in seen:
        return forecast
    implied = _warmth_on(clock, seen[Sign.SWELL]) / SWELL_SHARE
    spread = max(SHARE_SD[Sign.SWELL] * implied, 1.0)
    weights = np.array([forecast.sd_cd, spread]) ** -2.0
    warmth = float(weights @ np.array([forecast.warmth_cd, implied]) / weights.sum())
    return replace(forecast, warmth_cd=warmth, sd_cd=float(weights.sum() ** -0.5),
                   grade=Grade.MEASURED)  # fmt: skip


def logged_leaf_out(clock: SiteClock, seen: Mapping[Sign, date]) -> date | None:
    """Return leaf-out of a past season as its looks give it.

    Parameters
    ----------
    clock : SiteClock
        Of that season.
    seen : mapping of Sign to date
        First day on which each stage was seen.

    Returns
    -------
    date or None
        The day of ``first leaf``; with ``burst`` alone, the day on which 50 °C d more had come.
        None with neither.
    """
    if Sign.FIRST_LEAF in seen:
        return seen[Sign.FIRST_LEAF]
    if Sign.BURST not in seen:
        return None
    needed = _warmth_on(clock, seen[Sign.BURST]) - AFTER_CD[Sign.BURST][0]
    row = int(np.searchsorted(clock.warmth_cd, needed))
    return clock.first + timedelta(days=row) if row < clock.warmth_cd.size else None


def _warmth_on(clock: SiteClock, day: date) -> float:
    return float(clock.warmth_cd[int(np.clip(clock.day(day), 0, clock.warmth_cd.size - 1))])

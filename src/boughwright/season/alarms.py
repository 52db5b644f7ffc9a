"""What the weather of the next days threatens on one tree, while there is time to act.

Limits go by the stage the tree will be in on that day. Only days that were read or forecast raise
an alarm; the usual weather of a date never does. Every alarm says what to do, with its caution.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from boughwright.season.hourly import hourly_temperatures
from boughwright.season.outlook import SPELL_DAYS, known_span, spells_of
from boughwright.season.stages import Alarm, AlarmKind, Stage
from boughwright.sources import Grade

if TYPE_CHECKING:
    import numpy.typing as npt

    from boughwright.season.record import Floats, SiteClock, Weather
    from boughwright.season.stages import TreeCalendar
    from boughwright.species.model import Species

DAYS_AHEAD = 3
"""Alarms look this far ahead: far enough to act, near enough for a forecast to hold. [d]"""


class _Limit(NamedTuple):
    c: float
    what: str
    grade: Grade


_TOPS = _Limit(-10.0, "bare tops are", Grade.BORROWED)
_OPEN_LEAF = _Limit(-1.0, "open leaf is", Grade.BORROWED)
_RIPENING = _Limit(-5.0, "wood that is not yet hard is", Grade.GUESS)

FROST_LIMITS: dict[Stage, _Limit] = {
    Stage.EARLY_REST: _TOPS,
    Stage.DEEP_REST: _TOPS,
    Stage.SWELL: _Limit(-5.0, "swelling buds are", Grade.BORROWED),
    Stage.BURST: _Limit(-3.0, "green tips are", Grade.BORROWED),
    **{stage: _OPEN_LEAF for stage in Stage if Stage.FIRST_LEAF <= stage < Stage.COLOUR},
    Stage.COLOUR: _RIPENING,
    Stage.LEAF_DROP: _RIPENING,
}
"""Air temperature at the plant from which a stage is hurt. Common practice, its cautious end."""

KILL_MARGIN_C = 3.0
"""An alarm comes this far before the temperature that kills. [°C]"""

CORE_LIMIT_C = -5.0
FRESH_CORE_C, GRAFT_CORE_C = 0.0, -2.0
"""Pot core must stay above these: in general, in the four weeks after a repot, with a graft not
yet weaned. Common practice. [°C]"""

CORE_LAG_H, CORE_LAG_VOLUME_L, CORE_LAG_POWER = 6.0, 4.0, 0.67
"""The core follows the air with this lag at this volume, and with volume to this power. Guess."""

UNKNOWN_POT_L = 2.0
"""Taken for a pot of unknown size, since small pots freeze first. [L]"""

_LEAF_SHADE_C, _FULL_SHADE_C = 33.0, 35.0
_BARE_BARK_C = 28.0
_HOT_ROOTS_C = 30.0

WIND_MS = 10.0
"""Mean wind of a day, 2 m up, that tips pots and tears leaf. Guess. [m/s]"""

SPELLS_HIGH = 2
"""Wet spells in 14 days that make the pressure of leaf fungi high. Common practice."""

_IN_LEAF = (Stage.FIRST_LEAF, Stage.COLOUR)
_SOFT = (Stage.BURST, Stage.FIRST_LEAF, Stage.RUNNING, Stage.CLOSING, Stage.SECOND_PUSH)

_COVER = (
    "Bring it under cover before dusk, or lay fleece on a frame clear of the buds. "
    "Lift heavy pots in pairs. Never burn fuel in a closed space to keep frost out."
)
_CORE = (
    "Put the pot in the cold store, or stand it on the ground packed in dry bark, out of the wind. "
    "Keep the soil damp, not wet. Lift heavy pots in pairs."
)
_SHADE = (
    "Shade it from noon, water early and look again at dusk. Wire nothing and unpot nothing. "
    "Drink, and keep out of the worst sun yourself."
)
_FULL_SHADE = (
    "Give full shade all afternoon and shade the pot too: its wall must stay under 38 °C. "
    "Wire nothing and unpot nothing. Drink, and keep out of the worst sun yourself."
)
_BARE = (
    "Put half-shade cloth over it for 10 to 14 days, and water less than a tree in full leaf wants."
)
_POT_SHADE = "Shade the pot and the soil from noon; this tree's roots do not stand heat."
_DRY_LEAF = (
    "Put it under a rain cover with space around it, and water the soil, not the leaf. Take off "
    "sick leaves and bag them. If you think of a spray, use only what is allowed for this plant "
    "and place, and keep to its label."
)
_TIE = (
    "Tie the pot down or set it on the ground, and take shade cloth in. Tie heavy pots before the "
    "wind comes, not in it."
)


@dataclass(frozen=True, slots=True)
class _Tree:
    """What of a tree matters to its alarms."""

    species: Species | None
    fresh_roots: bool
    unweaned_graft: bool
    bare: bool
    in_store: bool
    pot_volume_l: float | None


def alarms(
    clock: SiteClock,
    calendar: TreeCalendar,
    species: Species | None,
    *,
    today: date,
    fresh_roots: bool = False,
    unweaned_graft: bool = False,
    bare_after_leaf_work: bool = False,
    shelf_store: bool = False,
    pot_volume_l: float | None = None,
    days_ahead: int = DAYS_AHEAD,
) -> tuple[Alarm, ...]:
    """Return the threats of today and the next days to one tree, nearest first.

    Parameters
    ----------
    clock : SiteClock
        Made for today, at the tree's shelf; in a store, with the store's lowest temperature.
    calendar : TreeCalendar
        Of the tree, today.
    species : Species or None
        None goes by the general limits.
    today : date
    fresh_roots : bool
        Repotted within four weeks.
    unweaned_graft : bool
        Carries a graft that is not yet on its own.
    bare_after_leaf_work : bool
        Bark bared by leaf work within two weeks.
    shelf_store : bool
        Stands under a roof, out of rain, wind and sun.
    pot_volume_l : float or None
        None: unknown, taken as 2 L. [L]
    days_ahead : int
        [d]

    Returns
    -------
    tuple of Alarm
        Empty for a tree that is safe, and where nothing is read or forecast.
    """
    ahead = known_span(clock, today, today + timedelta(days=days_ahead))
    stages = [_stage_ahead(calendar, today + timedelta(days=row)) for row in range(days_ahead + 1)]
    tree = _Tree(species, fresh_roots, unweaned_graft, bare_after_leaf_work, shelf_store,
                 pot_volume_l)  # fmt: skip
    found = _frost(ahead, stages, tree) + _pot_core(clock, ahead, tree)
    if not shelf_store:
        found += _heat(ahead, stages, tree) + _wind(ahead)
        found += _wet_leaf(clock, calendar, today, stages)
    return tuple(sorted(found, key=lambda one: (one.first, one.kind)))


def _stage_ahead(calendar: TreeCalendar, day: date) -> Stage:
    """Return the stage a tree is likely in on a day from today on."""
    coming = [
        (span.likely, stage)
        for stage, span in calendar.starts.items()
        if span.likely is not None and calendar.today < span.likely <= day
    ]
    return max(coming, default=(day, calendar.stage))[1]


def _runs(flags: npt.NDArray[np.bool_]) -> list[slice]:
    """Return the runs of true values."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], flags, [False])).astype(np.int8)))
    return [slice(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _span_dates(weather: Weather, run: slice) -> tuple[date, date]:
    return (
        weather.start + timedelta(days=run.start),
        weather.start + timedelta(days=run.stop - 1),
    )


def _number(species: Species | None, trait: str) -> float | None:
    held = species.traits.get(trait) if species is not None else None
    return float(held.value) if held is not None else None


def _frost_limit(stage: Stage, tree: _Tree) -> _Limit:
    """Return the more cautious of the stage's limit and 3 °C before the tops die."""
    limit = FROST_LIMITS[stage]
    kill = _number(tree.species, "top_kill_c")
    if kill is not None and kill + KILL_MARGIN_C > limit.c and tree.species is not None:
        return _Limit(kill + KILL_MARGIN_C, limit.what, tree.species.grade("top_kill_c"))
    return limit


def _frost(ahead: Weather, stages: list[Stage], tree: _Tree) -> list[Alarm]:
    limits = [_frost_limit(stage, tree) for stage in stages]
    found = []
    for run in _runs(ahead.t_min_c <= np.array([limit.c for limit in limits])):
        worst = run.start + int(np.argmin(ahead.t_min_c[run]))
        first, last = _span_dates(ahead, run)
        value, limit = float(ahead.t_min_c[worst]), limits[worst]
        found.append(Alarm(
            AlarmKind.FROST, first, last, value, limit.c,
            f"{value:.0f} °C is forecast; {limit.what} at risk from {limit.c:.0f} °C.",
            "common-practice", limit.grade, _COVER,
        ))  # fmt: skip
    return found


def core_temperature_c(hourly_c: npt.ArrayLike, pot_volume_l: float) -> Floats:
    """Return the temperature in the middle of a pot, which follows the air with a lag.

    Parameters
    ----------
    hourly_c : (H,) float
        Air temperature. [°C]
    pot_volume_l : float
        [L]

    Returns
    -------
    (H,) float
        Mean of the hours up to each, weights falling with a lag of 6 h at 4 L; nan where a tenth
        or more of that weight is unknown. [°C]
    """
    air = np.asarray(hourly_c, dtype=np.float64).ravel()
    lag = CORE_LAG_H * (pot_volume_l / CORE_LAG_VOLUME_L) ** CORE_LAG_POWER
    weights = np.exp(-np.arange(int(np.ceil(8.0 * lag)) + 1) / lag)
    weights /= weights.sum()
    known = ~np.isnan(air)
    total = np.convolve(np.where(known, air, 0.0), weights)[: air.size]
    seen = np.convolve(known.astype(np.float64), weights)[: air.size]
    return np.where(seen > 0.9, total / np.where(seen > 0.0, seen, 1.0), np.nan)


def _core_limit(tree: _Tree) -> _Limit:
    """Return the most cautious of the limits that hold for this tree's roots."""
    root = _number(tree.species, "root_kill_c")
    own = _number(tree.species, "pot_core_limit_c")
    limits = [
        _Limit(CORE_LIMIT_C if own is None else own, "the roots are", Grade.BORROWED),
        _Limit(FRESH_CORE_C if tree.fresh_roots else -np.inf, "fresh-cut roots are",
               Grade.BORROWED),
        _Limit(GRAFT_CORE_C if tree.unweaned_graft else -np.inf, "an unweaned graft is",
               Grade.BORROWED),
        _Limit(-np.inf if root is None else root + KILL_MARGIN_C, "the roots are", Grade.GUESS),
    ]  # fmt: skip
    return max(limits, key=lambda limit: limit.c)


def _pot_core(clock: SiteClock, ahead: Weather, tree: _Tree) -> list[Alarm]:
    if np.isnan(clock.latitude_deg):
        return []
    start = ahead.start - timedelta(days=SPELL_DAYS)
    days = known_span(clock, start, ahead.start + timedelta(days=len(ahead) - 1))
    hours = hourly_temperatures(days.t_min_c, days.t_max_c, latitude_deg=clock.latitude_deg,
                                first_day_of_year=start.timetuple().tm_yday)  # fmt: skip
    volume = UNKNOWN_POT_L if tree.pot_volume_l is None else tree.pot_volume_l
    core = core_temperature_c(hours, volume).reshape(hours.shape)[SPELL_DAYS:]
    lowest = np.where(np.isnan(core), np.inf, core).min(axis=1)
    limit = _core_limit(tree)
    size = " (pot size not known, taken as 2 L)" if tree.pot_volume_l is None else ""
    found = []
    for run in _runs(lowest <= limit.c):
        first, last = _span_dates(ahead, run)
        value = float(lowest[run].min())
        found.append(Alarm(
            AlarmKind.POT_CORE, first, last, value, limit.c,
            f"The pot core may fall to {value:.0f} °C{size}; {limit.what} at risk from "
            f"{limit.c:.0f} °C.",
            "common-practice", Grade.GUESS, _CORE,
        ))  # fmt: skip
    return found


def _heat(ahead: Weather, stages: list[Stage], tree: _Tree) -> list[Alarm]:
    in_leaf = np.array([_IN_LEAF[0] <= stage <= _IN_LEAF[1] for stage in stages])
    hates = tree.species is not None and "hates_hot_roots" in tree.species.traits and bool(
        tree.species.traits["hates_hot_roots"].value)  # fmt: skip
    rules = (
        (_FULL_SHADE_C, True, "leaf scorches and the pot heats through", _FULL_SHADE,
         Grade.BORROWED),
        (_LEAF_SHADE_C, True, "leaf scorches", _SHADE, Grade.BORROWED),
        (_HOT_ROOTS_C, hates, "this tree's roots suffer", _POT_SHADE, Grade.GUESS),
        (_BARE_BARK_C, tree.bare, "bark bared by leaf work burns", _BARE, Grade.GUESS),
    )  # fmt: skip
    done = np.zeros(len(stages), dtype=np.bool_)
    found = []
    for limit, holds, what, todo, grade in rules:
        hot = holds & in_leaf & (ahead.t_max_c >= limit) & ~done
        done |= hot
        for run in _runs(hot):
            first, last = _span_dates(ahead, run)
            value = float(ahead.t_max_c[run].max())
            found.append(Alarm(
                AlarmKind.HEAT, first, last, value, limit,
                f"{value:.0f} °C is forecast; from {limit:.0f} °C {what}.",
                "common-practice" if grade is Grade.BORROWED else "starting-value", grade,
                f"{todo} {_BARE}" if tree.bare and todo is not _BARE else todo,
            ))  # fmt: skip
    return found


def _wind(ahead: Weather) -> list[Alarm]:
    found = []
    for run in _runs(ahead.wind_ms >= WIND_MS):
        first, last = _span_dates(ahead, run)
        value = float(ahead.wind_ms[run].max())
        found.append(Alarm(
            AlarmKind.WIND, first, last, value, WIND_MS,
            f"A mean wind of {value:.0f} m/s is forecast; from {WIND_MS:.0f} m/s pots tip.",
            "starting-value", Grade.GUESS, _TIE,
        ))  # fmt: skip
    return found


def _wet_leaf(
    clock: SiteClock, calendar: TreeCalendar, today: date, stages: list[Stage]
) -> list[Alarm]:
    """Return the alarm for soft leaf when the second wet spell in 14 days is on or forecast."""
    if not any(stage in _SOFT for stage in stages):
        return []
    end = today + timedelta(days=len(stages) - 1)
    days = known_span(clock, end - timedelta(days=SPELL_DAYS - 1), end)
    spells = spells_of(days)
    green = calendar.starts[Stage.BURST].likely
    soft_from = days.day(green) if green is not None else len(days)
    counted = spells.met & (spells.last >= soft_from)
    rows = np.flatnonzero(counted & (spells.last >= days.day(today)))
    if counted.sum() < SPELLS_HIGH or rows.size == 0:
        return []
    row = int(rows[0])
    first = days.start + timedelta(days=int(spells.first[row]))
    last = days.start + timedelta(days=int(spells.last[row]))
    value, limit = float(spells.wet_h[row]), float(spells.needed_h[row])
    return [Alarm(
        AlarmKind.WET_LEAF, first, last, value, limit,
        f"Soft leaf stays wet for {value:.0f} h, and {limit:.0f} h let leaf fungi in; this is "
        f"wet spell number {int(counted.sum())} in 14 days.",
        "magarey-2005", Grade.GUESS, _DRY_LEAF,
    )]  # fmt: skip

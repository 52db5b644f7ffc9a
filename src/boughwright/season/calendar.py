"""The calendar of one tree's season: when each stage starts, and which one it is in today.

Spring stages hang on leaf-out by warmth, late thickening on day length, colour on cold and short
days. What the grower saw beats the model, and moves every later stage with it. Rows count days
from the first of the season; the rest before lies on negative rows.
"""

from __future__ import annotations

from datetime import timedelta
from math import sqrt
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from boughwright.errors import RangeError
from boughwright.journal.terms import Sign
from boughwright.season.colour import COLOUR_STARTS, HALF_TURNED, INTERVAL_DAYS, colour_day
from boughwright.season.record import Origin
from boughwright.season.rows import (
    NEVER,
    Rows,
    around,
    as_dates,
    by_warmth,
    moved_edge,
    pressed,
    seen_rows,
    within,
)
from boughwright.season.spring import (
    AFTER_CD,
    BURST_SHARE,
    GENERIC_SD,
    SHARE_SD,
    SWELL_SHARE,
    corrected,
    forecast_leaf_out,
    species_factor,
)
from boughwright.season.stages import Stage, TreeCalendar
from boughwright.sources import Grade

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from boughwright.season.record import Floats, SiteClock
    from boughwright.season.spring import LeafOut, LeafOutFactor
    from boughwright.species.model import Species

LATE_THICKENING_H = 13.5
"""Day length, shortening, at which bases swell and shoots stop. Guess. [h]"""

_LATE_THICKENING_SHARE = 0.69
"""Share of the way from the shortest to the longest day at which 13.5 h stands at 45 degrees; used
where no day is that long."""

_LATE_THICKENING_DAYS = 7.0
LEAF_DROP_AFTER_DAYS = 7
"""Days from half the crown turned to the first falling leaves in number. Guess."""

EARLY_REST_AFTER_DAYS = 30
_DOUBT_PER_DAY_AHEAD = 0.02
"""Days of width added for each day that colour still lies ahead. Guess."""

REGROWTH_CD = (200.0, 39.0)
"""Warmth from a cut in leaf to new shoots, 150 to 250 in eight of ten. Common practice, two to
three weeks in summer. [°C d]"""

HOLD_MAX_C, HOLD_DAYS = 30.0, 7
"""Growth stops while the mean of this many daily maxima is as high. Guess."""

GENERIC_CHILL = (45.0, 35.0, 55.0)
"""Chill portions a tree of unknown species asks for, with its range. Guess."""

LOW_CHILL_SHARE = 0.7
_REST_FLOOR = {False: (12, 15), True: (6, 15)}
"""Deep rest is not shown before this day; the leaf-drop before is not known here."""

_MAIN = (
    Stage.DEEP_REST, Stage.SWELL, Stage.BURST, Stage.FIRST_LEAF, Stage.RUNNING, Stage.CLOSING,
    Stage.HARD, Stage.LATE_THICKENING, Stage.COLOUR, Stage.LEAF_DROP, Stage.EARLY_REST,
)  # fmt: skip

SIGN_STAGE: dict[Sign, Stage] = {
    Sign.SWELL: Stage.SWELL,
    Sign.BURST: Stage.BURST,
    Sign.FIRST_LEAF: Stage.FIRST_LEAF,
    Sign.RUNNING: Stage.RUNNING,
    Sign.CLOSING: Stage.CLOSING,
    Sign.HARD: Stage.HARD,
    Sign.REGROWTH: Stage.SECOND_PUSH,
    Sign.COLOUR: Stage.COLOUR,
    Sign.LEAF_DROP: Stage.LEAF_DROP,
}
"""The signs that are stages."""

_AUTUMN_SIGNS = (Sign.COLOUR, Sign.LEAF_DROP)
_AUTUMN_NOT_BEFORE = 60
"""Colour or leaf-drop noted in the first days of a season belongs to the one before."""


class _Looks(NamedTuple):
    """First and last day each sign was seen this season."""

    first: dict[Sign, date]
    last: dict[Sign, date]


def tree_calendar(
    clock: SiteClock,
    species: Species | None,
    looks: Sequence[tuple[date, Sign]],
    *,
    today: date,
    late_thickening_daylength_h: float = LATE_THICKENING_H,
    cut_on: date | None = None,
    factor: LeafOutFactor | None = None,
) -> TreeCalendar:
    """Return one tree's season: the start of every stage and the stage of today.

    Parameters
    ----------
    clock : SiteClock
        Of the season that holds today, at the tree's shelf.
    species : Species or None
        None counts as a generic tree with wider dates.
    looks : sequence of (date, Sign)
        What was seen on this tree; other seasons and later days are left out.
    today : date
    late_thickening_daylength_h : float
        [h]
    cut_on : date or None
        Last cut or full leaf work in leaf, which starts a second push.
    factor : LeafOutFactor or None
        This garden's learned leaf-out factor.

    Returns
    -------
    TreeCalendar
        Dates are strictly in order, apart from looks that contradict each other.

    Raises
    ------
    RangeError
        When today lies outside the clock's season.
    """
    if not 0 <= clock.day(today) < len(clock.weather):
        raise RangeError(f"{today.isoformat()} lies outside the season {clock.season}",
                         allowed="a day of the clock's season",
                         todo="Make the clock for that day")  # fmt: skip
    seen = _looks_of(clock, looks, today)
    leaf_out = corrected(clock, forecast_leaf_out(clock, species, factor), seen.first)
    threshold, by_share = _late_threshold(clock, late_thickening_daylength_h)
    rows = _spring_rows(clock, leaf_out, seen)
    rows[Stage.DEEP_REST] = _deep_rest_rows(clock, species)
    rows[Stage.LATE_THICKENING] = _late_rows(clock, threshold)
    rows |= _autumn_rows(clock, seen)
    rows = _ordered(clock, rows, seen)
    rows |= _push_rows(clock, rows, seen, cut_on, threshold)
    rows |= _hold_rows(clock, rows, today)
    stage, since = _stage_on(clock, rows, species, today)
    notes = _notes(clock, species, seen, rows, leaf_out, today, by_share=by_share)
    return _calendar(clock, rows, stage=stage, since=since, seen=seen, leaf_out=leaf_out,
                     today=today, notes=notes)  # fmt: skip


def _calendar(
    clock: SiteClock,
    rows: Mapping[Stage, Rows],
    *,
    stage: Stage,
    since: Rows,
    seen: _Looks,
    leaf_out: LeafOut,
    today: date,
    notes: tuple[str, ...],
) -> TreeCalendar:
    row, warmth = clock.day(today), clock.warmth_cd
    opened, turned = rows[Stage.FIRST_LEAF].likely, rows[Stage.COLOUR].likely
    to_colour = max(float(warmth[turned] - warmth[row]), 0.0) if turned is not None else np.nan
    in_leaf = opened is not None and opened <= row
    known = np.isfinite(clock.chill_portions) or clock.chill_run[row] < clock.rest_run[-1]
    supported = _supported(stage, seen, since)
    return TreeCalendar(
        season=clock.season,
        south=clock.south,
        today=today,
        stage=stage,
        since=as_dates(clock, since),
        starts={key: as_dates(clock, rows[key]) for key in sorted(rows)},
        leaf_out=as_dates(clock, rows[Stage.FIRST_LEAF]),
        warmth_cd=float(warmth[row]),
        warmth_since_leaf_out_cd=float(warmth[row] - warmth[opened]) if in_leaf else float("nan"),
        warmth_to_colour_cd=to_colour,
        chill_portions=float(clock.chill_run[row]) if known else float("nan"),
        filled_days=int(clock.filled[: row + 1].sum()),
        grade=Grade.MEASURED if supported else max(leaf_out.grade, since.grade),
        notes=notes,
    )


def _supported(stage: Stage, seen: _Looks, since: Rows) -> bool:
    """Tell whether a look of this season stands behind the stage of today."""
    if since.seen:
        return True
    if stage in (Stage.COLOUR, Stage.LEAF_DROP, Stage.EARLY_REST):
        return any(sign in seen.first for sign in _AUTUMN_SIGNS)
    spring = Stage.SWELL <= stage <= Stage.SUMMER_HOLD
    return spring and any(sign not in _AUTUMN_SIGNS for sign in seen.first)


def _looks_of(clock: SiteClock, looks: Sequence[tuple[date, Sign]], today: date) -> _Looks:
    first: dict[Sign, date] = {}
    last: dict[Sign, date] = {}
    for on, sign in sorted(looks):
        early = sign in _AUTUMN_SIGNS and clock.day(on) < _AUTUMN_NOT_BEFORE
        if sign in SIGN_STAGE and clock.first <= on <= today and not early:
            first.setdefault(sign, on)
            last[sign] = on
    return _Looks(first, last)


def _spring_rows(clock: SiteClock, leaf_out: LeafOut, seen: _Looks) -> dict[Stage, Rows]:
    """Return the stages that hang on leaf-out by warmth."""
    rows: dict[Stage, Rows] = {}
    for sign, share in ((Sign.SWELL, SWELL_SHARE), (Sign.BURST, BURST_SHARE)):
        middle = share * leaf_out.warmth_cd
        spread = float(np.hypot(share * leaf_out.sd_cd, SHARE_SD[sign] * middle))
        rows[SIGN_STAGE[sign]] = by_warmth(clock, middle, spread)
    anchor: Sign | None = None
    for sign, (offset, sd) in AFTER_CD.items():
        stage = SIGN_STAGE[sign]
        if sign in seen.first:
            rows[stage] = seen_rows(clock, seen.first[sign])
            anchor = sign
        elif sign is Sign.BURST:
            continue
        elif anchor is None:
            spread = float(np.hypot(leaf_out.sd_cd, sd))
            rows[stage] = by_warmth(clock, leaf_out.warmth_cd + offset, spread)
        else:
            rows[stage] = _after_seen(clock, anchor, clock.day(seen.first[anchor]), sign)
    if Sign.SWELL in seen.first:
        rows[Stage.SWELL] = seen_rows(clock, seen.first[Sign.SWELL])
    return rows


def _after_seen(clock: SiteClock, anchor: Sign, row: int, sign: Sign) -> Rows:
    """Return a stage counted from one that was seen: only the part still ahead is uncertain."""
    (from_cd, from_sd), (to_cd, to_sd) = AFTER_CD[anchor], AFTER_CD[sign]
    ahead = to_cd - from_cd
    sd = from_sd if sign is Sign.FIRST_LEAF else to_sd * sqrt(min(ahead / to_cd, 1.0))
    return by_warmth(clock, float(clock.warmth_cd[row]) + ahead, sd, row)


def _deep_rest_rows(clock: SiteClock, species: Species | None) -> Rows:
    """Return when the chill of the rest before was met."""
    needed = _chill_needed(species)
    run = np.concatenate([clock.rest_run, clock.chill_run])
    stop = int(np.argmax(run))
    rest = clock.rest_run.size
    month, day = _REST_FLOOR[clock.south]
    before = clock.first - timedelta(days=1)
    floor = clock.day(before.replace(month=month, day=day))
    met = np.searchsorted(run[: stop + 1], (needed[1], needed[0], needed[2]))
    rows = [max(int(row) - rest, floor) if row <= stop else None for row in met]
    early, likely, late = rows
    missing = 1.0 if early is None else 0.5 if likely is None else 0.1 if late is None else 0.0
    if np.isnan(clock.chill_portions) and early is not None and likely is not None:
        early, late = max(early - 14, floor), late + 14 if late is not None else None
    return Rows(early, likely, late, missing)


def _chill_needed(species: Species | None) -> tuple[float, float, float]:
    trait = species.traits.get("chill_portions") if species is not None else None
    if trait is None:
        return GENERIC_CHILL
    value = float(trait.value)
    low = trait.low if trait.low is not None else 0.75 * value
    return value, low, trait.high if trait.high is not None else 1.25 * value


def _late_threshold(clock: SiteClock, wanted_h: float) -> tuple[float, bool]:
    """Return the day length that starts late thickening; by share where no day is so long."""
    shortest, longest = float(clock.daylength_h.min()), float(clock.daylength_h.max())
    if shortest < wanted_h < longest:
        return wanted_h, False
    return shortest + _LATE_THICKENING_SHARE * (longest - shortest), True


def _late_rows(clock: SiteClock, threshold_h: float) -> Rows:
    longest = int(np.argmax(clock.daylength_h))
    row = longest + int(np.argmax(clock.daylength_h[longest:] < threshold_h))
    return around(clock, row, _LATE_THICKENING_DAYS)


def _autumn_rows(clock: SiteClock, seen: _Looks) -> dict[Stage, Rows]:
    """Return colour, leaf-drop and early rest; a date seen halves the error of the later ones."""
    mean = (clock.weather.t_min_c + clock.weather.t_max_c) / 2.0
    modelled = colour_day(mean, clock.daylength_h, needed=np.array([COLOUR_STARTS, HALF_TURNED]))
    turns, half = (int(day) if np.isfinite(day) else len(clock.weather) for day in modelled)
    fall = half + LEAF_DROP_AFTER_DAYS
    ahead = max(turns - clock.day(clock.today or clock.first), 0)
    width = INTERVAL_DAYS + _DOUBT_PER_DAY_AHEAD * ahead
    rows = {Stage.COLOUR: around(clock, turns, width)}
    if Sign.COLOUR in seen.first:
        rows[Stage.COLOUR] = seen_rows(clock, seen.first[Sign.COLOUR])
        fall += clock.day(seen.first[Sign.COLOUR]) - turns
        width = INTERVAL_DAYS / 2.0
    rows[Stage.LEAF_DROP] = around(clock, fall, width)
    if Sign.LEAF_DROP in seen.first:
        rows[Stage.LEAF_DROP] = seen_rows(clock, seen.first[Sign.LEAF_DROP])
        fall = clock.day(seen.first[Sign.LEAF_DROP])
        width = INTERVAL_DAYS / 2.0
    rows[Stage.EARLY_REST] = around(clock, fall + EARLY_REST_AFTER_DAYS, width)
    return rows


def _ordered(clock: SiteClock, rows: dict[Stage, Rows], seen: _Looks) -> dict[Stage, Rows]:
    """Return the same with every stage after the one before, and looks left where they are.

    A stage seen on a day puts the later ones after that day, even when its own start was earlier.
    Deep rest gives way to swell: where warmth wakes the tree first, it does not come.
    """
    days = len(clock.weather)
    last = {SIGN_STAGE[sign]: clock.day(on) for sign, on in seen.last.items()}
    out = dict(rows)
    edge = [-days] * 3
    for stage in _MAIN[1:]:
        out[stage] = pressed(out[stage], edge, days, step=1)
        edge = moved_edge(out[stage], edge, max)
        edge = [max(row, last.get(stage, row)) for row in edge]
    edge = [2 * days] * 3
    for stage in reversed(_MAIN[1:]):
        out[stage] = pressed(out[stage], edge, days, step=-1)
        edge = moved_edge(out[stage], edge, min)
    rest = out[Stage.DEEP_REST]
    if rest.likely is None or rest.likely >= edge[1]:
        out[Stage.DEEP_REST] = NEVER._replace(missing=max(rest.missing, 0.5))
    else:
        out[Stage.DEEP_REST] = pressed(rest, edge, days, step=-1)
    return out


def _push_rows(
    clock: SiteClock, rows: Mapping[Stage, Rows], seen: _Looks, cut_on: date | None, late_h: float
) -> dict[Stage, Rows]:
    """Return the second push: as logged, or from a cut while days are long enough."""
    if Sign.REGROWTH in seen.first:
        return {Stage.SECOND_PUSH: seen_rows(clock, seen.first[Sign.REGROWTH])}
    opened = rows[Stage.FIRST_LEAF].likely
    row = clock.day(cut_on) if cut_on is not None else -1
    if opened is None or not opened <= row < len(clock.weather):
        return {}
    if row > int(np.argmax(clock.daylength_h)) and clock.daylength_h[row] < late_h:
        return {}
    warmth, sd = REGROWTH_CD
    return {Stage.SECOND_PUSH: by_warmth(clock, float(clock.warmth_cd[row]) + warmth, sd, row)}


def _hot(clock: SiteClock) -> Floats:
    """Return 1 on days that end a week of hot maxima, all read or forecast."""
    known = np.where(clock.weather.origin <= Origin.FORECAST, clock.weather.t_max_c, np.nan)
    week = np.convolve(np.pad(known, (HOLD_DAYS - 1, 0), constant_values=np.nan),
                       np.full(HOLD_DAYS, 1.0 / HOLD_DAYS), "valid")  # fmt: skip
    return (week >= HOLD_MAX_C).astype(np.float64)


def _hold_rows(clock: SiteClock, rows: Mapping[Stage, Rows], today: date) -> dict[Stage, Rows]:
    """Return the summer hold that is on today, else the first that came this season."""
    hard, late = rows[Stage.HARD].likely, rows[Stage.LATE_THICKENING].likely
    if hard is None or late is None:
        return {}
    row = clock.day(today)
    hot = _hot(clock)
    hot[:hard], hot[min(late, row + 1) :] = 0.0, 0.0
    begins = np.flatnonzero(np.diff(hot, prepend=0.0) > 0.0)
    if begins.size == 0:
        return {}
    start = int(begins[-1] if hot[row] else begins[0])
    return {Stage.SUMMER_HOLD: Rows(start, start, start)}


def _stage_on(
    clock: SiteClock, rows: Mapping[Stage, Rows], species: Species | None, today: date
) -> tuple[Stage, Rows]:
    """Return the stage of today and when it began."""
    row = clock.day(today)
    begun = [
        (held.likely, stage)
        for stage, held in rows.items()
        if stage in _MAIN and held.likely is not None and held.likely <= row
    ]
    _, stage = max(begun, default=(0, Stage.EARLY_REST))
    if not begun:
        return stage, NEVER._replace(missing=0.0)
    hold, late = rows.get(Stage.SUMMER_HOLD), rows[Stage.LATE_THICKENING].likely
    if stage < Stage.LATE_THICKENING and hold is not None and _hot(clock)[row]:
        return Stage.SUMMER_HOLD, hold
    push = rows.get(Stage.SECOND_PUSH)
    if push is not None and push.likely is not None and push.likely <= row:
        soft = clock.warmth_cd[row] - clock.warmth_cd[push.likely] < AFTER_CD[Sign.HARD][0]
        if soft and stage >= Stage.FIRST_LEAF and (late is None or row < late):
            return Stage.SECOND_PUSH, push
    if stage is Stage.EARLY_REST:
        again = _next_deep_rest(clock, rows, species)
        if again.likely is not None and again.likely <= row:
            return Stage.DEEP_REST, again
    return stage, rows[stage]


def _next_deep_rest(clock: SiteClock, rows: Mapping[Stage, Rows], species: Species | None) -> Rows:
    """Return when the chill of the rest at the end of this season is met."""
    rested = rows[Stage.EARLY_REST].likely
    if rested is None:
        return NEVER
    ran = clock.chill_run[rested:]
    value, low, high = _chill_needed(species)
    met = [int(np.argmax(ran >= part)) + rested + 1 if ran[-1] >= part else None
           for part in (low, value, high)]  # fmt: skip
    return within(NEVER, met, len(clock.weather), 0.0)


def _notes(
    clock: SiteClock,
    species: Species | None,
    seen: _Looks,
    rows: Mapping[Stage, Rows],
    leaf_out: LeafOut,
    today: date,
    *,
    by_share: bool,
) -> tuple[str, ...]:
    order = [(stage, on) for sign, on in seen.first.items() if (stage := SIGN_STAGE[sign])
             is not Stage.SECOND_PUSH]  # fmt: skip
    dates = [on for _, on in sorted(order)]
    needed = _chill_needed(species)[0]
    in_spring = clock.day(today) < int(np.argmax(clock.daylength_h))
    swell = rows[Stage.SWELL].likely
    met = clock.chill_run[swell] if swell is not None else np.inf
    told = {
        "The species is not known, so the dates are those of a general tree and wide.":
            species is None,
        "Its leaf-out value is a wide guess until its own dates are logged, so the dates are wide.":
            species is not None and species_factor(species).sd >= GENERIC_SD,
        "No day here is long enough for the usual rule, so late thickening is put at the same "
        "share of the way from the longest to the shortest day.": by_share,
        "The winter before was not recorded well enough to count its cold.":
            bool(np.isnan(clock.chill_portions)),
        "The winter was short of cold for this tree; the buds may open unevenly.":
            bool(in_spring and np.isfinite(clock.chill_portions)
                 and met < LOW_CHILL_SHARE * needed),
        "The looks of this season do not follow each other; check their dates.":
            dates != sorted(dates),
    }  # fmt: skip
    unsure = leaf_out.notes if in_spring else ()
    return (*(text for text, holds in told.items() if holds), *unsure)

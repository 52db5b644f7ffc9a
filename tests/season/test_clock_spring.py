from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from clock_fixture import made_species, made_weather
from hypothesis import given, settings
from hypothesis import strategies as st

from boughwright.journal.terms import Sign
from boughwright.season.calendar import tree_calendar
from boughwright.season.clock import site_clock, site_clocks
from boughwright.season.leafout import required_warmth
from boughwright.season.spring import (
    FEW_COLD,
    MANY_COLD,
    PARTED,
    LeafOut,
    forecast_leaf_out,
    learned_factor,
    logged_leaf_out,
    species_factor,
)
from boughwright.sources import Grade

if TYPE_CHECKING:
    from boughwright.season.record import SiteClock

WEATHER = made_weather(date(2008, 1, 1), 10 * 365, mean=10.0, noise=3.0, seed=21)
CLOCKS = site_clocks(WEATHER, first_season=date(2009, 1, 1), last_season=date(2016, 1, 1),
                     latitude_deg=46.0, today=date(2017, 12, 1))  # fmt: skip
MAPLE = made_species(leafout_factor=0.9)


def leaf_out(clock: SiteClock, factor: float) -> date:
    """Return the day on which a tree of that factor opens on this clock."""
    asked = required_warmth(clock.chill_days_run, factor=factor)
    return clock.first + timedelta(days=int(np.argmax(clock.warmth_cd >= asked)))


def years(factors: list[float]) -> list[tuple[SiteClock, date]]:
    pairs = zip(CLOCKS, factors, strict=False)
    return [(clock, leaf_out(clock, factor)) for clock, factor in pairs]


def test_no_dates_leave_the_species_value() -> None:
    assert learned_factor([], MAPLE) == species_factor(MAPLE)
    assert species_factor(MAPLE).value == 0.9
    assert species_factor(None).value == 1.0


@pytest.mark.parametrize("odd", [0.45, 1.8])
def test_one_odd_year_alone_moves_the_factor_by_less_than_a_fifth(odd: float) -> None:
    learned = learned_factor(years([odd]), MAPLE)
    assert 0.01 < abs(learned.value / 0.9 - 1.0) < 0.20
    assert learned.grade is Grade.GUESS


def test_years_that_agree_take_over() -> None:
    two, six = learned_factor(years([1.3] * 2), MAPLE), learned_factor(years([1.3] * 6), MAPLE)
    assert 0.9 * 1.2 < two.value < six.value
    assert six.value == pytest.approx(1.3, rel=0.06)
    assert six.sd < two.sd < species_factor(MAPLE).sd
    assert six.grade is Grade.MEASURED
    assert six.years == 6


@settings(max_examples=30, deadline=None)
@given(st.integers(3, 7), st.floats(0.7, 1.2), st.floats(0.45, 2.2))
def test_an_odd_year_after_some_that_agree_moves_less_than_a_fifth(
    count: int, usual: float, odd: float
) -> None:
    before = learned_factor(years([usual] * count), MAPLE)
    after = learned_factor(years([usual] * count + [odd]), MAPLE)
    assert abs(after.value / before.value - 1.0) < 0.20


def test_the_order_of_the_years_does_not_matter() -> None:
    dates = years([0.8, 1.1, 0.95, 1.4])
    assert learned_factor(dates, MAPLE).value == pytest.approx(
        learned_factor(dates[::-1], MAPLE).value
    )


def test_a_beech_learns_by_its_own_model() -> None:
    beech = made_species(leafout_factor=1.5, leafout_model="sequential")
    late = [(clock, clock.first + timedelta(days=140)) for clock in CLOCKS[:4]]
    early = [(clock, clock.first + timedelta(days=105)) for clock in CLOCKS[:4]]
    assert learned_factor(late, beech).value > learned_factor(early, beech).value


def test_a_season_with_burst_alone_gives_leaf_out_fifty_degree_days_later() -> None:
    clock = CLOCKS[3]
    burst = clock.first + timedelta(days=95)
    opened = logged_leaf_out(clock, {Sign.BURST: burst})
    assert opened is not None
    before, after = clock.day(opened) - 1, clock.day(opened)
    needed = clock.warmth_cd[clock.day(burst)] + 50.0
    assert clock.warmth_cd[before] < needed <= clock.warmth_cd[after]


def test_a_logged_first_leaf_is_leaf_out_and_other_signs_are_none() -> None:
    clock = CLOCKS[3]
    day = clock.first + timedelta(days=110)
    burst = day - timedelta(days=20)
    assert logged_leaf_out(clock, {Sign.FIRST_LEAF: day, Sign.BURST: burst}) == day
    assert logged_leaf_out(clock, {Sign.HARD: day}) is None


def test_years_of_burst_teach_what_years_of_first_leaf_teach() -> None:
    dates = [leaf_out(clock, 1.2) for clock in CLOCKS[:5]]
    bursts = []
    for clock, day in zip(CLOCKS, dates, strict=False):
        warm = clock.warmth_cd[clock.day(day)] - 50.0
        bursts.append(clock.first + timedelta(days=int(np.argmax(clock.warmth_cd >= warm))))
    told = [
        (clock, opened)
        for clock, burst in zip(CLOCKS, bursts, strict=False)
        if (opened := logged_leaf_out(clock, {Sign.BURST: burst})) is not None
    ]
    direct = learned_factor(list(zip(CLOCKS, dates, strict=False)), MAPLE)
    by_burst = learned_factor(told, MAPLE)
    assert by_burst.years == 5
    # Both days are whole: each may miss up to a day's warmth, some 8 of 170 °C d.
    assert by_burst.value == pytest.approx(direct.value, rel=0.05)


def after(cold_days: float, *, recorded: bool = True) -> LeafOut:
    """Return the forecast of a maple after a winter with so many cold days."""
    clock = replace(
        CLOCKS[0],
        chill_days=cold_days if recorded else float("nan"),
        chill_days_run=np.full_like(CLOCKS[0].chill_days_run, cold_days),
    )
    return forecast_leaf_out(clock, MAPLE)


@pytest.mark.parametrize(("edge", "past"), [(20.0, -1.0), (160.0, 1.0)])
def test_a_winter_outside_the_rules_range_widens_leaf_out_step_by_step(
    edge: float, past: float
) -> None:
    # From 20 to 160 cold days the rule stands. Ten days beyond, the count is worth no more than
    # that of a winter that was not recorded, and half of that at five.
    inside, half, out = (after(edge + past * days) for days in (0.0, 5.0, 10.0))
    assert not inside.notes
    told = (FEW_COLD,) if past < 0 else (MANY_COLD,)
    assert half.notes == out.notes == told
    lost = [after(edge + past * days, recorded=False).sd_cd for days in (0.0, 5.0, 10.0)]
    assert inside.sd_cd < lost[0]
    assert half.sd_cd < lost[1]
    assert out.sd_cd == pytest.approx(lost[2], rel=1e-12)
    further = after(edge + past * 15.0)
    assert further.sd_cd == pytest.approx(after(edge + past * 15.0, recorded=False).sd_cd)
    assert out.grade is Grade.GUESS


def test_a_mild_winter_is_told_in_spring_until_the_leaves_were_seen() -> None:
    # Means of 6 to 22 °C: no day of the winter is at 5 °C or less.
    mild = made_weather(date(2014, 1, 1), 3 * 365, mean=14.0, swing=8.0)
    today = date(2016, 3, 20)
    clock = site_clock(mild, latitude_deg=38.0, today=today)
    assert clock.chill_days == 0.0
    beech = made_species(leafout_factor=1.5, leafout_model="sequential")
    notes = tree_calendar(clock, beech, [], today=today).notes
    assert FEW_COLD in notes
    assert PARTED in notes
    looks = [(date(2016, 3, 18), Sign.FIRST_LEAF)]
    seen = tree_calendar(clock, beech, looks, today=today).notes
    assert not {FEW_COLD, PARTED} & set(seen)
    late = date(2016, 9, 1)
    later = site_clock(mild, latitude_deg=38.0, today=late)
    assert FEW_COLD not in tree_calendar(later, beech, [], today=late).notes
    # A winter of the usual cold tells nothing of the kind.
    told = tree_calendar(CLOCKS[-1], MAPLE, [], today=CLOCKS[-1].first + timedelta(days=80)).notes
    assert not {FEW_COLD, MANY_COLD, PARTED} & set(told)


def test_a_beech_that_is_held_back_is_told_with_wider_dates() -> None:
    # The same mild winter: the maple's rule answers, the beech's is held to 15 days after it and
    # its error in days goes from 6 to hypot(6, 15) = 16.2 where it was held by 15 or more.
    mild = made_weather(date(2014, 1, 1), 3 * 365, mean=14.0, swing=8.0)
    clock = site_clock(mild, latitude_deg=38.0, today=date(2016, 12, 31))
    plain = forecast_leaf_out(clock, made_species(leafout_factor=1.5))
    held = forecast_leaf_out(clock, made_species(leafout_factor=1.5, leafout_model="sequential"))
    assert PARTED in held.notes
    assert PARTED not in plain.notes
    rows = np.searchsorted(clock.warmth_cd, (plain.warmth_cd, held.warmth_cd))
    assert rows[1] - rows[0] == 15
    # The factor's part goes with the warmth; what is more comes of the parting.
    assert held.sd_cd / held.warmth_cd > plain.sd_cd / plain.warmth_cd

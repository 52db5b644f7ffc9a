from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from clock_fixture import made_species, made_weather
from hypothesis import given, settings
from hypothesis import strategies as st

from boughwright.journal.terms import Sign
from boughwright.season.clock import site_clocks
from boughwright.season.leafout import required_warmth
from boughwright.season.spring import learned_factor, logged_leaf_out, species_factor
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

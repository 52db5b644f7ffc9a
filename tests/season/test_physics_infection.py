"""Wet hours guessed from a day's weather, and how wet days join to spells."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boughwright.errors import RangeError
from boughwright.season.infection import COOL, WARM, required_wet_hours, wet_hours, wet_spells


def test_wet_hours_from_rain_and_humidity() -> None:
    # No rain, dry air: 0. Rain 5 mm: 5 h falling and 3 h drying. Mean humidity 90 %: half the day.
    # Humidity 82.5 %: above 90 % while sin > 1/2, a third of the day. Both: the longer one.
    hours = wet_hours([0.0, 5.0, 0.0, 0.0, 5.0, 40.0], [60.0, 60.0, 90.0, 82.5, 90.0, 60.0])
    np.testing.assert_allclose(hours, [0.0, 8.0, 12.0, 8.0, 12.0, 24.0])
    assert wet_hours(0.1, 50.0) == 0.0
    assert wet_hours(0.0, 50.0, watering_h=4.0) == 4.0


def test_unknown_weather_gives_unknown_hours() -> None:
    assert np.isnan(wet_hours([np.nan, 5.0], [50.0, np.nan])).all()
    assert wet_hours([0.0, 5.0], None).tolist() == [0.0, 8.0]


@given(st.floats(0.0, 60.0), st.floats(0.0, 60.0), st.floats(0.0, 100.0), st.floats(0.0, 100.0))
def test_wetter_weather_never_dries(rain: float, more: float, damp: float, other: float) -> None:
    low, high = sorted((damp, other))
    assert 0.0 <= wet_hours(rain, low) <= wet_hours(rain + more, high) <= 24.0


def test_a_long_and_a_short_spell() -> None:
    # Days 1-3 have 14, 16 and 10 wet hours: breaks of 24 - 15 = 9 h and 24 - 13 = 11 h, under the
    # 12 h that end a spell: 40 h in all at (14 x 10 + 16 x 12 + 10 x 14) / 40 = 11.8 °C. Day 5
    # stands alone with 8 h: too few.
    spells = wet_spells([0, 14, 16, 10, 0, 8, 0], [9, 10, 12, 14, 12, 12, 12], fungus=COOL)
    assert spells.first.tolist() == [1, 5]
    assert spells.last.tolist() == [3, 5]
    assert spells.wet_h.tolist() == [40.0, 8.0]
    np.testing.assert_allclose(spells.t_c, [11.8, 12.0])
    np.testing.assert_allclose(spells.needed_h, required_wet_hours([11.8, 12.0], fungus=COOL))
    assert spells.met.tolist() == [True, False]
    assert spells.whole.tolist() == [True, True]


def test_a_long_break_ends_a_spell() -> None:
    # 6 h and 6 h on two days: a dry break of 18 h.
    spells = wet_spells([6.0, 6.0], [12.0, 12.0])
    assert spells.first.tolist() == [0, 1]
    # 12 h and 12 h: a break of just 12 h does not end it for the cool kind, but does for the warm.
    assert wet_spells([12.0, 12.0], [12.0, 12.0], fungus=COOL).met.tolist() == [True]
    assert wet_spells([12.0, 12.0], [24.0, 24.0], fungus=WARM).met.tolist() == [True, True]


def test_frost_and_heat_stop_infection() -> None:
    spells = wet_spells([24.0, 0.0, 24.0], [-2.0, 10.0, 30.0], fungus=COOL)
    assert spells.needed_h.tolist() == [np.inf, np.inf]
    assert spells.met.tolist() == [False, False]


def test_an_unknown_day_parts_spells_and_is_told() -> None:
    spells = wet_spells([20.0, np.nan, 20.0, 0.0, 20.0], [12.0] * 5)
    assert spells.first.tolist() == [0, 2, 4]
    assert spells.whole.tolist() == [False, False, True]
    assert np.isnan(wet_spells([20.0], [np.nan]).t_c[0])
    assert wet_spells([20.0], [np.nan]).met.tolist() == [False]


def test_no_wet_day_no_spell() -> None:
    for dry in ([], [0.0, 0.0], [np.nan]):
        spells = wet_spells(dry, [10.0] * len(dry))
        assert spells.first.size == spells.met.size == 0
    with pytest.raises(RangeError, match="24"):
        wet_spells([25.0], [10.0])


@given(st.lists(st.tuples(st.floats(0.0, 24.0), st.floats(-5.0, 35.0)), min_size=1, max_size=40))
def test_spells_keep_every_wet_hour_in_order(days: list[tuple[float, float]]) -> None:
    wet, mean = (np.array(column) for column in zip(*days, strict=True))
    spells = wet_spells(wet, mean)
    assert spells.wet_h.sum() == pytest.approx(wet.sum())
    assert np.all(spells.first <= spells.last)
    assert np.all(spells.last[:-1] < spells.first[1:])
    assert np.all(wet[spells.first] > 0.0)
    assert np.all(wet[spells.last] > 0.0)

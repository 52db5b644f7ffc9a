from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest
from clock_fixture import made_weather, with_days, with_gap

from boughwright.season.clock import site_clock
from boughwright.season.outlook import TenDays, ten_days

if TYPE_CHECKING:
    from boughwright.season.record import Weather

TODAY = date(2019, 7, 1)
CALM = made_weather(date(2017, 1, 1), 1200, mean=10.0, rain_mm=0.0)


def outlook(weather: Weather, today: date = TODAY, latitude: float = 46.0) -> TenDays:
    return ten_days(site_clock(weather, latitude_deg=latitude, today=today), today=today)


def test_a_hot_spell_is_found_from_its_first_to_its_last_day() -> None:
    hot = with_days(CALM, date(2019, 7, 4), t_max_c=[33.0, 36.0, 34.0, 32.9, 35.0])
    found = outlook(hot)
    assert (found.hot_from, found.hot_to) == (date(2019, 7, 4), date(2019, 7, 6))
    assert found.t_max_10d_c == 36.0
    assert found.days_known == 10


def test_frost_and_minimum_over_the_turn_of_the_season() -> None:
    today = date(2018, 12, 28)
    cold = with_days(CALM, date(2018, 12, 28), t_min_c=[2.0] * 7 + [-0.5, -4.0, 1.0])
    found = outlook(cold, today)
    assert found.frost_on == date(2019, 1, 4)
    assert found.t_min_10d_c == -4.0
    assert found.days_known == 10


def test_first_dry_day_is_today_later_or_not_known() -> None:
    assert outlook(CALM).dry_from == TODAY
    wet = with_days(CALM, TODAY, rain_mm=[4.0, np.nan, 0.3, 0.0])
    assert outlook(wet).dry_from == date(2019, 7, 4)
    assert outlook(with_days(CALM, TODAY, rain_mm=[1.0] * 10)).dry_from is None
    assert outlook(with_days(CALM, TODAY, rain_mm=[np.nan] * 10)).dry_from is None


def test_wet_spells_by_hand() -> None:
    # At 18 °C the cool fungus' response is 6 / 11.5 · (18 / 12.5)^(12.5 / 11.5) = 0.775, so it asks
    # for 12 / 0.775 = 15.5 h; a day of 20 mm keeps leaves wet for 23 h, one of 5 mm for 8 h.
    row = CALM.day(date(2019, 6, 20))
    mean = (CALM.t_min_c[row] + CALM.t_max_c[row]) / 2
    assert mean == pytest.approx(18.0, abs=1.0)
    wet = with_days(CALM, date(2019, 6, 20), rain_mm=[20.0, 0.0, 0.0, 5.0, 0.0, 0.0, 20.0])
    assert outlook(wet).wet_spells_14d == 2
    assert outlook(CALM).wet_spells_14d == 0
    # A spell 15 days back does not count.
    old = with_days(CALM, date(2019, 6, 16), rain_mm=[20.0])
    assert outlook(old).wet_spells_14d == 0


def test_unknown_rain_leaves_spells_unknown() -> None:
    lost = with_days(CALM, date(2019, 6, 20), rain_mm=[np.nan] * 4)
    assert outlook(lost).wet_spells_14d is None


def test_normals_and_filled_days_tell_nothing() -> None:
    stopped = with_gap(CALM, date(2019, 6, 1), 400)
    bare = replace(stopped, rain_mm=np.full(len(stopped), np.nan))
    assert outlook(bare) == TenDays(None, None, None, None, None, None, None, 0)


def test_days_beyond_the_ten_do_not_show() -> None:
    hot = with_days(CALM, date(2019, 7, 11), t_max_c=[38.0])
    assert outlook(hot).hot_from is None

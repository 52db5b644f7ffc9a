"""Whole seasons on real weather of both halves of the Earth.

Sources: daily weather of a New Zealand station 2000-15 from the open package `eto`; Auckland
2016-17 from the data set `Weather` of `mosaicData`; Seattle 2012-15 (NOAA) and Wageningen 1992-99.
What month a stage falls in is common practice for temperate gardens.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from season_real_records import (
    auckland_record,
    new_zealand_record,
    seattle_record,
    wageningen_record,
)

from boughwright.season.calendar import tree_calendar
from boughwright.season.clock import site_clock
from boughwright.season.stages import Stage, TreeCalendar
from boughwright.species.tables import of_key

if TYPE_CHECKING:
    from boughwright.season.record import Weather

MAIN = [stage for stage in Stage if stage not in (Stage.SECOND_PUSH, Stage.SUMMER_HOLD)]


def season_of_maple(weather: Weather, latitude: float, today: date) -> TreeCalendar:
    clock = site_clock(weather, latitude_deg=latitude, today=today)
    return tree_calendar(clock, of_key("acer-palmatum"), [], today=today)


@pytest.mark.parametrize("year", range(2001, 2014))
def test_new_zealand_flushes_in_its_own_spring(year: int) -> None:
    calendar = season_of_maple(new_zealand_record(), -43.6, date(year + 1, 6, 30))
    assert calendar.season == f"{year}/{(year + 1) % 100:02d}"
    months = {stage: calendar.starts[stage].likely for stage in MAIN}
    held = [day for day in months.values() if day is not None]
    assert held == sorted(set(held))
    assert set(months) - {Stage.DEEP_REST} <= {one for one, day in months.items() if day}
    first, colour = months[Stage.FIRST_LEAF], months[Stage.COLOUR]
    assert date(year, 9, 10) <= first <= date(year, 10, 31)
    assert date(year, 11, 15) <= months[Stage.HARD] <= date(year + 1, 1, 10)
    assert date(year + 1, 2, 15) <= months[Stage.LATE_THICKENING] <= date(year + 1, 3, 5)
    assert date(year + 1, 3, 20) <= colour <= date(year + 1, 5, 10)


def test_mild_auckland_goes_without_deep_rest_and_says_its_winter_was_short_of_cold() -> None:
    today = date(2016, 8, 1)
    calendar = season_of_maple(auckland_record(), -36.85, today)
    assert calendar.season == "2016/17"
    assert 0.0 < calendar.chill_portions < 0.8 * 45.0
    assert any("short of cold" in note for note in calendar.notes)
    colder = season_of_maple(new_zealand_record(), -43.6, date(2009, 8, 1))
    assert not any("short of cold" in note for note in colder.notes)
    done = season_of_maple(auckland_record(), -36.85, date(2017, 6, 30))
    assert done.starts[Stage.DEEP_REST].likely is None
    assert date(2016, 8, 20) <= done.starts[Stage.FIRST_LEAF].likely <= date(2016, 10, 15)


@pytest.mark.parametrize(
    ("record", "latitude", "years"),
    [(seattle_record, 47.45, range(2013, 2016)), (wageningen_record, 51.97, range(1993, 2000))],
)
def test_northern_seasons(record: object, latitude: float, years: range) -> None:
    for year in years:
        calendar = season_of_maple(record(), latitude, date(year, 12, 31))  # type: ignore[operator]
        held = [calendar.starts[stage].likely for stage in MAIN]
        days = [day for day in held if day is not None]
        assert days == sorted(set(days))
        assert date(year, 3, 1) <= calendar.starts[Stage.FIRST_LEAF].likely <= date(year, 5, 25)
        assert date(year, 5, 1) <= calendar.starts[Stage.HARD].likely <= date(year, 7, 15)
        assert date(year, 9, 10) <= calendar.starts[Stage.COLOUR].likely <= date(year, 10, 31)
        assert calendar.starts[Stage.LEAF_DROP].likely > calendar.starts[Stage.COLOUR].likely


def test_the_warm_spring_of_seattle_opens_first() -> None:
    # 200 degree-days were there on 25 February 2015, 14 March 2014 and 30 March 2013.
    opened = {
        year: season_of_maple(seattle_record(), 47.45, date(year, 12, 31)).leaf_out.likely
        for year in (2013, 2015)
    }
    assert opened[2013] is not None
    assert opened[2015] is not None
    assert opened[2015].replace(year=2013) < opened[2013] - timedelta(days=7)


def test_order_of_species_as_in_central_europe() -> None:
    # Hawthorn, then birch and hornbeam, oak, ash last: mean unfolding of the German and European
    # networks as remembered.
    order = ("crataegus-monogyna", "betula-pendula", "quercus-robur", "fraxinus-excelsior")
    for year in range(1993, 2000):
        today = date(year, 12, 31)
        clock = site_clock(wageningen_record(), latitude_deg=51.97, today=today)
        days = [tree_calendar(clock, of_key(key), [], today=today).leaf_out.likely for key in order]
        assert days == sorted(days)
        doy = np.array([(day - date(year, 1, 1)).days + 1 for day in days if day is not None])
        assert 60 <= doy.min() < doy.max() <= 160

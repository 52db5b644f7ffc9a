from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from clock_fixture import made_weather, with_gap

from boughwright.errors import RangeError
from boughwright.season.normals import guessed_normals, normals_from
from boughwright.sources import Grade


def test_a_planted_wave_comes_back_within_a_fifth_of_a_degree() -> None:
    weather = made_weather(date(2018, 1, 1), 4 * 365, mean=10.0, swing=8.0, half=6.0)
    normals = normals_from(weather, latitude_deg=48.0)
    low, high, _ = normals.at(date(2021, 1, 1), 365)
    rows = slice(3 * 365 + 1, 4 * 365)
    assert np.abs(low[:364] - weather.t_min_c[rows]).max() < 0.2
    assert np.abs(high[:364] - weather.t_max_c[rows]).max() < 0.2
    assert normals.grade is Grade.MEASURED


def test_day_to_day_spread_comes_back() -> None:
    weather = made_weather(date(2010, 1, 1), 8 * 365, noise=3.0, seed=4)
    _, _, spread = normals_from(weather, latitude_deg=48.0).at(date(2019, 1, 1), 365)
    assert 2.6 < spread.mean() < 3.4


@pytest.mark.parametrize(("latitude", "coldest"), [(46.0, (1, 2)), (-46.0, (7, 8))])
def test_the_guess_turns_over_with_the_hemisphere(
    latitude: float, coldest: tuple[int, int]
) -> None:
    low, high, _ = guessed_normals(latitude).at(date(2021, 1, 1), 365)
    month = date.fromordinal(date(2021, 1, 1).toordinal() + int(np.argmin(low))).month
    assert month in coldest
    assert (low < high).all()


def test_height_makes_the_guess_colder_by_six_degrees_a_thousand_metres() -> None:
    at_sea, _, _ = guessed_normals(46.0).at(date(2021, 1, 1), 365)
    high_up, _, _ = guessed_normals(46.0, elevation_m=1000.0).at(date(2021, 1, 1), 365)
    assert np.allclose(at_sea - high_up, 6.0)


def test_a_year_of_record_outweighs_a_guess_that_is_ten_degrees_off() -> None:
    weather = made_weather(date(2020, 1, 1), 366, mean=17.0, swing=3.0)
    guess, _, _ = guessed_normals(55.0).at(date(2020, 1, 1), 366)
    low, _, _ = normals_from(weather, latitude_deg=55.0).at(date(2020, 1, 1), 366)
    assert abs(guess.mean() - weather.t_min_c.mean()) > 10.0
    assert abs(low.mean() - weather.t_min_c.mean()) < 0.5


def test_a_short_record_stays_a_guess_and_pulls_only_a_little() -> None:
    weather = made_weather(date(2020, 3, 1), 10, mean=25.0)
    normals = normals_from(weather, latitude_deg=50.0)
    guess = guessed_normals(50.0)
    assert normals.grade is Grade.GUESS
    assert guess.low[0] < normals.low[0] < 25.0 - 5.0


def test_gaps_and_forecasts_do_not_enter() -> None:
    whole = made_weather(date(2019, 1, 1), 730, noise=2.0)
    holed = with_gap(whole, date(2019, 6, 1), 30)
    assert normals_from(holed, latitude_deg=48.0).years == pytest.approx(700 / 365.2425)


def test_no_record_gives_the_guess() -> None:
    assert normals_from(None, latitude_deg=48.0).years == 0.0
    assert normals_from(None, latitude_deg=48.0).grade is Grade.GUESS


def test_a_latitude_off_the_earth_is_refused() -> None:
    with pytest.raises(RangeError, match="latitude"):
        guessed_normals(97.0)

"""Day length against two ephemerides.

Sources: the CBM model of Forsythe et al. 1995 (Ecological Modelling 80:87-95) checked against the
open libraries `astral` and `ephem` (upper limb with 34' of refraction: the almanac's definition).
Tolerance: 5 minutes below 60 degrees, the error the paper's authors state near there.
"""

from __future__ import annotations

import math
from datetime import date, datetime, timedelta, timezone

import ephem
import numpy as np
import pytest
from astral import Observer
from astral.sun import sunrise, sunset

from boughwright.season.daylength import daylength_h
from boughwright.season.hourly import sun_times_h

PLACES = {
    "London": (51.51, -0.13),
    "Tokyo": (35.68, 139.65),
    "Singapore": (1.35, 103.82),
    "Melbourne": (-37.81, 144.96),
    "Valdivia": (-39.81, -73.25),
    "Dunedin": (-45.87, 170.50),
}
DAYS = [date(2023, 1, 1) + timedelta(days=step) for step in range(0, 365, 4)]


def by_ephem(latitude: float, longitude: float, day: date) -> float:
    place = ephem.Observer()
    place.lat, place.lon, place.pressure, place.horizon = str(latitude), str(longitude), 0, "-0:34"
    place.date = ephem.Date(datetime(day.year, day.month, day.day)
                            + timedelta(hours=12.0 - longitude / 15.0))  # fmt: skip
    sun = ephem.Sun()
    return float(place.next_setting(sun) - place.previous_rising(sun)) * 24.0


def by_astral(latitude: float, longitude: float, day: date) -> float:
    zone = timezone(timedelta(hours=round(longitude / 15.0)))
    place = Observer(latitude, longitude, 0)
    span = sunset(place, day, tzinfo=zone) - sunrise(place, day, tzinfo=zone)
    return span.total_seconds() / 3600.0


@pytest.mark.parametrize("reference", [by_ephem, by_astral])
@pytest.mark.parametrize("name", PLACES)
def test_day_length_over_a_year(name: str, reference: object) -> None:
    assert callable(reference)
    latitude, longitude = PLACES[name]
    ours = daylength_h(latitude, [day.timetuple().tm_yday for day in DAYS])
    theirs = np.array([reference(latitude, longitude, day) for day in DAYS])
    assert np.abs(ours - theirs).max() * 60.0 <= 5.0


def test_the_hourly_curve_uses_the_same_day_to_the_almanac() -> None:
    # The hourly temperatures rest on another, simpler formula for the sun (Spencer 1971): held to
    # the same 5 minutes.
    for latitude, longitude in PLACES.values():
        rise, fall = sun_times_h(latitude, np.array([day.timetuple().tm_yday for day in DAYS]))
        theirs = np.array([by_ephem(latitude, longitude, day) for day in DAYS])
        assert np.abs(fall - rise - theirs).max() * 60.0 <= 5.0


def test_polar_day_and_night_at_tromso() -> None:
    midsummer, midwinter = date(2023, 6, 21), date(2023, 12, 21)
    with pytest.raises(ephem.AlwaysUpError):
        by_ephem(69.65, 18.96, midsummer)
    with pytest.raises(ephem.NeverUpError):
        by_ephem(69.65, 18.96, midwinter)
    assert daylength_h(69.65, [172, 355]).tolist() == [24.0, 0.0]


def test_the_almanac_lies_between_two_definitions() -> None:
    # Sunrise with refraction is longer than with the sun's centre on the horizon, by the time the
    # sun takes through 0.8333 degrees at London's slant: 2 x 0.8333 / (15 x cos 51.5°) h = 10.7 min
    # at the equinox.
    gain = float(daylength_h(51.5, 80)) - float(daylength_h(51.5, 80, horizon_deg=0.0))
    assert gain == pytest.approx(2.0 * 0.8333 / (15.0 * math.cos(math.radians(51.5))), rel=0.01)

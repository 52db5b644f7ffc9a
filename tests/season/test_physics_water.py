"""Laws of reference evapotranspiration, and the choice of formula by what was read."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boughwright.season import water
from boughwright.season.water import reference_mm

YEAR = np.arange(1, 366)


def test_sun_on_top_of_the_air_at_two_latitudes() -> None:
    # The formula once more, by a separate calculation.
    days = np.array([15, 80, 172, 266, 355])
    np.testing.assert_allclose(
        water.top_of_air_mj(45.0, days), [11.931, 26.525, 41.910, 25.655, 10.441], atol=5.1e-4
    )
    np.testing.assert_allclose(
        water.top_of_air_mj(-35.0, days), [43.363, 31.163, 15.571, 31.304, 44.426], atol=5.1e-4
    )


def test_temperatures_alone_north_and_south() -> None:
    north = water.hargreaves_mm(13.0, 25.0, top_mj=water.top_of_air_mj(45.0, 196))
    south = water.hargreaves_mm(16.0, 30.0, top_mj=water.top_of_air_mj(-35.0, 15))
    assert float(north) == pytest.approx(4.8568, abs=5.1e-5)
    assert float(south) == pytest.approx(6.2119, abs=5.1e-5)


@given(st.floats(-66.0, 66.0), st.integers(1, 365), st.floats(-180.0, 180.0))
def test_the_hours_of_a_day_add_up_to_the_day(latitude: float, day: int, longitude: float) -> None:
    hours = water.top_of_air_hour_mj(
        latitude, day, clock_h=np.arange(24) + 0.5, longitude_deg=longitude,
        zone_longitude_deg=longitude,
    )  # fmt: skip
    assert np.all(hours >= 0.0)
    # The clock strays from the sun by up to 17 minutes, so at 66° a sliver falls over midnight.
    assert hours.sum() == pytest.approx(
        float(water.top_of_air_mj(latitude, day)), rel=5e-3, abs=0.02
    )


def test_polar_night_has_no_sun() -> None:
    assert float(water.top_of_air_mj(80.0, 355)) == pytest.approx(0.0, abs=1e-9)
    assert float(water.sunshine_limit_h(80.0, 172)) == 24.0
    assert water.cloud_ratio([0.0, 5.0, np.nan, 1.0], [0.0, 10.0, 10.0, 10.0])[:2].tolist() == [
        0.5,
        0.5,
    ]
    assert np.isnan(water.cloud_ratio(np.nan, 0.0))


@given(
    low=st.floats(-20.0, 40.0), swing=st.floats(0.0, 20.0), humidity=st.floats(5.0, 100.0),
    wind=st.floats(0.0, 15.0), sun=st.floats(0.5, 35.0), altitude=st.floats(0.0, 2000.0),
)  # fmt: skip
def test_more_sun_never_takes_less_water(
    *, low: float, swing: float, humidity: float, wind: float, sun: float, altitude: float
) -> None:
    amount, known = reference_mm(
        low, low + swing, humidity_pct=humidity, wind_ms=wind, sun_mj=[sun, sun + 1.0],
        latitude_deg=45.0, altitude_m=altitude, day_of_year=172,
    )  # fmt: skip
    assert known.all()
    assert 0.0 <= amount[0] <= amount[1]


@given(
    t=st.floats(-20.0, 40.0), net=st.floats(-5.0, 20.0), wind=st.floats(0.0, 15.0),
    vapour=st.floats(0.0, 3.0), drier=st.floats(0.0, 1.0), hourly=st.booleans(),
)  # fmt: skip
def test_drier_air_never_takes_less_water_under_the_same_sky(
    *, t: float, net: float, wind: float, vapour: float, drier: float, hourly: bool
) -> None:
    moist, dry = water.penman_monteith_mm(
        t, net_mj=net, wind_ms=wind, saturation=water.saturation_kpa(t), air_kpa=101.3,
        vapour_kpa=[vapour + drier, vapour], hourly=hourly,
    )  # fmt: skip
    assert dry >= moist


def test_the_formula_follows_what_was_read() -> None:
    low, high = np.array([10.0, 10.0, 10.0, 10.0, np.nan]), np.full(5, 25.0)
    amount, full = reference_mm(
        low, high,
        humidity_pct=[60.0, np.nan, 60.0, 60.0, 60.0], wind_ms=[2.0, 2.0, np.nan, 2.0, 2.0],
        sun_mj=[20.0, 20.0, 20.0, np.nan, 20.0],
        latitude_deg=45.0, altitude_m=100.0, day_of_year=np.full(5, 196),
    )  # fmt: skip
    assert full.tolist() == [True, False, False, False, False]
    rough = float(water.hargreaves_mm(10.0, 25.0, top_mj=water.top_of_air_mj(45.0, 196)))
    np.testing.assert_allclose(amount[1:4], rough)
    assert np.isnan(amount[4])
    assert amount[0] != pytest.approx(rough, rel=1e-3)


def test_the_whole_chain_by_hand() -> None:
    # 20/10 °C, 70 %, 2 m/s, 18 MJ at 45° N, sea level, day 172, step by step from the guide:
    # es = (2.3383 + 1.2280) / 2 = 1.7831, ea = 0.70 x 1.7831 = 1.2482; Ra 41.910, Rso 31.433,
    # ratio 0.5727; Rns 13.86; Rnl = 4.903e-9 x (293.16^4 + 283.16^4) / 2 x (0.34 - 0.14 x 1.1172)
    #   x (1.35 x 0.5727 - 0.35) = 33.872 x 0.18359 x 0.42309 = 2.631; Rn 11.229;
    # slope at 15 °C = 4098 x 1.7053 / 252.3² = 0.10978; gamma 0.067365;
    # (0.408 x 0.10978 x 11.229 + 0.067365 x 900 / 288 x 2 x 0.5349)
    #   / (0.10978 + 0.067365 x 1.68) = (0.50296 + 0.22521) / 0.22295 = 3.266.
    amount, full = reference_mm(
        10.0, 20.0, humidity_pct=70.0, wind_ms=2.0, sun_mj=18.0, latitude_deg=45.0, altitude_m=0.0,
        day_of_year=172,
    )  # fmt: skip
    assert bool(full)
    assert float(amount) == pytest.approx(3.266, abs=2e-3)

"""Reference evapotranspiration on real stations, against another library and another system.

Sources: the open library `pyet` on the daily weather of Wageningen (Haarweg, 1976-99), and station
files of 2013-14 that carry the reference evapotranspiration of the European crop-growth monitoring
system; both sets of files come with the open package `pcse`.
"""

from __future__ import annotations

import warnings

import numpy as np
import pandas as pd
import pytest
from season_outside_data import crop_station, seattle, wageningen

from boughwright.season import water

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import pyet


def penman_monteith(
    low: np.ndarray, high: np.ndarray, *, vapour_kpa: np.ndarray, wind_ms: np.ndarray,
    sun_mj: np.ndarray, latitude: float, altitude_m: float, day_of_year: np.ndarray,
) -> np.ndarray:  # fmt: skip
    top = water.top_of_air_mj(latitude, day_of_year)
    clouds = water.cloud_ratio(sun_mj, water.clear_sky_mj(top, altitude_m=altitude_m))
    lost = water.net_longwave_mj(low, high, vapour_kpa=vapour_kpa, clouds=clouds)
    return water.penman_monteith_mm(
        (low + high) / 2.0, net_mj=water.net_shortwave_mj(sun_mj) - lost, wind_ms=wind_ms,
        vapour_kpa=vapour_kpa, air_kpa=water.pressure_kpa(altitude_m),
        saturation=water.mean_saturation_kpa(low, high),
    )  # fmt: skip


def test_every_day_at_wageningen() -> None:
    days = wageningen()
    assert len(days) > 6000
    ours = penman_monteith(
        days.t_min.to_numpy(), days.t_max.to_numpy(), vapour_kpa=days.vapour_kpa.to_numpy(),
        wind_ms=days.wind_ms.to_numpy(), sun_mj=days.sun_mj.to_numpy(),
        latitude=51.97, altitude_m=7.0, day_of_year=days.index.dayofyear.to_numpy(),
    )  # fmt: skip
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = pyet.pm_fao56(
            (days.t_min + days.t_max) / 2.0, days.wind_ms, rs=days.sun_mj, tmax=days.t_max,
            tmin=days.t_min, ea=days.vapour_kpa, elevation=7.0, lat=np.radians(51.97),
            clip_zero=False,
        )  # fmt: skip
    # The same equations, constants and floor of the cloudiness: only rounding may differ.
    np.testing.assert_allclose(ours, theirs.to_numpy(), rtol=0.0, atol=1e-6)
    years = pd.Series(np.maximum(ours, 0.0), index=days.index).groupby(days.index.year).sum()
    for year, millimetres in ((1984, 570.88), (1992, 694.42), (1995, 699.89)):
        assert years[year] == pytest.approx(millimetres, abs=0.006)


@pytest.mark.parametrize(
    ("name", "latitude", "altitude_m"),
    [
        ("8011_asturias", 43.5667, 130.0),
        ("2297_sweden", 64.4833, 37.0),
        # Latitude and altitude of these two are those of the towns, from memory.
        ("10870_munchen_flughafen", 48.35, 453.0),
        ("8443_ronda", 36.75, 750.0),
    ],
)
def test_the_station_files_own_column(name: str, latitude: float, altitude_m: float) -> None:
    days = crop_station(name)
    assert len(days) > 400
    ours = penman_monteith(
        days.t_min.to_numpy(), days.t_max.to_numpy(), vapour_kpa=days.vapour_hpa.to_numpy() / 10.0,
        wind_ms=water.wind_at_2m_ms(days.wind_10m, height_m=10.0),
        sun_mj=days.sun_kj.to_numpy() / 1000.0, latitude=latitude, altitude_m=altitude_m,
        day_of_year=days.index.dayofyear.to_numpy(),
    )  # fmt: skip
    ours = np.maximum(ours, 0.0)
    # The file rounds to 0.01 mm; a day in Asturias strays by 0.28 mm in every library tried.
    assert np.sqrt(np.mean((ours - days.et0_mm) ** 2)) < 0.03
    in_2013 = days.index.year == 2013
    assert ours[in_2013].sum() == pytest.approx(days.et0_mm[in_2013].sum(), rel=0.006)


def test_temperatures_alone_at_wageningen_and_seattle() -> None:
    # Hargreaves by another hand, mm a year: Wageningen 1984, 1992, 1995; Seattle 2012-15.
    days = wageningen()
    top = water.top_of_air_mj(51.97, days.index.dayofyear.to_numpy())
    rough = pd.Series(water.hargreaves_mm(days.t_min, days.t_max, top_mj=top), index=days.index)
    years = rough.groupby(days.index.year).sum()
    for year, millimetres in ((1984, 680.31), (1992, 748.84), (1995, 776.62)):
        # That library has 0.0135 x 0.17 for 0.0023 (0.2 % less) and a latent heat that rises in the
        # cold (1.1 % more at 10 °C than the guide's 1 / 0.408, so less water).
        assert years[year] == pytest.approx(millimetres, rel=0.012)
    days = seattle()
    top = water.top_of_air_mj(47.45, days.index.dayofyear.to_numpy())
    rough = pd.Series(water.hargreaves_mm(days.temp_min, days.temp_max, top_mj=top), days.index)
    years = rough.groupby(days.index.year).sum()
    for year, millimetres in ((2012, 799.087), (2013, 832.033), (2014, 866.227), (2015, 898.845)):
        assert years[year] == pytest.approx(millimetres, rel=1e-3)

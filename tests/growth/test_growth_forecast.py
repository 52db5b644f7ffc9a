"""Bases at the end of a season and seasons to a target: values, laws, held-out readings."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.stats import norm

from boughwright.growth.forecast import SHARES, base_forecast, seasons_to_target
from boughwright.growth.increment import (
    DRIFT_SD,
    PRIOR_SD,
    Increment,
    Readings,
    from_readings,
    switched,
)


def increment(log_mean: float, log_sd: float, branches: int = 1, link: float = 0.0) -> Increment:
    full = np.full(branches, 1.0)
    return Increment(log_mean * full, log_sd * full, np.zeros(branches, np.int8), link * full)


@pytest.mark.parametrize(
    ("sd", "log_mean", "log_sd", "ahead"),
    [(0.1, 0.0, 0.81, 1.0), (0.1, -2.0, 0.2, 1.0), (0.5, -1.0, 0.3, 0.5), (0.1, -3.0, 0.5, 0.2)],
)
def test_quantiles_are_those_of_reading_error_plus_growth(
    sd: float, log_mean: float, log_sd: float, ahead: float
) -> None:
    # The distribution of a normal plus a log-normal, by quadrature and root finding.
    steps = np.linspace(-8, 8, 4001)
    weight = norm.pdf(steps) / norm.pdf(steps).sum()
    grown = 10 + 2 * ahead * np.exp(log_mean + log_sd * steps)
    exact = [
        brentq(lambda y, p=p: float(weight @ norm.cdf((y - grown) / sd)) - p, 5, 500)
        for p in SHARES
    ]
    ours = base_forecast(10.0, sd, increment(log_mean, log_sd), rings_ahead=ahead)[0]
    assert ours == pytest.approx(exact, abs=0.02 * (exact[2] - exact[0]))


def test_linked_error_and_growth_add_up() -> None:
    # Nearly no spread in growth is left when error and growth go together: with a small log-sd
    # the sum is normal with sd = sqrt(s² + t² + 2 ρ s t), t = 2 A log_sd.
    s, a, log_sd, rho = 0.1, 1.0, 0.05, -0.6
    t = 2 * a * log_sd
    wide = np.sqrt(s**2 + t**2 + 2 * rho * s * t) * norm.ppf(0.9)
    low, middle, high = base_forecast(10.0, s, increment(0.0, log_sd, link=rho), rings_ahead=1.0)[0]
    assert middle == pytest.approx(12.0, abs=0.01)
    assert high - low == pytest.approx(2 * wide, rel=0.03)


@given(
    base=st.floats(1, 60),
    sd=st.floats(0.01, 0.5),
    log_mean=st.floats(-4, 1.5),
    log_sd=st.floats(0.02, 1.2),
    link=st.floats(0, 0.95),
    ahead=st.lists(st.floats(0, 3), min_size=2, max_size=2),
)
def test_wood_never_shrinks(
    *, base: float, sd: float, log_mean: float, log_sd: float, link: float, ahead: list[float]
) -> None:
    rate = increment(log_mean, log_sd, link=link)
    now, soon, late = (
        base_forecast(base, sd, rate, rings_ahead=rings)[0] for rings in (0.0, *sorted(ahead))
    )
    assert np.all(soon >= now)
    assert np.all(late >= soon)
    assert now[0] < now[1] < now[2]
    assert base_forecast(base, sd, rate, rings_ahead=-1.0)[0] == pytest.approx(now)


def test_a_branch_that_runs_ends_thicker_than_one_cut_now() -> None:
    running = increment(0.0, 0.3, branches=2)
    cut = switched(running, running_was=1, running_will=0)
    runs, stops = (
        base_forecast([9.0, 5.0], [0.1, 0.1], rate, rings_ahead=[0.6, 0.6])
        for rate in (running, cut)
    )
    assert np.all(runs > stops)
    # 9.0 + 2 · 0.6 · 1 mm running; 9.0 + 2 · 0.6 · 0.4 mm when cut.
    assert runs[0, 1] == pytest.approx(10.2, abs=0.02)
    assert stops[0, 1] == pytest.approx(9.48, abs=0.02)


def test_unknown_stays_unknown() -> None:
    rate = increment(0.0, 0.5, branches=3)
    ends = base_forecast([9.0, np.nan, 9.0], [0.1, 0.1, np.nan], rate, rings_ahead=0.5)
    assert np.isfinite(ends[0]).all()
    assert np.isnan(ends[1:]).all()
    seasons = seasons_to_target([9.0, np.nan, 9.0], [12.0, 12.0, np.nan], rate)
    assert np.isnan(seasons).tolist() == [[False] * 3, [True] * 3, [True] * 3]


def test_seasons_to_a_target() -> None:
    # 3 mm at 0.5 mm of radius a year: 3 seasons; the fastest tenth 3 / e^(1.2816 · 0.4).
    seasons = seasons_to_target([9.0, 9.0], [12.0, 8.0], increment(np.log(0.5), 0.4, branches=2))
    assert seasons[0] == pytest.approx([3 / np.exp(0.512621), 3.0, 3 * np.exp(0.512621)], rel=1e-5)
    assert seasons[1].tolist() == [0.0, 0.0, 0.0]


@pytest.mark.parametrize("drift", [0.0, DRIFT_SD])
@pytest.mark.parametrize("error_mm", [0.05, 0.1, 0.2])
@pytest.mark.parametrize(("autumns", "median_mm"), [(3, 0.7), (6, 0.7), (4, 0.1), (3, 2.0)])
def test_held_out_readings_lie_in_the_band(
    drift: float, error_mm: float, autumns: int, median_mm: float
) -> None:
    """Made-up caliper series from the model itself: 80 % bands hold 75 to 85 % of last readings."""
    rng = np.random.default_rng(11)
    branches = 2000
    rate = np.log(median_mm) + PRIOR_SD * rng.standard_normal(branches)
    steps = drift * rng.standard_normal((branches, autumns)).cumsum(axis=1)
    grown = 2 * np.exp(rate[:, None] + steps[:, 1:])
    base = 5 + np.concatenate([np.zeros((branches, 1)), grown.cumsum(axis=1)], axis=1)
    read = base + error_mm * rng.standard_normal(base.shape)
    rings = 2020.0 + np.arange(autumns)
    known = Readings(
        np.repeat(np.arange(branches), autumns - 1),
        read[:, :-1].ravel(),
        np.full(branches * (autumns - 1), error_mm),
        np.tile(rings[:-1], branches),
    )
    after = from_readings(
        increment(np.log(median_mm), PRIOR_SD, branches), known, season=rings[-2], drift_sd=drift
    )
    # The held-out reading has an error of its own, which is not linked to the growth.
    both = replace(after, base_link=after.base_link / np.sqrt(2))
    low, _, high = base_forecast(read[:, -2], np.sqrt(2) * error_mm, both, rings_ahead=1.0).T
    assert 0.75 <= np.mean((read[:, -1] >= low) & (read[:, -1] <= high)) <= 0.85
    assert 0.06 <= np.mean(read[:, -1] < low) <= 0.15
    assert 0.06 <= np.mean(read[:, -1] > high) <= 0.15

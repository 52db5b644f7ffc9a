"""The course of the ring: shares by day, the start of the season, second pushes, the inverse.

The dates of bites in a reference climate were worked out separately from the same formula
(one cosine for the daily mean, leaf-out on 25 April) and are quoted to the day.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boughwright.errors import RangeError, UnknownNameError
from boughwright.growth.ring import (
    RingCurve,
    curve_for,
    ed_at_share,
    ring_share,
    season_start,
    since_leaf_out,
    starts_at,
)

PRUNED = curve_for("diffuse", free=False)
FREE = curve_for("diffuse", free=True)
RING = curve_for("ring", free=False)

CURVES = st.builds(
    RingCurve,
    mid_ed=st.floats(10, 80),
    scale_ed=st.floats(5, 40),
    onset_ed=st.floats(-40, 0),
    mid_sd_ed=st.just(10.0),
    second_weight=st.floats(0, 0.6),
    second_push_ed=st.floats(10, 120),
    second_mid_ed=st.floats(50, 160),
)


@pytest.mark.parametrize(
    ("curve", "shares"),
    [
        (PRUNED, [0.020, 0.089, 0.238, 0.669, 0.923]),
        (FREE, [0.018, 0.070, 0.164, 0.450, 0.749]),
        (RING, [0.152, 0.293, 0.480, 0.778, 0.926]),
    ],
    ids=["pruned", "free", "ring"],
)
def test_shares_at_leaf_out_and_after(curve: RingCurve, shares: list[float]) -> None:
    # [H(t) - H(onset)] / [1 - H(onset)], H(t) = 1 / (1 + exp(-(t - m) / s)), e.g. pruned at 0:
    # H(0) = 1/(1+e^2.7647) = 0.05927, H(-7) = 0.04007; 0.01920 / 0.95993 = 0.0200.
    assert ring_share([0, 14, 30, 60, 90], curve) == pytest.approx(shares, abs=5.01e-4)


def test_semi_ring_lies_between_and_starts_early() -> None:
    semi = curve_for("semi-ring", free=False)
    days = np.arange(0.0, 80.0, 10.0)  # while most of the ring is laid; later all three near 1
    between = ring_share(days, semi)
    assert np.all(between < ring_share(days, RING))
    assert np.all(between > ring_share(days, PRUNED))
    assert semi.onset_ed == RING.onset_ed


def test_no_growth_before_onset_or_season() -> None:
    assert ring_share([-400.0, -22.0], RING).tolist() == [0.0, 0.0]
    assert ring_share(-15.0, RING, season_start_ed=-15.0) == 0.0
    assert ring_share(-14.0, RING, season_start_ed=-15.0) > 0.0
    # A season that starts before the onset changes nothing.
    assert ring_share(10.0, RING, season_start_ed=-60.0) == ring_share(10.0, RING)
    assert starts_at(RING, [-60.0, -15.0]).tolist() == [-22.0, -15.0]


def test_a_seen_swell_is_the_onset_on_ring_porous_trees_only() -> None:
    assert curve_for("ring", free=False, swell_ed=-12.0).onset_ed == -12.0
    assert curve_for("semi-ring", free=False, swell_ed=-12.0).onset_ed == -12.0
    assert curve_for("diffuse", free=False, swell_ed=-12.0) == PRUNED


def test_running_is_told_branch_by_branch() -> None:
    mixed = curve_for("diffuse", free=np.array([True, False]))
    assert ring_share(30.0, mixed).tolist() == [
        float(ring_share(30.0, FREE)),
        float(ring_share(30.0, PRUNED)),
    ]
    # Running does not change ring-porous wood.
    assert curve_for("ring", free=True) == RING


def test_unknown_wood_is_refused() -> None:
    with pytest.raises(UnknownNameError, match="wood 'pruned'"):
        curve_for("pruned", free=False)


@given(curve=CURVES, days=st.lists(st.floats(-60, 400), min_size=2, max_size=20))
def test_it_rises_from_0_to_1(curve: RingCurve, days: list[float]) -> None:
    shares = ring_share(np.sort(days), curve)
    assert np.all(np.diff(shares) >= -1e-12)
    assert np.all((shares >= 0.0) & (shares <= 1.0))
    assert ring_share(curve.onset_ed, curve) == 0.0
    assert ring_share(5000.0, curve) == pytest.approx(1.0, abs=1e-9)


@given(curve=CURVES, share=st.floats(1e-4, 0.999), start=st.floats(-60, 0))
def test_day_and_share_are_inverse(curve: RingCurve, share: float, start: float) -> None:
    day = ed_at_share(share, curve, season_start_ed=start)
    assert ring_share(day, curve, season_start_ed=start) == pytest.approx(share, abs=1e-9)


@given(curve=CURVES)
def test_ends_of_the_inverse(curve: RingCurve) -> None:
    first, never, nothing = ed_at_share([-0.1, 1.0, np.nan], curve)
    assert first == curve.onset_ed
    assert never == np.inf
    assert np.isnan(nothing)


def test_a_second_push_lays_a_quarter_later() -> None:
    pushed = curve_for("diffuse", free=False, second_push_ed=70.0)
    # Until the push only three quarters of the first curve.
    assert ring_share(65.0, pushed) == pytest.approx(0.75 * float(ring_share(65.0, PRUNED)))
    # Long after it, more is still to come than on the first curve alone.
    assert 1 - ring_share(110.0, pushed) > 3 * (1 - ring_share(110.0, PRUNED))
    some = curve_for("diffuse", free=False, second_push_ed=np.array([np.nan, 70.0]))
    assert ring_share(90.0, some).tolist() == [
        float(ring_share(90.0, PRUNED)),
        float(ring_share(90.0, pushed)),
    ]
    days = ed_at_share(ring_share(90.0, some), some)
    assert days == pytest.approx([90.0, 90.0], abs=1e-9)


def test_draws_days_and_branches_broadcast() -> None:
    rng = np.random.default_rng(3)
    curve = RingCurve(
        rng.normal(47, 10, (5, 1, 4)), 17.0, -7.0, 10.0, np.full((1, 1, 4), 0.25),
        np.full((1, 1, 4), 60.0), np.full((1, 1, 4), 100.0),
    )  # fmt: skip
    days = np.arange(-20.0, 160.0, 9.0)[None, :, None]
    shares = ring_share(days, curve, season_start_ed=np.full((5, 1, 1), -30.0))
    assert shares.shape == (5, 20, 4)
    back = ed_at_share(shares, curve, season_start_ed=np.full((5, 1, 1), -30.0))
    grown = np.broadcast_to(days > -7.0, shares.shape)
    assert back[grown] == pytest.approx(np.broadcast_to(days, shares.shape)[grown], abs=1e-6)


# --- a reference climate -------------------------------------------------------------------------

DOY = np.arange(1, 366)
MEAN_C = 10.5 + 9.5 * np.cos(2 * np.pi * (DOY - 201) / 365)
RUNNING_SUM = np.cumsum(np.clip(MEAN_C - 5, 0, 7) / 7)
LEAF_OUT_ROW = 114  # 25 April
CLOCK = since_leaf_out(RUNNING_SUM, LEAF_OUT_ROW)
START = season_start(RUNNING_SUM, LEAF_OUT_ROW)
MARKED, BITTEN, DEEP = 0.15, 0.375, 0.75
SLACK = 0.05


def days_from_leaf_out(
    increment: float, curve: RingCurve, depth: float, wired: int | None = None
) -> int | None:
    """Return the first day, from leaf-out, on which the wire has sunk by ``depth`` mm."""
    shares = ring_share(CLOCK, curve, season_start_ed=START)
    before = 0.0 if wired is None else shares[LEAF_OUT_ROW + wired]
    sunk = np.nonzero(increment * (shares - before) - SLACK >= depth)[0]
    return int(sunk[0]) - LEAF_OUT_ROW if len(sunk) else None


@pytest.mark.parametrize(
    ("increment", "days"),
    [
        (0.1, [49, None, None, None]),
        (0.2, [32, None, None, None]),
        (0.5, [16, 42, 78, None]),
        (1.0, [8, 27, 44, 72]),
        (1.5, [4, 20, 34, 51]),
        (2.5, [0, 13, 24, 37]),
        (4.0, [-2, 8, 17, 27]),
    ],
)
def test_autumn_wire_on_a_pruned_diffuse_tree(increment: float, days: list[int | None]) -> None:
    depths = (0.0, MARKED, BITTEN, DEEP)
    assert [days_from_leaf_out(increment, PRUNED, depth) for depth in depths] == days


@pytest.mark.parametrize(
    ("increment", "days"), [(1.5, [26, 45, 68]), (2.5, [17, 31, 48]), (4.0, [10, 22, 35])]
)
def test_autumn_wire_on_a_free_diffuse_tree(increment: float, days: list[int]) -> None:
    assert [days_from_leaf_out(increment, FREE, d) for d in (MARKED, BITTEN, DEEP)] == days


@pytest.mark.parametrize(
    ("increment", "days"),
    [(1.0, [6, 26]), (1.5, [-2, 14, 35]), (2.5, [-11, 3, 17]), (4.0, [-18, -6, 6])],
)
def test_autumn_wire_on_a_ring_porous_tree(increment: float, days: list[int]) -> None:
    # The dates were worked out with growth before 1 January counted; without it they come up to
    # 5 days later, never earlier.
    for depth, day in zip((MARKED, BITTEN, DEEP), days, strict=False):
        ours = days_from_leaf_out(increment, RING, depth)
        assert ours is not None
        assert 0 <= ours - day <= 5


@pytest.mark.parametrize(
    ("increment", "pruned", "free"),
    [
        (1.0, [7, 21, 36, 70], [10, 29, 51, 96]),
        (1.5, [5, 15, 27, 43], [7, 22, 38, 61]),
        (2.5, [3, 10, 18, 29], [5, 15, 26, 41]),
        (4.0, [2, 7, 13, 21], [3, 10, 18, 29]),
    ],
)
def test_wire_put_on_in_the_flush(increment: float, pruned: list[int], free: list[int]) -> None:
    for curve, days in ((PRUNED, pruned), (FREE, free)):
        ours = [days_from_leaf_out(increment, curve, d, 14) for d in (0.0, MARKED, BITTEN, DEEP)]
        assert [None if day is None else day - 14 for day in ours] == days


def test_autumn_wire_does_not_bite_in_early_rest() -> None:
    shares = ring_share(CLOCK, RING, season_start_ed=START)
    assert shares[0] == pytest.approx(0.0, abs=1e-12)
    assert np.all(shares[:60] < 0.01)  # January and February


def test_the_clock_is_nought_at_leaf_out_and_serves_many_draws() -> None:
    clocks = since_leaf_out(RUNNING_SUM, [114, 114.5, 120])
    assert clocks.shape == (3, 365)
    assert clocks[0, 114] == 0.0
    assert clocks[1, 114] < 0 < clocks[1, 115]
    assert season_start(RUNNING_SUM, [114, 120]) == pytest.approx(-RUNNING_SUM[[114, 120]])
    with pytest.raises(RangeError, match="outside the season"):
        since_leaf_out(RUNNING_SUM, 400)

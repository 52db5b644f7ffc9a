"""The forecast over cases: its quantiles, its laws, and what looks do to it."""

from __future__ import annotations

import math
from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from wire_fixture import LEAF_OUT, day_of, running_ed, sharp

from boughwright.wire.draws import (
    NODES,
    RATE,
    Looks,
    draw,
    nodes,
    normal_score,
    normal_share,
)
from boughwright.wire.windows import ALLOWED, BITTEN, DEEP, LINE, SET, forecast, quantiles

SPREAD = 0.6


def spread(rate, **given):
    """Wires whose rate, slack and curve are known only roughly."""
    wires = sharp(rate, **given)
    size = len(wires)
    curve = replace(wires.curve, mid_sd_ed=np.full(size, 10.0))
    return replace(wires, curve=curve, log_rate_sd=np.full(size, SPREAD),
                   slack_log_sd=np.full(size, math.log(1.6)))  # fmt: skip


def looks(*seen):
    """Looks at wire 0 as (days from leaf-out, grade)."""
    ed = running_ed()[np.array([day for day, _ in seen]) + (LEAF_OUT - LEAF_OUT.replace(
        month=1, day=1)).days]  # fmt: skip
    return Looks(np.zeros(len(seen), dtype=np.intp), ed, np.zeros(len(seen)),
                 np.array([grade for _, grade in seen], dtype=np.int64))  # fmt: skip


def test_every_axis_of_the_nodes_is_evenly_spread():
    even = np.sort(nodes(NODES), axis=1)
    assert np.allclose(even, (np.arange(NODES) + 0.5) / NODES)


def test_axes_of_the_nodes_do_not_go_together():
    centred = nodes(NODES) - 0.5
    together = np.corrcoef(centred) - np.eye(len(centred))
    assert np.abs(together).max() < 0.06


@given(st.floats(-8.0, 0.0))
def test_normal_share_against_the_library(score):
    assert normal_share(np.array(score)) == pytest.approx(NormalDist().cdf(score), rel=2e-5)


@given(st.floats(1e-9, 1.0 - 1e-9))
def test_normal_score_against_the_library(share):
    assert normal_score(np.array(share)) == pytest.approx(NormalDist().inv_cdf(share), abs=2e-5)


def test_line_by_the_rate_alone_has_its_exact_quantiles():
    # Only the rate is uncertain: the p10 of the day is the day of the p90 of the rate.
    wires = replace(sharp(1.5), log_rate_sd=np.array([SPREAD]))
    found = day_of(forecast(wires, count=1021).ed[:, LINE, 0])
    for quantile, day in zip((0.9, 0.5, 0.1), found, strict=True):
        fixed = sharp(1.5 * math.exp(SPREAD * NormalDist().inv_cdf(quantile)))
        assert day == pytest.approx(day_of(forecast(fixed).ed[1, LINE, 0]), abs=1)


def test_share_that_never_bites_is_the_share_of_slow_branches():
    # 0.05 slack + 0.15: never when the year's growth stays under 0.20 mm
    wires = replace(sharp(0.2), log_rate_sd=np.array([SPREAD]))
    assert forecast(wires, count=1021).never[BITTEN, 0] == pytest.approx(0.5, abs=0.03)


def test_few_nodes_come_close_to_many():
    wires = spread([0.3, 0.8, 1.5, 3.0])
    few, many = (day_of(forecast(wires, count=n).ed[:, LINE]) for n in (NODES, 4093))
    both = np.isfinite(few) & np.isfinite(many)
    spring = both & (many < 100)
    assert spring.sum() >= 10
    assert np.abs(few - many)[spring].max() <= 1
    # in late summer the ring hardly grows and a date means little
    assert np.abs(few - many)[both].max() <= 14


@settings(max_examples=30, deadline=None)
@given(st.floats(0.1, 4.0), st.floats(1.05, 3.0), st.sampled_from(["pruned", "free", "ring"]))
def test_a_faster_branch_never_bites_later(rate, factor, kind):
    slow, fast = forecast(spread([rate, rate * factor], kind=kind)).ed.transpose(2, 0, 1)
    assert (fast[:, :DEEP] <= slow[:, :DEEP] + 1e-9).all()


@settings(max_examples=30, deadline=None)
@given(st.floats(0.1, 4.0), st.floats(0.8, 4.0), st.floats(0.05, 0.25))
def test_depths_and_quantiles_come_in_order(rate, gauge, sink):
    wires = replace(spread(rate, gauge_mm=gauge), sink_share=np.array([sink]))
    found = forecast(wires)
    ed = found.ed[:, :, 0]
    with np.errstate(invalid="ignore"):
        assert (ed[:, LINE] <= ed[:, ALLOWED]).all()
        assert (ed[:, LINE] <= ed[:, BITTEN]).all()
        assert (ed[:, BITTEN] <= ed[:, DEEP]).all()
        assert (ed[0] <= ed[1])[:SET].all()
        assert (ed[1] <= ed[2])[:SET].all()


def test_wires_do_not_depend_on_their_company_or_order():
    rates = np.geomspace(0.1, 4.0, 300)
    together = forecast(spread(rates))
    backwards = forecast(spread(rates[::-1]))
    alone = forecast(spread(rates[7]))
    np.testing.assert_array_equal(together.ed, backwards.ed[:, :, ::-1])
    np.testing.assert_array_equal(together.ed[:, :, 7], alone.ed[:, :, 0])


def test_unknown_stays_unknown():
    wires = spread([1.0, 1.0, 1.0])
    unknown = replace(
        wires,
        log_rate=np.array([np.nan, 0.0, 0.0]),
        gauge_mm=np.array([1.5, np.nan, 1.5]),
        base_mm=np.array([5.0, 5.0, np.nan]),
    )
    found = forecast(unknown)
    assert np.isnan(found.ed[:, :, 0]).all()
    assert found.likely_grade[0] == -1
    # an unknown gauge: the least line and bite, no deep, no allowed sink past the line
    assert np.isfinite(found.ed[0, [LINE, ALLOWED, BITTEN], 1]).all()
    assert np.isinf(found.ed[0, DEEP, 1])
    assert np.isnan(found.ed[:, SET, 2]).all()
    assert np.isnan(found.never[SET, 2])
    assert np.isfinite(found.ed[0, SET, 1])


def test_a_second_push_brings_wood_late_and_holds_the_spring_back():
    wires = spread([1.5, 1.5])
    push = replace(
        wires.curve,
        second_weight=np.array([0.0, 0.25]),
        second_push_ed=np.array([np.inf, 70.0]),
        second_mid_ed=np.array([np.inf, 110.0]),
    )
    found = forecast(replace(wires, curve=push)).ed[1]
    assert found[LINE, 1] > found[LINE, 0]
    late = spread(1.5, on=LEAF_OUT.replace(month=7, day=15))
    pushed = replace(
        late,
        curve=replace(late.curve, second_weight=np.array([0.25]), second_push_ed=np.array([70.0]),
                      second_mid_ed=np.array([110.0])),
    )  # fmt: skip
    assert forecast(pushed).never[LINE, 0] < forecast(late).never[LINE, 0]


def test_rings_laid_before_the_season_bring_the_mark_forward():
    wires = spread(1.0)
    before = replace(wires, rings_before=np.array([0.1]))
    assert forecast(before).ed[1, LINE, 0] < forecast(wires).ed[1, LINE, 0]


def test_nothing_seen_late_slows_the_forecast_and_a_bite_speeds_it():
    wires = spread(1.0)
    prior = forecast(wires).ed[1, DEEP, 0]
    quiet = forecast(wires, looks((30, 0))).ed[1, DEEP, 0]
    bitten = forecast(wires, looks((20, 3))).ed[1, DEEP, 0]
    assert bitten < prior < quiet


def test_a_look_before_growth_tells_nothing():
    wires = spread(1.0)
    plain, early = forecast(wires), forecast(wires, looks((-40, 0), (-20, 1)))
    np.testing.assert_allclose(early.ed[:, LINE, 0], plain.ed[:, LINE, 0], atol=0.5)


def test_looks_are_one_observation_not_many():
    """The same look noted five times says no more than once; others cut its interval."""
    wires = spread(1.0)
    once = forecast(wires, looks((30, 2)))
    often = forecast(wires, looks(*[(30, 2)] * 5))
    np.testing.assert_allclose(often.ed, once.ed)
    both = forecast(wires, looks((30, 2), (33, 3)))
    width = [np.diff(f.ed[[0, 2], BITTEN, 0])[0] for f in (forecast(wires), once, both)]
    assert width[2] < width[1] < width[0]


def test_order_of_looks_does_not_matter():
    wires = spread(1.0)
    one, other = (forecast(wires, looks(*s)) for s in (((20, 1), (30, 2)), ((30, 2), (20, 1))))
    np.testing.assert_allclose(one.ed, other.ed)


def test_given_looks_against_rejecting_random_cases():
    """The weighed nodes against plain rejection: 400 000 random cases, those that fit are kept."""
    seen = (30, 2)
    wires = replace(spread(1.2), curve=sharp(1.2).curve)
    found = forecast(wires, looks(seen), count=1021).ed[:, BITTEN, 0]
    random = np.random.default_rng(5)
    size = 400_000
    rate = 1.2 * np.exp(SPREAD * random.standard_normal(size))
    slack = 0.05 * np.exp(math.log(1.6) * random.standard_normal(size))
    called = np.exp(0.20 * random.standard_normal(size))
    draws = draw(sharp(1.2), None, 1)
    look = running_ed()[(LEAF_OUT - LEAF_OUT.replace(month=1, day=1)).days + seen[0]]
    depth = rate * float(draws.share_laid(np.array([[look]]))[0, 0]) - slack
    kept = (depth * called >= 0.08) & (depth * called < 0.15)
    fine = np.linspace(0.0, running_ed()[-1], 20_001)
    laid = draws.share_laid(fine[None, :])[0]
    day = np.interp((slack + 0.15)[kept] / rate[kept], laid, fine)
    expected = np.quantile(day, (0.1, 0.5, 0.9))
    assert found == pytest.approx(expected, abs=0.6)


def test_looks_that_cannot_all_be_right_are_told_and_the_worst_believed():
    wires = replace(spread(0.3), today_ed=running_ed()[[160]])
    found = forecast(wires, looks((10, 4), (40, 0)))
    assert found.disagree[0]
    assert found.likely_grade[0] >= 4
    fine = forecast(wires, looks((40, 0)))
    assert not fine.disagree[0]


def test_share_used_is_depth_over_the_allowed_depth():
    # Known exactly: 1.5 mm a year, day +34, slack 0.05: depth 0.375 = the allowed 25 % of 1.5
    today = running_ed()[[(LEAF_OUT - LEAF_OUT.replace(month=1, day=1)).days + 34]]
    found = forecast(replace(sharp(1.5), today_ed=today))
    assert found.used[:, 0] == pytest.approx([1.0] * 3, abs=0.05)
    assert found.likely_grade[0] == 3


def test_quantiles_against_sorting_by_hand():
    values = np.array([[5.0, 1.0, 3.0, np.inf]])
    # sorted 1, 3, 5, inf: least value with 10, 50 and 90 % of four at or below: 1, 3, inf
    assert quantiles(values, None)[:, 0].tolist() == [1.0, 3.0, math.inf]
    # weights 5:3, 1:1, 3:1, inf:1 -> running 1/6, 2/6, 5/6, 1: p10 1, p50 5, p90 inf
    weight = np.array([[3.0, 1.0, 1.0, 1.0]])
    assert quantiles(values, weight)[:, 0].tolist() == [1.0, 5.0, math.inf]


def test_the_rate_axis_carries_the_median_rate():
    draws = draw(spread(1.7), None)
    assert np.exp(np.mean(np.log(draws.rate))) == pytest.approx(1.7, rel=1e-6)
    assert np.argsort(draws.rate[0]).tolist() == np.argsort(nodes(NODES)[RATE]).tolist()

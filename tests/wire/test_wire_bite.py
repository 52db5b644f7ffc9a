"""Where grades start, what may sink, and how wide a groove is."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boughwright.journal.terms import Bark, Fit, Phase
from boughwright.wire.bite import (
    ALLOWED_SINK,
    BARK_FACTOR,
    SLACK_MM,
    allowed_mm,
    grade_starts_mm,
    groove_mm,
)


def starts(gauge: float, bark: Bark = Bark.ORDINARY) -> np.ndarray:
    return grade_starts_mm(np.array([gauge]), np.array([BARK_FACTOR[bark]]))[0]


@pytest.mark.parametrize(
    ("gauge", "bark", "expected"),
    [
        # grade 1 at 0, 2 at 5 % (least 0.08), 3 at 10 % (least 0.15), 4 at half, 5 at the gauge
        (4.0, Bark.ORDINARY, (0.0, 0.20, 0.40, 2.0, 4.0)),
        (4.0, Bark.SMOOTH, (0.0, 0.16, 0.32, 2.0, 4.0)),
        (4.0, Bark.CORKY, (0.0, 0.30, 0.60, 2.0, 4.0)),
        (1.5, Bark.ORDINARY, (0.0, 0.08, 0.15, 0.75, 1.5)),
        (1.0, Bark.SMOOTH, (0.0, 0.08, 0.15, 0.5, 1.0)),
    ],
)
def test_where_grades_start(gauge, bark, expected):
    assert starts(gauge, bark) == pytest.approx(expected)


@given(st.floats(0.3, 8.0), st.sampled_from(list(Bark)))
def test_grades_start_in_order(gauge, bark):
    assert (np.diff(starts(gauge, bark)) >= 0.0).all()


def test_an_unknown_gauge_leaves_deep_and_closed_unknown():
    found = starts(math.nan)
    assert found[:3] == pytest.approx((0.0, 0.08, 0.15))
    assert np.isnan(found[3:]).all()


def test_allowed_sink_by_phase():
    shares = [ALLOWED_SINK[p] for p in (Phase.REFINEMENT, Phase.RAMIFICATION, Phase.PRIMARY,
                                        Phase.TRUNK, None)]  # fmt: skip
    assert shares == [0.05, 0.10, 0.25, 0.25, 0.05]
    gauge, bark = np.full(5, 2.0), np.ones(5)
    # 0.05 * 2 = 0.10; 0.20; 0.50; 0.50; 0.10
    assert allowed_mm(gauge, bark, np.array(shares)) == pytest.approx((0.1, 0.2, 0.5, 0.5, 0.1))


@given(st.floats(0.3, 8.0), st.sampled_from(list(Bark)), st.sampled_from([*Phase, None]))
def test_no_phase_allows_less_than_the_first_line(gauge, bark, phase):
    factor, share = np.array([BARK_FACTOR[bark]]), np.array([ALLOWED_SINK[phase]])
    allowed = allowed_mm(np.array([gauge]), factor, share)[0]
    line = starts(gauge, bark)[1]
    assert allowed >= line
    if share[0] == 0.05:
        assert allowed == line


@pytest.mark.parametrize(("share", "width"), [(0.10, 0.60), (0.25, 0.866), (0.5, 1.0), (0.8, 1.0)])
def test_groove_width(share, width):
    # chord of a circle: 2 sqrt(b (d - b))
    assert groove_mm(np.array([share]), np.array([1.0]))[0] == pytest.approx(width, abs=5e-4)


def test_slack_by_fit():
    assert [SLACK_MM[fit] for fit in Fit] == [0.05, 0.15, 0.5]

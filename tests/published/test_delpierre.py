"""Autumn colour by the published equation.

Source: Delpierre et al. 2009 (Agricultural and Forest Meteorology 149:938-948), equations as read
in public autumn-model code, defaults for broadleaved trees as read in the open package medfate.
The expected rates are worked out by hand; no published date goes with these defaults.
"""

from __future__ import annotations

import numpy as np
import pytest

from boughwright.season.colour import HALF_TURNED, colour_rate


def test_a_day_of_ten_degrees_and_twelve_hours() -> None:
    # (28.5 - 10)² x (12 / 12.5)² = 342.25 x 0.9216 = 315.4176.
    assert float(colour_rate(10.0, 12.0)) == pytest.approx(315.4176, abs=1e-9)
    # (28.5 - 10)² x (1 - 12 / 12.5)² = 342.25 x 0.0016 = 0.5476.
    assert float(colour_rate(10.0, 12.0, short_days_hasten=True)) == pytest.approx(0.5476, abs=1e-9)


def test_nothing_on_long_or_hot_days() -> None:
    assert colour_rate([10.0, 28.5, 35.0], [12.5, 12.0, 12.0]).tolist() == [0.0, 0.0, 0.0]


def test_the_requirement_is_the_published_one() -> None:
    # 8268: some 26 days of the day above, 8268 / 315.4176 = 26.2.
    days = np.cumsum(colour_rate(np.full(40, 10.0), np.full(40, 12.0)))
    assert int(np.searchsorted(days, HALF_TURNED)) == 26

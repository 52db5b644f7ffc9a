"""The early and late edge of a stage that hangs on warmth: a tree may ask for half or for double.

Worked by hand on a made clock whose every day brings 5 °C d.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from clock_fixture import made_species, made_weather

from boughwright.season.calendar import tree_calendar
from boughwright.season.clock import site_clock
from boughwright.season.leafout import required_warmth
from boughwright.season.rows import by_warmth
from boughwright.season.stages import Stage

if TYPE_CHECKING:
    from boughwright.season.record import SiteClock

WEATHER = made_weather(date(2015, 1, 1), 5 * 365, mean=10.5, noise=3.0, seed=3)
LAST = date(2018, 12, 31)
CLOCK = site_clock(WEATHER, latitude_deg=46.0, today=LAST)


def even_clock(weather_sd_cd: float = 0.0) -> SiteClock:
    """A clock that has 5 °C d more by the end of each day, row 0 included."""
    running = 5.0 * (np.arange(CLOCK.warmth_cd.size) + 1.0)
    return replace(CLOCK, warmth_cd=running, warmth_sd_cd=np.full(running.size, weather_sd_cd))


def test_edges_of_a_wide_requirement_by_hand() -> None:
    # 100 °C d, standard error 62.63 on the log: edges at 100·exp(∓1.2816·0.6263), that is 44.81
    # and 223.2, not 19.7 and 180.3. Row 8 ends with 45, row 44 with 225, row 19 with 100.
    rows = by_warmth(even_clock(), 100.0, 62.63)
    assert (rows.early, rows.likely, rows.late) == (8, 19, 44)
    assert rows.missing == 0.0


@pytest.mark.parametrize("warmth", [60.0, 150.0, 400.0])
def test_a_narrow_requirement_has_even_edges(warmth: float) -> None:
    rows = by_warmth(even_clock(), warmth, 0.06 * warmth)
    assert rows.early is not None
    assert rows.likely is not None
    assert rows.late is not None
    flat = 1.2816 * 0.06 * warmth / 5.0
    assert rows.likely - rows.early == pytest.approx(flat, abs=1.5)
    assert rows.late - rows.likely == pytest.approx(flat, abs=1.5)


def test_what_the_weather_may_yet_do_does_not_keep_a_tree_from_opening() -> None:
    # Weather still ahead, 150 °C d wide, is little beside the 1,800 of a year.
    rows = by_warmth(even_clock(150.0), 80.0, 30.0)
    assert rows.late is not None
    assert rows.missing == 0.0


def test_counted_from_a_day_that_was_seen_the_error_is_on_what_came_since() -> None:
    # 60 °C d after the end of row 9 (50 °C d): row 21; 20 either way at 1.2816: 84.4 and 135.6.
    rows = by_warmth(even_clock(), 110.0, 20.0, from_row=9)
    assert (rows.early, rows.likely, rows.late) == (16, 21, 27)


@pytest.mark.parametrize("low", [0.2, 0.3])
def test_an_early_tree_of_a_little_known_species_still_asks_for_a_share(low: float) -> None:
    # The early edge of leaf-out lies at no less than the low value of the factor, and its standard
    # deviation there, would ask for; never on next to no warmth.
    species = made_species(leafout_factor=0.45, chill_portions=45.0)
    trait = replace(species.traits["leafout_factor"], low=low, high=0.7)
    species = replace(species, traits={**species.traits, "leafout_factor": trait})
    calendar = tree_calendar(CLOCK, species, [], today=LAST)
    first = calendar.starts[Stage.FIRST_LEAF]
    assert first.early is not None
    assert first.likely is not None
    row = CLOCK.day(first.likely)
    asked = float(required_warmth(CLOCK.chill_days_run[row], factor=0.45))
    sd = np.log(0.7 / low) / 2.0
    before = CLOCK.warmth_cd[CLOCK.day(first.early) - 1]
    held = CLOCK.warmth_cd[CLOCK.day(first.early)]
    # The model's own 6 days come on top of the tree's factor, so a little under is right.
    assert held >= asked * np.exp(-1.2816 * (sd + 0.3))
    assert before < asked * np.exp(-1.2816 * (sd - 0.05))
    assert first.likely - first.early < timedelta(days=70)

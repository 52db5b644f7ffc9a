"""Weather files with holes and slips, and what one look at the buds is worth."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from math import nan
from statistics import NormalDist, median
from typing import TYPE_CHECKING

import numpy as np
import pytest
from grower_garden import (
    STATION,
    TODAY,
    Grower,
    empty_book,
    set_days,
    weather_file,
)

from boughwright.season.record import Origin
from boughwright.season.stages import Stage
from boughwright.store.book import Book
from boughwright.usecases.stages import stage_strip
from boughwright.usecases.weather import load_weather, weather_shape

if TYPE_CHECKING:
    from pathlib import Path

    from boughwright.season.stages import DateRange

TREE = "maple"


def _plant(grower: Grower) -> Grower:
    grower.plant(TREE, "Acer palmatum", {"1L": {"height_mm": 60.0}}, height_mm=440.0,
                 phase="refinement")  # fmt: skip
    return grower


LAST = date(2026, 3, 25)
ON = date(2026, 4, 1)


def _book(tmp_path: Path, name: str, lines: list[str]) -> Grower:
    return _plant(Grower(empty_book(tmp_path / f"{name}.book", tmp_path, lines)))


def _gap(days: int) -> list[date]:
    return [LAST - timedelta(days=i) for i in range(days)]


def _width(range_: DateRange) -> int:
    assert range_.early is not None
    assert range_.late is not None
    return (range_.late - range_.early).days


def test_gaps_are_filled_flagged_and_the_sums_over_them_less_sure(
    tmp_path: Path, calm: list[str]
) -> None:
    doubts, warmths = [], []
    for days in (0, 1, 9, 30):
        lines = set_days(calm, dict.fromkeys(_gap(days)))
        assert len(calm) - len(lines) == days
        grower = _book(tmp_path, f"gap-{days}", lines)
        (day,) = grower.day(ON).trees
        assert day.calendar.filled_days == day.facts.filled_days == days
        notes = " ".join(map(str, grower.call_up(ON)["notes"]))  # type: ignore[arg-type]
        if days:
            told = "1 day of weather is" if days == 1 else f"{days} days of weather are"
            assert f"Bench: {told} missing" in notes
            assert "wider" in notes
        else:
            assert "missing" not in notes
        clock = day.clock
        rows = [clock.day(lost) for lost in _gap(days)]
        assert (clock.weather.origin[rows] == Origin.FILLED).all()
        assert int(clock.filled.sum()) == days
        doubts.append(float(clock.warmth_sd_cd[clock.day(ON)]))
        warmths.append(float(clock.warmth_cd[clock.day(ON)]))
    assert doubts[0] < doubts[1] < doubts[2] < doubts[3]
    # The year's warmth goes on through the gap: two of its own errors hold the true sum.
    for warmth, doubt in zip(warmths[1:], doubts[1:], strict=True):
        assert abs(warmth - warmths[0]) < 2.0 * max(doubt, 1.0)


@pytest.mark.parametrize("days", [9, 30])
def test_dates_over_a_gap_are_wider_than_had_the_same_weather_been_read(
    tmp_path: Path, calm: list[str], days: int
) -> None:
    lost = _gap(days)
    (gap,) = _book(tmp_path, "gap", set_days(calm, dict.fromkeys(lost))).day(ON).trees
    filled = gap.clock.weather
    as_filled = {
        day: f"{day},read,{filled.t_min_c[gap.clock.day(day)]:.6f},"
        f"{filled.t_max_c[gap.clock.day(day)]:.6f},,,"
        for day in lost
    }  # fmt: skip
    (read,) = _book(tmp_path, "read", set_days(calm, as_filled)).day(ON).trees
    assert read.calendar.filled_days == 0
    pairs = [(_width(gap.calendar.starts[s]), _width(read.calendar.starts[s])) for s in SPRING]
    assert all(over >= without for over, without in pairs)
    assert sum(over for over, _ in pairs) > sum(without for _, without in pairs)


SPRING = (Stage.BURST, Stage.FIRST_LEAF, Stage.RUNNING, Stage.CLOSING, Stage.HARD)

BAD = {
    date(2026, 5, 2): "2026-05-02,read,-99,14.0,0.0,70,1.0",
    date(2026, 5, 3): "2026-05-03,read,9.0,61,0.0,70,1.0",
    date(2026, 5, 4): "2026-05-04,read,9.0,15.0,-3,70,1.0",
    date(2026, 5, 5): "2026-05-05,read,15.0,9.0,0.0,70,1.0",
    date(2026, 5, 6): "2026-05-06,read,9.0,warm,0.0,70,1.0",
}


def test_bad_values_are_refused_listed_and_left_to_be_filled(
    tmp_path: Path, calm: list[str]
) -> None:
    before = [line for line in calm if line < "2026-05" or line.startswith("date")]
    path = empty_book(tmp_path / "garden.book", tmp_path, before, today=date(2026, 4, 30))
    grower = _plant(Grower(path))
    may = [line for line in set_days(calm, BAD) if "2026-05" <= line < "2026-06-20"]
    file = weather_file(tmp_path / "may.csv", [calm[0], *may])
    taken = load_weather(grower.path, STATION, file, today=TODAY)
    shape = weather_shape(taken)
    # Row 1 is the header and 1 May is row 2.
    assert [row.row for row in taken.file.refused] == [3, 4, 5, 6, 7]
    assert shape["refused_count"] == 5
    for row, word in zip(taken.file.refused, ("-99", "61", "rain", "above", "warm"), strict=True):
        assert word in row.what
        assert row.todo
    day = grower.day().trees[0]
    rows = [day.clock.day(on) for on in BAD]
    assert (day.clock.weather.t_min_c > -60).all()
    assert (day.clock.weather.t_max_c[rows] < 40).all()
    assert day.clock.filled[rows].all()
    assert day.calendar.filled_days == 5
    assert any("5 days" in str(note) for note in grower.call_up()["notes"])  # type: ignore[union-attr]


def test_the_wall_is_warmer_than_the_station_and_a_bench_reading_stands(
    grower: Grower, bare_book: Path
) -> None:
    grower.plant("on-wall", "Acer palmatum", {"1L": {}}, shelf="wall")
    grower.plant("on-bench", "Acer palmatum", {"1L": {}})
    on = date(2026, 5, 20)
    with Book.open(grower.path) as book:
        book.put_weather(STATION, [_AtBench(on, 7.0, 31.0)])
    wall, bench = (grower.tree_day(name) for name in ("on-wall", "on-bench"))
    row = wall.clock.day(on)
    for clock in (wall.clock, bench.clock):
        assert (clock.weather.t_min_c[row], clock.weather.t_max_c[row]) == (7.0, 31.0)
        assert clock.weather.origin[row] == Origin.BENCH
    read = np.flatnonzero(wall.clock.weather.origin == Origin.READ)
    np.testing.assert_allclose(
        wall.clock.weather.t_max_c[read] - bench.clock.weather.t_max_c[read], 1.5
    )
    assert wall.calendar.warmth_cd > bench.calendar.warmth_cd


@dataclass(frozen=True)
class _AtBench:
    """A day read by the grower at the bench."""

    on: date
    t_min_c: float
    t_max_c: float
    rain_mm: float = nan
    humidity_pct: float = nan
    wind_ms: float = nan
    sun_mj: float = nan
    origin: Origin = Origin.BENCH


def test_one_look_at_first_leaf_halves_the_error_of_the_hard_stage(grower: Grower) -> None:
    """Trees made up to leaf out all over the forecast's own range.

    Leaf-out of tree i lies at an even quantile of the forecast made on 1 March; its leaves are hard
    400 degree-days later, give or take the 39 (standard error) that a range of 350 to 450 from the
    first to the ninth tenth stands for. Real springs are held against in the published checks.
    """
    quantile = NormalDist().inv_cdf
    count = 12
    grower.plant("tree-0", "Acer palmatum", {"1L": {}})
    forecast = grower.day(date(2026, 3, 1)).trees[0].calendar.leaf_out
    assert forecast.likely is not None
    sd_days = _width(forecast) / 2.563  # from the first to the ninth tenth of a normal
    whole = grower.day(date(2026, 6, 9)).trees[0].clock
    before, after = [], []
    for i in range(count):
        name = f"tree-{i}"
        if i:
            grower.plant(name, "Acer palmatum", {"1L": {}})
        leaf_out = forecast.likely + timedelta(days=round(sd_days * quantile((i + 0.5) / count)))
        hard_at = whole.warmth_cd[whole.day(leaf_out)] + 400.0
        hard_at += 39.0 * quantile(((i * 5) % count + 0.5) / count)
        truth = int(np.searchsorted(whole.warmth_cd, hard_at))
        for errors in (before, after):
            calendar = grower.tree_day(name, leaf_out).calendar
            likely = calendar.starts[Stage.HARD].likely
            assert likely is not None
            errors.append(abs(whole.day(likely) - truth))
            if errors is before:
                grower.say("first leaf", leaf_out, name)
    assert max(after) > 0  # the trees differ from the model
    assert median(after) <= 0.5 * median(before)


def test_the_last_look_overrides_the_stage_of_the_model(grower: Grower) -> None:
    _plant(grower)
    (line,) = stage_strip(grower.path, on=date(2026, 4, 20)).lines
    assert line.calendar.stage not in {Stage.DEEP_REST, Stage.SWELL}
    grower.say("swell", date(2026, 4, 20), TREE)
    (line,) = stage_strip(grower.path, on=date(2026, 4, 20)).lines
    assert line.calendar.stage is Stage.SWELL
    assert line.calendar.since.seen

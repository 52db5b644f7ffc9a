"""What the charts show, read off the demonstration garden and checked against the day itself."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from charts_cases import ENGLISH, EVERY, HOURS, TODAY, demo, tree

from boughwright.errors import UnknownNameError
from boughwright.journal.terms import Quantity
from boughwright.report.charts import NARROW, definition
from boughwright.season.stages import Stage
from boughwright.usecases.call_up import call_up_of
from boughwright.usecases.charts import (
    branch_chart_data,
    chart_shape,
    hours_chart_data,
    ratio_chart_data,
    row_of,
    stage_chart_data,
    weather_chart_data,
    wire_chart_data,
    years_chart_data,
)
from boughwright.usecases.wires import all_wire_of

if TYPE_CHECKING:
    from boughwright.report.charts_data import BranchChart

WIRED = [(day.facts.tree, n) for day in demo().trees for n in range(len(day.windows))]


def charts_of(name: str) -> list[BranchChart]:
    day = tree(name)
    return [branch_chart_data(day, branch) for branch in day.tree.branches.ids]


# --- the fan ------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", [day.facts.tree for day in demo().trees])
def test_the_fan_meets_the_forecast_of_the_day_at_the_seasons_end(name: str) -> None:
    day = tree(name)
    assert day.growth is not None
    met = 0
    for row, chart in enumerate(charts_of(name)):
        end = [s for s in chart.fan if s.on == chart.season_end]
        if not end:
            assert np.isnan(day.growth.season_end_mm[row]).any()
            continue
        assert (end[0].p10, end[0].p50, end[0].p90) == pytest.approx(
            day.growth.season_end_mm[row].tolist(), abs=1e-9
        )
        met += 1
    assert met > 20


def test_wood_never_shrinks_and_quantiles_keep_their_order() -> None:
    for chart in charts_of("ditch-field-maple") + charts_of("river-maple"):
        for s in chart.fan:
            assert s.p10 <= s.p50 <= s.p90
        for a, b in pairwise(chart.fan):
            assert a.on < b.on
            assert a.p50 <= b.p50 + 1e-9
            assert a.p10 <= b.p10 + 1e-9


def test_the_fan_starts_at_the_last_reading() -> None:
    chart = branch_chart_data(tree("ditch-field-maple"), "4R")
    assert chart.readings[-1].value == 9.2
    assert chart.fan[0].on == chart.readings[-1].on
    assert chart.fan[0].p50 == pytest.approx(9.2, abs=0.02)


def test_the_fan_reaches_on_to_the_season_that_likely_meets_the_target() -> None:
    long = 0
    for chart in charts_of("ditch-field-maple"):
        if chart.seasons is None or not chart.fan or chart.target_mm is None:
            continue
        ends = sorted(s.on for s in chart.fan if (s.on.month, s.on.day) == (12, 31))
        assert len(ends) == min(max(int(np.ceil(chart.seasons[1])), 1), 8)
        long += len(ends) > 1
        assert chart.fan[-1].on == ends[-1]
    assert long > 3


def test_each_whole_season_ahead_adds_a_whole_ring() -> None:
    # A growth known for sure adds 2 A each season, so the likely base at season ends is a line.
    day = tree("ditch-field-maple")
    assert day.growth is not None
    known = replace(day.growth.increment, log_sd=np.full(len(day.tree.branches), 1e-9))
    sure = replace(day, growth=replace(day.growth, increment=known))
    found = max((branch_chart_data(sure, b) for b in day.tree.branches.ids),
                key=lambda c: c.fan[-1].on if c.fan else date.min)  # fmt: skip
    ends = [s.p50 for s in found.fan if (s.on.month, s.on.day) == (12, 31)]
    assert len(ends) >= 4
    assert np.diff(ends) == pytest.approx(np.full(len(ends) - 1, ends[1] - ends[0]), abs=1e-6)


def test_the_southern_fan_ends_with_its_own_season() -> None:
    assert branch_chart_data(tree("river-maple"), "1L").season_end == date(2026, 6, 30)


def test_a_branch_without_a_reading_has_no_fan() -> None:
    day = tree("ditch-field-maple")
    rows = day.tree.branches
    base = rows.base_mm.copy()
    base[row_of(day, "4R")] = np.nan
    blank = replace(day, tree=replace(day.tree, branches=replace(rows, base_mm=base)))
    assert branch_chart_data(blank, "4R").fan == ()
    assert branch_chart_data(replace(day, growth=None), "4R").fan == ()


def test_an_unknown_branch_is_refused_with_those_there_are() -> None:
    with pytest.raises(UnknownNameError, match=r"Ditch field maple has no branch '9X'.*4R, "):
        branch_chart_data(tree("ditch-field-maple"), "9X")


def test_a_branch_is_found_by_id_and_by_name() -> None:
    day = tree("ditch-field-maple")
    rows = day.tree.branches
    assert [row_of(day, key) for key in rows.ids] == list(range(len(rows)))
    assert row_of(day, "4R") == rows.names.index("4R")


# --- seasons ------------------------------------------------------------------------------------


def test_gains_are_differences_of_the_last_readings_of_two_seasons() -> None:
    day = tree("ditch-field-maple")
    chart = years_chart_data(day, "4R")
    row = row_of(day, "4R")
    last = {}
    for m in sorted(day.tree.measures, key=lambda m: m.on):
        if m.what is Quantity.BASE and m.branch == row:
            last[m.on.year] = m
    assert [g.season for g in chart.gains] == [str(year) for year in last]
    told = 0
    for gain in chart.gains:
        year = int(gain.season)
        if year - 1 in last:
            before, now = last[year - 1], last[year]
            assert gain.gain_mm == pytest.approx(now.value - before.value)
            assert gain.sd_mm == pytest.approx(np.sqrt(now.sd**2 + before.sd**2))
            told += 1
        else:
            assert gain.gain_mm is None
    assert told == 1


def test_a_cut_branch_gains_less_than_one_that_runs() -> None:
    chart = years_chart_data(tree("ditch-field-maple"), "4R")
    assert chart.run is not None
    assert chart.cut is not None
    # A branch that runs lays 2.5 times what it lays when cut.
    assert np.divide(chart.run, chart.cut) == pytest.approx([2.5] * 3)


# --- grafts and scars ---------------------------------------------------------------------------


def test_a_scar_closes_by_the_share_of_its_first_width() -> None:
    day = tree("ditch-field-maple")
    chart = ratio_chart_data(day, "scar front")
    assert chart is not None
    assert (chart.kind, chart.points[0].value, chart.points[-1].value) == ("scar", 46.0, 41.0)
    years = (chart.points[-1].on - chart.points[0].on).days / 365.25
    assert chart.yearly == pytest.approx((1 - 41.0 / 46.0) / years)


def test_a_graft_is_exit_over_entry_with_the_gate_of_its_kind() -> None:
    day = tree("ditch-field-maple")
    chart = ratio_chart_data(day, "2.5Lg")
    assert chart is not None
    rows = day.tree.branches
    row = row_of(day, "2.5Lg")
    assert chart.points[-1].value == pytest.approx(rows.exit_mm[row] / rows.entry_mm[row])
    assert chart.gate == 1.15
    assert ratio_chart_data(day, "4R") is None


# --- wire ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "number"), WIRED)
def test_todays_depth_is_the_share_used_of_the_window(name: str, number: int) -> None:
    day = tree(name)
    window = day.windows[number]
    chart = wire_chart_data(day, window)
    now = next(s for s in chart.course if s.on == TODAY)
    # Wire of last season is taken through that season by this one's course: within a thousandth.
    assert [v / chart.allowed_mm for v in (now.p10, now.p50, now.p90)] == pytest.approx(
        list(window.share_used), abs=1e-3
    )


def test_the_deep_edge_reaches_the_allowed_sink_on_the_day_it_must_be_off() -> None:
    checked = 0
    for name, number in WIRED:
        day = tree(name)
        window = day.windows[number]
        chart = wire_chart_data(day, window)
        if window.off_by is None or window.seen_grade >= 3 or window.off_by <= TODAY:
            continue
        before = [s for s in chart.course if s.on < window.off_by]
        after = [s for s in chart.course if s.on >= window.off_by]
        assert before[-1].p90 < chart.allowed_mm * (1 + 1e-6)
        assert after[0].p90 >= chart.allowed_mm * (1 - 1e-6)
        checked += 1
    assert checked >= 3


def test_depth_never_falls_and_starts_when_the_wire_went_on() -> None:
    day = tree("tile-trident")
    chart = wire_chart_data(day, day.windows[0])
    assert chart.put_on <= chart.course[0].on <= chart.put_on + timedelta(days=3)
    for a, b in pairwise(chart.course):
        assert (a.p10, a.p50, a.p90) <= (b.p10 + 1e-12, b.p50 + 1e-12, b.p90 + 1e-12)
    assert chart.line_mm <= chart.allowed_mm
    assert chart.line_mm <= chart.bitten_mm


def test_wire_on_a_tree_of_unknown_species_has_no_course() -> None:
    day = replace(tree("tile-trident"), species=None, growth=None)
    chart = wire_chart_data(day, day.windows[0])
    assert chart.course == ()
    assert chart.off_by == day.windows[0].off_by


def test_every_wire_of_the_garden_has_a_chart() -> None:
    assert len(WIRED) == len(all_wire_of(demo()).lines) > 40


# --- weather and stages -------------------------------------------------------------------------


def test_each_shelf_has_its_days_trees_and_alarms_once() -> None:
    charts = weather_chart_data(demo())
    names = [name for chart in charts for name in chart.trees]
    assert sorted(names) == sorted(day.facts.name for day in demo().trees)
    for chart in charts:
        offsets = [(d.on - TODAY).days for d in chart.days]
        assert offsets == list(range(-14, 10))
        assert [d.ahead for d in chart.days if d.on > TODAY] == [True] * 9
        keys = [(t.kind, t.first, t.last) for t in chart.threats]
        assert len(keys) == len(set(keys))
    for day in demo().trees:
        chart = next(c for c in charts if day.facts.name in c.trees)
        for alarm in day.alarms:
            threat = next(
                t for t in chart.threats
                if (t.kind, t.first, t.last) == (alarm.kind, alarm.first, alarm.last)
            )  # fmt: skip
            assert day.facts.name in threat.trees


def test_weather_is_that_of_the_shelf_and_unknown_stays_unknown() -> None:
    chart = weather_chart_data(demo())[0]
    day = next(d for d in demo().trees if d.facts.name == chart.trees[0])
    near = day.clock.near
    assert near is not None
    for one in chart.days:
        low = near.t_min_c[near.day(one.on)]
        assert one.low_c == (None if np.isnan(low) else pytest.approx(float(low)))
    # A day the record leaves out is left open, not filled.
    assert any(d.low_c is None or d.rain_mm is None for d in chart.days) == bool(
        np.isnan(near.t_min_c[7:31]).any() or np.isnan(near.rain_mm[7:31]).any()
    )


def test_stages_are_those_of_the_calendar_in_order() -> None:
    for day in demo().trees:
        chart = stage_chart_data(day)
        assert chart.now is day.calendar.stage
        days = [m.likely for m in chart.stages]
        assert days == sorted(days)
        for mark in chart.stages:
            assert mark.likely == day.calendar.starts[mark.stage].likely
        assert Stage.FIRST_LEAF in {m.stage for m in chart.stages}
        now = next(w for w in chart.warmth if w.on == TODAY)
        assert now.cd == pytest.approx(day.calendar.warmth_cd)


# --- hours --------------------------------------------------------------------------------------


@pytest.mark.parametrize("hours", [0.0, 1.0, 3.0, 6.0, 40.0])
def test_the_hours_add_up(hours: float) -> None:
    called = call_up_of(demo(), hours)
    chart = hours_chart_data(called)
    planned = sum(p.minutes for t in chart.trees for p in t.parts if p.planned)
    assert planned / 60.0 == pytest.approx(chart.planned)
    slips = sum(p.minutes for t in chart.trees for p in t.parts if not p.planned)
    assert slips == pytest.approx(sum(s.job.minutes for s in called.call.slips))
    for tree_ in chart.trees:
        keys = [(p.harm, p.planned) for p in tree_.parts]
        assert len(keys) == len(set(keys))


def _bars(data: Any) -> list[dict[str, Any]]:
    made = definition(data, ENGLISH, width=NARROW)
    bars = [
        row for layer in made["layer"] if layer["mark"]["type"] == "bar"
        for row in layer["data"]["values"] if "x2" in row
    ]  # fmt: skip
    return sorted(bars, key=lambda row: row["x"])


def test_the_cascade_runs_on_without_gap_planned_first() -> None:
    bars = _bars(HOURS)
    # Planned: Elm 10 + 50, Oak 10 + 20 minutes; then what slips: Elm 60.
    assert [(round(b["x"] * 60), round(b["x2"] * 60)) for b in bars] == [
        (0, 10), (10, 60), (60, 70), (70, 90), (90, 150),
    ]  # fmt: skip
    assert [b["planned"] for b in bars] == [True] * 4 + [False]


def test_many_trees_share_the_last_row_and_no_minute_is_lost() -> None:
    many = next(d for d in EVERY if type(d) is type(HOURS) and len(d.trees) == 15)
    bars = _bars(many)
    assert max(b["y"] for b in bars) == 11
    total = sum(b["x2"] - b["x"] for b in bars) * 60.0
    assert total == pytest.approx(sum(p.minutes for t in many.trees for p in t.parts))


# --- shapes -------------------------------------------------------------------------------------


@pytest.mark.parametrize("data", EVERY, ids=lambda d: type(d).__name__)
def test_every_chart_has_a_plain_shape_with_name_and_version(data: Any) -> None:
    shape = chart_shape(data)
    assert str(shape["shape"]).startswith("boughwright/chart-")
    assert shape["version"] == 1
    assert json.loads(json.dumps(shape, allow_nan=False)) == shape
    assert set(shape) == {"shape", "version", *type(data).__dataclass_fields__}

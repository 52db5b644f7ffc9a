"""Frost, heat, pot core, wet leaf and wind. Limits are common practice; the weather is made up."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from clock_fixture import days_after, made_species, made_weather, with_days, with_gap

from boughwright.journal.terms import Sign
from boughwright.season.alarms import alarms, core_temperature_c
from boughwright.season.calendar import tree_calendar
from boughwright.season.clock import site_clock
from boughwright.season.stages import Alarm, AlarmKind, Stage

if TYPE_CHECKING:
    from boughwright.season.record import Weather

CALM = made_weather(date(2017, 1, 1), 1200, mean=11.0, swing=8.0, half=3.0, rain_mm=0.0)
MAPLE = made_species(leafout_factor=0.9, chill_portions=45.0, top_kill_c=-20.0, root_kill_c=-10.0,
                     pot_core_limit_c=-5.0)  # fmt: skip
LOOKS = {
    Stage.SWELL: Sign.SWELL,
    Stage.BURST: Sign.BURST,
    Stage.FIRST_LEAF: Sign.FIRST_LEAF,
}


def alarms_on(
    weather: Weather, today: date, looks: list[tuple[date, Sign]] | None = None, **facts: object
) -> tuple[Alarm, ...]:
    clock = site_clock(weather, latitude_deg=46.0, today=today)
    calendar = tree_calendar(clock, MAPLE, looks or [], today=today)
    return alarms(clock, calendar, MAPLE, today=today, **facts)  # type: ignore[arg-type]


def night(day: date, low: float) -> Weather:
    return with_days(CALM, day, t_min_c=[low])


@pytest.mark.parametrize(
    ("today", "stage", "limit"),
    [
        (date(2019, 1, 10), Stage.DEEP_REST, -10.0),
        (date(2019, 2, 20), Stage.SWELL, -5.0),
        (date(2019, 3, 20), Stage.BURST, -3.0),
        (date(2019, 4, 5), Stage.FIRST_LEAF, -1.0),
    ],
)
def test_frost_limits_by_stage_on_both_sides(today: date, stage: Stage, limit: float) -> None:
    looks = [(days_after(today, -1), LOOKS[stage])] if stage in LOOKS else []
    frost = [
        [one for one in alarms_on(night(days_after(today, 2), limit + step), today, looks)
         if one.kind is AlarmKind.FROST]
        for step in (0.0, 0.1)
    ]  # fmt: skip
    assert len(frost[0]) == 1
    assert (frost[0][0].first, frost[0][0].limit) == (days_after(today, 2), limit)
    assert frost[0][0].value == limit
    assert frost[1] == []


def test_a_tender_species_is_warned_before_it_dies() -> None:
    today = date(2019, 1, 10)
    tender = made_species(leafout_factor=2.0, top_kill_c=-8.0, chill_portions=25.0)
    clock = site_clock(night(date(2019, 1, 12), -6.0), latitude_deg=46.0, today=today)
    found = alarms(clock, tree_calendar(clock, tender, [], today=today), tender, today=today)
    assert [one.limit for one in found if one.kind is AlarmKind.FROST] == [-5.0]


def test_replay_of_ten_days_with_a_frost_and_a_heat_wave() -> None:
    # Leaf open on 5 April; -4 °C on the night of the 14th. Heat of 36 °C on 14 July.
    for harm, kind, weather, looks in (
        (date(2019, 4, 14), AlarmKind.FROST, night(date(2019, 4, 14), -4.0),
         [(date(2019, 4, 3), Sign.FIRST_LEAF)]),
        (date(2019, 7, 14), AlarmKind.HEAT,
         with_days(CALM, date(2019, 7, 14), t_max_c=[36.0]), []),
    ):  # fmt: skip
        raised = {
            today: [one for one in alarms_on(weather, today, looks) if one.kind is kind]
            for today in (days_after(harm, -9 + row) for row in range(11))
        }
        first = min(day for day, found in raised.items() if found)
        assert harm - first >= timedelta(hours=24)
        assert all(one.first == one.last == harm for found in raised.values() for one in found)
        assert not raised[days_after(harm, 1)]
        assert all(raised[days_after(harm, -row)] for row in range(3))


def test_safe_trees_hear_nothing_all_year() -> None:
    for row in range(0, 360, 9):
        assert alarms_on(CALM, days_after(date(2019, 1, 1), row), pot_volume_l=4.0) == ()


def test_normals_never_raise_an_alarm() -> None:
    today = date(2019, 4, 5)
    frozen = with_days(CALM, date(2019, 3, 1), t_min_c=[-12.0] * 200)
    looks = [(date(2019, 4, 3), Sign.FIRST_LEAF)]
    assert alarms_on(frozen, today, looks)
    lost = with_gap(frozen, today, 300)
    assert alarms_on(lost, today, looks) == ()


def test_core_lags_the_air_as_a_mean_with_six_hours_at_four_litres() -> None:
    # A step from 10 to 0 °C: after one lag 1/e of the step is left, taken at whole hours.
    air = np.concatenate([np.full(400, 10.0), np.zeros(100)])
    core = core_temperature_c(air, 4.0)
    assert core[399] == pytest.approx(10.0, abs=0.01)
    assert core[399 + 6] == pytest.approx(10.0 / np.e, abs=0.02)
    # Eight times the volume: 8^0.67 = 4.03 times the lag, about 24 h.
    assert core_temperature_c(air, 32.0)[399 + 24] == pytest.approx(10.0 / np.e, abs=0.1)
    assert np.isnan(core_temperature_c(np.append(np.full(50, np.nan), 1.0), 4.0)[-1])


@pytest.mark.parametrize(
    ("facts", "limit"),
    [({}, -5.0), ({"unweaned_graft": True}, -2.0), ({"fresh_roots": True}, 0.0),
     ({"fresh_roots": True, "unweaned_graft": True}, 0.0)],
)  # fmt: skip
def test_pot_core_limits(facts: dict[str, bool], limit: float) -> None:
    today = date(2019, 1, 10)
    cold = with_days(CALM, today, t_min_c=[-9.0] * 6, t_max_c=[-3.0] * 6)
    core = [one for one in alarms_on(cold, today, pot_volume_l=4.0, **facts)
            if one.kind is AlarmKind.POT_CORE]  # fmt: skip
    assert len(core) == 1
    assert core[0].limit == limit
    assert -9.0 < core[0].value <= limit


def test_a_small_pot_freezes_before_a_large_one() -> None:
    today = date(2019, 1, 10)
    cold = with_days(CALM, today, t_min_c=[1.0, 0.0, -9.0], t_max_c=[7.0, 6.0, 2.0])
    small, large = (
        [one for one in alarms_on(cold, today, pot_volume_l=size) if one.kind is AlarmKind.POT_CORE]
        for size in (0.5, 20.0)
    )
    assert small
    assert not large


def test_a_pot_of_unknown_size_says_so() -> None:
    today = date(2019, 1, 10)
    cold = with_days(CALM, today, t_min_c=[-12.0] * 6, t_max_c=[-6.0] * 6)
    core = next(one for one in alarms_on(cold, today) if one.kind is AlarmKind.POT_CORE)
    assert "not known" in core.reason


@pytest.mark.parametrize(
    ("high", "facts", "limits"),
    [
        (27.0, {"bare_after_leaf_work": True}, []),
        (29.0, {"bare_after_leaf_work": True}, [28.0]),
        (29.0, {}, []),
        (33.0, {}, [33.0]),
        (35.0, {}, [35.0]),
        (40.0, {"shelf_store": True}, []),
    ],
)
def test_heat_limits(high: float, facts: dict[str, bool], limits: list[float]) -> None:
    today = date(2019, 7, 10)
    hot = with_days(CALM, days_after(today, 1), t_max_c=[high])
    assert [one.limit for one in alarms_on(hot, today, **facts)] == limits


def test_heat_at_rest_harms_nothing() -> None:
    today = date(2019, 1, 10)
    assert alarms_on(with_days(CALM, today, t_max_c=[34.0]), today) == ()


def test_the_second_wet_spell_on_soft_leaf_is_an_alarm() -> None:
    today = date(2019, 4, 20)
    looks = [(date(2019, 4, 5), Sign.FIRST_LEAF)]
    once = with_days(CALM, date(2019, 4, 21), rain_mm=[22.0])
    twice = with_days(once, date(2019, 4, 14), rain_mm=[22.0])
    assert alarms_on(once, today, looks) == ()
    (wet,) = alarms_on(twice, today, looks)
    assert wet.kind is AlarmKind.WET_LEAF
    assert wet.first == date(2019, 4, 21)
    assert wet.value >= wet.limit >= 12.0
    assert alarms_on(twice, today, looks, shelf_store=True) == ()
    hard = [(date(2019, 3, 1), Sign.FIRST_LEAF), (date(2019, 4, 12), Sign.HARD)]
    assert alarms_on(twice, today, hard) == ()
    long_ago = with_days(once, date(2019, 4, 5), rain_mm=[22.0])
    assert alarms_on(long_ago, today, looks) == ()


def test_wind_is_told_where_known() -> None:
    today = date(2019, 6, 1)
    (windy,) = alarms_on(with_days(CALM, days_after(today, 1), wind_ms=[12.0]), today)
    assert (windy.kind, windy.value) == (AlarmKind.WIND, 12.0)
    assert alarms_on(with_days(CALM, days_after(today, 1), wind_ms=[9.0]), today) == ()


def test_every_alarm_names_what_to_do_and_its_caution() -> None:
    today = date(2019, 4, 10)
    storm = with_days(CALM, today, t_min_c=[-12.0] * 5, t_max_c=[-6.0] * 5, wind_ms=[15.0] * 5)
    heat = with_days(CALM, date(2019, 7, 10), t_max_c=[37.0] * 5)
    found = (*alarms_on(storm, today, [(today, Sign.FIRST_LEAF)]),
             *alarms_on(heat, date(2019, 7, 10)))  # fmt: skip
    assert {one.kind for one in found} == {AlarmKind.FROST, AlarmKind.POT_CORE, AlarmKind.WIND,
                                           AlarmKind.HEAT}  # fmt: skip
    todo = {one.kind: one.todo for one in found}
    assert "Never burn fuel" in todo[AlarmKind.FROST]
    assert "Lift heavy pots in pairs" in todo[AlarmKind.POT_CORE]
    assert "38 °C" in todo[AlarmKind.HEAT]
    assert all("!" not in one.todo + one.reason for one in found)
    firsts = [one.first for one in alarms_on(storm, today, [(today, Sign.FIRST_LEAF)])]
    assert firsts == sorted(firsts)

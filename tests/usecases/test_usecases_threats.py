"""Which trees move tonight, worst first, and what the days after bring, in the demo garden."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest

from boughwright.season.stages import AlarmKind
from boughwright.usecases.day import GardenDay, open_day
from boughwright.usecases.stages import strip_of
from boughwright.usecases.threats import threats_of

if TYPE_CHECKING:
    from pathlib import Path

TODAY = date(2026, 6, 9)


@pytest.fixture(scope="module")
def garden(demo_book: Path) -> GardenDay:
    return open_day(demo_book)


def test_every_alarm_of_every_tree_is_told_once(garden: GardenDay) -> None:
    told = sorted(
        (one.name, one.alarm.kind, one.alarm.first)
        for danger in threats_of(garden).ahead
        for one in danger.trees
    )
    held = sorted(
        (line.tree, alarm.kind, alarm.first)
        for line in strip_of(garden).lines
        for alarm in line.alarms
    )
    assert told == held
    assert len(told) == 14


def test_the_tree_furthest_below_its_limit_is_moved_first(garden: GardenDay) -> None:
    # The night that ends on 10 June: -9.5 °C in the frost pocket against a limit of -5 °C is 4.5
    # below; -5.5 °C under the rain cover is 0.5 below. The other trees see no frost at all.
    moves = threats_of(garden).tonight
    assert [(move.tree, round(move.under_c, 1)) for move in moves] == [
        ("ridge-southern-beech", 4.5),
        ("river-maple", 0.5),
    ]
    assert all(
        alarm.kind in (AlarmKind.FROST, AlarmKind.POT_CORE)
        and alarm.first <= TODAY + timedelta(days=1)
        for move in moves
        for alarm in move.alarms
    )
    # The pot core that may freeze a night later is not tonight's, but it is told.
    assert AlarmKind.POT_CORE not in {alarm.kind for alarm in moves[1].alarms}


def test_alarms_of_the_same_days_stand_together_nearest_first(garden: GardenDay) -> None:
    dangers = threats_of(garden).ahead
    keys = [(d.first, d.kind, d.last) for d in dangers]
    assert keys == sorted(set(keys))
    heat = next(d for d in dangers if d.kind is AlarmKind.HEAT)
    assert (heat.first, heat.last) == (date(2026, 6, 13), date(2026, 6, 16))
    assert len(heat.trees) == 10
    values = [one.alarm.value - one.alarm.limit for one in heat.trees]
    assert values == sorted(values, reverse=True)
    assert set(heat.todo) == {one.alarm.todo for one in heat.trees}


def test_the_order_of_trees_changes_nothing(garden: GardenDay) -> None:
    turned = threats_of(replace(garden, trees=garden.trees[::-1]))
    assert turned.tonight == threats_of(garden).tonight
    assert turned.ahead == threats_of(garden).ahead


def test_what_is_known_of_the_days_ahead_and_of_the_season(garden: GardenDay) -> None:
    threats = threats_of(garden)
    known = {place.key: (place.known, place.of) for place in threats.places}
    # Both forecasts of the demo garden reach past 18 June, nine days after today.
    assert known == {"weir-lane": (9, 9), "valdivia": (9, 9)}
    filled = {place.key: place.filled for place in threats.places}
    assert filled["weir-lane"] == max(
        day.calendar.filled_days for day in garden.trees if day.shelf.place == "weir-lane"
    )
    assert threats.blind == ()


def test_a_day_without_a_forecast_is_unknown_not_safe(demo_book: Path) -> None:
    # The record of both gardens ends with the forecast for 19 June 2026.
    near = threats_of(open_day(demo_book, on=date(2026, 6, 18)))
    assert {(place.known, place.of) for place in near.places} == {(1, 9)}
    later = threats_of(open_day(demo_book, on=date(2026, 6, 30)))
    assert {place.key for place in later.blind} == {"weir-lane", "valdivia"}

"""A season drawn as a shoot: where its days stand, what is seen, what is ahead, and its months."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from xml.etree import ElementTree

from hypothesis import given
from hypothesis import strategies as st

from boughwright.report.charts_data import StageChart, StageMark
from boughwright.report.seasons import LEFT, RIGHT, place, season_head, season_line
from boughwright.season.stages import Stage

FIRST, LAST, TODAY = date(2026, 1, 1), date(2026, 12, 31), date(2026, 6, 9)
MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
SWELL = StageMark(Stage.SWELL, date(2026, 3, 1), date(2026, 3, 8), date(2026, 3, 15), seen=False)
HARD = StageMark(Stage.HARD, date(2026, 6, 2), date(2026, 6, 2), date(2026, 6, 2), seen=True)
COLOUR = StageMark(
    Stage.COLOUR, date(2026, 9, 20), date(2026, 10, 3), date(2026, 10, 16), seen=False
)
SEASON = StageChart(
    "Elm", "2026", TODAY, FIRST, LAST, Stage.HARD, (SWELL, HARD, COLOUR), (), date(2026, 6, 18)
)
DAYS = st.dates(date(2025, 1, 1), date(2027, 12, 31))


def drawn(data: StageChart) -> ElementTree.Element:
    return ElementTree.fromstring(season_line(data, "a & b", lambda mark: f"<{mark.stage.word}>"))


def of_class(root: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    return [one for one in root.iter() if name in one.get("class", "").split()]


def at(one: ElementTree.Element, name: str) -> float:
    return float(one.get(name, "").rstrip("%"))


@given(DAYS, DAYS)
def test_later_days_stand_further_right_and_none_outside(one: date, other: date) -> None:
    early, late = sorted((one, other))
    assert LEFT <= place(early, FIRST, LAST) <= place(late, FIRST, LAST) <= RIGHT


def test_the_ends_and_the_middle_of_a_season() -> None:
    assert place(FIRST, FIRST, LAST) == LEFT
    assert place(LAST, FIRST, LAST) == RIGHT
    # 182 of the 364 days from first to last lie before 2 July: the middle of the width.
    assert place(date(2026, 7, 2), FIRST, LAST) == (LEFT + RIGHT) / 2


def test_the_shoot_is_thick_today_drawn_before_it_and_broken_after_it() -> None:
    root = drawn(SEASON)
    past, current, ahead = (
        of_class(root, f"season-{name}")[0] for name in ("past", "now", "ahead")
    )
    assert at(past, "x1") == LEFT
    assert at(past, "x2") == at(current, "x1") == round(place(HARD.likely, FIRST, LAST), 2)
    assert at(current, "x2") == at(ahead, "x1") == round(place(TODAY, FIRST, LAST), 2)
    assert at(ahead, "x2") == RIGHT
    assert float(current.get("stroke-width", "")) > float(past.get("stroke-width", ""))
    assert ahead.get("stroke-dasharray")
    assert not past.get("stroke-dasharray")


def test_a_logged_stage_is_a_full_node_and_a_reckoned_one_open_with_its_days() -> None:
    root = drawn(SEASON)
    nodes = of_class(root, "season-node")
    assert ["seen" in node.get("class", "").split() for node in nodes] == [False, True, False]
    assert [node.get("fill") for node in nodes] == [None, "currentColor", None]
    ranges = of_class(root, "season-range")
    assert len(ranges) == 2  # the logged day has no range
    assert at(ranges[0], "x") == round(place(date(2026, 3, 1), FIRST, LAST), 2)
    wide = place(date(2026, 3, 15), FIRST, LAST) - place(date(2026, 3, 1), FIRST, LAST)
    assert at(ranges[0], "width") == round(wide, 2)


def test_words_in_it_stay_text() -> None:
    root = drawn(SEASON)
    titles = [one.text for one in root.iter("title")]
    assert titles == ["a & b", "<swell>", "<hard>", "<colour>"]


def test_a_season_in_which_nothing_has_begun_is_all_ahead_but_the_days_gone() -> None:
    root = drawn(replace(SEASON, today=FIRST, stages=(SWELL,)))
    assert of_class(root, "season-past") == []
    assert of_class(root, "season-now") == []
    assert at(of_class(root, "season-ahead")[0], "x1") == LEFT


def test_the_months_of_both_halves_of_the_globe() -> None:
    north = ElementTree.fromstring(season_head(FIRST, LAST, TODAY, MONTHS, "today"))
    assert [one.text for one in north.iter("text")] == MONTHS
    first = date(2025, 7, 1)
    last = first + timedelta(days=364)
    south = ElementTree.fromstring(season_head(first, last, TODAY, MONTHS, "today"))
    assert [one.text for one in south.iter("text")] == MONTHS[6:] + MONTHS[:6]
    now = of_class(south, "bar-now")[0]
    assert at(now, "x1") == round(place(TODAY, first, last), 2)

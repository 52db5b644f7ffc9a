"""Windows of wire through whole real seasons, north and south of the equator.

The trees are ours; nobody here wrote the weather. Sources: NOAA daily weather of Seattle 2012-15
(open package `vega-datasets`); the Haarweg station at Wageningen, its complete years 1976-77,
1979-85 and 1992-99 (open package `pcse`); a New Zealand station 2000-15 at 43.6 degrees south
(open package `eto`). None of these places logged our trees, so what a window should be is common
practice, named at each test with both its ends; growers were not asked.

Everything goes through the use cases: a weather file, a book, bench phrases, and the answers of
all wire, the day and the call-up. The figures are told in `docs/real-weather.md`.
"""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from statistics import median

import numpy as np
import pytest
from real_weather_garden import (
    BEECH,
    ELM,
    EVERY,
    FAST,
    HAWTHORN,
    HORNBEAM,
    LOOKED,
    MAPLE,
    NORTH,
    OAK,
    SOUTH,
    called,
    season,
    stations,
    windows,
)
from scipy.stats import spearmanr

from boughwright.journal.terms import Work
from boughwright.season.stages import Stage
from boughwright.verdicts.verdict import Act, Harm

WINTER_UNKNOWN = {("Seattle", 2012), ("Wageningen 1976", 1976), ("Wageningen 1979", 1979),
                  ("Wageningen 1992", 1992)}  # fmt: skip
"""Seasons whose winter before lies outside the record."""

BELIEVABLE = {
    # Northern month and day; half a year later in the south. From the earliest of a mild year to
    # the latest of a cold one, in a temperate garden: common practice.
    HAWTHORN: ((2, 15), (4, 20)),
    HORNBEAM: ((3, 10), (4, 30)),
    FAST: ((3, 20), (5, 5)),
    MAPLE: ((3, 20), (5, 5)),
    ELM: ((4, 1), (5, 15)),
    OAK: ((4, 10), (5, 20)),
    BEECH: ((4, 5), (5, 31)),
}

MILD_WINTER_BEECH = pytest.mark.xfail(
    strict=True,
    reason="After winters with under 20 cold days the beech model opens at 43.6 south in December; "
    "common practice there is October and November.",
)


def opened(station: str, year: int, tree: str) -> date:
    """Return the day a tree's first leaves opened, by the whole season's weather."""
    likely = season(station, year).calendars[tree].leaf_out.likely
    assert likely is not None
    return likely


def at_end(station: str, year: int, tree: str, place: str = "1L"):
    """Return the window of one wire as it stands once the season is over."""
    return windows(station, year, season(station, year).end)[tree, place]


def days(later: date | None, earlier: date | None) -> int:
    assert later is not None
    assert earlier is not None
    return (later - earlier).days


# Leaf-out


@pytest.mark.parametrize("tree", BELIEVABLE)
@pytest.mark.parametrize(("station", "year"), EVERY)
def test_leaves_open_on_a_believable_day(
    station: str, year: int, tree: str, request: pytest.FixtureRequest
) -> None:
    if tree == BEECH and (station, year) in {("New Zealand", 2010), ("New Zealand", 2011)}:
        request.applymarker(MILD_WINTER_BEECH)
    here, (first, last) = season(station, year), BELIEVABLE[tree]
    assert here.day(*first) <= opened(station, year, tree) <= here.day(*last)


@pytest.mark.parametrize(("station", "year"), EVERY)
def test_species_open_in_their_order(station: str, year: int) -> None:
    # Hawthorn, then hornbeam, maples, elm; oak and beech last: mean unfolding in the European
    # networks, as remembered, and common practice for the two maples and the elm.
    order = (HAWTHORN, HORNBEAM, FAST, ELM, OAK)
    found = [opened(station, year, tree) for tree in order]
    assert found == sorted(set(found))
    assert opened(station, year, MAPLE) < opened(station, year, ELM)
    assert opened(station, year, FAST) < opened(station, year, BEECH)
    # Of one year the first and the last lie four weeks to three months apart.
    assert 17 <= days(max(found), min(found)) <= 92


@pytest.mark.parametrize(("station", "year"), EVERY)
def test_a_season_has_its_name_and_says_when_its_winter_was_not_recorded(
    station: str, year: int
) -> None:
    here = season(station, year)
    name = f"{year}/{(year + 1) % 100:02d}" if here.south else str(year)
    for calendar in here.calendars.values():
        assert calendar.season == name
        assert calendar.south is here.south
        unknown = any("winter before was not recorded" in note for note in calendar.notes)
        assert unknown is ((station, year) in WINTER_UNKNOWN)


@pytest.mark.parametrize("year", [2009, 2010, 2011])
def test_a_winter_with_hardly_a_cold_day_is_told_in_spring(year: int) -> None:
    # Days with a mean of 5 °C or less from May to October, counted on the station's own record:
    # 2010 and 2011 have under 20, where the beech dates above miss common practice; 2009 has more.
    record = stations()["New Zealand"].record
    rows = slice(record.day(date(year, 5, 1)), record.day(date(year, 10, 31)) + 1)
    cold = int(np.sum((record.t_min_c + record.t_max_c)[rows] / 2.0 <= 5.0))
    here = season("New Zealand", year)
    trees = {
        day.facts.name: day for day in called("New Zealand", year, here.day(3, 1)).garden.trees
    }
    told = trees[BEECH].calendar
    unsure = any("its dates are wide" in note for note in told.notes)
    assert unsure is (cold < 20) is (year != 2009)
    if unsure:
        # Common practice, October and November, still has days inside the range that is shown.
        assert told.leaf_out.early <= date(year, 11, 30)


# Wire put on after leaf-drop


@pytest.mark.parametrize(("station", "year"), EVERY)
def test_autumn_wire_does_not_bite_in_rest(station: str, year: int) -> None:
    # Nothing is laid under wire between leaf-drop and swell. Trees with even wood start about at
    # burst: on them one wire in ten may show a line from burst on, and none has used its sink
    # before leaves open. Ring-porous wood starts up to 22 effective days before its leaves: on
    # the elm not before the early edge of swell, and off-by not before the likely swell.
    here = season(station, year)
    for (tree, place), window in windows(station, year, here.end).items():
        if place == "3L":
            continue
        starts = here.calendars[tree].starts
        if tree in (ELM, OAK):
            assert window.line.early is None or window.line.early >= starts[Stage.SWELL].early
            assert window.off_by is None or window.off_by >= starts[Stage.SWELL].likely
        else:
            assert window.line.early is None or window.line.early >= starts[Stage.BURST].likely
            assert window.off_by is None or window.off_by >= starts[Stage.FIRST_LEAF].likely
        assert window.set.early is None or window.set.early >= starts[Stage.SWELL].early


@pytest.mark.parametrize(("station", "year"), EVERY)
def test_no_wire_comes_off_a_bare_tree(station: str, year: int) -> None:
    # 1 February, or 2 August in the south, as it was known on that very day. Half of all cases
    # have laid nothing; on elm and oak, whose early wood may come weeks before the leaves, one
    # case in ten has used up to three tenths of its sink in winters that were mild or not recorded.
    here = season(station, year)
    on = here.day(2, 1)
    answer = called(station, year, on)
    for day in answer.garden.trees:
        for window in day.windows:
            assert window.off_by is None or window.off_by > on + timedelta(days=14)
            assert window.share_used[1] == 0.0
            assert window.share_used[2] <= (0.30 if day.facts.name in (ELM, OAK) else 0.0)
            assert window.likely_grade in (0, 1)
    for tree in answer.call.now:
        assert not any(Work.WIRE_OFF in job.works for job in tree.jobs)


@pytest.mark.parametrize(("station", "year"), EVERY)
def test_autumn_wire_marks_a_vigorous_branch_in_weeks_and_a_weak_one_hardly(
    station: str, year: int
) -> None:
    # Trident maple in development, let run: half of such wires show a line three to six weeks after
    # the leaves open (the cold spring of 1982 took longest), common practice being 2 to 5 weeks of
    # flush. It must be off no sooner than a week after the leaves and no later than six, and ten
    # days to five weeks before half of such wires have bitten.
    leaf = opened(station, year, FAST)
    fast, weak = at_end(station, year, FAST), at_end(station, year, FAST, "2R")
    assert 21 <= days(fast.line.likely, leaf) <= 45
    assert 7 <= days(fast.off_by, leaf) <= 42
    assert fast.line.not_this_season == 0.0
    assert 10 <= days(fast.bitten.likely, fast.off_by) <= 35
    # The weak branch of the same tree: most such wires show no line all season; the earliest in
    # ten follow the strong branch's by a month and more.
    assert 0.5 < weak.line.not_this_season < 1.0
    assert weak.line.likely is None
    assert days(weak.line.early, fast.line.early) >= 35
    assert weak.off_by is None or days(weak.off_by, fast.off_by) >= 35


@pytest.mark.parametrize(("station", "year"), EVERY)
def test_autumn_wire_gets_its_look_by_three_weeks_after_burst(station: str, year: int) -> None:
    # Common practice: look at autumn wire three weeks after burst at the latest; on elm and oak
    # from swell on. Never in the depth of winter: not before the early edge of swell.
    here = season(station, year)
    for (tree, place), window in windows(station, year, here.end).items():
        if place == "3L":
            continue
        starts = here.calendars[tree].starts
        burst, swell = starts[Stage.BURST].likely, starts[Stage.SWELL]
        assert window.look_by is not None
        assert burst is not None
        if tree != LOOKED:  # its burst moved with the leaves that were seen
            assert window.look_by <= burst + timedelta(days=21)
        assert window.look_by >= swell.early
        assert window.off_by is None or window.look_by <= window.off_by
    elm = here.calendars[ELM].starts
    assert elm[Stage.SWELL].early <= at_end(station, year, ELM).look_by <= elm[Stage.SWELL].likely
    assert at_end(station, year, ELM).look_by <= elm[Stage.FIRST_LEAF].likely


@pytest.mark.parametrize(("station", "year"), EVERY)
def test_refined_beech_and_hornbeam_come_after_the_vigorous_maple(station: str, year: int) -> None:
    fast = at_end(station, year, FAST)
    for tree in (HORNBEAM, BEECH):
        slow = at_end(station, year, tree)
        # A whole season without a mark is the rule on the slow twigs of refined trees, though on
        # the outer ones four in ten wires of the hornbeam and two in ten of the beech do mark.
        assert slow.line.likely is None
        assert 14 <= days(slow.off_by, fast.off_by) <= 100
        assert 21 <= days(slow.line.early, fast.line.early) <= 120
        inner = at_end(station, year, tree, "2R")
        assert inner.line.not_this_season >= 0.9
        assert inner.off_by is None
    outer = {tree: at_end(station, year, tree).line.not_this_season for tree in (HORNBEAM, BEECH)}
    assert 0.5 <= outer[HORNBEAM] < outer[BEECH] <= 0.9


# Wire put on in the flush


@pytest.mark.parametrize(("station", "year"), EVERY)
def test_flush_wire_on_a_fast_maple_is_off_in_three_to_four_weeks(station: str, year: int) -> None:
    # Put on tight, two weeks after the leaves opened, on a strong running shoot. Common practice:
    # off in 3 to 4 weeks at most. So the day it must be off, at which one wire in ten has used its
    # sink, comes one to four weeks after; half of them have used it by six weeks even in the
    # coldest spring.
    here = season(station, year)
    known_then = windows(station, year, here.flush_wired)[LOOKED, "3L"]
    known_later = at_end(station, year, LOOKED, "3L")
    for window in (known_then, known_later):
        assert 7 <= days(window.off_by, here.flush_wired) <= 28
        assert 21 <= days(window.allowed.likely, here.flush_wired) <= 42
        assert window.look_by is not None
        assert here.flush_wired <= window.look_by <= window.off_by
        assert window.line.not_this_season == 0.0
    assert abs(days(known_then.off_by, known_later.off_by)) <= 7


def test_flush_wire_over_all_seasons() -> None:
    # Half of the wires have used their sink within 5 weeks in five seasons of six; the others are
    # cold springs after an early leaf-out.
    half = [
        days(at_end(*one, LOOKED, "3L").allowed.likely, season(*one).flush_wired) for one in EVERY
    ]
    assert 25 <= median(half) <= 33
    assert np.mean(np.array(half) <= 35) >= 0.8


# Warm years and cold ones, and what was known in time


def spring_warmth(station: str, year: int) -> float:
    """Return daily means over 5 °C added up from 1 February to 30 April, or August to October."""
    record, south = stations()[station].record, stations()[station].south
    first, last = ((8, 1), (10, 31)) if south else ((2, 1), (4, 30))
    rows = slice(record.day(date(year, *first)), record.day(date(year, *last)) + 1)
    means = (record.t_min_c[rows] + record.t_max_c[rows]) / 2.0
    return float(np.nansum(np.maximum(means - 5.0, 0.0)))


@pytest.mark.parametrize(
    ("where", "off_by", "look_by"),
    [(NORTH, -0.85, -0.45), (NORTH[4:], -0.80, -0.30), (SOUTH, -0.55, -0.35)],
    ids=["north, 21 years", "Wageningen, 17 years", "New Zealand, 15 seasons"],
)
def test_warm_springs_bring_wire_forward(
    where: tuple[tuple[str, int], ...], off_by: float, look_by: float
) -> None:
    # Rank correlation over the seasons of the vigorous maple's dates with the spring's warmth.
    # The look follows it less than the wire does: it hangs on the leaves, and a tree that had a
    # mild winter asks for more warmth before it opens.
    warmth = [spring_warmth(*one) for one in where]
    for pick, most in (("off_by", off_by), ("look_by", look_by)):
        on = [days(getattr(at_end(*one, FAST), pick), season(*one).day(1, 1)) for one in where]
        assert -1.0 < float(spearmanr(warmth, on).statistic) <= most
        # Not the same day every year either: two weeks and a half and more from first to last.
        assert 18 <= max(on) - min(on) <= 45


def test_seattles_warmest_spring_is_its_earliest() -> None:
    by_warmth = sorted((("Seattle", year) for year in range(2012, 2016)),
                       key=lambda one: spring_warmth(*one))  # fmt: skip
    first, last = by_warmth[-1], by_warmth[0]
    assert first == ("Seattle", 2015)
    for tree, pick in ((FAST, "off_by"), (FAST, "look_by"), (ELM, "off_by"), (HORNBEAM, "off_by")):
        early, late = getattr(at_end(*first, tree), pick), getattr(at_end(*last, tree), pick)
        assert days(late, season(*last).day(1, 1)) - days(early, season(*first).day(1, 1)) >= 10


@pytest.mark.parametrize(("station", "year"), SOUTH)
def test_southern_wire_wakes_from_september_on(station: str, year: int) -> None:
    # Seasons run from July; no line and no off-by before September, nothing after autumn.
    here = season(station, year)
    for (tree, place), window in windows(station, year, here.end).items():
        for day in (window.line.early, window.off_by, window.set.early):
            assert day is None or date(year, 9, 1) <= day <= date(year + 1, 4, 30), (tree, place)
        assert window.look_by is None or date(year, 8, 1) <= window.look_by
    assert here.opened.month in (9, 10)
    assert here.flush_wired.month in (10, 11) or here.flush_wired.month == 9


def test_leaf_out_is_foretold_from_the_middle_of_march() -> None:
    # As known on 15 March (13 September), against what the whole season's weather says: half of
    # the dates within 3 days, nine in ten within 10; all but a few within their own range, which
    # is wider than the weather asks, since it also carries what is not known about the tree.
    off, inside = [], []
    for station, year in EVERY:
        here = season(station, year)
        for day in called(station, year, here.day(3, 15)).garden.trees:
            told, real = day.calendar.leaf_out, opened(station, year, day.facts.name)
            if day.facts.name in (HAWTHORN, LOOKED):
                continue  # open by then, or the twin of another
            off.append(abs(days(told.likely, real)))
            inside.append(told.early <= real <= told.late)
    assert len(off) == 36 * 6
    assert 1 <= np.quantile(off, 0.5) <= 3
    assert 4 <= np.quantile(off, 0.9) <= 10
    assert np.mean(inside) >= 0.95


# The call-up, week by week


@pytest.mark.parametrize(
    ("station", "year"),
    [("Seattle", 2015), ("Wageningen 1979", 1979), ("Wageningen 1992", 1997),
     ("New Zealand", 2003)],
    ids=["warm", "cold", "mild", "south"],
)  # fmt: skip
def test_a_spring_of_call_ups_week_by_week(station: str, year: int) -> None:
    # Nobody touches the wire on the vigorous branch. The list asks for a look before it asks for
    # the wire; it asks for the wire before half of such wires have bitten, never in rest, and
    # does not let go of it.
    here = season(station, year)
    weeks = [here.day(3, 1) + timedelta(days=7 * n) for n in range(16)]
    looks, offs = [], []
    for on in weeks:
        answer = called(station, year, on)
        jobs = [job for tree in answer.call.now if tree.name == FAST for job in tree.jobs]
        row = answer.garden.tree(FAST).tree.branches.names.index("1L")
        mine = [job for job in jobs if row in job.rows]
        if any(job.act is Act.LOOK_FIRST and "wire" in f"{job.reason} {job.how}" for job in mine):
            looks.append(on)
        for job in mine:
            if Work.WIRE_OFF in job.works:
                offs.append(on)
                assert job.harm is Harm.IRREVERSIBLE
                assert job.latest is not None
                assert on <= job.latest <= on + timedelta(days=7)
    assert looks
    assert offs
    assert offs == weeks[weeks.index(offs[0]) :]
    assert looks[0] < offs[0]
    end = at_end(station, year, FAST)
    assert offs[0] >= here.calendars[FAST].starts[Stage.BURST].likely
    assert 7 <= days(end.bitten.likely, offs[0]) <= 42
    assert abs(days(end.off_by, offs[0])) <= 14


# The document


def figure_rows() -> list[str]:
    """Return the rows of the document's tables, from the same seasons the checks above run on."""
    places = {"Seattle": NORTH[:4], "Wageningen": NORTH[4:], "New Zealand": SOUTH}
    rows = []
    for place, where in places.items():
        for tree in (HAWTHORN, HORNBEAM, FAST, ELM, OAK, BEECH):
            on = sorted(opened(*one, tree).replace(year=2001) for one in where)
            cells = [f"{day.day} {day:%b}" for day in (on[0], on[len(on) // 2], on[-1])]
            rows.append(f"| {place} | {tree.split()[1]} | {' | '.join(cells)} |")
    picks = {
        "first line, one in ten": lambda one: (at_end(*one, FAST).line.early, FAST),
        "off by": lambda one: (at_end(*one, FAST).off_by, FAST),
        "first line, half": lambda one: (at_end(*one, FAST).line.likely, FAST),
        "bitten, half": lambda one: (at_end(*one, FAST).bitten.likely, FAST),
        "hornbeam, off by": lambda one: (at_end(*one, HORNBEAM).off_by, HORNBEAM),
        "beech, off by": lambda one: (at_end(*one, BEECH).off_by, BEECH),
        "elm, look by": lambda one: (at_end(*one, ELM).look_by, ELM),
        "elm, off by": lambda one: (at_end(*one, ELM).off_by, ELM),
    }
    for what, pick in picks.items():
        found = [days(day, opened(*one, tree)) for one in EVERY for day, tree in [pick(one)]]
        rows.append(f"| {what} | {min(found):+d} | {median(found):+.0f} | {max(found):+d} |")
    for what, kind in (("off by", "off_by"), ("sink used, half", "allowed")):
        held = []
        for one in EVERY:
            day = getattr(at_end(*one, LOOKED, "3L"), kind)
            held.append(days(getattr(day, "likely", day), season(*one).flush_wired))
        rows.append(f"| flush wire, {what} | {min(held)} | {median(held):.0f} | {max(held)} |")
    return rows


def test_the_document_tells_these_figures() -> None:
    document = Path(__file__).parents[2] / "docs" / "real-weather.md"
    told = document.read_text("utf-8").split("\n")
    assert [row for row in figure_rows() if row not in told] == []

"""The calendar of one tree. Growers' agreement cannot be tested here: dates and stages are written
cases worked out from the rules themselves."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
from clock_fixture import days_after, made_species, made_weather, with_days, with_gap
from hypothesis import given, settings
from hypothesis import strategies as st

from boughwright.errors import RangeError
from boughwright.journal.terms import Sign
from boughwright.season.calendar import tree_calendar
from boughwright.season.clock import site_clock
from boughwright.season.leafout import required_warmth
from boughwright.season.spring import LeafOutFactor
from boughwright.season.stages import Stage, TreeCalendar
from boughwright.sources import Grade

if TYPE_CHECKING:
    from boughwright.season.record import SiteClock, Weather

NORTH = made_weather(date(2015, 1, 1), 7 * 365, mean=10.5, noise=3.0, seed=3)
MAPLE = made_species(leafout_factor=0.9, chill_portions=45.0)
MAIN = [*list(Stage)[:7], *list(Stage)[9:]]
END = date(2019, 12, 31)


def clock_on(today: date, weather: Weather = NORTH, latitude: float = 46.0) -> SiteClock:
    return site_clock(weather, latitude_deg=latitude, today=today)


WHOLE = clock_on(END)


def likely(calendar: TreeCalendar, stage: Stage) -> date:
    day = calendar.starts[stage].likely
    assert day is not None
    return day


def warmth(day: date, clock: SiteClock = WHOLE) -> float:
    return float(clock.warmth_cd[clock.day(day)])


def first_day_with(needed: float) -> date:
    return WHOLE.first + timedelta(days=int(np.argmax(WHOLE.warmth_cd >= needed)))


def width(calendar: TreeCalendar, stage: Stage) -> int:
    span = calendar.starts[stage]
    assert span.late is not None
    assert span.early is not None
    return (span.late - span.early).days


def test_spring_stages_by_hand() -> None:
    # Leaf-out: first day on which the warmth reaches what the cold days so far ask for, times 0.9.
    asked = required_warmth(WHOLE.chill_days_run, factor=0.9)
    opens = int(np.argmax(WHOLE.warmth_cd >= asked))
    needed = float(asked[opens])
    calendar = tree_calendar(WHOLE, MAPLE, [], today=END)
    assert likely(calendar, Stage.FIRST_LEAF) == first_day_with(needed)
    assert likely(calendar, Stage.SWELL) == first_day_with(0.3 * needed)
    assert likely(calendar, Stage.BURST) == first_day_with(0.6 * needed)
    assert likely(calendar, Stage.RUNNING) == first_day_with(needed + 60)
    assert likely(calendar, Stage.CLOSING) == first_day_with(needed + 250)
    assert likely(calendar, Stage.HARD) == first_day_with(needed + 400)


def test_late_thickening_starts_on_the_first_short_day_after_midsummer() -> None:
    calendar = tree_calendar(WHOLE, MAPLE, [], today=END)
    row = WHOLE.day(likely(calendar, Stage.LATE_THICKENING))
    assert WHOLE.daylength_h[row] < 13.5 <= WHOLE.daylength_h[row - 1]
    assert row > 172
    longer = tree_calendar(WHOLE, MAPLE, [], today=END, late_thickening_daylength_h=14.5)
    assert likely(longer, Stage.LATE_THICKENING) < likely(calendar, Stage.LATE_THICKENING)


def test_every_stage_of_a_normal_year_comes_and_in_order() -> None:
    met: list[Stage] = []
    for row in range(365):
        stage = tree_calendar(WHOLE, MAPLE, [], today=days_after(WHOLE.first, row)).stage
        if not met or met[-1] != stage:
            met.append(stage)
    assert set(MAIN) <= set(met)
    spring_to_rest = [stage for stage in met if stage in MAIN]
    ends = spring_to_rest[1:] if spring_to_rest[0] is Stage.EARLY_REST else spring_to_rest
    assert ends[-1] is Stage.DEEP_REST  # the next rest's chill is met before the year is out
    assert ends[:-1] == sorted(ends[:-1])


@settings(max_examples=40, deadline=None)
@given(
    latitude=st.floats(25.0, 60.0),
    south=st.booleans(),
    mean=st.floats(4.0, 19.0),
    factor=st.floats(0.45, 2.0),
    row=st.integers(0, 364),
)
def test_starts_are_strictly_in_order_at_every_quantile(
    latitude: float, south: bool, mean: float, factor: float, row: int
) -> None:
    weather = made_weather(date(2017, 1, 1), 900, mean=mean, noise=2.0, south=south)
    season = date(2018, 7, 1) if south else date(2018, 1, 1)
    today = days_after(season, row)
    clock = clock_on(today, weather, -latitude if south else latitude)
    calendar = tree_calendar(clock, made_species(leafout_factor=factor), [], today=today)
    for name in ("early", "likely", "late"):
        days = [getattr(calendar.starts[stage], name) for stage in MAIN]
        held = [day for day in days if day is not None]
        assert held == sorted(set(held))
    for span in calendar.starts.values():
        known = [day for day in (span.early, span.likely, span.late) if day is not None]
        assert known == sorted(known)
        assert 0.0 <= span.not_this_season <= 1.0


def test_first_leaf_seen_is_leaf_out_and_moves_the_rest() -> None:
    plain = tree_calendar(WHOLE, MAPLE, [], today=END)
    seen = days_after(likely(plain, Stage.FIRST_LEAF), 9)
    calendar = tree_calendar(WHOLE, MAPLE, [(seen, Sign.FIRST_LEAF)], today=END)
    assert calendar.leaf_out.early == calendar.leaf_out.likely == calendar.leaf_out.late == seen
    assert calendar.leaf_out.seen
    assert calendar.leaf_out.grade is Grade.MEASURED
    assert likely(calendar, Stage.RUNNING) == first_day_with(warmth(seen) + 60)
    assert likely(calendar, Stage.HARD) == first_day_with(warmth(seen) + 400)
    assert likely(calendar, Stage.LATE_THICKENING) == likely(plain, Stage.LATE_THICKENING)


def test_burst_alone_gives_leaf_out_fifty_warmth_later() -> None:
    burst = date(2019, 4, 2)
    calendar = tree_calendar(WHOLE, MAPLE, [(burst, Sign.BURST)], today=END)
    assert calendar.starts[Stage.BURST].seen
    assert likely(calendar, Stage.FIRST_LEAF) == first_day_with(warmth(burst) + 50)
    # Nine in ten: 50 + 1.28 · 20 = 75.6.
    assert calendar.leaf_out.late == first_day_with(warmth(burst) + 75.63)


def test_swell_alone_pulls_leaf_out_its_way_but_not_all_the_way() -> None:
    plain = tree_calendar(WHOLE, MAPLE, [], today=END)
    opened = likely(plain, Stage.FIRST_LEAF)
    early = days_after(likely(plain, Stage.SWELL), -12)
    late = days_after(likely(plain, Stage.SWELL), 12)
    sooner, later = (
        likely(tree_calendar(WHOLE, MAPLE, [(day, Sign.SWELL)], today=END), Stage.FIRST_LEAF)
        for day in (early, late)
    )
    assert sooner < opened < later
    assert first_day_with(warmth(early) / 0.3) < sooner


@pytest.mark.parametrize("sign", [Sign.RUNNING, Sign.CLOSING, Sign.HARD])
def test_a_later_stage_seen_moves_earlier_and_later_ones(sign: Sign) -> None:
    plain = tree_calendar(WHOLE, MAPLE, [], today=END)
    stage = Stage[sign.name]
    seen = days_after(likely(plain, stage), 8)
    calendar = tree_calendar(WHOLE, MAPLE, [(seen, sign)], today=END)
    assert likely(calendar, stage) == seen
    assert likely(calendar, Stage.FIRST_LEAF) > likely(plain, Stage.FIRST_LEAF)
    for later in (Stage.CLOSING, Stage.HARD):
        if later > stage:
            assert likely(calendar, later) > likely(plain, later)


@pytest.mark.parametrize("later", [Stage.RUNNING, Stage.CLOSING, Stage.HARD])
def test_one_date_seen_halves_the_doubt_of_later_ones(later: Stage) -> None:
    plain = tree_calendar(WHOLE, MAPLE, [], today=END)
    seen = likely(plain, Stage.FIRST_LEAF)
    calendar = tree_calendar(WHOLE, MAPLE, [(seen, Sign.FIRST_LEAF)], today=END)
    assert width(calendar, later) <= 0.5 * width(plain, later)


def test_colour_and_leaf_drop_are_wide_until_the_grower_confirms() -> None:
    plain = tree_calendar(WHOLE, MAPLE, [], today=END)
    assert width(plain, Stage.COLOUR) >= 26
    assert width(plain, Stage.LEAF_DROP) >= 26
    turned = days_after(likely(plain, Stage.COLOUR), -6)
    calendar = tree_calendar(WHOLE, MAPLE, [(turned, Sign.COLOUR)], today=END)
    assert width(calendar, Stage.LEAF_DROP) <= 0.5 * width(plain, Stage.LEAF_DROP)
    assert likely(plain, Stage.LEAF_DROP) - likely(calendar, Stage.LEAF_DROP) == timedelta(days=6)
    dropped = likely(plain, Stage.LEAF_DROP)
    calendar = tree_calendar(WHOLE, MAPLE, [(dropped, Sign.LEAF_DROP)], today=END)
    assert likely(calendar, Stage.EARLY_REST) == dropped + timedelta(days=30)


def test_the_last_look_holds_back_a_model_that_runs_ahead() -> None:
    plain = tree_calendar(WHOLE, MAPLE, [], today=END)
    today = likely(plain, Stage.RUNNING)
    looks = [(days_after(today, -40), Sign.SWELL), (today, Sign.SWELL)]
    calendar = tree_calendar(clock_on(today), MAPLE, looks, today=today)
    assert calendar.stage is Stage.SWELL
    assert calendar.since.likely == days_after(today, -40)
    assert likely(calendar, Stage.BURST) > today
    assert calendar.grade is Grade.MEASURED


def test_looks_of_other_seasons_and_of_days_to_come_are_left_out() -> None:
    today = date(2019, 3, 1)
    clock = clock_on(today)
    plain = tree_calendar(clock, MAPLE, [], today=today)
    looks = [(date(2018, 4, 9), Sign.FIRST_LEAF), (date(2019, 3, 2), Sign.BURST),
             (date(2019, 1, 5), Sign.LEAF_DROP)]  # fmt: skip
    looked = tree_calendar(clock, MAPLE, looks, today=today)
    assert looked.starts == plain.starts
    assert (looked.stage, looked.grade, looked.notes) == (plain.stage, plain.grade, plain.notes)


def test_looks_that_contradict_each_other_stand_and_are_told() -> None:
    looks = [(date(2019, 4, 1), Sign.FIRST_LEAF), (date(2019, 4, 20), Sign.BURST)]
    calendar = tree_calendar(WHOLE, MAPLE, looks, today=END)
    assert likely(calendar, Stage.FIRST_LEAF) == date(2019, 4, 1)
    assert any("do not follow" in note for note in calendar.notes)


def test_regrowth_seen_or_a_cut_starts_a_second_push() -> None:
    plain = tree_calendar(WHOLE, MAPLE, [], today=END)
    assert Stage.SECOND_PUSH not in plain.starts
    cut = days_after(likely(plain, Stage.HARD), 5)
    after = tree_calendar(WHOLE, MAPLE, [], today=END, cut_on=cut)
    assert likely(after, Stage.SECOND_PUSH) == first_day_with(warmth(cut) + 200)
    assert after.starts[Stage.SECOND_PUSH].early == first_day_with(warmth(cut) + 200 - 1.2816 * 39)
    pushed = likely(after, Stage.SECOND_PUSH)
    assert tree_calendar(WHOLE, MAPLE, [], today=pushed, cut_on=cut).stage is Stage.SECOND_PUSH
    seen = days_after(cut, 10)
    logged = tree_calendar(WHOLE, MAPLE, [(seen, Sign.REGROWTH)], today=seen, cut_on=cut)
    assert logged.stage is Stage.SECOND_PUSH
    assert logged.since.seen


def test_a_cut_at_rest_or_when_days_are_short_pushes_nothing() -> None:
    plain = tree_calendar(WHOLE, MAPLE, [], today=END)
    for cut in (date(2019, 2, 1), days_after(likely(plain, Stage.LATE_THICKENING), 10)):
        assert (
            Stage.SECOND_PUSH not in tree_calendar(WHOLE, MAPLE, [], today=END, cut_on=cut).starts
        )


def test_a_hot_week_holds_growth_and_ends_with_it() -> None:
    hot = with_days(NORTH, date(2019, 7, 10), t_max_c=[31.0] * 9)
    for today, stage in (
        (date(2019, 7, 15), Stage.HARD),  # six hot days do not yet make a mean of 30
        (date(2019, 7, 18), Stage.SUMMER_HOLD),
        (date(2019, 7, 25), Stage.HARD),
    ):
        calendar = tree_calendar(clock_on(today, hot), MAPLE, [], today=today)
        assert calendar.stage is stage, today
    held = tree_calendar(clock_on(date(2019, 7, 18), hot), MAPLE, [], today=date(2019, 7, 18))
    assert held.since.likely is not None
    assert date(2019, 7, 16) <= held.since.likely <= date(2019, 7, 18)


def test_where_no_day_is_long_the_share_rule_is_used_and_told() -> None:
    warm = made_weather(date(2017, 1, 1), 1000, mean=19.0, swing=6.0)
    clock = clock_on(END, warm, 20.0)
    assert clock.daylength_h.max() < 13.5
    calendar = tree_calendar(clock, MAPLE, [], today=END)
    assert any("share of the way" in note for note in calendar.notes)
    row = clock.day(likely(calendar, Stage.LATE_THICKENING))
    # 13.5 h at 45 degrees: (13.5 - 8.763) / (15.618 - 8.763) = 0.69 of the swing.
    share = (clock.daylength_h[row] - clock.daylength_h.min()) / np.ptp(clock.daylength_h)
    assert share == pytest.approx(0.69, abs=0.02)


def test_an_unknown_species_is_wide_and_told() -> None:
    known = tree_calendar(WHOLE, MAPLE, [], today=END)
    unknown = tree_calendar(WHOLE, None, [], today=END)
    assert width(unknown, Stage.FIRST_LEAF) > width(known, Stage.FIRST_LEAF)
    assert unknown.grade is Grade.GUESS
    assert any("species is not known" in note for note in unknown.notes)


def test_a_winter_not_recorded_widens_leaf_out_and_leaves_chill_unknown() -> None:
    today = date(2019, 2, 15)
    lost = with_gap(NORTH, date(2018, 10, 1), 100)
    calendar = tree_calendar(clock_on(today, lost), MAPLE, [], today=today)
    whole = tree_calendar(clock_on(today), MAPLE, [], today=today)
    assert np.isnan(calendar.chill_portions)
    assert width(calendar, Stage.FIRST_LEAF) > width(whole, Stage.FIRST_LEAF)
    assert calendar.filled_days == 100 - 92
    assert any("winter before" in note for note in calendar.notes)


def test_beech_goes_by_chill_then_warmth() -> None:
    beech = made_species(leafout_factor=1.5, leafout_model="sequential", chill_portions=60.0)
    plain = made_species(leafout_factor=1.5, chill_portions=60.0)
    mild = replace(NORTH, t_min_c=NORTH.t_min_c + 2.5, t_max_c=NORTH.t_max_c + 2.5)
    shift = {}
    for name, species in (("beech", beech), ("plain", plain)):
        normal = tree_calendar(WHOLE, species, [], today=END)
        early = tree_calendar(clock_on(END, mild), species, [], today=END)
        shift[name] = (likely(normal, Stage.FIRST_LEAF) - likely(early, Stage.FIRST_LEAF)).days
    assert shift["beech"] != shift["plain"]


def test_a_learned_factor_beats_the_table_and_narrows() -> None:
    plain = tree_calendar(WHOLE, MAPLE, [], today=END)
    learned = LeafOutFactor(1.3, 0.08, 5, Grade.MEASURED)
    calendar = tree_calendar(WHOLE, MAPLE, [], today=END, factor=learned)
    assert likely(calendar, Stage.FIRST_LEAF) > likely(plain, Stage.FIRST_LEAF)
    assert width(calendar, Stage.FIRST_LEAF) < width(plain, Stage.FIRST_LEAF)


def test_warmth_figures_of_today() -> None:
    today = date(2019, 6, 20)
    clock = clock_on(today)
    calendar = tree_calendar(clock, MAPLE, [], today=today)
    opened, turned = likely(calendar, Stage.FIRST_LEAF), likely(calendar, Stage.COLOUR)
    assert calendar.warmth_cd == warmth(today, clock)
    assert calendar.warmth_since_leaf_out_cd == pytest.approx(
        warmth(today, clock) - warmth(opened, clock)
    )
    assert calendar.warmth_to_colour_cd == pytest.approx(
        warmth(turned, clock) - warmth(today, clock)
    )
    winter = tree_calendar(WHOLE, MAPLE, [], today=date(2019, 1, 10))
    assert np.isnan(winter.warmth_since_leaf_out_cd)


def test_a_day_outside_the_season_is_refused() -> None:
    with pytest.raises(RangeError, match="outside the season"):
        tree_calendar(WHOLE, MAPLE, [], today=date(2020, 1, 1))


@pytest.mark.parametrize("seed", [1, 2, 3, 4, 5])
@pytest.mark.parametrize("latitude", [41.0, 46.0, 52.0])
@pytest.mark.parametrize(("year", "shift"), [(2018, 181), (2020, 182)])
def test_a_mirrored_garden_has_the_same_year_six_months_on(
    year: int, shift: int, latitude: float, seed: int
) -> None:
    # 1 July comes 182 days after 1 January in a leap year and 181 days in others.
    north = made_weather(date(year - 2, 1, 1), 4 * 365, mean=10.0, noise=3.0, seed=seed)
    south = replace(north, start=days_after(north.start, shift))
    days = (date(year, 12, 31), date(year + 1, 6, 30))
    calendars = [
        tree_calendar(clock_on(day, weather, sign * latitude), MAPLE, [], today=day)
        for day, weather, sign in zip(days, (north, south), (1, -1), strict=True)
    ]
    assert [calendar.season for calendar in calendars] == [str(year), f"{year}/{year - 1999}"]
    for stage in MAIN:
        mine, theirs = (calendar.starts[stage].likely for calendar in calendars)
        assert mine is not None, stage
        assert theirs is not None, stage
        apart = abs((theirs - mine).days - shift)
        assert apart <= (1 if stage is Stage.FIRST_LEAF else 3), stage

"""Both sides of lines that keep an act from coming too soon, too late or too hard.

Written cases of common practice in the trade; no grower has judged them.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest
from written_facts import (
    TODAY,
    approach_graft,
    at_reached,
    at_stage,
    branch,
    calendar,
    done,
    tree,
    twig,
    window,
    wired,
)

from boughwright.journal.events import BranchSet, Event, Measured, Saw, TreeSet, Worked
from boughwright.journal.terms import Amount, Job, Phase, Quantity, Sign, Vigour, Work, Zone
from boughwright.season.outlook import TenDays
from boughwright.season.stages import Stage
from boughwright.tree.replay import replay
from boughwright.verdicts.answer import Say
from boughwright.verdicts.assemble import facts_of
from boughwright.verdicts.cards_leaf import leaf_dose
from boughwright.verdicts.conditions import may
from boughwright.verdicts.precedence import decide
from boughwright.verdicts.tree_verdicts import tree_level
from boughwright.verdicts.verdict import Act

if TYPE_CHECKING:
    from boughwright.verdicts.facts import BranchFacts, TreeFacts

MAPLE = tree()
ELM = tree("ulmus-parvifolia", phase=Phase.RAMIFICATION, weeks_since_repot=120.0,
           repot_last_season=False)  # fmt: skip
STEADY = replace(ELM, vigour=Vigour.STEADY)


# --- cuts on trees that bleed --------------------------------------------------------------------


@pytest.mark.parametrize("work", [Work.CUT, Work.TWO])
def test_maple_is_not_cut_in_early_rest_past_three_weeks(work: Work) -> None:
    in_time = at_stage(MAPLE, Stage.EARLY_REST, date(2026, 11, 20))  # 21 days after 30 October
    late = at_stage(MAPLE, Stage.EARLY_REST, date(2026, 11, 21))
    assert may(in_time, branch(), work).say is Say.YES
    assert may(late, branch(), work).say is Say.NOT_NOW
    elm = at_stage(ELM, Stage.EARLY_REST, date(2026, 11, 21))
    assert may(elm, branch(), work).say is Say.YES


def test_in_january_the_leaf_drop_on_hand_is_the_next_one() -> None:
    new_year = at_stage(MAPLE, Stage.EARLY_REST, date(2026, 1, 5))
    assert may(new_year, branch(), Work.CUT).say is Say.NOT_NOW
    assert may(new_year, branch(signs={"canker": TODAY}), Work.CUT).say is Say.YES


# --- raised branches -----------------------------------------------------------------------------


def test_raised_branch_comes_down_when_thick_enough_or_after_two_good_flushes() -> None:
    assert may(MAPLE, at_reached(0.95), Work.LOWER).say is Say.YES
    thin = at_reached(0.94)
    assert may(MAPLE, thin, Work.LOWER).say is Say.NOT_NOW
    assert may(MAPLE, branch(base_mm=None), Work.LOWER).say is Say.NOT_NOW
    year = replace(MAPLE, works=(done(Work.RAISE, 52, row=1),))
    assert may(year, thin, Work.LOWER).say is Say.YES
    assert may(year, replace(thin, vigour=Vigour.WEAK), Work.LOWER).say is Say.NOT_NOW
    lately = replace(MAPLE, works=(done(Work.RAISE, 51, row=1),))
    assert may(lately, thin, Work.LOWER).say is Say.NOT_NOW


@pytest.mark.parametrize("work", [Work.WIRE_ON, Work.RAISE, Work.LOWER])
def test_what_feeds_a_graft_is_not_moved(work: Work) -> None:
    grafted = replace(MAPLE, unweaned_grafts=1)
    donor = branch(feeds=("2.5Lg",))
    assert may(grafted, donor, work).say is Say.NOT_NOW
    assert may(grafted, branch(), work).say is Say.YES
    assert may(MAPLE, donor, work).say is Say.YES  # weaned by now
    helper = branch(feeds=("scar front",), job=Job.SCAR_HELPER)
    assert may(grafted, helper, work).say is Say.YES
    assert may(grafted, approach_graft(), work).say is Say.NOT_NOW


# --- wire on bark that was lined -----------------------------------------------------------------


def test_run_that_was_lined_rests_two_weeks() -> None:
    lined = branch(released_grade=2)
    for weeks, say in ((1.9, Say.NOT_NOW), (2.0, Say.YES)):
        on = TODAY - timedelta(days=round(weeks * 7))
        facts = replace(MAPLE, works=(done(Work.WIRE_OFF, weeks, row=1, on=on),))
        assert may(facts, lined, Work.WIRE_ON).say is say
        assert may(facts, branch(released_grade=1), Work.WIRE_ON).say is Say.YES
    late = replace(MAPLE, works=(done(Work.WIRE_OFF, 1, row=1),))
    assert may(late, lined, Work.WIRE_ON).from_date == TODAY + timedelta(days=7)


def test_strong_bend_as_sap_rises_on_a_kind_not_known() -> None:
    swell = at_stage(tree(species="ulmus-parvifolia"), Stage.SWELL)
    assert may(swell, branch(), Work.WIRE_ON, hard=True).say is Say.YES
    unknown = replace(swell, species=None)
    assert may(unknown, branch(), Work.WIRE_ON, hard=True).say is Say.NOT_NOW


def test_rest_after_all_leaves_were_taken_is_counted_to_the_day_asked_about() -> None:
    bare = replace(ELM, works=(done(Work.LEAF_FULL, 3),))
    ends = TODAY + timedelta(weeks=5)
    first = may(bare, branch(), Work.WIRE_ON)
    assert (first.say, first.from_date) == (Say.NOT_NOW, ends)
    assert may(bare, branch(), Work.WIRE_ON, on=ends - timedelta(days=1)).say is Say.NOT_NOW
    assert may(bare, branch(), Work.WIRE_ON, on=ends).say is Say.YES
    fed = timedelta(weeks=1)  # four weeks after
    assert may(bare, None, Work.FEED, on=TODAY + fed - timedelta(days=1)).say is Say.NOT_NOW
    assert may(bare, None, Work.FEED, on=TODAY + fed).say is Say.YES


# --- leaf ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("work", [Work.LEAF_CLEAR, Work.LEAF_THIN, Work.LEAF_PAIR])
def test_steady_tree_loses_two_fifths_of_its_leaf_at_most(work: Work) -> None:
    assert may(STEADY, None, work, share=0.40).say is Say.YES
    assert may(STEADY, None, work, share=0.41).say is Say.NOT_NOW
    assert may(ELM, None, work, share=0.41).say is Say.YES
    assert may(STEADY, branch(phase=Phase.RAMIFICATION), work, share=0.41).say is Say.YES


@pytest.mark.parametrize("zone", list(Zone))
def test_dose_of_a_zone_on_a_steady_tree(zone: Zone) -> None:
    kinds = ("ulmus-parvifolia", "acer-buergerianum", "fagus-sylvatica", "carpinus-betulus")
    for kind in kinds:
        found = leaf_dose(tree(kind, vigour=Vigour.STEADY), zone, Phase.REFINEMENT)
        assert found is None or found[2] <= 0.40


@pytest.mark.parametrize("stage", [Stage.RUNNING, Stage.HARD, Stage.LATE_THICKENING])
def test_few_sick_leaves_come_off_at_any_time_in_leaf(stage: Stage) -> None:
    for vigour in (Vigour.WEAK, Vigour.STRONG):
        facts = at_stage(tree(vigour=vigour, disease={"spots": TODAY}), stage)
        assert may(facts, branch(), Work.LEAF_CLEAR, share=0.10).say is Say.YES
        assert may(facts, branch(), Work.LEAF_CLEAR, share=0.11).say is Say.NOT_NOW
    failing = at_stage(tree(vigour=Vigour.FAILING, disease={"spots": TODAY}), stage)
    assert may(failing, branch(), Work.LEAF_CLEAR, share=0.10).say is Say.NOT_NOW


def test_leaf_stays_on_a_base_that_is_not_known() -> None:
    known = at_reached(0.95, phase=Phase.RAMIFICATION)
    unread = branch(base_mm=None, phase=Phase.RAMIFICATION)
    for work in (Work.LEAF_FULL, Work.LEAF_THIN, Work.LEAF_PAIR):
        assert may(ELM, known, work, share=0.3).say is Say.YES
        assert may(ELM, unread, work, share=0.3).say is Say.NOT_NOW
    assert may(ELM, unread, Work.LEAF_CLEAR, share=0.3).say is Say.YES


# --- shoots --------------------------------------------------------------------------------------


def test_low_and_inner_shoots_are_not_pinched() -> None:
    opening = at_stage(replace(ELM, phase=Phase.REFINEMENT), Stage.FIRST_LEAF)
    high = branch(phase=Phase.REFINEMENT, zone=Zone.MIDDLE, target_step=0.30)
    assert may(opening, high, Work.PINCH).say is Say.YES
    assert may(opening, replace(high, zone=Zone.LOWER), Work.PINCH).say is Say.NOT_NOW
    assert may(opening, replace(high, outer=False), Work.PINCH).say is Say.NOT_NOW


def test_no_pinching_after_a_repot_that_was_or_may_have_been_hard() -> None:
    opening = at_stage(replace(ELM, phase=Phase.REFINEMENT, repot_last_season=True),
                       Stage.FIRST_LEAF)  # fmt: skip
    for share, say in ((0.30, Say.YES), (0.31, Say.NOT_NOW), (None, Say.NOT_NOW)):
        assert may(replace(opening, repot_share=share), None, Work.PINCH).say is say
    rested = replace(opening, repot_last_season=False, repot_share=None)
    assert may(rested, None, Work.PINCH).say is Say.YES


def test_upright_shoot_stays_on_a_weak_part() -> None:
    upright = twig(elevation_deg=80.0)
    assert decide(MAPLE, upright).act is Act.RUB
    assert decide(MAPLE, replace(upright, vigour=Vigour.WEAK)).act is not Act.RUB
    hanging = twig(elevation_deg=-80.0, vigour=Vigour.WEAK)
    assert decide(MAPLE, hanging).act is Act.RUB


def _pinched(south: bool, days: tuple[date, ...], today: date) -> bool:
    facts = tree(phase=Phase.REFINEMENT, works=tuple(done(Work.PINCH, 60, on=on) for on in days))
    facts = replace(facts, today=today, calendar=calendar(today, Stage.RUNNING, south=south))
    return any(v.card == "no pinching" for v in tree_level(facts, ()))


def test_seasons_of_pinching_are_counted_alike_north_and_south() -> None:
    north = (date(2023, 5, 9), date(2024, 7, 9), date(2025, 5, 9))
    south = (date(2023, 11, 9), date(2025, 1, 9), date(2025, 11, 9))  # half a year later each
    assert _pinched(False, north, date(2026, 5, 9))
    assert _pinched(True, south, date(2026, 11, 9))
    assert not _pinched(True, south[1:], date(2026, 11, 9))


# --- repots --------------------------------------------------------------------------------------


def test_repot_of_a_size_not_said_waits_for_grafts() -> None:
    grafted = replace(at_stage(MAPLE, Stage.SWELL), unweaned_grafts=1)
    assert may(grafted, None, Work.REPOT, share=0.30).say is Say.YES
    assert may(grafted, None, Work.REPOT).say is Say.NOT_NOW
    assert may(replace(grafted, unweaned_grafts=0), None, Work.REPOT).say is Say.YES


# --- read off a record ---------------------------------------------------------------------------


def _record(*more: Event, today: date = TODAY) -> tuple[TreeFacts, BranchFacts]:
    start = date(2023, 1, 1)
    events = [
        Event(TreeSet({"name": "Maple"}), start, "t1"),
        Event(BranchSet({"name": "trunk", "kind": "trunk"}), start, "t1", "b0"),
        Event(BranchSet({"name": "1L", "parent": "b0"}), start, "t1", "b1"),
        *more,
    ]
    outlook = TenDays(26.0, 11.0, None, None, None, today, 0, 10)
    facts, parts = facts_of(
        replay("t1", events, until=today), species=None, calendar=calendar(today),
        outlook=outlook, alarms=(), today=today,
    )  # fmt: skip
    return facts, next(part for part in parts if part.name == "1L")


def _wire(off: date, bite: int | None, look: int | None = None) -> list[Event]:
    on = off - timedelta(days=60)
    looks = [] if look is None else [
        Event(Saw(Sign.BITE, grade=look), off - timedelta(days=5), "t1", "b1")
    ]  # fmt: skip
    return [
        Event(Worked(Work.WIRE_ON, gauge_mm=1.5), on, "t1", "b1"),
        *looks,
        Event(Worked(Work.WIRE_OFF, bite=bite), off, "t1", "b1"),
    ]


def test_bitten_bark_is_remembered_a_year_over_the_turn_of_the_season() -> None:
    winter = date(2026, 1, 10)
    _, part = _record(*_wire(date(2025, 12, 20), 3), today=winter)
    assert part.released_grade == 3
    _, part = _record(*_wire(winter - timedelta(days=364), 3), today=winter)
    assert part.released_grade == 3
    _, part = _record(*_wire(winter - timedelta(days=365), 3), today=winter)
    assert part.released_grade is None


def test_grade_not_told_at_wire_off_is_that_of_the_last_look() -> None:
    off = TODAY - timedelta(days=10)
    assert _record(*_wire(off, None, look=3))[1].released_grade == 3
    assert _record(*_wire(off, 2, look=3))[1].released_grade == 2
    assert _record(*_wire(off, None))[1].released_grade == 0


def _two_wires(bite: int, look: date | None = None) -> BranchFacts:
    """1L and 2R wired on one day; 2R's came off three days ago."""
    on, off = TODAY - timedelta(days=70), TODAY - timedelta(days=3)
    more = [] if look is None else [Event(Saw(Sign.BITE, grade=1), look, "t1", "b1")]
    return _record(
        Event(BranchSet({"name": "2R", "parent": "b0"}), date(2023, 1, 1), "t1", "b2"),
        Event(Worked(Work.WIRE_ON, gauge_mm=1.5), on, "t1", "b1"),
        Event(Worked(Work.WIRE_ON, gauge_mm=1.5), on, "t1", "b2"),
        Event(Worked(Work.WIRE_OFF, bite=bite), off, "t1", "b2"),
        *more,
    )[1]


def test_a_bite_asks_for_a_look_at_all_other_wire_of_its_day() -> None:
    off = TODAY - timedelta(days=3)
    assert _two_wires(3).bitten_beside == off
    assert _two_wires(2).bitten_beside is None
    assert _two_wires(3, look=off - timedelta(days=1)).bitten_beside == off
    assert _two_wires(3, look=off).bitten_beside is None


def test_that_look_is_due_within_two_days() -> None:
    calm = wired(window(), running=False)
    assert decide(MAPLE, calm).act is Act.KEEP_WIRE
    found = decide(MAPLE, replace(calm, bitten_beside=TODAY))
    assert (found.act, found.latest) == (Act.LOOK_FIRST, TODAY + timedelta(days=2))
    late = decide(MAPLE, replace(calm, bitten_beside=TODAY - timedelta(days=9)))
    assert (late.act, late.latest) == (Act.LOOK_FIRST, TODAY)


def test_soil_read_before_a_repot_tells_no_more() -> None:
    repot = Event(Worked(Work.REPOT, amount=Amount.LIGHT), date(2026, 3, 10), "t1")
    before = Event(Measured(Quantity.DRAIN, 45.0), date(2026, 3, 9), "t1")
    after = Event(Measured(Quantity.DRAIN, 35.0), date(2026, 3, 11), "t1")
    assert _record(before)[0].drain_s == 45.0
    assert _record(before, repot)[0].drain_s is None
    assert _record(before, repot, after)[0].drain_s == 35.0

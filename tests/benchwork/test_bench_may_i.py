"""May I? Written cases: no grower was asked, the rules are common practice."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from uuid import UUID

import pytest
from bench_cases import HEAT, TODAY, branch, calendar, done, tree

from boughwright.benchwork.may_i import may_i
from boughwright.benchwork.pairs import Done, Heavy
from boughwright.journal.terms import Job, Phase, Vigour, Work
from boughwright.season.stages import DateRange
from boughwright.sources import Grade
from boughwright.verdicts.answer import Say
from boughwright.verdicts.rules import ZERO_TOLL
from boughwright.wire.window import WireWindow


def bitten(grade=3):
    none = DateRange(None, None, None, 1.0)
    return WireWindow(UUID(int=1), 1, TODAY, TODAY, none, none, none, none, none, None,
                      (0.9, 1.0, 1.1), grade, TODAY, grade, 1, 0.1, Grade.MEASURED)  # fmt: skip


def words(answer):
    return " ".join(r.text for r in answer.reasons)


def test_a_yes_says_what_toll_is_left():
    answer = may_i(tree(), branch(), Work.CUT)
    assert answer.say is Say.YES
    assert (
        "10 of 10 points of toll are left this season, 6 in these six weeks; this takes 1"
        in words(answer)
    )
    assert answer.caution == "blades"


def test_a_weak_tree_is_offered_only_works_that_cost_nothing():
    weak = tree(vigour=Vigour.WEAK, phase=Phase.PRIMARY)
    for work in Work:
        answer = may_i(weak, branch(), work)
        if work not in ZERO_TOLL and work is not Work.LOWER:
            assert answer.say is not Say.YES, work
    for work in (Work.WIRE_OFF, Work.RUB, Work.RAISE, Work.LET_RUN, Work.SHADE, Work.TURN):
        assert may_i(weak, branch(), work).say is Say.YES, work
    assert may_i(weak, None, Work.LEAF_CLEAR, share=0.1).say is Say.YES  # sick leaves off


@pytest.mark.parametrize("vigour", list(Vigour))
def test_wire_that_bites_comes_off_whatever_the_tree(vigour):
    sick = tree(vigour=vigour, outlook=HEAT, works=(done(Work.CUT, TODAY - timedelta(days=3), 2,
                                                         hard=True),))  # fmt: skip
    assert may_i(sick, branch(wire=bitten()), Work.WIRE_OFF).say is Say.YES


def test_sick_wood_comes_out_though_the_toll_is_spent():
    works = tuple(done(Work.RIM, TODAY - timedelta(days=2), row) for row in range(2, 9))
    tired = tree(works=works, disease={"canker": TODAY})
    assert may_i(tired, branch(), Work.CUT).say is Say.NOT_NOW
    assert may_i(tired, branch(signs={"canker": TODAY}), Work.CUT).say is Say.YES


def test_toll_spent_is_refused_with_the_day_it_frees():
    # 11 May: graft 1.5. 1 June: three rims, 3. 4.5 of 6 used; a whole round of cuts takes 2.
    works = (
        *(done(Work.RIM, date(2026, 6, 1), row) for row in (2, 3, 4)),
        done(Work.GRAFT_IN, date(2026, 5, 11), 5),
    )
    spent = tree(works=works)
    answer = may_i(spent, None, Work.CUT, share=1.0)
    assert answer.say is Say.NOT_NOW
    assert answer.from_date == date(2026, 6, 22)  # 11 May and six weeks
    told = "It has spent 4.5 of the 6 points of toll it bears in six weeks; this takes 2"
    assert told in words(answer)
    assert may_i(spent, None, Work.CUT, date(2026, 6, 22), 1.0).say is Say.YES
    assert may_i(spent, branch(9), Work.CUT).say is Say.YES  # 1 point still fits


def test_season_spent_frees_with_the_new_season():
    # three rounds of three rims, more than six weeks apart: 9 of 10 points
    works = [
        done(Work.RIM, on, row, this_season=True)
        for on in (date(2026, 2, 1), date(2026, 3, 20), date(2026, 6, 8)) for row in (2, 3, 4)
    ]  # fmt: skip
    answer = may_i(tree(works=tuple(works)), None, Work.CUT, share=1.0)
    assert answer.say is Say.NOT_NOW
    assert answer.from_date == date(2027, 1, 1)
    assert "9 of the 10 points of toll it bears this season" in words(answer)


def test_more_than_six_weeks_bear_is_to_be_split():
    # steady: 4.2 in six weeks; bare roots take 7
    answer = may_i(tree(vigour=Vigour.STEADY), None, Work.REPOT, share=0.8)
    assert answer.say is Say.NOT_NOW
    assert answer.from_date is None
    assert "split" in answer.condition


def test_a_trim_on_a_branch_with_a_live_job_is_warned():
    puller = branch(job=Job.SCAR_HELPER, job_for="scar front")
    answer = may_i(tree(), puller, Work.CUT)
    assert answer.say is Say.NOT_NOW
    assert "job" in words(answer)
    assert "keep its tip on" in answer.instead
    assert "closed" in answer.condition
    assert may_i(tree(), replace(puller, job_met=True), Work.CUT).say is Say.YES


def test_a_branch_that_feeds_a_graft_is_trimmed_but_not_taken_off():
    feeds = branch(feeds=("2.5Lg",))
    trim = may_i(tree(), feeds, Work.CUT, share=0.4)
    assert trim.say is Say.YES
    assert "feeds 2.5Lg: keep that shoot whole" in words(trim)
    assert may_i(tree(), feeds, Work.CUT, structural=True).say is Say.NOT_NOW


def test_quiet_time_after_a_whole_round_of_leaf():
    # outer thin of 40 % on 25 May: four weeks of growth, to 22 June
    works = (done(Work.LEAF_THIN, date(2026, 5, 25), share=0.4),)
    answer = may_i(tree(works=works), branch(), Work.CUT)
    assert answer.say is Say.NOT_NOW
    assert answer.from_date == date(2026, 6, 22)
    assert answer.condition == "new leaf has opened and coloured"
    assert may_i(tree(works=works), branch(), Work.CUT, date(2026, 6, 22)).say is Say.YES
    assert may_i(tree(works=works), branch(), Work.RUB).say is Say.YES  # costs nothing


def test_quiet_time_of_a_graft_is_its_own():
    works = (done(Work.RIM, date(2026, 6, 1), 5),)
    assert may_i(tree(works=works), branch(1), Work.CUT).say is Say.YES
    answer = may_i(tree(works=works), branch(5), Work.CUT)
    assert answer.from_date == date(2026, 6, 22)  # three weeks


def test_the_rest_of_a_round_need_not_wait():
    works = (done(Work.WIRE_ON, TODAY - timedelta(days=3), share=0.2),)
    assert may_i(tree(works=works), branch(), Work.WIRE_ON).say is Say.YES
    assert may_i(tree(works=works), branch(), Work.CUT).say is Say.NOT_NOW  # one week


def test_a_light_repot_in_swell_holds_eight_weeks_into_leaf():
    # leaf-out 14 April, eight weeks: 9 June
    works = (done(Work.REPOT, date(2026, 3, 10), share=0.2),)
    facts = tree(works=works)
    assert may_i(facts, branch(), Work.CUT, date(2026, 6, 8)).say is Say.NOT_NOW
    assert may_i(facts, branch(), Work.CUT, date(2026, 6, 9)).say is Say.YES


def test_heat_moves_a_rim_to_the_day_after_it():
    answer = may_i(tree(outlook=HEAT), branch(), Work.RIM)
    assert answer.say is Say.NOT_NOW
    assert answer.from_date == date(2026, 6, 17)
    assert may_i(tree(outlook=HEAT), branch(), Work.RIM, date(2026, 6, 17)).say is Say.YES


def test_beech_is_never_stripped_and_planned_works_count():
    from boughwright.species.tables import of_key

    beech = tree(species=of_key("fagus-sylvatica"), opposite=False)
    assert may_i(beech, None, Work.LEAF_FULL).say is Say.NEVER
    planned = [Done(Heavy.HEAVY_WIRE, TODAY)]
    assert may_i(tree(), branch(), Work.CUT, hard=True, planned=planned).say is Say.NOT_NOW
    assert may_i(tree(), branch(), Work.CUT, hard=True).say is Say.YES


def test_unknown_strength_asks_for_the_look():
    answer = may_i(tree(vigour=None), None, Work.CUT, share=1.0)
    assert answer.say is Say.NOT_NOW
    assert "not known" in words(answer)
    assert "how strong" in answer.condition
    assert may_i(tree(vigour=None), branch(), Work.WIRE_OFF).say is Say.YES


@pytest.mark.parametrize("work", [Work.CUT, Work.RIM, Work.WIRE_ON, Work.TWO, Work.LEAF_THIN])
def test_mirrored_gardens_get_the_same_answer(work):
    shift = timedelta(days=182)
    works = (done(Work.RIM, date(2026, 6, 1), 1), done(Work.CUT, date(2026, 5, 1), 2, hard=True))
    north = may_i(tree(works=works, outlook=HEAT), branch(), work, hard=work is Work.CUT)
    moved = tuple(replace(w, on=w.on + shift) for w in works)
    heat = replace(HEAT, hot_from=HEAT.hot_from + shift, hot_to=HEAT.hot_to + shift,
                   dry_from=TODAY + shift)  # fmt: skip
    facts = tree(works=moved, outlook=heat, today=TODAY + shift,
                 calendar=calendar(TODAY + shift, shift_days=182, south=True))  # fmt: skip
    south = may_i(facts, branch(), work, hard=work is Work.CUT)
    assert south.say is north.say
    if north.from_date is not None:
        assert abs((south.from_date - north.from_date - shift).days) <= 3

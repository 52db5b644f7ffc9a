"""Whether a work may be done: each condition alone, and the agreement with the cards."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from written_facts import (
    HOT,
    MILD,
    TODAY,
    approach_graft,
    at_reached,
    at_stage,
    branch,
    calendar,
    done,
    tree,
    window,
    wired,
)

from boughwright.journal.terms import Job, Kind, Phase, Vigour, Work
from boughwright.season.stages import Stage
from boughwright.sources import source
from boughwright.species.tables import all_species
from boughwright.verdicts.answer import Answer, Say, strictest
from boughwright.verdicts.cautions import CAUTIONS, caution_for, caution_text
from boughwright.verdicts.conditions import CHECKS, may
from boughwright.verdicts.rules import ZERO_TOLL

if TYPE_CHECKING:
    from boughwright.verdicts.facts import TreeFacts

MAPLE = tree()
ELM = tree("ulmus-parvifolia", phase=Phase.RAMIFICATION, repot_last_season=False,
           weeks_since_repot=120.0)  # fmt: skip
"""An elm of which all leaves may go today."""


def test_elm_with_nothing_against_it_may_lose_all_its_leaves() -> None:
    assert may(ELM, None, Work.LEAF_FULL).say is Say.YES


LATE = replace(ELM, weeks_to_colour=7.9)
COLD = replace(ELM, calendar=calendar(warmth_to_colour_cd=699.0))
BLOCKS: dict[str, TreeFacts] = {
    "late date": LATE,
    "too little warmth left": COLD,
    "heat": replace(ELM, outlook=HOT),
    "disease": replace(ELM, disease={"mildew": TODAY}),
    "pest": replace(ELM, disease={"pest": TODAY}),
    "repot this season": replace(ELM, repot_this_season=True),
    "hard repot within two seasons": replace(ELM, weeks_since_repot=103.0, repot_share=0.31),
    "weak": replace(ELM, vigour=Vigour.WEAK),
    "leaves too young": replace(ELM, days_in_leaf=34),
    "another big work this flush": replace(ELM, works=(done(Work.LEAF_THIN, 2, share=0.4),)),
    "done last year": replace(ELM, works=(done(Work.LEAF_FULL, 52),)),
    "graft not weaned": replace(ELM, unweaned_grafts=1),
    "leafless show": replace(ELM, show_on=date(2026, 11, 28), show_leafless=True),
    "structure still thickens": replace(ELM, phase=Phase.PRIMARY),
    "strength unknown": replace(ELM, vigour=None),
    "forecast unknown": replace(ELM, outlook=replace(MILD, t_max_10d_c=None)),
    "species unknown": replace(ELM, species=None),
    "soft leaf": at_stage(ELM, Stage.CLOSING),
}


@pytest.mark.parametrize("why", BLOCKS)
def test_each_condition_alone_blocks_full_defoliation(why: str) -> None:
    assert may(BLOCKS[why], None, Work.LEAF_FULL).say is Say.NOT_NOW


@pytest.mark.parametrize(
    ("change", "work"),
    [
        ({"weeks_to_colour": 8.0}, Work.LEAF_FULL),
        ({"days_in_leaf": 35}, Work.LEAF_FULL),
        ({"weeks_since_repot": 104.0, "repot_share": 0.31}, Work.LEAF_FULL),
        ({"weeks_since_repot": 60.0, "repot_share": 0.30}, Work.LEAF_FULL),
        ({"works": (done(Work.LEAF_FULL, 79),)}, Work.LEAF_FULL),
        ({"works": (done(Work.LEAF_THIN, 2, share=0.2),)}, Work.LEAF_FULL),
    ],
)
def test_the_other_side_of_each_line_allows_it(change: dict[str, Any], work: Work) -> None:
    assert may(replace(ELM, **change), None, work).say is Say.YES


@pytest.mark.parametrize(
    "kind", [s.key for s in all_species() if s.word("full_defoliation") == "never"]
)
def test_kinds_that_never_bear_it_are_never_offered_it(kind: str) -> None:
    for stage in Stage:
        for vigour in Vigour:
            facts = replace(at_stage(tree(kind, phase=Phase.REFINEMENT), stage), vigour=vigour)
            assert may(facts, None, Work.LEAF_FULL).say is Say.NEVER


def test_beech_oak_hornbeam_hawthorn_and_southern_beech_are_among_them() -> None:
    never = {s.key.split("-")[0] for s in all_species() if s.word("full_defoliation") == "never"}
    assert {"fagus", "quercus", "carpinus", "crataegus", "nothofagus"} <= never


def test_branch_that_must_thicken_keeps_its_leaf_when_the_rest_goes() -> None:
    thin = at_reached(0.94, phase=Phase.RAMIFICATION)
    assert may(ELM, thin, Work.LEAF_FULL).say is Say.NOT_NOW
    assert may(ELM, at_reached(0.95, phase=Phase.RAMIFICATION), Work.LEAF_FULL).say is Say.YES


def test_lighter_leaf_works_stand_34_degrees_but_not_35() -> None:
    warm = replace(HOT, t_max_10d_c=34.9)
    assert may(replace(ELM, outlook=warm), None, Work.LEAF_THIN, share=0.4).say is Say.YES
    hot = may(replace(ELM, outlook=HOT), None, Work.LEAF_THIN, share=0.4)
    assert (hot.say, hot.from_date) == (Say.NOT_NOW, date(2026, 6, 17))


# --- cuts, wire, repot ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "stage", "say"),
    [
        ("acer-campestre", Stage.DEEP_REST, Say.NOT_NOW),  # bleeds
        ("acer-campestre", Stage.SWELL, Say.NOT_NOW),
        ("acer-campestre", Stage.EARLY_REST, Say.YES),
        ("acer-campestre", Stage.LEAF_DROP, Say.YES),
        ("ulmus-parvifolia", Stage.DEEP_REST, Say.YES),
        ("ulmus-parvifolia", Stage.SWELL, Say.YES),
        ("ulmus-parvifolia", Stage.RUNNING, Say.NOT_NOW),
        ("fagus-sylvatica", Stage.DEEP_REST, Say.YES),
        ("acer-campestre", Stage.HARD, Say.YES),
        ("acer-campestre", Stage.COLOUR, Say.NOT_NOW),
    ],
)
def test_season_of_cuts(kind: str, stage: Stage, say: Say) -> None:
    weeks = 18.0 if stage <= Stage.HARD else 0.0
    facts = replace(at_stage(tree(kind), stage), weeks_to_colour=weeks)
    assert may(facts, branch(), Work.CUT).say is say


def test_maple_late_in_leaf_drop_is_left() -> None:
    late = at_stage(MAPLE, Stage.LEAF_DROP, date(2026, 11, 21))  # 22 days after 30 October
    assert may(late, branch(), Work.CUT).say is Say.NOT_NOW
    intime = at_stage(MAPLE, Stage.LEAF_DROP, date(2026, 11, 20))
    assert may(intime, branch(), Work.CUT).say is Say.YES


def test_cut_in_soft_leaf_says_from_which_day() -> None:
    soft = at_stage(MAPLE, Stage.CLOSING)
    assert may(soft, branch(), Work.CUT).from_date == date(2026, 6, 2)


def test_a_later_day_is_judged_by_its_own_stage() -> None:
    soft = at_stage(MAPLE, Stage.CLOSING)
    assert may(soft, branch(), Work.CUT, on=date(2026, 6, 3)).say is Say.YES


def test_trim_on_a_branch_with_a_job_is_warned_off() -> None:
    answer = may(MAPLE, branch(job=Job.SCAR_HELPER, job_for="scar front"), Work.CUT)
    assert answer.say is Say.NOT_NOW
    assert "scar" in answer.reasons[0].text
    half = at_reached(0.9, job=Job.THICKEN)
    assert may(MAPLE, half, Work.CUT, share=0.5).say is Say.YES
    assert may(MAPLE, half, Work.CUT, share=0.6).say is Say.NOT_NOW
    assert may(MAPLE, at_reached(0.89, job=Job.THICKEN), Work.CUT, share=0.5).say is Say.NOT_NOW


def test_no_wire_near_an_unweaned_union() -> None:
    answer = may(MAPLE, approach_graft(), Work.WIRE_ON)
    assert (answer.say, answer.instead) == (Say.NOT_NOW, "guy it still")
    weaned = replace(approach_graft(), weaned=True)
    assert may(MAPLE, weaned, Work.WIRE_ON).say is Say.YES


def test_no_wire_on_a_hot_day_and_no_strong_bend_before_heat_or_frost() -> None:
    hot = replace(MAPLE, outlook=HOT)
    assert may(hot, branch(), Work.WIRE_ON).say is Say.YES
    assert may(hot, branch(), Work.WIRE_ON, hard=True).say is Say.NOT_NOW
    assert may(hot, branch(), Work.WIRE_ON, on=date(2026, 6, 14)).from_date == date(2026, 6, 17)
    rest = at_stage(MAPLE, Stage.EARLY_REST)
    frost = replace(rest, outlook=replace(MILD, t_min_10d_c=-5.0))
    assert may(frost, branch(), Work.WIRE_ON, hard=True).say is Say.NOT_NOW
    assert may(frost, branch(), Work.WIRE_ON).say is Say.YES
    cool = replace(rest, outlook=replace(MILD, t_min_10d_c=-4.9))
    assert may(cool, branch(), Work.WIRE_ON, hard=True).say is Say.YES


def test_bitten_bark_and_brittle_shoots_are_not_wired() -> None:
    assert may(MAPLE, branch(released_grade=3), Work.WIRE_ON).say is Say.NOT_NOW
    assert may(MAPLE, branch(released_grade=2), Work.WIRE_ON).say is Say.YES
    soft = at_stage(MAPLE, Stage.RUNNING)  # field maple shoots snap in the flush
    assert may(soft, branch(), Work.WIRE_ON).say is Say.NOT_NOW
    young, woody = branch(base_mm=2.9), branch(base_mm=3.0)
    running = at_stage(ELM, Stage.RUNNING)  # elm shoots bend, but wood waits for the hard flush
    assert may(running, young, Work.WIRE_ON).say is Say.YES
    assert may(running, woody, Work.WIRE_ON).from_date == date(2026, 6, 2)
    assert may(ELM, woody, Work.WIRE_ON).say is Say.YES


@pytest.mark.parametrize("stage", list(Stage))
def test_repot_only_while_buds_swell(stage: Stage) -> None:
    answer = may(at_stage(MAPLE, stage), None, Work.REPOT)
    assert (answer.say is Say.YES) is (stage is Stage.SWELL)


def test_hard_repot_waits_for_grafts_and_frost() -> None:
    swell = at_stage(MAPLE, Stage.SWELL)
    grafted = replace(swell, unweaned_grafts=1)
    assert may(grafted, None, Work.REPOT, share=0.3).say is Say.YES
    assert may(grafted, None, Work.REPOT, share=0.31).say is Say.NOT_NOW
    frost = replace(swell, outlook=replace(MILD, t_min_10d_c=0.0))
    assert may(frost, None, Work.REPOT).say is Say.NOT_NOW


def test_moved_or_gapped_graft_is_never_severed() -> None:
    for sign in ({"union_moves": True}, {"union_gap": True}):
        assert may(MAPLE, approach_graft(**sign), Work.SEVER).say is Say.NEVER
        assert may(MAPLE, approach_graft(**sign), Work.NOTCH).say is Say.NEVER


# --- strength ------------------------------------------------------------------------------------


@pytest.mark.parametrize("work", list(Work))
def test_weak_tree_may_only_have_what_costs_nothing(work: Work) -> None:
    weak = tree(vigour=Vigour.WEAK)
    if may(weak, branch(), work).say is Say.YES:
        assert work in ZERO_TOLL


@pytest.mark.parametrize("work", list(Work))
def test_failing_tree_is_only_rescued(work: Work) -> None:
    rescue = {Work.SHADE, Work.COVER, Work.TURN}
    assert (may(tree(vigour=Vigour.FAILING), branch(), work).say is Say.YES) is (work in rescue)


def test_biting_wire_and_canker_are_taken_even_from_a_failing_tree() -> None:
    failing = tree(vigour=Vigour.FAILING)
    assert may(failing, wired(window(seen_grade=3)), Work.WIRE_OFF).say is Say.YES
    assert may(failing, wired(window(seen_grade=2)), Work.WIRE_OFF).say is Say.NOT_NOW
    assert may(failing, branch(signs={"canker": TODAY}), Work.CUT).say is Say.YES


def test_steady_tree_bears_one_big_work_a_flush() -> None:
    steady = tree("ulmus-parvifolia", vigour=Vigour.STEADY)
    assert may(steady, branch(), Work.CUT, hard=True).say is Say.YES
    worked = replace(steady, works=(done(Work.WIRE_ON, 2, hard=True),))
    assert may(worked, branch(), Work.CUT, hard=True).say is Say.NOT_NOW
    assert may(worked, branch(), Work.CUT).say is Say.YES
    strong = replace(worked, vigour=Vigour.STRONG)
    assert may(strong, branch(), Work.CUT, hard=True).say is Say.YES


# --- combining, tables ---------------------------------------------------------------------------


def test_strictest_word_wins_and_an_open_end_leaves_no_day() -> None:
    first = Answer(Say.NOT_NOW, from_date=TODAY, condition="a")
    later = Answer(Say.NOT_NOW, from_date=TODAY + timedelta(days=9), condition="b")
    open_end = Answer(Say.NOT_NOW, condition="c")
    assert strictest([first, Answer(Say.YES), later]).from_date == TODAY + timedelta(days=9)
    assert strictest([first, open_end]).from_date is None
    assert strictest([first, later, open_end]).condition == "a; b; c"
    assert strictest([first, Answer(Say.NEVER)]).say is Say.NEVER
    assert strictest([]).say is Say.YES


def test_work_on_a_part_that_is_gone_is_never() -> None:
    for work in Work:
        assert may(MAPLE, branch(gone=True), work).say is Say.NEVER


def test_every_refusal_says_why_and_when_or_on_which_sign() -> None:
    parts = (None, branch(), approach_graft(), branch(kind=Kind.TOP))
    trees = [replace(at_stage(t, s), outlook=HOT) for t in (MAPLE, ELM) for s in Stage]
    refused = 0
    for facts in trees:
        for part in parts:
            for work in CHECKS:
                answer = may(facts, part, work)
                if answer.say is Say.YES:
                    continue
                refused += 1
                assert answer.reasons
                assert all(reason.text and source(reason.source) for reason in answer.reasons)
                if answer.say is Say.NOT_NOW:
                    assert answer.from_date is not None or answer.condition
    assert refused > 500


def test_cautions_cover_what_can_hurt_and_defer_to_others() -> None:
    for work in (Work.CUT, Work.WIRE_OFF, Work.SPRAY, Work.REPOT, Work.RIM, Work.RAISE):
        assert caution_text(caution_for(work))
    for key in ("sprays", "lime sulfur", "cut paste"):
        assert "label" in CAUTIONS[key]
    for key in ("wild collecting", "plant movement", "notifiable", "power tools", "heaters"):
        assert any(word in CAUTIONS[key] for word in ("permit", "service", "trained", "licensed"))
    assert caution_text("") == ""

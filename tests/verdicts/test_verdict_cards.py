"""Each card on both sides of each of its lines. Written cases from the rules; no growers asked."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from written_facts import (
    HOT,
    MILD,
    TODAY,
    approach_graft,
    at_reached,
    at_stage,
    bare_branch,
    branch,
    done,
    inner,
    scar,
    thread_graft,
    tree,
    twig,
    window,
    wired,
)

from boughwright.journal.terms import Job, Kind, Metal, Phase, Vigour, Work, Zone
from boughwright.season.stages import Alarm, AlarmKind, Stage
from boughwright.sources import Grade
from boughwright.verdicts.precedence import decide
from boughwright.verdicts.tree_verdicts import tree_level
from boughwright.verdicts.verdict import Act, Harm, Sureness, Verdict

MAPLE = tree()
ELM = tree("ulmus-parvifolia")
BEECH = tree("fagus-sylvatica")


# --- let run, shorten, cut back ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("reached", "was", "act"),
    [
        (0.60, None, Act.LET_RUN),
        (0.8999, None, Act.LET_RUN),
        (0.90, None, Act.SHORTEN),
        (0.9499, None, Act.SHORTEN),
        (0.95, None, Act.CUT_TO_PAIR),
        (0.9301, 0.95, Act.CUT_TO_PAIR),  # it had passed the line: falls back two points below
        (0.9299, 0.95, Act.SHORTEN),
        (0.9301, 0.9499, Act.SHORTEN),  # it had never passed it
        (0.8801, 0.90, Act.SHORTEN),
        (0.8799, 0.90, Act.LET_RUN),
    ],
)
def test_base_lines_with_two_points_of_hysteresis(
    reached: float, was: float | None, act: Act
) -> None:
    assert decide(MAPLE, at_reached(reached, reached_was=was)).act is act


def test_weak_branch_is_raised_below_85_percent_only() -> None:
    weak = {"vigour": Vigour.WEAK}
    assert decide(MAPLE, at_reached(0.8499, **weak)).act is Act.RAISE
    assert decide(MAPLE, at_reached(0.85, **weak)).act is Act.LET_RUN
    assert decide(MAPLE, at_reached(0.8301, reached_was=0.85, **weak)).act is Act.LET_RUN
    assert decide(MAPLE, at_reached(0.70)).act is Act.LET_RUN


def test_cause_of_weakness_comes_before_raising() -> None:
    sick = at_reached(0.7, vigour=Vigour.WEAK, signs={"wilt": TODAY})
    assert decide(MAPLE, sick).act is not Act.RAISE
    raised = at_reached(0.7, vigour=Vigour.WEAK, elevation_deg=45.0)
    assert decide(MAPLE, raised).act is Act.LET_RUN


def test_raising_waits_while_it_is_hot() -> None:
    hot = replace(MILD, t_max_10d_c=35.0, hot_from=TODAY, hot_to=TODAY + timedelta(days=2))
    found = decide(replace(MAPLE, outlook=hot), at_reached(0.7, vigour=Vigour.WEAK))
    assert found.act is Act.RAISE
    assert found.earliest == TODAY + timedelta(days=3)


def test_shortened_branch_runs_on_and_soft_stage_does_not_shorten() -> None:
    assert decide(MAPLE, at_reached(0.92, running=False)).act is Act.LET_RUN
    soft = at_stage(MAPLE, Stage.RUNNING)
    assert decide(soft, at_reached(0.92)).act is Act.LET_RUN


def test_opposite_is_cut_to_a_pair_and_alternate_to_a_leaf() -> None:
    assert decide(MAPLE, branch()).act is Act.CUT_TO_PAIR
    found = decide(ELM, branch())
    assert found.act is Act.CUT_TO_LEAF
    assert "one or two leaves" in found.where
    refined = decide(ELM, branch(phase=Phase.REFINEMENT))
    assert "keep one leaf" in refined.where


def test_pair_that_stands_up_and_down_is_passed_or_steered() -> None:
    assert "next pair" in decide(MAPLE, branch(pair_level=False)).where
    assert "next pair" not in decide(MAPLE, branch(pair_level=True)).where


def test_weak_shoot_of_two_leaves_is_left() -> None:
    assert decide(MAPLE, branch(leaves=2)).act is Act.LEAVE
    assert decide(MAPLE, branch(leaves=3)).act is Act.CUT_TO_PAIR


@pytest.mark.parametrize(
    ("stage", "cut"),
    [
        (Stage.RUNNING, False),
        (Stage.CLOSING, False),
        (Stage.HARD, True),
        (Stage.LATE_THICKENING, False),
        (Stage.LEAF_DROP, True),
        (Stage.DEEP_REST, False),
    ],
)
def test_cut_back_only_from_hard_or_at_leaf_drop(stage: Stage, cut: bool) -> None:
    weeks = 18.0 if stage <= Stage.HARD else 0.0
    on = replace(at_stage(MAPLE, stage), weeks_to_colour=weeks)
    assert (decide(on, branch()).act is Act.CUT_TO_PAIR) is cut


def test_branch_cut_this_flush_is_left() -> None:
    cut = replace(MAPLE, works=(done(Work.CUT, 1.0, row=1),))
    assert decide(cut, branch()).act is Act.LEAVE
    assert decide(cut, branch(row=2)).act is Act.CUT_TO_PAIR


def test_trunk_building_keeps_its_motors() -> None:
    assert decide(MAPLE, branch(phase=Phase.TRUNK)).act is Act.LEAVE


# --- internodes ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("zone", "word"), [(Zone.LOWER, "keep"), (Zone.MIDDLE, "provisional"), (Zone.APEX, "cut")]
)
def test_same_node_low_mid_apex_is_kept_provisional_cut(zone: Zone, word: str) -> None:
    # 38 of 100: under 0.40; over 0.35 by less than a tenth; over 0.30 by more
    found = decide(MAPLE, branch(zone=zone, node_mm=38.0, room_mm=100.0, step=0.34, reached=1.0))
    provisional = any("keep it for now" in note.text for note in found.notes)
    cut = found.act is Act.CUT_PAST
    assert ("cut" if cut else "provisional" if provisional else "keep") == word


def test_no_live_bud_inside_changes_the_cut_to_waking_one() -> None:
    long = {"zone": Zone.APEX, "node_mm": 38.0, "room_mm": 100.0}
    woken = decide(MAPLE, branch(**long, bud_inside=False))
    assert woken.act is Act.SHORTEN
    assert "beyond node 1" in woken.where
    assert "graft" not in woken.where
    assert "graft" in decide(BEECH, branch(**long, bud_inside=False)).where
    unknown = decide(MAPLE, branch(**long, bud_inside=None))
    assert unknown.act is Act.LOOK_FIRST
    assert "live bud" in unknown.where


def test_thin_base_runs_first_and_is_marked_to_cut_past() -> None:
    found = decide(MAPLE, at_reached(0.7, zone=Zone.MIDDLE, node_mm=45.0, room_mm=100.0))
    assert found.act is Act.LET_RUN
    assert "cut past when its base reaches {13.3 mm}" in found.where  # 0.95 x 14


def test_apex_node_goes_now_even_from_a_thin_base() -> None:
    found = decide(MAPLE, at_reached(0.7, zone=Zone.APEX, node_mm=45.0, room_mm=100.0))
    assert found.act is Act.CUT_PAST


# --- too thick, unwanted, rivals -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("zone", "step", "thick"),
    [
        (Zone.LOWER, 0.50, False),
        (Zone.LOWER, 0.5001, True),
        (Zone.MIDDLE, 0.45, False),
        (Zone.MIDDLE, 0.4501, True),
        (Zone.APEX, 0.40, False),
        (Zone.APEX, 0.4001, True),
    ],
)
def test_too_thick_by_zone(zone: Zone, step: float, thick: bool) -> None:
    found = decide(MAPLE, branch(zone=zone, step=step, reached=1.3))
    assert (found.act is Act.WEAKEN) is thick


def test_unwanted_is_rubbed_small_and_taken_in_stages_when_large() -> None:
    assert decide(MAPLE, branch(wanted=False, base_mm=2.9)).act is Act.RUB
    assert "collar" in decide(MAPLE, branch(wanted=False, base_mm=12.0)).where
    assert "stages" in decide(MAPLE, branch(wanted=False, base_mm=14.0)).where  # over a third of 40
    assert decide(MAPLE, branch(wanted=False, base_mm=12.0)).act is Act.REMOVE
    assert decide(MAPLE, bare_branch(wanted=False)).act is Act.LOOK_FIRST
    feeder = branch(wanted=False, feeds=("2.5Lg",))
    assert decide(MAPLE, feeder).act is Act.LEAVE


def test_large_removal_waits_for_the_heat_small_cut_comes_before_it() -> None:
    hot = replace(MAPLE, outlook=HOT)
    large = decide(hot, branch(wanted=False, base_mm=14.0))
    assert large.earliest == date(2026, 6, 17)
    small = decide(hot, branch(wanted=False, base_mm=12.0))
    assert small.earliest is None
    assert small.latest == date(2026, 6, 12)


def test_two_at_one_height_are_the_growers_choice() -> None:
    found = decide(MAPLE, branch(rival="2R", wanted=None))
    assert found.act is Act.LOOK_FIRST
    assert "2R" in found.where
    assert decide(MAPLE, branch(rival="2R", wanted=True)).act is Act.CUT_TO_PAIR


def test_branch_that_shades_a_weaker_one_is_thinned() -> None:
    assert decide(MAPLE, branch(shades=("1R",))).act is Act.WEAKEN
    weak = replace(MAPLE, vigour=Vigour.WEAK)
    assert decide(weak, branch(shades=("1R",))).act is Act.LEAVE


# --- jobs ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("job", [Job.SCAR_HELPER, Job.GRAFT_FEEDER, Job.SACRIFICE, Job.GRAFT_WHIP])
def test_live_job_keeps_the_tip_until_it_is_met(job: Job) -> None:
    found = decide(MAPLE, branch(job=job, job_for="scar front"))
    assert found.act is Act.LET_RUN
    assert found.never[0] == "Do not cut or pinch its tip"


def test_job_that_is_met_sets_the_branch_free() -> None:
    assert decide(MAPLE, branch(job=Job.SCAR_HELPER, job_met=True)).act is Act.CUT_TO_PAIR
    assert decide(MAPLE, branch(job=Job.SACRIFICE, job_met=True)).act is Act.REMOVE


# --- wire ----------------------------------------------------------------------------------------


def test_bite_seen_comes_off_on_any_branch_in_any_phase_and_vigour() -> None:
    for vigour in Vigour:
        for phase in Phase:
            facts = replace(MAPLE, vigour=vigour)
            found = decide(facts, wired(window(seen_grade=3), phase=phase))
            assert found.act is Act.WIRE_OFF
            assert found.harm is Harm.IRREVERSIBLE
            assert found.sureness is Sureness.SURE


def test_weak_tree_has_nothing_else_moved_with_the_biting_wire() -> None:
    found = decide(replace(MAPLE, vigour=Vigour.WEAK), wired(window(seen_grade=3)))
    assert any("nothing else" in word for word in found.never)
    assert found.notes == ()


def test_off_by_reached_is_harm_now_a_day_before_it_is_due() -> None:
    today = decide(MAPLE, wired(window(off_by=TODAY), base_mm=10.0))
    assert (today.act, today.card) == (Act.WIRE_OFF, "wire past its day")
    ahead = decide(MAPLE, wired(window(off_by=TODAY + timedelta(days=1)), base_mm=10.0))
    assert ahead.act is Act.LET_RUN  # thin: thickening leads, the wire stands beside it
    assert [n.act for n in ahead.notes] == [Act.WIRE_OFF]
    assert ahead.notes[0].harm is Harm.IRREVERSIBLE
    assert ahead.notes[0].works == (Work.WIRE_OFF,)


def test_due_this_week_and_set_come_off_the_rest_stays() -> None:
    base = {"running": False}
    week = decide(MAPLE, wired(window(off_by=TODAY + timedelta(days=7)), **base))
    assert (week.act, week.harm) == (Act.WIRE_OFF, Harm.IRREVERSIBLE)
    later = decide(MAPLE, wired(window(off_by=TODAY + timedelta(days=8)), **base))
    assert later.act is Act.KEEP_WIRE
    bent = decide(MAPLE, wired(window(hold_from=TODAY), **base))
    assert (bent.act, bent.harm) == (Act.WIRE_OFF, Harm.IMPROVEMENT)


def test_wire_is_looked_at_in_the_week_of_its_first_line() -> None:
    near = window(look_by=TODAY + timedelta(days=5), seen_on=None, seen_grade=-1)
    found = decide(MAPLE, wired(near, running=False))
    assert found.act is Act.LOOK_FIRST
    assert found.latest == TODAY + timedelta(days=5)
    looked = replace(near, seen_on=TODAY, seen_grade=1)
    kept = decide(MAPLE, wired(looked, running=False))
    assert kept.act is Act.KEEP_WIRE
    assert kept.next_look is not None
    assert kept.next_look > TODAY


def test_method_of_taking_off_follows_grade_and_metal() -> None:
    bitten = window(seen_grade=3)
    assert "unwind" in decide(MAPLE, wired(bitten)).where
    assert "pieces" in decide(MAPLE, wired(bitten, wire_metal=Metal.COPPER)).where
    assert "lift off" in decide(MAPLE, wired(window(off_by=TODAY))).where


def test_steep_primary_is_wired_thin_and_guyed_thick_or_bitten() -> None:
    steep = {"elevation_deg": 70.0, "running": False}
    assert decide(MAPLE, branch(base_mm=10.0, trunk_mm=28.0, **steep)).act is Act.WIRE_ON
    assert decide(MAPLE, branch(base_mm=10.1, trunk_mm=28.0, **steep)).act is Act.GUY
    bitten = branch(base_mm=8.0, trunk_mm=22.0, released_grade=3, **steep)
    assert decide(MAPLE, bitten).act is Act.GUY
    level = branch(base_mm=10.0, trunk_mm=28.0, elevation_deg=60.0, running=False)
    assert decide(MAPLE, level).act is Act.LEAVE


def test_bend_that_sprang_back_is_wired_again() -> None:
    sprang = branch(base_mm=9.0, trunk_mm=25.0, running=False, signs={"sprang": TODAY})
    assert decide(MAPLE, sprang).act is Act.WIRE_ON


def test_wire_before_set_is_planned_in_several_wirings() -> None:
    found = decide(MAPLE, wired(window(wirings=2), running=False))
    assert found.act is Act.KEEP_WIRE
    assert "2 wirings" in found.reasons[0].text


# --- shoots, buds, pinching ----------------------------------------------------------------------


def test_pinch_only_strong_refined_parts_as_they_open() -> None:
    open_ = at_stage(MAPLE, Stage.FIRST_LEAF)
    fine = {"phase": Phase.REFINEMENT, "zone": Zone.APEX, "step": 0.3, "reached": 1.0}
    assert decide(open_, branch(**fine)).act is Act.PINCH
    assert "tuft" in decide(open_, branch(**fine)).where
    assert decide(MAPLE, branch(**fine, running=False)).act is not Act.PINCH
    assert decide(open_, branch(**(fine | {"reached": 0.94}))).act is not Act.PINCH
    assert decide(open_, branch(**fine, vigour=Vigour.WEAK)).act is not Act.PINCH
    slow = replace(open_, extension_ratio=0.59)
    assert decide(slow, branch(**fine)).act is not Act.PINCH
    beech = at_stage(BEECH, Stage.FIRST_LEAF)
    assert "half of each opening shoot" in decide(beech, branch(**fine)).where


# --- sick wood, grafts, scars --------------------------------------------------------------------


def test_canker_is_cut_out_on_the_first_dry_day_even_on_a_weak_tree() -> None:
    dry = TODAY + timedelta(days=3)
    wet = replace(tree(vigour=Vigour.WEAK), outlook=replace(MILD, dry_from=dry))
    found = decide(wet, branch(signs={"canker": TODAY}))
    assert (found.act, found.earliest, found.harm) == (Act.CUT_SICK, dry, Harm.IRREVERSIBLE)
    assert "{20 mm}" in found.where


def test_dead_branch_is_scratched_first() -> None:
    assert decide(MAPLE, branch(signs={"dead": TODAY})).act is Act.LOOK_FIRST


@pytest.mark.parametrize(
    ("exit_mm", "gap", "grafted", "act"),
    [
        (5.60, False, date(2025, 3, 1), Act.GRAFT_WAIT),  # 5.6 / 5 = 1.12
        (6.75, False, date(2025, 3, 1), Act.NOTCH),  # 1.35, no gap, a season
        (6.49, False, date(2025, 3, 1), Act.GRAFT_WAIT),  # 1.298
        (6.50, False, date(2025, 3, 1), Act.NOTCH),  # 1.30
        (6.75, False, date(2026, 3, 1), Act.GRAFT_WAIT),  # not a full season
        (6.75, True, date(2025, 3, 1), Act.GRAFT_WAIT),  # gapped: never
        (6.75, None, date(2025, 3, 1), Act.LOOK_FIRST),
    ],
)
def test_thread_graft_gate(exit_mm: float, gap: bool | None, grafted: date, act: Act) -> None:
    assert decide(MAPLE, thread_graft(exit_mm, 5.0, union_gap=gap, grafted_on=grafted)).act is act


def test_approach_graft_gate() -> None:
    assert decide(MAPLE, approach_graft()).act is Act.NOTCH
    assert decide(MAPLE, approach_graft(exit_mm=5.97)).act is Act.GRAFT_WAIT  # 1.148
    assert decide(MAPLE, approach_graft(lips_joined=False)).act is Act.GRAFT_WAIT
    moved = decide(MAPLE, approach_graft(union_moves=True))
    assert (moved.act, moved.never[0]) == (Act.GRAFT_WAIT, "Never cut its feed")


def test_graft_is_severed_only_after_a_notch_of_three_weeks_without_wilt() -> None:
    def notched(weeks: float) -> Verdict:
        return decide(replace(MAPLE, works=(done(Work.NOTCH, weeks, row=5),)), approach_graft())

    assert notched(2.9).act is Act.GRAFT_WAIT
    assert notched(3.0).act is Act.SEVER
    works = (done(Work.NOTCH, 4.0, row=5),)
    wilted = decide(replace(MAPLE, works=works), approach_graft(signs={"wilt": TODAY}))
    assert wilted.act is Act.GRAFT_WAIT


def test_graft_ready_at_leaf_drop_waits_for_the_next_hard_flush() -> None:
    on = replace(at_stage(MAPLE, Stage.LEAF_DROP, date(2026, 6, 9)), unweaned_grafts=1)
    found = decide(on, thread_graft(5.9, 4.4, grafted_on=date(2025, 8, 25)))
    assert found.act is Act.GRAFT_WAIT
    assert "next flush is hard" in found.where


@pytest.mark.parametrize(
    ("now", "act", "where"),
    [
        (45.01, Act.RIM, "pare"),  # 9.98 % in one season
        (45.0, Act.LEAVE, "next season"),  # 10 %
        (42.6, Act.LEAVE, "next season"),  # 14.8 %
        (42.5, Act.LEAVE, "leave it to close"),  # 15 %
    ],
)
def test_scar_rim_lines(now: float, act: Act, where: str) -> None:
    found = decide(MAPLE, scar(now, 50.0, 1.0))
    assert found.act is act
    assert where in found.where


def test_scar_read_once_is_measured_again() -> None:
    assert decide(MAPLE, scar(41.0, None, None)).act is Act.LOOK_FIRST
    assert decide(MAPLE, scar(None, None, None)).act is Act.LOOK_FIRST


def test_stalled_rim_waits_out_a_wet_spell_and_a_weak_tree() -> None:
    dry = TODAY + timedelta(days=4)
    wet = replace(MAPLE, outlook=replace(MILD, wet_spells_14d=2, dry_from=dry))
    assert decide(wet, scar(41.0, 46.0, 2.0)).earliest == dry
    assert decide(replace(MAPLE, vigour=Vigour.WEAK), scar(41.0, 46.0, 2.0)).act is Act.LEAVE


# --- calm, contradictions, gone ------------------------------------------------------------------


def test_twigs_with_nothing_in_doubt_are_left_alone_with_a_next_look() -> None:
    found = decide(MAPLE, twig())
    assert found.act is Act.LEAVE
    assert found.next_look is not None
    assert found.next_look > TODAY
    assert found.where.startswith("next look: ")


def test_calm_tree_leaves_at_least_seven_in_ten_branches_alone() -> None:
    parts = [branch(row=i, running=False) for i in range(1, 9)]
    parts += [at_reached(0.7, row=9), at_reached(0.8, row=10)]
    parts += [twig(row=i) for i in range(11, 60)]
    alone = [decide(MAPLE, part).act is Act.LEAVE for part in parts]
    assert sum(alone) / len(alone) >= 0.7


def test_contradiction_is_measured_again_before_any_cut() -> None:
    found = decide(MAPLE, branch(contradictions=("Base {31 mm} is thicker than its trunk",)))
    assert found.act is Act.LOOK_FIRST
    assert "thicker" in found.reasons[0].text


def test_gone_branch_is_only_left() -> None:
    found = decide(MAPLE, branch(gone=True, signs={"canker": TODAY}))
    assert (found.act, found.card) == (Act.LEAVE, "gone")


# --- health gate ---------------------------------------------------------------------------------

ZERO = {Act.WIRE_OFF, Act.KEEP_WIRE, Act.RUB, Act.LET_RUN, Act.RAISE, Act.GUY, Act.LOOK_FIRST,
        Act.GRAFT_WAIT, Act.LEAVE, Act.CUT_SICK}  # fmt: skip
_EVERYTHING = [
    branch(),
    at_reached(0.92),
    at_reached(0.7),
    branch(zone=Zone.APEX, node_mm=45.0, room_mm=100.0),
    branch(step=0.6),
    branch(wanted=False),
    branch(phase=Phase.RAMIFICATION, cluster=5),
    branch(phase=Phase.RAMIFICATION, knuckle=1.8),
    branch(elevation_deg=80.0),
    wired(window(off_by=TODAY)),
    approach_graft(),
    scar(41.0, 46.0, 2.0),
    bare_branch(kind=Kind.TOP, zone=Zone.APEX, phase=Phase.PRIMARY, inner=(inner(0.5),),
                provisional_since=date(2024, 6, 1), leaf_share=0.1, order=1),
]  # fmt: skip


@pytest.mark.parametrize("stage", list(Stage))
@pytest.mark.parametrize("vigour", [Vigour.WEAK, Vigour.FAILING])
def test_weak_tree_is_offered_only_works_that_cost_nothing(stage: Stage, vigour: Vigour) -> None:
    weak = replace(at_stage(MAPLE, stage), vigour=vigour, vigour_why="It is weak")
    for part in _EVERYTHING:
        found = decide(weak, part)
        assert found.act in ZERO
        assert all(note.act in ZERO for note in found.notes)


def test_tree_that_lost_over_two_fifths_of_its_leaf_counts_as_weak() -> None:
    assert decide(replace(MAPLE, leaf_loss=0.41), branch()).act is Act.LEAVE
    assert decide(replace(MAPLE, leaf_loss=0.40), branch()).act is Act.CUT_TO_PAIR


# --- the tree as a whole -------------------------------------------------------------------------


def acts_of(facts_tree: object, **changes: object) -> dict[Act, Verdict]:
    assert changes is not None
    found = tree_level(replace(facts_tree, **changes), [branch()])  # type: ignore[type-var]
    return {v.act: v for v in found}


def test_tree_level_fruit_show_repot_protect_and_strength() -> None:
    assert Act.FRUIT_OFF in acts_of(MAPLE, fruiting=True)
    fine = replace(MAPLE, phase=Phase.REFINEMENT)
    assert Act.FRUIT_OFF not in acts_of(fine, fruiting=True)
    assert Act.FRUIT_OFF in acts_of(fine, fruiting=True, vigour=Vigour.WEAK)
    assert Act.LOOK_FIRST in acts_of(MAPLE, vigour=None)
    assert Act.REST in acts_of(MAPLE, vigour=Vigour.WEAK)
    show = {"show_on": date(2026, 11, 28), "show_leafless": True}
    against = acts_of(MAPLE, **show, recovering="frost")[Act.REST]
    assert "against" in against.where
    assert "frost" in against.reasons[0].text
    fit = tree_level(replace(MAPLE, **show), [branch()])  # type: ignore[arg-type]
    assert any("fit for the show" in v.where for v in fit)
    due = acts_of(MAPLE, weeks_since_repot=170.0)[Act.REPOT]
    assert due.works == ()
    assert "buds swell" in due.where
    swell = acts_of(at_stage(MAPLE, Stage.SWELL), weeks_since_repot=170.0)[Act.REPOT]
    assert swell.works == (Work.REPOT,)


def test_alarm_is_a_job_for_the_day_before() -> None:
    heat = Alarm(AlarmKind.HEAT, date(2026, 6, 13), date(2026, 6, 16), 36.0, 33.0,
                 "36 °C", "common-practice", Grade.BORROWED, "move it into shade")  # fmt: skip
    found = acts_of(MAPLE, alarms=(heat,))[Act.PROTECT]
    assert (found.latest, found.harm) == (date(2026, 6, 12), Harm.IRREVERSIBLE)


def test_three_years_of_pinching_earn_a_rest() -> None:
    works = tuple(
        done(Work.PINCH, 52.0 * n + 5, on=date(2026 - n, 5, 5), this_season=n == 0)
        for n in range(3)
    )
    refined = replace(MAPLE, phase=Phase.REFINEMENT)
    assert any(v.card == "no pinching" for v in tree_level(replace(refined, works=works), []))
    assert not any(
        v.card == "no pinching" for v in tree_level(replace(refined, works=works[:2]), [])
    )


def test_leaf_dose_by_zone_moves_past_the_heat() -> None:
    fine = [
        branch(row=1, zone=Zone.APEX, phase=Phase.REFINEMENT, leaf_share=0.3),
        branch(row=2, zone=Zone.MIDDLE, phase=Phase.REFINEMENT, leaf_share=0.3),
        branch(row=3, zone=Zone.LOWER, phase=Phase.REFINEMENT, leaf_share=0.4),
    ]
    found = next(v for v in tree_level(MAPLE, fine) if v.act is Act.LEAF_THIN)
    # middle of 50-80 % up high, of 30-60 % half-way, nothing low
    assert "apex 65 %, middle 45 %" in found.where
    assert found.share == pytest.approx(0.65 * 0.3 + 0.45 * 0.3)
    hot = replace(MAPLE, outlook=HOT)
    moved = next(v for v in tree_level(hot, fine) if v.act is Act.LEAF_THIN)
    assert moved.earliest == date(2026, 6, 17)


def test_zone_wire_gets_its_verdict_on_the_tree() -> None:
    zone = bare_branch(row=-1, name="apex", order=0, wire=window(off_by=TODAY), wire_shoots=28)
    found = next(v for v in tree_level(replace(MAPLE, zone_wires=(zone,)), []) if v.card.startswith(
        "wire"))  # fmt: skip
    assert (found.act, found.row) == (Act.WIRE_OFF, -1)
    assert found.where.startswith("apex: ")


def test_a_base_just_below_the_line_says_why_the_verdict_still_stands() -> None:
    part = replace(branch(base_mm=14.0, trunk_mm=43.0, target_step=0.35, node_mm=30.0,
                          room_mm=150.0), reached_was=0.955)  # fmt: skip
    assert part.reached is not None
    assert 0.93 < part.reached < 0.95  # 14.0 of 15.05 mm
    found = decide(tree(), part)
    assert found.act is Act.CUT_TO_PAIR
    assert found.reasons[0].text == (
        "Its base of {14.0 mm} has reached 93 % of its target; it had passed 95 %, and the "
        "verdict turns back 2 points below"
    )
    thin = decide(tree(), replace(part, reached_was=0.94))
    assert thin.act is not Act.CUT_TO_PAIR
    assert "had passed" not in thin.reasons[0].text


def test_a_mark_on_a_twig_does_not_bar_a_show_but_one_on_a_primary_does() -> None:
    shown = replace(MAPLE, show_on=date(2026, 11, 28), show_leafless=True)
    bitten = window(seen_grade=3, likely_grade=3)
    twig_marked = tree_level(shown, [branch(), replace(twig(), wire=bitten)])
    assert any("fit for the show" in v.where for v in twig_marked)
    primary_marked = tree_level(shown, [replace(branch(), wire=bitten)])
    assert not any("fit for the show" in v.where for v in primary_marked)
    assert any("has a wire mark" in r.text for v in primary_marked for r in v.reasons)

"""Laws over all cards: one verdict each, unknown never emboldens, plain words, known sources.

Invasiveness, mildest first: nothing is taken (leave, look, keep, let run, raise, wait, rest,
feed); wire off; shoots, leaf, buds, a rim or new wire; a structural cut; a branch, a
graft's feed, roots or all leaves.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from written_facts import (
    HOT,
    MILD,
    TODAY,
    approach_graft,
    at_stage,
    bare_branch,
    branch,
    inner,
    scar,
    tree,
    twig,
    window,
    wired,
)

from boughwright.journal.terms import Job, Kind, Phase, Vigour, Zone
from boughwright.season.stages import Alarm, AlarmKind, Stage
from boughwright.sources import Grade, source
from boughwright.verdicts.cautions import CAUTIONS
from boughwright.verdicts.precedence import decide, decide_all
from boughwright.verdicts.tree_verdicts import tree_level
from boughwright.verdicts.verdict import Act, Verdict

if TYPE_CHECKING:
    from boughwright.verdicts.facts import BranchFacts, TreeFacts

INVASIVE: dict[Act, int] = dict.fromkeys(Act, 0) | {
    Act.WIRE_OFF: 1, Act.FRUIT_OFF: 1,
    Act.SHORTEN: 2, Act.CUT_TO_PAIR: 2, Act.CUT_TO_LEAF: 2, Act.RUB: 2, Act.TWO: 2, Act.PINCH: 2,
    Act.BUD_SELECT: 2, Act.LEAF_CLEAR: 2, Act.LEAF_THIN: 2, Act.LEAF_PAIR: 2, Act.WEAKEN: 2,
    Act.WIRE_ON: 2, Act.GUY: 2, Act.NOTCH: 2, Act.RIM: 2, Act.CUT_SICK: 2,
    Act.CUT_PAST: 3, Act.SWAP_LEADER: 3,
    Act.REMOVE: 4, Act.SEVER: 4, Act.GRAFT: 4, Act.REPOT: 4, Act.LEAF_FULL: 4,
}  # fmt: skip

# What is read or judged on a branch, and may be missing. Readings worked out from one another go
# together. Left out: what is only ever written down when it happens (jobs, wire, signs, local
# weakness, a branch not wanted, a cut, two leaves or fewer), where nothing on record means it did
# not happen.
_GROUPS: tuple[tuple[str, ...], ...] = (
    ("base_mm", "base_sd_mm", "base_age_days", "step", "reached", "reached_was"),
    ("trunk_mm", "target_base_mm", "step", "reached", "reached_was"),
    ("target_step", "target_base_mm", "reached", "reached_was"),
    ("reached_was",),
    ("node_mm", "internode_share"),
    ("room_mm", "internode_share"),
    ("zone",),
    ("phase",),
    ("leaf_share",),
    ("elevation_deg",),
    ("pair_level",),
    ("bud_inside",),
    ("cluster",),
    ("clusters",),
    ("knuckle",),
    ("outer",),
    ("inner",),
)
_TREE_GROUPS: tuple[tuple[str, ...], ...] = (
    ("vigour",),
    ("species", "opposite"),
    ("opposite",),
    ("weeks_to_colour",),
    ("extension_ratio",),
    ("phase",),
    ("repot_share",),
    ("days_in_leaf",),
)


def without(facts: Any, groups: tuple[tuple[str, ...], ...]) -> Any:
    gone: dict[str, Any] = {name: None for group in groups for name in group}
    if "inner" in gone:
        gone["inner"] = tuple(replace(i, ratio=None, plan_angle_deg=None) for i in facts.inner)
    return replace(facts, **gone)


@st.composite
def rich_trees(draw: st.DrawFn) -> TreeFacts:
    kinds = ["acer-campestre", "ulmus-parvifolia", "fagus-sylvatica", "zelkova-serrata"]
    facts = at_stage(
        tree(draw(st.sampled_from(kinds))),
        draw(st.sampled_from(list(Stage))),
        draw(st.sampled_from([None, TODAY])),
    )
    return replace(
        facts,
        vigour=draw(st.sampled_from(list(Vigour))),
        outlook=draw(st.sampled_from([MILD, HOT])),
        weeks_to_colour=draw(st.sampled_from([4.0, 12.0, 20.0])),
        extension_ratio=draw(st.sampled_from([0.5, 1.0])),
        recovering=draw(st.sampled_from(["", "repot"])),
    )


@st.composite
def rich_branches(draw: st.DrawFn) -> BranchFacts:
    """A branch with every reading known."""
    trunk = draw(st.floats(8, 60))
    part = branch(
        kind=draw(st.sampled_from([Kind.BRANCH, Kind.BRANCH, Kind.TOP])),
        order=draw(st.sampled_from([1, 1, 2])),
        zone=draw(st.sampled_from(list(Zone))),
        phase=draw(st.sampled_from(list(Phase))),
        wanted=draw(st.sampled_from([True, True, False])),
        trunk_mm=trunk,
        base_mm=trunk * draw(st.floats(0.1, 0.7)),
        target_step=draw(st.sampled_from([0.25, 0.30, 0.35])),
        node_mm=draw(st.floats(5, 60)),
        room_mm=100.0,
        leaf_share=draw(st.floats(0.01, 0.5)),
        elevation_deg=draw(st.floats(-90, 90)),
        pair_level=draw(st.booleans()),
        bud_inside=draw(st.booleans()),
        cluster=draw(st.integers(1, 6)),
        clusters=draw(st.integers(0, 4)),
        knuckle=draw(st.floats(1.0, 2.0)),
        running=draw(st.sampled_from([True, False, None])),
        vigour=draw(st.sampled_from([None, Vigour.WEAK])),
        job=draw(st.sampled_from([None, None, Job.SCAR_HELPER, Job.THICKEN])),
        provisional_since=draw(st.sampled_from([None, date(2024, 6, 1)])),
        inner=(inner(draw(st.floats(0.1, 0.8)), draw(st.floats(0, 90))),),
        rival=draw(st.sampled_from([None, "2R"])),
        shades=draw(st.sampled_from([(), ("1R",)])),
        feeds=draw(st.sampled_from([(), (), ("2.5Lg",)])),
        wire=draw(st.sampled_from([None, None, window(), window(off_by=TODAY)])),
        signs=draw(st.sampled_from([{}, {}, {"sprang": TODAY}, {"dieback": TODAY}])),
    )
    assert part.reached is not None
    return replace(part, reached_was=part.reached + draw(st.floats(-0.03, 0.03)))


@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(rich_trees(), rich_branches(), st.sets(st.sampled_from(_GROUPS), max_size=5),
       st.sets(st.sampled_from(_TREE_GROUPS), max_size=2))  # fmt: skip
def test_fewer_facts_never_lead_to_a_bolder_act(
    facts: TreeFacts,
    part: BranchFacts,
    groups: set[tuple[str, ...]],
    tree_groups: set[tuple[str, ...]],
) -> None:
    full = decide(facts, part)
    less = decide(without(facts, tuple(tree_groups)), without(part, tuple(groups)))
    assert INVASIVE[less.act] <= INVASIVE[full.act], (full.card, less.card)
    if less.act is full.act and less.card == full.card:
        assert less.sureness <= full.sureness


@pytest.mark.parametrize("missing", ["exit_mm", "entry_mm", "union_moves", "lips_joined",
                                     "grafted_on", "graft_kind"])  # fmt: skip
def test_each_fact_missing_of_a_ready_graft_leads_to_a_look(missing: str) -> None:
    found = decide(tree(), replace(approach_graft(), **{missing: None}))
    assert found.act is Act.LOOK_FIRST


@pytest.mark.parametrize(
    ("missing", "named"),
    [
        (("base_mm", "step", "reached", "base_age_days"), "caliper its base"),
        (("trunk_mm", "step", "reached", "target_base_mm"), "caliper the trunk beside it"),
        (("zone", "target_step", "reached", "target_base_mm"), "how high"),
        (("phase",), "which phase"),
        (("node_mm", "internode_share"), "first node"),
    ],
)
def test_look_first_names_the_one_fact_and_how_to_get_it(
    missing: tuple[str, ...], named: str
) -> None:
    assert decide(tree(), branch()).act is Act.CUT_TO_PAIR
    found = decide(tree(), without(branch(), (missing,)))
    assert found.act is Act.LOOK_FIRST
    assert named in found.where


def test_unknown_buds_and_unknown_strength_lead_to_a_look() -> None:
    assert decide(tree(opposite=None), branch()).act is Act.LOOK_FIRST
    assert decide(tree(vigour=None), branch()).act is Act.LOOK_FIRST


def test_readings_that_age_or_err_lower_the_sureness() -> None:
    fresh = decide(tree(), branch()).sureness
    old = decide(tree(), branch(base_age_days=401)).sureness
    near = decide(tree(), branch(base_mm=13.3, base_sd_mm=0.2)).sureness  # the line is 13.3
    guessed = decide(tree(vigour_grade=Grade.GUESS), branch(base_age_days=401)).sureness
    assert fresh > old > guessed
    assert fresh > near


# --- every verdict is whole, every sentence plain -------------------------------------------------


def _alarm(kind: AlarmKind) -> Alarm:
    return Alarm(kind, TODAY, TODAY + timedelta(days=2), 36.0, 33.0, "36 °C comes from 13 June",
                 "common-practice", Grade.BORROWED, "Move it into shade")  # fmt: skip


def all_verdicts() -> list[Verdict]:
    """What the cards say over many trees, stages and branches."""
    parts = [
        twig(), branch(), branch(phase=Phase.RAMIFICATION, cluster=4, clusters=3),
        branch(phase=Phase.REFINEMENT, zone=Zone.APEX, step=0.3, reached=1.0),
        branch(phase=Phase.RAMIFICATION, knuckle=1.9), branch(wanted=False, base_mm=14.0),
        branch(wanted=False, base_mm=2.0), branch(rival="2R", wanted=None), branch(shades=("1R",)),
        branch(zone=Zone.APEX, step=0.44, reached=1.7), branch(elevation_deg=70.0, running=False),
        branch(elevation_deg=70.0, base_mm=9.0, trunk_mm=25.0, running=False),
        twig(elevation_deg=85.0), branch(feeds=("2.5Lg",)), branch(base_mm=None),
        branch(base_mm=9.8, seasons_to_target=2.4), branch(base_mm=12.8), branch(gone=True),
        branch(base_mm=9.0, vigour=Vigour.WEAK, shaded_by="6R"),
        branch(zone=Zone.MIDDLE, node_mm=38.0, room_mm=100.0, running=False),
        branch(zone=Zone.APEX, node_mm=45.0, room_mm=100.0),
        branch(zone=Zone.APEX, node_mm=45.0, room_mm=100.0, bud_inside=False),
        branch(zone=Zone.APEX, node_mm=45.0, room_mm=100.0, bud_inside=None),
        branch(signs={"canker": TODAY}), branch(signs={"dead": TODAY}),
        branch(signs={"sprang": TODAY}, running=False, base_mm=9.0, trunk_mm=25.0),
        branch(contradictions=("Base {31 mm} is thicker than the trunk of {29 mm}",)),
        *(branch(job=job, job_for="scar front", job_until_base_mm=15.6) for job in Job),
        wired(window(seen_grade=3)), wired(window(off_by=TODAY)), wired(window(), running=False),
        wired(window(off_by=TODAY + timedelta(days=5)), base_mm=9.0),
        wired(window(hold_from=TODAY), running=False), wired(window(wirings=2), running=False),
        wired(window(look_by=TODAY, seen_on=None, seen_grade=-1), running=False),
        wired(window(), zone=Zone.APEX, node_mm=45.0, room_mm=100.0),
        approach_graft(), approach_graft(union_moves=None), approach_graft(union_gap=True),
        approach_graft(exit_mm=5.3), approach_graft(grafted_on=TODAY), scar(41.0, 46.0, 2.0),
        scar(40.0, 46.0, 1.0), scar(30.0, 46.0, 1.0), scar(41.0, None, None), scar(46.0, 46.0, 1.0),
        bare_branch(name="top", kind=Kind.TOP, zone=Zone.APEX, phase=Phase.PRIMARY,
                    leaf_share=0.05, inner=(inner(0.45),), provisional_since=date(2024, 6, 1)),
        bare_branch(name="top", kind=Kind.TOP, zone=Zone.APEX, phase=Phase.PRIMARY,
                    leaf_share=0.5, inner=(inner(0.45),), provisional_since=date(2024, 6, 1)),
        bare_branch(name="trunk", kind=Kind.TRUNK, order=0),
    ]  # fmt: skip
    found: list[Verdict] = []
    for kind in ("acer-campestre", "ulmus-parvifolia", "fagus-sylvatica", "malus-small-fruited"):
        for stage in Stage:
            for vigour in (None, Vigour.WEAK, Vigour.STRONG):
                facts = replace(
                    at_stage(tree(kind), stage),
                    vigour=vigour,
                    outlook=HOT if stage is Stage.HARD else MILD,
                    fruiting=True,
                    weeks_since_repot=180.0,
                    show_on=date(2026, 11, 28) if vigour is None else None,
                    disease={"spots": TODAY, "canker": TODAY} if vigour is None else {},
                    alarms=tuple(_alarm(kind) for kind in AlarmKind),
                    seasons_unfed=3,
                )
                found += [*decide_all(facts, parts), *tree_level(facts, parts)]
    return found


VERDICTS = all_verdicts()


def sentences(verdict: Verdict) -> list[str]:
    return [
        text
        for text in (
            verdict.where,
            verdict.flip,
            *verdict.never,
            *(reason.text for reason in verdict.reasons),
            *(note.text for note in verdict.notes),
        )
        if text
    ]


def test_every_verdict_is_whole() -> None:
    for verdict in VERDICTS:
        assert verdict.reasons, verdict
        assert any(reason.measure for reason in verdict.reasons), verdict
        assert all(source(reason.source) for reason in verdict.reasons)
        assert verdict.flip
        assert len(verdict.notes) <= 2
        assert verdict.caution == "" or verdict.caution in CAUTIONS
        assert 0.0 <= verdict.share <= 1.0
        if verdict.earliest is not None and verdict.latest is not None:
            assert verdict.earliest <= verdict.latest
        if verdict.act is Act.LEAVE and verdict.card != "gone":
            assert verdict.next_look is not None
        assert bool(verdict.minutes) <= bool(verdict.works) or verdict.act in (
            Act.LOOK_FIRST, Act.PROTECT)  # fmt: skip


def test_these_cases_reach_every_act_that_cards_give() -> None:
    not_given = {Act.GRAFT, Act.LEAF_CLEAR, Act.LEAF_FULL, Act.SEVER}
    assert {v.act for v in VERDICTS} >= set(Act) - not_given - {Act.LEAF_PAIR, Act.LEAF_THIN}


_BRANCH_NAME = re.compile(r"\b\d+(?:\.\d+)?[LRFB]g?(?:-\d+)*\b|\btop(?:-\d+)*\b")
_CODE = re.compile(r"\b[A-Z]{1,2}\d{1,2}\b|\b(?:TB|PS|RA|RE)\b|_|\bNone\b|\bnan\b")


def test_no_sentence_holds_an_internal_word() -> None:
    words = {text for verdict in VERDICTS for text in sentences(verdict)} | set(CAUTIONS.values())
    assert len(words) > 150
    for text in words:
        assert not _CODE.search(_BRANCH_NAME.sub("it", text)), text
        assert "!" not in text
        bare = re.sub(r"\{-?\d+(?:\.\d)? mm\}", "", text)
        assert " mm" not in bare, text  # lengths stand in braces
        assert "{" not in bare, text


def _syllables(word: str) -> int:
    groups = len(re.findall(r"[aeiouy]+", word.lower()))
    if word.lower().endswith("e") and not word.lower().endswith("le") and groups > 1:
        groups -= 1
    return max(1, groups)


def reading_grade(texts: list[str]) -> float:
    """Flesch-Kincaid grade: 0.39 words a sentence + 11.8 syllables a word - 15.59 (from memory)."""
    count = words = syllables = 0
    for text in texts:
        for sentence in re.split(r"[.;:]\s", text):
            found = re.findall(r"[A-Za-z']+", sentence.replace("mm", ""))
            if found:
                count += 1
                words += len(found)
                syllables += sum(map(_syllables, found))
    return 0.39 * words / count + 11.8 * syllables / words - 15.59


def test_sentences_read_at_school_grade_nine_or_below() -> None:
    every = sorted({text for verdict in VERDICTS for text in sentences(verdict)})
    assert reading_grade(every) <= 9.0
    assert reading_grade(list(CAUTIONS.values())) <= 9.0
    for text in every:
        if len(text.split()) >= 12:
            assert reading_grade([text]) <= 12.0, text


def test_same_facts_give_the_same_verdicts() -> None:
    assert all_verdicts() == VERDICTS

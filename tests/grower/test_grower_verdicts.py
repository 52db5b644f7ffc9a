"""From readings said at the bench to the verdict on a branch, with all the rest of the day between.

Written cases drawn from the rules of the trade; no grower was asked.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from grower_garden import Grower, by_name, empty_book, set_days, verdict_on

from boughwright.journal.events import BranchSet, TreeSet
from boughwright.journal.terms import Zone
from boughwright.verdicts.verdict import Act, Harm

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from boughwright.usecases.day import TreeDay
    from boughwright.verdicts.verdict import Verdict

GOOD: dict[str, Any] = {"bud_inside": True, "pair_level": True, "leaves": 8, "plan_angle_deg": 0.0}
"""A branch with nothing against a cut to its first pair."""
FIRST = date(2026, 6, 1)


def _one_branch(grower: Grower) -> Callable[[float, date], Verdict]:
    """Plant a maple whose 2R is thick enough at 12.0 mm: a trunk of 40 mm, a step of 0.30."""
    grower.plant(
        "maple", "Acer campestre",
        {"2R": GOOD | {"height_mm": 220.0, "clock": 3.0, "trunk": 40.0, "node": 25.0,
                       "room": 150.0}},
        phase="primary structure", height_mm=440.0,
    )  # fmt: skip
    grower.say("strong; hard", FIRST, "maple")

    def read(base: float, on: date) -> Verdict:
        grower.say(f"2R base {base}", on, "maple")
        return verdict_on(grower.tree_day("maple"), "2R")

    return read


@pytest.mark.parametrize(
    ("bases", "acts"),
    [
        ((11.39, 11.40), (Act.SHORTEN, Act.CUT_TO_PAIR)),  # 94.9 % and 95.0 %
        ((11.40, 11.17), (Act.CUT_TO_PAIR, Act.CUT_TO_PAIR)),  # 93.1 %: within 2 points
        ((11.40, 11.15), (Act.CUT_TO_PAIR, Act.SHORTEN)),  # 92.9 %: more than 2 points below
        ((11.39, 11.17), (Act.SHORTEN, Act.SHORTEN)),  # it was never there
        ((10.79, 10.80), (Act.LET_RUN, Act.SHORTEN)),  # 89.9 % and 90.0 %: half is enough
        ((10.80, 10.57, 10.55), (Act.SHORTEN, Act.SHORTEN, Act.LET_RUN)),
    ],
)
def test_thick_enough_flips_at_its_line_and_back_two_points_below(
    grower: Grower, bases: tuple[float, ...], acts: tuple[Act, ...]
) -> None:
    read = _one_branch(grower)
    found = [read(base, FIRST + timedelta(days=day)) for day, base in enumerate(bases)]
    assert tuple(one.act for one in found) == acts
    for one in found:
        assert "% of its target" in one.reasons[0].text
        assert one.flip


@pytest.mark.parametrize(
    ("bases", "acts"),
    [
        ((10.19, 10.20), (Act.RAISE, Act.LET_RUN)),  # 84.9 % and 85.0 %
        ((10.20, 9.97), (Act.LET_RUN, Act.LET_RUN)),  # 83.1 %: within 2 points
        ((10.20, 9.95), (Act.LET_RUN, Act.RAISE)),
        ((10.19, 9.97), (Act.RAISE, Act.RAISE)),
    ],
)
def test_a_weak_branch_is_raised_below_85_percent_only(
    grower: Grower, bases: tuple[float, ...], acts: tuple[Act, ...]
) -> None:
    read = _one_branch(grower)
    grower.say("2R weak", FIRST, "maple")
    found = [read(base, FIRST + timedelta(days=day)) for day, base in enumerate(bases)]
    assert tuple(one.act for one in found) == acts


def test_before_its_line_the_tip_stays_and_past_it_the_tip_goes(grower: Grower) -> None:
    read = _one_branch(grower)
    thin = read(9.0, FIRST)
    assert thin.act is Act.LET_RUN
    assert any("tip" in word for word in thin.never)
    thick = read(11.5, FIRST + timedelta(days=1))
    assert thick.act is Act.CUT_TO_PAIR
    assert not any("tip" in word for word in thick.never)


# --- internodes ---------------------------------------------------------------------------------


def _three_heights(grower: Grower, phase: str = "primary structure") -> None:
    """Plant a tree with one branch low, one in the middle, one in the apex, all thick enough."""
    steps = {"1L": (60.0, 0.35), "2R": (220.0, 0.30), "3L": (350.0, 0.25)}
    grower.plant(
        "maple", "Acer campestre",
        {name: GOOD | {"height_mm": height, "trunk": 40.0, "base": 40.0 * step * 1.02}
         for name, (height, step) in steps.items()},
        read_on=date(2026, 5, 30), phase=phase, height_mm=440.0,
    )  # fmt: skip
    grower.say("strong; hard", FIRST, "maple")


def _kept(found: Verdict) -> str:
    """Say in a word what becomes of the node: cut, kept for now, or kept."""
    if found.act is Act.CUT_PAST:
        return "cut"
    provisional = any(note.act in {Act.LEAVE, Act.CUT_PAST} for note in found.notes)
    return "for now" if provisional else "kept"


@pytest.mark.parametrize(
    ("node", "low", "middle", "apex"),
    [
        # Limits 0.40, 0.35, 0.30 of the room; up to a tenth above is kept for now.
        (38, "kept", "for now", "cut"),
        (42, "for now", "cut", "cut"),
        (34, "kept", "kept", "cut"),
        (31, "kept", "kept", "for now"),
        (29, "kept", "kept", "kept"),
        (45, "cut", "cut", "cut"),
    ],
)
def test_the_same_node_is_kept_low_kept_for_now_and_cut_in_the_apex(
    grower: Grower, node: int, low: str, middle: str, apex: str
) -> None:
    _three_heights(grower)
    grower.say(f"1L node {node} room 100; same 2R 3L", tree="maple")
    found = by_name(grower.tree_day("maple"))
    assert [found[n][0].zone for n in ("1L", "2R", "3L")] == list(Zone)
    assert [_kept(found[n][1]) for n in ("1L", "2R", "3L")] == [low, middle, apex]


def test_with_no_live_bud_inside_it_is_woken_and_not_cut(grower: Grower) -> None:
    _three_heights(grower)
    grower.say("1L node 45 room 100; same 2R 3L", tree="maple")
    for name in ("1L", "2R", "3L"):
        assert verdict_on(grower.tree_day("maple"), name).act is Act.CUT_PAST
        grower.put(BranchSet({"bud_inside": False}), date(2026, 6, 8), "maple", name)
        dead = verdict_on(grower.tree_day("maple"), name)
        assert dead.act is not Act.CUT_PAST
        assert not dead.structural
        grower.put(BranchSet({"bud_inside": None}), date(2026, 6, 9), "maple", name)
        assert verdict_on(grower.tree_day("maple"), name).act is Act.LOOK_FIRST


# --- weak trees and toll ------------------------------------------------------------------------

NO_TOLL = {
    Act.LEAVE, Act.LOOK_FIRST, Act.LET_RUN, Act.KEEP_WIRE, Act.WIRE_OFF, Act.RAISE, Act.RUB,
    Act.GRAFT_WAIT, Act.REST, Act.PROTECT, Act.FEED, Act.GUY, Act.FRUIT_OFF,
}  # fmt: skip
"""What a weak tree may have: works that cost it nothing, and what is no work."""


def _full_of_work(grower: Grower) -> None:
    """Plant a tree that a strong grower would cut, thin, notch and wire today."""
    _three_heights(grower, "ramification")
    more = {
        "4R": GOOD | {"height_mm": 390.0, "clock": 3.0, "trunk": 18.0, "base": 9.0},
        "5L": {"height_mm": 400.0, "clock": 9.0, "trunk": 18.0, "base": 5.0, "cluster": 5},
        "1L-1": {"parent": "1L", "along_mm": 30.0, "base": 4.0, "cluster": 5, "clusters": 3},
        "2R-1": {"parent": "2R", "along_mm": 30.0, "base": 4.0, "elevation_deg": 85.0},
        "2.5Lg": {"kind": "graft", "height_mm": 240.0, "graft_kind": "approach",
                  "grafted_on": date(2025, 6, 1), "donor": "2R", "weaned": False,
                  "union_moves": False, "lips_joined": True, "union_gap": False},
        "scar front": {"kind": "scar", "height_mm": 110.0},
    }  # fmt: skip
    grower.plant("maple", "Acer campestre", more, read_on=date(2026, 5, 30))
    grower.say("scar front open 46", date(2024, 6, 11), "maple")
    grower.say("scar front open 45", date(2026, 6, 2), "maple")
    grower.say("1L node 45 room 100; same 2R 3L", date(2026, 6, 2), "maple")
    grower.say("2R wire on 1.5 al", date(2026, 5, 1), "maple")


def _acts(day: TreeDay) -> set[Act]:
    told = [*day.verdicts, *day.whole]
    return {one.act for one in told} | {n.act for one in told for n in one.notes if n.works}


def test_a_weak_tree_is_offered_only_works_that_cost_it_nothing(grower: Grower) -> None:
    _full_of_work(grower)
    strong = _acts(grower.tree_day("maple"))
    assert len(strong - NO_TOLL) >= 4  # so that there is something to hold back
    grower.say("weak", date(2026, 6, 3), "maple")
    assert _acts(grower.tree_day("maple")) <= NO_TOLL
    call = grower.call_up()
    jobs = [job for tree in call["trees"] for job in tree["jobs"]]  # type: ignore[index, union-attr, call-overload]
    assert {Act(job["act"]) for job in jobs} <= NO_TOLL  # type: ignore[index, call-overload]
    assert all(job["toll"] == 0 for job in jobs)  # type: ignore[index, call-overload]


@pytest.mark.parametrize(
    ("phrase", "allowed"),
    [
        ("1L cut past node 1", False), ("2R cut to pair 1", False), ("leaf thin some", False),
        ("leaf full", False), ("5L two", False), ("scar front rim", False), ("repot", False),
        ("5L wire on 1.5 al", False), ("2.5Lg notch", False), ("pinch", False),
        ("2R wire off", True), ("2R-1 rub", True), ("5L guy on", True), ("turn", True),
    ],
)  # fmt: skip
def test_a_weak_tree_may_have_only_what_costs_it_nothing(
    grower: Grower, phrase: str, allowed: bool
) -> None:
    _full_of_work(grower)
    grower.say("weak", date(2026, 6, 3), "maple")
    told = grower.may_i("maple", phrase).answer
    assert (told.say.value == "yes") is allowed, told
    if not allowed:
        assert told.reasons
        assert told.condition or told.from_date or told.say.value == "never"


def test_biting_wire_comes_off_even_the_weakest_tree(grower: Grower) -> None:
    _full_of_work(grower)
    grower.say("failing; 2R bite 3", date(2026, 6, 8), "maple")
    found = verdict_on(grower.tree_day("maple"), "2R")
    assert (found.act, found.harm) == (Act.WIRE_OFF, Harm.IRREVERSIBLE)
    assert grower.may_i("maple", "2R wire off").answer.say.value == "yes"


def test_toll_that_is_spent_is_refused_with_the_day_it_frees(grower: Grower) -> None:
    """A strong tree bears 10 points a season, 6 of them in any six weeks.

    Grafts of a kind not told count as thread grafts, a point and a half each; four on 11 May leave
    none until six weeks later, 22 June.
    """
    _three_heights(grower)
    on = date(2026, 5, 11)
    for number in range(4):
        grower.say(f"{number + 0.5}B graft on from 1L", on, "maple")
    told = grower.may_i("maple", "leaf thin some").answer
    assert told.say.value == "not now"
    assert told.from_date == date(2026, 6, 22)
    (spent,) = [reason for reason in told.reasons if reason.measure == "toll"]
    assert (spent.value, spent.limit, spent.unit) == (2.0, 6.0, "points")  # what it takes, bears
    assert spent.text.startswith("It has spent 6 of ")
    assert grower.may_i("maple", "leaf thin some", day=date(2026, 6, 21)).answer.say.value != "yes"
    later = grower.may_i("maple", "leaf thin some", day=date(2026, 6, 22)).answer
    assert later.say.value == "yes" or all(r.measure != "toll" for r in later.reasons)
    # What costs nothing is not held up by it.
    assert grower.may_i("maple", "1L wire off").answer.say.value == "yes"


def test_verdicts_wait_for_the_toll_to_free_and_say_so(grower: Grower) -> None:
    _three_heights(grower)
    grower.say("1L node 25 room 100; same 2R 3L", date(2026, 6, 2), "maple")
    for name in ("2R", "3L"):
        assert verdict_on(grower.tree_day("maple"), name).act is Act.CUT_TO_PAIR
        assert verdict_on(grower.tree_day("maple"), name).earliest is None
    for number in range(4):
        grower.say(f"{number + 0.5}B graft on from 1L", date(2026, 5, 11), "maple")
    for name in ("2R", "3L"):
        found = verdict_on(grower.tree_day("maple"), name)
        assert found.earliest == date(2026, 6, 22)
        assert any(reason.measure == "toll" for reason in found.reasons)


def test_a_trim_on_a_branch_with_a_live_job_is_warned_off(grower: Grower) -> None:
    _three_heights(grower)
    grower.say("1L let run until base 16", date(2026, 5, 1), "maple")
    told = grower.may_i("maple", "1L cut to pair 1").answer
    assert told.say.value == "not now"
    assert "16" in f"{told.condition} {told.reasons}"
    assert verdict_on(grower.tree_day("maple"), "1L").act is Act.LET_RUN
    grower.say("1L base 16.1", date(2026, 6, 9), "maple")
    assert grower.may_i("maple", "1L cut to pair 1").answer.say.value == "yes"


# --- taking leaf --------------------------------------------------------------------------------


def _elm(grower: Grower, species: str = "Ulmus parvifolia") -> Grower:
    grower.plant(
        "tree", species,
        {"1L": {"height_mm": 60.0, "trunk": 38.0, "base": 14.0}},
        phase="ramification", height_mm=310.0, fruiting=False, read_on=date(2026, 5, 30),
    )  # fmt: skip
    grower.say("strong", date(2026, 6, 1), "tree")
    grower.say("first leaf", date(2026, 4, 15), "tree")
    grower.say("hard", date(2026, 5, 28), "tree")
    return grower


def _full(grower: Grower, day: date | None = None) -> str:
    told = grower.may_i("tree", "leaf full", day).answer
    assert told.say.value == "yes" or told.reasons
    return told.say.value


def test_a_strong_elm_with_nothing_against_it_may_lose_its_leaves(grower: Grower) -> None:
    assert _full(_elm(grower)) == "yes"


@pytest.mark.parametrize(
    ("phrase", "on"),
    [
        ("spots some", date(2026, 6, 8)),
        ("pest some", date(2026, 6, 8)),
        ("repot light", date(2026, 3, 20)),
        ("repot hard", date(2025, 3, 20)),
        ("leaf full", date(2025, 6, 20)),
        ("leaf thin most", date(2026, 6, 1)),
        ("weak", date(2026, 6, 8)),
    ],
)
def test_each_thing_alone_blocks_taking_all_leaves(grower: Grower, phrase: str, on: date) -> None:
    _elm(grower)
    assert _full(grower) == "yes"
    grower.say(phrase, on, "tree")
    assert _full(grower) != "yes"


def test_late_in_the_year_the_leaves_stay(grower: Grower) -> None:
    _elm(grower)
    said = [_full(grower, date(2026, month, 20)) for month in (6, 9)]
    assert said == ["yes", "not now"]


def test_a_phase_before_ramification_alone_blocks_it(grower: Grower) -> None:
    _elm(grower)
    grower.put(TreeSet({"phase": "primary structure"}), date(2026, 6, 8), "tree")
    assert _full(grower) != "yes"


@pytest.mark.parametrize(("hottest", "said"), [(32.9, "yes"), (33.5, "not now")])
def test_heat_on_its_way_alone_blocks_it(
    tmp_path: Path, calm: list[str], hottest: float, said: str
) -> None:
    told = {date(2026, 6, 15): f"2026-06-15,forecast,19.0,{hottest},0.0,60,1.0"}
    path = empty_book(tmp_path / "garden.book", tmp_path, set_days(calm, told))
    assert _full(_elm(Grower(path))) == said


@pytest.mark.parametrize(
    "species",
    ["Fagus sylvatica", "Fagus crenata", "Quercus robur", "Carpinus betulus",
     "Nothofagus antarctica", "Crataegus monogyna"],
)  # fmt: skip
def test_beech_and_its_like_are_never_offered_it(grower: Grower, species: str) -> None:
    _elm(grower, species)
    assert _full(grower) == "never"
    assert Act.LEAF_FULL not in _acts(grower.tree_day("tree"))
    for month in range(5, 10):
        assert _full(grower, date(2026, month, 15)) == "never" or month < 6


# --- nothing to do ------------------------------------------------------------------------------


def test_a_calm_tree_is_left_alone_by_seven_parts_in_ten(grower: Grower) -> None:
    """A refined elm in good order: bases met, no long node, no cluster, no wire."""
    branches: dict[str, dict[str, Any]] = {}
    for n in range(1, 9):
        trunk = 40.0 - 3.0 * n
        step = (0.35, 0.30, 0.25)[0 if n < 4 else 1 if n < 6 else 2]
        name = f"{n}{'LRB'[n % 3]}"
        branches[name] = GOOD | {
            "height_mm": 36.0 * n, "clock": float((n * 4) % 12), "trunk": trunk,
            "base": trunk * step * 1.03, "node": 8.0, "room": 40.0, "fork_order": 4,
        }  # fmt: skip
        for twig in range(1, 5):
            branches[f"{name}-{twig}"] = {
                "parent": name, "along_mm": 12.0 * twig, "base": 2.0, "cluster": 2,
                "outer": twig > 2,
            }  # fmt: skip
    grower.plant("elm", "Ulmus parvifolia", branches, read_on=date(2026, 5, 30),
                 phase="refinement", height_mm=310.0)  # fmt: skip
    grower.say("strong; hard", date(2026, 5, 25), "elm")
    grower.say("leaf thin some", date(2026, 6, 1), "elm")
    day = grower.tree_day("elm")
    alone = [one for one in day.verdicts if one.act is Act.LEAVE]
    assert len(alone) >= 0.7 * len(day.verdicts)
    for one in alone:
        assert one.reasons[0].text
        assert one.next_look is None or one.next_look > grower.today
    call = grower.call_up()
    (tree,) = [*call["trees"], *call["calm"]]  # type: ignore[misc]
    assert tree["name"] == "Elm"  # type: ignore[index, call-overload]


def test_a_branch_said_to_be_raised_is_not_asked_to_be_raised_again(demo: Grower) -> None:
    today = date(2026, 6, 9)
    asked = by_name(demo.tree_day("ditch", today))["5L"][1]
    assert asked.act is Act.RAISE
    demo.say("5L raise", today, "ditch field maple")
    assert by_name(demo.tree_day("ditch", today))["5L"][1].act is not Act.RAISE
    demo.say("5L lower", today, "ditch field maple")
    assert by_name(demo.tree_day("ditch", today))["5L"][1].act is Act.RAISE

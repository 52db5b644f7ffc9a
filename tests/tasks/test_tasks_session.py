"""The bench session: order, phrases, what is measured first, when to stop, and two pages at most.

The order of works is common practice in the trade. Trees other than those of the demonstration are
written cases; no agreement of growers is claimed.
"""

from __future__ import annotations

import ast
import json
import textwrap
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from tasks_garden import TODAY

import boughwright
from boughwright.benchwork.callup import tree_call
from boughwright.benchwork.fit import fit
from boughwright.benchwork.order import LEAF, STEPS, before
from boughwright.journal.events import LookAgain, Measured, Noted, Saw, Worked
from boughwright.journal.names import head_to_foot
from boughwright.journal.phrases import parse
from boughwright.journal.terms import Vigour, Work
from boughwright.usecases.bench_phrases import BLANK, LOOKS, OTHER_LOOKS, done_phrase
from boughwright.usecases.session import PLACE, session_of, session_shape
from boughwright.usecases.stop_rules import stop_rules
from boughwright.verdicts.precedence import decide_all
from boughwright.verdicts.verdict import Act

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tasks_garden import Forms

    from boughwright.usecases.day import GardenDay, TreeDay
    from boughwright.usecases.session import Session, SessionLine

PAGE_LINES, PAGE_WIDTH = 56, 92
"""Lines and letters of a printed page at 10 points."""


def lines_of(session: Session) -> Iterator[SessionLine]:
    for step in session.steps:
        yield from step.lines


def sessions(garden: GardenDay) -> Iterator[tuple[TreeDay, Session]]:
    for day in garden.trees:
        yield day, session_of(garden, day.facts.tree)


# --- what the verdicts ask for, and nothing else --------------------------------------------------


def test_every_job_of_the_call_up_that_is_due_stands_on_the_list(demo_garden: GardenDay) -> None:
    seen = 0
    for day, session in sessions(demo_garden):
        call = tree_call(day.facts, day.branches, (*day.whole, *day.verdicts))
        ids = day.tree.branches.ids
        listed = {(line.act, spot.branch) for line in lines_of(session) for spot in line.spots}
        listed |= {(line.act, spot.branch) for line in session.later for spot in line.spots}
        asked = {ask.branch for ask in session.asks}
        due = [job for job in call.jobs if job.earliest is None or job.earliest <= TODAY]
        for job in due:
            for row in job.rows:
                branch = ids[row] if row >= 0 else ""
                look = job.act is Act.LOOK_FIRST and branch in asked
                assert look or (job.act, branch) in listed, (session.name, job.act, branch)
                seen += 1
        told = sum(line.minutes for line in lines_of(session))
        looks = sum(job.minutes for job in due if job.act is Act.LOOK_FIRST)
        assert told == pytest.approx(sum(job.minutes for job in due), abs=looks + 1e-6)
        assert session.toll == pytest.approx(sum(job.toll for job in due))
    assert seen > 100


def test_nothing_of_another_day_is_on_the_list_of_today(demo_garden: GardenDay) -> None:
    for _, session in sessions(demo_garden):
        assert all(line.earliest is None or line.earliest <= TODAY for line in lines_of(session))
        assert all(
            line.act is Act.LOOK_FIRST or (line.earliest is not None and line.earliest > TODAY)
            for line in session.later
        )


def test_every_fact_on_the_list_is_one_of_its_verdict(demo_garden: GardenDay) -> None:
    """Each reason names what was measured or seen; where, never and why are the verdict's own."""
    for day, session in sessions(demo_garden):
        own = {v.row: v for v in day.verdicts}
        noted = {(v.row, note.act) for v in day.verdicts for note in v.notes}
        for line in lines_of(session):
            for spot in line.spots:
                assert spot.why == spot.reasons[0].text
                assert all(reason.measure and reason.source for reason in spot.reasons)
                if not spot.branch:
                    continue
                row = day.tree.branches.ids.index(spot.branch)
                if own[row].act is line.act:
                    assert (line.where, line.never) == (own[row].where, own[row].never)
                    assert spot.reasons == own[row].reasons
                else:
                    assert (row, line.act) in noted


def test_each_line_tells_a_pupil_place_act_way_and_what_never_to_do(
    demo_garden: GardenDay,
) -> None:
    hands = 0
    for _, session in sessions(demo_garden):
        for line in lines_of(session):
            if not line.works:
                continue
            hands += 1
            assert line.where, (session.name, line.act)
            assert line.why
            if line.act in LEAF | {Act.CUT_PAST, Act.SWAP_LEADER, Act.CUT_TO_PAIR, Act.WIRE_OFF}:
                assert line.never
    assert hands > 30


def page_lines(session: Session) -> int:
    """Count the lines of the session printed plainly, long ones folded."""
    told = [session.name, "", *(f"{ask.place}: {ask.phrase}" for ask in session.asks)]
    for step in session.steps:
        told.append(f"{step.number} {step.title}")
        for line in step.lines:
            places = ", ".join(line.names) or "whole tree"
            told.append(f"[ ] {places}: {line.act.value}, {line.where}. {line.why}")
            told += [f"    Never: {text}" for text in line.never]
    told += [f"Stop: {reason.text}" for reason in session.stop]
    told += [f"Let be: {one.name}, {one.where}. {one.why}" for one in session.hands_off]
    told += [f"Later: {', '.join(one.names)}: {one.act.value}" for one in session.later]
    return sum(max(1, len(textwrap.wrap(text, PAGE_WIDTH))) for text in told)


def test_the_sheet_of_every_tree_fits_two_pages(demo_garden: GardenDay) -> None:
    sizes = {session.name: page_lines(session) for _, session in sessions(demo_garden)}
    assert max(sizes.values()) <= 2 * PAGE_LINES, sizes
    assert sizes["Ditch field maple"] > PAGE_LINES / 2  # it is a real list that was counted


# --- the order ------------------------------------------------------------------------------------


def test_steps_come_in_order_and_break_no_arrow(demo_garden: GardenDay) -> None:
    for _, session in sessions(demo_garden):
        numbers = [step.number for step in session.steps]
        assert numbers == sorted(set(numbers))
        assert {1, 14, 15} <= set(numbers)
        assert [step.title for step in session.steps] == [STEPS[n] for n in numbers]
        acts = [
            (line.act, set(line.names))
            for step in session.steps
            for line in step.lines
            if (step.number, line.act) != (2, Act.PROTECT)  # hygiene goes with the sick wood
        ]
        for n, (act, names) in enumerate(acts):
            for later, other in acts[n + 1 :]:
                arrow = before(later, act)
                if arrow is None or before(act, later) is not None:
                    continue
                assert arrow.same_part, (session.name, later, act)
                assert names.isdisjoint(other), (session.name, later, act)


def test_what_bites_comes_off_first_and_the_top_before_the_foot(demo_garden: GardenDay) -> None:
    session = session_of(demo_garden, "Gate hornbeam")
    off = [line for line in lines_of(session) if line.act is Act.WIRE_OFF]
    assert off[0].names == ("top-1",)  # the one that has bitten
    assert [line.latest for line in off] == sorted(line.latest for line in off)
    for line in off:
        assert list(line.names) == sorted(line.names, key=head_to_foot)


def test_structural_cuts_go_largest_first(demo_garden: GardenDay) -> None:
    session = session_of(demo_garden, "Ditch field maple")
    cuts = [line for step in session.steps if step.number == 7 for line in step.lines]
    # 4R is 9.2 mm at its base, the leader 6.0 mm.
    assert [(line.act, line.names) for line in cuts] == [
        (Act.CUT_PAST, ("4R",)),
        (Act.SWAP_LEADER, ("top",)),
    ]


def test_leaf_is_cut_from_the_top_down_and_wire_put_on_from_the_bottom_up(forms: Forms) -> None:
    """Steps 0.55 at 300, 340 and 380 mm are too thick, so leaf goes there, the highest first.

    Branches that stand up at 70° and are thick enough get wire, the lowest first, and a side
    shoot after all of them: thick before thin.
    """
    tree = forms.plant("Wire maple", phase="ramification", height_mm=440)
    for name, height, clock in (("4R", 300, 2), ("6B", 380, 12), ("5L", 340, 10)):
        forms.branch(tree, name, height_mm=height, clock=clock, base=9.9, trunk=18)
    for name, height, clock, base in (
        ("3B", 175, 12, 9.1),
        ("1L", 95, 9, 9.3),
        ("2R", 130, 3, 9.8),
    ):
        forms.branch(tree, name, height_mm=height, clock=clock, base=base, trunk=26, leaves=2,
                     elevation_deg=70)  # fmt: skip
    forms.say("hard; strong; repot light", tree, date(2026, 6, 7))
    garden = forms.day(date(2026, 6, 8))
    day = garden.tree(tree)
    calm = replace(day.facts.outlook, hot_from=None, hot_to=None, t_max_10d_c=26.0)
    facts = replace(day.facts, outlook=calm, weeks_since_repot=60.0, works=(), alarms=())
    asked = fit(facts, day.branches, decide_all(facts, day.branches))
    cool = replace(day, facts=facts, verdicts=tuple(asked), whole=())
    session = session_of(replace(garden, trees=(cool,)), tree)
    every = [*lines_of(session), *session.later]
    leaf = [name for line in every if line.act is Act.WEAKEN for name in line.names]
    assert leaf == ["6B", "5L", "4R"]
    wire = [name for line in every if line.act is Act.WIRE_ON for name in line.names]
    assert wire == ["1L", "2R", "3B"]
    first = next(line for line in every if line.act is Act.WIRE_ON)
    assert first.phrase == "1L wire on __ al"


# --- phrases --------------------------------------------------------------------------------------


def test_each_phrase_says_the_work_of_its_line_and_reaches_its_branches(
    demo_garden: GardenDay,
) -> None:
    said = 0
    for _, session in sessions(demo_garden):
        for line in lines_of(session):
            for phrase, names in [
                (line.phrase, line.names),
                *((spot.phrase, (spot.name,) if spot.name else ()) for spot in line.spots),
            ]:
                if not line.works:
                    continue
                read = parse(phrase.replace(BLANK, "2"), today=TODAY)
                assert not read.doubts, phrase
                assert not read.unread, phrase
                (entry,) = read.entries
                (body,) = entry.bodies
                hygiene = isinstance(body, Noted) and line.act is Act.PROTECT
                assert entry.places == (names or (() if hygiene else ("all",)))
                assert hygiene or (isinstance(body, Worked) and body.work in line.works), phrase
                said += 1
    assert said > 100


def test_saying_what_was_done_takes_it_off_the_list(forms: Forms) -> None:
    """Said as the sheet writes it, a cut to the pair is no longer asked for the next day."""
    tree = forms.plant()
    fields = {"height_mm": 130, "clock": 3, "node": 40, "room": 150, "pair_level": True}
    forms.branch(tree, "1R", base=15.0, trunk=43, bud_inside=True, leaves=8, **fields)
    forms.say("hard; strong", tree, date(2026, 6, 7))
    (line,) = [
        line for line in lines_of(session_of(forms.day(), tree)) if line.act is Act.CUT_TO_PAIR
    ]
    assert line.phrase == "1R cut to pair 1"
    forms.say(line.phrase, tree)
    after = session_of(forms.day(TODAY + timedelta(days=1)), tree)
    assert all(line.act is not Act.CUT_TO_PAIR for line in lines_of(after))


def test_every_look_that_a_verdict_can_ask_for_has_an_answer() -> None:
    """The words that ask for a look, harvested from the rules, each have a phrase or a field."""
    root = Path(boughwright.__file__).parent / "verdicts"
    asked: set[str] = set()
    for file in root.glob("*.py"):
        tree = ast.parse(file.read_text("utf-8"))
        for call in ast.walk(tree):
            name = getattr(getattr(call, "func", None), "id", "")
            if isinstance(call, ast.Call) and name in {"look_first", "_ask"}:
                asked |= set(_texts(call.args[3] if name == "look_first" else call.args[0]))
            if isinstance(call, ast.Assign | ast.AnnAssign) and _is_how(call):
                asked |= set(_texts(call.value))
    starts = tuple(start for start, _ in OTHER_LOOKS)
    known = {text for text in asked if text in LOOKS or text.startswith((*starts, "caliper "))}
    assert len(known) > 15
    assert asked - known == set()


def _is_how(node: ast.Assign | ast.AnnAssign) -> bool:
    targets = node.targets if isinstance(node, ast.Assign) else [node.target]
    return any(isinstance(t, ast.Name) and t.id == "how" for t in targets)


def _texts(node: ast.AST | None) -> Iterator[str]:
    """Yield the texts an expression may be; a name stands for one harvested elsewhere."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from _texts(node.body)
        yield from _texts(node.orelse)
    elif isinstance(node, ast.JoinedStr):
        first = node.values[0]
        if isinstance(first, ast.Constant):
            yield str(first.value)


@pytest.mark.parametrize("how", sorted(LOOKS))
def test_each_form_of_a_look_parses_once_its_blank_is_filled(how: str) -> None:
    form = LOOKS[how]("4R")
    assert bool(form.phrases) != bool(form.field)
    for phrase in form.phrases:
        read = parse(phrase.replace(BLANK, "4"), today=TODAY)
        assert not read.doubts
        assert not read.unread
        bodies = [body for entry in read.entries for body in entry.bodies]
        measured = [body.what for body in bodies if isinstance(body, Measured)]
        assert tuple(measured) == form.what
        assert all(isinstance(body, Measured | Saw) for body in bodies)


@pytest.mark.parametrize(
    ("act", "where", "share", "phrase"),
    [
        (Act.WIRE_OFF, "cut and lift off", 0.0, "4R wire off cut"),
        (Act.WIRE_OFF, "cut, else unwind", 0.0, "4R wire off cut"),
        (Act.CUT_PAST, "just above node 1, at the live bud inside", 0.0, "4R cut past node 1"),
        (Act.CUT_PAST, "inside the knuckle, at a live shoot", 0.0, "4R cut to inner shoot"),
        (Act.CUT_TO_LEAF, "keep one leaf, the last bud", 0.0, "4R cut to leaf 1"),
        (Act.CUT_TO_LEAF, "keep one or two leaves", 0.0, "4R cut to leaf 2"),
        (Act.CUT_TO_PAIR, "to the next pair that lies left", 0.0, "4R cut to pair 2"),
        (Act.REMOVE, "flush at the collar, slightly hollow", 0.0, "4R cut to base"),
        (Act.REMOVE, "in two or three stages, half", 0.0, "4R cut half to collar"),
        (Act.WEAKEN, "thin half to two thirds", 0.6, "4R leaf thin half"),
        (Act.WEAKEN, "take 20 to 40 %", 0.3, "4R leaf thin some"),
        (Act.SHORTEN, "half the length of the running shoot", 0.1, "4R cut half"),
        (Act.SHORTEN, "trim beyond node 1 and let light in", 0.1, "4R cut light"),
        (Act.WIRE_ON, "aluminium of about {3.1 mm}", 0.1, "4R wire on __ al"),
        (Act.CUT_SICK, "{20 mm} into clean wood", 0.0, "4R cut to live wood"),
        (Act.REPOT, "", 0.25, "4R repot light"),
        (Act.FEED, "half dose", 0.0, "4R feed half"),
        (Act.LEAVE, "", 0.0, "4R ok"),
    ],
)
def test_the_phrase_of_an_act(act: Act, where: str, share: float, phrase: str) -> None:
    assert done_phrase(act, (Work.CUT,), ["4R"], where=where, share=share) == phrase


@pytest.mark.parametrize(
    ("places", "act", "phrase"),
    [
        ([], Act.LEAVE, "all ok"),
        ([], Act.LEAF_THIN, "all leaf thin few"),
        ([], Act.FEED, "all feed light"),
        (["lower"], Act.LEAVE, "low ok"),
        (["lower left"], Act.WIRE_OFF, "low left wire off"),
    ],
)
def test_a_phrase_names_the_whole_tree_and_no_place_that_is_a_work(
    places: list[str], act: Act, phrase: str
) -> None:
    said = done_phrase(act, (Work.FEED,), places, share=0.1)
    assert said == phrase
    (entry,) = parse(said, today=TODAY, last_place="4R").entries
    assert entry.places == (phrase.split(maxsplit=1)[0],) or entry.places == ("low left",)
    assert len(entry.bodies) == 1


def test_a_look_beside_another_verdict_has_its_answers(demo_garden: GardenDay) -> None:
    """On the oak two wires are to be graded beside another verdict on their branch."""
    looks = [
        spot for line in lines_of(session_of(demo_garden, "Hill oak"))
        for spot in line.spots if line.where == "look at the wire and log its grade"
    ]  # fmt: skip
    assert {"4L", "2R"} <= {spot.name for spot in looks}
    assert all(spot.answers == (f"{spot.name} bite {BLANK}",) for spot in looks)


# --- stop, look again, calm -----------------------------------------------------------------------


def stops(day: TreeDay, *acts: Act, works: tuple[Work, ...] = (), toll: float = 1.0) -> set[str]:
    return {reason.measure for reason in stop_rules(day, acts, works, toll=toll, minutes=40.0)}


def test_what_ends_a_session_follows_from_the_facts(demo_garden: GardenDay) -> None:
    maple = demo_garden.tree("Ditch field maple")
    told = session_of(demo_garden, "Ditch field maple").stop
    assert {reason.measure for reason in told} == {
        "toll", "heat", "cracking", "unweaned grafts", "bite grade",
    }  # fmt: skip
    heat = next(reason for reason in told if reason.measure == "heat")
    assert heat.text == "Be done by 12 June: heat over 33 °C comes on 13 June"
    # 4.5 points of 6 in six weeks: a graft of 11 May takes 1.5, today's list 3.
    toll = next(reason for reason in told if reason.measure == "toll")
    assert toll.value == pytest.approx(0.75, abs=0.001)
    # Nothing bent, nothing cut: no word of cracking, of grafts or of heat.
    assert stops(maple, Act.FEED, works=(Work.FEED,), toll=0.0) == set()


def test_a_weak_tree_a_limp_one_and_one_of_unknown_strength_stop_early(
    demo_garden: GardenDay,
) -> None:
    day = demo_garden.tree("Ditch field maple")
    calm = replace(day.facts.outlook, hot_from=None, hot_to=None, frost_on=None)
    for change, measure, words in (
        ({"vigour": Vigour.WEAK}, "strength", "weak tree"),
        ({"vigour": None}, "strength", "not known"),
        ({"wilting": True}, "wilt", "limp"),
    ):
        facts = replace(day.facts, outlook=calm, **change)
        found = stop_rules(replace(day, facts=facts), (), (), toll=1.0, minutes=30.0)
        assert any(r.measure == measure and words in r.text for r in found), change


def test_heat_frost_wet_and_dusk_stop_what_they_harm(demo_garden: GardenDay) -> None:
    day = demo_garden.tree("Ditch field maple")
    now = replace(day.facts.outlook, hot_from=TODAY, frost_on=TODAY + timedelta(days=3))
    hot = replace(day, facts=replace(day.facts, outlook=now))
    found = {
        r.measure: r.text for r in stop_rules(hot, (Act.RIM,), (Work.RIM,), toll=1, minutes=30)
    }
    assert "over 33 °C today" in found["heat"]
    assert "12 June" in found["frost"]
    assert "rain" in found
    assert "day length" not in found
    # 9 June at 46.4° N has about 15 h 42 of light; a quarter of it is under four hours.
    long = {r.measure: r for r in stop_rules(day, (), (), toll=1, minutes=240)}
    assert long["day length"].limit == pytest.approx(15.7, abs=0.1)
    assert "4.0 hours before sunset" in long["day length"].text


def test_the_next_look_is_the_first_that_anything_asks_for(forms: Forms) -> None:
    tree = forms.plant()
    forms.branch(tree, "1L", height_mm=95, clock=9, base=12.1, trunk=47)
    far = session_of(forms.day(), tree)
    forms.say("1L look 5d", tree)
    near = session_of(forms.day(), tree)
    assert near.look_again == TODAY + timedelta(days=5) < far.look_again
    assert near.look_at == "1L"
    label = next(step for step in near.steps if step.number == PLACE)
    (entry,) = parse(label.phrases[0], today=TODAY).entries
    assert entry.bodies == (LookAgain(near.look_again),)


def test_a_calm_tree_is_told_to_be_calm(forms: Forms) -> None:
    tree, day = forms.plant("Bare maple"), date(2026, 2, 25)
    forms.say("strong", tree, day)
    session = session_of(forms.day(day), tree)
    assert session.calm
    assert session.minutes == 0.0
    assert session.stop == ()
    assert session.look_again > day


def test_branches_grown_for_something_are_named_as_let_be(demo_garden: GardenDay) -> None:
    off = {one.name: one for one in session_of(demo_garden, "Ditch field maple").hands_off}
    assert set(off) == {"1L", "1.5F", "3.5Bg"}
    assert "Do not cut or pinch its tip" in off["1.5F"].never
    assert list(off) == sorted(off, key=head_to_foot)


def test_the_session_has_one_json_shape(demo_garden: GardenDay) -> None:
    for _, session in sessions(demo_garden):
        told = json.loads(json.dumps(session_shape(session)))
        assert (told["shape"], told["version"]) == ("boughwright/session", 1)
        assert len(told["asks"]) <= 5
        assert [step["step"] for step in told["steps"]] == [s.number for s in session.steps]

"""Verdicts fitted to what a tree can bear. Written cases; common practice behind the rules."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from datetime import date, timedelta

from bench_cases import HEAT, TODAY, WORK_OF, branch, done, tree, verdict
from hypothesis import given, settings
from hypothesis import strategies as st

from boughwright.benchwork.fit import fit
from boughwright.benchwork.order import step_of
from boughwright.benchwork.toll import LEAF, SIX_WEEKS, Load, sitting_points
from boughwright.journal.terms import Vigour, Work
from boughwright.verdicts.precedence import decide_all
from boughwright.verdicts.rules import ZERO_TOLL
from boughwright.verdicts.verdict import Act, Harm, Reason, SideNote

CUT = (Work.CUT,)


def test_verdicts_that_ask_for_nothing_pass_unchanged():
    rows = [branch(n) for n in range(4)]
    given_ = [verdict(Act.LEAVE, n) for n in range(4)]
    assert fit(tree(), rows, given_) == given_


def test_a_field_maples_list_splits_into_two_sittings():
    """Graft on 11 May (1.5 points) and 7 points of works; six weeks bear six, the season ten.

    Heat comes from 13 June: three structural cuts are pressed before it and go today (3 points,
    4.5 used). The rim takes 1 from 17 June (5.5). The other three structural cuts find no room
    until 22 June, six weeks after the graft: 4 are used then, so two of them go. The last waits
    for 21 July, six weeks after today.
    """
    works = (done(Work.GRAFT_IN, date(2026, 5, 11), 20),)
    maple = tree(outlook=HEAT, works=works)
    rows = [branch(n) for n in range(1, 10)]
    before, after = date(2026, 6, 12), date(2026, 6, 17)
    given_ = [verdict(Act.WIRE_OFF, 1, (Work.WIRE_OFF,), latest=TODAY, harm=Harm.IRREVERSIBLE)]
    given_ += [verdict(Act.CUT_PAST, n, CUT, structural=True, latest=before) for n in (2, 3, 4)]
    given_ += [verdict(Act.RIM, 6, (Work.RIM,), earliest=after, latest=date(2026, 7, 1))]
    given_ += [verdict(Act.SWAP_LEADER, n, CUT, structural=True) for n in (7, 8, 9)]
    found = fit(maple, rows, given_)
    by_row = {v.row: v for v in found}
    assert by_row[1] == given_[0]
    assert all(by_row[n].earliest is None for n in (2, 3, 4))
    assert by_row[6].earliest == after
    assert by_row[7].earliest == date(2026, 6, 22)
    assert by_row[8].earliest == date(2026, 6, 22)
    assert by_row[9].earliest == date(2026, 7, 21)
    assert "points of toll it bears in six weeks" in by_row[7].reasons[-1].text
    assert by_row[9].act is Act.SWAP_LEADER


def test_what_cannot_be_undone_passes_on_a_failing_tree_in_heat():
    wire = verdict(Act.WIRE_OFF, 1, (Work.WIRE_OFF,), harm=Harm.IRREVERSIBLE, latest=TODAY)
    sick = verdict(Act.CUT_SICK, 2, CUT, harm=Harm.IRREVERSIBLE)
    rows = [branch(1), branch(2, signs={"canker": TODAY})]
    facts = tree(vigour=Vigour.FAILING, outlook=HEAT, leaf_loss=0.8)
    assert fit(facts, rows, [wire, sick]) == [wire, sick]


def test_a_weak_tree_keeps_only_works_that_cost_nothing():
    rows = [branch(n) for n in range(len(WORK_OF))]
    given_ = [verdict(act, n, (work,), share=0.3) for n, (act, work) in enumerate(WORK_OF.items())]
    found = fit(tree(vigour=Vigour.WEAK), rows, given_)
    for before, after in zip(given_, found, strict=True):
        if after.works:
            assert set(after.works) <= ZERO_TOLL
        else:
            assert after.act is Act.LEAVE
            assert any(r.text == f"It would be: {before.act.value}" for r in after.reasons)
            assert (after.minutes, after.harm) == (0.0, Harm.NONE)
    assert {v.act for v in found if v.works} >= {Act.WIRE_OFF, Act.RUB, Act.FEED}


def test_a_refused_cut_takes_back_the_wire_off_before_it():
    note = SideNote(Act.CUT_PAST, "Cut past: node 1", CUT, Harm.IMPROVEMENT, minutes=4.0,
                    share=0.1, structural=True)  # fmt: skip
    off = verdict(Act.WIRE_OFF, 1, (Work.WIRE_OFF,), card="wire before cut", notes=(note,))
    assert fit(tree(), [branch(1)], [off]) == [off]
    soon = replace(off, notes=(replace(note, latest=date(2026, 6, 12)),))
    assert fit(tree(), [branch(1)], [soon])[0].latest == date(2026, 6, 12)  # as its cut
    weak = fit(tree(vigour=Vigour.WEAK), [branch(1)], [off])[0]
    assert (weak.act, weak.works, weak.notes) == (Act.LEAVE, (), ())
    spent = tuple(done(Work.RIM, date(2026, 6, 1), row) for row in range(2, 8))
    later = fit(tree(works=spent), [branch(1)], [off])[0]  # 6 of 6; frees 1 June + 42 days
    assert later.earliest == later.notes[0].earliest == date(2026, 7, 13)
    assert later.notes[0].text == "Cut past: node 1, from 13 July"


def test_a_note_that_is_refused_stays_as_words():
    note = SideNote(Act.CUT_TO_PAIR, "Cut to pair", CUT, Harm.IMPROVEMENT, share=0.1)
    rub = verdict(Act.RUB, 1, (Work.RUB,), notes=(note,))
    found = fit(tree(vigour=Vigour.WEAK), [branch(1)], [rub])[0]
    assert found.act is Act.RUB
    assert found.notes[0].works == ()
    assert found.notes[0].text.startswith("Cut to pair; not now: it is weak")


def test_a_tree_rested_from_pinching_is_not_pinched():
    rest = verdict(Act.REST, -1, card="no pinching", reasons=(Reason("Pinched three years"),))
    pinch = verdict(Act.PINCH, 1, (Work.PINCH,), share=0.1)
    found = fit(tree(), [branch(1)], [rest, pinch])
    assert found[1].act is Act.LEAVE
    assert found[1].reasons[0].text == "Pinched three years"


def test_a_steady_tree_bears_one_big_work_a_flush():
    steady = tree(vigour=Vigour.STEADY)
    rows = [branch(n) for n in range(1, 4)]
    thin = verdict(Act.LEAF_THIN, -1, (Work.LEAF_THIN,), share=0.4, harm=Harm.FEEDS)
    wire = verdict(Act.WIRE_ON, 2, (Work.WIRE_ON,), share=0.6)
    found = fit(steady, rows, [thin, wire])
    assert found[0] == thin
    assert found[1].act is Act.LEAVE
    assert "one big work a flush" in found[1].reasons[0].text


ITEMS = st.lists(
    st.tuples(
        st.sampled_from([a for a in WORK_OF if a not in (Act.SEVER, Act.NOTCH, Act.GRAFT)]),
        st.sampled_from([h for h in Harm if h is not Harm.NONE]),
        st.floats(0.01, 0.6),
        st.booleans(),
        st.integers(0, 20),
    ),
    max_size=25,
)


@given(ITEMS, st.sampled_from([Vigour.STRONG, Vigour.STEADY, Vigour.WEAK]))
@settings(max_examples=80, deadline=None)
def test_whatever_the_list_the_limits_hold(drawn, vigour):
    rows = [branch(n) for n in range(len(drawn))]
    given_ = [
        verdict(act, n, (WORK_OF[act],), harm=harm, share=share,
                structural=big and act in (Act.CUT_PAST, Act.SWAP_LEADER),
                earliest=TODAY + timedelta(days=wait) if wait else None)
        for n, (act, harm, share, big, wait) in enumerate(drawn)
    ]  # fmt: skip
    found = fit(tree(vigour=vigour), rows, given_)
    assert [v.row for v in found] == [v.row for v in given_]
    days: dict[date, list[Load]] = defaultdict(list)
    forced = False
    for before, after in zip(given_, found, strict=True):
        if before.harm is Harm.IRREVERSIBLE:
            assert after == before
            forced = forced or not set(before.works) <= ZERO_TOLL
        if not after.works:
            assert after.act is Act.LEAVE
            continue
        assert after.act is before.act
        assert (after.earliest or TODAY) >= (before.earliest or TODAY)
        assert after.latest is None or after.latest >= (after.earliest or TODAY)
        part = 0.12 if after.works[0] in LEAF else after.share
        days[after.earliest or TODAY] += [
            Load(w, after.share, part, structural=after.structural) for w in after.works
        ]
    if forced:  # what must be done may overrun; nothing else may then be added to those weeks
        return
    for start in days:
        window = [sitting_points(v) for d, v in days.items() if start <= d < start + SIX_WEEKS]
        most = {Vigour.STRONG: 6.0, Vigour.STEADY: 4.2, Vigour.WEAK: 0.0}[vigour]
        assert sum(window) <= most + 1e-9, (start, days)
    assert all(1 <= step_of(v.act) <= 15 for v in found)


def test_a_calm_tree_is_left_alone_by_seven_parts_in_ten():
    """Written case: a refined tree of ten primaries cut this flush and their forty twigs."""
    works = tuple(done(Work.CUT, date(2026, 6, 4), n, share=0.2) for n in range(1, 11))
    calm = tree(works=works)
    rows = [branch(n, running=False) for n in range(1, 11)]
    rows += [
        branch(n, order=2, base_mm=None, step=None, reached=None, target_base_mm=None,
               node_mm=None, room_mm=None, internode_share=None, wanted=None, leaf_share=None)
        for n in range(11, 51)
    ]  # fmt: skip
    found = fit(calm, rows, decide_all(calm, rows))
    left = sum(v.act is Act.LEAVE for v in found)
    assert left >= 0.7 * len(rows), {v.act for v in found}

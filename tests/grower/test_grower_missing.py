"""Facts taken from a tree one by one: the tool grows less sure and asks; it never grows bolder."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

import pytest

from boughwright.journal.events import BranchSet, Event, Measured, TreeSet, Withdrawn
from boughwright.store.book import Book
from boughwright.verdicts.precedence import decide
from boughwright.verdicts.verdict import Act, Sureness, Verdict

if TYPE_CHECKING:
    from grower_garden import Grower

    from boughwright.journal.terms import Quantity

TREE = "ditch-field-maple"
BOLDNESS: dict[Act, int] = dict.fromkeys(Act, 0) | {
    Act.WIRE_OFF: 1, Act.FRUIT_OFF: 1,
    Act.SHORTEN: 2, Act.CUT_TO_PAIR: 2, Act.CUT_TO_LEAF: 2, Act.RUB: 2, Act.TWO: 2, Act.PINCH: 2,
    Act.BUD_SELECT: 2, Act.LEAF_CLEAR: 2, Act.LEAF_THIN: 2, Act.LEAF_PAIR: 2, Act.WEAKEN: 2,
    Act.WIRE_ON: 2, Act.GUY: 2, Act.NOTCH: 2, Act.RIM: 2, Act.CUT_SICK: 2,
    Act.CUT_PAST: 3, Act.SWAP_LEADER: 3,
    Act.REMOVE: 4, Act.SEVER: 4, Act.GRAFT: 4, Act.REPOT: 4, Act.LEAF_FULL: 4,
}  # fmt: skip
"""What an act takes: nothing, wire or fruit, shoots and leaf, the line of a limb, the limb."""

READ = ("base", "trunk", "node", "room", "exit", "entry", "open")
JUDGED = ("height_mm", "zone", "target_step", "phase", "bud_inside", "pair_level", "cluster",
          "clusters", "knuckle", "outer", "elevation_deg", "plan_angle_deg", "union_moves",
          "lips_joined", "graft_kind")  # fmt: skip
"""Facts that are read or judged. What is only written when it happens is left: no record of a cut,
a wire, a job or a sign means that there was none."""


class _Forgetter:
    """Takes facts of the demonstration's field maple back to unknown, in its book."""

    def __init__(self, grower: Grower) -> None:
        self.grower = grower
        mine = [event for event in grower.events() if event.tree == TREE]
        self.readings: dict[tuple[str, Quantity], list[Event]] = {}
        self.judged: dict[str, set[str]] = {}
        rows = grower.tree_day(TREE).tree.branches
        self.id_of = dict(zip(rows.names, rows.ids, strict=True))
        for event in mine:
            if isinstance(event.body, Measured) and event.branch:
                self.readings.setdefault((event.branch, event.body.what), []).append(event)
            elif isinstance(event.body, BranchSet) and event.branch:
                known = {k for k, v in event.body.fields.items() if v is not None}
                self.judged.setdefault(event.branch, set()).update(known)

    def facts(self, branch: str) -> list[str]:
        read = {what.value for one, what in self.readings if one == branch}
        return [*(one for one in READ if one in read),
                *(one for one in JUDGED if one in self.judged.get(branch, ()))]  # fmt: skip

    def forget(self, branch: str, fact: str) -> None:
        now = datetime(2026, 6, 9, 21, tzinfo=UTC)
        if fact in READ:
            told = [e for (one, what), group in self.readings.items() if one == branch
                    and what.value == fact for e in group]  # fmt: skip
            events = [Event(Withdrawn(e.id), e.on, tree=TREE, recorded=now) for e in told]
        else:
            body = BranchSet({fact: None})
            events = [Event(body, date(2026, 6, 9), tree=TREE, branch=branch, recorded=now)]
        with Book.open(self.grower.path) as book:
            assert book.append(events) == len(events)

    def verdicts(self) -> dict[str, Verdict]:
        day = self.grower.tree_day(TREE)
        return {branch.name: decide(day.facts, branch) for branch in day.branches}


MAIN = ("1L", "2R", "2.5Lg", "3B", "3.5Bg", "4R", "5L", "6R", "top", "scar front")


@pytest.fixture
def forgetter(demo: Grower) -> _Forgetter:
    return _Forgetter(demo)


@pytest.mark.parametrize("branch", MAIN)
def test_forgetting_facts_of_a_branch_one_by_one_only_asks_for_them(
    forgetter: _Forgetter, branch: str
) -> None:
    was = forgetter.verdicts()
    full, key = was[branch], forgetter.id_of[branch]
    facts = forgetter.facts(key)
    assert facts
    for fact in facts:
        forgetter.forget(key, fact)
        now = forgetter.verdicts()
        for name, found in now.items():
            before = was[name]
            assert BOLDNESS[found.act] <= BOLDNESS[before.act], (fact, name, before, found)
            if found.act is before.act and found.card == before.card:
                assert found.sureness <= before.sureness, (fact, name)
        was = now
    last = was[branch]
    assert BOLDNESS[last.act] <= 1
    if BOLDNESS[full.act] > 1:
        assert last.act is Act.LOOK_FIRST
        assert last.sureness is Sureness.DOUBTFUL
        assert last.where  # which fact, and how to get it


def test_forgetting_the_strength_of_the_tree_makes_it_ask(demo: Grower) -> None:
    day = demo.tree_day(TREE)
    bold = {b.name: decide(day.facts, b) for b in day.branches}
    demo.put(TreeSet({"vigour": None, "norm_extension_mm": None}), date(2026, 6, 9), TREE)
    now = demo.tree_day(TREE)
    assert now.facts.vigour is None
    for branch in now.branches:
        assert BOLDNESS[decide(now.facts, branch).act] <= BOLDNESS[bold[branch.name].act]
    assert any(one.act is Act.LOOK_FIRST for one in (*now.verdicts, *now.whole))

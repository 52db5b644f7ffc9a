"""Fitting verdicts to what the tree can bear: dates moved, sittings split, the rest put off.

Each card looks at one branch. Here they meet: pairs that exclude each other, the quiet time of
works on record and the toll of the whole list. Most urgent first; what does not fit gets the day
that frees it, or waits with the reason. What cannot be undone if skipped always passes.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

from boughwright.benchwork.may_i import may_i, must
from boughwright.benchwork.pairs import Done, heavy_of
from boughwright.benchwork.toll import (
    FREE,
    LEAF,
    MEDIUM,
    ONE_BRANCH,
    Load,
    Spent,
    Toll,
    past_load,
    sitting_points,
    toll_of,
)
from boughwright.journal.terms import Kind, Vigour, Work
from boughwright.verdicts.answer import Answer, Say, strictest
from boughwright.verdicts.making import next_look
from boughwright.verdicts.rules import LARGE_WOUND
from boughwright.verdicts.verdict import Act, Harm, Reason, SideNote, Sureness, Verdict
from boughwright.verdicts.words import day

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from boughwright.verdicts.facts import BranchFacts, TreeFacts

TRIES: Final = 5
"""How often a date may be moved on before the work is left for another season."""
NEXT_SEASON: Final = timedelta(days=60)
"""A work put off this far into another season is no longer on this list."""
PINCH_REST: Final = "no pinching"
"""The rule that rests a whole tree from pinching."""
BEFORE_CUT: Final = "wire before cut"
"""The rule that takes wire off only because the wired part goes: it follows its cut."""


@dataclass(slots=True)
class _Item:
    """A verdict, or one of its side notes, that asks for works."""

    verdict: int
    note: int
    """-1 for the verdict itself."""
    act: Act
    row: int
    works: tuple[Work, ...]
    harm: Harm
    earliest: date | None
    latest: date | None
    share: float
    structural: bool
    day: date | None = None
    refused: Answer | None = None
    moved_by: Answer | None = None


@dataclass(slots=True)
class _Plan:
    """What is on the list so far."""

    tree: TreeFacts
    toll: Toll
    branches: dict[int, BranchFacts]
    sittings: dict[date, list[Load]] = field(default_factory=lambda: defaultdict(list))
    done: list[Done] = field(default_factory=list)
    no_pinch: Reason | None = None
    spent: list[Spent] = field(default_factory=list)

    def cost(self, loads: list[Load], on: date) -> float:
        """Return what loads add to the sitting of a day."""
        there = self.sittings.get(on, [])
        return sitting_points([*there, *loads]) - sitting_points(there)

    def add(self, item: _Item, loads: list[Load], on: date) -> None:
        """Put works on the list of a day."""
        cost = self.cost(loads, on)
        if cost > 0:
            self.sittings[on] += loads
            self.spent.append(Spent(on, cost))
        for load in loads:
            kind = heavy_of(load.work, load.dose, hard=load.hard)
            if kind is not None:
                self.done.append(Done(kind, on, item.row))


def fit(
    tree: TreeFacts, branches: Sequence[BranchFacts], verdicts: Sequence[Verdict]
) -> list[Verdict]:
    """Pass verdicts through the rules of the whole tree.

    Parameters
    ----------
    tree : TreeFacts
    branches : sequence of BranchFacts
    verdicts : sequence of Verdict
        One for each branch, and those on the tree (row -1).

    Returns
    -------
    list of Verdict
        In the order given. ``earliest`` is moved where toll, pairs or quiet time ask for it; acts
        that have no day become *leave alone* with the reason.
    """
    items = _items(verdicts)
    if not items:
        return list(verdicts)
    plan = _Plan(tree, toll_of(tree), {b.row: b for b in branches})
    plan.no_pinch = next((v.reasons[0] for v in verdicts if v.card == PINCH_REST), None)
    for item in sorted(items, key=_urgency):
        _place(plan, item)
    by_verdict: dict[int, list[_Item]] = defaultdict(list)
    for item in items:
        by_verdict[item.verdict].append(item)
    return [
        _fitted(tree, verdict, by_verdict[n]) if n in by_verdict else verdict
        for n, verdict in enumerate(verdicts)
    ]


def _items(verdicts: Iterable[Verdict]) -> list[_Item]:
    found = []
    for n, v in enumerate(verdicts):
        if v.works:
            found.append(_Item(n, -1, v.act, v.row, v.works, v.harm, v.earliest, v.latest,
                               v.share, v.structural))  # fmt: skip
        found += [
            _Item(n, k, note.act, v.row, note.works, note.harm, note.earliest, note.latest,
                  note.share, note.structural)
            for k, note in enumerate(v.notes) if note.works
        ]  # fmt: skip
    return found


def _urgency(item: _Item) -> tuple[int, date, date, int, int]:
    return (item.harm, item.latest or date.max, item.earliest or date.min, item.verdict, item.note)


def loads_of(
    branch: BranchFacts | None, works: Iterable[Work], share: float, *, hard: bool, structural: bool
) -> list[Load]:
    """Return the works of a verdict as the toll sees them.

    A verdict states leaf as a share of what its branch bears, all else as a share of the tree.
    """
    bears = 1.0
    if branch is not None and branch.row >= 0:
        bears = ONE_BRANCH if branch.leaf_share is None else branch.leaf_share
    chop = hard and branch is not None and branch.kind is Kind.TRUNK
    return [
        Load(work, share, bears if work in LEAF else 1.0 if work is Work.REPOT else share, hard,
             structural and work is Work.CUT, chop, None if branch is None else branch.graft_kind)
        for work in works if work not in FREE
    ]  # fmt: skip


def is_hard(branch: BranchFacts | None, act: Act, share: float) -> bool:
    """Return whether an act is a large wound, or takes over 30 % of the roots."""
    if act is Act.REPOT:
        return share > 0.3
    if act is not Act.REMOVE or branch is None or branch.base_mm is None:
        return False
    return branch.trunk_mm is None or branch.base_mm / branch.trunk_mm > LARGE_WOUND


def _ask_share(item: _Item, work: Work) -> float | None:
    """Return the share a condition is asked with: cuts that shape are asked without one."""
    if work in LEAF or work is Work.REPOT:
        return item.share
    return 0.5 if item.act is Act.SHORTEN else None


def _place(plan: _Plan, item: _Item) -> None:
    """Find the day of one item, or refuse it."""
    tree, branch = plan.tree, plan.branches.get(item.row)
    hard = is_hard(branch, item.act, item.share)
    loads = loads_of(branch, item.works, item.share, hard=hard, structural=item.structural)
    day_asked = max(item.earliest or tree.today, tree.today)
    passes = item.harm is Harm.IRREVERSIBLE or all(must(branch, w) for w in item.works)
    if passes or not loads:  # works that cost nothing were held to their conditions by the card
        item.day = day_asked
        plan.add(item, loads, day_asked)
        return
    for _ in range(TRIES):
        answer = _ask(plan, item, branch, loads, day_asked, hard=hard)
        if answer.say is Say.YES:
            item.day = day_asked
            plan.add(item, loads, day_asked)
            return
        item.moved_by = answer
        then = answer.from_date
        if answer.say is Say.NEVER or then is None or then <= day_asked:
            break
        if then >= plan.toll.new_season and then - tree.today > NEXT_SEASON:
            item.moved_by = replace(answer, condition="the next season")
            break
        day_asked = then
    item.refused = item.moved_by


def _ask(
    plan: _Plan, item: _Item, branch: BranchFacts | None, loads: list[Load], on: date, *, hard: bool
) -> Answer:
    toll = plan.toll.also(plan.spent)
    cost = plan.cost(loads, on)
    if plan.no_pinch is not None and Work.PINCH in item.works:
        return Answer(Say.NOT_NOW, (plan.no_pinch,), None, "a flush with no pinching is over")
    answers = [
        may_i(plan.tree, branch, work, on, _ask_share(item, work), hard=hard,
              structural=item.structural, planned=plan.done, toll=toll, cost=cost)
        for work in item.works
    ]  # fmt: skip
    second = _second_medium(plan, loads)
    return strictest(answers if second is None else [*answers, second])


def _second_medium(plan: _Plan, loads: list[Load]) -> Answer | None:
    """Refuse what would make a second medium work in one flush on a steady tree."""
    if plan.toll.bears is not Vigour.STEADY:
        return None
    groups: dict[Work, list[Load]] = defaultdict(list)
    mine = {load.work for load in loads if not load.structural}
    past = [past_load(w) for w in plan.tree.works if w.this_flush and w.work not in FREE]
    listed = [load for day_loads in plan.sittings.values() for load in day_loads]
    for load in (*past, *listed, *loads):
        if not load.structural:
            groups[load.work].append(load)
    medium = {work for work, group in groups.items() if sitting_points(group) >= MEDIUM}
    if len(medium) < 2 or not mine & medium:
        return None
    reason = Reason("A steady tree bears one big work a flush", "big works", 2.0, 1.0)
    return Answer(Say.NOT_NOW, (reason,), None, "the next flush is hard")


def _fitted(tree: TreeFacts, verdict: Verdict, items: list[_Item]) -> Verdict:
    """Return a verdict with what became of it and its notes."""
    notes = list(verdict.notes)
    main = verdict
    for item in items:
        if item.note >= 0:
            notes[item.note] = _note(tree, notes[item.note], item)
        elif item.refused is not None:
            main = _waits(tree, verdict, item.refused)
        else:
            main = _moved(tree, verdict, item)
    main = replace(main, notes=tuple(notes))
    cut = next((i for i in items if i.note >= 0 and Work.CUT in i.works), None)
    if verdict.card == BEFORE_CUT and cut is not None:
        if cut.refused is not None:
            return replace(_waits(tree, verdict, cut.refused), notes=())
        moved, last = _moved(tree, main, cut), notes[cut.note].latest
        return moved if last is None else replace(moved, latest=min(moved.latest or last, last))
    return main


def _moved(tree: TreeFacts, verdict: Verdict, item: _Item) -> Verdict:
    """Return a verdict on the day it was given; unchanged when that is the day it asked for."""
    if item.day is None or item.day <= max(verdict.earliest or tree.today, tree.today):
        return verdict
    late = verdict.latest is not None and verdict.latest < item.day
    return replace(
        verdict, earliest=item.day, latest=None if late else verdict.latest,
        reasons=verdict.reasons + (item.moved_by.reasons if item.moved_by else ()),
        sureness=min(verdict.sureness, Sureness.LIKELY), next_look=item.day,
        harm=Harm.IMPROVEMENT if verdict.harm is Harm.WINDOW else verdict.harm,
    )  # fmt: skip


def _note(tree: TreeFacts, note: SideNote, item: _Item) -> SideNote:
    if item.refused is not None:
        why = item.refused.reasons[0].text if item.refused.reasons else "it cannot bear it"
        return SideNote(note.act, f"{note.text}; not now: {why[0].lower()}{why[1:]}")
    if item.day is None or item.day <= max(note.earliest or tree.today, tree.today):
        return note
    late = note.latest is not None and note.latest < item.day
    bare = note.text.split(", from ")[0] if note.earliest else note.text
    return replace(note, text=f"{bare}, from {day(item.day)}", earliest=item.day,
                   latest=None if late else note.latest)  # fmt: skip


def _waits(tree: TreeFacts, verdict: Verdict, answer: Answer) -> Verdict:
    """Return the *leave alone* of an act the tree cannot bear now."""
    wish = replace(verdict.reasons[0], text=f"It would be: {verdict.act.value}")
    return replace(
        verdict, act=Act.LEAVE, where=answer.instead, reasons=(*answer.reasons, wish),
        flip=answer.condition or verdict.flip, sureness=min(verdict.sureness, Sureness.LIKELY),
        harm=Harm.NONE, earliest=None, latest=None, minutes=0.0, works=(), share=0.0,
        structural=False, caution="", next_look=answer.from_date or next_look(tree),
    )  # fmt: skip

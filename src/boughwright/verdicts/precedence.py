"""Which card leads on a branch: exactly one main verdict, two side notes at most.

Harm now comes first; then a job the branch must do, grafts, thickening, wire that is set or due,
what is too thick or competes, internodes and leaders, shoots and buds, new wire, finishing cuts,
and at the end *leave alone*. Common practice in the trade puts them in this order. The health of
the tree is asked inside each card, so an act the tree cannot bear never comes this far.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Final, TypeAlias

from boughwright.journal.terms import Kind
from boughwright.verdicts import (
    cards_cut,
    cards_grafts_scars,
    cards_grow,
    cards_leaf,
    cards_safety,
    cards_shoots,
    cards_wire,
)
from boughwright.verdicts.again import done_lately
from boughwright.verdicts.facts import BranchFacts, TreeFacts
from boughwright.verdicts.looks import by_the_look
from boughwright.verdicts.making import is_waiting, leave, note_of
from boughwright.verdicts.rules import SAFE_ACTS
from boughwright.verdicts.verdict import Act, SideNote, Verdict

if TYPE_CHECKING:
    from collections.abc import Iterable

Card: TypeAlias = Callable[[TreeFacts, BranchFacts], Verdict | None]

RANKED: Final[tuple[tuple[int, Card], ...]] = (
    (1, cards_wire.harm_now),
    (1, cards_safety.canker),
    (2, cards_safety.dying),
    (3, cards_grow.live_job),
    (4, cards_grafts_scars.graft),
    (4, cards_grafts_scars.rim),
    (5, cards_grow.contradiction),
    (6, cards_grow.thicken),
    (7, cards_wire.due),
    (7, cards_wire.look),
    (8, cards_cut.unwanted),
    (8, cards_cut.rival),
    (8, cards_cut.thick_for_place),
    (8, cards_leaf.shading),
    (9, cards_cut.swap_leader),
    (9, cards_cut.node_past),
    (10, cards_shoots.useless),
    (10, cards_shoots.knuckle),
    (10, cards_shoots.cluster),
    (10, cards_shoots.buds),
    (11, cards_wire.wire_on),
    (12, cards_cut.cut_back),
    (12, cards_leaf.pinch),
    (13, cards_wire.keep),
    (13, cards_cut.node_kept),
)
"""Every card with its rank, in the order they are asked."""

_WIRE: Final = (cards_wire.harm_now, cards_wire.due, cards_wire.look, cards_wire.keep)
_SICK: Final = (cards_safety.canker, cards_safety.dying, cards_grow.contradiction)
_BY_KIND: Final[dict[Kind, frozenset[Card]]] = {
    Kind.TRUNK: frozenset((*_WIRE, *_SICK)),
    Kind.ROOT: frozenset((*_WIRE, *_SICK, cards_cut.unwanted)),
    Kind.SCAR: frozenset((cards_safety.canker, cards_grow.contradiction, cards_grafts_scars.rim)),
}
_TABLE: Final[dict[Kind, tuple[Card, ...]]] = {
    kind: tuple(card for _, card in RANKED if kind not in _BY_KIND or card in _BY_KIND[kind])
    for kind in Kind
}

_CUTS: Final = frozenset({Act.CUT_PAST, Act.SWAP_LEADER, Act.REMOVE})
_ON_SHOOTS: Final = frozenset({Act.TWO, Act.RUB, Act.BUD_SELECT})
_WIRES: Final = frozenset({Act.WIRE_OFF, Act.KEEP_WIRE, Act.LOOK_FIRST})
_ANY_CUT: Final = _CUTS | {Act.CUT_TO_PAIR, Act.CUT_TO_LEAF, Act.TWO, Act.SHORTEN, Act.WEAKEN}
_TOGETHER: Final[dict[Act, frozenset[Act]]] = {
    Act.LET_RUN: _WIRES | {Act.RUB},
    Act.RAISE: _WIRES,
    Act.SHORTEN: _WIRES | {Act.TWO, Act.RUB},
    Act.WIRE_OFF: _ANY_CUT | {Act.RUB, Act.LET_RUN, Act.RAISE, Act.PINCH},
    Act.WEAKEN: _WIRES | {Act.TWO, Act.RUB},
    Act.CUT_PAST: _WIRES | {Act.TWO, Act.RUB},
    Act.SWAP_LEADER: _WIRES | {Act.TWO, Act.RUB},
    Act.CUT_TO_PAIR: _WIRES | {Act.GUY},
    Act.CUT_TO_LEAF: _WIRES | {Act.GUY},
    Act.TWO: _WIRES | {Act.CUT_TO_PAIR, Act.CUT_TO_LEAF},
    Act.LOOK_FIRST: _WIRES,
    Act.GRAFT_WAIT: _WIRES,
    Act.WIRE_ON: frozenset({Act.CUT_TO_PAIR, Act.CUT_TO_LEAF}),
    Act.GUY: frozenset({Act.CUT_TO_PAIR, Act.CUT_TO_LEAF}),
}
"""Which acts may stand as a side note beside a main verdict."""


def decide(tree: TreeFacts, branch: BranchFacts) -> Verdict:
    """Return the one main verdict on a branch, with at most two side notes."""
    found = _decided(tree, branch)
    return by_the_look(tree, found) if tree.looks and not branch.gone else found


def _decided(tree: TreeFacts, branch: BranchFacts) -> Verdict:
    if branch.gone:
        return leave(tree, branch)
    main: Verdict | None = None
    waits: Verdict | None = None
    others: list[Verdict] = []
    for card in _TABLE[branch.kind]:
        found = card(tree, branch)
        if found is None or done_lately(tree, branch, found):
            continue
        if main is not None:
            others.append(found)
        elif is_waiting(found):
            waits = waits or found
        elif waits is None or found.act in SAFE_ACTS or _stands_alone(branch, found):
            main = found
    if main is None:
        return waits or leave(tree, branch)
    if main.act in _CUTS and branch.wire is not None:
        main, others = _wire_leads(tree, branch, main, others)
    return _with_notes(main, others) if others else main


def _stands_alone(branch: BranchFacts, found: Verdict) -> bool:
    """Tell whether a light work on shoots goes on while a greater one waits for its day."""
    return found.act in _ON_SHOOTS and branch.wanted is not False


def _wire_leads(
    tree: TreeFacts, branch: BranchFacts, cut: Verdict, others: list[Verdict]
) -> tuple[Verdict, list[Verdict]]:
    """Put wire off before a cut that takes the wired part: wire hides what to cut."""
    off = next((v for v in others if v.act is Act.WIRE_OFF), None)
    off = off or cards_wire.before_cut(tree, branch, cut)
    return off, [cut, *(v for v in others if v.act not in _WIRES)]


def _with_notes(main: Verdict, others: list[Verdict]) -> Verdict:
    fits = _TOGETHER.get(main.act, frozenset())
    notes: list[SideNote] = list(main.notes)
    for other in others:
        group = next((g for g in (_ANY_CUT, _WIRES) if other.act in g), {other.act})
        if len(notes) < 2 and other.act in fits and all(n.act not in group for n in notes):
            notes.append(note_of(other))
    return main if len(notes) == len(main.notes) else replace(main, notes=tuple(notes))


def decide_all(tree: TreeFacts, branches: Iterable[BranchFacts]) -> tuple[Verdict, ...]:
    """Return the main verdict of every branch, in the order given."""
    return tuple(decide(tree, branch) for branch in branches)

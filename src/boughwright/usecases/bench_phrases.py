"""The bench phrase that logs an act as done, and the phrase that answers a look.

A phrase is written by the same writer that reads it back, so that a tap, a typed line and a spoken
one say the same. Where a number must be read first, ``__`` stands in its place.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.health.signs import HYGIENE
from boughwright.journal.events import Noted, Saw, Worked
from boughwright.journal.names import is_name, is_zone, normal_zone
from boughwright.journal.receipt import write
from boughwright.journal.terms import AMOUNT_SHARE, Amount, Kind, Quantity, Sign, Work
from boughwright.verdicts.looks import LOOK_AGAIN
from boughwright.verdicts.verdict import Act

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from boughwright.journal.events import Body
    from boughwright.verdicts.facts import BranchFacts, TreeFacts
    from boughwright.verdicts.verdict import Verdict

BLANK = "__"
"""Stands where a number is to be read."""
EVERYWHERE = "all"
"""Place of what is said of the whole tree, so that no branch named before is meant."""
NODE_PAST = "past node 1"
LARGE_STAGES = "in two or three stages"
"""How a large branch is taken off; its phrase must not say that it is gone."""
CLEANED = "sick leaves bagged, blades cleaned"
"""Note that logs the rounds against disease."""
SPOKEN_AMOUNTS = (Amount.FEW, Amount.SOME, Amount.HALF, Amount.MOST)
"""How much leaf went, in the words said at the bench, small before large."""


@dataclass(frozen=True, slots=True)
class Form:
    """How a look is answered.

    ``phrases`` are said, with ``BLANK`` for a number; each is one way to answer. ``field`` names
    the field of a form that holds the answer when no phrase does.
    """

    phrases: tuple[str, ...] = ()
    field: str = ""
    what: tuple[Quantity, ...] = ()


# --- acts that are done ---------------------------------------------------------------------------


def _cut_to(to: str) -> Callable[[str, float], Body]:
    return lambda where, share: Worked(Work.CUT, to=to)


def _plain(work: Work) -> Callable[[str, float], Body]:
    return lambda where, share: Worked(work)


def _leaf(work: Work) -> Callable[[str, float], Body]:
    return lambda where, share: Worked(work, amount=amount_word(share) if share else None)


def amount_word(share: float) -> Amount:
    """Return the bench word nearest to a share of the leaf; of two as near, the smaller."""
    return min(SPOKEN_AMOUNTS, key=lambda word: round(abs(AMOUNT_SHARE[word] - share), 9))


def _wire_off(where: str, share: float) -> Body:
    del share
    method = next((word for word in ("cut", "unwound") if word in where), "")
    return Worked(Work.WIRE_OFF, method="unwound" if where.startswith("unwind") else method)


def _past(where: str, share: float) -> Body:
    del share
    return Worked(Work.CUT, to="inner shoot" if "knuckle" in where else NODE_PAST)


def _to_leaf(where: str, share: float) -> Body:
    del share
    return Worked(Work.CUT, to="leaf 1" if "one leaf" in where else "leaf 2")


def _to_pair(where: str, share: float) -> Body:
    del share
    return Worked(Work.CUT, to="pair 2" if where.startswith("to the next pair") else "pair 1")


def _off(where: str, share: float) -> Body:
    del share
    if where.startswith(LARGE_STAGES):
        return Worked(Work.CUT, amount=Amount.HALF, to="collar")
    return Worked(Work.CUT, to="base")


def _shorten(where: str, share: float) -> Body:
    del share
    return Worked(Work.CUT, amount=Amount.LIGHT if where.startswith("trim") else Amount.HALF)


def _feed(where: str, share: float) -> Body:
    del share
    words = {"full dose": Amount.FULL, "half dose": Amount.HALF}
    return Worked(Work.FEED, amount=words.get(where, Amount.LIGHT))


def _repot(where: str, share: float) -> Body:
    del where
    return Worked(Work.REPOT, amount=Amount.HARD if share > 0.3 else Amount.LIGHT)


_DONE: dict[Act, Callable[[str, float], Body]] = {
    Act.WIRE_OFF: _wire_off,
    Act.CUT_PAST: _past,
    Act.SWAP_LEADER: _cut_to("inner shoot"),
    Act.SHORTEN: _shorten,
    Act.CUT_TO_PAIR: _to_pair,
    Act.CUT_TO_LEAF: _to_leaf,
    Act.REMOVE: _off,
    Act.CUT_SICK: _cut_to("live wood"),
    Act.WEAKEN: _leaf(Work.LEAF_THIN),
    Act.LEAF_THIN: _leaf(Work.LEAF_THIN),
    Act.LEAF_PAIR: _leaf(Work.LEAF_PAIR),
    Act.LEAF_CLEAR: _leaf(Work.LEAF_CLEAR),
    Act.LEAF_FULL: _plain(Work.LEAF_FULL),
    Act.FEED: _feed,
    Act.REPOT: _repot,
    Act.RAISE: _plain(Work.RAISE),
    Act.GUY: _plain(Work.GUY_ON),
    Act.RUB: _plain(Work.RUB),
    Act.TWO: _plain(Work.TWO),
    Act.PINCH: _plain(Work.PINCH),
    Act.BUD_SELECT: _plain(Work.BUD_SELECT),
    Act.NOTCH: _plain(Work.NOTCH),
    Act.SEVER: _plain(Work.SEVER),
    Act.RIM: _plain(Work.RIM),
    Act.FRUIT_OFF: _plain(Work.FRUIT_OFF),
}
"""The work that each act is logged as, from its place and its share."""

LET_BE = frozenset({Act.LEAVE, Act.LET_RUN, Act.KEEP_WIRE, Act.GRAFT_WAIT, Act.REST})
"""Acts that ask for no hand: looking and finding it well is all there is to log."""


def _plain_place(place: str) -> str:
    """Return a place so that its words name nothing but a place: ``lower`` is a work as well."""
    return normal_zone(place) if not is_name(place) and is_zone(place) else place


def done_phrase(
    act: Act, works: Sequence[Work], places: Sequence[str], *, where: str = "", share: float = 0.0
) -> str:
    """Return the phrase that logs an act as done; reading it back gives one of its works.

    Parameters
    ----------
    act : Act
    works : sequence of Work
        Those the verdict asks for.
    places : sequence of str
        Branch names or zones; empty for the whole tree, which is then named: ``all ok``.
    where : str
        The verdict's own words for the place and the way.
    share : float
        Share of the leaf or roots taken, 0..1; 0 unknown.

    Returns
    -------
    str
        Empty when nothing can be said of it: an act whose result has to be looked at first.
    """
    place = ", ".join(_plain_place(one) for one in places) or EVERYWHERE
    if act is Act.WIRE_ON:
        return f"{place} wire on {BLANK} al"
    if act is Act.PROTECT:
        hygiene = where.startswith(HYGIENE[0])
        if hygiene and works:
            return write(Noted(CLEANED))
        return write(Worked(works[0]), place) if works else ""
    if act in LET_BE:
        return write(Saw(Sign.OK), place)
    make = _DONE.get(act)
    return "" if make is None else write(make(where, share), place)


# --- looks that are answered ----------------------------------------------------------------------


def blank(place: str, *what: Quantity, marked: bool = False) -> str:
    """Return the phrase of some readings with blanks: ``4R node __ room __``."""
    tail = " marked" if marked else ""
    return " ".join(filter(None, (place, *(f"{one.value} {BLANK}{tail}" for one in what))))


def _read(*what: Quantity, marked: bool = False) -> Callable[[str], Form]:
    return lambda place: Form((blank(place, *what, marked=marked),), what=what)


def _signs(*said: Body) -> Callable[[str], Form]:
    return lambda place: Form(tuple(write(body, place) for body in said))


def _field(name: str) -> Callable[[str], Form]:
    return lambda place: Form(field=name)


_B, _T = Quantity.BASE, Quantity.TRUNK
_STRENGTHS = (Saw(Sign.STRONG), Saw(Sign.STEADY), Saw(Sign.WEAK), Saw(Sign.FAILING))

LOOKS: dict[str, Callable[[str], Form]] = {
    "caliper its base and the trunk beside it": _read(_B, _T),
    "caliper its base": _read(_B),
    "caliper the base": _read(_B),
    "caliper the trunk beside it": _read(_T),
    "feel if it is soft or woody": _read(_B),
    "measure its first node and the room beyond it": _read(Quantity.NODE, Quantity.ROOM),
    "measure it again at the marked spot": _read(_B, marked=True),
    "measure how wide the scar is open": _read(Quantity.OPEN),
    "measure how wide the scar is open again next season": _read(Quantity.OPEN),
    "measure the wood above the union and the feed below it": _read(Quantity.EXIT, Quantity.ENTRY),
    "say how high on the trunk it starts": _read(Quantity.HEIGHT),
    "measure the tree from the soil to its outline": lambda _place: _read(Quantity.HEIGHT)(""),
    "look at the wire and log its grade": lambda place: Form((f"{place} bite {BLANK}".strip(),)),
    "say how strong the tree grows": lambda _place: _signs(*_STRENGTHS)(""),
    "look for a gap at the union": _signs(Saw(Sign.GAP), Saw(Sign.GAP, amount=Amount.NONE)),
    "try by hand if the union moves": _signs(Saw(Sign.MOVED), Saw(Sign.MOVED, amount=Amount.NONE)),
    "scratch the bark at two points and look for green": _signs(Saw(Sign.DEAD), Saw(Sign.OK)),
    "look if the lips have joined all round": _field("lips_joined"),
    "say if it is a thread or an approach graft": _field("graft_kind"),
    "say when it was grafted": _field("grafted_on"),
    "say which phase it is in": _field("phase"),
    "look for a live bud at the node inside": _field("bud_inside"),
    "look if its buds stand in pairs": _field("species"),
    LOOK_AGAIN: lambda place: _signs(Saw(Sign.OK))(_plain_place(place) or EVERYWHERE),
}
"""How each look is answered, by the words that ask for it."""

OTHER_LOOKS: tuple[tuple[str, str], ...] = (
    ("choose between this and ", "wanted"),
    ("look at the angle of ", "plan_angle_deg"),
)
"""Looks that name another branch, by how they begin, with the field that answers them."""
_CALIPER = "caliper "


def look_form(verdict: Verdict, tree: TreeFacts, branch: BranchFacts | None) -> Form:
    """Return how a *look first* is answered: by a phrase with blanks, words, or a field."""
    how = verdict.where.rpartition(": ")[2] if branch is None else verdict.where
    place = _place(verdict, tree, branch)
    if how in LOOKS:
        made = LOOKS[how](place)
        trunk = branch is not None and branch.kind is Kind.TRUNK
        return _of_trunk(made, place) if trunk else made
    for start, name in OTHER_LOOKS:
        if how.startswith(start):
            return Form(field=name)
    if how.startswith(_CALIPER):
        return Form(tuple(blank(name, _B) for name in _named(how, branch)), what=(_B,))
    return Form()


def _place(verdict: Verdict, tree: TreeFacts, branch: BranchFacts | None) -> str:
    if branch is not None:
        return branch.name
    return place_named(verdict, tree)


def place_named(verdict: Verdict, tree: TreeFacts) -> str:
    """Return the zone or branch that a verdict on the tree as a whole names, else nothing."""
    zones = (*(zone.name for zone in tree.zone_wires), *(look.place for look in tree.looks))
    return next((zone for zone in zones if zone and verdict.where.startswith(f"{zone}: ")), "")


def _of_trunk(form: Form, place: str) -> Form:
    """Ask the trunk for its own thickness, above the root flare."""
    if _B not in form.what:
        return form
    return Form((blank(place, _T, marked=True),), what=(_T,))


def _named(how: str, branch: BranchFacts | None) -> list[str]:
    """Return the inner shoots that a look names; none when it means the primaries at large."""
    inner = branch.inner if branch is not None else ()
    return [shoot.name for shoot in inner if shoot.ratio is None and shoot.name in how]

"""Signs of disease and injury: which are active, what may cause them, and what to do first.

A sign is not a diagnosis. Each likely cause comes with a test that tells it from the others, and
the last word belongs to someone who has the plant in hand. Leaf spots are mostly fungal, so no
remedy against bacteria is ever named; no product is named at all. Common practice in the trade.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

from boughwright.journal.terms import AMOUNT_SHARE, Amount, Sign
from boughwright.tree.looks import found as still_there
from boughwright.tree.looks import holds

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from boughwright.tree.model import Seen


@dataclass(frozen=True, slots=True)
class Cause:
    """One likely cause of a sign, and the test that speaks for or against it."""

    name: str
    test: str


ACTIVE_DAYS: Final[dict[Sign, int]] = {
    Sign.SPOTS: 45, Sign.CURL: 45, Sign.MILDEW: 45, Sign.PEST: 30, Sign.CANKER: 730,
    Sign.DIEBACK: 180, Sign.WILT: 14, Sign.PALE: 60, Sign.DEAD: 730, Sign.WEAK: 180,
    Sign.GAP: 60, Sign.SPRANG: 120,
}  # fmt: skip
"""How long a sign stays active when nobody looked again (starting values). [d]"""

DISEASE: Final = frozenset({Sign.SPOTS, Sign.CURL, Sign.MILDEW, Sign.CANKER, Sign.PEST})

_CLEARED: Final[dict[Sign, frozenset[Sign]]] = {
    Sign.OK: frozenset(ACTIVE_DAYS) - {Sign.CANKER, Sign.DEAD},
    Sign.STRONG: frozenset({Sign.WEAK, Sign.PALE, Sign.WILT, Sign.DEAD}),
    Sign.STEADY: frozenset({Sign.WEAK, Sign.PALE, Sign.WILT, Sign.DEAD}),
    Sign.HELD: frozenset({Sign.SPRANG}),
    Sign.REGROWTH: frozenset({Sign.DEAD}),
}
"""Signs that a later, better look takes back."""

CAUSES: Final[dict[Sign, tuple[Cause, ...]]] = {
    Sign.SPOTS: (
        Cause("a leaf-spot fungus after cool wet days", "spots follow the veins and began low and "
              "inside, some days after rain on soft leaf"),
        Cause("sun or wind scorch", "the edges are brown on the sunny or windy side only"),
        Cause("spray drift or salt", "many kinds nearby show it on the same day"),
    ),
    Sign.CURL: (
        Cause("aphids on soft tips", "turn a leaf: small insects, sticky honeydew, ants"),
        Cause("late frost", "the leaves were opening in a frosty night; old leaves are clean"),
        Cause("a leaf-curl fungus", "thick, coloured blisters on leaves that just opened"),
        Cause("mites", "hold white paper below and tap: dust that walks"),
    ),
    Sign.MILDEW: (
        Cause("powdery mildew", "white film that wipes off, on dry leaves after damp nights"),
        Cause("hard water marks", "the white rubs off as grit and follows the watering"),
    ),
    Sign.PEST: (
        Cause("aphids, scale or mites", "look below leaves and along twigs with a lens"),
        Cause("weevil", "notched leaf edges, and grubs among the roots at repotting"),
        Cause("a borer", "fresh sawdust at a round hole; some kinds must be reported by law"),
    ),
    Sign.CANKER: (
        Cause("a bark fungus through a wound", "sunken bark, brown under a light scratch"),
        Cause("sun scald or frost crack", "it faces the afternoon sun and has no spots of spores"),
        Cause("a wilt or blight that must be reported", "stained wood or a hooked black tip: ask "
              "the plant health service before you move the tree"),
    ),
    Sign.WILT: (
        Cause("dry roots", "the pot is light and firms up within hours of water"),
        Cause("wet, failing roots", "the soil is wet and smells; roots are brown and soft"),
        Cause("a wilt fungus", "one side only, and stained rings in a cut twig"),
    ),
    Sign.PALE: (
        Cause("hunger", "old leaves pale first and it had no feed for long"),
        Cause("wet or tired roots", "the soil drains slowly"),
        Cause("hard water", "young leaves are yellow with green veins"),
    ),
    Sign.DIEBACK: (
        Cause("shade inside the crown", "only inner, lower twigs are lost"),
        Cause("a late cut or frost", "tips died after a cold night or a winter cut"),
        Cause("a bark fungus", "small coloured pustules on the dead twig"),
    ),
}  # fmt: skip

HYGIENE: Final[tuple[str, ...]] = (
    "give the crown space and air",
    "water the soil, not the leaf",
    "bag sick and fallen leaves",
    "cut sick twigs {20 mm} into clean wood on a dry day",
    "clean the blade between cuts and between trees",
    "keep rain off soft leaves",
    "beyond that, only what local law and the label allow",
)
"""What to do about disease, in this order."""


def likely_causes(sign: Sign) -> tuple[Cause, ...]:
    """Return the likely causes of a sign with a test each; empty when it must be asked about."""
    return CAUSES.get(sign, ())


def ask_about(sign: Sign) -> str:
    """Return what to ask the grower of a sign that has no table of causes."""
    return f"Where on the tree is {sign.value}, how much of it, and since when?"


def active(seen: Iterable[Seen], today: date, *, branch: int | None = None) -> Mapping[str, date]:
    """Return the signs that are active today and when each was last seen.

    A sign is taken back by a better look at the same place or one that holds it, and by a look
    that sought it there and found none.

    Parameters
    ----------
    seen : iterable of Seen
        Oldest first.
    today : date
    branch : int, optional
        Only of this row (-1: the tree as a whole or a zone of it). None: of any part.

    Returns
    -------
    mapping of str to date
        Sign in words to the last day it was seen.
    """
    by_row = active_by_branch(seen, today)
    if branch is not None:
        return by_row.get(branch, {})
    found: dict[str, date] = {}
    for signs in by_row.values():
        for name, on in signs.items():
            found[name] = max(on, found.get(name, on))
    return found


def active_by_branch(seen: Iterable[Seen], today: date) -> dict[int, dict[str, date]]:
    """Return the active signs of every row that has any, in one pass over the record."""
    standing: list[Seen] = []
    for one in still_there(s for s in seen if s.on <= today):
        better = _CLEARED.get(one.sign)
        if better:
            standing = [s for s in standing if s.sign not in better or not _speaks_of(one, s)]
        if (today - one.on).days <= ACTIVE_DAYS.get(one.sign, -1):
            standing.append(one)
    found: dict[int, dict[str, date]] = {}
    for one in standing:
        found.setdefault(one.branch, {})[one.sign.value] = one.on
    return found


def _speaks_of(better: Seen, other: Seen) -> bool:
    """Tell whether a better look speaks of a place; a word for the whole tree names no branch."""
    general = better.branch < 0 and not better.zone
    return holds(better, other) and not (general and other.branch >= 0)


def disease(seen: Iterable[Seen], today: date) -> dict[str, date]:
    """Return the active signs of disease or pest on any part of the tree.

    A clean look at the whole tree clears those seen on its parts before.
    """
    record = tuple(seen)
    whole = (s for s in record if s.sign is Sign.OK and s.branch < 0 and not s.zone)
    clean = max(
        (s.on for s in whole if s.on <= today and s.amount is not Amount.NONE), default=None
    )
    found: dict[str, date] = {}
    for signs in active_by_branch(record, today).values():
        for name, on in signs.items():
            lasting = Sign(name) is Sign.CANKER
            if Sign(name) in DISEASE and (clean is None or on > clean or lasting):
                found[name] = max(on, found.get(name, on))
    return found


_LOSS: Final = frozenset({Sign.FROST, Sign.SCORCH, Sign.HAIL, Sign.SPOTS, Sign.CURL, Sign.MILDEW})
_DAMAGE: Final[dict[Sign, float]] = {
    Sign.FROST: 1.0, Sign.SCORCH: 1.0, Sign.HAIL: 0.6, Sign.SPOTS: 0.5, Sign.CURL: 0.4,
    Sign.MILDEW: 0.2,
}  # fmt: skip
"""Share of a struck leaf that no longer works (starting values)."""
ONE_BRANCH: Final = 0.1


def leaf_loss(seen: Iterable[Seen], since: date, today: date) -> float:
    """Estimate the share of the leaf lost to injury or disease since a day.

    The worst report of each kind counts; kinds add up as independent losses. A report of one
    branch counts as a tenth of the crown. Reports with no amount count as ``some``.

    Returns
    -------
    float
        0..1.
    """
    worst: dict[Sign, float] = {}
    for one in seen:
        if one.sign not in _LOSS or not since <= one.on <= today:
            continue
        share = AMOUNT_SHARE[one.amount if one.amount is not None else Amount.SOME]
        share *= _DAMAGE[one.sign] * (1.0 if one.branch < 0 and not one.zone else ONE_BRANCH)
        worst[one.sign] = max(share, worst.get(one.sign, 0.0))
    left = 1.0
    for share in worst.values():
        left *= 1.0 - share
    return 1.0 - left


def since_leaf_out(leaf_out: date | None, today: date) -> date:
    """Return the day from which losses of this season count: leaf-out, less three weeks."""
    return (leaf_out if leaf_out is not None else today - timedelta(days=120)) - timedelta(days=21)

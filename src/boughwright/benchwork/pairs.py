"""Works that must not meet on one tree: pairs within a season, and three of four in a year.

The table names, for two heavy works, how far apart they stand. It reads the same whichever of the
two came first, but for the few marked one-way. Common practice in the trade.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from boughwright.benchwork.toll import season_bounds
from boughwright.journal.terms import Work
from boughwright.season.stages import Stage
from boughwright.verdicts.answer import Answer, Say
from boughwright.verdicts.asking import LEAF_DISEASE, WET_DISEASE
from boughwright.verdicts.rules import BARE, stage_on, stage_start
from boughwright.verdicts.verdict import Reason
from boughwright.verdicts.words import day, listed

if TYPE_CHECKING:
    from collections.abc import Iterable

    from boughwright.verdicts.facts import TreeFacts


class Heavy(StrEnum):
    """A kind of work that others must keep clear of."""

    REPOT_HARD = "hard repot"
    REPOT_LIGHT = "light repot"
    ALL_LEAVES = "taking all leaves"
    LARGE_CUT = "large cut"
    HEAVY_WIRE = "heavy wiring"
    GRAFT = "graft"
    SEVER = "cutting a graft free"
    RIM = "scar rim"


@dataclass(frozen=True, slots=True)
class Done:
    """A heavy work that was done or is planned."""

    kind: Heavy
    on: date
    row: int = -1


@dataclass(frozen=True, slots=True)
class Gap:
    """How far two heavy works stand apart.

    ``days``: at least so many between them. ``season``: not in one season. ``flush``: the next
    flush must be hard first. ``same_row_ok``: they may meet on one and the same part.
    """

    why: str
    days: int = 0
    season: bool = False
    flush: bool = False
    same_row_ok: bool = False


_R, _L, _A, _C, _W, _G, _S, _M = Heavy
PAIRS: Final[dict[frozenset[Heavy], Gap]] = {
    frozenset({_R, _A}): Gap("Roots and leaf are never both taken in one year", 365, season=True),
    frozenset({_L, _A}): Gap("Roots and leaf are never both taken in one year", 365, season=True),
    frozenset({_R}): Gap("One hard repot a season is the most", season=True),
    frozenset({_R, _C}): Gap("A hard repot and a large cut ask too much of one season",
                             season=True),
    frozenset({_R, _W}): Gap("Heavy wiring stands eight weeks off a hard repot", 56),
    frozenset({_R, _G}): Gap("A union needs roots at ease", season=True),
    frozenset({_R, _S}): Gap("A graft cut free needs roots at ease", season=True),
    frozenset({_A}): Gap("All leaves go once a season at most", season=True),
    frozenset({_A, _C}): Gap("A large cut needs leaf to heal it", season=True),
    frozenset({_A, _W}): Gap("A tree without leaf takes light wiring only", season=True),
    frozenset({_A, _G}): Gap("Leaf drives the union", season=True),
    frozenset({_A, _S}): Gap("Leaf drives the union", season=True),
    frozenset({_A, _M}): Gap("A rim needs leaf to close it", season=True),
    frozenset({_C}): Gap("One large cut a season is the most", season=True),
    frozenset({_C, _W}): Gap("Heavy wiring stands six weeks off a large cut", 42),
    frozenset({_C, _G}): Gap("A graft waits one flush after a large cut", 42, flush=True),
    frozenset({_C, _S}): Gap("Cutting a graft free stands six weeks off a large cut", 42),
    frozenset({_C, _M}): Gap("In the season of a large cut only its own rim is touched",
                             season=True, same_row_ok=True),
    frozenset({_W, _S}): Gap("Cutting a graft free stands three weeks off heavy wiring", 21),
}  # fmt: skip
"""Pairs that keep apart. A pair not named may meet; wire keeps off unions by its own rule."""

FOUR: Final = frozenset({_R, _C, _A, _W})
"""Of these at most two in twelve months."""
YEAR: Final = timedelta(days=365)

SHOW_DAYS: Final = {_R: 365, _A: 150, _C: 365, _W: 183}
"""Days before a show in which a work is no longer done."""
DISEASE: Final = {
    _R: WET_DISEASE, _A: (*LEAF_DISEASE, "canker"), _C: WET_DISEASE, _W: WET_DISEASE,
    _G: WET_DISEASE, _S: WET_DISEASE, _M: WET_DISEASE,
}  # fmt: skip
"""Active signs that put a work off."""
NO_FROST: Final = frozenset({_A, _G, _S, _M})
"""Never with frost below -2 °C ahead; large cuts and heavy wiring neither, while in leaf."""
FROST_C: Final = -2.0


def heavy_of(work: Work, share: float | None, *, hard: bool) -> Heavy | None:  # noqa: PLR0911
    """Return the heavy kind a work is, None when it is not one.

    Wiring is heavy with strong bends or over half the tree. A repot of unknown share is hard.
    """
    if work is Work.REPOT:
        return _R if hard or share is None or share > 0.3 else _L
    if work is Work.LEAF_FULL:
        return _A
    if work is Work.CUT:
        return _C if hard else None
    if work is Work.WIRE_ON:
        return _W if hard or (share is not None and share >= 0.5) else None
    if work in (Work.GRAFT_IN, Work.GRAFT_ON):
        return _G
    if work in (Work.NOTCH, Work.SEVER):
        return _S
    return _M if work is Work.RIM else None


def done_of(tree: TreeFacts) -> tuple[Done, ...]:
    """Return the heavy works on a tree's record.

    Wire put on many branches in one sitting counts as heavy wiring.
    """
    found = []
    wired: dict[date, float] = defaultdict(float)
    for work in tree.works:
        share = work.share if work.row < 0 else None
        kind = heavy_of(work.work, work.share if work.work is Work.REPOT else share, hard=work.hard)
        if work.work is Work.NOTCH:
            kind = None  # the notch belongs to the cut that follows it
        if kind is not None:
            found.append(Done(kind, work.on, work.row))
        elif work.work is Work.WIRE_ON and work.row >= 0:
            wired[work.on] += 1
    found += [Done(_W, on) for on, count in wired.items() if count >= 10]
    return tuple(found)


def pairs(
    tree: TreeFacts, kind: Heavy | None, on: date, *, row: int = -1,
    planned: Iterable[Done] = (),
) -> list[Answer]:  # fmt: skip
    """Return what stands in the way of a heavy work on a day: other works, a show, disease, frost.

    Parameters
    ----------
    tree : TreeFacts
    kind : Heavy or None
        As `heavy_of` says; None has nothing in its way.
    on : date
    row : int
        Row of the part, -1 for the whole tree.
    planned : iterable of Done
        Works on the list beside those on record.
    """
    if kind is None:
        return []
    known = (*done_of(tree), *planned)
    asked = Done(kind, on, row)
    found = [_gap(tree, done, asked) for done in known]
    found += [_three(known, asked), _show(tree, asked), _disease(tree, kind), _frost(tree, asked)]
    return [answer for answer in found if answer is not None]


def apart(first: Done, second: Done, *, south: bool) -> bool:
    """Return whether two heavy works stand far enough apart."""
    gap = PAIRS.get(frozenset({first.kind, second.kind}))
    if gap is None or (gap.same_row_ok and first.row == second.row):
        return True
    same = season_bounds(first.on, south=south) == season_bounds(second.on, south=south)
    return abs((first.on - second.on).days) >= gap.days and not (gap.season and same)


def _gap(tree: TreeFacts, done: Done, asked: Done) -> Answer | None:
    south = tree.calendar.south
    if apart(done, asked, south=south):
        return None
    gap = PAIRS[frozenset({done.kind, asked.kind})]
    frees = done.on + timedelta(days=gap.days)
    if gap.season:
        frees = max(frees, season_bounds(done.on, south=south)[1])
    if gap.flush:
        frees = max(frees, stage_start(tree, Stage.HARD, done.on) or frees)
    when = "on" if done.on < tree.today else "planned for"
    text = f"{gap.why} ({done.kind.value} {when} {day(done.on)})"
    away = abs((asked.on - done.on).days)
    reason = Reason(text, "days apart", away, gap.days or None, "d")
    condition = "the next season" if gap.season else "the gap between them has passed"
    return Answer(Say.NOT_NOW, (reason,), frees, condition)


def _three(known: Iterable[Done], asked: Done) -> Answer | None:
    if asked.kind not in FOUR:
        return None
    year = sorted(
        (d for d in known if d.kind in FOUR and abs(asked.on - d.on) < YEAR), key=lambda d: d.on
    )
    days = {(d.kind, d.on) for d in year}
    if len(days) < 2:
        return None
    names = listed(dict.fromkeys(d.kind.value for d in year))
    text = f"Two big works in twelve months are the most; it had {names}"
    frees = sorted(d.on for d in year)[-2] + YEAR
    return Answer(Say.NOT_NOW, (Reason(text, "big works in a year", len(days), 2.0),), frees,
                  "twelve months have passed")  # fmt: skip


def _show(tree: TreeFacts, asked: Done) -> Answer | None:
    show, days = tree.show_on, SHOW_DAYS.get(asked.kind)
    if show is None or days is None or not 0 <= (show - asked.on).days < days:
        return None
    reason = Reason(
        f"A show comes on {day(show)}", "days to the show", (show - asked.on).days, days, "d"
    )
    return Answer(Say.NOT_NOW, (reason,), show + timedelta(days=1), "after the show")


def _disease(tree: TreeFacts, kind: Heavy) -> Answer | None:
    found = [sign for sign in DISEASE.get(kind, ()) if sign in tree.disease]
    if not found:
        return None
    return Answer(Say.NOT_NOW, (Reason(f"Active signs on the tree: {', '.join(found)}", "signs"),),
                  None, "one clean flush is over", "take sick leaves off on a dry day")  # fmt: skip


def _frost(tree: TreeFacts, asked: Done) -> Answer | None:
    low = tree.outlook.t_min_10d_c
    if low is None or low >= FROST_C:
        return None
    in_leaf = stage_on(tree, asked.on) not in BARE
    if asked.kind not in NO_FROST and not (in_leaf and asked.kind in (_C, _W)):
        return None
    return Answer(Say.NOT_NOW, (Reason("Frost is on its way", "lowest of ten days", low, FROST_C,
                                       "°C"),), None, "four weeks without frost")  # fmt: skip

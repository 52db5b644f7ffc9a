"""Facts for cards, read off a tree's arrays and records in one pass.

Arrays become plain lists once; unknown becomes ``None``. Nothing is judged here.
"""

from __future__ import annotations

import math
from datetime import date, timedelta
from enum import Enum
from typing import TYPE_CHECKING, Final, TypeVar

import numpy as np

from boughwright.health.signs import active, disease, leaf_loss, since_leaf_out
from boughwright.journal.names import WHOLE
from boughwright.journal.terms import (
    AMOUNT_SHARE,
    Amount,
    Phase,
    Quantity,
    Sign,
    Work,
    Zone,
)
from boughwright.season.stages import Stage
from boughwright.tree.measures import measure, recovering, vigour_of
from boughwright.tree.vigour import norm_of
from boughwright.tree.wires import season_year
from boughwright.verdicts.facts import BranchFacts, Outlook, PastWork, TreeFacts
from boughwright.verdicts.looks import asked_looks
from boughwright.verdicts.reading import branch_facts, primaries, unweaned, zone_wires
from boughwright.verdicts.rules import IN_LEAF, LARGE_WOUND

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy.typing as npt

    from boughwright.season.outlook import TenDays
    from boughwright.season.stages import Alarm, TreeCalendar
    from boughwright.species.model import Species
    from boughwright.tree.measures import Measures
    from boughwright.tree.model import Branches, Tree, WorkDone
    from boughwright.wire.window import WireWindow

_Word = TypeVar("_Word", bound=Enum)
HARD_ROOTS: Final = 0.30
WORKS_BACK_DAYS: Final = 1500


def tree_facts(
    tree: Tree,
    *,
    species: Species | None,
    calendar: TreeCalendar,
    outlook: TenDays,
    alarms: tuple[Alarm, ...],
    today: date,
    windows: Sequence[WireWindow] = (),
    cleaned_on: date | None = None,
) -> TreeFacts:
    """Return the facts of one tree on a day.

    Parameters
    ----------
    tree : Tree
        Replayed up to today.
    species : Species, optional
        With the garden's and the tree's own values, None when unknown.
    calendar, outlook, alarms
        Of the tree, at its shelf, today.
    today : date
    windows : sequence of WireWindow
        Those of zones (row -1) become zone wires.
    cleaned_on : date, optional
        Last day of the round against disease.
    """
    south = calendar.south
    season = season_year(today, south=south)
    start = date(season, 7 if south else 1, 1)
    works = _past_works(tree, today, start, _flush_start(calendar, today, start))
    vigour, why, grade = vigour_of(tree, today, south=south)
    repots = [w for w in works if w.work is Work.REPOT]
    last = repots[0] if repots else None
    fed = _fed(tree, today, south=south)
    norm = norm_of(tree)[0]
    phase = _enum(Phase, tree.facts.get("phase"))
    return TreeFacts(
        tree=tree.id,
        name=tree.name,
        today=today,
        species=species,
        opposite=None if species is None else species.word("buds") == "opposite",
        calendar=calendar,
        phase=phase,
        apex_phase=_enum(Phase, tree.facts.get("apex_phase")) or phase,
        vigour=vigour,
        vigour_why=why.rstrip("."),
        vigour_grade=grade,
        height_mm=_number(tree.facts.get("height_mm")),
        trunk_mm=_latest(tree, Quantity.TRUNK, {-1, 0}),
        trunk_goal_mm=_number(tree.facts.get("trunk_goal_mm")),
        days_in_leaf=_days_in_leaf(calendar, today),
        weeks_to_colour=_weeks_to(calendar, Stage.COLOUR, today),
        weeks_since_repot=None if last is None else last.weeks_ago,
        repot_share=None if last is None else last.share,
        repot_this_season=any(w.this_season for w in repots),
        repot_last_season=any(season_year(w.on, south=south) == season - 1 for w in repots),
        recovering=recovering(tree, today),
        disease=disease(tree.seen, today),
        leaf_loss=leaf_loss(tree.seen, since_leaf_out(calendar.leaf_out.likely, today), today),
        fruiting=_fruiting(tree, start, today),
        show_on=_day(tree.facts.get("show_on")),
        show_leafless=_truth(tree.facts.get("show_leafless")),
        works=works,
        outlook=_outlook(outlook),
        alarms=alarms,
        tall_mm=_tall(tree),
        unweaned_grafts=int(unweaned(tree.branches).sum()),
        norm_extension_mm=None if math.isnan(norm) else norm,
        extension_ratio=_extension(tree, today, start, norm),
        filled_days=calendar.filled_days,
        contradictions=tuple(c.what.rstrip(".") for c in tree.contradictions if c.branch < 0),
        phase_mix=_phase_mix(tree.branches),
        show_phase=_show_phase(tree.branches),
        fed_this_season=fed[0],
        seasons_unfed=fed[1],
        wilting=Sign.WILT.value in active(tree.seen, today, branch=-1),
        drain_s=_drain(tree, last),
        zone_wires=zone_wires(tree, windows, species),
        looks=asked_looks(tree),
        cleaned_on=cleaned_on,
    )


def _enum(enum: type[_Word], value: object) -> _Word | None:
    return None if value is None else enum(value)


def _number(value: object) -> float | None:
    return float(value) if isinstance(value, int | float) else None


def _day(value: object) -> date | None:
    return value if isinstance(value, date) else None


def _truth(value: object) -> bool | None:
    return value if isinstance(value, bool) else None


def _latest(tree: Tree, what: Quantity, rows: set[int]) -> float | None:
    found = [m.value for m in tree.measures if m.what is what and m.branch in rows]
    return found[-1] if found else None


def _drain(tree: Tree, repot: PastWork | None) -> float | None:
    """Return how long water stands on the soil; what was read before a repot tells no more."""
    since = date.min if repot is None else repot.on
    found = [
        m.value
        for m in tree.measures
        if m.what is Quantity.DRAIN and m.branch in (-1, 0) and m.on >= since
    ]
    return found[-1] if found else None


def _outlook(ten: TenDays) -> Outlook:
    return Outlook(
        ten.t_max_10d_c,
        ten.t_min_10d_c,
        ten.hot_from,
        ten.hot_to,
        ten.frost_on,
        ten.dry_from,
        ten.wet_spells_14d,
    )


def _days_in_leaf(calendar: TreeCalendar, today: date) -> int | None:
    opened = calendar.leaf_out.likely
    if calendar.stage not in IN_LEAF and calendar.stage is not Stage.COLOUR:
        return None
    return None if opened is None or opened > today else (today - opened).days


def _weeks_to(calendar: TreeCalendar, stage: Stage, today: date) -> float | None:
    found = calendar.starts.get(stage)
    if found is None or found.likely is None:
        return None
    return max(0.0, (found.likely - today).days / 7.0)


def _flush_start(calendar: TreeCalendar, today: date, season_start: date) -> date:
    pushed = calendar.starts.get(Stage.SECOND_PUSH)
    for found in (pushed, calendar.leaf_out):
        if found is not None and found.likely is not None and found.likely <= today:
            return found.likely
    return season_start


def _past_works(tree: Tree, today: date, start: date, flush: date) -> tuple[PastWork, ...]:
    oldest = today - timedelta(days=WORKS_BACK_DAYS)
    wide = tree.branches.base_mm / tree.branches.trunk_mm > LARGE_WOUND
    return tuple(
        _past(work, today, start, flush, bool(work.branch >= 0 and wide[work.branch]))
        for work in reversed(tree.works)
        if oldest <= work.on <= today
    )


def _past(work: WorkDone, today: date, start: date, flush: date, wide: bool) -> PastWork:
    done = work.what
    share = done.share
    if share is None and done.amount is not None:
        share = AMOUNT_SHARE[done.amount]
    if done.work is Work.REPOT:
        hard = share is not None and share > HARD_ROOTS
    elif done.work is Work.CUT:
        hard = wide and done.to in ("base", "trunk")
    else:
        hard = False
    return PastWork(
        work.on,
        done.work,
        work.branch,
        share,
        (today - work.on).days / 7.0,
        work.on >= start,
        work.on >= flush,
        hard,
        done.to,
        "" if done.zone.casefold() in WHOLE else done.zone,
    )


def _fed(tree: Tree, today: date, *, south: bool) -> tuple[bool | None, int]:
    """Return whether it was fed this season, and the whole seasons before it with no feed."""
    season = season_year(today, south=south)
    seasons = {
        season_year(w.on, south=south)
        for w in tree.works
        if w.what.work is Work.FEED and w.what.amount is not Amount.NONE
    }
    dates = [w.on for w in tree.works]
    if not dates:
        return None, 0
    since = max((s for s in seasons if s < season), default=None)
    first = season_year(min(dates), south=south)
    unfed = season - 1 - (since if since is not None else first - 1)
    return season in seasons, max(0, unfed)


def _fruiting(tree: Tree, start: date, today: date) -> bool | None:
    given = tree.facts.get("fruiting")
    off = [w.on for w in tree.works if w.what.work is Work.FRUIT_OFF and w.on >= start]
    seen = [s for s in tree.seen if s.sign is Sign.FRUIT and start <= s.on <= today]
    if off and (not seen or seen[-1].on <= off[-1]):
        return False
    if seen:
        return seen[-1].amount is not Amount.NONE
    return given if isinstance(given, bool) else None


def _tall(tree: Tree) -> float | None:
    given = _number(tree.facts.get("height_mm"))
    heights = tree.branches.height_mm
    if given is not None or np.isnan(heights).all():
        return given
    return float(np.nanmax(heights))


def _extension(tree: Tree, today: date, start: date, norm: float) -> float | None:
    found = [m for m in tree.measures if m.what is Quantity.EXTENSION and start <= m.on <= today]
    if not found or math.isnan(norm):
        return None
    whole = [m.value for m in found if m.branch < 0]
    return (whole[-1] if whole else float(np.mean([m.value for m in found]))) / norm


def _phase_mix(rows: Branches) -> Mapping[Phase, float]:
    codes = rows.phase[primaries(rows) & (rows.phase >= 0)]
    if not len(codes):
        return {}
    counts = np.bincount(codes, minlength=len(Phase)) / len(codes)
    return {phase: float(part) for phase, part in zip(Phase, counts, strict=True) if part > 0}


def _show_phase(rows: Branches) -> Phase | None:
    apex = rows.zone == tuple(Zone).index(Zone.APEX)
    codes = rows.phase[
        (rows.phase >= 0) & ~rows.gone & (rows.order >= 1) & (apex | (rows.outer == 1))
    ]
    if not len(codes):
        return None
    counts = np.bincount(codes, minlength=len(Phase))
    most = int(counts.argmax())
    return tuple(Phase)[most] if counts[most] * 2 > len(codes) else None


def facts_of(
    tree: Tree,
    *,
    species: Species | None,
    calendar: TreeCalendar,
    outlook: TenDays,
    alarms: tuple[Alarm, ...],
    today: date,
    measures: Measures | None = None,
    windows: Sequence[WireWindow] = (),
    base_forecast: npt.NDArray[np.float64] | None = None,
    seasons_to_target: npt.NDArray[np.float64] | None = None,
    cleaned_on: date | None = None,
) -> tuple[TreeFacts, list[BranchFacts]]:
    """Return the facts of a tree and of all its branches on a day; see the two functions above."""
    known = measure(tree) if measures is None else measures
    whole = tree_facts(
        tree,
        species=species,
        calendar=calendar,
        outlook=outlook,
        alarms=alarms,
        today=today,
        windows=windows,
        cleaned_on=cleaned_on,
    )
    branches = branch_facts(
        tree,
        known,
        today=today,
        species=species,
        windows=windows,
        base_forecast=base_forecast,
        seasons_to_target=seasons_to_target,
    )
    return whole, branches


__all__ = ["branch_facts", "facts_of", "tree_facts"]

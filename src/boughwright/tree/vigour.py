"""How strong a tree grows now: as judged by hand this season, else from shoots, losses, injury.

Common practice of the trade: shoots as long as the norm are strong, down to 0.6 steady, down to
0.3 weak, below that failing; lost twigs, pale leaf and wilting in moist soil weigh as much; a tree
that is getting over a repot, a lost graft, frost or heat counts one step less.
"""

from __future__ import annotations

import math
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from boughwright.journal.terms import AMOUNT_SHARE, Kind, Quantity, Sign, Vigour, Work
from boughwright.sources import Grade
from boughwright.tree.looks import found
from boughwright.tree.readings import by_day
from boughwright.tree.wires import season_year
from boughwright.units import show_date

if TYPE_CHECKING:
    from uuid import UUID

    from boughwright.tree.model import Measure, Seen, Tree

STRONG_FROM, STEADY_FROM, WEAK_FROM = 1.0, 0.6, 0.3
TWIGS_LOST_WEAK, TWIGS_LOST_FAILING = 0.05, 0.15
HARD_REPOT_SHARE = 0.30
RECOVERY_DAYS = {
    "repot": 42,
    "hard repot": 365,
    "graft": 365,
    "frost": 120,
    "heat": 60,
    "move": 365,
}
"""How long a tree counts as getting over it. Starting values."""

STALE_DAYS = 400
"""A judgement by hand older than this says nothing of today."""

UNCLEAN_DAYS = 60
_GRAFT = tuple(Kind).index(Kind.GRAFT)
_UNCLEAN = {Sign.SPOTS, Sign.CURL, Sign.MILDEW, Sign.PEST}
_INJURY = {Sign.FROST: "frost", Sign.SCORCH: "heat"}


def norm_of(tree: Tree) -> tuple[float, tuple[UUID, ...]]:
    """Return the tree's usual free shoot and the readings it rests on.

    As set by the grower; else the mean of its yearly means in the three years before the latest
    reading, when at least two of those years were read. nan when neither is known. [mm]
    """
    given = tree.facts.get("norm_extension_mm")
    if isinstance(given, int | float):
        return float(given), ()
    shoots = [one for one in tree.measures if one.what is Quantity.EXTENSION]
    if not shoots:
        return math.nan, ()
    last = shoots[-1].on
    years: dict[int, list[Measure]] = {}
    for one in shoots:
        ago = round((last - one.on).days / 365.25)
        if 1 <= ago <= 3:
            years.setdefault(ago, []).append(one)
    if len(years) < 2:
        return math.nan, ()
    means = [np.mean([one.value for one in year]) for year in years.values()]
    return float(np.mean(means)), tuple(one.event for year in years.values() for one in year)


def recovering(tree: Tree, today: date) -> str:
    """Return what a tree is getting over: ``repot``, ``graft``, ``frost``, ``heat`` or ``move``.

    The latest of them when there are several; empty when there is none.
    """
    moved = tree.facts.get("climate_moved_on")
    hurts = [(moved, "move", "move")] if isinstance(moved, date) else []
    for work in tree.works:
        if work.what.work is Work.REPOT:
            share = work.what.share
            if share is None and work.what.amount is not None:
                share = AMOUNT_SHARE[work.what.amount]
            hard = share is not None and share > HARD_REPOT_SHARE
            hurts.append((work.on, "repot", "hard repot" if hard else "repot"))
    for seen in found(tree.seen):
        if seen.sign in _INJURY and (seen.branch < 0 or seen.sign is Sign.FROST):
            hurts.append((seen.on, _INJURY[seen.sign], _INJURY[seen.sign]))
        elif (
            seen.sign is Sign.DEAD
            and seen.branch >= 0
            and tree.branches.kind[seen.branch] == _GRAFT
        ):
            hurts.append((seen.on, "graft", "graft"))
    fresh = [(on, word) for on, word, kind in hurts
             if 0 <= (today - on).days < RECOVERY_DAYS[kind]]  # fmt: skip
    return max(fresh)[1] if fresh else ""


def vigour_of(tree: Tree, today: date, *, south: bool = False) -> tuple[Vigour | None, str, Grade]:
    """Judge how strong the tree grows.

    Parameters
    ----------
    tree : Tree
        The tree, replayed up to today.
    today : date
        The day to judge.
    south : bool
        Seasons turn on 1 July.

    Returns
    -------
    Vigour or None
        None when nothing tells.
    str
        Why, in a sentence.
    Grade
        Measured when judged by hand or read this season against a set norm.
    """
    season = season_year(today, south=south)
    hand = _by_hand(tree, today)
    if hand is not None and season_year(hand[1], south=south) == season:
        return hand[0], f"Judged {hand[0].word} by hand on {show_date(hand[1])}.", Grade.MEASURED
    computed = _from_signs(tree, today, season, south=south)
    if computed is not None:
        return computed
    if hand is not None and (today - hand[1]).days < STALE_DAYS:
        why = f"Judged {hand[0].word} by hand last season, on {show_date(hand[1])}."
        return hand[0], why, Grade.BORROWED
    return None, "Nothing this season tells its strength.", Grade.GUESS


def _by_hand(tree: Tree, today: date) -> tuple[Vigour, date] | None:
    word, day = tree.facts.get("vigour"), tree.facts.get("vigour_on")
    if word is None or not isinstance(day, date) or day > today:
        return None
    return Vigour[str(word).upper()], day


def _from_signs(
    tree: Tree, today: date, season: int, *, south: bool
) -> tuple[Vigour, str, Grade] | None:
    seen = [one for one in found(tree.seen)
            if one.on <= today and season_year(one.on, south=south) == season]  # fmt: skip
    judged: list[tuple[Vigour, str]] = []
    grade = Grade.BORROWED
    shoots = _this_season(tree, today, season, south=south)
    norm = norm_of(tree)[0]
    if shoots is not None and not math.isnan(norm):
        if "norm_extension_mm" in tree.facts:
            grade = Grade.MEASURED
        judged.append(_by_ratio(shoots, norm, clean=_clean(seen, today)))
    judged += _by_losses(seen)
    if not judged:
        return None
    strength, why = min(judged, key=lambda one: one[0])
    hurt = recovering(tree, today)
    if hurt and strength > Vigour.FAILING:
        return Vigour(strength - 1), f"{why} One step less while it gets over the {hurt}.", grade
    return strength, why, grade


def _this_season(tree: Tree, today: date, season: int, *, south: bool) -> float | None:
    """Return the latest free shoot of the whole tree this season, else the mean of its branches."""
    index = by_day(tree.measures)
    whole: list[tuple[int, float]] = []
    parts: list[float] = []
    for (what, row), readings in index.items():
        if what is not Quantity.EXTENSION:
            continue
        last = next((one for one in reversed(readings) if one.day <= today.toordinal()), None)
        if last is None or season_year(date.fromordinal(last.day), south=south) != season:
            continue
        if row < 0:
            whole.append((last.day, last.value))
        else:
            parts.append(last.value)
    if whole:
        return max(whole)[1]
    return float(np.mean(parts)) if parts else None


def _by_ratio(shoots_mm: float, norm_mm: float, *, clean: bool) -> tuple[Vigour, str]:
    ratio = shoots_mm / norm_mm
    why = (
        f"Free shoots are {{{shoots_mm:.0f} mm}}, {ratio:.2f} of its norm of {{{norm_mm:.0f} mm}}."
    )
    if ratio >= STRONG_FROM:
        return (Vigour.STRONG, why) if clean else (Vigour.STEADY, f"{why} The leaf is not clean.")
    if ratio >= STEADY_FROM:
        return Vigour.STEADY, why
    return (Vigour.WEAK if ratio >= WEAK_FROM else Vigour.FAILING), why


def _clean(seen: list[Seen], today: date) -> bool:
    since = today - timedelta(days=UNCLEAN_DAYS)
    return not any(one.sign in _UNCLEAN and one.on >= since for one in seen)


def _by_losses(seen: list[Seen]) -> list[tuple[Vigour, str]]:
    """Strength that lost twigs, pale leaf or wilting allow at most, each with its reason."""
    tree = [one for one in seen if one.branch < 0 and not one.zone]
    allowed: list[tuple[Vigour, str]] = []
    for one in tree:
        day = show_date(one.on)
        if one.sign is Sign.DIEBACK:
            lost = math.nan if one.amount is None else AMOUNT_SHARE[one.amount]
            if lost > TWIGS_LOST_FAILING:
                allowed.append((Vigour.FAILING, f"Over 15 % of its twigs were lost ({day})."))
            elif not lost < TWIGS_LOST_WEAK:
                allowed.append((Vigour.WEAK, f"Twigs were lost ({day})."))
        elif one.sign is Sign.PALE:
            allowed.append((Vigour.WEAK, f"Its leaf was pale ({day})."))
        elif one.sign is Sign.WILT and any(
            other.sign is Sign.WET and abs((other.on - one.on).days) <= 7 for other in tree
        ):
            allowed.append((Vigour.FAILING, f"It wilted in moist soil ({day})."))
    return allowed

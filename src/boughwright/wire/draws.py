"""The few hundred cases that stand for what is not known about a wire.

Nodes are not random: they are the points of a good lattice, so that every axis alone carries the
exact quantiles of its distribution and no two axes go together. All wires share them; the same
inputs give the same answer.

Shapes: W wires, L looks, K nodes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from functools import cache
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

from boughwright.growth.ring import RingCurve, ring_share
from boughwright.wire.bite import CLOSED_SHARE, grade_starts_mm
from boughwright.wire.mechanics import ELASTIC_SD, KEPT_WHEN_SET

Floats = npt.NDArray[np.float64]
Rows = npt.NDArray[np.intp]

NODES = 127
"""Nodes for a wire; a prime, which makes the better lattices. Dates in spring and early summer lie
within a day of those from thirty times as many."""

MOST_LATTICES = 256
"""Generators tried for the lattice."""

PAIR_WEIGHT = 0.1

RATE, MIDDLE, SLACK, LEAF_OUT, ELASTIC, EYE = range(6)
"""Axes of the nodes."""

EYE_LOG_SD = 0.20
"""Log-spread of the depth at which growers call a grade; one eye, so one draw for all looks."""

TELLS_FROM = 0.02
"""Share of a ring laid under a wire below which a look tells nothing about the rate."""

LEAST_WEIGHT = 1e-6
"""Mean weight of the nodes under which looks cannot be squared with each other or the forecast."""

WIDER = 1.5
"""Factor on the log-spread of the rate when the looks contradict it."""


@dataclass(frozen=True, slots=True)
class Wires:
    """What is known of each wire, all (W,); effective days count from the season's first day.

    Parameters
    ----------
    log_rate, log_rate_sd : float
        Log-normal of the year's radial increment. [ln mm]
    curve : RingCurve
        Of (W,) arrays.
    leaf_out_ed, leaf_out_early_sd_ed, leaf_out_late_sd_ed : float
        Effective days from the season's first day to leaf-out, and their error towards an earlier
        and towards a later one: few effective days lie before a spring and many after it.
    wired_ed : float
        Effective day it went on; 0 when that was before this season.
    rings_before : float
        Rings laid under it before this season, 0 when it went on in this one.
    slack_mm, slack_log_sd : float
        Median gap and log-spread.
    gauge_mm : float
        One strand. nan unknown: then the thinnest wire's line and bite count, and grades 4 and 5
        have no date.
    bark_factor, sink_share : float
        See `boughwright.wire.bite`.
    base_mm : float
        Diameter at wiring; nan unknown, and then the set is unknown.
    elastic, creep : float
        See `boughwright.wire.mechanics.BendPrior`.
    today_ed, end_ed : float
        Effective day of today and of the season's last day.
    """

    log_rate: Floats
    log_rate_sd: Floats
    curve: RingCurve
    leaf_out_ed: Floats
    leaf_out_early_sd_ed: Floats
    leaf_out_late_sd_ed: Floats
    wired_ed: Floats
    rings_before: Floats
    slack_mm: Floats
    slack_log_sd: Floats
    gauge_mm: Floats
    bark_factor: Floats
    sink_share: Floats
    base_mm: Floats
    elastic: Floats
    creep: Floats
    today_ed: Floats
    end_ed: Floats

    def __len__(self) -> int:
        """Return the number of wires."""
        return len(self.log_rate)

    def take(self, rows: Rows) -> Wires:
        """Return some of the wires."""
        chosen = {f.name: getattr(self, f.name)[rows] for f in fields(self) if f.name != "curve"}
        return replace(self, curve=_per_wire(self.curve, rows), **chosen)

    def starts_mm(self) -> Floats:
        """Return the depths at which grades 1 to 5 start, (W, 5); inf where unknown."""
        starts = grade_starts_mm(self.gauge_mm, self.bark_factor)
        return np.where(np.isnan(starts), np.inf, starts)


@dataclass(frozen=True, slots=True)
class Looks:
    """Looks while a wire was on, all (L,).

    ``wire`` position of the wire; ``ed`` effective day of the look in this season, 0 for one in an
    earlier season; ``rings_before`` rings laid under the wire before this season, up to the look;
    ``grade`` 0 to 5.
    """

    wire: Rows
    ed: Floats
    rings_before: Floats
    grade: npt.NDArray[np.int64]

    def of(self, rows: Rows, wires: int) -> Looks:
        """Return the looks of some wires, renumbered to their order."""
        place = np.full(wires, -1, dtype=np.intp)
        place[rows] = np.arange(len(rows))
        kept = place[self.wire] >= 0
        return Looks(place[self.wire[kept]], self.ed[kept], self.rings_before[kept],
                     self.grade[kept])  # fmt: skip


@dataclass(frozen=True, slots=True)
class Draws:
    """The nodes as cases of each wire, all (W, K).

    ``rate`` radial increment [mm]; ``curve`` with the case's middle; ``leaf_out`` effective day;
    ``wired`` share of this season's ring laid when it went on; ``slack`` [mm]; ``thickening`` at
    which the bend is set; ``weight`` of the case, None when all weigh the same; ``disagree`` (W,)
    where looks could not be squared with the forecast.
    """

    rate: Floats
    curve: RingCurve
    leaf_out: Floats
    wired: Floats
    slack: Floats
    thickening: Floats
    weight: Floats | None
    disagree: npt.NDArray[np.bool_]

    def share_laid(self, ed: Floats) -> Floats:
        """Return the share of this season's ring laid under the wire by an effective day."""
        laid = ring_share(ed - self.leaf_out, self.curve, season_start_ed=-self.leaf_out)
        return np.maximum(laid - self.wired, 0.0)


def _per_wire(curve: RingCurve, index: Rows | tuple[slice, None]) -> RingCurve:
    return RingCurve(**{f.name: np.asarray(getattr(curve, f.name))[index] for f in fields(curve)})


@cache
def nodes(count: int, axes: int = 6) -> Floats:
    """Return the nodes in the unit cube, (axes, count), each axis evenly spread.

    Of the lattices ``k * a ** axis mod count`` the one with the least weighted P2 figure of merit
    is taken: the mean over nodes of the product over axes of ``1 + PAIR_WEIGHT * 2 pi² B2(x)``.
    The small weight makes it mind pairs of axes most.
    """
    step = np.arange(count)
    best, merit = np.zeros((axes, count), dtype=np.int64), math.inf
    for a in range(1, min(count, MOST_LATTICES)):
        if math.gcd(a, count) != 1:
            continue
        powers = [pow(a, axis, count) for axis in range(axes)]
        lattice = np.multiply.outer(powers, step) % count
        x = lattice / count
        bends = 2.0 * np.pi**2 * (x * x - x + 1.0 / 6.0)
        found = float(np.prod(1.0 + PAIR_WEIGHT * bends, axis=0).mean())
        if found < merit:
            best, merit = lattice, found
    even: Floats = (best + 0.5) / count
    even.setflags(write=False)
    return even


@cache
def _normal_table() -> tuple[Floats, Floats]:
    """Return a grid of standard scores up to 0 and the share below each."""
    scores = np.linspace(-9.0, 0.0, 4501)
    below = np.array([NormalDist().cdf(score) for score in scores.tolist()])
    return scores, below


def normal_share(score: Floats) -> Floats:
    """Return the share of a standard normal below a score of at most 0."""
    scores, below = _normal_table()
    # The grid is even, so the place of a score in it needs no search.
    place = np.maximum((score - scores[0]) * ((scores.size - 1) / -scores[0]), 0.0)
    row = np.minimum(np.nan_to_num(place).astype(np.intp), scores.size - 2)
    low = below[row]
    share = low + (place - row) * (below[row + 1] - low)
    return np.where(score < scores[0], 0.0, share)


def normal_score(share: Floats) -> Floats:
    """Return the standard score with a share below it."""
    scores, below = _normal_table()
    low = np.minimum(share, 1.0 - share)
    return np.copysign(np.interp(low, below, scores), share - 0.5)


@cache
def _scores(count: int) -> Floats:
    scores = normal_score(nodes(count))
    scores.setflags(write=False)
    return scores


def draw(wires: Wires, looks: Looks | None, count: int = NODES) -> Draws:
    """Return the cases of each wire, weighed by what was seen.

    Parameters
    ----------
    wires : Wires
    looks : Looks, optional
        Of these wires; every wire here should have one. None: nobody has looked.
    count : int
        How many nodes.
    """
    score = _scores(count)
    rate = np.exp(wires.log_rate[:, None] + wires.log_rate_sd[:, None] * score[RATE])
    column = _per_wire(wires.curve, (slice(None), None))
    curve = replace(column, mid_ed=column.mid_ed + column.mid_sd_ed * score[MIDDLE])
    sd = np.where(
        score[LEAF_OUT] < 0.0,
        wires.leaf_out_early_sd_ed[:, None],
        wires.leaf_out_late_sd_ed[:, None],
    )
    leaf_out = np.maximum(wires.leaf_out_ed[:, None] + sd * score[LEAF_OUT], 0.0)
    wired = np.zeros_like(leaf_out)
    if wires.wired_ed.any():
        wired = ring_share(wires.wired_ed[:, None] - leaf_out, curve, season_start_ed=-leaf_out)
    slack = wires.slack_mm[:, None] * np.exp(wires.slack_log_sd[:, None] * score[SLACK])
    elastic = np.clip(wires.elastic[:, None] + ELASTIC_SD * score[ELASTIC], 0.05, 1.0)
    thickening = np.sqrt(np.sqrt((1.0 - wires.creep[:, None]) * elastic / (1.0 - KEPT_WHEN_SET)))
    draws = Draws(rate, curve, leaf_out, wired, slack, np.maximum(thickening, 1.0), None,
                  np.zeros(len(wires), dtype=np.bool_))  # fmt: skip
    return draws if looks is None else _given(wires, looks, draws, count)


def _given(wires: Wires, looks: Looks, draws: Draws, count: int) -> Draws:
    """Return the cases given what was seen: all looks of a wire cut one interval of its rate."""
    share = _share_at(looks, draws)
    lower, upper = _rate_bounds(wires, looks, draws, share, count)
    spread = np.maximum(wires.log_rate_sd, 1e-9)[:, None]
    with np.errstate(divide="ignore"):
        low = (np.log(lower) - wires.log_rate[:, None]) / spread
        high = (np.log(upper) - wires.log_rate[:, None]) / spread
    score, weight = _between(low, high, nodes(count)[RATE])
    agree = weight.mean(axis=1) >= LEAST_WEIGHT
    seen = np.exp(wires.log_rate[:, None] + spread * score)
    if agree.all():
        return replace(draws, rate=seen, weight=weight, disagree=~agree)
    wide = np.exp(wires.log_rate[:, None] + WIDER * spread * _scores(count)[RATE])
    rate = np.where(agree[:, None], seen, wide)
    slack = np.where(agree[:, None], draws.slack, _anchored(wires, looks, rate, share, count))
    weight = np.where(agree[:, None], weight, 1.0)
    return replace(draws, rate=rate, slack=slack, weight=weight, disagree=~agree)


def _share_at(looks: Looks, draws: Draws) -> Floats:
    """Return the rings laid under the wire by each look, (L, K)."""
    of_look = replace(
        draws,
        curve=_look_curve(draws.curve, looks.wire),
        leaf_out=draws.leaf_out[looks.wire],
        wired=draws.wired[looks.wire],
    )
    return looks.rings_before[:, None] + of_look.share_laid(looks.ed[:, None])


def _look_curve(curve: RingCurve, wire: Rows) -> RingCurve:
    return RingCurve(**{f.name: np.asarray(getattr(curve, f.name))[wire] for f in fields(curve)})


def _seen_depths(wires: Wires, looks: Looks) -> tuple[Floats, Floats]:
    """Return the depths each look lies between, (L,); -inf and inf where it sets no bound."""
    starts = wires.starts_mm()[looks.wire]
    known = np.where(np.isnan(wires.gauge_mm[looks.wire]), 3, 5)
    grade = np.minimum(looks.grade, known)
    edges = np.concatenate(
        [np.full((len(grade), 1), -np.inf), starts, np.full((len(grade), 1), np.inf)], axis=1
    )
    row = np.arange(len(grade))
    return edges[row, grade], edges[row, grade + 1]


def _rate_bounds(
    wires: Wires, looks: Looks, draws: Draws, share: Floats, count: int
) -> tuple[Floats, Floats]:
    """Return the rates between which all looks of a wire hold, (W, K)."""
    low_mm, high_mm = _seen_depths(wires, looks)
    eye = np.exp(-EYE_LOG_SD * _scores(count)[EYE])
    slack = draws.slack[looks.wire]
    early = share < TELLS_FROM
    mute = early & (looks.grade <= 1)[:, None]
    laid = np.maximum(share, TELLS_FROM)
    with np.errstate(invalid="ignore"):
        low = np.where(mute, 0.0, np.maximum(low_mm[:, None] * eye + slack, 0.0) / laid)
        high = np.where(mute | early, np.inf, (high_mm[:, None] * eye + slack) / laid)
    lower = np.zeros_like(draws.rate)
    upper = np.full_like(draws.rate, np.inf)
    np.maximum.at(lower, looks.wire, low)
    np.minimum.at(upper, looks.wire, high)
    return lower, upper


def _between(low: Floats, high: Floats, share: Floats) -> tuple[Floats, Floats]:
    """Return scores spread over the part of a normal between two bounds, and that part's share.

    Worked on the lower side of the normal, where shares keep their digits.
    """
    flip = low > 0.0
    left, right = np.where(flip, -high, low), np.where(flip, -low, high)
    below_left = _share_any(left)
    part = np.maximum(_share_any(right) - below_left, 0.0)
    score = normal_score(below_left + part * np.where(flip, 1.0 - share, share))
    return np.where(flip, -score, score), part


def _share_any(score: Floats) -> Floats:
    tail = normal_share(-np.abs(score))
    return np.where(score > 0.0, 1.0 - tail, tail)


def _anchored(wires: Wires, looks: Looks, rate: Floats, share: Floats, count: int) -> Floats:
    """Return the slack that makes each case's depth at the worst look what was seen there.

    Used where the looks cannot be squared with the forecast: the worst one is then believed.
    """
    order = np.lexsort((looks.ed, looks.rings_before, looks.grade))
    worst = np.zeros(len(wires), dtype=np.intp)
    worst[looks.wire[order]] = order
    low_mm, high_mm = (edge[worst] for edge in _seen_depths(wires, looks))
    low_mm = np.maximum(low_mm, 0.0)
    deepest = np.fmax(low_mm + 0.5, CLOSED_SHARE * wires.gauge_mm * 1.25)
    high_mm = np.where(np.isfinite(high_mm), high_mm, deepest)
    seen = low_mm[:, None] + (high_mm - low_mm)[:, None] * nodes(count)[EYE]
    anchored: Floats = rate * share[worst] - seen
    return anchored

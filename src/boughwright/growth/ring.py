"""How much of this year's ring a branch has laid, and when it will have laid a given share.

The clock is *effective days since leaf-out* (1 for a day with a mean of 12 °C or more, 0 at 5 °C
or less), negative before leaf-out. The ring is a logistic curve on that clock, cut off at its
onset: exactly nothing before, all of it late in the season. Three classes of wood and growth have
their own curve. A branch that pushes a second time in a season lays part of its ring on a second
curve that starts from that push.

Shapes: a curve's values are floats or arrays that broadcast with the days, so that one call
serves all branches, all days and all draws.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from boughwright.errors import RangeError, UnknownNameError
from boughwright.growth.curves import rising_root, truncated_logistic, truncated_logistic_time

Floats: TypeAlias = npt.NDArray[np.float64]
Number: TypeAlias = "float | Floats"

SECOND_WEIGHT = 0.25
"""Share of the year's ring that a second push lays. Starting value (guess)."""
SECOND_WEIGHT_SD = 0.15
"""Spread of that share between branches (guess)."""
SECOND_MID_ED = 40.0
"""Effective days from the leaves of a second push to the middle of its growth (guess)."""


@dataclass(frozen=True, slots=True)
class RingCurve:
    """The ring's course on effective days since leaf-out. Floats, or arrays that broadcast.

    ``mid_ed``, ``scale_ed``: middle and spread of the logistic; ``onset_ed``: nothing is laid
    before; ``mid_sd_ed``: spread of the middle between trees. ``second_weight`` is the share of
    the ring that a second push lays (0: none), ``second_push_ed`` the day its leaves open,
    ``second_mid_ed`` the middle of its own logistic. [effective days]
    """

    mid_ed: Number
    scale_ed: Number
    onset_ed: Number
    mid_sd_ed: Number
    second_weight: Number = 0.0
    second_push_ed: Number = np.inf
    second_mid_ed: Number = np.inf


CLASSES: dict[str, RingCurve] = {
    "pruned": RingCurve(47.0, 17.0, -7.0, 10.0),
    "free": RingCurve(62.0, 24.0, -7.0, 10.0),
    "ring": RingCurve(26.0, 24.0, -22.0, 20.0),
    "semi-ring": RingCurve(36.5, 20.5, -22.0, 20.0),
}
"""Starting curves of a branch in a pot (guess), set between dendrometer bands on forest trunks
(``dow-2022``) and the lead that branches have over trunks. ``pruned`` and ``free`` are
diffuse-porous trees; ``semi-ring`` lies half-way between ``pruned`` and ``ring`` and starts with
``ring``, the earlier of the two, because the onset says when to look first."""


def curve_for(wood: str, *, free: bool | npt.NDArray[np.bool_],
              second_push_ed: Number | None = None,
              swell_ed: float | None = None) -> RingCurve:  # fmt: skip
    """Return the starting curve of a kind of wood and of growth.

    Parameters
    ----------
    wood : str
        ``diffuse``, ``ring`` or ``semi-ring``.
    free : bool or (B,) bool
        True while the branch is let run, on a species with more than one flush; False when it is
        cut, pinched or of a one-flush species, or when that is unknown (the earlier curve).
        Only diffuse-porous trees differ.
    second_push_ed : float or (B,) float, optional
        Effective days from leaf-out to the leaves of a second push. Give it only for branches
        that ran free or regrew after a cut; nan for the others.
    swell_ed : float, optional
        Effective days from leaf-out to a swell that was seen, negative. It is the onset on ring-
        and semi-ring-porous trees and is not used on diffuse ones.

    Returns
    -------
    RingCurve
        Of floats, or of (B,) arrays when ``free`` or ``second_push_ed`` is an array.

    Raises
    ------
    UnknownNameError
        When the wood is none of the three.
    """
    if wood == "diffuse":
        mid, scale = (
            np.where(free, getattr(CLASSES["free"], name), getattr(CLASSES["pruned"], name))
            for name in ("mid_ed", "scale_ed")
        )
        pruned = CLASSES["pruned"]
        base = RingCurve(_plain(mid), _plain(scale), pruned.onset_ed, pruned.mid_sd_ed)
    elif wood in ("ring", "semi-ring"):
        base = CLASSES[wood]
    else:
        raise UnknownNameError(f"wood {wood!r} is not known", allowed="diffuse, ring or semi-ring",
                               todo="Mend the species' wood")  # fmt: skip
    onset = base.onset_ed if swell_ed is None or wood == "diffuse" else swell_ed
    push = np.asarray(np.nan if second_push_ed is None else second_push_ed, float)
    pushed = ~np.isnan(push)
    return RingCurve(
        base.mid_ed,
        base.scale_ed,
        onset,
        base.mid_sd_ed,
        second_weight=_plain(np.where(pushed, SECOND_WEIGHT, 0.0)),
        second_push_ed=_plain(np.where(pushed, push, np.inf)),
        second_mid_ed=_plain(np.where(pushed, push + SECOND_MID_ED, np.inf)),
    )


def _plain(values: Floats) -> Number:
    """Return a float for a lone value, else the array."""
    return float(values) if values.ndim == 0 else values


def starts_at(curve: RingCurve, season_start_ed: npt.ArrayLike | None) -> Floats:
    """Return the effective day on which this year's ring begins.

    ``season_start_ed`` is the clock on the first day of the season (1 January in the north, 1 July
    in the south) and thus negative: minus the effective days from then to leaf-out. What the curve
    would lay before that day is taken off. None: the onset of the curve alone.
    """
    onset = np.asarray(curve.onset_ed, float)
    start: Floats = onset if season_start_ed is None else np.maximum(onset, season_start_ed)
    return start


def ring_share(ed_since_leaf_out: npt.ArrayLike, curve: RingCurve, *,
               season_start_ed: npt.ArrayLike | None = None) -> Floats:  # fmt: skip
    """Return the share 0..1 of the year's ring laid by a day.

    Parameters
    ----------
    ed_since_leaf_out : array_like
        Effective days since leaf-out, negative before it; nan gives nan.
    curve : RingCurve
        Broadcasts with the days.
    season_start_ed : array_like, optional
        See `starts_at`.

    Returns
    -------
    ndarray
        Broadcast shape. 0 up to the start, never falling, tending to 1.
    """
    day = np.asarray(ed_since_leaf_out, float)
    first = truncated_logistic(day, curve.mid_ed, curve.scale_ed, starts_at(curve, season_start_ed))
    weight = np.asarray(curve.second_weight, float)
    second = _second_share(day, curve) if weight.any() else 0.0
    share: Floats = (1.0 - weight) * first + weight * second
    return share


def _second_start(curve: RingCurve) -> tuple[Floats, Floats]:
    """Return start and middle of the second push, made finite where there is none."""
    push = np.asarray(curve.second_push_ed, float)
    mid = np.asarray(curve.second_mid_ed, float)
    none = ~np.isfinite(push)
    return np.where(none, 0.0, push), np.where(none, SECOND_MID_ED, mid)


def _second_share(day: Floats, curve: RingCurve) -> Floats:
    """Return the share of the second push's wood laid by a day."""
    start, mid = _second_start(curve)
    return truncated_logistic(day, mid, curve.scale_ed, start)


def ed_at_share(share: npt.ArrayLike, curve: RingCurve, *,
                season_start_ed: npt.ArrayLike | None = None) -> Floats:  # fmt: skip
    """Return the effective day since leaf-out on which a share of the ring is laid.

    The exact inverse of `ring_share`: the start of the ring for a share of 0 or less, infinity
    for 1 or more ("not this season"), nan for nan. Shapes broadcast as there.
    """
    wanted = np.asarray(share, float)
    start = starts_at(curve, season_start_ed)
    single = truncated_logistic_time(wanted, curve.mid_ed, curve.scale_ed, start)
    weight = np.asarray(curve.second_weight, float)
    if not weight.any():
        return np.asarray(single + np.zeros_like(weight), float)
    push, mid = _second_start(curve)
    second = truncated_logistic_time(wanted, mid, curve.scale_ed, push)
    # A mixture reaches a share between the days on which its two parts reach it.
    low, high = np.minimum(single, second), np.maximum(single, second)
    ends = ~np.isfinite(high)
    found = rising_root(
        lambda day: ring_share(day, curve, season_start_ed=season_start_ed),
        *np.broadcast_arrays(wanted, np.where(ends, 0.0, low), np.where(ends, 0.0, high)),
    )
    both = np.where(ends, high, np.where(wanted <= 0.0, low, found))
    return np.where(weight > 0.0, both, single)


def since_leaf_out(effective_days: npt.ArrayLike, leaf_out_row: npt.ArrayLike) -> Floats:
    """Return the ring's clock for each day of a season, for one or more leaf-out days.

    Parameters
    ----------
    effective_days : (D,) array_like
        Running sum by the end of each day, from the first day of the season.
    leaf_out_row : array_like, shape S
        Row of the day of leaf-out; fractions are taken between two days.

    Returns
    -------
    (S..., D) ndarray
        0 by the end of the day of leaf-out. The clock at the start of the season, for
        ``season_start_ed``, is minus the sum on the day of leaf-out: `season_start`.

    Raises
    ------
    RangeError
        When a leaf-out lies outside the season.
    """
    running = np.asarray(effective_days, float)
    since: Floats = running - _sum_at(running, leaf_out_row)[..., np.newaxis]
    return since


def season_start(effective_days: npt.ArrayLike, leaf_out_row: npt.ArrayLike) -> Floats:
    """Return the ring's clock on the first day of the season, 0 or negative; shape S."""
    return -_sum_at(np.asarray(effective_days, float), leaf_out_row)


def _sum_at(running: Floats, row: npt.ArrayLike) -> Floats:
    rows = np.asarray(row, float)
    if np.any((rows < 0) | (rows > len(running) - 1)):
        raise RangeError(f"a leaf-out lies outside the season of {len(running)} days",
                         allowed=f"rows 0 to {len(running) - 1}",
                         todo="Give the leaf-out of this season")  # fmt: skip
    return np.asarray(np.interp(rows, np.arange(len(running)), running), float)

"""Orders of branching by Strahler's rule and the ratio of their numbers by Horton's.

A tip is of order 1. Where two or more of the highest order meet, the order rises by one; else the
highest passes on. The same rule gives the register (Ershov) number of a syntax tree.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from boughwright.tree.model import Floats, Ints


def strahler(parent: Ints) -> Ints:
    """Return the Strahler order of every node of a rooted tree.

    Parameters
    ----------
    parent : (N,) int
        Row of each node's parent, less than its own; -1 for a root.

    Returns
    -------
    (N,) int
        1 for tips. One pass from the last row to the first.
    """
    up = parent.tolist()
    best = [0] * len(up)
    ties = [0] * len(up)
    order = [1] * len(up)
    for row in range(len(up) - 1, -1, -1):
        if best[row]:
            order[row] = best[row] + (ties[row] > 1)
        above = up[row]
        if above < 0:
            continue
        if order[row] > best[above]:
            best[above], ties[above] = order[row], 1
        elif order[row] == best[above]:
            ties[above] += 1
    return np.asarray(order, np.int32)


def stream_counts(parent: Ints, orders: Ints) -> Ints:
    """Return how many unbroken runs of each order there are, order 1 first."""
    below = np.where(parent >= 0, orders[parent], 0)
    starts = orders[below != orders]
    return np.bincount(starts, minlength=2)[1:].astype(np.int32)


def horton_ratios(parent: Ints, orders: Ints) -> Floats:
    """Return the bifurcation ratio of each order: its runs over those of the next higher."""
    counts = stream_counts(parent, orders).astype(np.float64)
    return counts[:-1] / counts[1:]


def node_tree(parent: Ints, along_mm: Floats, keep: np.ndarray) -> tuple[Ints, Ints]:
    """Turn branches, each a line with others growing from it, into a tree of nodes.

    Every branch becomes one node for each place where others start (those of unknown place start
    at its end), an end and a tip. Without the tip a branch with one side shoot would be no fork.

    Parameters
    ----------
    parent : (N,) int
        Row of the parent branch, -1 for the trunk.
    along_mm : (N,) float
        Where each starts on its parent; nan when unknown.
    keep : (N,) bool
        Branches that stand. A kept branch's parent is kept.

    Returns
    -------
    parent : (M,) int
        Parent node of each node, less than its own.
    base : (N,) int
        First node of each branch, -1 where not kept.
    """
    rows = np.flatnonzero(keep)
    child = rows[parent[rows] >= 0]
    sort = child[np.lexsort((along_mm[child], parent[child]))]
    up, at = parent[sort], along_mm[sort]
    first = np.ones(len(sort), bool)
    first[1:] = up[1:] != up[:-1]
    fresh = first.copy()
    fresh[1:] |= ~(at[1:] == at[:-1])
    fresh &= ~np.isnan(at)  # unknown places sort last and share the end node
    made = np.cumsum(fresh)
    before = np.maximum.accumulate(np.where(first, made - fresh, 0)) if len(sort) else made
    rank = made - before - ~np.isnan(at)
    places = np.zeros(len(parent), np.int64)
    np.add.at(places, up, fresh)
    size = np.where(keep, places + 2, 0)
    base = np.cumsum(size) - size
    nodes = np.arange(int(size.sum()), dtype=np.int32) - 1
    nodes[base[rows]] = -1
    nodes[base[sort]] = base[up] + rank
    return nodes, np.where(keep, base, -1).astype(np.int32)

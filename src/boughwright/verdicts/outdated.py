"""Facts that a work has made old: a first node that was cut past, sick wood that was cut out."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Final

import numpy as np

from boughwright.journal.terms import Amount, Quantity, Sign, Work
from boughwright.verdicts.again import is_inside

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from boughwright.tree.model import Tree, WorkDone

CUT_OUT: Final = Sign.CANKER.value
"""Sign of sick wood; a cut made since it was seen has taken it out."""
_OF_NODE: Final = frozenset({Quantity.NODE, Quantity.ROOM})


def last_cuts(tree: Tree) -> Mapping[int, date]:
    """Return the last day each row was cut."""
    return {one.branch: one.on for one in tree.works if _is_cut(one)}


def _is_cut(one: WorkDone) -> bool:
    return one.what.work is Work.CUT and one.what.amount is not Amount.NONE


def not_cut_out(signs: Mapping[str, date], cut: date | None) -> Mapping[str, date]:
    """Return the signs without sick wood that was cut out since it was seen."""
    seen = signs.get(CUT_OUT)
    if seen is None or cut is None or cut < seen:
        return signs
    return {sign: on for sign, on in signs.items() if sign != CUT_OUT}


def node_gone(tree: Tree) -> npt.NDArray[np.bool_]:
    """Return where the first node was cut past since its length or its room was last read. (N,)."""
    gone = np.zeros(len(tree.branches), dtype=bool)
    read = {one.branch: one.on for one in tree.measures if one.what in _OF_NODE}
    for one in tree.works:
        if _is_cut(one) and one.branch >= 0 and is_inside(one.what.to):
            gone[one.branch] |= read.get(one.branch, date.min) <= one.on
    return gone

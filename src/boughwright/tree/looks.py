"""Signs that still stand: a later look that sought one there and found none takes it back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from boughwright.journal.names import WHOLE, is_zone, normal_zone
from boughwright.journal.terms import Amount, Sign

if TYPE_CHECKING:
    from collections.abc import Iterable

    from boughwright.tree.model import Seen

_YEARLY = frozenset(
    {Sign.SWELL, Sign.BURST, Sign.FIRST_LEAF, Sign.RUNNING, Sign.CLOSING, Sign.HARD, Sign.COLOUR,
     Sign.LEAF_DROP, Sign.REGROWTH, Sign.FRUIT}
)  # fmt: skip
SAME_YEAR_DAYS = 150
"""A stage sought and not found takes back only what was said of this year's. [d]"""


def found(seen: Iterable[Seen]) -> list[Seen]:
    """Return the signs that were there and still stand.

    Parameters
    ----------
    seen : iterable of Seen
        Oldest first.
    """
    standing: list[Seen] = []
    for one in seen:
        if one.amount is Amount.NONE:
            standing = [other for other in standing if not _takes_back(one, other)]
        else:
            standing.append(one)
    return standing


def _takes_back(none: Seen, other: Seen) -> bool:
    if none.sign is not other.sign or not holds(none, other):
        return False
    return none.sign not in _YEARLY or (none.on - other.on).days <= SAME_YEAR_DAYS


def holds(place: Seen, other: Seen) -> bool:
    """Tell whether the place of one look holds that of another: the tree all, a zone its parts."""
    if place.branch >= 0:
        return other.branch == place.branch
    if not place.zone or place.zone.casefold() in WHOLE:
        return True
    if other.branch >= 0:
        return other.branch in place.rows
    return bool(other.zone) and _words(place.zone) <= _words(other.zone)


def _words(zone: str) -> frozenset[str]:
    return frozenset((normal_zone(zone) if is_zone(zone) else zone.casefold()).split())

"""A species as the rules read it: named traits, each with range, unit, source and grade."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from boughwright.sources import Grade


@dataclass(frozen=True, slots=True)
class Trait:
    """One value of one species.

    ``value`` in ``unit``; ``low`` and ``high`` the range it is expected to lie in (numbers only);
    ``source`` a key of ``sources.toml``; ``grade`` how it was come by.
    """

    value: float | str | bool
    unit: str
    source: str
    grade: Grade
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Species:
    """One species (or group) with all its traits.

    Trait names, the same for every species (see ``species/traits.toml`` for what each means):
    ``buds`` (opposite, alternate), ``wood`` (diffuse, ring, semi-ring), ``flushes`` (one, few,
    many), ``increment_developing_mm``, ``increment_refined_mm`` (radius, a year), ``shoot_cm``,
    ``internode_refined_mm``, ``internode_free_mm``, ``leaf_cm2``, ``density``,
    ``leafout_factor``, ``chill_portions``, ``back_budding`` (0-3), ``callus``, ``bleeds`` (0-3),
    ``top_kill_c``, ``root_kill_c``, ``pot_core_limit_c``, ``bark`` (smooth thin, ordinary, corky),
    ``brittle`` (no, old, flush), ``supple`` (yes/no), ``full_defoliation`` (never, strong,
    strong-or-steady), ``partial_defoliation`` (no, careful, yes), ``defoliation_note``,
    ``wire_weeks`` (weeks to a mark in flush, card only), ``graft_seasons`` (at least),
    ``repot_slow`` (yes/no), ``hates_hot_roots`` (yes/no), ``fruit`` (yes/no), ``leafout_model``
    (chill-warmth, sequential), ``note``.
    """

    key: str
    botanical: str
    plain: str
    common: tuple[str, ...]
    traits: Mapping[str, Trait]

    def number(self, trait: str) -> float:
        """Return a trait as a number; yes is 1, no 0."""
        value = self.traits[trait].value
        if isinstance(value, str):
            raise TypeError(f"{trait} of {self.botanical} is a word, not a number")
        return float(value)

    def word(self, trait: str) -> str:
        """Return a trait as a word; ``yes`` or ``no`` for a trait that is either."""
        value = self.traits[trait].value
        if isinstance(value, bool):
            return "yes" if value else "no"
        return str(value)

    def flag(self, trait: str) -> bool:
        """Return a yes-no trait."""
        value = self.traits[trait].value
        if not isinstance(value, bool):
            raise TypeError(f"{trait} of {self.botanical} is not a yes or no")
        return value

    def grade(self, trait: str) -> Grade:
        """Return the grade of a trait."""
        return self.traits[trait].grade

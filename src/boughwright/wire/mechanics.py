"""Bending a living branch: how much it resists, how far it springs back, when growth has set it.

A branch is a round section that bends elastically up to a yield strain and then gives way at
constant stress. Lengths in mm, stress in MPa (N/mm²), moments in N·mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from boughwright.journal.terms import Bend


class WoodAge(StrEnum):
    """How old the wood at the bend is."""

    SHOOT = "current-year shoot"
    TWIG = "twig of one or two years"
    OLD = "branch of three years or more"


@dataclass(frozen=True, slots=True)
class Wood:
    """How living wood bends.

    ``modulus_mpa`` stiffness with bark [MPa]; ``yield_strain`` where it starts to give;
    ``fracture_strain`` outer strain (half the diameter over the bend radius) at which it breaks.
    """

    modulus_mpa: float
    yield_strain: float
    fracture_strain: float


WOOD: dict[WoodAge, Wood] = {
    WoodAge.SHOOT: Wood(1000.0, 0.012, 0.10),
    WoodAge.TWIG: Wood(2500.0, 0.008, 0.06),
    WoodAge.OLD: Wood(4500.0, 0.006, 0.035),
}
"""Starting values inside the range published for living branches (``cannell-morgan-1987``)."""

USUAL_DENSITY = 0.49
"""Basic density that the stiffness of `WOOD` stands for; stiffness goes in proportion."""

BRITTLE = 0.7
"""Factor on the fracture strain of brittle wood: oak, ash, old elm, frozen or dry wood."""

SUPPLE = 1.3
"""Factor on the fracture strain of supple shoots: maple, beech, hornbeam."""

SAFE_SHARE = 0.7
"""Share of the fracture strain that is never exceeded in one go."""

RELAXATION = 0.4
"""Retarded elastic bending within a day, over the instant one (``ray-bret-harte-2019``)."""

FULL_SECTION = 16.0 / (3.0 * math.pi)
"""Moment of a round section that yields right through, over its moment at first yield."""

KEPT_WHEN_SET = 0.70
"""Share of the bend that must stay for it to count as set."""


@dataclass(frozen=True, slots=True)
class BendPrior:
    """How a bend holds in the wood before any growth. Starting values.

    ``elastic`` share of the moment that would spring back (± `ELASTIC_SD`), ``creep`` share of
    that which creep takes away for good, ``bend_ratio`` the tightest radius of the class in branch
    diameters.
    """

    elastic: float
    creep: float
    bend_ratio: float


BENDS: dict[Bend, BendPrior] = {
    Bend.GENTLE: BendPrior(0.95, 0.10, 40.0),
    Bend.MODERATE: BendPrior(0.75, 0.15, 20.0),
    Bend.STRONG: BendPrior(0.55, 0.20, 10.0),
}

ELASTIC_SD = 0.12


def wood_of(
    age: WoodAge, *, density: float | None = None, brittle: bool = False, supple: bool = False
) -> Wood:
    """Return how wood of an age bends, moved by the species' density and temper.

    Parameters
    ----------
    age : WoodAge
    density : float, optional
        Basic density, dry mass over green volume. Unknown: the usual one.
    brittle, supple : bool
        Factors on the fracture strain; both may apply and then nearly cancel.
    """
    wood = WOOD[age]
    temper = (BRITTLE if brittle else 1.0) * (SUPPLE if supple else 1.0)
    scale = 1.0 if density is None else density / USUAL_DENSITY
    return Wood(wood.modulus_mpa * scale, wood.yield_strain, wood.fracture_strain * temper)


def bend_of(radius_mm: float, base_mm: float) -> Bend:
    """Return how hard a bend is: by its radius, over 40 diameters, 20 to 40, under 20."""
    ratio = radius_mm / base_mm
    if ratio > BENDS[Bend.GENTLE].bend_ratio:
        return Bend.GENTLE
    return Bend.STRONG if ratio < BENDS[Bend.MODERATE].bend_ratio else Bend.MODERATE


def section_factor(over_yield: float) -> float:
    """Return the moment of a round section over its moment at first yield.

    Parameters
    ----------
    over_yield : float
        Outer strain over the yield strain, 0 or more.
    """
    if over_yield <= 1.0:
        return over_yield
    inverse = 1.0 / over_yield
    rim = math.sqrt(1.0 - inverse**2) * (5.0 - 2.0 * inverse**2) / 3.0
    return (2.0 / math.pi) * (over_yield * math.asin(inverse) + rim)


def elastic_fraction(over_yield: float) -> float:
    """Return the section's moment over the moment it would have were it all elastic."""
    return 1.0 if over_yield <= 1.0 else section_factor(over_yield) / over_yield


def outer_strain(base_mm: float, radius_mm: float) -> float:
    """Return the strain on the outside of a bend."""
    return base_mm / (2.0 * radius_mm)


def stiffness_nmm2(base_mm: float, wood: Wood) -> float:
    """Return the bending stiffness of a round branch, modulus times second moment. [N·mm²]."""
    return wood.modulus_mpa * math.pi * base_mm**4 / 64.0


def bending_moment_nmm(base_mm: float, radius_mm: float, wood: Wood) -> float:
    """Return the moment that bends a branch to a radius, at once. [N·mm]."""
    first_yield = wood.modulus_mpa * wood.yield_strain * math.pi * base_mm**3 / 32.0
    return first_yield * section_factor(outer_strain(base_mm, radius_mm) / wood.yield_strain)


def holding_moment_nmm(base_mm: float, radius_mm: float, wood: Wood) -> float:
    """Return the moment that still holds the bend after a day. [N·mm]."""
    return bending_moment_nmm(base_mm, radius_mm, wood) / (1.0 + RELAXATION)


def hold_check(base_mm: float, radius_mm: float, wood: Wood, wire_nmm: float) -> float:
    """Return what the wire holds over what the branch asks; 1 and more does not spring back."""
    return wire_nmm / holding_moment_nmm(base_mm, radius_mm, wood)


def over_bend(base_mm: float, radius_mm: float, wood: Wood, wire_nmm: float) -> float:
    """Return how much tighter than wanted a branch must be bent so that it comes to rest right.

    The pose returns along the elastic line until the branch asks no more than the wire holds.

    Parameters
    ----------
    base_mm, radius_mm : float
        Diameter at the bend and the bend radius wanted in the end. [mm]
    wood : Wood
    wire_nmm : float
        Moment the wire holds, 0 for none. [N·mm]

    Returns
    -------
    float
        Curvature to bend to over the curvature wanted, 1 or more.
    """
    if hold_check(base_mm, radius_mm, wood, wire_nmm) >= 1.0:
        return 1.0
    wanted, stiffness = 1.0 / radius_mm, stiffness_nmm2(base_mm, wood)

    def rest(curvature: float) -> float:
        spare = holding_moment_nmm(base_mm, 1.0 / curvature, wood) - wire_nmm
        return curvature - max(spare, 0.0) / stiffness

    most = stiffness * wood.yield_strain * 2.0 / base_mm * FULL_SECTION / (1.0 + RELAXATION)
    low, high = wanted, wanted + most / stiffness
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if rest(middle) < wanted else (low, middle)
    return high / wanted


def safe_radius_mm(base_mm: float, wood: Wood) -> float:
    """Return the smallest radius a branch is bent to in one go. [mm]."""
    return base_mm / (2.0 * SAFE_SHARE * wood.fracture_strain)


def kept_share(thickening: float, elastic: float, creep: float) -> float:
    """Return the share of a bend that stays when the wire comes off.

    New wood is laid down free of stress in the bent shape.

    Parameters
    ----------
    thickening : float
        Diameter now over the diameter at wiring, 1 or more.
    elastic, creep : float
        As in `BendPrior`.
    """
    return 1.0 - (1.0 - creep) * elastic / thickening**4


def set_thickening(elastic: float, creep: float, *, kept: float = KEPT_WHEN_SET) -> float:
    """Return how many times its diameter at wiring a base must reach to keep the bend."""
    return max(1.0, math.sqrt(math.sqrt((1.0 - creep) * elastic / (1.0 - kept))))


def lift_deg(strain: float, before_mm: float, after_mm: float, length_mm: float) -> float:
    """Return how far a lowered branch lifts itself again in a season. [degrees].

    Tension wood on the upper side pulls it up, commonly 1 to 3 degrees a season after the wire
    comes off, so lower it 3 to 5 degrees further than wanted.

    Parameters
    ----------
    strain : float
        Half the difference of the strains of new wood above and below, usually 0.0005 to 0.0015.
    before_mm, after_mm : float
        Radius before and after the season. [mm]
    length_mm : float
        Length of the lowered run. [mm]
    """
    return math.degrees(4.0 * strain * (1.0 / before_mm - 1.0 / after_mm) * length_mm)

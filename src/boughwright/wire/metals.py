"""Bonsai wire as metal: how strong, how heavy, how a coil lies on a branch and how long it must be.

Lengths in mm, stress in MPa (N/mm²), moments in N·mm, angles between wire and branch in degrees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from boughwright.journal.terms import Metal
from boughwright.sources import Grade


@dataclass(frozen=True, slots=True)
class WireMetal:
    """What a metal brings to the bench.

    Parameters
    ----------
    strength_mpa, hardening : float
        ``K`` and ``n`` of the flow stress ``K * strain ** n`` of the annealed metal. [MPa], -
    density_g_cm3 : float
    share : float
        Gauge over branch diameter that usually holds. Starting value.
    trade_low, trade_high : float
        The trade's rule of thumb for the same.
    source : str
        Source key of the flow stress.
    grade : Grade
        Grade of the flow stress.
    """

    strength_mpa: float
    hardening: float
    density_g_cm3: float
    share: float
    trade_low: float
    trade_high: float
    source: str
    grade: Grade


METALS: dict[Metal, WireMetal] = {
    Metal.ALUMINIUM: WireMetal(
        139.63, 0.25855, 2.70, 0.42, 1 / 3, 1 / 3, "metal-tables", Grade.BORROWED
    ),
    Metal.COPPER: WireMetal(451.2, 0.35080, 8.93, 0.33, 0.20, 0.25, "smithells", Grade.BORROWED),
}
"""Flow stress through 0.2 % proof and tensile stress: aluminium 1050-O 28 and 76 MPa (as
remembered), annealed copper 51 and 220 MPa."""

WRAPPED_STRAIN = 0.15
"""True strain of wire freshly wrapped at the usual angles; its flow stress is what holds."""

HELIX_HOLD = 0.93
"""Share of the straight wire's plastic moment a coil holds, at any usual angle."""

LOOSE_HOLD = 0.60
"""The same when turns stand off by more than 0.3 of the gauge. Starting value."""

COIL_DEG = (45.0, 55.0)
"""Usual angle between wire and branch line. Common practice."""

ANCHOR_TURN = 1.2
"""Anchor turn over the bare circumference of what it goes round."""

WASTE = 0.10
"""Share of the length that is cut off."""

POISSON_RATIO = 0.34

STANDARD_GAUGES_MM = (0.8, 1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0, 5.5, 6.0)
"""Gauges commonly sold."""


def flow_stress_mpa(strain: float, metal: Metal) -> float:
    """Return the stress at which annealed wire flows after a true strain. [MPa]."""
    row = METALS[metal]
    return row.strength_mpa * math.pow(strain, row.hardening)


def bundle_gauge_mm(gauge_mm: float, strands: int) -> float:
    """Return the one gauge that holds like ``strands`` side by side; holding goes with the cube."""
    return gauge_mm * math.cbrt(strands)


def plastic_moment_nmm(
    gauge_mm: float,
    metal: Metal,
    *,
    strands: int = 1,
    strain: float = WRAPPED_STRAIN,
    stock_factor: float = 1.0,
) -> float:
    """Return the moment at which straight wire bends through. [N·mm].

    ``stock_factor`` is how much harder this reel is than the annealed metal (prior 1.0 ×/÷ 1.2).
    """
    return strands * stock_factor * flow_stress_mpa(strain, metal) * gauge_mm**3 / 6.0


def mass_g_per_m(gauge_mm: float, metal: Metal) -> float:
    """Return the mass of one metre of wire. [g/m]."""
    return METALS[metal].density_g_cm3 * math.pi * gauge_mm**2 / 4.0


def coil_length_share(angle_deg: float) -> float:
    """Return wire length over branch length at a coil angle."""
    return 1.0 / math.cos(math.radians(angle_deg))


def coil_pitch_mm(base_mm: float, gauge_mm: float, angle_deg: float) -> float:
    """Return the distance along the branch from one turn to the next. [mm]."""
    return math.pi * (base_mm + gauge_mm) / math.tan(math.radians(angle_deg))


def wrap_strain(base_mm: float, gauge_mm: float, angle_deg: float) -> float:
    """Return the strain that wrapping puts into the wire's outer face."""
    ratio = gauge_mm / base_mm
    return ratio / (1.0 + ratio) * math.sin(math.radians(angle_deg)) ** 2


def coil_stiffness_share(angle_deg: float) -> float:
    """Return the bending stiffness of a free coil over that of straight wire."""
    angle = math.radians(angle_deg)
    return 2.0 * math.cos(angle) / (2.0 + POISSON_RATIO * math.sin(angle) ** 2)


def coil_moment_share(angle_deg: float) -> float:
    """Return the plastic moment of a free coil over that of straight wire, at its weakest point.

    There the wire twists by ``sin`` and bends by ``cos`` of the angle; it yields by von Mises,
    with the plastic torque of a round bar ``pi / (2 sqrt 3)`` of its plastic moment.
    """
    sine = math.sin(math.radians(angle_deg))
    torque = math.pi / (2.0 * math.sqrt(3.0))
    return 1.0 / math.sqrt(1.0 - sine**2 + (sine / torque) ** 2)


def cut_length_mm(
    branch_lengths_mm: tuple[float, ...], anchor_mm: float, *, angle_deg: float = COIL_DEG[1]
) -> float:
    """Return the length to cut for one or two branches on one wire, anchored a full turn. [mm].

    Parameters
    ----------
    branch_lengths_mm : tuple of float
        Length to be covered on each branch. [mm]
    anchor_mm : float
        Diameter of what the anchor turn goes round. [mm]
    angle_deg : float
        The steeper the coil stands on the branch, the more wire; the default is the safe side.
    """
    coils = sum(branch_lengths_mm) * coil_length_share(angle_deg)
    return (coils + math.pi * anchor_mm * ANCHOR_TURN) * (1.0 + WASTE)

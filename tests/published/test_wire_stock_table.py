"""Mass of bonsai wire by the metre, and how much wire a coil takes, against the trade's own table.

The table is common practice in the trade; its figures follow from the gauge and the densities
2.70 and 8.93 g/cm³, and are given there to three figures. Source: ``common-practice``, with
``geometry`` for the coil.
"""

from __future__ import annotations

import math

import pytest

from boughwright.journal.terms import Metal
from boughwright.wire.metals import COIL_DEG, coil_length_share, cut_length_mm, mass_g_per_m

GAUGES = (0.8, 1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0)
ALUMINIUM = (1.36, 2.12, 3.05, 4.77, 8.48, 13.3, 19.1, 26.0, 33.9, 53.0, 76.3)
COPPER = (4.49, 7.01, 10.1, 15.8, 28.1, 43.8, 63.1, 85.9, 112, 175, 252)


@pytest.mark.parametrize(
    ("metal", "gauge", "grams"),
    [
        *((Metal.ALUMINIUM, *pair) for pair in zip(GAUGES, ALUMINIUM, strict=True)),
        *((Metal.COPPER, *pair) for pair in zip(GAUGES, COPPER, strict=True)),
    ],
)
def test_a_metre_of_wire_weighs_what_the_trade_says(
    metal: Metal, gauge: float, grams: float
) -> None:
    # Three figures in the table: half a unit of the last one is at most 0.5 %.
    assert mass_g_per_m(gauge, metal) == pytest.approx(grams, rel=5e-3)


def test_mass_alone_cannot_part_thick_aluminium_from_thin_copper() -> None:
    """2.0 mm aluminium and 1.1 mm copper both weigh about 8.5 g a metre: ask the colour."""
    assert mass_g_per_m(2.0, Metal.ALUMINIUM) == pytest.approx(8.5, abs=0.05)
    assert mass_g_per_m(1.1, Metal.COPPER) == pytest.approx(8.5, abs=0.05)


def test_a_coil_takes_1_41_to_1_74_times_the_branch() -> None:
    assert [round(coil_length_share(angle), 2) for angle in COIL_DEG] == [1.41, 1.74]


def test_the_length_to_cut_is_coil_anchor_turn_and_a_tenth() -> None:
    # 300 mm at 45 degrees, an anchor turn of 1.2 girths round 10 mm, 10 % waste.
    assert cut_length_mm((300.0,), 10.0, angle_deg=45.0) == pytest.approx(
        (300.0 * math.sqrt(2) + math.pi * 10.0 * 1.2) * 1.1
    )

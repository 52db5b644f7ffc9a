"""Stiffness of green wood and of living branches against published ranges.

Sources: ``wood-handbook``, green clear wood, modulus [GPa] by basic density: four rows read (sugar
maple, American elm, winged elm, hophornbeam), the rest as remembered. ``cannell-morgan-1987``:
living branches with bark 0.7 to 4.6 GPa, trunks 2.4 to 7.5 GPa.
"""

from __future__ import annotations

import statistics
from math import log

import pytest

from boughwright.species.tables import all_species
from boughwright.wire.mechanics import WOOD, WoodAge, wood_of

GREEN = {
    "sugar maple": (10.7, 0.56), "American elm": (7.7, 0.46), "winged elm": (8.3, 0.60),
    "hophornbeam": (7.9, 0.63), "red maple": (9.6, 0.49), "silver maple": (6.5, 0.44),
    "black maple": (9.2, 0.52), "bigleaf maple": (7.6, 0.44), "slippery elm": (8.5, 0.48),
    "rock elm": (8.2, 0.57), "American beech": (9.5, 0.56), "paper birch": (8.1, 0.48),
    "sweet birch": (11.4, 0.60), "yellow birch": (10.3, 0.55), "white ash": (9.9, 0.55),
    "black ash": (7.2, 0.45), "northern red oak": (9.3, 0.56), "white oak": (8.6, 0.60),
    "sweetgum": (8.3, 0.46), "black cherry": (9.0, 0.47), "hackberry": (6.6, 0.49),
    "American sycamore": (7.3, 0.46), "black willow": (5.4, 0.36), "honeylocust": (8.9, 0.60),
}  # fmt: skip

BRANCH_GPA = (0.7, 4.6)
TRUNK_GPA = (2.4, 7.5)


def scale(density):
    """How much stiffer wood of a density is reckoned than wood of the usual one."""
    return wood_of(WoodAge.OLD, density=density).modulus_mpa / WOOD[WoodAge.OLD].modulus_mpa


def scaled():
    return {name: modulus / scale(density) for name, (modulus, density) in GREEN.items()}


@pytest.mark.parametrize("name", GREEN)
def test_green_wood_scales_with_density_within_three_tenths(name):
    usual = statistics.median(scaled().values())
    assert 0.70 <= scaled()[name] / usual <= 1.30


def test_scaling_with_density_takes_out_some_of_the_spread():
    plain = statistics.stdev(log(modulus) for modulus, _ in GREEN.values())
    left = statistics.stdev(log(modulus) for modulus in scaled().values())
    assert left < 0.85 * plain


@pytest.mark.parametrize("age", WoodAge)
def test_branches_of_usual_density_lie_in_the_published_range(age):
    assert BRANCH_GPA[0] <= WOOD[age].modulus_mpa / 1000.0 <= BRANCH_GPA[1]


@pytest.mark.parametrize("age", [WoodAge.SHOOT, WoodAge.TWIG])
@pytest.mark.parametrize("species", all_species(), ids=lambda species: species.key)
def test_shoots_and_twigs_of_every_species_lie_in_the_published_range(species, age):
    modulus = wood_of(age, density=species.number("density")).modulus_mpa / 1000.0
    assert BRANCH_GPA[0] <= modulus <= BRANCH_GPA[1]


def test_old_branches_of_every_species_lie_in_the_range_of_trunks():
    found = [wood_of(WoodAge.OLD, density=s.number("density")).modulus_mpa / 1000.0
             for s in all_species()]  # fmt: skip
    assert TRUNK_GPA[0] <= min(found)
    assert max(found) <= TRUNK_GPA[1]


@pytest.mark.xfail(strict=True, reason="dense species reach 6.6 GPa; branches are published to 4.6")
def test_old_branches_of_every_species_lie_in_the_range_of_branches():
    found = [wood_of(WoodAge.OLD, density=s.number("density")).modulus_mpa / 1000.0
             for s in all_species()]  # fmt: skip
    assert BRANCH_GPA[0] <= min(found)
    assert max(found) <= BRANCH_GPA[1]

"""Bending of branches: worked figures, and laws that hold for any branch."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boughwright.journal.terms import Bend, Metal
from boughwright.wire.mechanics import (
    BENDS,
    FULL_SECTION,
    WoodAge,
    bend_of,
    bending_moment_nmm,
    elastic_fraction,
    hold_check,
    holding_moment_nmm,
    kept_share,
    lift_deg,
    outer_strain,
    over_bend,
    safe_radius_mm,
    section_factor,
    set_thickening,
    stiffness_nmm2,
    wood_of,
)
from boughwright.wire.metals import HELIX_HOLD, plastic_moment_nmm

AL, CU = Metal.ALUMINIUM, Metal.COPPER
SHOOT, TWIG, OLD = WoodAge.SHOOT, WoodAge.TWIG, WoodAge.OLD


def section_by_strips(over_yield: float, strips: int = 200_000) -> float:
    """The moment of a round section summed strip by strip, over its moment at first yield."""
    y = (np.arange(strips) + 0.5) / strips * 2.0 - 1.0
    stress = np.clip(y * over_yield, -1.0, 1.0)
    moment = np.sum(stress * y * 2.0 * np.sqrt(1.0 - y**2)) * 2.0 / strips
    return float(moment / (math.pi / 4.0))


@pytest.mark.parametrize(
    ("over_yield", "factor"), [(1.5, 1.3471), (2, 1.4937), (3, 1.6049), (5, 1.6639), (10, 1.6892)]
)
def test_section_factor(over_yield, factor):
    assert section_factor(over_yield) == pytest.approx(factor, abs=5e-5)


@pytest.mark.parametrize("over_yield", [0.5, 1.0, 1.2, 2.5, 8.0])
def test_section_factor_against_summing_strips(over_yield):
    assert section_factor(over_yield) == pytest.approx(section_by_strips(over_yield), rel=1e-5)


def test_a_section_that_yields_right_through_holds_16_over_3_pi():
    assert section_factor(1e6) == pytest.approx(16 / (3 * math.pi), abs=1e-9)
    assert pytest.approx(1.6977, abs=5e-5) == FULL_SECTION


@given(st.floats(0.0, 50.0), st.floats(0.0, 50.0))
def test_more_bend_never_asks_less_and_never_is_more_elastic(one, other):
    low, high = sorted((one, other))
    assert section_factor(low) <= section_factor(high) + 1e-12
    assert elastic_fraction(low) >= elastic_fraction(high) - 1e-12


@pytest.mark.parametrize(
    ("age", "fractions"),
    [
        (SHOOT, (1.00, 1.00, 0.72, 0.40, 0.20)),
        (TWIG, (1.00, 0.88, 0.52, 0.27, 0.14)),
        (OLD, (1.00, 0.72, 0.40, 0.20, 0.10)),
    ],
)
def test_elastic_fraction_by_age_and_bend(age, fractions):
    # at bend radii of 80, 40, 20, 10 and 5 diameters
    strains = [1.0 / (2.0 * ratio) for ratio in (80, 40, 20, 10, 5)]
    found = [elastic_fraction(strain / wood_of(age).yield_strain) for strain in strains]
    assert found == pytest.approx(fractions, abs=0.006)


@pytest.mark.parametrize(("strain", "ratio"), [(0.01, 50), (0.02, 25), (0.05, 10), (0.10, 5)])
def test_outer_strain_is_half_the_diameter_over_the_radius(strain, ratio):
    assert outer_strain(1.0, ratio) == pytest.approx(strain)


def test_worked_bend_of_a_6_mm_twig_to_120_mm():
    # I = pi 6^4/64 = 63.617; EI 159 043; elastic EI/R 1325; first yield 424.1; moment 683.7;
    # after a day 683.7 / 1.4 = 488.4
    twig = wood_of(TWIG)
    assert stiffness_nmm2(6.0, twig) == pytest.approx(159_043, abs=1)
    assert stiffness_nmm2(6.0, twig) / 120.0 == pytest.approx(1325, abs=0.5)
    assert bending_moment_nmm(6.0, 120.0, twig) == pytest.approx(683.7, abs=0.05)
    assert holding_moment_nmm(6.0, 120.0, twig) == pytest.approx(488.4, abs=0.05)
    for metal, gauge in ((AL, 3.32), (CU, 2.39)):
        held = HELIX_HOLD * plastic_moment_nmm(gauge, metal)
        assert hold_check(6.0, 120.0, twig, held) == pytest.approx(1.0, abs=0.015)


# Age, bend radius in diameters; gauge over diameter with no spring-back in aluminium and copper;
# over-bend with aluminium 1/3 and 1/2, copper 1/3 and 1/2, and no wire.
TABLE = [
    (SHOOT, 40, 0.40, 0.29, 1.55, 1.00, 1.00, 1.00, 2.04),
    (SHOOT, 20, 0.46, 0.33, 1.34, 1.00, 1.00, 1.00, 1.55),
    (SHOOT, 10, 0.47, 0.34, 1.18, 1.00, 1.01, 1.00, 1.29),
    (TWIG, 40, 0.52, 0.38, 1.55, 1.11, 1.24, 1.00, 1.72),
    (TWIG, 20, 0.55, 0.40, 1.30, 1.10, 1.16, 1.00, 1.38),
    (TWIG, 10, 0.56, 0.40, 1.15, 1.06, 1.08, 1.00, 1.19),
    (OLD, 40, 0.60, 0.43, 1.46, 1.24, 1.30, 1.00, 1.55),
    (OLD, 20, 0.62, 0.44, 1.24, 1.13, 1.16, 1.00, 1.29),
    (OLD, 10, 0.62, 0.45, 1.12, 1.07, 1.08, 1.00, 1.14),
]


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row[0].name}-{row[1]}")
def test_rule_of_a_third_against_the_mechanics(row):
    age, ratio, steady_al, steady_cu, *factors = row
    wood = wood_of(age)
    asked = holding_moment_nmm(1.0, ratio, wood)
    for metal, steady in ((AL, steady_al), (CU, steady_cu)):
        gauge = math.cbrt(asked / (HELIX_HOLD * plastic_moment_nmm(1.0, metal)))
        assert gauge == pytest.approx(steady, abs=0.0075)
    wires = [HELIX_HOLD * plastic_moment_nmm(g, m) for m in (AL, CU) for g in (1 / 3, 1 / 2)]
    found = [over_bend(1.0, ratio, wood, held) for held in (*wires, 0.0)]
    assert found == pytest.approx(factors, abs=0.0125)


@pytest.mark.parametrize(
    ("age", "ratio", "al", "cu"),
    [(SHOOT, 40, 0.38, 0.27), (SHOOT, 20, 0.38, 0.27), (SHOOT, 10, 0.24, 0.17),
     (TWIG, 40, 0.46, 0.33), (TWIG, 20, 0.39, 0.28), (OLD, 40, 0.49, 0.35), (OLD, 20, 0.31, 0.22)],
)  # fmt: skip
def test_gauge_that_keeps_the_over_bend_at_a_quarter(age, ratio, al, cu):
    wood = wood_of(age)
    for metal, gauge in ((AL, al), (CU, cu)):
        thin, thick = (
            over_bend(1.0, ratio, wood, HELIX_HOLD * plastic_moment_nmm(g, metal))
            for g in (gauge - 0.01, gauge + 0.01)
        )
        assert thick <= 1.25 <= thin


@given(
    st.floats(1.0, 30.0), st.floats(5.0, 100.0), st.sampled_from(list(WoodAge)), st.floats(0.0, 2.0)
)
def test_an_over_bent_branch_comes_to_rest_where_it_was_wanted(base, ratio, age, share):
    wood, radius = wood_of(age), ratio * base
    held = share * holding_moment_nmm(base, radius, wood)
    factor = over_bend(base, radius, wood, held)
    spare = max(holding_moment_nmm(base, radius / factor, wood) - held, 0.0)
    rest = factor / radius - spare / stiffness_nmm2(base, wood)
    if share >= 1.0:
        assert factor == 1.0
    else:
        assert rest == pytest.approx(1.0 / radius, rel=1e-9)


@pytest.mark.parametrize(("age", "ratio"), [(SHOOT, 5.0), (TWIG, 8.333), (OLD, 14.286)])
def test_smallest_safe_radius_keeps_three_tenths_from_breaking(age, ratio):
    # breaking at 1 / (2 strain) diameters; safe at 0.7 of the strain
    assert safe_radius_mm(1.0, wood_of(age)) == pytest.approx(ratio / 0.7, rel=1e-3)


def test_brittle_and_supple_wood():
    usual = safe_radius_mm(10.0, wood_of(OLD))
    assert safe_radius_mm(10.0, wood_of(OLD, brittle=True)) == pytest.approx(usual / 0.7)
    assert safe_radius_mm(10.0, wood_of(OLD, supple=True)) == pytest.approx(usual / 1.3)


def test_dense_wood_is_stiffer_in_proportion():
    assert wood_of(TWIG, density=0.62).modulus_mpa == pytest.approx(2500 * 0.62 / 0.49)


@pytest.mark.parametrize(
    ("thickening", "kept"), [(1.05, 0.177), (1.1, 0.317), (1.2, 0.518), (1.35, 0.699), (1.5, 0.803)]
)
def test_share_of_an_elastic_bend_kept_by_growth(thickening, kept):
    assert kept_share(thickening, 1.0, 0.0) == pytest.approx(kept, abs=6e-4)


@pytest.mark.parametrize(
    ("bend", "ratio"), [(Bend.GENTLE, 1.30), (Bend.MODERATE, 1.21), (Bend.STRONG, 1.10)]
)
def test_thickening_that_sets_a_bend(bend, ratio):
    prior = BENDS[bend]
    needed = set_thickening(prior.elastic, prior.creep)
    assert needed == pytest.approx(ratio, abs=0.005)
    assert kept_share(needed, prior.elastic, prior.creep) == pytest.approx(0.70, abs=1e-12)


def test_thickening_that_sets_an_ideal_elastic_bend():
    assert set_thickening(1.0, 0.0) == pytest.approx(1.351, abs=5e-4)


@pytest.mark.parametrize(
    ("strain", "before", "after", "length", "degrees"),
    [(0.0005, 2.0, 2.5, 100.0, 1.15), (0.001, 2.0, 2.5, 100.0, 2.29), (0.001, 5, 6, 200.0, 1.53)],
)
def test_a_lowered_branch_lifts_itself(strain, before, after, length, degrees):
    assert lift_deg(strain, before, after, length) == pytest.approx(degrees, abs=0.006)


@pytest.mark.parametrize(
    ("ratio", "bend"),
    [(41, Bend.GENTLE), (40, Bend.MODERATE), (20, Bend.MODERATE), (19.9, Bend.STRONG)],
)
def test_bend_by_radius_in_diameters(ratio, bend):
    assert bend_of(ratio * 7.0, 7.0) is bend

"""Wire as metal. Expected figures are worked from the formula named beside them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boughwright.journal.terms import Metal
from boughwright.wire.metals import (
    HELIX_HOLD,
    METALS,
    bundle_gauge_mm,
    coil_length_share,
    coil_moment_share,
    coil_pitch_mm,
    coil_stiffness_share,
    cut_length_mm,
    flow_stress_mpa,
    mass_g_per_m,
    plastic_moment_nmm,
    wrap_strain,
)

AL, CU = Metal.ALUMINIUM, Metal.COPPER


@pytest.mark.parametrize(("metal", "proof", "tensile"), [(AL, 28.0, 76.0), (CU, 51.0, 220.0)])
def test_flow_stress_passes_through_proof_and_tensile_stress(metal, proof, tensile):
    # Tensile stress of a power-law metal: K n^n e^-n, where the load stops rising.
    row = METALS[metal]
    n = row.hardening
    assert flow_stress_mpa(0.002, metal) == pytest.approx(proof, rel=1e-3)
    assert row.strength_mpa * n**n * math.exp(-n) == pytest.approx(tensile, rel=1e-3)


@pytest.mark.parametrize(
    ("metal", "stresses"),
    [(CU, (51, 114, 158, 201, 232, 257)), (AL, (28, 51, 64, 77, 86, 92))],
)
def test_flow_stress_at_six_strains(metal, stresses):
    strains = (0.002, 0.02, 0.05, 0.10, 0.15, 0.20)
    found = [flow_stress_mpa(strain, metal) for strain in strains]
    assert found == pytest.approx(stresses, abs=0.51)


@pytest.mark.parametrize(
    ("metal", "moments"),
    [(AL, (14.3, 48.4, 114.7, 387.0, 917.0)), (CU, (38.7, 130.5, 309.0, 1044.0, 2475.0))],
)
def test_plastic_moment(metal, moments):
    # stress at 15 % (86 and 232 MPa, rounded) * d^3 / 6; the rounding is 0.6 % on aluminium
    found = [plastic_moment_nmm(gauge, metal) for gauge in (1.0, 1.5, 2.0, 3.0, 4.0)]
    assert found == pytest.approx(moments, rel=7e-3)


def test_aluminium_is_a_third_thicker_than_copper_for_the_same_hold():
    # Common practice: aluminium must be about a third thicker. (232 / 86)^(1/3) = 1.39
    ratio = math.cbrt(flow_stress_mpa(0.15, CU) / flow_stress_mpa(0.15, AL))
    assert ratio == pytest.approx(1.39, abs=0.01)


def test_two_strands_hold_like_one_of_1_26_and_three_of_1_44():
    assert bundle_gauge_mm(1.0, 2) == pytest.approx(1.26, abs=0.005)
    assert bundle_gauge_mm(1.0, 3) == pytest.approx(1.44, abs=0.005)


@given(st.floats(0.5, 6.0), st.integers(1, 4))
def test_a_bundle_holds_what_its_one_gauge_holds(gauge, strands):
    one = plastic_moment_nmm(bundle_gauge_mm(gauge, strands), AL)
    assert plastic_moment_nmm(gauge, AL, strands=strands) == pytest.approx(one, rel=1e-12)


@pytest.mark.parametrize(("angle", "share"), [(45, 1.414), (50, 1.556), (55, 1.743), (60, 2.0)])
def test_wire_length_for_branch_length(angle, share):
    assert coil_length_share(angle) == pytest.approx(share, abs=5e-4)


@pytest.mark.parametrize(("angle", "turns"), [(45, 2.65), (50, 3.16), (55, 3.79), (60, 4.59)])
def test_turns_on_100_mm_of_a_9_mm_branch_with_3_mm_wire(angle, turns):
    assert 100.0 / coil_pitch_mm(9.0, 3.0, angle) == pytest.approx(turns, abs=0.006)


@pytest.mark.parametrize(("angle", "strain"), [(45, 0.125), (55, 0.168), (60, 0.188)])
def test_wrap_strain_at_a_third_of_the_branch(angle, strain):
    assert wrap_strain(9.0, 3.0, angle) == pytest.approx(strain, abs=6e-4)


@pytest.mark.parametrize(
    ("angle", "stiff", "holds"), [(45, 0.652, 0.950), (55, 0.515, 0.935), (60, 0.443, 0.928)]
)
def test_a_coil_is_much_softer_but_holds_nearly_as_much(angle, stiff, holds):
    assert coil_stiffness_share(angle) == pytest.approx(stiff, abs=6e-4)
    assert coil_moment_share(angle) == pytest.approx(holds, abs=6e-4)


def test_the_holding_factor_is_that_of_the_steepest_usual_coil():
    assert coil_moment_share(60.0) == pytest.approx(HELIX_HOLD, abs=0.005)


def test_weighing_cannot_part_2_mm_aluminium_from_1_1_mm_copper():
    # 2.70 * pi/4 * 4 = 8.48 and 8.93 * pi/4 * 1.21 = 8.49 g/m
    assert mass_g_per_m(2.0, AL) == pytest.approx(8.48, abs=0.01)
    assert mass_g_per_m(1.1, CU) == pytest.approx(8.49, abs=0.01)


def test_cut_length_of_two_branches_on_one_wire():
    # (200 + 150) * 1 / cos 45 = 494.97; anchor pi * 10 * 1.2 = 37.70; with 10 % waste 585.94
    assert cut_length_mm((200.0, 150.0), 10.0, angle_deg=45.0) == pytest.approx(585.94, abs=0.01)


GAUGES = (0.8, 1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0)


@pytest.mark.parametrize(
    ("metal", "masses"),
    [
        (AL, (1.36, 2.12, 3.05, 4.77, 8.48, 13.3, 19.1, 26.0, 33.9, 53.0, 76.3)),
        (CU, (4.49, 7.01, 10.1, 15.8, 28.1, 43.8, 63.1, 85.9, 112, 175, 252)),
    ],
)
def test_mass_of_a_metre_by_gauge(metal, masses):
    found = [mass_g_per_m(gauge, metal) for gauge in GAUGES]
    assert found == pytest.approx(masses, rel=5e-3)


@pytest.mark.parametrize(
    ("metal", "holds"),
    [
        (AL, (2.4, 3.0, 3.6, 4.5, 6.0, 7.5, 9.0, 10.5, 12, 15, 18)),
        (CU, (3.6, 4.5, 5.4, 6.8, 9, 11, 13.5, 16, 18)),
    ],
)
def test_common_practice_branch_a_gauge_holds_lies_in_the_trades_share(metal, holds):
    row = METALS[metal]
    for gauge, branch in zip(GAUGES, holds, strict=False):
        assert row.trade_low - 0.005 <= gauge / branch <= row.trade_high + 0.005

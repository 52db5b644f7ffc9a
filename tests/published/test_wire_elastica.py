"""Large bends of a slender branch against the exact cantilever.

Source ``bisshopp-drucker-1945``: sag and reach of a cantilever with a load at its tip, values as
remembered. The shape is integrated from this project's law between moment and curvature, so
agreement means that law holds for any deflection, not only small ones.
"""

from __future__ import annotations

import math

import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from boughwright.wire.mechanics import WoodAge, bending_moment_nmm, stiffness_nmm2, wood_of

LENGTH_MM, BASE_MM = 1000.0, 1.0
TWIG = wood_of(WoodAge.TWIG)

# load as P L^2 / EI, sag / L, reach / L
PUBLISHED = [
    (0.5, 0.16214, 0.98408),
    (1.0, 0.30172, 0.94357),
    (2.0, 0.49346, 0.83936),
    (5.0, 0.71379, 0.61237),
    (10.0, 0.81061, 0.44500),
]


def curvature(moment_nmm):
    """The curvature at which the branch asks for a moment. [1/mm]"""
    if abs(moment_nmm) < 1e-12:
        return 0.0

    def miss(bend):
        return bending_moment_nmm(BASE_MM, 1.0 / bend, TWIG) - abs(moment_nmm)

    return math.copysign(brentq(miss, 1e-15, 1.0, xtol=1e-15), moment_nmm)


def tip(load_n):
    """Sag and reach of the tip of a branch held level at its base, over its length."""

    def shape(clamp_nmm):
        def slopes(_, state):
            angle, moment = state[0], state[1]
            return [curvature(moment), -load_n * math.cos(angle), math.cos(angle), math.sin(angle)]

        steps = solve_ivp(
            slopes, (0.0, LENGTH_MM), [0.0, clamp_nmm, 0.0, 0.0], rtol=1e-8, atol=1e-9
        )
        return steps.y[:, -1]

    # the moment at the tip is nought
    clamp = brentq(lambda m: shape(m)[1], 0.0, load_n * LENGTH_MM * 1.001, rtol=1e-8)
    end = shape(clamp)
    return end[3] / LENGTH_MM, end[2] / LENGTH_MM


@pytest.mark.parametrize(("load", "sag", "reach"), PUBLISHED)
def test_sag_and_reach_of_a_cantilever(load, sag, reach):
    force = load * stiffness_nmm2(BASE_MM, TWIG) / LENGTH_MM**2
    assert tip(force) == pytest.approx((sag, reach), abs=2e-5)


def test_small_loads_sag_as_the_straight_line_theory():
    # sag / L = P L^2 / (3 EI)
    force = 0.01 * stiffness_nmm2(BASE_MM, TWIG) / LENGTH_MM**2
    assert tip(force)[0] == pytest.approx(0.01 / 3.0, rel=1e-4)

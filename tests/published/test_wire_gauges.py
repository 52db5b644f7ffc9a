"""Wire by gauge and mass against the American wire gauge and wire tables.

Sources: ``astm-b258`` for the diameters, by its formula and the table in `fluids`;
``copper-wire-tables`` for mass per length, as remembered, of copper at 8.89 and aluminium at
2.70 g/cm³.
"""

from __future__ import annotations

import pytest
from fluids.piping import t_from_gauge

from boughwright.journal.terms import Metal
from boughwright.wire.metals import mass_g_per_m

G_PER_M_OF_LB_PER_1000_FT = 453.59237 / 304.8


def diameter_mm(gauge):
    """The standard's own formula; its table, as carried by `fluids`, is rounded to a mil."""
    exact = 0.127 * 92.0 ** ((36 - gauge) / 39.0)
    assert t_from_gauge(gauge, True, "AWG") * 1000.0 == pytest.approx(exact, rel=1.5e-3)
    return exact


@pytest.mark.parametrize(
    ("gauge", "pounds"),
    [(8, 49.98), (10, 31.43), (12, 19.77), (14, 12.43), (16, 7.818), (18, 4.917)],
)
def test_mass_of_copper_wire(gauge, pounds):
    # lb per 1000 ft; the table's copper is 0.45 % lighter than the density used here
    found = mass_g_per_m(diameter_mm(gauge), Metal.COPPER)
    assert found == pytest.approx(pounds * G_PER_M_OF_LB_PER_1000_FT, rel=8e-3)


@pytest.mark.parametrize(("gauge", "pounds"), [(8, 15.20), (10, 9.556), (12, 6.010)])
def test_mass_of_aluminium_wire(gauge, pounds):
    found = mass_g_per_m(diameter_mm(gauge), Metal.ALUMINIUM)
    assert found == pytest.approx(pounds * G_PER_M_OF_LB_PER_1000_FT, rel=5e-3)

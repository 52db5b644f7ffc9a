"""Which wire to take: the written cases of the trade, and refusals."""

from __future__ import annotations

import math

import pytest

from boughwright.errors import RangeError
from boughwright.journal.terms import Bend, Fit, Metal
from boughwright.sources import Grade
from boughwright.species.tables import find
from boughwright.wire.choice import choose, pick
from boughwright.wire.mechanics import WoodAge
from boughwright.wire.metals import METALS

AL, CU = Metal.ALUMINIUM, Metal.COPPER
HALVES = tuple(0.5 * k for k in range(2, 13))
"""A stock in half millimetres, 1.0 to 6.0."""


@pytest.mark.parametrize(
    ("base", "al", "cu"),
    [(3, (1.5, 1), (1.0, 1)), (5, (2.0, 1), (1.5, 1)), (8, (3.5, 1), (2.5, 1)),
     (12, (5.0, 1), (4.0, 1)), (16, (5.5, 2), (5.5, 1))],
)  # fmt: skip
def test_gauge_from_a_stock_in_half_millimetres(base, al, cu):
    # 0.42 and 0.33 of the base, to the nearest half
    assert pick(METALS[AL].share * base, HALVES) == al
    assert pick(METALS[CU].share * base, HALVES) == cu


def test_a_thin_stock_is_doubled_and_an_empty_one_says_what_is_needed():
    # 0.42 * 10 = 4.2; two of 3.0 hold like 3.78, not quite 0.9 of it, three like 4.33
    assert pick(4.2, (3.0,)) == (3.0, 3)
    assert pick(4.15, (3.0,)) == (3.0, 2)
    assert pick(4.2, (1.0,)) is None
    choice = choose(10.0, bend=Bend.MODERATE, stock=())
    assert choice.gauge_mm is None
    assert choice.strands == 0
    assert any("{4.2 mm}" in warning for warning in choice.warnings)


def test_wire_between_springing_back_and_bruising():
    # 0.75 to 1.2 of the need, common practice
    assert pick(4.0, (4.8,)) == (4.8, 1)
    assert pick(4.0, (5.0,)) is None


def test_a_twig_with_the_rule_of_a_third_beside_it():
    # From the table of the mechanics: twig at 20 diameters, aluminium 1/3 needs 1.30.
    choice = choose(6.0, bend=Bend.MODERATE, age=WoodAge.TWIG, stock=HALVES)
    assert choice.gauge_mm == 2.5
    assert choice.trade.low_mm == pytest.approx(2.0)
    assert choice.trade.high_mm == pytest.approx(2.0)
    assert choice.trade.over_bend_low == pytest.approx(1.30, abs=0.01)
    assert choice.steady_gauge_mm == pytest.approx(3.32, abs=0.02)
    assert choice.hold is not None
    assert choice.hold < 1.0
    assert choice.over_bend is not None
    assert 1.0 < choice.over_bend < choice.trade.over_bend_low
    assert choice.grade is Grade.BORROWED


def test_copper_takes_a_thinner_gauge_and_shows_the_trades_range():
    copper = choose(6.0, bend=Bend.MODERATE, metal=CU, age=WoodAge.TWIG, stock=HALVES)
    assert copper.gauge_mm == 2.0
    assert (copper.trade.low_mm, copper.trade.high_mm) == pytest.approx((1.2, 1.5))
    assert copper.trade.over_bend_low > copper.trade.over_bend_high > 1.0


@pytest.mark.parametrize(
    ("base", "bend", "guy"),
    [(19.9, Bend.MODERATE, False), (20.0, Bend.GENTLE, True), (12.0, Bend.STRONG, True),
     (10.0, Bend.STRONG, False)],
)  # fmt: skip
def test_thick_branches_and_strong_bends_of_them_take_a_guy(base, bend, guy):
    choice = choose(base, bend=bend)
    assert choice.guy is guy
    assert (choice.gauge_mm is None) is guy
    assert any("guy" in warning for warning in choice.warnings) is (guy or base > 10.0)


def test_length_and_mass_with_anchor_and_waste():
    # 2.5 mm aluminium 13.25 g/m; (300 / cos 55 + pi * 12 * 1.2) * 1.1 = 625.09 mm -> 8.28 g
    choice = choose(6.0, bend=Bend.MODERATE, branch_lengths_mm=(300.0,), anchor_mm=12.0,
                    stock=HALVES)  # fmt: skip
    assert choice.length_mm == pytest.approx(625.09, abs=0.02)
    assert choice.mass_g == pytest.approx(8.284, abs=0.01)
    assert choose(6.0, bend=Bend.MODERATE).length_mm is None


def test_a_bend_past_the_safe_radius_is_warned_of():
    # old wood at 10 diameters; safe is 14.3 / 0.7 = 20.4 diameters
    choice = choose(9.0, bend=Bend.STRONG, age=WoodAge.OLD)
    assert choice.safe_radius_mm == pytest.approx(9.0 * 20.41, rel=1e-3)
    assert any("{184 mm}" in warning for warning in choice.warnings)
    gentle = choose(9.0, bend=Bend.GENTLE, age=WoodAge.OLD, metal=CU)
    assert not any("sessions" in warning for warning in gentle.warnings)


def test_brittle_oak_and_frozen_wood_bend_less():
    oak = find("Quercus robur")
    usual = choose(9.0, bend=Bend.GENTLE, age=WoodAge.OLD).safe_radius_mm
    brittle = choose(9.0, bend=Bend.GENTLE, age=WoodAge.OLD, species=oak).safe_radius_mm
    frozen = choose(9.0, bend=Bend.GENTLE, age=WoodAge.OLD, frozen_or_dry=True).safe_radius_mm
    expected = usual / 0.7 if oak.word("brittle") == "old" else usual
    assert brittle == pytest.approx(expected)
    assert frozen == pytest.approx(usual / 0.7)


def test_loose_turns_hold_less():
    # 0.93 falls to 0.60 of the straight wire
    snug, loose = (
        choose(6.0, bend=Bend.MODERATE, age=WoodAge.TWIG, fit=fit)
        for fit in (Fit.NORMAL, Fit.LOOSE)
    )
    assert snug.hold is not None
    assert loose.hold == pytest.approx(snug.hold * 0.60 / 0.93)
    assert loose.over_bend is not None
    assert snug.over_bend is not None
    assert loose.over_bend > snug.over_bend


def test_a_lowered_branch_is_brought_further_down():
    assert any("degrees lower" in w for w in choose(6.0, bend=Bend.GENTLE, lowering=True).warnings)
    assert not any("degrees" in w for w in choose(6.0, bend=Bend.GENTLE).warnings)


def test_unknown_age_is_guessed_and_says_so():
    assert choose(2.0, bend=Bend.GENTLE).grade is Grade.GUESS


def test_cautions_are_always_there():
    for base in (2.0, 30.0):
        text = " ".join(choose(base, bend=Bend.GENTLE).cautions)
        assert "eye protection" in text
        assert "ends" in text


@pytest.mark.parametrize("base", [0.0, -1.0, math.nan, math.inf])
def test_no_choice_without_a_base(base):
    with pytest.raises(RangeError, match="Measure the base"):
        choose(base, bend=Bend.GENTLE)

"""How wire comes off: every grade, metal and bark, as common practice has it."""

from __future__ import annotations

from itertools import product

import pytest

from boughwright.errors import RangeError
from boughwright.journal.terms import Bark, Metal
from boughwright.wire.off import Method, wire_off

AL, CU = Metal.ALUMINIUM, Metal.COPPER
THIN, THICK = Bark.SMOOTH, Bark.CORKY
CASES = list(product(range(6), Metal, (THIN, THICK)))

# Common practice. Grades 0-2: cut on the outer face, never unwind. Grade 3: aluminium gives, so
# what cannot be cut may be unwound; copper has hardened and is cut in pieces. Grade 4: cut what
# shows and roll it out. Grade 5: leave the coils; lips may be opened on thick bark only.
TRUTH = {
    **{(g, m, b): Method.LIFT for g in (0, 1, 2) for m in Metal for b in (THIN, THICK)},
    (3, AL, THIN): Method.UNWIND,
    (3, AL, THICK): Method.UNWIND,
    (3, CU, THIN): Method.PIECES,
    (3, CU, THICK): Method.PIECES,
    **{(4, m, b): Method.ROLL for m in Metal for b in (THIN, THICK)},
    (5, AL, THIN): Method.LEAVE,
    (5, CU, THIN): Method.LEAVE,
    (5, AL, THICK): Method.OPEN,
    (5, CU, THICK): Method.OPEN,
}


def test_the_table_is_whole():
    assert set(TRUTH) == set(CASES)
    assert len(CASES) == 24


@pytest.mark.parametrize(("grade", "metal", "bark"), CASES)
def test_method(grade, metal, bark):
    plan = wire_off(grade, metal, bark)
    assert plan.method is TRUTH[grade, metal, bark]
    assert plan.may_unwind is (grade == 3 and metal is AL)
    assert plan.logged_as == {3: "unwound" if metal is AL else "cut", 5: "left"}.get(grade, "cut")


@pytest.mark.parametrize(("grade", "metal", "bark"), CASES)
def test_unwinding_is_forbidden_wherever_it_is_not_the_method(grade, metal, bark):
    plan = wire_off(grade, metal, bark)
    forbidden = any("Never unwind" in line for line in plan.never)
    assert forbidden is not plan.may_unwind
    assert any("nwind" in step for step in plan.steps) is plan.may_unwind


@pytest.mark.parametrize(("grade", "metal", "bark"), CASES)
def test_lips_are_opened_on_thick_bark_in_growth_only(grade, metal, bark):
    plan = wire_off(grade, metal, bark)
    opens = any("open the lips" in step for step in plan.steps)
    assert opens is (grade == 5 and bark is THICK)
    if opens:
        assert any("only while the tree grows" in step for step in plan.steps)
        assert any("{10 mm}" in step for step in plan.steps)
    if grade == 5 and bark is THIN:
        assert "Never open lips on thin bark." in plan.never


@pytest.mark.parametrize(("grade", "metal", "bark"), CASES)
def test_after_a_bite_tears_are_sealed_a_guy_holds_and_the_rest_is_looked_at(grade, metal, bark):
    plan = wire_off(grade, metal, bark)
    bitten = grade >= 3
    assert plan.look_at_rest is bitten
    assert any("Seal" in line for line in plan.aftercare) is bitten
    assert ("guy" in plan.rewire) is bitten
    assert ("lips are level" in plan.rewire) is bitten


@pytest.mark.parametrize(("grade", "metal", "bark"), CASES)
def test_cautions_of_cutting_wire(grade, metal, bark):
    text = " ".join(wire_off(grade, metal, bark).cautions)
    assert "eye protection" in text
    assert "ends" in text


@pytest.mark.parametrize("grade", range(6))
def test_unknown_metal_and_bark_take_the_careful_side(grade):
    assert wire_off(grade, None, None) == wire_off(grade, CU, THIN)
    assert wire_off(grade, AL, Bark.ORDINARY) == wire_off(grade, AL, THIN)


@pytest.mark.parametrize("grade", [-1, 6])
def test_a_grade_that_is_none_is_refused(grade):
    with pytest.raises(RangeError, match="Look at the wire first"):
        wire_off(grade, AL, THIN)

"""Which wire holds a bend, asked through the book. Facts of common practice."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from boughwright.errors import AmbiguousNameError, UnknownNameError
from boughwright.journal.terms import Bend, Metal, Work
from boughwright.usecases.gauge import gauge_for
from boughwright.usecases.may_i import ask
from boughwright.verdicts.answer import Say

if TYPE_CHECKING:
    from pathlib import Path

MAPLE = "ditch field maple"


def test_aluminium_is_thicker_than_copper_for_the_same_bend(demo_book: Path) -> None:
    soft = gauge_for(demo_book, MAPLE, "2R", metal=Metal.ALUMINIUM).choice
    hard = gauge_for(demo_book, MAPLE, "2R", metal=Metal.COPPER).choice
    assert soft.gauge_mm is not None
    assert hard.gauge_mm is not None
    assert soft.gauge_mm > hard.gauge_mm
    # 14.6 mm: the trade's third for aluminium, 0.20 to 0.25 for copper
    assert soft.trade.low_mm == pytest.approx(14.6 / 3, abs=0.05)
    assert (hard.trade.low_mm, hard.trade.high_mm) == pytest.approx((2.92, 3.65), abs=0.05)


def test_thick_wood_is_pulled_by_a_guy(demo_book: Path) -> None:
    found = gauge_for(demo_book, "gate hornbeam", "1R").choice  # base 24.5 mm
    assert found.guy
    assert found.gauge_mm is None
    assert not gauge_for(demo_book, MAPLE, "1L").choice.guy  # 12.1 mm, moderate
    assert gauge_for(demo_book, MAPLE, "1L", bend=Bend.STRONG).choice.guy


def test_a_lowered_branch_is_brought_lower_than_wanted(demo_book: Path) -> None:
    plain = gauge_for(demo_book, MAPLE, "1L").choice.warnings
    lowered = gauge_for(demo_book, MAPLE, "1L", lowering=True).choice.warnings
    assert len(lowered) == len(plain) + 1
    assert "lower than wanted" in lowered[-1]


def test_a_wired_run_takes_no_second_wire(demo_book: Path) -> None:
    assert gauge_for(demo_book, MAPLE, "4R").now.say is Say.NOT_NOW
    assert gauge_for(demo_book, MAPLE, "1L").now.say is Say.YES


def test_one_branch_with_a_base_is_asked_for(demo_book: Path) -> None:
    with pytest.raises(AmbiguousNameError, match="Name one branch"):
        gauge_for(demo_book, MAPLE, "low")
    with pytest.raises(UnknownNameError, match=r"never read.*Caliper it"):
        gauge_for(demo_book, MAPLE, "2.5Lg")


def test_wire_comes_off_before_a_cut_on_the_same_branch(demo_book: Path) -> None:
    wired = ask(demo_book, "courtyard elm", "1L-1 cut to leaf 1")
    bare = ask(demo_book, "courtyard elm", "1L-5 cut to leaf 1")
    assert wired.work.work is bare.work.work is Work.CUT
    told = "Take its wire off first: wire hides what to cut"
    assert told in [reason.text for reason in wired.answer.reasons]
    assert told not in [reason.text for reason in bare.answer.reasons]

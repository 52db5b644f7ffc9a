"""Phrases with blanks: which numbers they ask for, and what is said once they are filled."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boughwright.errors import TextError
from boughwright.usecases.blanks import Blank, blanks_of, filled


def test_blanks_are_named_by_the_word_before_them() -> None:
    assert blanks_of("7L node __ room __") == (Blank("7L", "node"), Blank("7L", "room"))
    assert blanks_of("5L wire on __ al") == (Blank("5L", "on"),)
    assert blanks_of("1L base __; 2R base __") == (Blank("1L", "base"), Blank("2R", "base"))
    assert blanks_of("4R wire off cut") == ()


@pytest.mark.parametrize(
    ("phrase", "numbers", "units", "said"),
    [
        ("4R base __", ["9.2"], "mm", "4R base 9.2"),
        ("4R base __", [" 9,20 mm "], "mm", "4R base 9.2"),
        # 0.36 in is 0.36 × 25.4 = 9.144 mm.
        ("4R base __", ["0.36"], "in", "4R base 9.14"),
        ("4R base __", ["9.2 mm"], "in", "4R base 9.2"),
        ("3R base __ marked", ["31"], "mm", "3R base 31 marked"),
        ("7L node __ room __", ["3", ""], "mm", "7L node 3"),
        ("7L node __ room __", ["", "9"], "mm", "7L room 9"),
        ("1L base __; 2R base __", ["", "4"], "mm", "2R base 4"),
        ("1L base __; 2R base __", ["3", "4"], "mm", "1L base 3; 2R base 4"),
        # Seconds, grams and grades are no lengths; wire is in mm in a garden of inches too.
        ("drain __", ["12"], "in", "drain 12"),
        ("weight __; height __", ["840", "12"], "in", "weight 840; height 304.8"),
        ("drain __", ["12 s"], "in", "drain 12"),
        ("4R bite __", ["3"], "in", "4R bite 3"),
        ("5L wire on __ al", ["3.5"], "in", "5L wire on 3.5 al"),
        ("5L wire on __ al", ["0.1 in"], "in", "5L wire on 2.54 al"),
        ("4R base __", [""], "mm", ""),
        ("4R base __", [], "mm", ""),
    ],
)
def test_numbers_stand_in_their_blanks(
    phrase: str, numbers: list[str], units: str, said: str
) -> None:
    assert filled(phrase, numbers, units=units) == said


@pytest.mark.parametrize("typed", ["thick", "1;2R cut", "__", "9 9", "=1"])
def test_what_is_no_length_is_refused(typed: str) -> None:
    with pytest.raises(TextError):
        filled("4R base __", [typed])


@pytest.mark.parametrize(
    ("word", "unit"),
    [("base", "in"), ("on", "mm"), ("drain", "s"), ("weight", "g"), ("bite", "")],
)
def test_a_blank_tells_the_unit_of_a_bare_number(word: str, unit: str) -> None:
    assert Blank("4R", word).unit("in") == unit


@given(st.floats(0.1, 400), st.sampled_from(["mm", "in"]))
def test_a_number_is_told_to_a_hundredth(number: float, units: str) -> None:
    said = filled("4R base __", [f"{number:.4f}"], units=units).removeprefix("4R base ")
    factor = 25.4 if units == "in" else 1.0
    assert float(said) == pytest.approx(round(number, 4) * factor, abs=0.0051)

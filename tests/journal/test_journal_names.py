"""Branch names in plain trade words: written, spoken, sorted, turned."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boughwright.errors import TextError
from boughwright.journal.names import (
    BranchName,
    between,
    clock_after_turn,
    head_to_foot,
    is_name,
    is_zone,
    normal_name,
    normal_zone,
    ordinal,
    parse_name,
    side_of_clock,
    spoken,
    with_side,
)


@pytest.mark.parametrize(
    ("text", "written", "said"),
    [
        ("1L", "1L", "1st left"),
        ("2r", "2R", "2nd right"),
        (" 3 B ", "3B", "3rd back"),
        ("4f", "4F", "4th front"),
        ("11L", "11L", "11th left"),
        ("21R", "21R", "21st right"),
        ("2R-1", "2R-1", "2nd right, 1st side shoot"),
        ("2r - 1L", "2R-1l", "2nd right, 1st left side shoot"),
        ("2R-1u", "2R-1u", "2nd right, 1st upper side shoot"),
        ("2R-1d", "2R-1d", "2nd right, 1st lower side shoot"),
        ("2R-1-1", "2R-1-1", "2nd right, 1st side shoot, 1st side shoot"),
        ("2R-END", "2R-end", "2nd right, running end"),
        ("2.5Lg", "2.5Lg", "2.5 left graft"),
        ("2,5 lg", "2.5Lg", "2.5 left graft"),
        ("3.5Bg", "3.5Bg", "3.5 back graft"),
        ("Top", "top", "top"),
        ("top-1", "top-1", "top, 1st side shoot"),
        ("trunk", "trunk", "trunk"),
        ("root", "root", "root"),
        ("scar 1", "scar 1", "scar 1"),
        ("scar front", "scar front", "front scar"),
        ("front scar", "scar front", "front scar"),
        ("one left", "1L", "1st left"),
        ("two right", "2R", "2nd right"),
        ("three back", "3B", "3rd back"),
        ("second right", "2R", "2nd right"),
        ("2nd right", "2R", "2nd right"),
        ("two point five left", "2.5L", "2.5 left"),
        ("two and a half left graft", "2.5Lg", "2.5 left graft"),
        ("second right end", "2R-end", "2nd right, running end"),
        ("2nd right first side shoot", "2R-1", "2nd right, 1st side shoot"),
    ],
)
def test_written_and_spoken_names(text: str, written: str, said: str) -> None:
    assert normal_name(text) == written
    assert spoken(written) == said
    assert normal_name(said) == written


@pytest.mark.parametrize(
    "text", ["", "2", "L", "2X", "0L", "2R-", "2R-0x", "low", "scar up", "2R 3B", "right", "2.5"]
)
def test_what_is_no_name_is_refused_with_examples(text: str) -> None:
    assert not is_name(text)
    with pytest.raises(TextError, match=r"1L, 2R-1"):
        parse_name(text)


STEPS = st.one_of(
    st.tuples(st.integers(1, 60), st.sampled_from(["", "l", "r", "u", "d"])).map(
        lambda step: f"{step[0]}{step[1]}"
    ),
    st.just("end"),
)
PATHS = st.lists(STEPS, max_size=3).map(tuple)
PRIMARIES = st.builds(
    BranchName,
    number=st.one_of(
        st.integers(1, 40).map(float),
        st.sampled_from([1.5, 2.5, 3.7, 12.25, 0.5]),
    ),
    side=st.sampled_from("LRBF"),
    graft=st.booleans(),
    path=PATHS,
)
PARTS = st.one_of(
    st.builds(BranchName, word=st.sampled_from(["top", "trunk", "root"]), path=PATHS),
    st.builds(
        BranchName,
        word=st.sampled_from(["scar", "scar 1", "scar 12", "scar front", "scar left"]),
    ),
)
NAMES = PRIMARIES | PARTS


@settings(deadline=None)
@given(NAMES)
def test_names_survive_writing_saying_and_any_case(name: BranchName) -> None:
    assert parse_name(str(name)) == name
    assert parse_name(str(name).upper()) == name
    assert parse_name(spoken(str(name))) == name
    assert normal_name(normal_name(str(name))) == str(name)


@settings(deadline=None)
@given(st.text(max_size=20))
def test_any_text_is_a_name_or_refused(text: str) -> None:
    if is_name(text):
        assert normal_name(normal_name(text)) == normal_name(text)
    else:
        with pytest.raises(TextError):
            parse_name(text)


@pytest.mark.parametrize(
    ("text", "zone"),
    [
        ("low", "low"),
        ("Lower", "low"),
        ("middle", "mid"),
        ("apex", "apex"),
        ("low outer left", "low outer left"),
        ("left outer low", "low outer left"),
        ("outer LOW  left side", "low outer left"),
        ("back", "back"),
    ],
)
def test_zones_combine_in_one_order(text: str, zone: str) -> None:
    assert is_zone(text)
    assert normal_zone(text) == zone


@pytest.mark.parametrize("text", ["", "low mid", "left right", "2R", "low 2R", "side"])
def test_what_is_no_zone_is_refused(text: str) -> None:
    assert not is_zone(text)
    with pytest.raises(TextError, match="inner or outer"):
        normal_zone(text)


def test_head_to_foot() -> None:
    # Apex first, each branch before its own shoots from the trunk outward, the root last.
    wanted = [
        "all",
        "top",
        "apex",
        "mid",
        "low",
        "6R",
        "3.5Bg",
        "3B",
        "3B-2",
        "2.5Lg",
        "2R",
        "2R-1",
        "2R-1-1",
        "2R-1l",
        "2R-2",
        "2R-10",
        "2R-end",
        "1L",
        "trunk",
    ]
    wanted += ["scar 1", "scar front", "root", "pot", "what"]
    assert sorted(wanted, key=head_to_foot) == wanted


@pytest.mark.parametrize(
    ("clock", "side"),
    # The four quarters, and the branches of a worked example, sides given beside hours:
    # 8 and 9 and 10 left, 2 and 3 and 4 right, 11 and 12 back, 6 front.
    [
        (9, "L"),
        (3, "R"),
        (8, "L"),
        (12, "B"),
        (11, "B"),
        (2, "R"),
        (10, "L"),
        (4, "R"),
        (6, "F"),
        (0, "B"),
        (5, "F"),
        (7, "F"),
        (1, "B"),
    ],
)
def test_side_of_clock(clock: float, side: str) -> None:
    assert side_of_clock(clock) == side


def test_turning_the_front_a_quarter_clockwise() -> None:
    # From above, front at 6: a quarter clockwise puts the front where 9 was. What stood at 9 is in
    # front now, what stood in front is at the right hand (3), the right at the back, the back left.
    assert [clock_after_turn(hour, 90) for hour in (9, 6, 3, 12)] == [6, 3, 12, 9]
    assert with_side("2Lg-1", clock_after_turn(9, 90)) == "2Fg-1"
    assert with_side("top", 3) == "top"


@settings(deadline=None)
@given(st.floats(0.01, 12), st.floats(-360, 360))
def test_turning_there_and_back(clock: float, degrees: float) -> None:
    there = clock_after_turn(clock, degrees)
    assert 0 < there <= 12
    gap = abs(clock_after_turn(there, -degrees) - clock)
    assert min(gap, 12 - gap) < 1e-9


@pytest.mark.parametrize(
    ("lower", "upper", "side", "graft", "taken", "name"),
    [
        ("2R", "3B", "L", False, (), "2.5L"),
        ("2R", "3B", "l", True, (), "2.5Lg"),
        ("2R", "3B", "L", False, ("2.5R",), "2.4L"),
        ("2.5L", "3B", "R", False, (), "2.7R"),
        ("2.5L", "2.6R", "F", False, (), "2.55F"),
        ("6R", "top", "L", False, (), "6.5L"),
        ("1L", "4R", "L", False, (), "2.5L"),
    ],
)
def test_half_numbers(
    lower: str, upper: str, side: str, graft: bool, taken: tuple[str, ...], name: str
) -> None:
    assert between(lower, upper, side, graft=graft, taken=taken) == name


@pytest.mark.parametrize(("lower", "upper"), [("3B", "2R"), ("2R", "2L"), ("top", "3B")])
def test_half_numbers_need_a_lower_and_an_upper(lower: str, upper: str) -> None:
    with pytest.raises(TextError, match="does not stand below"):
        between(lower, upper, "L")


@settings(deadline=None)
@given(st.lists(st.booleans(), max_size=8))
def test_half_numbers_stay_between_and_free(upward: list[bool]) -> None:
    lower, upper, taken = "2R", "3B", ["2R", "3B"]
    for up in upward:
        name = between(lower, upper, "L", taken=taken)
        low, new, high = (parse_name(n).number or 0 for n in (lower, name, upper))
        assert low < new < high
        assert new not in {parse_name(n).number for n in taken}
        taken.append(name)
        lower, upper = (name, upper) if up else (lower, name)


def test_ordinals() -> None:
    numbers = (1, 2, 3, 4, 11, 12, 13, 21, 22, 23, 101, 111)
    said = [
        "1st",
        "2nd",
        "3rd",
        "4th",
        "11th",
        "12th",
        "13th",
        "21st",
        "22nd",
        "23rd",
        "101st",
        "111th",
    ]
    assert [ordinal(n) for n in numbers] == said

"""Ids that follow from a line's id: of version 7, in order, the same each time, never shared."""

from __future__ import annotations

from uuid import UUID, uuid1, uuid4

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uuid6 import uuid7

from boughwright.errors import RecordError
from boughwright.usecases.line_ids import (
    MOST_EVENTS,
    SAID_ID,
    event_id,
    line_id,
    taking_back_id,
)

LINES = st.uuids(version=4) | st.uuids(version=4).map(
    lambda one: UUID(int=one.int & ~(0xF << 76) | 0x7 << 76)
)
NUMBERS = st.integers(0, MOST_EVENTS - 1)


@given(LINES, st.lists(NUMBERS, min_size=2, max_size=6, unique=True))
def test_ids_of_a_line_sort_as_its_records_were_said(line: UUID, numbers: list[int]) -> None:
    ids = [event_id(line, number) for number in sorted(numbers)]
    assert ids == sorted(set(ids))
    assert sorted(map(str, ids)) == [str(one) for one in ids]  # the book compares them as text
    assert {(one.version, one.variant) for one in ids} == {(SAID_ID, line.variant)}
    assert line.version != SAID_ID or {one.int >> 80 for one in ids} == {line.int >> 80}


@given(LINES, LINES, NUMBERS, NUMBERS)
def test_two_lines_share_no_id(one: UUID, other: UUID, first: int, second: int) -> None:
    if one != other:
        made = {event_id(one, first), event_id(other, second)}
        assert len(made | {taking_back_id(one), taking_back_id(other), one, other}) == 6
    else:
        assert (event_id(one, first) == event_id(other, second)) is (first == second)


def test_a_record_id_has_the_time_of_its_line_and_its_number() -> None:
    # Version 7: 48 bits of time, the version, then 74 bits; the number takes the first 16 of them.
    line = UUID("01970000-abcd-7000-8000-000000000001")
    made = event_id(line, 0x1234)
    assert str(made)[:18] == "01970000-abcd-7123"
    # The last 4 bits of the number come after the 2 bits of the variant: 10 0100 .... = 9.
    assert (made.int >> 58) & 0b111111 == 0b100100


def test_only_random_and_timed_ids_are_taken() -> None:
    assert [line_id(one).version for one in (uuid4(), uuid7())] == [4, 7]
    for bad in (uuid1(), UUID(int=0)):
        with pytest.raises(RecordError, match="version 4 or 7"):
            line_id(bad)
    with pytest.raises(RecordError, match="several lines"):
        event_id(uuid4(), MOST_EVENTS)

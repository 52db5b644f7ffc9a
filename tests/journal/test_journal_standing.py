"""What counts: each event once, withdrawals settled, whatever the order of arrival."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from journal_strategies import journals

from boughwright.journal.events import BranchSet, Event, Noted, Withdrawn, standing

NOON = datetime(2026, 6, 9, 12, tzinfo=UTC)


def note(text: str, *, day: int = 1, minutes: int = 0) -> Event:
    return Event(
        Noted(text), date(2026, 6, day), tree="t", recorded=NOON + timedelta(minutes=minutes)
    )


def withdraw(event: Event, *, minutes: int = 0) -> Event:
    return Event(Withdrawn(event.id), date(2026, 6, 9), recorded=NOON + timedelta(minutes=minutes))


def test_withdrawn_event_is_left_out_and_an_unwithdrawn_one_is_back() -> None:
    kept, wrong = note("kept"), note("wrong", day=2)
    back = withdraw(wrong)
    again = withdraw(back)
    assert standing([kept, wrong]) == [kept, wrong]
    assert standing([kept, wrong, back]) == [kept]
    assert standing([kept, wrong, back, again]) == [kept, wrong]
    assert standing([kept, wrong, back, again, withdraw(again)]) == [kept]


@pytest.mark.parametrize("minutes", [-600, 0, 600])
def test_clock_of_the_second_phone_changes_nothing(minutes: int) -> None:
    # The second phone runs ten hours slow or fast; it withdraws a withdrawal it has seen.
    wrong = note("wrong")
    back = withdraw(wrong)
    again = withdraw(back, minutes=minutes)
    assert standing([again, back, wrong]) == [wrong]


def test_two_withdrawals_of_one_event_must_both_be_withdrawn() -> None:
    wrong = note("wrong")
    one, two = withdraw(wrong), withdraw(wrong)
    assert standing([wrong, one, two, withdraw(one)]) == []
    assert standing([wrong, one, two, withdraw(one), withdraw(two)]) == [wrong]


def test_withdrawal_that_arrives_before_its_event_waits_for_it() -> None:
    wrong = note("wrong")
    back = withdraw(wrong)
    assert standing([back]) == []
    assert standing([back, wrong]) == []


def test_ring_of_withdrawals_ends_and_takes_nothing_away() -> None:
    kept = note("kept")
    first = withdraw(kept)
    second = withdraw(first)
    ring = replace(first, body=Withdrawn(second.id))
    alone = withdraw(kept)
    itself = replace(alone, body=Withdrawn(alone.id))
    assert standing([kept, ring, second, itself]) == [kept]
    # A withdrawal from outside breaks the ring: `ring` is off, so `second` counts.
    outside = withdraw(ring)
    assert standing([kept, ring, second, outside]) == [kept]


def test_long_chain_of_withdrawals_needs_no_deep_stack() -> None:
    chain = [note("start")]
    for _ in range(5000):
        chain.append(withdraw(chain[-1]))
    assert standing(chain) == [chain[0]]  # 5000 is even: the first withdrawal is itself off
    assert standing(chain[:-1]) == []


def test_replay_order_is_day_then_time_of_entry_then_id() -> None:
    late_entry = note("late entry of the first", day=1, minutes=50)
    same_day, second = note("first", day=1), note("second", day=2, minutes=-90)
    assert standing([second, late_entry, same_day]) == [same_day, late_entry, second]


def test_one_id_with_two_contents_gives_the_same_in_either_order() -> None:
    one = Event(
        BranchSet({"name": "1L", "wanted": True}), date(2026, 6, 9), "t", "b", recorded=NOON
    )
    two = replace(one, body=BranchSet({"name": "2R", "wanted": True}))
    turned = replace(one, body=BranchSet({"wanted": True, "name": "1L"}))
    assert standing([one, two]) == standing([two, one])
    assert standing([one, turned]) == [one]


def by_definition(events: list[Event]) -> list[Event]:
    """The rule word for word, by recursion: an event counts iff nothing counting withdraws it."""
    unique = {event.id: event for event in events}

    def counts(event: Event) -> bool:
        return not any(
            isinstance(other.body, Withdrawn) and other.body.event == event.id and counts(other)
            for other in unique.values()
        )

    kept = [e for e in unique.values() if not isinstance(e.body, Withdrawn) and counts(e)]
    return sorted(kept, key=lambda e: e.order)


@settings(deadline=None)
@given(journals())
def test_rule_holds_word_for_word(events: list[Event]) -> None:
    assert standing(events) == by_definition(events)


@settings(deadline=None)
@given(journals(), st.randoms(use_true_random=False), st.data())
def test_order_repeats_and_merging_two_phones_change_nothing(
    events: list[Event], shuffler: object, data: st.DataObject
) -> None:
    expected = standing(events)
    phone = [data.draw(st.sampled_from(["first", "second", "both"])) for _ in events]
    first = [e for e, p in zip(events, phone, strict=True) if p != "second"]
    second = [e for e, p in zip(events, phone, strict=True) if p != "first"]
    assert standing(first + second) == expected
    assert standing(second + first) == expected
    mixed = first + second + first
    shuffler.shuffle(mixed)  # type: ignore[attr-defined]
    assert standing(mixed) == expected


@settings(deadline=None)
@given(journals(), st.data())
def test_withdrawing_and_unwithdrawing_is_as_if_nothing_was_done(
    events: list[Event], data: st.DataObject
) -> None:
    if not events:
        return
    aim = data.draw(st.sampled_from(events))
    back = withdraw(aim)
    assert standing([*events, back, withdraw(back)]) == standing(events)

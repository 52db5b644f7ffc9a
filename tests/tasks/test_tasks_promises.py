"""Promises: each with its sign; the day the sign comes it stands among those that have come.

All through phrases and forms, day by day.
"""

from __future__ import annotations

import json
from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest
from tasks_garden import TODAY, Forms, taken

from boughwright.usecases.enter import enter_branch
from boughwright.usecases.promises import (
    From,
    Held,
    Promises,
    State,
    _count_and_size,
    promises_of,
    promises_shape,
)
from boughwright.usecases.say import withdraw

if TYPE_CHECKING:
    from boughwright.usecases.day import GardenDay

SAID = date(2026, 5, 20)
DAY = timedelta(days=1)


@pytest.fixture
def maple(forms: Forms) -> str:
    tree = forms.plant()
    fields = {"height_mm": 95, "clock": 9, "bud_inside": True, "outer": True}
    forms.branch(tree, "1L", base=12.1, trunk=47, node=80, room=150, **fields)
    forms.branch(tree, "2R", height_mm=130, clock=3, base=14.6, trunk=43)
    forms.branch(tree, "scar front", kind="scar", height_mm=110, clock=6)
    forms.say("strong; hard", tree, date(2026, 6, 7))
    return tree


def on(forms: Forms, day: date) -> Promises:
    return promises_of(forms.day(day))


def only(held: tuple[Held, ...], kind: From = From.PROMISE) -> Held:
    (one,) = [h for h in held if h.kind is kind]
    return one


# --- the sign comes, and the next look at the list shows it ---------------------------------------


def test_a_base_that_reaches_its_mark_is_now_on_the_day_it_is_read(
    forms: Forms, maple: str
) -> None:
    forms.say("1L will until base 14", maple, SAID)
    before = only(on(forms, TODAY).waiting)
    assert (before.place, before.since, before.sign) == ("1L", SAID, "the base reaches {14.0 mm}")
    assert (before.value, before.limit, before.unit) == (12.1, 14.0, "mm")
    assert before.expected.seasons is not None
    assert 0.0 < before.expected.seasons[0] < before.expected.seasons[1]
    read = TODAY + DAY
    forms.say("1L base 14.0", maple, read)
    assert only(on(forms, TODAY).waiting).state is State.WAITING  # nothing leaks into yesterday
    assert only(on(forms, read).now).value == 14.0
    assert on(forms, read).waiting == ()


def test_a_day_that_comes_is_now_on_that_day(forms: Forms, maple: str) -> None:
    due = TODAY + 3 * DAY
    forms.say(f"1L will until {due.isoformat()}", maple)
    for day in (TODAY, due - DAY):
        assert only(on(forms, day).waiting).expected.on == due
    assert only(on(forms, due).now).place == "1L"


def test_a_scar_that_closes_frees_what_was_kept_for_it(forms: Forms, maple: str) -> None:
    forms.say("scar front open 46", maple, date(2024, 6, 11))
    forms.say("scar front open 41", maple, date(2026, 6, 7))
    forms.say("2R will for scar front", maple, SAID)
    held = only(on(forms, TODAY).waiting)
    assert (held.sign, held.value) == ("scar front has closed", 41.0)
    # 5 mm in two years (726 days): 41 mm at 2.5 mm a year are about 16.3 seasons.
    assert held.expected.seasons is not None
    assert held.expected.seasons[1] == pytest.approx(16.3, abs=0.1)
    assert held.expected.seasons[0] < 16.3 < held.expected.seasons[2]
    forms.say("scar front open 0", maple, TODAY + DAY)
    assert only(on(forms, TODAY + DAY).now).place == "2R"


def test_a_branch_kept_for_a_graft_is_free_once_that_is_weaned(forms: Forms, maple: str) -> None:
    forms.say("1.5L graft in approach from 2R", maple, date(2025, 5, 1))
    forms.say("2R will for graft 1.5L", maple, SAID)
    assert only(on(forms, TODAY).waiting).sign == "1.5Lg is weaned"
    forms.say("1.5L sever", maple, TODAY + DAY)
    after = on(forms, TODAY + DAY)
    assert [h.place for h in after.now] == ["2R"]


def test_inner_shoots_of_the_size_that_was_named_are_now(forms: Forms, maple: str) -> None:
    forms.branch(maple, "1L-1", base=2.4)
    forms.branch(maple, "1L-2", base=2.7)
    forms.say("1L will swap when two inner shoots pass 2.5", maple, SAID)
    held = only(on(forms, TODAY).waiting)
    assert held.sign == "two inner shoots pass 2.5"
    assert (held.value, held.limit) == (2.4, 2.5)
    forms.say("1L-1 base 2.6", maple, TODAY + DAY)
    assert only(on(forms, TODAY + DAY).now).value == 2.6


def test_a_job_ends_on_the_day_its_base_is_read(forms: Forms, maple: str) -> None:
    job = {"job": "thicken", "job_until_base_mm": 13.0}
    taken(enter_branch(forms.path, maple, "1l", job, forms.writer(SAID)))
    held = only(on(forms, TODAY).waiting, From.JOB)
    assert (held.words, held.sign) == ("thicken", "the base reaches {13.0 mm}")
    forms.say("1L base 13.1", maple, TODAY + DAY)
    assert only(on(forms, TODAY + DAY).now, From.JOB).value == 13.1


def test_cut_past_later_waits_for_a_thick_base(forms: Forms, maple: str) -> None:
    """0.35 of 47 mm is 16.45; 0.95 of that is 15.63 mm, read off a caliper at 15.7."""
    forms.say("1L will cut past later because base", maple, SAID)
    held = only(on(forms, TODAY).waiting)
    assert held.limit == pytest.approx(15.7)
    assert held.because == "base"
    forms.say("1L base 15.7", maple, TODAY + DAY)
    assert [h.place for h in on(forms, TODAY + DAY).now] == ["1L"]


def test_a_look_that_was_asked_for_comes_on_its_day_and_goes_with_the_look(
    forms: Forms, maple: str
) -> None:
    forms.say("1L look 10d", maple, TODAY)
    due = TODAY + 10 * DAY
    assert only(on(forms, due - DAY).waiting, From.LOOK).expected.on == due
    assert only(on(forms, due).now, From.LOOK).place == "1L"
    forms.say("1L ok", maple, due)
    after = on(forms, due)
    assert [h for h in (*after.now, *after.waiting) if h.kind is From.LOOK] == []


# --- what is not known, what has no end, what is taken back ---------------------------------------


def test_a_base_never_read_leaves_its_promise_unknown(forms: Forms) -> None:
    tree = forms.plant()
    forms.branch(tree, "1L", height_mm=95, clock=9)
    forms.say("1L will until base 14", tree, SAID)
    held = only(on(forms, TODAY).waiting)
    assert held.state is State.UNKNOWN
    assert (held.value, held.expected.seasons) == (None, None)


def test_an_old_reading_that_has_likely_passed_its_mark_asks_to_be_read(forms: Forms) -> None:
    """Three seasons of a running maple since 10.0 mm: the mark of 10.4 is likely behind it."""
    tree = forms.plant()
    forms.branch(tree, "1L", height_mm=95, clock=9, outer=True, read_on=date(2024, 4, 1),
                 base=10.0, trunk=47)  # fmt: skip
    forms.say("strong", tree, date(2026, 6, 1))
    forms.say("1L let run", tree, date(2024, 4, 2))
    forms.say("1L will until base 10.4", tree, SAID)
    (held,) = on(forms, TODAY).soon
    assert held.state is State.SOON
    assert held.value == 10.0


def test_a_plain_keep_stands_until_it_is_taken_back(forms: Forms, maple: str) -> None:
    forms.say("2R will keep because of the bird", maple, SAID)
    held = only(on(forms, TODAY).waiting)
    assert (held.state, held.because) == (State.STANDING, "of the bird")
    assert held.record is not None
    withdraw(forms.path, maple, held.record.hex, on=TODAY)
    assert on(forms, TODAY).waiting == ()


def test_what_is_carried_out_is_promised_no_more(forms: Forms, maple: str) -> None:
    forms.say("1L will until base 12", maple, SAID)
    assert len(on(forms, TODAY).now) == 1
    forms.say("1L cut to pair 1", maple, TODAY)
    assert on(forms, TODAY).now == ()


def test_names_in_any_form_of_promise_reach_one_tree(forms: Forms, maple: str) -> None:
    forms.say("apex will keep", maple, SAID)
    held = only(on(forms, TODAY).waiting)
    assert (held.branch, held.place, held.tree) == ("", "apex", maple)
    assert promises_of(forms.day(), "Gate maple").waiting == on(forms, TODAY).waiting


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("two inner shoots pass 2.5", (2, 2.5)),
        ("an inner shoot reaches 3 mm", (1, 3.0)),
        ("3 shoots are over 2,5", (3, 2.5)),
        ("inner shoots at 2", (1, 2.0)),
        ("a better bud comes", None),
        ("the shoot is firm", None),
        ("", None),
    ],
)
def test_how_many_shoots_of_what_size(words: str, found: tuple[int, float] | None) -> None:
    assert _count_and_size(words) == found


# --- the demonstration garden ---------------------------------------------------------------------


def test_the_demo_leader_has_its_sign_and_jobs_wait_with_theirs(demo_garden: GardenDay) -> None:
    found = promises_of(demo_garden)
    (leader,) = found.now
    assert (leader.name, leader.place) == ("Ditch field maple", "top")
    assert leader.words == "swap when two inner shoots pass 2.5"
    assert leader.since == date(2024, 11, 10)
    assert (leader.value, leader.limit) == (2.6, 2.5)
    waiting = {(h.name, h.place): h for h in found.waiting}
    assert waiting["Ditch field maple", "1.5F"].sign == "scar front has closed"
    assert waiting["Ditch field maple", "1L"].words == "thicken"
    told = json.loads(json.dumps(promises_shape(found)))
    assert [h["place"] for h in told["now"]] == ["top"]

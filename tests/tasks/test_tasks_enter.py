"""Forms: what was typed is read, each wrong field is told, only what changed is written."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tasks_garden import PLACE, TODAY, Forms, taken

from boughwright.errors import UnknownNameError
from boughwright.journal.fields import FIELDS_OF
from boughwright.journal.terms import Quantity
from boughwright.season.record import Origin
from boughwright.settings import Settings, settings_of
from boughwright.store.reader import Reader
from boughwright.usecases.day import read_trees
from boughwright.usecases.enter import (
    branch_fields,
    enter_branch,
    enter_garden,
    enter_place,
    enter_shelf,
    enter_tree,
)
from boughwright.usecases.enter_readings import enter_readings, enter_weather
from boughwright.usecases.entry import entered_shape, fresh_key, read_given
from boughwright.usecases.garden import read_garden
from boughwright.usecases.tidy import turn_front

if TYPE_CHECKING:
    from pathlib import Path

    from boughwright.usecases.entry import Entered


def count(path: Path) -> int:
    with Reader.open(path) as reader:
        return len(reader.raw_events())


def faults(entered: Entered) -> dict[str, str]:
    return {fault.field: fault.what for fault in entered.faults}


# --- what was typed -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("of", "name", "typed", "units", "value"),
    [
        ("tree", "height_mm", "44 cm", "mm", 440.0),
        ("tree", "height_mm", "440", "mm", 440.0),
        ("tree", "height_mm", "10", "in", 254.0),
        ("branch", "height_mm", "9,5 mm", "in", 9.5),
        ("branch", "clock", "2,5", "mm", 2.5),
        ("branch", "target_step", "30 %", "mm", 0.30),
        ("branch", "wanted", "no", "mm", False),
        ("branch", "leaves", "7", "mm", 7),
        ("branch", "phase", "Primary-Structure", "mm", "primary structure"),
        ("tree", "show_on", "28.11.2026", "mm", date(2026, 11, 28)),
        ("tree", "name", "  Ditch \n maple ", "mm", "Ditch maple"),
        ("tree", "name", "", "mm", None),
        ("tree", "height_mm", "?", "mm", None),
        ("shelf", "offset_c", "-0,5", "mm", -0.5),
    ],
)
def test_a_field_is_read_as_people_write_it(
    of: str, name: str, typed: str, units: str, value: object
) -> None:
    values, wrong = read_given(of, {name: typed}, units=units, order=None, today=TODAY)
    assert wrong == []
    assert values == {name: value}
    assert type(values[name]) is type(value)


def test_a_date_is_read_in_the_order_of_the_garden() -> None:
    for order, day in (("dmy", date(2026, 4, 3)), ("mdy", date(2026, 3, 4))):
        values, _ = read_given(
            "tree", {"show_on": "3/4/2026"}, units="mm", order=order, today=TODAY
        )
        assert values == {"show_on": day}
    _, wrong = read_given("tree", {"show_on": "3/4/2026"}, units="mm", order=None, today=TODAY)
    assert [fault.field for fault in wrong] == ["show_on"]


@pytest.mark.parametrize(
    ("of", "name", "typed"),
    [
        ("place", "latitude", "90"),
        ("place", "latitude", "north"),
        ("branch", "clock", "13"),
        ("branch", "phase", "teenager"),
        ("branch", "leaves", "2.5"),
        ("branch", "wanted", "perhaps"),
        ("tree", "show_on", "31.2.2026"),
        ("tree", "height_mm", "9 m"),
        ("tree", "height_mm", "nan"),
        ("tree", "name", "x" * 401),
        ("tree", "nonsense", "1"),
    ],
)
def test_each_wrong_field_says_what_is_allowed_and_what_to_do(
    of: str, name: str, typed: str
) -> None:
    values, (fault,) = read_given(of, {name: typed}, units="mm", order=None, today=TODAY)
    assert values == {}
    assert fault.field == name
    assert fault.what
    assert fault.allowed
    assert fault.todo


@settings(deadline=None, max_examples=300)
@given(
    st.sampled_from([(of, name) for of, table in FIELDS_OF.items() for name in table]),
    st.text(max_size=40),
)
def test_whatever_is_typed_gives_a_value_or_one_fault(field: tuple[str, str], typed: str) -> None:
    of, name = field
    values, wrong = read_given(of, {name: typed}, units="mm", order=None, today=TODAY)
    assert (name in values) != bool(wrong)
    assert len(wrong) <= 1


@given(st.text(max_size=80), st.lists(st.text(max_size=8), max_size=4))
def test_a_key_is_new_short_and_safe_in_an_address(name: str, taken_keys: list[str]) -> None:
    key = fresh_key(name, taken_keys, otherwise="tree")
    assert key.casefold() not in {one.casefold() for one in taken_keys}
    assert key not in {"new", "all", ""}
    assert len(key) <= 70
    assert not set(key) & set("/\\?#%&<>\"' \t\n")
    assert not key.startswith((".", "-"))


def test_keys_are_made_from_names_in_any_script() -> None:
    # Worked out by hand from the rule: lower case, accents off, runs of other marks one hyphen.
    assert fresh_key("Čopova bukev", (), otherwise="tree") == "copova-bukev"
    assert fresh_key("Čopova bukev", ("copova-bukev",), otherwise="tree") == "copova-bukev-2"
    assert fresh_key("楓", (), otherwise="tree") == "楓"
    assert fresh_key("!!!", (), otherwise="tree") == "tree"
    assert fresh_key("New", (), otherwise="tree") == "new-2"
    assert fresh_key("2.5Lg", (), otherwise="branch") == "2.5lg"
    assert fresh_key("../../etc", (), otherwise="tree") == "etc"


# --- nothing is written when one field is wrong, and only what changed ----------------------------


def test_one_wrong_field_writes_nothing_at_all(forms: Forms) -> None:
    before = count(forms.path)
    entered = enter_tree(
        forms.path,
        None,
        {"name": "Elm", "height_mm": "-4", "vigour": "mighty", "place": "Mars"},
        forms.writer(),
    )
    assert set(faults(entered)) == {"height_mm", "vigour", "place"}
    assert not entered.ok
    assert entered.events == ()
    assert count(forms.path) == before


def test_the_same_form_again_writes_nothing(forms: Forms) -> None:
    tree = forms.plant()
    facts = {"name": "Gate maple", "species": "Acer campestre", "height_mm": "440", "vigour": ""}
    first = taken(enter_tree(forms.path, tree, facts, forms.writer()))
    assert first.changed == ("vigour",)
    before = count(forms.path)
    assert taken(enter_tree(forms.path, tree, facts, forms.writer())).events == ()
    assert count(forms.path) == before


def test_a_form_sees_what_was_said_since(forms: Forms) -> None:
    """Strength entered as strong, then said weak: the form that says strong again is a change."""
    tree = forms.plant(vigour="strong")
    forms.say("weak", tree)
    entered = taken(enter_tree(forms.path, tree, {"vigour": "strong"}, forms.writer()))
    assert entered.changed == ("vigour",)


def test_garden_settings_have_defaults_and_can_be_changed(forms: Forms) -> None:
    assert Settings() == settings_of({})
    given_ = {"temperature": "F", "dates": "month first", "language": "de", "hand": "left",
              "light": "night", "units": "in", "hours_week": "9,5"}  # fmt: skip
    taken(enter_garden(forms.path, given_, forms.writer()))
    found = settings_of(read_garden(forms.path)[0].fields)
    assert (found.temperature, found.dates, found.language) == ("F", "month first", "de")
    assert (found.hand, found.light, found.units, found.hours_week) == ("left", "night", "in", 9.5)
    taken(enter_garden(forms.path, {"hours_week": ""}, forms.writer()))
    assert settings_of(read_garden(forms.path)[0].fields).hours_week == 8.0
    wrong = enter_garden(forms.path, {"language": "xx", "dates": "moon first"}, forms.writer())
    assert set(faults(wrong)) == {"language", "dates"}


def test_a_second_place_leaves_the_first_the_home(forms: Forms) -> None:
    """Trees that name no place must not lose theirs when another place is entered."""
    tree = forms.plant()
    forms.branch(tree, "1L", base=12.1, trunk=47)
    south = {"name": "Far bench", "latitude": "-39,8"}
    entered = taken(enter_place(forms.path, None, south, forms.writer()))
    assert entered.key == "far-bench"
    garden = read_garden(forms.path)[0]
    assert garden.fields["home"] == PLACE
    assert forms.tree(tree).shelf.place == PLACE
    taken(enter_tree(forms.path, tree, {"place": "Far bench"}, forms.writer()))
    day = forms.tree(tree)
    assert day.shelf.place == "far-bench"
    assert day.clock.south


def test_a_place_needs_a_name_and_a_latitude(forms: Forms) -> None:
    entered = enter_place(forms.path, None, {"weather": "hill"}, forms.writer())
    assert set(faults(entered)) == {"name", "latitude"}
    again = enter_place(forms.path, None, {"name": "BENCH", "latitude": 46}, forms.writer())
    assert set(faults(again)) == {"name"}
    with pytest.raises(UnknownNameError, match="no place with the key"):
        enter_place(forms.path, "nowhere", {"name": "x"}, forms.writer())


def test_a_shelf_belongs_to_its_place_and_is_left_behind_on_a_move(forms: Forms) -> None:
    shelf = taken(enter_shelf(forms.path, PLACE, None, {"name": "South wall"}, forms.writer()))
    assert shelf.key == "south-wall"
    tree = forms.plant(shelf="South wall")
    assert forms.tree(tree).shelf.shelf == "south-wall"
    taken(enter_place(forms.path, None, {"name": "Hill", "latitude": 46.0}, forms.writer()))
    moved = taken(enter_tree(forms.path, tree, {"place": "hill"}, forms.writer()))
    assert set(moved.changed) == {"place", "shelf"}
    assert forms.tree(tree).shelf.shelf == ""
    wrong = enter_tree(forms.path, tree, {"shelf": "South wall"}, forms.writer())
    assert set(faults(wrong)) == {"shelf"}


def test_species_are_put_by_their_botanical_name_or_asked_about(forms: Forms) -> None:
    tree = forms.plant(species="field maple")
    assert forms.tree(tree).tree.facts["species"] == "Acer campestre"
    many = enter_tree(forms.path, tree, {"species": "maple"}, forms.writer())
    assert set(faults(many)) == {"species"}
    assert "Acer campestre" in many.faults[0].allowed
    odd = taken(enter_tree(forms.path, tree, {"species": "Arbor inventa"}, forms.writer()))
    assert len(odd.doubts) == 1
    assert forms.tree(tree).species is None


def test_two_trees_cannot_share_a_name_or_a_tag(forms: Forms) -> None:
    forms.plant("Gate maple", tag="7")
    entered = enter_tree(forms.path, None, {"name": "gate-maple", "tag": "7"}, forms.writer())
    assert set(faults(entered)) == {"name", "tag"}


def test_html_and_formulas_in_names_are_kept_as_text(forms: Forms) -> None:
    name = "<b>&=1+1</b> *x*"
    tree = forms.plant(name)
    assert tree == "b-1-1-b-x"
    assert forms.tree(tree).facts.name == name


# --- branches -------------------------------------------------------------------------------------


def test_a_branch_is_entered_with_its_parent_and_refers_to_others_by_name(forms: Forms) -> None:
    tree = forms.plant()
    forms.branch(tree, "6R", height_mm=335, clock=4)
    weak = forms.branch(tree, "5l", shaded_by="6th right")
    shoot = forms.branch(tree, "5L-1", parent="5L")
    rows = read_trees(forms.path)[2][0].branches
    at = {key: row for row, key in enumerate(rows.ids)}
    assert rows.names[at[weak]] == "5L"
    assert rows.ids[rows.shaded_by[at[weak]]] == "6r"
    assert rows.ids[rows.parent[at[shoot]]] == weak


def test_a_branch_cannot_grow_from_itself_or_its_shoot(forms: Forms) -> None:
    tree = forms.plant()
    own, shoot = forms.branch(tree, "1L"), forms.branch(tree, "1L-1")
    for parent in (own, shoot, "1L-1"):
        entered = enter_branch(forms.path, tree, own, {"parent": parent}, forms.writer())
        assert set(faults(entered)) == {"parent"}


@pytest.mark.parametrize("name", ["", "left one", "0L", "apex", "1X", "🌳"])
def test_a_branch_needs_a_name_of_the_trade(forms: Forms, name: str) -> None:
    tree = forms.plant()
    assert set(faults(enter_branch(forms.path, tree, None, {"name": name}, forms.writer()))) == {
        "name"
    }


def test_a_form_shows_the_hour_from_todays_front(forms: Forms) -> None:
    tree = forms.plant()
    key = forms.branch(tree, "2R", clock=3)
    taken(turn_front(forms.path, tree, 90.0, forms.writer()))
    with Reader.open(forms.path) as reader:
        events = reader.events(tree)
    known = branch_fields(read_trees(forms.path)[2][0], events, key)
    assert (known["name"], known["clock"]) == ("2R", 12.0)
    same = taken(enter_branch(forms.path, tree, key, {"clock": "12"}, forms.writer()))
    assert same.events == ()


# --- readings and weather -------------------------------------------------------------------------


def test_readings_are_written_with_their_error_and_all_or_none(forms: Forms) -> None:
    tree = forms.plant()
    key = forms.branch(tree, "1L")
    given_ = {"base": "1,21 cm", "trunk": "47", "node": "", "room": None}
    entered = taken(
        enter_readings(forms.path, tree, key, given_, forms.writer(), marked=True, how="caliper")
    )
    assert [(e.body.what, e.body.value) for e in entered.events] == [
        (Quantity.BASE, pytest.approx(12.1)),
        (Quantity.TRUNK, 47.0),
    ]
    assert entered.receipts[0] == "1st left: base 12.1 mm, at a marked spot"
    before = count(forms.path)
    wrong = enter_readings(
        forms.path, tree, key, {"base": "12", "open": "9 km", "girth": "1"}, forms.writer()
    )
    assert set(faults(wrong)) == {"open", "girth"}
    assert count(forms.path) == before


def test_a_reading_of_the_whole_tree_needs_no_branch(forms: Forms) -> None:
    tree = forms.plant()
    taken(enter_readings(forms.path, tree, None, {"drain": "25", "trunk": "67"}, forms.writer()))
    day = forms.tree(tree)
    assert day.facts.drain_s == 25.0
    assert day.facts.trunk_mm == 67.0


def test_a_day_read_at_the_bench_is_kept_as_such(forms: Forms) -> None:
    low_high = {"t_min_c": "50", "t_max_c": "77", "rain_mm": "3,2"}
    entered = taken(
        enter_weather(forms.path, PLACE, TODAY, low_high, forms.writer(), temperature="F")
    )
    assert entered.changed == ("t_min_c", "t_max_c", "rain_mm")
    with Reader.open(forms.path) as reader:
        record = reader.weather(PLACE, TODAY, TODAY)
    assert record is not None
    # 50 °F is 10 °C and 77 °F is 25 °C, exactly.
    assert record.t_min_c[0] == pytest.approx(10.0)
    assert record.t_max_c[0] == pytest.approx(25.0)
    assert record.rain_mm[0] == pytest.approx(3.2)
    assert record.origin[0] == Origin.BENCH
    assert (
        taken(
            enter_weather(forms.path, PLACE, TODAY, low_high, forms.writer(), temperature="F")
        ).changed
        == ()
    )


@pytest.mark.parametrize(
    ("day", "given_", "field"),
    [
        (TODAY, {"t_max_c": "61"}, "t_max_c"),
        (TODAY, {"t_max_c": "-99", "t_min_c": "-99"}, "t_min_c"),
        (TODAY, {"t_min_c": "20", "t_max_c": "10"}, "t_min_c"),
        (TODAY, {"t_min_c": "warm"}, "t_min_c"),
        (TODAY, {"rain_mm": "-1"}, "rain_mm"),
        (TODAY, {}, "t_min_c"),
        (TODAY, {"snow": "1"}, "snow"),
        (date(2026, 6, 10), {"t_min_c": "1"}, "day"),
        (date(1699, 12, 31), {"t_min_c": "1"}, "day"),
    ],
)
def test_weather_that_cannot_be_is_refused_by_its_field(
    forms: Forms, day: date, given_: dict[str, str], field: str
) -> None:
    entered = enter_weather(forms.path, PLACE, day, given_, forms.writer())
    assert list(faults(entered)) == [field]


def test_what_became_of_a_form_has_one_shape(forms: Forms) -> None:
    entered = enter_tree(forms.path, None, {"name": "Elm", "species": "maple"}, forms.writer())
    told = entered_shape(entered)
    assert told["ok"] is False
    assert told["records"] == []
    assert told["faults"][0]["field"] == "species"  # type: ignore[index]  # a list of objects


@settings(
    deadline=None, max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.dictionaries(st.sampled_from(sorted(FIELDS_OF["branch"])), st.text(max_size=12)))
def test_garbage_in_a_branch_form_never_breaks_the_day(
    forms: Forms, fields: dict[str, str]
) -> None:
    if not read_trees(forms.path)[2]:
        forms.branch(forms.plant(), "1L", base=12.1, trunk=47)
    tree = read_trees(forms.path)[2][0].id
    enter_branch(forms.path, tree, "1l", {**fields, "name": "1L"}, forms.writer())
    enter_branch(forms.path, tree, "1l", {"gone_on": ""}, forms.writer())
    day = forms.tree(tree)
    assert {branch.name for branch in day.branches} >= {"trunk"}

"""From nothing to a first verdict, the forms in order, and finding a species."""

from __future__ import annotations

import json
from datetime import date
from typing import TYPE_CHECKING

import pytest
from tasks_garden import TODAY, Forms, taken

from boughwright.errors import BoughwrightError, UnknownNameError
from boughwright.journal.fields import FIELDS_OF
from boughwright.usecases.enter_readings import enter_weather
from boughwright.usecases.field_forms import HIDDEN, form_of, form_shape
from boughwright.usecases.start import (
    begin,
    first_steps,
    first_steps_shape,
    species_matches,
    species_matches_shape,
)

if TYPE_CHECKING:
    from pathlib import Path

    from boughwright.usecases.day import GardenDay


def done(path: Path) -> list[str]:
    return [step.key for step in first_steps(path, on=TODAY).steps if step.done]


def test_a_new_garden_is_led_from_nothing_to_a_first_verdict(tmp_path: Path) -> None:
    forms = Forms(tmp_path / "new" / "own.book")
    assert done(forms.path) == []
    assert first_steps(forms.path).next is not None
    assert begin(forms.path)
    assert not begin(forms.path)
    assert done(forms.path) == []
    forms.lay_ground()
    assert done(forms.path) == ["place"]
    read = {"t_min_c": "12", "t_max_c": "24"}
    taken(enter_weather(forms.path, "bench", TODAY, read, forms.writer()))
    assert done(forms.path) == ["place", "weather"]
    tree = forms.plant()
    assert done(forms.path) == ["place", "weather", "tree"]
    forms.branch(tree, "1L", height_mm=95, clock=9)
    forms.branch(tree, "2R", height_mm=130, clock=3)
    assert first_steps(forms.path, on=TODAY).next.key == "branches"  # type: ignore[union-attr]
    forms.branch(tree, "3B", height_mm=175, clock=12)
    assert first_steps(forms.path, on=TODAY).next.key == "verdict"  # type: ignore[union-attr]
    forms.say("strong; 1L base 12.1 trunk 47", tree)
    steps = first_steps(forms.path, on=TODAY)
    assert steps.done
    assert steps.next is None
    assert steps.tree == tree


def test_a_tree_before_its_place_is_no_error(tmp_path: Path) -> None:
    forms = Forms(tmp_path / "own.book")
    begin(forms.path)
    forms.plant()
    assert done(forms.path) == []
    told = first_steps_shape(first_steps(forms.path))
    assert told["done"] is False


def test_what_is_no_book_is_not_taken_for_one(tmp_path: Path) -> None:
    path = tmp_path / "own.book"
    path.write_text("a shopping list")
    with pytest.raises(BoughwrightError):
        begin(path)
    assert path.read_text() == "a shopping list"


def test_a_day_at_hand_is_not_worked_out_again(forms: Forms, demo_garden: GardenDay) -> None:
    steps = first_steps(forms.path, garden=demo_garden)
    assert steps.done
    assert steps.tree == "gate-hornbeam"


# --- the forms ------------------------------------------------------------------------------------


@pytest.mark.parametrize("of", FIELDS_OF)
def test_every_field_stands_in_its_form_once_or_has_its_own_page(of: str) -> None:
    form = form_of(of)
    names = [field.name for field in form.fields]
    assert len(names) == len(set(names))
    assert set(names) | HIDDEN.get(of, frozenset()) == set(FIELDS_OF[of])
    assert [group.essential for group in form.groups] == [True] + [False] * (len(form.groups) - 1)
    assert 3 <= len(form.groups[0].fields) <= 5
    assert form.groups[0].fields[0].name == "name"
    assert all(FIELDS_OF[of][field.name] is field for field in form.fields)
    json.dumps(form_shape(form), allow_nan=False)


def test_an_unknown_form_names_those_there_are() -> None:
    with pytest.raises(UnknownNameError, match="garden, place, shelf, tree, branch"):
        form_of("leaf")


# --- species --------------------------------------------------------------------------------------


def test_a_few_letters_offer_names_that_begin_so_first() -> None:
    found = species_matches("horn")
    assert found[0].plain.casefold().startswith("horn") or "hornbeam" in found[0].by.casefold()
    assert all("horn" in match.by.casefold() for match in found)
    assert len({match.key for match in found}) == len(found)


def test_a_name_in_full_comes_first_and_a_misspelt_one_is_met() -> None:
    assert species_matches("Acer campestre")[0].botanical == "Acer campestre"
    assert species_matches("field maple")[0].botanical == "Acer campestre"
    assert species_matches("acer campestrre")[0].botanical == "Acer campestre"
    assert species_matches("zzzzqqq") == ()


def test_a_common_name_of_many_offers_them_all_and_nothing_typed_offers_some() -> None:
    kinds = {match.botanical for match in species_matches("maple", limit=20)}
    assert {"Acer campestre", "Acer palmatum", "Acer buergerianum"} <= kinds
    assert len(species_matches("", limit=5)) == 5
    told = species_matches_shape(species_matches("elm"))
    assert told["shape"] == "boughwright/species-matches"


def test_first_steps_take_the_day_they_are_given(forms: Forms) -> None:
    forms.plant()
    assert first_steps(forms.path, on=date(2023, 1, 1)).tree == ""

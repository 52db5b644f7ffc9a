"""The species tables are whole, legal and sourced, and a species is found by any of its names."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boughwright.errors import AmbiguousNameError, RangeError, UnknownNameError
from boughwright.sources import Grade, all_sources
from boughwright.species.model import Species, Trait
from boughwright.species.tables import (
    all_names,
    all_species,
    find,
    of_key,
    trait_meanings,
    with_overrides,
)

EVERY = [pytest.param(species, id=species.key) for species in all_species()]

WANTED = [
    "Acer buergerianum",
    "Acer palmatum",
    "Acer campestre",
    "Acer tataricum ginnala",
    "Ulmus parvifolia",
    "Ulmus minor",
    "Zelkova serrata",
    "Carpinus betulus",
    "Carpinus turczaninowii",
    "Fagus sylvatica",
    "Fagus crenata",
    "Quercus robur",
    "Quercus petraea",
    "Quercus pubescens",
    "Crataegus monogyna",
    "Malus sylvestris",
    "Nothofagus antarctica",
]


@pytest.mark.parametrize("species", EVERY)
def test_every_trait_is_there_and_no_other(species: Species) -> None:
    assert set(species.traits) == set(trait_meanings())


@pytest.mark.parametrize("species", EVERY)
def test_every_value_is_legal_in_range_and_sourced(species: Species) -> None:
    for name, trait in species.traits.items():
        meaning = trait_meanings()[name]
        assert trait.unit == meaning.unit, name
        assert trait.source in all_sources(), name
        if meaning.kind == "number":
            assert isinstance(trait.value, float), name
            assert trait.low is not None, name
            assert trait.high is not None, name
            assert meaning.low <= trait.low <= trait.value <= trait.high <= meaning.high, name
            assert trait.low < trait.high or name == "graft_seasons" or trait.value == 0, name
        else:
            assert trait.low is None, name
            assert trait.high is None, name
            kind = {"word": str, "text": str, "yes-no": bool}[meaning.kind]
            assert type(trait.value) is kind, name
            assert meaning.kind != "word" or trait.value in meaning.words, name


@pytest.mark.parametrize("species", EVERY)
def test_a_guess_is_never_graded_better(species: Species) -> None:
    for name, trait in species.traits.items():
        kind = all_sources()[trait.source].kind
        if kind == "guess":
            assert trait.grade >= Grade.BORROWED, name
        if trait.source == "starting-value":
            assert trait.grade == Grade.GUESS, name
        if trait.grade == Grade.MEASURED:
            assert kind in ("published", "memory", "standard"), name


def test_species_taken_over_from_a_relative_have_nothing_measured() -> None:
    for name in ("Quercus pubescens", "Nothofagus antarctica"):
        assert all(trait.grade >= Grade.BORROWED for trait in find(name).traits.values())
    oak, downy = find("Quercus robur"), find("Quercus pubescens")
    for name in ("wood", "increment_developing_mm", "increment_refined_mm", "callus"):
        assert downy.traits[name].value == oak.traits[name].value
        assert downy.traits[name].source == "oak-row"
    beech, southern = find("Fagus crenata"), find("Nothofagus antarctica")
    assert southern.word("wood") == "diffuse"
    assert southern.traits["wood"].source == "beech-row"
    for name in ("increment_developing_mm", "increment_refined_mm"):
        assert southern.number(name) == beech.number(name)


@pytest.mark.parametrize("name", WANTED)
def test_the_trees_of_the_bench_are_there(name: str) -> None:
    assert isinstance(find(name), Species)


@pytest.mark.parametrize("species", EVERY)
def test_refined_growth_is_slower_and_internodes_shorter(species: Species) -> None:
    assert species.number("increment_refined_mm") < species.number("increment_developing_mm")
    assert species.number("internode_refined_mm") < species.number("internode_free_mm")
    assert species.number("root_kill_c") > species.number("top_kill_c")


@pytest.mark.parametrize("species", EVERY)
def test_pot_core_limit_is_the_more_careful(species: Species) -> None:
    # Common practice keeps a pot core above -5 °C; 3 °C above what kills roots is the other limit.
    assert species.number("pot_core_limit_c") >= -5.0
    assert species.number("pot_core_limit_c") >= species.number("root_kill_c") + 3.0


def test_common_practice_on_taking_all_leaves() -> None:
    """Common practice; written cases."""
    allowed = {s.key: s.word("full_defoliation") for s in all_species()}
    for genus in ("fagus", "quercus", "nothofagus", "carpinus", "crataegus", "betula", "ginkgo"):
        assert {word for key, word in allowed.items() if key.startswith(genus)} == {"never"}
    assert allowed["ulmus-parvifolia"] == "strong-or-steady"
    for key in ("acer-buergerianum", "acer-palmatum", "acer-campestre", "zelkova-serrata"):
        assert allowed[key] == "strong"
    crab = find("crab apple")
    assert crab.flag("fruit")
    assert "fruit" in crab.word("defoliation_note")


def test_wood_and_buds_follow_botany() -> None:
    # Wood anatomy: elms, zelkova, hackberry, oak, ash and mulberry are ring-porous.
    ring = {s.botanical.split()[0] for s in all_species() if s.word("wood") == "ring"}
    assert ring == {
        "Ulmus", "Zelkova", "Celtis", "Quercus", "Fraxinus", "Morus", "Lagerstroemia"
    }  # fmt: skip
    assert {s.botanical.split()[0] for s in all_species() if s.word("wood") == "semi-ring"} == {
        "Prunus"
    }
    opposite = {s.botanical.split()[0] for s in all_species() if s.word("buds") == "opposite"}
    assert opposite == {"Acer", "Fraxinus", "Cornus", "Lagerstroemia"}


def test_only_beech_leafs_out_by_the_sequential_model() -> None:
    assert {s.key for s in all_species() if s.word("leafout_model") == "sequential"} == {
        "fagus-crenata",
        "fagus-sylvatica",
    }


@pytest.mark.parametrize("names", [pytest.param(n, id=k) for k, n in all_names().items()])
def test_found_by_botanical_plain_and_synonym(names) -> None:  # type: ignore[no-untyped-def]
    for name in (names.botanical, names.plain, *names.synonyms, names.key):
        assert find(name).key == names.key, name


@given(
    names=st.sampled_from(list(all_names().values())),
    gap=st.sampled_from([" ", "  ", "-", "_", "\t"]),
    case=st.sampled_from([str.upper, str.lower, str.title, str]),
)
def test_case_spaces_and_hyphens_do_not_matter(names, gap, case) -> None:  # type: ignore[no-untyped-def]
    assert find(case(names.plain).replace(" ", gap)).key == names.key
    assert find(case(names.botanical).replace(" ", gap)).key == names.key


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("Acer palmatum Thunb.", "acer-palmatum"),
        ("Acer palmatum 'Kiyohime'", "acer-palmatum"),
        ("Acer ginnala Maxim.", "acer-tataricum-ginnala"),
        ("Acer tataricum ssp. ginnala (Maxim.) Wesm.", "acer-tataricum-ginnala"),
        ("Malus × zumi", "malus-small-fruited"),
        ("Malus sylvestris (L.) Mill.", "malus-small-fruited"),
        ("Siebold’s beech", "fagus-crenata"),
        ("ume", "prunus-mume"),
        ("Zelkova", "zelkova-serrata"),
    ],
)
def test_authors_cultivars_and_ranks_are_passed_over(name: str, key: str) -> None:
    assert find(name).key == key


@pytest.mark.parametrize(
    ("name", "botanical"),
    [
        ("hornbeam", ["Carpinus betulus", "Carpinus turczaninowii"]),
        ("Beech", ["Fagus crenata", "Fagus sylvatica"]),
        ("oak", ["Quercus robur", "Quercus pubescens"]),
        ("elm", ["Ulmus parvifolia", "Ulmus minor"]),
        ("Acer", ["Acer palmatum", "Acer campestre", "Acer rubrum"]),
    ],
)
def test_a_name_of_several_species_lists_them(name: str, botanical: list[str]) -> None:
    with pytest.raises(AmbiguousNameError) as error:
        find(name)
    assert set(botanical) <= set(error.value.allowed.split(", "))


def test_an_unknown_name_gives_the_nearest() -> None:
    with pytest.raises(UnknownNameError, match="Zelkova serrata"):
        find("Zelkva serata")
    with pytest.raises(UnknownNameError, match="not known"):
        find("")
    with pytest.raises(UnknownNameError, match="oak"):
        of_key("oak")


def test_an_override_is_measured_and_leaves_the_rest() -> None:
    table = find("Acer palmatum")
    own = with_overrides(
        table, {"leafout_factor": 0.8, "bark": "Corky", "fruit": "yes", "callus": None}
    )
    assert own.traits["leafout_factor"] == Trait(0.8, "", "grower", Grade.MEASURED, 0.8, 0.8)
    assert own.word("bark") == "corky"
    assert own.flag("fruit") is True
    assert own.traits["callus"] == table.traits["callus"]
    assert table.number("leafout_factor") == 0.9
    assert with_overrides(table, {"leafout_factor": "0,8"}).number("leafout_factor") == 0.8


@pytest.mark.parametrize(
    ("trait", "value"),
    [
        ("leafout_factor", -1.0),
        ("leafout_factor", math.nan),
        ("leafout_factor", "much"),
        ("leafout_factor", True),
        ("bark", "rough"),
        ("fruit", "perhaps"),
        ("bleeds", 4),
        ("root_kill_c", 20),
    ],
)
def test_an_illegal_override_is_refused(trait: str, value: object) -> None:
    with pytest.raises(RangeError, match=trait):
        with_overrides(find("Acer palmatum"), {trait: value})


def test_an_unknown_trait_is_refused_with_the_nearest() -> None:
    with pytest.raises(UnknownNameError, match="leafout_factor"):
        with_overrides(find("Acer palmatum"), {"leaf_out_factor": 1.0})


def test_words_numbers_and_flags_keep_apart() -> None:
    maple = find("Acer palmatum")
    assert maple.word("supple") == "yes"
    assert maple.number("supple") == 1.0
    with pytest.raises(TypeError, match="word"):
        maple.number("wood")
    with pytest.raises(TypeError, match="yes or no"):
        maple.flag("wood")

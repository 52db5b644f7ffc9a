"""The facts of a tree and its branches, mended by forms alone."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from form_help import assert_well_made, fill_in, form_on, forms_of, german_copy
from page_checks import (
    HOSTILE,
    YESTERDAY,
    assert_clean,
    first_sentence,
    rename,
    text_of,
    write,
)

from boughwright.journal.events import Event, GardenSet, Saw, Worked
from boughwright.journal.terms import Sign, Work
from boughwright.usecases.field_forms import form_of
from boughwright.web.speech_core import untold

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi.testclient import TestClient

MAPLE = "/trees/ditch-field-maple"


def bench_of(client: TestClient) -> Any:
    return client.app.state.bench  # type: ignore[attr-defined]


def key_of(client: TestClient, name: str, tree: str = "ditch-field-maple") -> str:
    rows = bench_of(client).kept.day().tree(tree).tree.branches
    return str(rows.ids[rows.names.index(name)])


def written(client: TestClient, tree: str = "ditch-field-maple") -> int:
    return len(bench_of(client).kept.events(tree))


def facts_of(client: TestClient, tree: str = "ditch-field-maple") -> dict[str, Any]:
    return dict(bench_of(client).kept.day().tree(tree).tree.facts)


def branch_on(client: TestClient, name: str) -> Any:
    day = bench_of(client).kept.day().tree("ditch-field-maple")
    return next(one for one in day.branches if one.name == name)


# --- the tree -------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", ["/facts", "/facts/new", "/facts/graft", "/branches/{4R}/facts"])
def test_every_page_is_well_made(reader: TestClient, path: str) -> None:
    page = reader.get(MAPLE + path.replace("{4R}", key_of(reader, "4R"))).text
    assert_clean(page)
    assert_well_made(page)
    assert first_sentence(page)


def test_every_field_of_a_tree_and_a_branch_can_be_entered(reader: TestClient) -> None:
    tree = form_on(reader.get(f"{MAPLE}/facts").text, f"{MAPLE}/facts")
    assert {one.name for one in form_of("tree").fields} == set(tree.ids)
    path = f"{MAPLE}/branches/{key_of(reader, '4R')}/facts"
    branch = form_on(reader.get(path).text, path)
    assert {one.name for one in form_of("branch").fields} == set(branch.ids)


def test_sending_a_form_as_it_stands_writes_nothing(client: TestClient) -> None:
    before = written(client)
    assert fill_in(client, f"{MAPLE}/facts", {}).status_code == 303
    for name in ("4R", "2.5Lg", "scar front", "top"):
        assert fill_in(
            client, f"{MAPLE}/branches/{key_of(client, name)}/facts", {}
        ).status_code == (303)
    assert written(client) == before


def test_in_inches_a_form_as_it_stands_writes_nothing_either(client: TestClient) -> None:
    write(bench_of(client).book, Event(GardenSet({"units": "in"}), YESTERDAY))
    form = form_on(client.get(f"{MAPLE}/facts").text, f"{MAPLE}/facts")
    # 440 mm / 25.4 = 17.3228 in, shown to a thousandth.
    assert form.values["height_mm"] == "17.323"
    before = written(client)
    assert fill_in(client, f"{MAPLE}/facts", {}).status_code == 303
    assert written(client) == before
    assert fill_in(client, f"{MAPLE}/facts", {"height_mm": "17,5"}).status_code == 303
    assert facts_of(client)["height_mm"] == pytest.approx(444.5)


def test_only_what_was_changed_is_written(client: TestClient) -> None:
    before = written(client)
    answer = fill_in(client, f"{MAPLE}/facts", {"tag": " 12  a ", "show_on": "2026-10-03"})
    assert answer.headers["location"] == f"{MAPLE}/facts?saved=facts"
    events = bench_of(client).kept.events("ditch-field-maple")[before:]
    assert [sorted(event.body.fields) for event in events] == [["show_on", "tag"]]
    page = client.get(answer.headers["location"]).text
    assert "The facts are written down." in text_of(page)
    # Shown again in the grower's order, day first.
    assert form_on(page, f"{MAPLE}/facts").values["show_on"] == "3/10/2026"


def test_two_devices_on_one_form_do_not_undo_each_other(client: TestClient) -> None:
    first = form_on(client.get(f"{MAPLE}/facts").text, f"{MAPLE}/facts")
    second = form_on(client.get(f"{MAPLE}/facts").text, f"{MAPLE}/facts")
    client.post(first.action, data=first.values | {"tag": "7"})
    client.post(second.action, data=second.values | {"owner": "somebody"})
    facts = facts_of(client)
    assert (facts["tag"], facts["owner"]) == ("7", "somebody")


def test_a_field_left_empty_goes_back_to_unknown(client: TestClient) -> None:
    assert facts_of(client)["height_mm"] == 440.0
    fill_in(client, f"{MAPLE}/facts", {"height_mm": ""})
    assert "height_mm" not in facts_of(client)
    page = client.get(f"{MAPLE}/facts").text
    assert first_sentence(page) == "Ditch field maple: still not known: height"


def test_the_month_comes_first_where_the_grower_wants_it(client: TestClient) -> None:
    write(bench_of(client).book, Event(GardenSet({"dates": "month first"}), YESTERDAY))
    fill_in(client, f"{MAPLE}/facts", {"acquired_on": "3/4/2020"})
    assert facts_of(client)["acquired_on"].isoformat() == "2020-03-04"
    form = form_on(client.get(f"{MAPLE}/facts").text, f"{MAPLE}/facts")
    assert form.values["acquired_on"] == "3/4/2020"


def test_limits_are_told_in_the_growers_unit(client: TestClient) -> None:
    write(bench_of(client).book, Event(GardenSet({"units": "in"}), YESTERDAY))
    answer = fill_in(client, f"{MAPLE}/facts", {"height_mm": "999"})
    assert answer.status_code == 422
    told = text_of(answer.text)
    # 999 in is 25374.6 mm; the limit of 5000 mm is 196.85 in.
    assert "999 in does not fit" in told
    assert "0 to 196.85 in" in told


def test_readings_of_the_tree_are_taken_in_their_own_units(client: TestClient) -> None:
    action = f"{MAPLE}/facts/readings"
    answer = fill_in(client, f"{MAPLE}/facts", {"trunk": "6,8 cm", "drain": "2 min"}, action=action)
    assert answer.headers["location"] == f"{MAPLE}/facts?saved=read"
    day = bench_of(client).kept.day().tree("ditch-field-maple")
    last = {one.what.value: one.value for one in day.tree.measures if one.branch < 0}
    assert last["trunk"] == 68.0
    assert last["drain"] == 120.0
    wrong = fill_in(client, f"{MAPLE}/facts", {"trunk": "0", "drain": "long"}, action=action)
    assert wrong.status_code == 422
    assert form_on(wrong.text, action).invalid == {"trunk", "drain"}


def test_the_front_is_turned_and_names_stay(client: TestClient) -> None:
    action = f"{MAPLE}/facts/front"
    bad = fill_in(client, f"{MAPLE}/facts", {"degrees": "round"}, action=action)
    assert bad.status_code == 422
    names = bench_of(client).kept.day().tree("ditch-field-maple").tree.branches.names
    fill_in(client, f"{MAPLE}/facts", {"degrees": "90", "way": "against"}, action=action)
    tree = bench_of(client).kept.day().tree("ditch-field-maple").tree
    assert tree.branches.names == names
    assert tree.front_deg == 270.0
    assert "stands " in text_of(client.get(f"{MAPLE}/facts").text)


# --- branches -------------------------------------------------------------------------------------


def test_a_new_name_keeps_the_old_one_as_a_way_to_it(client: TestClient) -> None:
    key = key_of(client, "4R")
    path = f"{MAPLE}/branches/{key}/facts"
    answer = fill_in(client, path, {"name": "5r"})
    assert answer.headers["location"] == f"{path}?saved=facts"
    page = client.get(answer.headers["location"]).text
    assert "5R is still reached by its old name: 4R." in text_of(page)
    assert "5R; once 4R" in text_of(client.get(f"{MAPLE}/facts").text) or (
        "once 4R" in text_of(client.get(f"{MAPLE}/facts").text)
    )
    from boughwright.tree.naming import find

    tree = bench_of(client).kept.day().tree("ditch-field-maple").tree
    assert [tree.branches.ids[row] for row in find(tree, "4R").rows] == [key]


@pytest.mark.parametrize(
    ("given", "wrong"),
    [
        ({"name": ""}, {"name"}),
        ({"name": "2R"}, {"name"}),
        ({"name": "the big one"}, {"name"}),
        ({"clock": "13", "leaves": "2.5", "target_step": "5"}, {"clock", "leaves", "target_step"}),
        ({"height_mm": "high", "grafted_on": "31/2/2020"}, {"height_mm", "grafted_on"}),
    ],
)
def test_wrong_facts_of_a_branch_are_told_beside_their_fields(
    client: TestClient, given: dict[str, str], wrong: set[str]
) -> None:
    path = f"{MAPLE}/branches/{key_of(client, '4R')}/facts"
    before = written(client)
    answer = fill_in(client, path, given)
    assert answer.status_code == 422
    assert_clean(answer.text)
    assert_well_made(answer.text)
    form = form_on(answer.text, path)
    assert form.invalid == wrong
    assert {name: form.values[name] for name in given} == given
    assert written(client) == before


def test_readings_of_a_branch_reach_its_verdict(client: TestClient) -> None:
    path = f"{MAPLE}/branches/{key_of(client, '1L')}"
    answer = fill_in(client, f"{path}/facts", {"base": "0.5 in", "marked": "yes"},
                     action=f"{path}/readings")  # fmt: skip
    assert answer.status_code == 303
    assert branch_on(client, "1L").base_mm == pytest.approx(12.7)
    wrong = fill_in(client, f"{path}/facts", {"base": "12.7", "node": "-3"},
                    action=f"{path}/readings")  # fmt: skip
    assert wrong.status_code == 422
    shown = form_on(wrong.text, f"{path}/readings")
    assert shown.invalid == {"node"}
    assert shown.values["base"] == "12.7"


@pytest.mark.parametrize(
    ("how", "body"),
    [("cut", Worked(Work.CUT, to="base")), ("dead", Saw(Sign.DEAD)), ("fallen", None)],
)
def test_a_branch_goes_and_comes_back(client: TestClient, how: str, body: object) -> None:
    key = key_of(client, "1.5F")
    path = f"{MAPLE}/branches/{key}"
    answer = fill_in(client, f"{path}/facts", {"how": how, "gone_on": "8/6/2026"},
                     action=f"{path}/gone")  # fmt: skip
    assert answer.headers["location"] == f"{path}/facts?saved=gone"
    last = bench_of(client).kept.events("ditch-field-maple")[-1]
    assert (last.on.isoformat(), last.branch) == ("2026-06-08", key)
    assert body is None or last.body == body
    page = client.get(f"{path}/facts").text
    assert first_sentence(page) == "1.5F is gone"
    assert client.get(f"{path}").status_code == 404
    assert fill_in(client, f"{path}/facts", {}, action=f"{path}/back").status_code == 303
    assert branch_on(client, "1.5F").gone is False


@pytest.mark.parametrize("given", [{"how": "sold"}, {"how": "cut", "gone_on": "9/9/2030"},
                                   {"how": "dead", "gone_on": "never"}])  # fmt: skip
def test_a_branch_does_not_go_on_a_wrong_day_or_way(
    client: TestClient, given: dict[str, str]
) -> None:
    path = f"{MAPLE}/branches/{key_of(client, '1.5F')}"
    before = written(client)
    answer = fill_in(client, f"{path}/facts", given, action=f"{path}/gone")
    assert answer.status_code == 422
    assert_clean(answer.text)
    assert written(client) == before


def test_several_branches_are_added_at_once(client: TestClient) -> None:
    rows = {"0.name": "7L", "0.base": "4.2", "0.trunk": "12", "1.name": "7L-1"}
    answer = fill_in(client, f"{MAPLE}/facts/new", rows)
    assert answer.headers["location"].startswith(f"{MAPLE}/facts?saved=branches")
    assert branch_on(client, "7L").base_mm == 4.2
    assert branch_on(client, "7L-1").base_mm is None


def test_a_graft_is_named_by_its_neighbours(client: TestClient) -> None:
    given = {"lower": "4R", "upper": "5L", "side": "R", "kind": "approach"}
    answer = fill_in(client, f"{MAPLE}/facts/graft", given)
    assert answer.status_code == 303, text_of(answer.text)
    assert branch_on(client, "4.5Rg").kind.value == "graft"
    wrong = fill_in(client, f"{MAPLE}/facts/graft", {"lower": "4R", "upper": "4R", "side": ""})
    assert wrong.status_code == 422
    assert "side" in form_on(wrong.text, f"{MAPLE}/facts/graft").invalid


@pytest.mark.parametrize(
    "path", ["/trees/none/facts", f"{MAPLE}/branches/none/facts", "/trees/none/facts/new",
             "/trees/none/facts/graft"],
)  # fmt: skip
def test_what_is_not_there_is_told_so(reader: TestClient, path: str) -> None:
    assert reader.get(path).status_code == 404


def test_html_in_names_stays_text(client: TestClient) -> None:
    rename(bench_of(client).book, "tall-beech")
    for path in ("/facts", "/facts/new", "/facts/graft"):
        page = client.get(f"/trees/tall-beech{path}").text
        assert_clean(page)
        assert " ".join(HOSTILE.split()) in text_of(page)


def test_the_pages_speak_german(demo_book: Path, tmp_path: Path) -> None:
    german = german_copy(demo_book, tmp_path)
    untold.clear()
    paths = ["/facts", "/facts/new", "/facts/graft", "/facts?saved=front"]
    paths += [f"/branches/{key_of(german, name)}/facts" for name in ("4R", "2.5Lg", "scar front")]
    for path in paths:
        page = german.get(MAPLE + path).text
        assert_clean(page)
        assert "<span lang=en>" not in page, path
    wrong = fill_in(german, f"{MAPLE}/facts", {"height_mm": "hoch", "pot_volume_l": "-4",
                                               "species": "maple", "show_on": "bald"})  # fmt: skip
    assert wrong.status_code == 422
    assert "<span lang=en>" not in wrong.text
    assert not untold
    assert {form.action for form in forms_of(wrong.text)} >= {f"{MAPLE}/facts"}

"""The JSON of the web: figure for figure what the commands print, with the keys of the page."""

from __future__ import annotations

import json
import re
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, get_args

import jsonschema
import pytest
from click.testing import CliRunner
from pydantic import BaseModel

from boughwright.usecases.day import open_day
from boughwright.usecases.drawing import drawing_of, drawing_shape
from boughwright.usecases.promises import promises_of, promises_shape
from boughwright.usecases.session import session_of, session_shape
from boughwright.usecases.stock import stock_of, stock_shape
from boughwright.usecases.sureness import sureness_of, sureness_shape
from boughwright.web.api import models, models_bench, models_pictures

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fastapi.testclient import TestClient

    from boughwright.usecases.day import GardenDay

DOC = Path(__file__).parents[2] / "docs" / "json-shapes.md"

SAME = [
    (["call-up"], "/call-up"),
    (["call-up", "--hours", "2"], "/call-up?hours=2"),
    (["call-up", "--hours", "0"], "/call-up?hours=0"),
    (["call-up", "--days", "21"], "/call-up?days=21"),
    (["call-up", "--on", "2027-01-15"], "/call-up?on=2027-01-15"),
    (["wire"], "/wire"),
    (["wire", "--tree", "tile trident"], "/wire?tree=tile trident"),
    (["wire", "--on", "2020-01-01"], "/wire?on=2020-01-01"),
    (["stages"], "/stages"),
    (["stages", "--on", "2026-10-20"], "/stages?on=2026-10-20"),
    (["records", "ditch field maple"], "/records?tree=ditch field maple"),
    (["records", "ditch field maple", "4R"], "/records?tree=ditch field maple&branch=4R"),
    (["records", "river maple", "--facts"], "/records?tree=river maple&facts=true"),
    (["doubts"], "/doubts"),
    (["may-i", "ditch field maple", "2R cut to pair 1"],
     "/may-i?tree=ditch field maple&phrase=2R cut to pair 1"),
    (["may-i", "ditch field maple", "repot hard"],
     "/may-i?tree=ditch field maple&phrase=repot hard"),
    (["may-i", "tall beech", "leaf full"], "/may-i?tree=tall beech&phrase=leaf full"),
    (["may-i", "ditch field maple", "1L wire on 2 al", "--day", "2026-07-15"],
     "/may-i?tree=ditch field maple&phrase=1L wire on 2 al&day=2026-07-15"),
    (["gauge", "ditch field maple", "1L"], "/gauge?tree=ditch field maple&place=1L"),
    (["gauge", "ditch field maple", "2R", "--metal", "cu", "--bend", "gentle"],
     "/gauge?tree=ditch field maple&place=2R&metal=cu&bend=gentle"),
    (["gauge", "gate hornbeam", "1R", "--bend", "strong", "--lowering"],
     "/gauge?tree=gate hornbeam&place=1R&bend=strong&lowering=true"),
    (["species", "japanese maple"], "/species?name=japanese maple"),
    (["species", "Fagus sylvatica"], "/species?name=Fagus sylvatica"),
    (["sheet", "ditch field maple", "--on", "2027-04-20"],
     "/trees/ditch field maple/sheet?on=2027-04-20"),
]  # fmt: skip
"""Each command that reads, and the address that gives the same."""


def asked(client: TestClient, address: str) -> Any:
    """Return the answer at an address below /api."""
    answer = client.get(f"/api{address}")
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == "application/json"
    return answer.json()


def printed(book: Path, words: list[str]) -> Any:
    """Return what a command prints as JSON."""
    command = import_module(f"boughwright.cli.{words[0].replace('-', '_')}").command
    done = CliRunner().invoke(command, [*words[1:], "--json"], obj=str(book))
    assert done.exit_code == 0, (words, done.output, done.exception)
    return json.loads(done.stdout)


@pytest.fixture(scope="module")
def garden(demo_book: Path) -> GardenDay:
    """Return the demonstration garden on its own day, worked out afresh."""
    return open_day(demo_book)


# --- figures --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("words", "address"), SAME, ids=[address for _, address in SAME])
def test_an_address_gives_what_the_command_prints(
    reader: TestClient, demo_book: Path, words: list[str], address: str
) -> None:
    assert asked(reader, address) == printed(demo_book, words)


def test_every_command_that_reads_has_an_address() -> None:
    """Every command that prints a shape and writes nothing stands in the table above."""
    from boughwright.cli import COMMANDS

    writing = {"say", "withdraw", "load", "save", "load-weather", "backup", "restore"}
    starting = {"demo", "serve"}
    assert {words[0] for words, _ in SAME} == set(COMMANDS) - writing - starting


def test_every_sheet_is_that_of_the_command(reader: TestClient, demo_book: Path) -> None:
    trees = asked(reader, "/trees")["trees"]
    assert len(trees) >= 10
    for tree in trees:
        told = asked(reader, f"/trees/{tree['tree']}/sheet")
        assert told == printed(demo_book, ["sheet", tree["name"]])
        assert told["tree"] == {"id": tree["tree"], "name": tree["name"]}


def test_tasks_at_the_bench_give_what_the_python_calls_give(
    reader: TestClient, garden: GardenDay
) -> None:
    assert asked(reader, "/promises") == promises_shape(promises_of(garden))
    assert asked(reader, "/stock") == stock_shape(stock_of(garden))
    assert asked(reader, "/sureness") == json.loads(json.dumps(sureness_shape(sureness_of(garden))))
    for day in garden.trees:
        key = day.facts.tree
        told = asked(reader, f"/session/{key}")
        assert told == json.loads(json.dumps(session_shape(session_of(garden, key))))
        drawn = json.loads(json.dumps(drawing_shape(drawing_of(day))))
        assert asked(reader, f"/trees/{key}/drawing") == drawn


def test_the_list_of_trees_agrees_with_sheets_and_jobs(
    reader: TestClient, garden: GardenDay
) -> None:
    whole = asked(reader, "/trees")
    trees = whole["trees"]
    assert {t["tree"] for t in trees} == {day.facts.tree for day in garden.trees}
    assert len(trees) == whole["total"]
    assert sum(t["wants"] is None for t in trees) == whole["alone"]
    for tree in trees:
        sheet = asked(reader, f"/trees/{tree['tree']}/sheet")
        assert tree["branches"] == len(sheet["branches"])
        keys = ("species", "stage", "vigour", "phase")
        assert [tree[k] for k in keys] == [sheet[k] for k in keys]
        jobs = garden.tree(tree["tree"]).call.jobs
        told = [(j.act, j.places, j.latest.isoformat() if j.latest else None) for j in jobs]
        if tree["wants"] is not None:
            assert (tree["wants"], tree["where"], tree["by"]) in told
    found = asked(reader, "/trees?find=hornbeam")
    assert found["trees"] == [t for t in trees if "Carpinus" in t["species"]]
    assert (found["total"], found["alone"]) == (whole["total"], whole["alone"])


def test_a_branch_by_key_or_name_is_the_line_of_its_sheet(
    reader: TestClient, garden: GardenDay
) -> None:
    for day in garden.trees:
        key, rows = day.facts.tree, day.tree.branches
        lines = {b["name"]: b for b in asked(reader, f"/trees/{key}/sheet")["branches"]}
        for name, line in list(lines.items())[:4]:
            row = rows.names.index(name)
            told = asked(reader, f"/trees/{key}/branches/{rows.ids[row]}")
            assert told == asked(reader, f"/trees/{key}/branches/{name}")
            assert {k: told[k] for k in line} == line
            assert (told["id"], told["order"]) == (rows.ids[row], int(rows.order[row]))
            above = int(rows.parent[row])
            assert told["parent"] == (rows.ids[above] if above >= 0 else None)


def test_measurements_are_the_readings_on_record(reader: TestClient, garden: GardenDay) -> None:
    """The base on the sheet is the last base in the list; each reading names a record."""
    day = garden.tree("ditch field maple")
    told = asked(reader, "/measurements?tree=ditch field maple")["measurements"]
    assert len(told) == len(day.tree.measures)
    assert [one["on"] for one in told] == sorted(one["on"] for one in told)
    records = asked(reader, "/records?tree=ditch field maple&facts=true")["records"]
    assert {one["record"] for one in told} <= {r["id"] for r in records}
    own = asked(reader, "/measurements?tree=ditch field maple&branch=4R")["measurements"]
    assert own == [one for one in told if one["place"] == "4R"]
    assert {one["unit"] for one in own} == {"mm"}
    sheet = asked(reader, "/trees/ditch-field-maple/sheet")["branches"]
    base = next(b["base_mm"] for b in sheet if b["name"] == "4R")
    assert [one["value"] for one in own if one["what"] == "base"][-1] == pytest.approx(base)


def test_one_tree_alone_is_the_part_of_the_whole(reader: TestClient) -> None:
    whole = asked(reader, "/promises")
    for tree in asked(reader, "/trees")["trees"]:
        alone = asked(reader, f"/promises?tree={tree['tree']}")
        for part in ("now", "soon", "waiting"):
            assert alone[part] == [p for p in whole[part] if p["tree"] == tree["tree"]]
    doubt = asked(reader, "/sureness?tree=gate hornbeam")["trees"]
    assert [one["name"].casefold() for one in doubt] == ["gate hornbeam"]


# --- keys -----------------------------------------------------------------------------------------


def shapes() -> dict[str, type[BaseModel]]:
    """Return the model of each whole answer, by the name of its shape."""
    found = {}
    for module in (models, models_bench, models_pictures):
        for model in vars(module).values():
            if isinstance(model, type) and issubclass(model, BaseModel):
                field = model.model_fields.get("shape")
                if field is not None:
                    found[get_args(field.annotation)[0].removeprefix("boughwright/")] = model
    return found


def documented() -> dict[str, set[str]]:
    """Return the keys of every shape and part of the page; a link stands for the part linked."""
    parts: dict[str, set[str]] = {}
    here: set[str] = set()
    for line in DOC.read_text("utf-8").split("\n"):
        if head := re.fullmatch(r"#{2,3} .*", line):
            name = re.fullmatch(r"### part: (\S+)|## boughwright/(\S+), version 1", head[0])
            here = parts.setdefault(name[1] or name[2], set()) if name else set()
        elif told := re.match(r"`boughwright/(\S+)`, version 1", line):
            parts[told[1]] = here
        elif row := re.fullmatch(r"\| `([^`]+)` \| (.+?) \| ?(.*?) ?\|", line):
            link = re.search(r"\(#part-([\w-]+)\)", row[2])
            here |= {f"{row[1]}.{key}" for key in parts[link[1]]} if link else {row[1]}
    # A head over keys that are listed themselves, as a scale that may be null.
    return {n: {k for k in keys if not any(o.startswith(f"{k}.") for o in keys)}
            for n, keys in parts.items()}  # fmt: skip


def leaves(schema: dict[str, Any], top: dict[str, Any], path: str = "") -> Iterator[str]:
    """Yield the path of every value that a schema has, as the page writes it."""
    if "$ref" in schema:
        schema = top["$defs"][schema["$ref"].rpartition("/")[2]]
    kinds = [s for s in schema.get("anyOf", ()) if s.get("type") != "null"]
    if len(kinds) == 1:
        yield from leaves(kinds[0], top, path)
    elif "properties" in schema:
        for key, inner in schema["properties"].items():
            yield from leaves(inner, top, f"{path}.{key}" if path else key)
    elif schema.get("type") == "object":
        yield from leaves(schema["additionalProperties"], top, f"{path}.*")
    elif schema.get("type") == "array":
        yield from leaves(schema.get("items") or {}, top, f"{path}[]")
    else:
        yield path


@pytest.mark.parametrize("name", sorted(shapes()))
def test_a_model_has_just_the_keys_of_the_page(name: str) -> None:
    schema = shapes()[name].model_json_schema(by_alias=True)
    assert set(leaves(schema, schema)) == documented()[name]


@pytest.mark.parametrize("name", sorted(shapes()))
def test_every_key_of_a_model_is_always_there(name: str) -> None:
    schema = shapes()[name].model_json_schema(by_alias=True)
    for part in (schema, *schema.get("$defs", {}).values()):
        if "properties" in part:
            assert set(part["required"]) == set(part["properties"])


ELSEWHEN = ("2020-02-29", "2026-01-15", "2026-04-25", "2026-07-20", "2026-10-20", "2031-06-09")
"""Days on which answers have other holes: before most trees came, at rest, in leaf, years on."""


@pytest.mark.parametrize("on", ELSEWHEN)
def test_answers_of_other_days_fit_their_schemas(reader: TestClient, on: str) -> None:
    document = reader.get("/api/openapi.json").json()
    checked = {"/call-up", "/trees", "/wire", "/stages", "/promises", "/stock", "/sureness"}
    for tree in asked(reader, f"/trees?on={on}")["trees"]:
        key = tree["tree"]
        checked |= {f"/trees/{key}/sheet", f"/trees/{key}/drawing", f"/session/{key}"}
    by_shape = {f"boughwright/{name}": model.__name__ for name, model in shapes().items()}
    for address in sorted(checked):
        told = asked(reader, f"{address}?on={on}")
        schema = {"$ref": f"#/components/schemas/{by_shape[told['shape']]}"}
        jsonschema.validate(told, schema | {"components": document["components"]})


# --- the document ---------------------------------------------------------------------------------


def test_the_document_names_every_answer_and_refusal(reader: TestClient) -> None:
    document = reader.get("/api/openapi.json").json()
    assert document["openapi"].startswith("3.1")
    for path, methods in document["paths"].items():
        for method, told in methods.items():
            assert told["description"], (method, path)
            answers = told["responses"]
            good = [status for status in answers if status.startswith("2")]
            assert len(good) == 1, path
            schema = answers[good[0]]["content"]["application/json"]["schema"]
            model = document["components"]["schemas"][schema["$ref"].rpartition("/")[2]]
            assert re.fullmatch(r"boughwright/[a-z-]+", model["properties"]["shape"]["const"])
            assert model["properties"]["version"]["const"] == 1
            for status in ("400", "401", "403", "404", "413", "422", "429", "503"):
                told_schema = answers[status]["content"]["application/json"]["schema"]
                assert told_schema == {"$ref": "#/components/schemas/Refusal"}, (path, status)


def test_the_page_of_addresses_lists_each_of_them(reader: TestClient) -> None:
    page = (DOC.parent / "web-api.md").read_text("utf-8")
    listed = set(re.findall(r"`((?:GET|POST) /api/[^`?]*)", page))
    document = reader.get("/api/openapi.json").json()
    there = {f"{method.upper()} {path}" for path, of in document["paths"].items() for method in of}
    assert listed == there | {"GET /api/openapi.json"}


# --- refusals -------------------------------------------------------------------------------------

REFUSED = [
    ("/call-up?hours=113", 422, "not-understood", "hours"),
    ("/call-up?hours=nan", 422, "not-understood", "hours"),
    ("/call-up?days=0", 422, "not-understood", "days"),
    ("/call-up?on=2026-02-30", 422, "not-understood", "on"),
    ("/call-up?on=1699-12-31", 422, "not-understood", "on"),
    ("/call-up?on=20260609", 422, "not-understood", "on"),
    ("/call-up?on=1780963200", 422, "not-understood", "on"),
    ("/wire?tree=no such tree", 404, "unknown-name", ""),
    ("/wire?tree=maple", 422, "two-fit", ""),
    ("/trees/nothing/sheet", 404, "unknown-name", ""),
    ("/trees/ditch-field-maple/branches/99Z", 404, "unknown-name", ""),
    ("/may-i?tree=tall beech", 422, "not-understood", "phrase"),
    ("/may-i?tree=tall beech&phrase=hello", 422, "not-understood", ""),
    ("/gauge?tree=tall beech&place=1L&bend=wild", 422, "not-understood", "bend"),
    ("/species?name=nosuch", 404, "unknown-name", ""),
    ("/form/nosuch", 404, "unknown-name", ""),
    ("/nothing", 404, "missing", ""),
]


@pytest.mark.parametrize(("address", "status", "slug", "where"), REFUSED)
def test_a_refusal_says_what_is_wrong_and_where(
    reader: TestClient, address: str, status: int, slug: str, where: str
) -> None:
    answer = reader.get(f"/api{address}")
    assert answer.status_code == status, answer.text
    error = answer.json()["error"]
    assert set(error) == {"slug", "what", "where", "allowed", "todo"}
    assert (error["slug"], error["todo"] != "") == (slug, True)
    if where:
        assert error["where"] == where

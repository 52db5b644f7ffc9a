"""JSON of every command: it parses, agrees with Python and with the text, and is documented."""

from __future__ import annotations

import json
import re
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from cli_running import READING, shown

from boughwright.cli import COMMANDS
from boughwright.journal.terms import Bend, Metal
from boughwright.sources import all_sources
from boughwright.usecases.call_up import call_up_for, call_up_shape
from boughwright.usecases.doubts import doubts, doubts_shape
from boughwright.usecases.gauge import gauge_for, gauge_shape
from boughwright.usecases.may_i import ask, ask_shape
from boughwright.usecases.records import records, records_shape
from boughwright.usecases.sheet import sheet, sheet_shape
from boughwright.usecases.species import species_shape, species_values
from boughwright.usecases.stages import stage_shape, stage_strip
from boughwright.usecases.wires import all_wire, all_wire_shape

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

DOC = Path(__file__).parents[2] / "docs" / "json-shapes.md"

ON = date(2027, 1, 15)

CALLS: dict[str, tuple[list[str], Callable[[Path], Any]]] = {
    "call-up": (["call-up"], lambda b: call_up_shape(call_up_for(b))),
    "call-up in winter": (
        ["call-up", "--on", ON.isoformat(), "--hours", "3", "--days", "14"],
        lambda b: call_up_shape(call_up_for(b, on=ON, hours=3, days=14)),
    ),
    "sheet": (["sheet", "gate hornbeam"], lambda b: sheet_shape(sheet(b, "gate hornbeam"))),
    "wire": (["wire"], lambda b: all_wire_shape(all_wire(b))),
    "stages": (["stages"], lambda b: stage_shape(stage_strip(b))),
    "records": (["records", "tile trident"], lambda b: records_shape(records(b, "tile trident"))),
    "doubts": (["doubts"], lambda b: doubts_shape(doubts(b))),
    "gauge": (
        ["gauge", "ditch field maple", "1L", "--bend", "strong", "--metal", "cu", "--lowering"],
        lambda b: gauge_shape(
            gauge_for(
                b, "ditch field maple", "1L", bend=Bend.STRONG, metal=Metal.COPPER, lowering=True
            )
        ),
    ),
    "species": (
        ["species", "field maple"],
        lambda _: species_shape(*species_values("field maple")),
    ),
    "may-i": (
        ["may-i", "ditch field maple", "repot hard"],
        lambda b: ask_shape(ask(b, "ditch field maple", "repot hard")),
    ),
}


def answer(book: Path, *words: str) -> dict[str, Any]:
    """Return a command's JSON."""
    told = json.loads(shown(book, *words, "--json"))
    assert isinstance(told, dict)
    return told


@pytest.mark.parametrize("name", CALLS)
def test_the_command_and_the_python_call_agree(name: str, demo_book: Path) -> None:
    words, call = CALLS[name]
    assert answer(demo_book, *words) == json.loads(json.dumps(call(demo_book)))


@pytest.mark.parametrize("name", READING)
def test_units_do_not_change_json_and_its_head_names_the_shape(name: str, demo_book: Path) -> None:
    words = READING[name]
    told = answer(demo_book, *words)
    assert told["shape"] == f"boughwright/{words[0]}"
    assert told["version"] == 1
    if words[0] != "records":  # its words are a screen's words, in the screen's unit
        assert told == answer(demo_book, *words, "--units", "in")


def _days(earliest: str | None, latest: str | None, today: str) -> str:
    """Say a window of days as the screens do, from JSON alone."""
    opens = earliest if earliest and earliest > today else None
    if opens:
        return f"{_day(opens)} to {_day(latest)}" if latest else f"from {_day(opens)}"
    if not latest:
        return "no hurry"
    return "today" if latest <= today else f"by {_day(latest)}"


def _day(iso: str) -> str:
    day = date.fromisoformat(iso)
    months = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
    week = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
    return f"{week[day.weekday()]} {day.day} {months[day.month - 1]}"


def _time(value: float) -> str:
    """Say minutes as the screens do: from ten on to the nearest five."""
    whole = max(1, round(value)) if value < 10 else 5 * round(value / 5)
    hours, rest = divmod(whole, 60)
    return f"{rest} min" if not hours else f"{hours} h {rest:02d}" if rest else f"{hours} h"


def test_the_call_up_text_has_the_days_and_minutes_of_its_json(demo_book: Path) -> None:
    told = answer(demo_book, "call-up")
    text = " ".join(shown(demo_book, "call-up").split())
    planned, hours = _time(60 * told["hours_planned"]), _time(60 * told["hours"])
    assert f"{planned} of your {hours}" in text
    bench = 0
    for tree in told["trees"]:
        for job in tree["jobs"]:
            when = _days(job["earliest"], job["latest"], told["on"])
            if job["act"] == "feed" or (job["act"] == "protect" and job["latest"]):
                assert tree["name"] in text
                assert when == "no hurry" or f"({when})" in text
                continue
            bench += 1
            whole = f"{job['act']}: {job['places']} ({when}, {_time(job['minutes'])}"
            assert whole in text
    assert bench > 20
    for tree in told["later"]:
        for job in tree["jobs"]:
            when = _days(job["earliest"], job["latest"], told["on"])
            assert f"{tree['name']}, {job['act']}: {job['places']} ({when})" in text


def test_slips_in_text_are_those_of_json(demo_book: Path) -> None:
    told = answer(demo_book, "call-up", "--hours", "2")
    text = shown(demo_book, "call-up", "--hours", "2")
    assert told["slips"]
    assert told["over_hours"] > 0
    assert f"{_time(60 * told['over_hours'])} over your hours" in " ".join(text.split())
    table = text.partition("What slips:")[2].partition("\n\n\n")[0]
    for slip in told["slips"]:
        assert slip["name"].split()[0] in table
        assert slip["to"] is None or _day(slip["to"]) in table


@pytest.mark.parametrize("tree", ["ditch field maple", "gate hornbeam", "river maple"])
def test_the_sheet_text_has_the_windows_of_its_json(tree: str, demo_book: Path) -> None:
    told = answer(demo_book, "sheet", tree)
    text = " ".join(shown(demo_book, "sheet", tree, "--all").split())
    assert len(told["branches"]) > 20
    for branch in told["branches"]:
        verdict = branch["verdict"]
        when = _days(verdict["earliest"], verdict["latest"], told["on"])
        assert re.search(
            rf"(?<!\S){re.escape(branch['name'])}: {verdict['act']}[^()]*(?:\([^()]*\)[^()]*)*"
            rf"\({re.escape(when)}, {verdict['sureness']}\)",
            text,
        ), branch["name"]


def test_the_wire_text_has_the_days_of_its_json(demo_book: Path) -> None:
    told = answer(demo_book, "wire")
    rows: list[list[str]] = []
    for line in shown(demo_book, "wire").split("\n\n")[1].split("\n")[2:]:
        if re.search(r"(?:%|\?)$", line):  # the last column stands on a row's first line only
            rows.append([line[:23].strip(), line[42:52].strip(), line[54:64].strip()])
        else:
            rows[-1][0] += f" {line[:23].strip()}"
    shown_wires = {}
    for names, look_by, off_by in rows:
        tree, _, places = names.partition(": ")
        places, _, seen = places.partition("; grade ")
        for place in places.split(", "):
            shown_wires[tree, place] = (look_by, off_by, seen.removesuffix(" seen"))
    expected = {}
    for wire in told["wires"]:
        seen = wire["seen_grade"]
        due = (seen or 0) >= 3 or (wire["off_by"] or "9999") <= told["on"]
        off_by = "now" if due else _day(wire["off_by"]) if wire["off_by"] else "-"
        look_by = _day(wire["look_by"]) if wire["look_by"] else "-"
        expected[wire["tree"], wire["place"]] = (
            look_by,
            off_by,
            "" if seen is None else str(seen),
        )
    assert len(expected) > 20
    assert shown_wires == expected


def test_every_source_in_an_answer_is_listed(demo_book: Path) -> None:
    named = {
        reason["source"]
        for tree in {tree["name"] for tree in answer(demo_book, "call-up")["trees"]}
        for verdict in _verdicts(answer(demo_book, "sheet", tree))
        for reason in verdict["reasons"]
    }
    assert len(named) >= 3
    assert named <= set(all_sources())


def _verdicts(told: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield from told["whole"]
    for branch in told["branches"]:
        yield branch["verdict"]


# --- the page that lists the shapes ---------------------------------------------------------------


def _documented() -> dict[str, tuple[int, dict[str, str]]]:
    """Return shapes by name, each with its version and its keys with their units."""
    parts: dict[str, dict[str, str]] = {}
    shapes: dict[str, tuple[int, dict[str, str]]] = {}
    here: dict[str, str] = {}
    for line in DOC.read_text("utf-8").split("\n"):
        if part := re.fullmatch(r"### part: (\S+)", line):
            here = parts.setdefault(part[1], {})
        elif shape := re.fullmatch(r"## (boughwright/\S+), version (\d+)", line):
            here = {}
            shapes[shape[1]] = (int(shape[2]), here)
        elif row := re.fullmatch(r"\| `([^`]+)` \| (.+?) \| ?(.*?) ?\|", line):
            link = re.search(r"\(#part-([\w-]+)\)", row[2])
            if link is None:
                here[row[1]] = row[3].strip()
            else:
                for key, unit in parts[link[1]].items():
                    here[f"{row[1]}.{key}"] = unit
    return shapes


def _keys(value: object, path: str = "") -> Iterator[str]:
    """Yield the path of every node of an answer."""
    if path:
        yield path
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _keys(inner, f"{path}.{key}" if path else key)
    elif isinstance(value, list):
        for inner in value:
            yield from _keys(inner, f"{path}[]")


def _above(path: str) -> Iterator[str]:
    """Yield a path and every path it stands in: ``a[].b``, ``a[]``, ``a``."""
    while path:
        yield path
        path = path[:-2] if path.endswith("[]") else path.rpartition(".")[0]


def _fits(path: str, pattern: str) -> bool:
    return re.fullmatch(re.escape(pattern).replace(r"\*", "[^.]+"), path) is not None


@pytest.fixture(scope="module")
def printed(demo_book: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, set[str]]:
    """Return the keys that the commands print, by shape, over runs that leave no list empty."""
    scratch = tmp_path_factory.mktemp("shapes")
    book, folder, copy = scratch / "own.book", scratch / "saved", scratch / "copy.book"
    bad_weather = scratch / "bad.csv"
    bad_weather.write_text("date,t_min_c,t_max_c,colour\n2026-06-01,1,61\n2026-06-02,1,9\n")
    bad_folder = scratch / "bad"
    bad_folder.mkdir()
    (bad_folder / "trees.csv").write_text("name,species\nOne,Acer campestre\nTwo,no such kind\n")
    runs = [
        ["demo"],
        *READING.values(),
        ["call-up", "--hours", "0", "--days", "1", "--on", "2026-12-20"],
        *(["sheet", name] for name in ("gate hornbeam", "market zelkova")),
        ["save", str(folder)],
        ["load", str(folder)],
        ["load", str(bad_folder)],
        ["load-weather", "elsewhere", str(bad_weather)],
        ["backup", str(copy)],
        ["restore", str(copy), "--force"],
        ["say", "--tree", "ditch field maple", "2R wire on 2 al; fnord"],
        ["say", "--tree", "ditch field maple", "undo"],
        ["say", "--tree", "fan maple", "--on", "2015-05-01", "feed full"],  # before it came
        ["sheet", "fan maple"],
    ]
    found: dict[str, set[str]] = {}
    for words in runs:
        told = answer(book, *words)
        found.setdefault(told["shape"], set()).update(_keys(told))
    record = answer(book, "records", "fan maple")["records"][-1]["id"]
    told = answer(book, "withdraw", "fan maple", record)
    found[told["shape"]] = set(_keys(told))
    return found


def test_the_page_lists_every_shape_and_version(printed: dict[str, set[str]]) -> None:
    shapes = _documented()
    assert set(shapes) == set(printed)
    assert {version for version, _ in shapes.values()} == {1}
    assert {f"boughwright/{name}" for name in COMMANDS} - set(shapes) == {
        "boughwright/demo",
        "boughwright/serve",
    }


@pytest.mark.parametrize("shape", sorted(_documented()))
def test_the_page_lists_every_key_that_is_printed(shape: str, printed: dict[str, set[str]]) -> None:
    listed = {above for key in _documented()[shape][1] for above in _above(key)}
    unlisted = {p for p in printed[shape] if not any(_fits(p, key) for key in listed)}
    inside = {p for p in unlisted if any(_fits(a, "events[].body.*") for a in _above(p))}
    assert unlisted - inside == set()


@pytest.mark.parametrize("shape", sorted(_documented()))
def test_every_key_of_the_page_is_printed(shape: str, printed: dict[str, set[str]]) -> None:
    """A key of a shared part may be printed in any place that the part stands in."""
    keys = _documented()[shape][1]
    seen = {key for key in keys if any(_fits(p, key) for p in printed[shape])}
    ends = {key.rpartition("[].")[2] for key in seen}
    unseen = {key for key in set(keys) - seen if key.rpartition("[].")[2] not in ends}
    assert unseen == set()


def test_units_on_the_page_are_those_of_the_names() -> None:
    for _, keys in _documented().values():
        for key, unit in keys.items():
            if re.search(r"_mm(?:\[\])?$", key):
                assert unit == "mm", key
            if key.endswith("_cd"):
                assert unit == "°C d", key
            if key.rpartition(".")[2] in {"minutes", "setup_minutes"}:
                assert unit == "min", key


def test_days_are_said_as_on_a_screen() -> None:
    # 12 June 2026 is a Friday, 22 June a Monday.
    assert _days(None, "2026-06-12", "2026-06-09") == "by Fri 12 Jun"
    assert _days("2026-06-22", None, "2026-06-09") == "from Mon 22 Jun"
    assert _day((date(2026, 6, 12) + timedelta(days=10)).isoformat()) == "Mon 22 Jun"
    assert (_time(72), _time(60), _time(4.4), _time(12)) == ("1 h 10", "1 h", "4 min", "10 min")

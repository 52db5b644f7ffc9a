"""The same garden in the other half of the world, in other units, and out to tables and back."""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from grower_garden import STATION, TODAY, Grower, by_name, copy_book, empty_book, weather_file

from boughwright.demo.weather import WEIR_LANE, rows
from boughwright.journal.events import Event, PlaceSet
from boughwright.store.book import Book
from boughwright.store.reader import Reader
from boughwright.usecases.call_up import call_up_for, call_up_shape
from boughwright.usecases.day import open_day
from boughwright.usecases.folder import load, save
from boughwright.usecases.sheet import sheet, sheet_shape
from boughwright.usecases.stages import stage_strip
from boughwright.usecases.weather import load_weather

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from boughwright.usecases.day import GardenDay
    from boughwright.usecases.shapes import Json
    from boughwright.verdicts.verdict import Act

SHIFT = timedelta(days=182)
"""By which calendar rules turn from one half of the world to the other: 1 October to 1 April."""

Acts = dict[tuple[str, str], "Act"]


def acts(garden: GardenDay) -> Acts:
    """Return the act of every branch of every tree."""
    found = {}
    for day in garden.trees:
        names = {branch.row: branch.name for branch in day.branches}
        found |= {(day.facts.name, names[one.row]): one.act for one in day.verdicts}
    return found


def whole_acts(garden: GardenDay) -> dict[str, list[Act]]:
    return {day.facts.name: [one.act for one in day.whole] for day in garden.trees}


# --- the other half of the world ----------------------------------------------------------------


def _shifted(value: Any) -> Any:
    return value + SHIFT if isinstance(value, date) else value


def _mirrored(event: Event) -> Event:
    """Return an event half a year later, and its place as far south as it lay north."""
    body = event.body
    fields = getattr(body, "fields", None)
    if fields is not None:
        told = {name: _shifted(value) for name, value in fields.items()}
        if isinstance(body, PlaceSet) and told.get("latitude"):
            told["latitude"] = -told["latitude"]
        body = replace(body, fields=told)
    else:
        dates = {n: _shifted(getattr(body, n)) for n in ("until", "due") if hasattr(body, n)}
        body = replace(body, **dates) if dates else body
    return replace(event, body=body, on=event.on + SHIFT, recorded=event.recorded + SHIFT)


def _later(lines: list[str]) -> Iterator[str]:
    yield lines[0]
    for line in lines[1:]:
        yield f"{date.fromisoformat(line[:10]) + SHIFT}{line[10:]}"


def _south_of(north: Path, path: Path, lines: list[str], station: str) -> Path:
    """Write the mirrored garden: every event and every day of weather half a year later."""
    with Reader.open(north) as reader:
        events = reader.events()
    file = weather_file(path.with_suffix(".csv"), list(_later(lines)))
    load_weather(path, station, file, on_bad="refuse", today=TODAY + SHIFT)
    with Book.open(path) as book:
        book.append([_mirrored(event) for event in events])
    return path


def _hold_against(north: GardenDay, south: GardenDay) -> None:
    assert acts(north) == acts(south)
    assert whole_acts(north) == whole_acts(south)
    for mine, theirs in zip(north.trees, south.trees, strict=True):
        assert (mine.calendar.season, theirs.calendar.season) == ("2026", "2026/27")
        assert not mine.calendar.south
        assert theirs.calendar.south
        assert mine.calendar.stage is theirs.calendar.stage
        assert set(mine.calendar.starts) == set(theirs.calendar.starts)
        pairs = [(mine.calendar.leaf_out.likely, theirs.calendar.leaf_out.likely, 1)]
        pairs += [
            (when.likely, theirs.calendar.starts[stage].likely, 3)
            for stage, when in mine.calendar.starts.items()
        ]
        pairs += [
            (one.off_by, other.off_by, 3)
            for one, other in zip(mine.windows, theirs.windows, strict=True)
        ]
        for one, other, most in pairs:
            assert (one is None) == (other is None)
            if one is not None and other is not None:
                assert abs((other - one - SHIFT).days) <= most, (mine.facts.name, one, other)


def test_the_demonstration_mirrored_south_has_the_same_verdicts_half_a_year_apart(
    demo_book: Path, tmp_path: Path
) -> None:
    """Its northern ten trees: the two at the southern loan bench are left out of both."""
    northern = tmp_path / "north.book"
    copy_book(demo_book, northern)
    with Reader.open(northern) as reader:
        events = reader.events()
    away = {e.tree for e in events
            if "valdivia" in str(getattr(e.body, "fields", {}).get("place", ""))}  # fmt: skip
    assert len(away) == 2
    path = tmp_path / "home.book"
    lines = list(rows(WEIR_LANE))
    load_weather(path, "weir-lane", weather_file(tmp_path / "home.csv", lines), today=TODAY)
    with Book.open(path) as book:
        book.append([e for e in events if e.tree not in away and not _of_place(e, "valdivia")])
    north = open_day(path, on=TODAY)
    south_path = _south_of(path, tmp_path / "south.book", lines, "weir-lane")
    south = open_day(south_path, on=TODAY + SHIFT)
    assert len(north.trees) == 10
    assert len(acts(north)) > 400
    _hold_against(north, south)
    one, other = (
        call_up_for(path, on=day, hours=13.0).call
        for path, day in ((path, TODAY), (south_path, TODAY + SHIFT))
    )
    assert [(t.name, [j.act for j in t.jobs]) for t in one.now] == [
        (t.name, [j.act for j in t.jobs]) for t in other.now
    ]


def _of_place(event: Event, place: str) -> bool:
    return getattr(event.body, "place", "") == place


def _two_trees(grower: Grower) -> None:
    for name, species in (("maple", "Acer palmatum"), ("beech", "Fagus sylvatica")):
        grower.plant(
            name, species,
            {"1L": {"height_mm": 60.0, "trunk": 40.0, "base": 11.0},
             "2R": {"height_mm": 240.0, "trunk": 30.0, "base": 9.2, "node": 30.0, "room": 80.0,
                    "bud_inside": True},
             "3L": {"height_mm": 380.0, "trunk": 20.0, "base": 5.2}},
            read_on=date(2026, 5, 20), phase="ramification", height_mm=440.0,
        )  # fmt: skip
        grower.say("strong", date(2026, 5, 20), name)
        grower.say("3L wire on 1.5 al", date(2025, 11, 9), name)


@pytest.mark.parametrize("latitude", [25.0, 41.0, 52.0, 60.0])
def test_any_latitude_from_25_to_60_has_its_mirror(
    tmp_path: Path, calm: list[str], latitude: float
) -> None:
    north = Grower(empty_book(tmp_path / "north.book", tmp_path, calm, latitude=latitude))
    _two_trees(north)
    south = _south_of(north.path, tmp_path / "south.book", calm, STATION)
    _hold_against(open_day(north.path, on=TODAY), open_day(south, on=TODAY + SHIFT))


def test_both_halves_are_named_in_their_own_way(demo_book: Path) -> None:
    seasons = {line.tree: line.calendar.season for line in stage_strip(demo_book).lines}
    assert seasons["Ditch field maple"] == "2026"
    assert seasons["River maple"] == "2025/26"  # 9 June lies before 1 July


# --- inches -------------------------------------------------------------------------------------


def _to_inches(folder: Path) -> int:
    """Rewrite every table of a folder in inches; return how many cells were lengths."""
    changed = 0
    for file in folder.glob("*.csv"):
        with file.open(encoding="utf-8", newline="") as text:
            reader = csv.DictReader(text)
            heads, lines = list(reader.fieldnames or []), list(reader)
        lengths = [head for head in heads if head.endswith("_mm")]
        for line in lines:
            for head in lengths:
                if line[head] not in {"", "?"}:
                    line[head] = repr(float(line[head]) / 25.4)
                    changed += 1
            if line.get("unit") == "mm":
                for head in ("value", "earlier"):
                    if line.get(head):
                        line[head] = repr(float(line[head]) / 25.4)
                        changed += 1
                line["unit"] = "in"
        with file.open("w", encoding="utf-8", newline="") as text:
            writer = csv.writer(text)
            writer.writerow([h[:-3] + "_in" if h in lengths else h for h in heads])
            writer.writerows([line[head] for head in heads] for line in lines)
    return changed


def _tables_only(source: Path, folder: Path) -> Path:
    save(source, folder)
    (folder / "records.csv").unlink()
    return folder


def test_the_same_folder_in_inches_gives_the_same_verdicts(demo_book: Path, tmp_path: Path) -> None:
    days = []
    for unit in ("mm", "in"):
        folder = _tables_only(demo_book, tmp_path / unit)
        if unit == "in":
            assert _to_inches(folder) > 1000
        path = tmp_path / f"{unit}.book"
        load(path, folder, on_bad="refuse")
        days.append(open_day(path))
    mm, inch = days
    assert acts(mm) == acts(inch)
    assert whole_acts(mm) == whole_acts(inch)
    for one, other in zip(mm.trees, inch.trees, strict=True):
        for mine, theirs in zip(one.branches, other.branches, strict=True):
            assert theirs.base_mm == pytest.approx(mine.base_mm, abs=1e-9)
            assert theirs.room_mm == pytest.approx(mine.room_mm, abs=1e-9)


def test_a_phrase_in_inches_is_the_same_reading(
    grower: Grower, more_growers: Callable[[str], Grower]
) -> None:
    other = more_growers("inches")
    for one in (grower, other):
        _two_trees(one)
    grower.say("1L base 12.7", tree="maple")
    other.say("1L base 0.5 in", tree="maple")
    for name, (branch, verdict) in by_name(grower.tree_day("maple")).items():
        theirs, told = by_name(other.tree_day("maple"))[name]
        assert theirs.base_mm == branch.base_mm
        assert (told.act, told.reasons, told.flip) == (verdict.act, verdict.reasons, verdict.flip)


# --- out and back -------------------------------------------------------------------------------


def _everything(path: Path) -> list[dict[str, Json]]:
    trees = [day.facts.name for day in open_day(path).trees]
    return [call_up_shape(call_up_for(path)), *(sheet_shape(sheet(path, name)) for name in trees)]


def test_a_garden_goes_out_to_a_folder_and_into_an_empty_book_unchanged(
    demo_book: Path, tmp_path: Path
) -> None:
    folder, copy = tmp_path / "out", tmp_path / "copy.book"
    save(demo_book, folder)
    taken = load(copy, folder, on_bad="refuse")
    assert taken.new_events == len(taken.read.events) > 500
    assert taken.weather_days > 2000
    assert _everything(copy) == _everything(demo_book)
    # And once more: the second folder is the first, letter for letter.
    save(copy, tmp_path / "again")
    for file in sorted(folder.rglob("*.*")):
        assert (tmp_path / "again" / file.relative_to(folder)).read_bytes() == file.read_bytes()
    assert load(copy, folder, on_bad="refuse").new_events == 0


def test_with_the_readable_tables_alone_the_verdicts_are_the_same(
    demo_book: Path, tmp_path: Path
) -> None:
    copy = tmp_path / "copy.book"
    load(copy, _tables_only(demo_book, tmp_path / "out"), on_bad="refuse")
    before, after = open_day(demo_book), open_day(copy)
    assert acts(after) == acts(before)
    assert whole_acts(after) == whole_acts(before)
    one, other = (call_up_for(path).call for path in (demo_book, copy))
    assert [(t.name, t.harm, t.act_by) for t in one.now] == [
        (t.name, t.harm, t.act_by) for t in other.now
    ]

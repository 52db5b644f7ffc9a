"""All wire on all trees, one wire, and the strip: the same wires and days as the use case gives."""

from __future__ import annotations

import re
from datetime import date, timedelta
from html import unescape
from typing import TYPE_CHECKING

import pytest
from page_checks import (
    HOSTILE,
    assert_clean,
    first_sentence,
    in_german,
    read,
    rename,
    text_of,
)

from boughwright.journal.events import Saw, Worked
from boughwright.journal.phrases import parse
from boughwright.journal.terms import Sign, Work
from boughwright.usecases.wires import all_wire_of
from boughwright.verdicts.verdict import Act
from boughwright.web.pages.wire import Place, Row, grouped, looks, now, rows_of

if TYPE_CHECKING:
    from fastapi.testclient import TestClient

    from boughwright.usecases.day import GardenDay
    from boughwright.web.state import Bench

TODAY = date(2026, 6, 9)


def bench_of(client: TestClient) -> Bench:
    found: Bench = client.app.state.bench  # type: ignore[attr-defined]
    return found


@pytest.fixture
def garden(reader: TestClient) -> GardenDay:
    return bench_of(reader).day()


def rows_on(page: str) -> list[str]:
    return re.findall(r'<li class="wire-row">.*?</li>', page, re.S)


# --- the list -------------------------------------------------------------------------------------


def test_every_wire_stands_on_the_page_once_and_leads_to_its_branch(
    reader: TestClient, garden: GardenDay
) -> None:
    page = reader.get("/wire").text
    linked = re.findall(r'<p class="wire-places">(.*?)</p>', page, re.S)
    shown = [unescape(href) for places in linked for href in re.findall(r'href="([^"]+)"', places)]
    wanted = [
        f"/trees/{day.facts.tree}/branches/{day.tree.branches.ids[window.row]}"
        for day in garden.trees
        for window in day.windows
    ]
    assert len(all_wire_of(garden).lines) == len(wanted)
    assert sorted(shown) == sorted(wanted)
    assert_clean(page)


def test_the_first_sentence_counts_what_is_late_and_what_the_week_brings(
    reader: TestClient, garden: GardenDay
) -> None:
    # Late: bitten when last seen, or its off-by day (or the verdict's) is today or before.
    rows = rows_of(garden, all_wire_of(garden))
    late = sum(
        row.window.seen_grade >= 3 or (row.window.off_by is not None and row.window.off_by <= TODAY)
        for row in rows
    )
    week = [
        row for row in rows
        if row.act is Act.WIRE_OFF and row.by and TODAY < row.by <= TODAY + timedelta(days=7)
    ]  # fmt: skip
    assert late == 23
    said = first_sentence(reader.get("/wire").text)
    assert said == (
        f"{late} wires should be off: begin with {rows[0].places[0].name} of {rows[0].name}. "
        f"{len(week)} more come off by Tue 16 June."
    )


def test_bitten_wire_leads_then_the_day_it_must_be_off(garden: GardenDay) -> None:
    rows = rows_of(garden, all_wire_of(garden))
    keys = [(row.window.seen_grade < 3, row.by or date.max) for row in rows]
    assert keys == sorted(keys)
    assert rows[0].window.seen_grade == 3


def test_a_row_is_the_verdict_of_its_branch_never_later(garden: GardenDay) -> None:
    # The verdict may ask for it sooner than its sink does (4R: before the heat), never later.
    for row in rows_of(garden, all_wire_of(garden)):
        if row.act is Act.WIRE_OFF and row.window.off_by is not None:
            assert row.by is not None
            assert row.by <= row.window.off_by


def test_wires_that_read_alike_share_a_row_and_none_is_lost(garden: GardenDay) -> None:
    rows = rows_of(garden, all_wire_of(garden))
    groups = grouped(rows)
    assert len(groups) < len(rows)
    assert sum(len(group.places) for group in groups) == len(rows)
    for group in groups:
        alike = [r for r in rows if r.tree == group.tree and r.branches[0] in group.branches]
        assert {_shown(row) for row in alike} == {_shown(group)}


def _shown(row: Row) -> tuple[object, ...]:
    return row.window.off_by, row.window.look_by, row.wire.gauge_mm, row.act


def test_the_days_and_the_share_of_a_row_are_those_of_the_use_case(
    reader: TestClient, garden: GardenDay
) -> None:
    words = bench_of(reader).speaker()
    groups = grouped(rows_of(garden, all_wire_of(garden)))
    for row, shown in zip(groups, rows_on(reader.get("/wire").text), strict=True):
        told = text_of(shown)
        assert row.name in told
        assert words.length(row.wire.gauge_mm) in told
        if row.window.off_by is not None and not now(row, TODAY):
            assert words.day(row.window.off_by) in told
        if row.window.share_used[1] <= 1.0:
            assert f"{words.percent(row.window.share_used[1])} of what it may sink" in told
        else:
            assert f"{words.percent(row.window.allowed_sink)} of its gauge" in told


def test_one_tree_alone_and_a_tree_that_is_none(reader: TestClient, garden: GardenDay) -> None:
    page = reader.get("/wire", params={"tree": "hill-oak"}).text
    assert {
        text_of(name) for name in re.findall(r"<h2 class=.wire-name.>.*?</h2>", page, re.S)
    } == {"Hill oak"}
    assert len(all_wire_of(garden, "hill-oak").lines) == 2
    assert '<option value="hill-oak" selected>' in page
    assert first_sentence(page) == (
        "No wire has to come off before Tue 16 June; look next at 2R of Hill oak, by Mon 15 June."
    )
    assert reader.get("/wire", params={"tree": "no-such-tree"}).status_code == 404


def test_a_tree_without_wire_says_so_and_where_to_begin(reader: TestClient) -> None:
    page = reader.get("/wire", params={"tree": "tall-beech"}).text
    assert first_sentence(page) == "No wire is on."
    assert 'class="empty"' in page
    assert 'href="/say"' in page
    assert rows_on(page) == []


# --- one wire -------------------------------------------------------------------------------------


def test_every_row_leads_to_its_wire_and_what_is_written_there_parses_back(
    reader: TestClient, garden: GardenDay
) -> None:
    groups = grouped(rows_of(garden, all_wire_of(garden)))
    for group in groups:
        page = reader.get(group.href).text
        assert_clean(page)
        phrases = [unescape(text) for text in re.findall(r'name="text" value="([^"]*)"', page)]
        assert set(re.findall(r'name="tree" value="([^"]*)"', page)) == {group.tree}
        alone = [p for p in phrases if p.split(" ")[0] == group.places[0].name]
        # Six grades looked at, three ways off with a plain grade and two each of the deep ones.
        assert len(alone) == 6 + 3 + 2 * 3
        if len(group.places) > 1:
            every = ", ".join(place.name for place in group.places)
            assert f"{every} bite 2" in phrases
        for phrase in phrases:
            line = parse(phrase, today=TODAY, units="mm")
            assert line.unread == ()
            assert len(line.entries) == 1


@pytest.mark.parametrize("names", [("4R",), ("4L-1", "top-1"), ("low",), ("all",)])
def test_what_a_tap_writes_is_the_grade_the_place_and_the_way_it_says(
    names: tuple[str, ...],
) -> None:
    for grade, saying in enumerate(looks([Place(name, "") for name in names])):
        (entry,) = parse(saying.look, today=TODAY, units="mm").entries
        assert entry.places == names
        (seen,) = entry.bodies
        assert isinstance(seen, Saw)
        assert (seen.sign, seen.grade) == (Sign.BITE, grade)
        for way, phrase in saying.off:
            (entry,) = parse(phrase, today=TODAY, units="mm").entries
            (done,) = entry.bodies
            assert isinstance(done, Worked)
            assert entry.places == names
            assert (done.work, done.bite) == (Work.WIRE_OFF, grade)
            assert done.method == {"off": "", "cut": "cut", "unwound": "unwound"}[way]


def test_a_wire_shows_its_chart_its_method_and_what_never_to_do(
    reader: TestClient, garden: GardenDay
) -> None:
    row = next(r for r in rows_of(garden, all_wire_of(garden)) if r.tree == "ditch-field-maple")
    page = reader.get(row.href).text
    assert first_sentence(page) == "4R of Ditch field maple: wire off, by Fri 12 June."
    assert f"/charts/wire/ditch-field-maple/{row.window.wire}/{row.branches[0]}.svg" in page
    told = text_of(page)
    verdict = next(v for v in garden.tree("ditch-field-maple").verdicts if v.row == row.window.row)
    assert verdict.where in told
    assert all(never in told for never in verdict.never)
    assert "eye protection" in told


def test_a_wire_that_is_not_on_is_not_found(reader: TestClient) -> None:
    gone = "/wire/hill-oak/00000000-0000-7000-8000-000000000000"
    assert reader.get(gone).status_code == 404
    assert reader.get("/wire/no-tree/x").status_code == 404


# --- the strip ------------------------------------------------------------------------------------


def test_the_strip_has_a_line_a_wire_with_two_boxes_each(
    reader: TestClient, garden: GardenDay
) -> None:
    page = reader.get("/wire/strip").text
    assert_clean(page)
    body = page[page.index("<tbody>") : page.index("</tbody>")]
    lines = re.findall(r"<tr.*?</tr>", body, re.S)
    rows = rows_of(garden, all_wire_of(garden))
    assert len(lines) == len(rows)
    for row, line in zip(rows, lines, strict=True):
        assert line.count('<svg class="tick"') == 2
        assert f">{row.name}</th>" in line
        assert f"<td>{row.places[0].name}</td>" in line
    assert first_sentence(page) == f"{len(rows)} wires on, Tuesday 9 June 2026. 23 should be off."


def test_the_strip_in_order_of_the_shelves(reader: TestClient) -> None:
    page = reader.get("/wire/strip", params={"by": "tree"}).text
    names = re.findall(r'<th scope="row">(.*?)</th>', page)
    runs = [name for n, name in enumerate(names) if n == 0 or names[n - 1] != name]
    assert len(runs) == len(set(runs)) == 5
    assert reader.get("/wire/strip", params={"by": "luck"}).status_code == 422


# --- every page -----------------------------------------------------------------------------------


def test_a_name_with_code_in_it_stays_text(client: TestClient) -> None:
    rename(bench_of(client).book, "ditch-field-maple")
    paths = ["/wire", "/wire/strip", "/wire?tree=ditch-field-maple"]
    rows = rows_of(bench_of(client).day(), all_wire_of(bench_of(client).day()))
    paths.append(next(row.href for row in rows if row.tree == "ditch-field-maple"))
    for path in paths:
        page = client.get(path).text
        assert HOSTILE not in page
        assert "<script>alert" not in page
        assert " ".join(HOSTILE.split()) in text_of(page)
        assert_clean(page)


def test_german_pages_have_no_english_left(client: TestClient) -> None:
    in_german(bench_of(client).book)
    garden = bench_of(client).day()
    rows = grouped(rows_of(garden, all_wire_of(garden)))
    for path in ["/wire", "/wire/strip", *(row.href for row in rows)]:
        page = client.get(path).text
        spans = [a for tag, a in read(page).elements if tag == "span" and a.get("lang") == "en"]
        assert spans == [], path
        told = text_of(page)
        for english in ("wire", "sunk", " off", "look", "seen", "June"):
            assert english not in told.replace("Boughwright", ""), (path, english)


def test_a_long_list_shows_what_bites_first_and_the_rest_a_link_away(
    reader: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    every = reader.get("/wire").text.count('class="wire-row"')
    monkeypatch.setattr("boughwright.web.pages.wire.MOST_ROWS", 3)
    first = reader.get("/wire").text
    assert every > 3
    assert first.count('class="wire-row"') == 3
    assert f"Show {every - 3} more rows" in first
    whole = reader.get("/wire?every=true").text
    assert whole.count('class="wire-row"') == every
    assert "more rows" not in whole

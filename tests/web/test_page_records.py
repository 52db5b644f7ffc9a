"""All that is written of a tree: by day, filtered, paged, taken back, moved, exported."""

from __future__ import annotations

import csv
import io
import re
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from page_checks import (
    HOSTILE,
    assert_clean,
    first_sentence,
    in_german,
    rename,
    text_of,
    token,
    write,
)

from boughwright.journal.events import Event, Measured, Noted, Withdrawn, standing
from boughwright.journal.terms import Quantity
from boughwright.usecases.history import KEPT_ELSEWHERE, Sort, history_csv, history_of
from boughwright.usecases.records import records_of
from boughwright.web.speech import untold

if TYPE_CHECKING:
    from fastapi.testclient import TestClient

    from boughwright.usecases.history import History
    from boughwright.web.state import Bench

MAPLE, HORNBEAM, SOUTH = "ditch-field-maple", "gate-hornbeam", "river-maple"
TODAY = date(2026, 6, 9)


def bench_of(client: TestClient) -> Bench:
    found: Bench = client.app.state.bench  # type: ignore[attr-defined]
    return found


def history(client: TestClient, tree: str, place: str = "", sort: Sort | None = None) -> History:
    bench = bench_of(client)
    day = bench.day().tree(tree)
    return history_of(day.tree, bench.kept.events(tree), place, sort, today=TODAY)


def records_on(page: str) -> int:
    return page.count('<li class="record">')


def test_records_are_those_of_the_command_newest_first(reader: TestClient) -> None:
    for day in bench_of(reader).day().trees:
        tree = day.facts.tree
        wanted = records_of(day.tree, bench_of(reader).kept.events(tree), today=TODAY).lines
        found = history(reader, tree).lines
        assert [str(one.id) for one in found] == [line.id for line in reversed(wanted)]
        for one, line in zip(found, reversed(wanted), strict=True):
            assert (one.on, one.who, one.place) == (line.on, line.who, line.place)
            assert line.words.startswith(one.words)
            assert str(one.on.year) not in one.words


def test_a_page_has_a_hundred_and_the_rest_follow(reader: TestClient) -> None:
    found = history(reader, HORNBEAM).lines
    assert 100 < len(found) < 200
    first = reader.get(f"/trees/{HORNBEAM}/records").text
    second = reader.get(f"/trees/{HORNBEAM}/records?page=2").text
    assert (records_on(first), records_on(second)) == (100, len(found) - 100)
    ids = re.findall(rf'href="/trees/{HORNBEAM}/records/([0-9a-f-]+)"', first + second)
    assert ids == [str(one.id) for one in found if one.mendable]
    assert 'rel="next"' in first
    assert 'rel="prev"' not in first
    # A page past the end shows the last.
    assert records_on(reader.get(f"/trees/{HORNBEAM}/records?page=99").text) == len(found) - 100
    assert_clean(first)


def test_each_day_is_told_once_and_each_season_too(reader: TestClient) -> None:
    page = reader.get(f"/trees/{MAPLE}/records").text
    days = {one.on for one in history(reader, MAPLE).lines}
    assert page.count('class="record-day"') == len(days)
    seasons = re.findall(r">Season (\d{4})<", page)
    assert seasons == sorted({str(on.year) for on in days}, reverse=True)


def test_a_tree_in_the_south_has_seasons_over_the_new_year(reader: TestClient) -> None:
    seasons = re.findall(r">Season ([\d/]+)<", reader.get(f"/trees/{SOUTH}/records").text)
    assert seasons[0] == "2025/26"
    assert all(re.fullmatch(r"20\d\d/\d\d", season) for season in seasons)


@pytest.mark.parametrize("place", ["4R", "4r"])
def test_a_branch_is_meant_by_its_name_or_its_key(reader: TestClient, place: str) -> None:
    found = history(reader, MAPLE, "4R")
    assert found.lines
    assert all(one.branch == "4r" for one in found.lines)
    page = reader.get(f"/trees/{MAPLE}/records?branch={place}").text
    assert records_on(page) == len(found.lines)
    assert first_sentence(page).startswith(f"Ditch field maple, 4R: {len(found.lines)} records")


def test_kinds_part_the_records(reader: TestClient) -> None:
    counts = {}
    for sort in Sort:
        page = reader.get(f"/trees/{MAPLE}/records?kind={sort.value}").text
        counts[sort] = records_on(page)
        assert counts[sort] == min(len(history(reader, MAPLE, "", sort).lines), 100)
    assert sum(counts.values()) - counts[Sort.FACT] == len(history(reader, MAPLE).lines)
    assert counts[Sort.FACT] > 0
    assert counts[Sort.WIRE] > 0


def test_a_kind_that_is_none_is_refused(reader: TestClient) -> None:
    assert reader.get(f"/trees/{MAPLE}/records?kind=all").status_code == 422
    assert reader.get(f"/trees/{MAPLE}/records?page=0").status_code == 422
    assert reader.get(f"/trees/{MAPLE}/records?branch=99R").status_code == 404


def test_the_table_reads_back(reader: TestClient) -> None:
    answer = reader.get(f"/trees/{MAPLE}/records.csv?branch=4R")
    assert answer.headers["content-type"].startswith("text/csv")
    rows = list(csv.DictReader(io.StringIO(answer.text)))
    found = history(reader, MAPLE, "4R").lines
    assert [(row["on"], row["kind"], row["what"], row["id"]) for row in rows] == [
        (one.on.isoformat(), one.sort.value, one.words, str(one.id)) for one in found
    ]


def test_a_cell_never_runs_in_a_spreadsheet(client: TestClient) -> None:
    write(bench_of(client).book, Event(Noted("x"), TODAY, MAPLE, who="=1+2"))
    rows = list(csv.reader(io.StringIO(history_csv(history(client, MAPLE)))))
    assert rows[1][4] == "'=1+2"
    assert not any(cell.startswith(("=", "+", "-", "@")) for row in rows for cell in row)


# --- mending --------------------------------------------------------------------------------------


def test_a_record_is_taken_back_after_one_question(client: TestClient) -> None:
    before = history(client, MAPLE)
    one = next(line for line in before.lines if line.branch == "4r" and line.sort is Sort.READING)
    where = f"/trees/{MAPLE}/records/{one.id}"
    asked = client.get(where).text
    assert first_sentence(asked) == one.words
    assert_clean(asked)
    assert history(client, MAPLE) == before
    back = client.post(f"{where}/back", data={"csrf": token(client, where)})
    assert back.status_code == 303
    page = client.get(back.headers["location"]).text
    assert f"Taken back: {one.words}" in text_of(page)
    after = history(client, MAPLE)
    assert [line.id for line in after.lines] == [
        line.id for line in before.lines if line.id != one.id
    ]
    assert client.get(where).status_code == 404
    assert client.post(f"{where}/back", data={"csrf": token(client, f"/trees/{MAPLE}/records")}
                       ).status_code == 404  # fmt: skip


def test_its_day_is_mended_and_the_measures_follow(client: TestClient) -> None:
    one = next(line for line in history(client, MAPLE, "4R").lines if "base" in line.words)
    assert one.on == date(2026, 6, 7)
    where = f"/trees/{MAPLE}/records/{one.id}"
    moved = client.post(f"{where}/day", data={"csrf": token(client, where), "on": "2026-06-05"})
    assert moved.status_code == 303
    assert "Its day is mended." in text_of(client.get(moved.headers["location"]).text)
    found = [line for line in history(client, MAPLE, "4R").lines if line.words == one.words]
    assert [line.on for line in found] == [date(2026, 6, 5)]
    day = bench_of(client).day().tree(MAPLE)
    base = next(branch for branch in day.branches if branch.name == "4R")
    assert (base.base_mm, base.base_age_days) == (9.2, 4)
    # Nothing is lost: the old record is there, taken back.
    own = bench_of(client).kept.events(MAPLE)
    assert any(isinstance(event.body, Withdrawn) and event.body.event == one.id for event in own)
    assert len(standing(own)) == len({event.id for event in own}) - 2


@pytest.mark.parametrize(
    ("typed", "told"),
    [("", "Give the day."), ("tomorrow", "Give the day."), ("2026-06-10", "still to come")],
)
def test_a_wrong_day_is_told_at_its_field_and_nothing_is_written(
    client: TestClient, typed: str, told: str
) -> None:
    one = history(client, MAPLE, "4R").lines[0]
    where = f"/trees/{MAPLE}/records/{one.id}"
    before = bench_of(client).kept.events(MAPLE)
    answer = client.post(f"{where}/day", data={"csrf": token(client, where), "on": typed})
    assert answer.status_code == 422
    assert told in text_of(answer.text)
    assert 'aria-describedby="on-fault"' in answer.text
    assert bench_of(client).kept.events(MAPLE) == before


def test_facts_and_photos_are_not_taken_back_here(client: TestClient) -> None:
    one = history(client, MAPLE, "", Sort.FACT).lines[0]
    assert one.sort in KEPT_ELSEWHERE
    where = f"/trees/{MAPLE}/records/{one.id}"
    assert "/back" not in client.get(where).text
    csrf = token(client, f"/trees/{MAPLE}/records/{history(client, MAPLE).lines[0].id}")
    for end in ("back", "day"):
        answer = client.post(f"{where}/{end}", data={"csrf": csrf, "on": "2026-06-01"})
        assert answer.status_code == 422
    assert history(client, MAPLE, "", Sort.FACT).lines[0] == one


def test_records_in_doubt_say_so(reader: TestClient) -> None:
    # The hornbeam's 3R is thicker at its base than the trunk beside it.
    lines = [one for one in history(reader, HORNBEAM, "3R").lines if one.doubts]
    assert {line.words.split(": ")[1] for line in lines} == {"base 31.0 mm", "trunk 29.0 mm"}
    page = text_of(reader.get(f"/trees/{HORNBEAM}/records?branch=3R").text)
    assert "This may be wrong: 3R is 31.0 mm at its base" in page


def test_what_comes_later_is_not_yet_told(client: TestClient) -> None:
    before = history(client, MAPLE)
    later = Event(Measured(Quantity.BASE, 9.9), TODAY + timedelta(days=1), MAPLE, "4r",
                  recorded=datetime(2026, 6, 9, 12, tzinfo=UTC))  # fmt: skip
    write(bench_of(client).book, later)
    assert history(client, MAPLE) == before


def test_an_empty_history_says_what_to_do(client: TestClient) -> None:
    page = client.get(f"/trees/{MAPLE}/records?kind=photo").text
    assert first_sentence(page) == "Nothing of this kind is written of Ditch field maple."
    assert f'href="/trees/{MAPLE}/records"' in page


def test_hostile_words_stay_text(client: TestClient) -> None:
    rename(bench_of(client).book, MAPLE)
    write(bench_of(client).book, Event(Noted(HOSTILE), TODAY, MAPLE, who=HOSTILE))
    for path in (
        f"/trees/{MAPLE}/records",
        f"/trees/{MAPLE}/records/{history(client, MAPLE).lines[0].id}",
    ):
        page = client.get(path).text
        assert_clean(page)
        assert HOSTILE in text_of(page)
        assert "<img" not in page


def test_the_german_page_has_no_english_left(client: TestClient) -> None:
    in_german(bench_of(client).book)
    untold.clear()
    for day in bench_of(client).day().trees:
        for kind in ("", "fact"):
            client.get(f"/trees/{day.facts.tree}/records?kind={kind}")
    assert not untold

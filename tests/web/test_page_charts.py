"""Every chart that a page points at is there, by day and by night, as a picture and as data."""

from __future__ import annotations

import json
import re
from html import unescape
from typing import TYPE_CHECKING
from xml.etree import ElementTree

import pytest

from boughwright.report.charts import definition, spec_json
from boughwright.usecases.charts import branch_chart_data

if TYPE_CHECKING:
    from fastapi.testclient import TestClient

    from boughwright.web.state import Bench

SVG = "{http://www.w3.org/2000/svg}"
KINDS = [
    "/charts/branch/ditch-field-maple/4r",
    "/charts/years/ditch-field-maple/4r",
    "/charts/stages/ditch-field-maple",
    "/charts/weather/weir-lane/south",
    "/charts/hours",
]


def bench_of(client: TestClient) -> Bench:
    found: Bench = client.app.state.bench  # type: ignore[attr-defined]
    return found


def wire_href(client: TestClient) -> str:
    garden = bench_of(client).day()
    return f"/charts/wire/ditch-field-maple/{garden.tree('ditch-field-maple').windows[0].wire}"


@pytest.mark.parametrize("href", KINDS)
def test_a_chart_is_a_whole_picture_and_whole_data(reader: TestClient, href: str) -> None:
    drawn = reader.get(f"{href}.svg")
    assert drawn.status_code == 200
    assert drawn.headers["content-type"].startswith("image/svg+xml")
    root = ElementTree.fromstring(drawn.content)
    assert root.tag == f"{SVG}svg"
    title = root.find(f"{SVG}title")
    assert title is not None
    assert title.text
    assert not root.findall(f".//{SVG}script")
    data = reader.get(f"{href}.json")
    assert data.headers["content-type"].startswith("application/json")
    assert "<" not in data.text
    assert "url" not in json.dumps(json.loads(data.text)["$schema"]).replace("https", "")


def test_the_wire_of_a_branch_by_its_record_and_by_its_branch(reader: TestClient) -> None:
    href = wire_href(reader)
    one, same = reader.get(f"{href}.svg"), reader.get(f"{href}/4r.svg")
    assert one.status_code == 200
    assert one.content == same.content
    assert reader.get(f"{href}/1l.svg").status_code == 404


def test_the_data_is_the_definition_of_the_use_case_s_figures(reader: TestClient) -> None:
    day = bench_of(reader).day().tree("ditch-field-maple")
    words = bench_of(reader).speaker()
    wanted = spec_json(definition(branch_chart_data(day, "4r"), words), "day")
    assert reader.get("/charts/branch/ditch-field-maple/4r.json").text == wanted


def test_night_and_narrow_are_other_pictures(reader: TestClient) -> None:
    href = "/charts/stages/ditch-field-maple.svg"
    day, night = reader.get(href), reader.get(href, params={"light": "night"})
    narrow = reader.get(href, params={"narrow": "1"})
    assert b"#1b1d20" in day.content
    assert b"#1b1d20" not in night.content
    assert b"#e6e8e6" in night.content
    wide_px, narrow_px = (
        float(ElementTree.fromstring(one.content).get("width", "0")) for one in (day, narrow)
    )
    assert narrow_px < 345
    assert wide_px > 600
    assert len({one.headers["etag"] for one in (day, night, narrow)}) == 3


def test_a_picture_that_is_the_same_is_not_sent_again(reader: TestClient) -> None:
    href = "/charts/hours.svg"
    first = reader.get(href)
    assert first.headers["cache-control"] == "private, no-cache"
    again = reader.get(href, headers={"if-none-match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    other = reader.get(href, params={"hours": 2}, headers={"if-none-match": first.headers["etag"]})
    assert other.status_code == 200


@pytest.mark.parametrize(
    "path",
    [
        "/charts/branch/no-tree/4r.svg",
        "/charts/branch/ditch-field-maple/99z.svg",
        "/charts/ratio/ditch-field-maple/4r.svg",
        "/charts/weather/weir-lane/no-shelf.svg",
        "/charts/weather/nowhere/-.svg",
        "/charts/wire/ditch-field-maple/not-an-id.svg",
        "/charts/stages/%3Cscript%3E.svg",
    ],
)
def test_what_is_not_there_is_not_found(reader: TestClient, path: str) -> None:
    answer = reader.get(path)
    assert answer.status_code == 404
    assert "<script>alert" not in answer.text


@pytest.mark.parametrize(
    "path", ["/charts/hours.png", "/charts/hours.svg?light=dusk", "/charts/hours.svg?hours=-1"]
)
def test_what_makes_no_sense_is_refused(reader: TestClient, path: str) -> None:
    assert reader.get(path).status_code == 422


def test_every_picture_that_pages_point_at_is_there(reader: TestClient) -> None:
    day = bench_of(reader).day().tree("ditch-field-maple")
    pages = [
        "/weather",
        "/weather/stages/river-maple",
        wire_href(reader).replace("/charts", "").replace("/ditch", "/ditch"),
        f"/trees/ditch-field-maple/branches/{day.tree.branches.ids[day.branches[0].row]}",
    ]
    found = set()
    for path in pages:
        page = reader.get(path).text
        found |= {unescape(src) for src in re.findall(r'(?:src|srcset)="(/charts/[^"]+)"', page)}
        found |= {unescape(src) for src in re.findall(r'data-chart="([^"]+)"', page)}
    assert len(found) > 20
    for href in sorted(found):
        assert reader.get(href).status_code == 200, href

"""The week and one tree head to foot, beside the answers that the commands print."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest
from page_checks import assert_clean, first_sentence, text_of

from boughwright.report.charts_frame import whole_seasons

if TYPE_CHECKING:
    from fastapi.testclient import TestClient

MAPLE = "/trees/ditch-field-maple"


def asked(client: TestClient, path: str) -> Any:
    answer = client.get(f"/api{path}")
    assert answer.status_code == 200
    return answer.json()


def test_the_week_leads_to_every_tree_that_the_call_up_calls(reader: TestClient) -> None:
    page = reader.get("/").text
    assert_clean(page)
    called = {one["tree"] for one in asked(reader, "/call-up")["trees"]}
    assert called
    assert called <= set(re.findall(r'href="/trees/([a-z0-9-]+)["/?#]', page))


def test_the_week_tells_the_hours_of_the_call_up_and_what_slips(reader: TestClient) -> None:
    call = asked(reader, "/call-up?hours=1")
    assert call["slips"]
    assert "1 h" in first_sentence(reader.get("/?hours=1").text)
    assert first_sentence(reader.get("/").text).endswith("nothing slips.")
    assert (
        f"{len(call['slips'])} " in first_sentence(reader.get("/?hours=1").text).rpartition(";")[2]
    )


def test_the_list_of_a_tree_is_its_sheet_in_order_with_each_verdict_s_word(
    reader: TestClient,
) -> None:
    page = reader.get(MAPLE).text
    assert_clean(page)
    listed = re.findall(
        r'<li id="b-[^"]+" data-branch="[^"]+" data-name="([^"]+)">'
        r'.*?<span class="word \w+">([^<]+)<',
        page,
        re.S,
    )
    sheet = asked(reader, f"{MAPLE}/sheet")
    assert listed == [(one["name"], one["verdict"]["act"]) for one in sheet["branches"]]


def test_a_card_tells_whole_seasons_as_its_chart_does(reader: TestClient) -> None:
    """4R stands at 9.2 of 9.6 mm: a part of a ring is still one season, never none."""
    sheet = asked(reader, f"{MAPLE}/sheet")
    (branch,) = (one for one in sheet["branches"] if one["name"] == "4R")
    assert 0 < branch["seasons_to_target"] < 0.5
    text = text_of(reader.get(f"{MAPLE}/branches/4r").text)
    assert "To its target about 1 season " in text
    assert "To its target of 9.6 mm it takes 1 season." in text


@pytest.mark.parametrize(("number", "whole"), [(0.0, 0), (0.04, 0), (0.2, 1), (1.0, 1), (1.8, 2)])
def test_seasons_are_rounded_up(number: float, whole: int) -> None:
    assert whole_seasons(number) == whole


def test_a_day_of_another_year_is_told_with_its_year(reader: TestClient) -> None:
    """4R was read in June of two years; its wire went on in the November between."""
    text = text_of(reader.get(f"{MAPLE}/branches/4r").text)
    assert "Fri 20 June 2025" in text
    assert "On since Sun 9 November 2025" in text
    assert "Sun 7 June" in text
    assert "Sun 7 June 2026" not in text

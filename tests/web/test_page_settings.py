"""Settings of the garden, and of one device."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from form_help import assert_well_made, fill_in, form_on
from page_checks import assert_clean, first_sentence, text_of

from boughwright.settings import Settings
from boughwright.usecases.garden import read_garden
from boughwright.web.speech_core import untold
from boughwright.web.state import VIEW_COOKIE

if TYPE_CHECKING:
    from fastapi.testclient import TestClient


def settings_of(client: TestClient) -> Settings:
    found: Settings = client.app.state.bench.settings  # type: ignore[attr-defined]
    return found


def fields_of(client: TestClient) -> Any:
    return read_garden(client.app.state.bench.book)[0].fields  # type: ignore[attr-defined]


def test_every_setting_is_on_the_page(reader: TestClient) -> None:
    page = reader.get("/settings").text
    assert_clean(page)
    assert_well_made(page)
    form = form_on(page, "/settings")
    assert set(Settings.__slots__) <= set(form.values)
    here = settings_of(reader)
    for name in ("units", "temperature", "dates", "language", "hand", "light", "who"):
        assert form.values[name] == getattr(here, name)
    assert first_sentence(page) == "Here it reads 12.1 mm, -3 °C and Tuesday 9 June 2026."


def test_what_is_chosen_is_seen_at_once(client: TestClient) -> None:
    answer = fill_in(client, "/settings", {"units": "in", "temperature": "F",
                                           "dates": "year first", "hours_week": "6,5"})  # fmt: skip
    assert answer.headers["location"] == "/settings?saved=garden"
    page = client.get(answer.headers["location"]).text
    # 12.1 mm / 25.4 = 0.476 in; -3 °C = 26.6 °F.
    assert first_sentence(page) == "Here it reads 0.48 in, 27 °F and Tuesday 2026-06-09."
    assert settings_of(client).hours_week == 6.5
    german = fill_in(client, "/settings", {"language": "de"})
    untold.clear()
    page = client.get(german.headers["location"]).text
    assert "Die Einstellungen sind aufgeschrieben." in text_of(page)
    assert "<span lang=en>" not in page
    assert not untold


def test_sending_it_as_it_stands_writes_nothing(client: TestClient) -> None:
    before = dict(fields_of(client))
    assert fill_in(client, "/settings", {}).status_code == 303
    assert dict(fields_of(client)) == before


@pytest.mark.parametrize(
    ("typed", "wrong"),
    [
        ({"hours_week": "many"}, {"hours_week"}),
        ({"hours_week": "200", "pupil_hours_week": "-1"}, {"hours_week", "pupil_hours_week"}),
        ({"who": "x" * 500}, {"who"}),
        ({"units": "furlongs"}, {"units"}),
        ({"home": "nowhere"}, {"home"}),
        ({"language": "tlh"}, {"language"}),
    ],
)
def test_garbage_is_told_beside_its_field(
    client: TestClient, typed: dict[str, str], wrong: set[str]
) -> None:
    before = dict(fields_of(client))
    answer = fill_in(client, "/settings", typed | {"name": "Other"})
    assert answer.status_code == 422
    assert_clean(answer.text)
    for name in wrong:
        assert f'id="f-{name}-fault"' in answer.text
    assert answer.text.count('class="fault"') == len(wrong)
    assert form_on(answer.text, "/settings").values["name"] == "Other"
    assert dict(fields_of(client)) == before


def test_a_device_keeps_its_own_hand_and_light(client: TestClient) -> None:
    before = dict(fields_of(client))
    form = form_on(client.get("/settings").text, "/settings/device")
    assert (form.values["own_hand"], form.values["own_light"]) == ("garden", "garden")
    answer = client.post(form.action, data=form.values | {"own_hand": "left",
                                                          "own_light": "night"})  # fmt: skip
    cookie = answer.headers["set-cookie"]
    assert cookie.startswith(f"{VIEW_COOKIE}=left-night;")
    assert "HttpOnly" in cookie
    assert "SameSite=lax" in cookie
    page = client.get("/settings").text
    assert '<html lang="en" data-hand="left" data-light="night">' in page
    assert form_on(page, "/settings/device").values["own_light"] == "night"
    assert dict(fields_of(client)) == before
    client.post(form.action, data=form.values | {"own_hand": "<b>", "own_light": "a;b\r\nc"})
    assert 'data-hand="right" data-light="device"' in client.get("/settings").text

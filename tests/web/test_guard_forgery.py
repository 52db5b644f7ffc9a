"""Changing requests that another page sends in the grower's name are refused."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from guard_help import PORT, Place, make_place, pair, token_on
from hypothesis import given
from hypothesis import strategies as st

from boughwright.web.guard.seats import Seats

if TYPE_CHECKING:
    from pathlib import Path

OWN = f"http://127.0.0.1:{PORT}"
JSON = {"content-type": "application/json"}
FILE = {"file": ("x.jpg", b"picture", "image/jpeg")}


@pytest.fixture
def place(tmp_path: Path) -> Place:
    return make_place(tmp_path)


def said(place: Place, *, token: str | None = None, **headers: str) -> int:
    here = place.here()
    csrf = token_on(here.get("/").text) if token is None else token
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return here.post("/say", data={"csrf": csrf, "text": "2R let run"}, headers=named).status_code


def test_a_form_with_its_token_is_taken(place: Place) -> None:
    assert said(place) == 200
    assert said(place, origin=OWN, sec_fetch_site="same-origin") == 200
    assert said(place, sec_fetch_site="none") == 200
    assert place.done == ["2R let run"] * 3


@pytest.mark.parametrize("site", ["cross-site", "same-site", "", "evil", "Same-Origin"])
def test_a_form_from_another_site_is_refused_even_with_a_token(place: Place, site: str) -> None:
    assert said(place, sec_fetch_site=site) == 403
    assert place.done == []


@pytest.mark.parametrize(
    "origin",
    ["https://evil.example", "null", f"https://127.0.0.1:{PORT}", "http://127.0.0.1",
     f"http://localhost:{PORT}", "http://127.0.0.1:8171", ""],
)  # fmt: skip
def test_a_form_of_another_origin_is_refused_even_with_a_token(place: Place, origin: str) -> None:
    assert said(place, origin=origin) == 403
    assert place.done == []


@pytest.mark.parametrize("token", ["", "x", "A" * 60, "=" * 8, "ä", "AAAA" * 11])
def test_a_form_without_a_good_token_is_refused(place: Place, token: str) -> None:
    """On plain http browsers send no Sec-Fetch headers: the token alone decides."""
    assert said(place, token=token) == 403
    assert place.done == []


def test_a_form_without_the_field_or_with_two_is_refused(place: Place) -> None:
    here = place.here()
    csrf = token_on(here.get("/").text)
    assert here.post("/say", data={"text": "x"}).status_code == 403
    assert here.post("/say", data={"csrf": [csrf, csrf], "text": "x"}).status_code == 403
    assert here.post(f"/say?csrf={csrf}", data={"text": "x"}).status_code == 403
    assert place.done == []


def test_the_header_stands_for_the_field(place: Place) -> None:
    here = place.here()
    csrf = token_on(here.get("/").text)
    answer = here.post("/say", data={"text": "x"}, headers={"x-csrf": csrf})
    assert answer.status_code == 200
    assert here.post("/say", data={"csrf": csrf, "text": "x"},
                     headers={"x-csrf": "wrong"}).status_code == 403  # fmt: skip


def test_every_changing_method_needs_the_token(place: Place) -> None:
    here = place.here()
    for method in ("POST", "PUT", "PATCH", "DELETE", "QUERY", "FOO"):
        assert here.request(method, "/say").status_code == 403
    assert here.request("OPTIONS", "/say").status_code == 405
    assert "access-control-allow-origin" not in here.options("/say").headers


def test_json_needs_the_header_or_the_browsers_word(place: Place) -> None:
    here = place.here()
    csrf = token_on(here.get("/").text)
    line = b'{"lines": []}'
    assert here.post("/api/lines", content=line, headers=JSON).status_code == 403
    assert here.post("/api/lines", content=line, headers={**JSON, "origin": OWN}).status_code == 403
    vouched = {**JSON, "sec-fetch-site": "same-origin"}
    assert here.post("/api/lines", content=line, headers=vouched).status_code == 200
    none = {**JSON, "sec-fetch-site": "none"}
    assert here.post("/api/lines", content=line, headers=none).status_code == 403
    plain = {"content-type": "text/plain", "sec-fetch-site": "same-origin"}
    assert here.post("/api/lines", content=line, headers=plain).status_code == 403
    assert (
        here.post("/api/lines", content=line, headers={**JSON, "x-csrf": csrf}).status_code == 200
    )
    assert here.post("/say", content=line, headers=vouched).status_code == 403
    assert place.done == [13, 13]


def test_a_refused_program_is_told_how_to_go_on(place: Place) -> None:
    told = place.here().post("/api/lines", content=b"{}", headers=JSON)
    assert told.status_code == 403
    error = told.json()["error"]
    assert set(error) == {"slug", "what", "where", "allowed", "todo"}
    assert error["slug"] == "stale-page"
    fresh = place.here().get("/api/visitor").json()
    assert fresh["kind"] == "owner"
    answer = place.here().post("/api/lines", content=b"{}",
                               headers={**JSON, "x-csrf": fresh["csrf"]})  # fmt: skip
    assert answer.status_code == 200


def test_a_form_with_a_file_is_taken_with_the_token_first(place: Place) -> None:
    here = place.here()
    csrf = token_on(here.get("/").text)
    sent = here.post("/trees/elm/photos", data={"csrf": csrf, "side": "back"}, files=FILE)
    assert sent.status_code == 200
    assert place.done == [("elm", "back", 7)]
    later = here.post("/trees/elm/photos", data={"side": "back", "csrf": csrf}, files=FILE)
    assert later.status_code == 403
    bare = here.post("/trees/elm/photos", data={"side": "back"}, files=FILE)
    assert bare.status_code == 403
    header = here.post("/trees/elm/photos", data={"side": "left"}, files=FILE,
                       headers={"x-csrf": csrf})  # fmt: skip
    assert header.status_code == 200
    assert place.done == [("elm", "back", 7), ("elm", "left", 7)]


def test_a_token_inside_the_picture_is_no_token(place: Place) -> None:
    here = place.here()
    csrf = token_on(here.get("/").text)
    body = (
        b'--b\r\nContent-Disposition: form-data; name="file"; filename="a"\r\n\r\n'
        b'\r\nContent-Disposition: form-data; name="csrf"\r\n\r\n'
        + csrf.encode()
        + b"\r\n--b--\r\n"
    )
    kind = {"content-type": "multipart/form-data; boundary=b"}
    assert here.post("/trees/elm/photos", content=body, headers=kind).status_code == 403


def test_a_token_is_good_for_its_own_sender_only(place: Place) -> None:
    phone, tablet, here = place.away(), place.away("192.168.1.78"), place.here()
    pair(place, phone)
    pair(place, tablet)
    tokens = {b: token_on(b.get("/").text) for b in (phone, tablet, here)}
    for browser in tokens:
        for owner, token in tokens.items():
            answer = browser.post("/say", data={"csrf": token, "text": "x"})
            assert answer.status_code == (200 if owner is browser else 403)


def test_a_strangers_token_is_bound_to_its_cookie(place: Place) -> None:
    one, two = place.away(), place.away()
    csrf = token_on(one.get("/pair").text)
    two.get("/pair")
    token = place.keeper.invite().token
    fields = {"csrf": csrf, "token": token, "name": "phone"}
    assert two.post("/pair", data=fields).status_code == 403
    assert place.away().post("/pair", data=fields).status_code == 403
    assert one.post("/pair", data=fields).status_code == 303


def test_tokens_differ_from_page_to_page(place: Place) -> None:
    """So that a compressed page gives nothing away by its length."""
    here = place.here()
    assert len({token_on(here.get("/").text) for _ in range(5)}) == 5


@given(st.text(max_size=60), st.binary(max_size=60))
def test_no_made_up_token_holds(text: str, raw: bytes) -> None:
    seats = Seats(b"k" * 32)
    assert not seats.token_holds("owner", text)
    assert not seats.token_holds("owner", raw.decode("latin-1"))
    token = seats.token("owner")
    assert seats.token_holds("owner", token)
    assert not seats.token_holds("device a", token)
    assert not Seats(b"l" * 32).token_holds("owner", token)

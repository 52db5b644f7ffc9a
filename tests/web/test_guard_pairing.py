"""Letting a device in: once, in time, by its own secret; and letting it out again."""

from __future__ import annotations

import hmac
import os
import re
import stat
import time
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Any

import pytest
from guard_help import LAPTOP, PORT, Clock, Place, make_place, pair, token_on
from itsdangerous import URLSafeTimedSerializer

from boughwright.errors import RangeError, TextError, UnknownNameError
from boughwright.store.devices import keys_folder, secret_file
from boughwright.usecases import devices as devices_module
from boughwright.usecases.devices import (
    CODE_LENGTH,
    CODE_LETTERS,
    CODE_TRIES,
    MOST_DEVICES,
    Doorkeeper,
    clean_name,
)
from boughwright.web.guard.rates import Rate
from boughwright.web.guard.seats import COOKIE_S, DAY_S, Seats

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

PLENTY = Rate(10_000, 10_000)


@pytest.fixture
def place(tmp_path: Path) -> Place:
    return make_place(tmp_path, pairing_rate=PLENTY, stranger_rate=PLENTY)


def ask_in(phone: TestClient, **fields: str) -> int:
    csrf = token_on(phone.get("/pair").text)
    return phone.post("/pair", data={"csrf": csrf, "name": "phone", **fields}).status_code


def cookie_of(phone: TestClient) -> tuple[str, str]:
    ((name, value),) = phone.cookies.items()
    return name, value


def test_the_token_of_the_link_lets_one_device_in_once(place: Place) -> None:
    phone, other = place.away(), place.away("192.168.1.78")
    token = place.keeper.invite().token
    assert ask_in(phone, token=token) == 303
    assert phone.get("/").status_code == 200
    assert ask_in(other, token=token) == 403
    assert other.get("/").status_code == 401


def test_the_token_holds_192_bits_and_is_not_stored(place: Place, tmp_path: Path) -> None:
    invitation = place.keeper.invite()
    assert len(invitation.token) == 32  # 24 bytes = 192 bits, six bits a letter
    phone = place.away()
    stored = b"".join(p.read_bytes() for p in keys_folder(tmp_path / "garden.book").iterdir())
    assert invitation.token.encode() not in stored
    assert invitation.code.encode() not in stored
    assert ask_in(phone, token=invitation.token) == 303
    secret = Seats(place.keeper.key).read_device(cookie_of(phone)[1])
    assert secret is not None
    stored = b"".join(p.read_bytes() for p in keys_folder(tmp_path / "garden.book").iterdir())
    assert secret[1].encode() not in stored


def test_a_code_has_more_than_two_to_the_39_forms() -> None:
    assert len(set(CODE_LETTERS)) == 32
    assert not set(CODE_LETTERS) & set("ILOU")
    assert 32**CODE_LENGTH > 2**39


@pytest.mark.parametrize("token", ["wrong", "A" * 32, "ü" * 32, "\x00", "0"])
def test_a_wrong_token_lets_nobody_in(place: Place, token: str) -> None:
    place.keeper.invite()
    assert ask_in(place.away(), token=token) == 403


def test_a_token_that_is_five_minutes_old_is_void(place: Place) -> None:
    token = place.keeper.invite().token
    place.clock.wait(seconds=299)
    assert place.keeper.open_invitation() is not None
    place.clock.wait(seconds=1)
    assert place.keeper.open_invitation() is None
    assert ask_in(place.away(), token=token) == 403


def test_a_new_invitation_voids_the_one_before(place: Place) -> None:
    first, second = place.keeper.invite(), place.keeper.invite()
    assert ask_in(place.away(), token=first.token) == 403
    assert ask_in(place.away(), token=second.token) == 303


def test_an_invitation_taken_back_is_void(place: Place) -> None:
    here, token = place.here(), place.keeper.invite().token
    page = here.get("/devices").text
    assert here.post("/devices/uninvite", data={"csrf": token_on(page)}).status_code == 303
    assert ask_in(place.away(), token=token) == 403


def test_the_code_is_read_as_it_is_spoken(place: Place) -> None:
    code = place.keeper.invite().code
    spoken = f" {code[:3]}-{code[3:]} ".lower().replace("0", "o").replace("1", "l")
    assert ask_in(place.away(), code=spoken) == 303


def test_the_code_is_void_after_five_wrong_tries_but_the_link_is_not(place: Place) -> None:
    invitation = place.keeper.invite()
    wrong = "0" * CODE_LENGTH if invitation.code != "0" * CODE_LENGTH else "1" * CODE_LENGTH
    for _ in range(CODE_TRIES):
        assert ask_in(place.away(), code=wrong) == 403
    assert ask_in(place.away(), code=invitation.code) == 403
    assert ask_in(place.away(), token=invitation.token) == 303


def test_the_last_try_may_be_the_right_one(place: Place) -> None:
    code = place.keeper.invite().code
    for _ in range(CODE_TRIES - 1):
        assert ask_in(place.away(), code="") == 403
    assert ask_in(place.away(), code=code) == 303


def test_an_expired_code_takes_no_try_and_lets_nobody_in(place: Place) -> None:
    code = place.keeper.invite().code
    place.clock.wait(minutes=5)
    assert place.keeper.admit_by_code(code, "phone") is None


def test_guessing_is_slowed_for_all_addresses_together(tmp_path: Path) -> None:
    place = make_place(tmp_path)
    place.keeper.invite()
    statuses = [ask_in(place.away(f"192.168.1.{n}"), token="x") for n in range(60, 80)]
    assert statuses.count(403) == 10  # the burst of the pairing rate
    assert set(statuses[10:]) == {429}
    place.clock.wait(seconds=31)  # one more in thirty seconds
    assert ask_in(place.away("192.168.1.99"), token="x") == 403


def test_of_many_at_once_one_gets_in(tmp_path: Path) -> None:
    keepers = [Doorkeeper(tmp_path / "garden.book", Clock()) for _ in range(4)]
    token = keepers[0].invite().token
    with ThreadPoolExecutor(8) as pool:
        asked = pool.map(lambda n: keepers[n % 4].admit_by_token(token, "phone"), range(16))
        assert sum(admitted is not None for admitted in asked) == 1
    assert len(keepers[1].devices()) == 1


def test_who_looked_before_another_used_it_up_does_not_get_in(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    one, two = (Doorkeeper(tmp_path / "garden.book", Clock()) for _ in range(2))
    token = one.invite().token
    seen = one._list.invitation()
    monkeypatch.setattr(one._list, "invitation", lambda: seen)
    assert two.admit_by_token(token, "phone") is not None
    assert one.admit_by_token(token, "tablet") is None
    assert [d.name for d in one.devices()] == ["phone"]


def test_secrets_are_compared_in_constant_time(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    compared: list[tuple[Any, Any]] = []

    def watched(a: Any, b: Any) -> bool:
        compared.append((a, b))
        return hmac.compare_digest(a, b)

    fake = type(
        "Watched", (), {"new": staticmethod(hmac.new), "compare_digest": staticmethod(watched)}
    )
    monkeypatch.setattr(devices_module, "hmac", fake)
    invitation = place.keeper.invite()
    assert place.keeper.admit_by_token("wrong", "phone") is None
    assert len(compared) == 1
    assert place.keeper.admit_by_code("wrong", "phone") is None
    assert len(compared) == 2
    admitted = place.keeper.admit_by_token(invitation.token, "phone")
    assert admitted is not None
    assert place.keeper.knows(admitted.device, "wrong") is None
    assert len(compared) == 4
    assert all(len(a) == len(b) == 64 for a, b in compared)  # hashes, so of one length


def test_a_device_let_out_is_refused_at_once(place: Place) -> None:
    phone, here = place.away(), place.here()
    pair(place, phone)
    assert phone.get("/").status_code == 200
    (device,) = place.keeper.devices()
    csrf = token_on(here.get("/devices").text)
    assert here.post(f"/devices/{device.id}/out", data={"csrf": csrf}).status_code == 303
    answer = phone.get("/")
    assert answer.status_code == 401
    assert "no longer let in" in answer.text
    assert phone.get("/api/count/1").json()["error"]["slug"] == "let-out"
    assert here.post(f"/devices/{device.id}/out", data={"csrf": csrf}).status_code == 303
    assert place.keeper.devices()[0].let_out_on == place.keeper.today()
    assert here.post(f"/devices/{device.id}/forget", data={"csrf": csrf}).status_code == 303
    assert place.keeper.devices() == []
    assert phone.get("/").status_code == 401


def test_a_device_let_out_may_pair_again_as_a_new_one(place: Place) -> None:
    phone = place.away()
    pair(place, phone)
    place.keeper.let_out(place.keeper.devices()[0].id)
    pair(place, phone)
    assert phone.get("/").status_code == 200
    assert [d.may_enter for d in place.keeper.devices()] == [True, False]


def test_a_device_in_use_cannot_be_struck_off_the_list(place: Place) -> None:
    pair(place, place.away())
    place.keeper.forget(place.keeper.devices()[0].id)
    assert len(place.keeper.devices()) == 1


def test_a_device_can_leave_and_rename_itself_but_no_other(place: Place) -> None:
    phone, tablet = place.away(), place.away("192.168.1.78")
    pair(place, phone, "phone")
    pair(place, tablet, "tablet")
    ids = {d.name: d.id for d in place.keeper.devices()}
    csrf = token_on(phone.get("/devices").text)
    renamed = {"csrf": csrf, "name": "wet  phone\r\n"}
    assert phone.post(f"/devices/{ids['phone']}/rename", data=renamed).status_code == 303
    assert {d.name for d in place.keeper.devices()} == {"wet phone", "tablet"}
    for path in (f"{ids['tablet']}/rename", f"{ids['tablet']}/out", "invite", "uninvite",
                 f"{ids['tablet']}/forget"):  # fmt: skip
        assert phone.post(f"/devices/{path}", data={"csrf": csrf, "name": "x"}).status_code == 403
    assert place.keeper.open_invitation() is None
    assert phone.post("/devices/leave", data={"csrf": csrf}).status_code == 303
    assert phone.get("/").status_code == 401
    assert len(phone.cookies) == 0
    assert tablet.get("/").status_code == 200


def test_a_device_does_not_see_invitations(place: Place) -> None:
    phone = place.away()
    pair(place, phone)
    invitation = place.keeper.invite()
    page = phone.get("/devices").text
    assert invitation.token not in page
    assert invitation.code_shown not in page
    owner_page = place.here().get("/devices").text
    assert invitation.code_shown in owner_page
    assert invitation.token not in owner_page  # it stands in the square code alone
    assert f"http://{LAPTOP}:{PORT}/pair" in owner_page


def test_a_device_that_is_in_and_the_computer_itself_need_no_pairing(place: Place) -> None:
    phone, here = place.away(), place.here()
    pair(place, phone)
    invitation = place.keeper.invite()
    for browser in (phone, here):
        assert "let in" in browser.get("/pair").text
        csrf = token_on(browser.get("/").text)
        assert (
            browser.post("/pair", data={"csrf": csrf, "token": invitation.token}).status_code == 303
        )
    assert len(place.keeper.devices()) == 1


@pytest.mark.parametrize("turned", ["flip", "cut", "other key", "no time", "text", "list"])
def test_a_cookie_that_was_tampered_with_is_no_pass(place: Place, turned: str) -> None:
    phone = place.away()
    pair(place, phone)
    name, value = cookie_of(phone)
    body, when, mark = value.rsplit(".", 2)
    held = Seats(place.keeper.key).read_device(value)
    assert held is not None
    forged = {
        "flip": f"{body}.{when}.{mark[:-2]}{'A' if mark[-2] != 'A' else 'B'}{mark[-1]}",
        "cut": f"{body}.{when}",
        "other key": Seats(b"k" * 32).device_cookie(held[0], held[1], secure=False).decode()
        .partition("=")[2].partition(";")[0],
        "no time": f"{body}..{mark}",
        "text": URLSafeTimedSerializer(b"k", salt="device").dumps("x"),
        "list": "W10.x.y",
    }[turned]  # fmt: skip
    other = place.away()
    other.cookies.set(name, forged if isinstance(forged, str) else forged.decode())
    assert other.get("/").status_code == 401


def test_the_right_key_with_a_wrong_secret_is_no_pass(place: Place) -> None:
    phone = place.away()
    pair(place, phone)
    device = place.keeper.devices()[0].id
    header = Seats(place.keeper.key).device_cookie(device, "x" * 43, secure=False).decode()
    other = place.away(cookie=header.partition(";")[0])
    assert other.get("/").status_code == 401


def test_the_cookie_is_for_the_server_alone(place: Place) -> None:
    phone = place.away()
    csrf = token_on(phone.get("/pair").text)
    token = place.keeper.invite().token
    answer = phone.post("/pair", data={"csrf": csrf, "token": token, "name": "phone"})
    given = [c for c in answer.headers.get_list("set-cookie") if c.startswith("device_")]
    assert len(given) == 1
    assert "HttpOnly" in given[0]
    assert "SameSite=Lax" in given[0]
    assert "Path=/" in given[0]
    assert "Domain" not in given[0]
    sealed = Seats(place.keeper.key).device_cookie("d", "s", secure=True).decode()
    assert sealed.startswith("__Host-device_")
    assert "; Secure" in sealed


def test_a_cookie_is_renewed_daily_and_ends_after_half_a_year() -> None:
    given = Seats(b"k" * 32).device_cookie("d", "s", secure=False).decode()
    value = given.partition("=")[2].partition(";")[0]

    def later(seconds: float) -> Seats:
        return Seats(b"k" * 32, wall=lambda: time.time() + seconds)

    held = later(DAY_S * 2).read_device(value)
    assert held is not None
    assert held[:2] == ("d", "s")
    assert held[2] == pytest.approx(DAY_S * 2, abs=5)
    assert later(COOKIE_S + 5).read_device(value) is None
    behind = later(-DAY_S).read_device(value)  # the clock was set back: the device stays in
    assert behind is not None
    assert behind[2] < 0


def test_an_old_cookie_is_written_anew(place: Place) -> None:
    phone = place.away()
    pair(place, phone)
    assert "set-cookie" not in phone.get("/").headers
    place.app.state.seats._wall = lambda: time.time() + DAY_S + 5
    assert phone.get("/").headers["set-cookie"].startswith("device_")


def test_a_device_stays_in_over_a_restart_and_for_one_book_only(tmp_path: Path) -> None:
    first = make_place(tmp_path)
    phone = first.away()
    pair(first, phone)
    name, value = cookie_of(phone)
    csrf = token_on(phone.get("/").text)
    first.keeper.close()
    again = make_place(tmp_path)
    back = again.away(cookie=f"{name}={value}")
    assert back.get("/").status_code == 200
    assert back.post("/say", data={"csrf": csrf, "text": "kept page"}).status_code == 200
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    assert make_place(elsewhere).away(cookie=f"{name}={value}").get("/").status_code == 401


def test_the_last_day_is_written_once_a_day(place: Place) -> None:
    phone = place.away()
    pair(place, phone)
    place.clock.wait(days=2)
    phone.get("/")
    (device,) = place.keeper.devices()
    assert (device.seen_on - device.paired_on).days == 2


@pytest.mark.skipif(os.name != "posix", reason="only Unix has these rights of files")
def test_keys_are_for_their_owner_alone(place: Place, tmp_path: Path) -> None:
    place.keeper.invite()
    folder = keys_folder(tmp_path / "garden.book")
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    names = {p.name for p in folder.iterdir()}
    assert {"server.key", "devices.db"} <= names
    assert {stat.S_IMODE(p.stat().st_mode) for p in folder.iterdir()} == {0o600}
    (folder / "server.key").chmod(0o644)
    assert secret_file(folder, "server.key", lambda: b"new") == place.keeper.key
    assert stat.S_IMODE((folder / "server.key").stat().st_mode) == 0o600


def test_of_many_makers_of_a_key_all_read_the_same(tmp_path: Path) -> None:
    with ThreadPoolExecutor(8) as pool:
        made = pool.map(
            lambda n: secret_file(tmp_path / "k", "a.key", lambda: bytes([n]) * 32), range(1, 40)
        )
    assert len(set(made)) == 1
    assert [p.name for p in (tmp_path / "k").iterdir()] == ["a.key"]


@pytest.mark.parametrize("name", ["", "   ", "\x00\n", "x" * 41])
def test_a_device_needs_a_name_of_one_short_line(place: Place, name: str) -> None:
    with pytest.raises(TextError):
        clean_name(name)
    assert ask_in(place.away(), token=place.keeper.invite().token, name=name) == 422
    assert place.keeper.devices() == []


def test_names_are_shown_as_text(place: Place) -> None:
    phone = place.away()
    pair(place, phone, "<b>&\"'")
    page = place.here().get("/devices").text
    assert "<b>" not in page
    assert "&lt;b&gt;" in page


def test_there_is_an_end_to_the_list(place: Place) -> None:
    for _ in range(MOST_DEVICES):
        assert place.keeper.admit_by_token(place.keeper.invite().token, "phone") is not None
    with pytest.raises(RangeError, match="Let one out first"):
        place.keeper.invite()


def test_a_device_that_is_not_there_is_told(place: Place) -> None:
    with pytest.raises(UnknownNameError, match="no device"):
        place.keeper.let_out("nobody")
    with pytest.raises(UnknownNameError, match="no device"):
        place.keeper.rename("nobody", "name")
    here = place.here()
    csrf = token_on(here.get("/").text)
    assert here.post("/devices/nobody/out", data={"csrf": csrf}).status_code == 404


def test_the_page_of_a_lone_computer_says_how_to_open_the_network(tmp_path: Path) -> None:
    page = make_place(tmp_path, lan=False).here().get("/devices").text
    assert "boughwright serve --lan" in page
    assert not re.search("invite", page)

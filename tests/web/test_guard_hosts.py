"""Which Host headers the server answers to, and who counts as this computer."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from guard_help import LAPTOP, PHONE, PORT, Place, client, make_place
from hypothesis import given
from hypothesis import strategies as st

from boughwright.web.guard import Listening
from boughwright.web.guard.hosts import host_fits, is_loopback, split_host

if TYPE_CHECKING:
    from pathlib import Path

LAN = Listening("http", PORT, lan=True)


@pytest.fixture
def place(tmp_path: Path) -> Place:
    return make_place(tmp_path)


@pytest.mark.parametrize(
    "host",
    [f"127.0.0.1:{PORT}", f"localhost:{PORT}", f"LocalHost:{PORT}", f"[::1]:{PORT}"],
)
def test_this_computer_may_use_its_own_names(place: Place, host: str) -> None:
    assert place.here(host=host).get("/").status_code == 200


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        f"evil.example:{PORT}",
        "127.0.0.1",  # no port is port 80
        "127.0.0.1:8171",
        f"127.0.0.1:{PORT}0",
        "127.0.0.1:99999",
        f"localhost.:{PORT}",
        f"localhost.evil.example:{PORT}",
        f"127.0.0.1.evil.example:{PORT}",
        f"evil.example@127.0.0.1:{PORT}",
        f"127.0.0.1:{PORT}@evil.example",
        f"127.0.0.1:{PORT},evil.example",
        f"127.0.0.2:{PORT}",
        f"2130706433:{PORT}",  # 127.0.0.1 as one number
        f"0x7f.1:{PORT}",
        f"[::1%25lo]:{PORT}",
        f"::1:{PORT}",
        f"127.0.0.1:{PORT}/x",
        f"127.0.0.1:+{PORT}",
        "",
        " ",
        f"{LAPTOP}:{PORT}",  # not where this request arrived
    ],
)
def test_any_other_host_is_refused_from_this_computer(place: Place, host: str) -> None:
    answer = place.here(host=host).get("/")
    assert answer.status_code == 400
    assert "not an address of this server" in answer.text
    assert 'name="csrf"' not in answer.text


def test_headers_of_a_proxy_do_not_change_the_host(place: Place) -> None:
    here = place.here(host="evil.example", x_forwarded_host=f"127.0.0.1:{PORT}")
    assert here.get("/").status_code == 400
    assert place.here(x_forwarded_host="evil.example").get("/").status_code == 200


@pytest.mark.parametrize("header", ["x-forwarded-for", "forwarded", "x-real-ip"])
def test_what_a_proxy_passes_on_is_not_this_computer(place: Place, header: str) -> None:
    here = client(place.app, f"http://127.0.0.1:{PORT}", "127.0.0.1", {header: "127.0.0.1"})
    assert here.get("/").status_code == 401


def test_a_claimed_address_makes_no_owner(place: Place) -> None:
    assert place.away(x_forwarded_for="127.0.0.1").get("/").status_code == 401


@pytest.mark.parametrize(
    "host", [f"{LAPTOP}:{PORT}", f"laptop.local:{PORT}", f"LAPTOP.local:{PORT}"]
)
def test_a_device_is_heard_at_the_computers_address_and_name(place: Place, host: str) -> None:
    away = client(place.app, f"http://{LAPTOP}:{PORT}", PHONE, {"host": host})
    assert away.get("/pair").status_code == 200


@pytest.mark.parametrize(
    "host",
    [f"127.0.0.1:{PORT}", f"localhost:{PORT}", f"192.168.1.51:{PORT}", f"other.local:{PORT}"],
)
def test_a_device_is_not_heard_under_another_name(place: Place, host: str) -> None:
    away = client(place.app, f"http://{LAPTOP}:{PORT}", PHONE, {"host": host})
    assert away.get("/pair").status_code == 400


def test_without_the_network_door_no_address_is_good(tmp_path: Path) -> None:
    closed = make_place(tmp_path, lan=False)
    assert closed.here().get("/").status_code == 200
    assert closed.away().get("/pair").status_code == 400


@given(st.text(max_size=40))
def test_no_text_passes_unless_it_is_a_name_of_ours(text: str) -> None:
    passed = host_fits(text, door=LAN, names=("laptop.local",), arrived_at=LAPTOP, from_here=True)
    ours = {f"{n}:{PORT}" for n in ("localhost", "127.0.0.1", "[::1]", LAPTOP, "laptop.local")}
    assert not passed or text.lower() in ours


def test_an_address_in_ipv6_form_is_the_same_address() -> None:
    assert split_host("[FE80::1]:8170", "http") == ("[fe80::1]", 8170)
    assert split_host("a.local", "https") == ("a.local", 443)
    assert host_fits(f"{LAPTOP}:{PORT}", door=LAN, names=(), arrived_at=f"::ffff:{LAPTOP}",
                     from_here=False)  # fmt: skip
    assert host_fits(f"[fe80::1]:{PORT}", door=LAN, names=(), arrived_at="fe80::1%eth0",
                     from_here=False)  # fmt: skip


@pytest.mark.parametrize(
    ("address", "own"),
    [("127.0.0.1", True), ("127.8.9.1", True), ("::1", True), ("::ffff:127.0.0.1", True),
     ("192.168.1.5", False), ("::ffff:192.168.1.5", False), ("testclient", False), ("", False)],
)  # fmt: skip
def test_loopback_addresses(address: str, own: bool) -> None:
    assert is_loopback(address) is own

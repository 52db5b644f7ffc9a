"""How much and how often: bodies are cut off as they stream in, askers slowed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import anyio
import pytest
from guard_help import PHONE, Place, chunked, make_place, token_on
from hypothesis import given
from hypothesis import strategies as st

from boughwright.web.guard.bodies import Body, boundary_of, limit_of, told_size
from boughwright.web.guard.faults import Refused
from boughwright.web.guard.options import MOST_FIELDS
from boughwright.web.guard.rates import Buckets, Rate

if TYPE_CHECKING:
    from pathlib import Path

FORM = {"content-type": "application/x-www-form-urlencoded"}


@pytest.fixture
def place(tmp_path: Path) -> Place:
    return make_place(tmp_path)


def with_token(place: Place, **more: str) -> dict[str, str]:
    return {"x-csrf": token_on(place.here().get("/").text), **more}


def test_each_kind_of_body_has_its_limit(place: Place) -> None:
    guard = place.app.state.guard
    assert limit_of("/say", "", guard) == 64_000
    assert limit_of("/api/lines", "application/json", guard) == 1_000_000
    assert limit_of("/trees/elm/photos", "multipart/form-data", guard) == 40_000_000
    assert limit_of("/trees/elm/photos", "application/x-www-form-urlencoded", guard) == 64_000
    assert limit_of("/weather", "multipart/form-data", guard) == 60_000_000
    assert limit_of("/pair", "application/x-www-form-urlencoded", guard) == 4_000


@pytest.mark.parametrize(("size", "status"), [(64_000, 200), (64_001, 413)])
def test_a_form_at_its_limit_is_taken_and_one_over_is_not(
    place: Place, size: int, status: int
) -> None:
    body = b"text=" + b"a" * (size - 5)
    answer = place.here().post("/say", content=body, headers=with_token(place, **FORM))
    assert answer.status_code == status
    if status == 413:
        assert "too large to take" in answer.text
        assert "up to 64 kB" in answer.text


def test_a_told_length_over_the_limit_is_refused_before_a_byte_is_read(place: Place) -> None:
    read: list[int] = []
    headers = with_token(place, **{"content-length": "200000000", "content-type": "image/jpeg"})
    answer = place.here().post("/trees/elm/photos", content=chunked(200, 1_000_000, read)(),
                               headers=headers)  # fmt: skip
    assert answer.status_code == 413
    assert place.done == []


@pytest.mark.parametrize("told", ["-1", "1e3", "0x10", "", "9" * 30, "１２", "1,1"])
def test_a_length_that_is_no_length_is_refused(place: Place, told: str) -> None:
    headers = [(b"x-csrf", with_token(place)["x-csrf"].encode()),
               (b"content-length", told.encode("utf-8"))]  # fmt: skip
    answer = place.here().post("/api/lines", content=b"", headers=headers)
    assert answer.status_code in (400, 413)
    assert place.done == []


def run_body(pieces: list[bytes], most: int, **more: Any) -> tuple[int, str]:
    """Read a body to its end; return how many pieces were asked for, and the refusal's slug."""
    asked = 0

    async def receive() -> dict[str, Any]:
        nonlocal asked
        asked += 1
        last = asked == len(pieces)
        return {"type": "http.request", "body": pieces[asked - 1], "more_body": not last}

    async def read() -> str:
        body = Body(receive, most, 5.0, **more)
        try:
            while (await body.receive()).get("more_body"):
                pass
        except Refused as refused:
            return refused.fault.slug
        return ""

    slug = anyio.run(read)
    return asked, slug


def test_a_body_without_a_length_is_cut_off_at_its_limit() -> None:
    # 200 MB in pieces of 1 MB against 40 MB: the 41st piece goes over, none after it is asked for.
    assert run_body([b"x" * 1_000_000] * 200, 40_000_000) == (41, "too-big")
    assert run_body([b"x" * 1_000_000] * 40, 40_000_000) == (40, "")


def test_a_chunked_upload_over_the_limit_reaches_no_page(tmp_path: Path) -> None:
    place = make_place(tmp_path, body_limits=(("/api/lines", 100_000),))
    read: list[int] = []
    answer = place.here().post("/api/lines", content=chunked(50, 10_000, read)(),
                               headers=with_token(place))  # fmt: skip
    assert answer.status_code == 413
    assert answer.json()["error"]["allowed"] == "up to 100 kB"
    assert place.done == []


def test_a_file_over_the_limit_reaches_no_page(tmp_path: Path) -> None:
    place = make_place(tmp_path, body_limits=(("/trees/*/photos", 100_000),))
    csrf = with_token(place)["x-csrf"]
    answer = place.here().post(
        "/trees/elm/photos", data={"csrf": csrf}, files={"file": ("a.jpg", b"x" * 200_000)}
    )
    assert answer.status_code == 413
    assert place.done == []


def test_a_form_of_too_many_fields_is_refused(place: Place) -> None:
    csrf = with_token(place)["x-csrf"]
    fields = "&".join(["csrf=" + csrf, "text=a", *(f"f{n}=" for n in range(MOST_FIELDS))])
    assert place.here().post("/say", content=fields, headers=FORM).status_code == 413
    files = [("file", (f"{n}.jpg", b"x")) for n in range(MOST_FIELDS + 2)]
    answer = place.here().post("/trees/elm/photos", data={"csrf": csrf}, files=files)
    assert answer.status_code == 413
    assert place.done == []


@given(st.lists(st.binary(max_size=12), min_size=1, max_size=12), st.integers(240, 270))
def test_parts_are_counted_however_the_body_is_cut(pieces: list[bytes], marks: int) -> None:
    boundary = b"--mark"
    whole = b"".join(piece.replace(b"-", b"") + boundary for piece in pieces) + boundary * marks
    over = whole.count(boundary) > MOST_FIELDS + 1
    cut = [whole[i : i + 3] for i in range(0, len(whole), 3)]
    assert run_body(cut, 10**6, boundary=boundary)[1] == ("too-many-fields" if over else "")


def test_a_body_that_stops_coming_is_given_up() -> None:
    async def receive() -> dict[str, Any]:
        await anyio.sleep(60)
        return {"type": "http.disconnect"}

    async def read() -> str:
        with pytest.raises(Refused) as refused:
            await Body(receive, 100, 0.05).receive()
        return refused.value.fault.slug

    assert anyio.run(read) == "slow"


def test_what_was_read_to_find_the_token_is_read_again_whole() -> None:
    pieces = [b"ab", b"cd", b"ef"]

    async def receive() -> dict[str, Any]:
        piece = pieces.pop(0)
        return {"type": "http.request", "body": piece, "more_body": bool(pieces)}

    async def read() -> tuple[bytes, bytes]:
        body = Body(receive, 100, 5.0)
        begun = await body.begin(3)
        whole, more = b"", True
        while more:
            message = await body.receive()
            whole += message["body"]
            more = message["more_body"]
        return begun, whole

    assert anyio.run(read) == (b"abcd", b"abcdef")


def test_boundaries_are_read_as_browsers_write_them() -> None:
    assert boundary_of("multipart/form-data; boundary=----WebKit7") == b"------WebKit7"
    assert boundary_of('multipart/form-data; charset=utf-8; BOUNDARY="a b"') == b"--a b"
    assert boundary_of("multipart/form-data") is None
    assert (told_size(40_000_000), told_size(64_000)) == ("40 MB", "64 kB")


def test_a_stranger_is_slowed_with_a_plain_page_and_told_when(place: Place) -> None:
    phone = place.away()
    statuses = [phone.get("/pair").status_code for _ in range(45)]
    assert statuses == [200] * 40 + [429] * 5
    answer = phone.get("/pair")
    assert answer.headers["retry-after"] == "1"
    assert "Wait a little" in answer.text
    assert place.away("192.168.1.9").get("/pair").status_code == 200  # others are not slowed
    assert place.here().get("/").status_code == 200
    place.clock.wait(seconds=1)
    assert [phone.get("/pair").status_code for _ in range(3)] == [200, 200, 429]


def test_the_computer_itself_is_slowed_too_but_late(place: Place) -> None:
    here = place.here()
    statuses = [here.get("/api/count/1").status_code for _ in range(301)]
    assert statuses == [200] * 300 + [429]
    assert here.get("/api/count/1").json()["error"]["slug"] == "too-often"


@given(st.lists(st.tuples(st.floats(0, 10), st.integers(0, 3)), max_size=60))
def test_no_sender_gets_more_than_burst_and_refill(asks: list[tuple[float, int]]) -> None:
    now = 0.0
    buckets = Buckets(Rate(burst=5, per_s=0.5), lambda: now)
    granted = dict.fromkeys(range(4), 0)
    for pause, sender in asks:
        now += pause
        wait = buckets.take(str(sender))
        granted[sender] += not wait
        assert 0 <= wait <= 2.0  # a token comes every two seconds
    assert all(count <= 5 + now * 0.5 + 1e-6 for count in granted.values())


def test_a_clock_that_stands_or_runs_back_gives_nothing_away() -> None:
    times = iter([10.0, 5.0, 5.0, 4.0])
    buckets = Buckets(Rate(burst=2, per_s=1.0), lambda: next(times))
    assert [buckets.take("a") > 0 for _ in range(4)] == [False, False, True, True]


def test_buckets_stay_few_however_many_ask() -> None:
    buckets = Buckets(Rate(1, 1), lambda: 0.0, most=100)
    for n in range(1000):
        buckets.take(f"{PHONE}-{n}")
    assert len(buckets) == 100
    assert buckets.take(f"{PHONE}-999") > 0  # the newest are kept

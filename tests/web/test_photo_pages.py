"""Pages and answers about photos: read and used without JavaScript, and given rubbish."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from html import unescape
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import uuid4

import pytest
from photo_app import client_of
from photo_book import (
    HEIGHT_MM,
    START,
    TODAY,
    TREE,
    Camera,
    as_file,
    drawn,
    height_read,
    listed,
    new_book,
    write,
)
from PIL import Image
from uuid6 import uuid7

from boughwright.journal.events import BranchSet, Event, GardenSet, PlaceSet, TreeSet
from boughwright.store import photos as folder

if TYPE_CHECKING:
    from fastapi.testclient import TestClient

BASE = f"/trees/{TREE}/photos"
FAR = Camera(1.3, (410.0, 900.0), (1000, 1300))
WIDE = Camera(2.2, (900.0, 1200.0), (2400, 1400))
SCRIPT = "<script>alert(1)</script> **bold** [x](javascript:y)"


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = new_book(tmp_path)
    write(
        path,
        Event(PlaceSet("home", {"latitude": 51.0}), START),
        Event(GardenSet({"standing_date": TODAY}), START),
    )
    return path


@pytest.fixture
def page(book: Path) -> TestClient:
    return client_of(book)


def send(page: TestClient, picture: bytes, **fields: Any) -> Any:
    """Send the form of a new photo."""
    told = {"side": "front", "on": "2026-06-01"} | fields
    return page.post(BASE, files={"file": ("..\\../<b>.jpg", picture, "text/html")}, data=told)


def kept(page: TestClient, camera: Camera = FAR, **fields: Any) -> str:
    """Send a photo and return its name."""
    answer = send(page, as_file(drawn(camera)), **fields)
    assert answer.status_code == 303
    return str(answer.headers["location"]).rpartition("/")[2]


def tapped(page: TestClient, name: str, camera: Camera, **fields: Any) -> Any:
    """Send the form of a photo's scale: the soil, then the top of the tree."""
    (x1, y1), (x2, y2) = camera.share(0, 0), camera.share(0, HEIGHT_MM)
    ends = {"x1": x1 * 100, "y1": y1 * 100, "x2": x2 * 100, "y2": y2 * 100}
    return page.post(f"{BASE}/{name}/scale", data=ends | {"soil": "yes", "known": "420"} | fields)


def forms_of(text: str) -> list[str]:
    return re.findall(r"<form\b.*?</form>", text, re.S)


def shown(text: str) -> str:
    return unescape(re.sub(r"<[^>]+>", " ", text))


# --- taking --------------------------------------------------------------------------------------


def test_an_empty_tree_says_so_and_offers_the_form(page: TestClient) -> None:
    answer = page.get(BASE)
    assert answer.status_code == 200
    assert "Gate hornbeam has no photo yet." in answer.text
    (form,) = forms_of(answer.text)
    for part in ('enctype="multipart/form-data"', 'accept="image/*"', 'capture="environment"',
                 'method="post"', 'name="csrf"', "data-photo"):  # fmt: skip
        assert part in form
    # The token stands first in a form with a file.
    assert form.index('name="csrf"') < form.index('type="file"')


def test_a_photo_is_taken_and_shown_by_side_and_day(page: TestClient, book: Path) -> None:
    name = kept(page, note="before wiring")
    kept(page, WIDE, side="9", on="2025-02-01")
    text = page.get(BASE).text
    assert "Gate hornbeam: 2 photos, the last taken Monday 1 June 2026." in shown(text)
    assert shown(text).index("From the front") < shown(text).index("From 9 o’clock")
    assert f'src="/photos/{name}/320"' in text
    assert 'alt="Gate hornbeam, from the front, Monday 1 June 2026"' in text
    one = page.get(f"{BASE}/{name}")
    assert one.status_code == 200
    assert "before wiring" in one.text
    assert "Day as you gave it" in one.text


def test_the_same_form_sent_twice_counts_once(page: TestClient, book: Path) -> None:
    sent = str(uuid7())
    first = send(page, as_file(drawn(FAR)), id=sent)
    again = send(page, as_file(drawn(FAR)), id=sent)
    assert first.headers["location"] == again.headers["location"]
    assert len(listed(book).photos) == 1


def test_a_photo_without_a_day_is_asked_for_it(page: TestClient, book: Path) -> None:
    answer = send(page, as_file(drawn(FAR)), on="", side="left", note="a & b")
    assert answer.status_code == 303
    assert listed(book).photos == ()
    asked = page.get(answer.headers["location"])
    assert "carries no day" in asked.text
    assert 'value="left" checked' in asked.text
    assert 'value="a &amp; b"' in asked.text
    path = str(answer.headers["location"]).partition("?")[0]
    done = page.post(path, data={"side": "left", "on": "2026-05-30", "note": "a & b"})
    assert done.status_code == 303
    assert [(p.on, p.side, p.note) for p in listed(book).photos] == [
        (date(2026, 5, 30), "left", "a & b")
    ]


def test_day_and_side_are_mended(page: TestClient, book: Path) -> None:
    name = kept(page)
    form = page.get(f"{BASE}/{name}/day").text
    assert 'value="2026-06-01"' in form
    page.post(f"{BASE}/{name}/day", data={"side": "11", "on": "2024-03-01", "note": ""})
    (photo,) = listed(book).photos
    assert (photo.side, photo.on) == ("11", date(2024, 3, 1))
    assert 'value="11" checked' in page.get(f"{BASE}/{name}/day").text


@pytest.mark.parametrize(
    ("picture", "fields", "told"),
    [
        (b"", {}, "no photo was chosen"),
        (b"<svg onload=alert(1)>", {}, "not a photo"),
        (b"\x00\x00\x00\x18ftypheic" + bytes(50), {}, "HEIC"),
        (None, {"side": "top left"}, "no side of a tree"),
        (None, {"side": ""}, "no side of a tree"),
        (None, {"on": "yesterday"}, "no day"),
        (None, {"on": "2026-06-10"}, "yet to come"),
        (None, {"on": "0001-01-01"}, "0001-01-01"),
        (None, {"on": "2026-02-30"}, "no day"),
        (None, {"id": "not an id"}, "not understood"),
        (None, {"note": "a\x00b"}, "note"),
        (None, {"note": "x" * 3000}, "not understood"),
    ],
    ids=repr,
)
def test_rubbish_is_refused_in_plain_words_and_nothing_is_written(
    page: TestClient, book: Path, picture: bytes | None, fields: dict[str, str], told: str
) -> None:
    answer = send(page, as_file(drawn(FAR)) if picture is None else picture, **fields)
    assert answer.status_code == 422
    assert told in shown(answer.text)
    assert listed(book).photos == ()


def test_forms_without_their_fields_are_refused(page: TestClient) -> None:
    name = kept(page)
    for path in (BASE, f"{BASE}/{name}/mark", f"{BASE}/{name}/scale", f"{BASE}/{name}/day"):
        assert page.post(path, data={}).status_code == 422
        assert page.post(path, content=b"\xff\xfe").status_code == 422


def test_unknown_trees_and_photos_are_not_found(page: TestClient) -> None:
    name = kept(page)
    nothing = "0" * 64
    for path in (
        f"/trees/nobody/photos/{name}",
        f"{BASE}/{nothing}",
        f"{BASE}/{nothing}/scale",
        f"{BASE}/{nothing}/day",
        f"{BASE}/..%2f..%2fetc",
        f"/trees/ditch/photos/{name}",
        f"{BASE}/pair?one={name}&other={nothing}",
    ):
        assert page.get(path).status_code == 404, path
    for path in (f"{BASE}/{nothing}/back", f"{BASE}/{nothing}/mark", f"{BASE}/{nothing}/day"):
        fields = {"x": "10", "y": "10", "branch": "b-1", "side": "front", "on": "2026-06-01"}
        assert page.post(path, data=fields).status_code == 404, path
    assert page.get(f"{BASE}/pair?one=x&other=y").status_code == 422


def test_words_of_the_grower_stay_words(page: TestClient, book: Path) -> None:
    write(book, Event(TreeSet({"name": SCRIPT}), TODAY, TREE))
    write(book, Event(BranchSet({"name": SCRIPT}), TODAY, TREE, "b-1"))
    page = client_of(book)
    name = kept(page, note=SCRIPT)
    fields = {"label": SCRIPT[:60], "x": "10", "y": "20"}
    assert page.post(f"{BASE}/{name}/mark", data=fields).status_code == 303
    page.post(f"{BASE}/{name}/mark", data={"branch": "b-1", "x": "30", "y": "20"})
    for path in (BASE, f"{BASE}/{name}", f"{BASE}/{name}/day", f"{BASE}/{name}/scale"):
        text = page.get(path).text
        assert "<script>alert" not in text
        assert "&lt;script&gt;" in text


# --- the files -----------------------------------------------------------------------------------


def test_pictures_are_sent_for_ever_and_never_sniffed(page: TestClient) -> None:
    name = kept(page)
    for path, kind, start in (
        (f"/photos/{name}", "image/jpeg", b"\xff\xd8\xff"),
        (f"/photos/{name}/320", "image/webp", b"RIFF"),
        (f"/photos/{name}/1200", "image/webp", b"RIFF"),
    ):
        answer = page.get(path)
        assert answer.status_code == 200
        assert answer.headers["content-type"] == kind
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert "immutable" in answer.headers["cache-control"]
        assert "private" in answer.headers["cache-control"]
        assert answer.content.startswith(start)
        again = page.get(path, headers={"If-None-Match": answer.headers["etag"]})
        assert (again.status_code, again.content) == (304, b"")


@pytest.mark.parametrize(
    "name",
    ["0" * 64, "A" * 64, "..%2f..%2fgarden.book", "%2e%2e", "x", "0" * 63, "0" * 65, "%00" * 64],
)
def test_no_other_name_is_a_picture(page: TestClient, name: str) -> None:
    kept(page)
    for path in (f"/photos/{name}", f"/photos/{name}/320"):
        assert page.get(path).status_code == 404
    assert page.get(f"/photos/{'0' * 64}/9999").status_code == 404


def test_a_missing_file_is_told_on_its_pages(page: TestClient, book: Path) -> None:
    name = kept(page)
    for path in folder.folder_of(book).rglob("*.jpg"):
        path.unlink()
    for path in (BASE, f"{BASE}/{name}"):
        answer = page.get(path)
        assert answer.status_code == 200
        assert "missing" in answer.text
        assert f'src="/photos/{name}' not in answer.text


# --- marks, scale, pairs -------------------------------------------------------------------------


def test_a_branch_is_marked_by_numbers_and_taken_back(page: TestClient, book: Path) -> None:
    name = kept(page)
    form = forms_of(page.get(f"{BASE}/{name}").text)[0]
    for part in ("data-marker-form", 'name="x"', 'name="y2"', 'max="100"', 'value="b-1">1L'):
        assert part in form
    page.post(f"{BASE}/{name}/mark", data={"branch": "b-1", "x": "25", "y": "40,5"})
    page.post(
        f"{BASE}/{name}/mark", data={"branch": "b-2", "x": "60", "y": "30", "x2": "80", "y2": "20"}
    )
    marks = listed(book).photo(name).marks
    assert [(m.name, m.x, m.y, m.x2, m.y2) for m in marks] == [
        ("1L", 0.25, 0.405, None, None),
        ("2R", 0.6, 0.3, 0.8, 0.2),
    ]
    text = page.get(f"{BASE}/{name}").text
    assert f'href="/trees/{TREE}/branches/b-1"' in text
    # 2R: from (600, 390) to (800, 260) in a box 1000 wide and 1300 tall.
    assert "M600.0 390.0L800.0 260.0" in text
    done = page.post(f"{BASE}/{name}/back", data={"record": str(marks[0].event)})
    assert done.headers["location"] == f"{BASE}/{name}"
    assert [m.name for m in listed(book).photo(name).marks] == ["2R"]


@pytest.mark.parametrize(
    "fields",
    [
        {"x": "10"},
        {"x": "101", "y": "5"},
        {"x": "-1", "y": "5"},
        {"x": "nan", "y": "5"},
        {"x": "1e999", "y": "5"},
        {"x": "a", "y": "5"},
        {"x": "5", "y": "5", "x2": "9"},
        {"x": "5", "y": "5", "branch": "b-77"},
        {"x": "5", "y": "5", "branch": "", "label": "  "},
    ],
    ids=repr,
)
def test_marks_that_cannot_be_are_refused(
    page: TestClient, book: Path, fields: dict[str, str]
) -> None:
    name = kept(page)
    answer = page.post(f"{BASE}/{name}/mark", data={"branch": "b-1"} | fields)
    assert answer.status_code in {404, 422}
    assert listed(book).photo(name).marks == ()


def test_the_scale_is_set_in_the_unit_of_the_garden(page: TestClient, book: Path) -> None:
    name = kept(page)
    assert tapped(page, name, FAR).status_code == 303
    scale = listed(book).photo(name).scale
    assert scale is not None
    assert scale.mm_per_px == pytest.approx(1 / FAR.px_per_mm, rel=1e-6)
    assert scale.soil == pytest.approx(FAR.share(0, 0))
    write(book, Event(GardenSet({"units": "in"}), TODAY))
    inches = client_of(book)
    tapped(inches, name, FAR, known=str(HEIGHT_MM / 25.4))
    again = listed(book).photo(name).scale
    assert again is not None
    assert again.mm_per_px == pytest.approx(scale.mm_per_px)
    assert "in marked" in shown(inches.get(f"{BASE}/{name}").text)


def test_an_empty_length_is_the_height_that_is_known(page: TestClient, book: Path) -> None:
    name = kept(page)
    assert tapped(page, name, FAR, known="").status_code == 422
    write(book, Event(TreeSet({"height_mm": 450.0}), TODAY, TREE))
    assert "agreed outline" in page.get(f"{BASE}/{name}/scale").text
    assert tapped(page, name, FAR, known="").status_code == 303
    scale = listed(book).photo(name).scale
    assert scale is not None
    assert (scale.length_mm, scale.how) == (450.0, "outline")
    assert "no measure of the tree" in page.get(f"{BASE}/{name}").text
    write(book, height_read(431.0, date(2026, 5, 30)))
    tapped(page, name, FAR, known="")
    scale = listed(book).photo(name).scale
    assert scale is not None
    assert (scale.length_mm, scale.how) == (431.0, "tree height")


def test_two_photos_stand_at_one_scale_on_one_soil_line(page: TestClient, book: Path) -> None:
    first = kept(page, FAR, on="2024-03-01")
    second = kept(page, WIDE, on="2026-03-08")
    query = f"one={second}&other={first}"
    wait = page.get(f"{BASE}/pair?{query}")
    assert wait.status_code == 200
    assert f"{BASE}/{first}/scale?one=" in wait.text
    fields = {"one": second, "other": first}
    onward = tapped(page, first, FAR, **fields)
    assert onward.headers["location"].startswith(f"{BASE}/{second}/scale?")
    done = tapped(page, second, WIDE, **fields)
    assert done.headers["location"] == f"{BASE}/pair?{query}"
    text = page.get(f"{BASE}/pair?{query}").text
    assert "Friday 1 March 2024 and Sunday 8 March 2026" in shown(text)
    images = re.findall(
        r'<image [^>]*href="/photos/(\w+)/1200" x="([-\d.]+)" y="([-\d.]+)" width="([\d.]+)" '
        r'height="([\d.]+)"',
        text,
    )
    assert [name for name, *_ in images] == [first, second, first, second]
    # In each picture the foot of the trunk comes to lie at (0, 0), its top 420 mm above.
    for (_, *box), camera in zip(images, (FAR, WIDE, FAR, WIDE), strict=True):
        x, y, width, height = map(float, box)
        for up_mm in (0.0, HEIGHT_MM):
            share = camera.share(0, up_mm)
            assert x + share[0] * width == pytest.approx(0, abs=0.2)
            assert y + share[1] * height == pytest.approx(-up_mm, abs=0.2)
    boxes = re.findall(r'viewBox="([-\d. ]+)"', text)
    assert len({box for box in boxes if boxes.count(box) == 3}) == 1
    assert "style=" not in text


def test_a_pair_of_two_sides_is_told_off(page: TestClient) -> None:
    one, other = kept(page, FAR), kept(page, WIDE, side="back")
    answer = page.get(f"{BASE}/pair?one={one}&other={other}")
    assert answer.status_code == 200
    assert "same side" in shown(answer.text)


def test_a_photo_taken_back_can_be_put_back(page: TestClient, book: Path) -> None:
    name = kept(page)
    done = page.post(f"{BASE}/{name}/back")
    assert done.headers["location"] == f"{BASE}?back={name}"
    assert listed(book).photos == ()
    text = page.get(done.headers["location"]).text
    assert f'href="{BASE}/{name}/day"' in text
    assert page.get(f"{BASE}/{name}/day").status_code == 200
    page.post(f"{BASE}/{name}/day", data={"side": "front", "on": "2026-06-01"})
    assert [p.name for p in listed(book).photos] == [name]
    assert "/day" not in page.get(f"{BASE}?back=%22%3E").text


def test_every_page_has_one_heading_and_tokens_and_no_script_or_style_of_its_own(
    page: TestClient,
) -> None:
    first, second = kept(page, FAR, on="2024-03-01"), kept(page, WIDE)
    page.post(f"{BASE}/{first}/mark", data={"branch": "b-1", "x": "25", "y": "40"})
    tapped(page, first, FAR)
    pair = f"{BASE}/pair?one={first}&other={second}"
    paths = [BASE, f"{BASE}/{first}", f"{BASE}/{first}/scale", f"{BASE}/{first}/day", pair]
    tapped(page, second, WIDE)
    for path in paths:
        text = page.get(path).text
        assert text.count("<h1") == 1, path
        assert not re.search(
            r"\sstyle=|<style|\son\w+=|<script(?![^>]*(?:\bsrc=|application/json))", text
        ), path
        assert "!" not in shown(text).replace("<!doctype html>", ""), path
        for form in forms_of(text):
            assert 'method="get"' in form or 'name="csrf"' in form
        for image in re.findall(r"<img\b[^>]*>", text):
            assert "alt=" in image


def test_the_pages_speak_german_too(page: TestClient, book: Path) -> None:
    name = kept(page)
    write(book, Event(GardenSet({"language": "de"}), TODAY))
    text = client_of(book).get(f"{BASE}/{name}").text
    assert 'lang="de"' in text


# --- answers -------------------------------------------------------------------------------------


def api(page: TestClient, picture: bytes, **fields: Any) -> Any:
    told = {"id": str(uuid4()), "tree": TREE, "side": "front"} | fields
    return page.post("/api/photos", files={"file": ("photo", picture)}, data=told)


def test_the_outbox_sends_a_photo_and_sends_it_again(page: TestClient, book: Path) -> None:
    fields = {"id": str(uuid4()), "said": "2026-06-08T23:30:00+02:00"}
    first = api(page, as_file(drawn(FAR)), **fields)
    assert first.status_code == 200
    told = first.json()
    assert (told["shape"], told["on"], told["known"]) == (
        "boughwright/photo-added", "2026-06-08", False,
    )  # fmt: skip
    again = api(page, as_file(drawn(FAR)), **fields).json()
    assert again == told | {"known": True}
    (photo,) = listed(book).photos
    assert photo.dated == "sent"
    assert "Day it was sent" in page.get(BASE).text


def test_a_phone_with_a_wrong_clock_is_put_right(page: TestClient) -> None:
    now = datetime.now(UTC)
    wrong = now - timedelta(days=400)
    # Said five minutes before it was sent, by the same wrong clock. The garden's day is earlier
    # than the calendar's, so the photo falls on the garden's day.
    told = api(page, as_file(drawn(FAR)), said=(wrong - timedelta(minutes=5)).isoformat(),
               sent=wrong.isoformat()).json()  # fmt: skip
    assert told["on"] == TODAY.isoformat()


def test_the_day_given_and_the_day_in_the_photo_come_first(page: TestClient) -> None:
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = "2024:03:01 10:00:00"
    picture = as_file(drawn(FAR), exif=exif.tobytes())
    said = "2026-06-08T10:00:00Z"
    assert api(page, picture, said=said).json()["on"] == "2024-03-01"
    assert api(page, picture, said=said, on="2025-01-01").json()["on"] == "2025-01-01"
    assert api(page, as_file(drawn(WIDE))).json()["on"] is None


@pytest.mark.parametrize(
    "fields",
    [
        {"tree": "nobody"},
        {"tree": ""},
        {"side": "x"},
        {"on": "2027-01-01"},
        {"id": "x"},
        {"said": "soon"},
        {"said": "9999-12-31T23:59:59Z", "sent": "0001-01-01T00:00:00Z", "side": "x"},
    ],
    ids=repr,
)
def test_the_outbox_is_told_at_once_what_will_never_be_taken(
    page: TestClient, book: Path, fields: dict[str, str]
) -> None:
    answer = api(page, as_file(drawn(FAR)), **fields)
    assert answer.status_code == 422
    assert answer.json()["error"]["what"]
    assert listed(book).photos == ()


def test_clocks_beyond_all_bounds_do_no_harm(page: TestClient) -> None:
    told = api(page, as_file(drawn(FAR)), said="9999-12-31T23:59:59Z", sent="0001-01-01T00:00:00Z")
    assert told.json()["on"] == TODAY.isoformat()


def test_lists_and_pairs_are_answered(page: TestClient) -> None:
    first, second = kept(page, FAR, on="2024-03-01"), kept(page, WIDE)
    told = page.get(f"/api/trees/{TREE}/photos").json()
    assert [photo["name"] for photo in told["photos"]] == [second, first]
    path = f"/api/trees/{TREE}/photos/pair?one={first}&other={second}"
    assert page.get(path).status_code == 422
    for name, camera in ((first, FAR), (second, WIDE)):
        tapped(page, name, camera)
    assert page.get(path).json()["before"]["tree_mm"] == HEIGHT_MM
    assert page.get("/api/trees/nobody/photos").status_code == 404


DOC = Path(__file__).parents[2] / "docs" / "json-shapes.md"


def listed_keys(part: str) -> set[str]:
    """Return the keys that the page of shapes lists for a part."""
    text = DOC.read_text("utf-8").partition(f"### part: {part}\n")[2].partition("\n#")[0]
    return set(re.findall(r"^\| `([^`]+)` \|", text, re.M))


def keys_of(value: object, path: str = "") -> set[str]:
    """Return the path of every end of an answer."""
    if isinstance(value, dict):
        return set().union(*(keys_of(v, f"{path}.{k}" if path else k) for k, v in value.items()))
    if isinstance(value, list):
        return set().union(*(keys_of(v, f"{path}[]") for v in value))
    return {path}


def test_the_page_of_shapes_lists_every_key(page: TestClient) -> None:
    first, second = kept(page, FAR, on="2024-03-01"), kept(page, WIDE)
    for name, camera in ((first, FAR), (second, WIDE)):
        page.post(f"{BASE}/{name}/mark", data={"branch": "b-1", "x": "25", "y": "40"})
        tapped(page, name, camera)
    photos = page.get(f"/api/trees/{TREE}/photos").json()
    pair = page.get(f"/api/trees/{TREE}/photos/pair?one={first}&other={second}").json()
    added = api(page, as_file(drawn(FAR)), said="2026-06-08T10:00:00Z").json()
    assert listed_keys("photos") == keys_of(photos) | {"photos[].scale"}
    assert listed_keys("photo-pair") == keys_of(pair)
    assert listed_keys("photo-added") == keys_of(added)

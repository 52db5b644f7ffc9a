"""Pictures written down: once each, with a day and a side, marked, scaled, and taken back."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID, uuid4

import pytest
from photo_book import (
    START,
    TODAY,
    TREE,
    as_file,
    events_in,
    height_read,
    listed,
    new_book,
    tree_in,
    write,
)
from PIL import Image
from uuid6 import uuid7

from boughwright.errors import (
    BoughwrightError,
    FileError,
    RangeError,
    RecordError,
    TextError,
    UnknownNameError,
)
from boughwright.journal.events import (
    Event,
    Noted,
    Photographed,
    PhotoMarked,
    PhotoScaled,
    Withdrawn,
)
from boughwright.sources import Grade
from boughwright.store import photos as folder
from boughwright.usecases.folder import load, save
from boughwright.usecases.photo_entry import (
    Shot,
    add,
    added_shape,
    date_it,
    mark,
    scale,
    take_back,
)
from boughwright.usecases.photos import known_height, photos_shape, picture
from boughwright.usecases.records import records
from boughwright.usecases.say import Phrase, say

if TYPE_CHECKING:
    from pathlib import Path

DAY = date(2026, 6, 1)


def shot_of(colour: int = 90, taken: str | None = None) -> bytes:
    """Return a small picture, each colour another, with a day of the camera."""
    told = Image.Exif()
    if taken:
        told.get_ifd(0x8769)[0x9003] = taken
    return as_file(Image.new("RGB", (120, 160), (colour, 100, 100)), exif=told.tobytes())


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return new_book(tmp_path)


def test_a_picture_is_listed_with_its_day_side_and_small_copies(book: Path) -> None:
    shot = Shot("front", DAY, "Ana", " before wiring ")
    added = add(book, TREE, shot_of(), shot, today=TODAY)
    assert added.receipt == "Whole tree: photo, from the front: before wiring, Mon 1 June"
    (photo,) = listed(book).photos
    assert (photo.name, photo.on, photo.side, photo.view) == (
        added.photo, DAY, "front", "from the front",
    )  # fmt: skip
    assert (photo.width, photo.height, photo.who, photo.note) == (120, 160, "Ana", "before wiring")
    assert (photo.dated, photo.here, photo.marks, photo.scale) == ("said", True, (), None)
    assert all(folder.has(book, photo.name, side_px=side) for side in (320, 1200))
    assert picture(book, photo.name)[1] == "image/jpeg"


def test_an_upload_may_be_an_open_file(book: Path, tmp_path: Path) -> None:
    path = tmp_path / "..%2f<b>x.jpg"
    path.write_bytes(shot_of())
    with path.open("rb") as file:
        added = add(book, TREE, file, Shot("back", DAY), today=TODAY)
    assert added.photo == add(book, TREE, shot_of(), Shot("back", DAY), today=TODAY).photo


def test_the_day_in_the_picture_counts_unless_another_is_said(book: Path) -> None:
    own = add(book, TREE, shot_of(1, "2025:12:24 10:00:00"), Shot("front"), today=TODAY)
    told = add(book, TREE, shot_of(99, "2025:12:24 10:00:00"), Shot("front", DAY), today=TODAY)
    days = {photo.name: (photo.on, photo.dated) for photo in listed(book).photos}
    assert days == {own.photo: (date(2025, 12, 24), "camera"), told.photo: (DAY, "said")}


def test_the_day_it_was_sent_is_the_last_resort_and_told_as_such(book: Path) -> None:
    late = {"sent_on": TODAY}
    bare = add(book, TREE, shot_of(1), Shot("front", **late), today=TODAY)
    own = add(book, TREE, shot_of(99, "2025:12:24 10:00:00"), Shot("front", **late), today=TODAY)
    said = add(book, TREE, shot_of(199), Shot("front", DAY, **late), today=TODAY)
    days = {photo.name: (photo.on, photo.dated) for photo in listed(book).photos}
    assert days == {
        bare.photo: (TODAY, "sent"),
        own.photo: (date(2025, 12, 24), "camera"),
        said.photo: (DAY, "said"),
    }


@pytest.mark.parametrize("taken", [None, "2031:01:01 00:00:00", "0000:00:00 00:00:00"])
def test_a_picture_without_a_day_waits_for_one(book: Path, taken: str | None) -> None:
    before = events_in(book)
    added = add(book, TREE, shot_of(taken=taken), Shot("left"), today=TODAY)
    assert (added.on, added.event) == (None, None)
    assert events_in(book) == before
    assert listed(book).photos == ()
    dated = date_it(book, TREE, added.photo, Shot("left", DAY), today=TODAY)
    assert (dated.photo, dated.on) == (added.photo, DAY)
    assert [photo.on for photo in listed(book).photos] == [DAY]
    still = date_it(book, TREE, added.photo, Shot("left"), today=TODAY)
    assert still.on is None


def test_a_later_day_an_unknown_side_or_tree_is_refused_before_the_picture_is_read(
    book: Path,
) -> None:
    for tree, shot, error in (
        (TREE, Shot("front", TODAY + timedelta(days=1)), RangeError),
        (TREE, Shot("top left"), TextError),
        (TREE, Shot("13"), TextError),
        ("nobody", Shot("front", DAY), UnknownNameError),
        ("", Shot("front", DAY), UnknownNameError),
    ):
        with pytest.raises(error) as caught:
            add(book, tree, b"not even a picture", shot, today=TODAY)
        assert caught.value.todo
    with pytest.raises(FileError):
        add(book, TREE, b"not even a picture", Shot("front", DAY), today=TODAY)
    with pytest.raises(UnknownNameError):
        date_it(book, TREE, "0" * 64, Shot("front", DAY), today=TODAY)
    assert not folder.names(book)


@pytest.mark.parametrize("sent", [uuid7(), uuid4(), UUID(int=0)])
def test_the_same_id_twice_is_one_picture(book: Path, sent: UUID) -> None:
    shot = Shot("front", DAY, id=sent)
    now = datetime(2026, 6, 9, 8, tzinfo=UTC)
    first = add(book, TREE, shot_of(), shot, today=TODAY, now=now)
    again = add(book, TREE, shot_of(), shot, today=TODAY, now=now + timedelta(hours=1))
    assert again == replace(first, known=True)
    assert len(listed(book).photos) == 1
    assert sum(isinstance(e.body, Photographed) for e in events_in(book)) == 1


def test_a_reply_lost_while_the_day_was_asked_counts_once(book: Path) -> None:
    shot = Shot("front", id=uuid7())
    waits = add(book, TREE, shot_of(), shot, today=TODAY)
    assert add(book, TREE, shot_of(), shot, today=TODAY) == waits
    told = replace(shot, on=DAY)
    first = date_it(book, TREE, waits.photo, told, today=TODAY)
    assert date_it(book, TREE, waits.photo, told, today=TODAY) == replace(first, known=True)
    assert len(listed(book).photos) == 1


def test_the_same_picture_with_a_new_id_changes_nothing_or_its_day_and_side(book: Path) -> None:
    first = add(book, TREE, shot_of(), Shot("front", DAY), today=TODAY)
    same = add(book, TREE, shot_of(), Shot("front", DAY), today=TODAY)
    assert (same.known, same.event) == (True, first.event)
    # An earlier day said later still counts: the grower mends the day of a picture.
    add(book, TREE, shot_of(), Shot("back", DAY - timedelta(days=9)), today=TODAY)
    (photo,) = listed(book).photos
    assert (photo.side, photo.on) == ("back", DAY - timedelta(days=9))


def test_one_picture_may_show_two_trees(book: Path) -> None:
    one = add(book, TREE, shot_of(), Shot("front", DAY), today=TODAY)
    other = add(book, "ditch", shot_of(), Shot("left", DAY), today=TODAY)
    assert one.photo == other.photo
    assert [p.side for p in listed(book).photos] == ["front"]
    assert [p.side for p in listed(book, "ditch").photos] == ["left"]


def test_an_id_used_by_another_record_is_refused(book: Path) -> None:
    note = Event(Noted("x"), DAY, TREE, id=UUID("01975000-0000-8000-8000-000000000001"))
    write(book, note)
    with pytest.raises(RecordError, match="already used"):
        add(book, TREE, shot_of(), Shot("front", DAY, id=note.id), today=TODAY)
    first = add(book, TREE, shot_of(), Shot("front", DAY), today=TODAY)
    with pytest.raises(RecordError, match="already used"):
        add(book, "ditch", shot_of(), Shot("front", DAY, id=first.event), today=TODAY)


def test_many_senders_of_one_picture_at_once_write_it_once(book: Path) -> None:
    shot, found, upload = Shot("front", DAY), [], shot_of()
    gate = threading.Barrier(4)

    def send() -> None:
        gate.wait()
        found.append(add(book, TREE, upload, shot, today=TODAY))

    threads = [threading.Thread(target=send) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len({added.event for added in found}) == 1
    assert sum(not added.known for added in found) == 1
    assert len(listed(book).photos) == 1


# --- marks and scale -----------------------------------------------------------------------------


@pytest.fixture
def photo(book: Path) -> str:
    return add(book, TREE, shot_of(), Shot("front", DAY), today=TODAY).photo


def test_a_marked_branch_is_named_and_moves_when_marked_again(book: Path, photo: str) -> None:
    tree = tree_in(book)
    told = mark(book, tree, PhotoMarked(photo, 0.2, 0.5), branch="b-1", today=TODAY)
    assert told.receipts == ("1st left: marked on a photo",)
    mark(book, tree, PhotoMarked(photo, 0.8, 0.4, 0.9, 0.3), branch="b-2", today=TODAY)
    mark(book, tree, PhotoMarked(photo, 0.5, 0.1, label="dead tip"), today=TODAY)
    mark(book, tree, PhotoMarked(photo, 0.25, 0.55), branch="b-1", today=TODAY)
    marks = {m.name: (m.branch, m.x, m.y, m.x2, m.y2) for m in listed(book).photo(photo).marks}
    assert marks == {
        "1L": ("b-1", 0.25, 0.55, None, None),
        "2R": ("b-2", 0.8, 0.4, 0.9, 0.3),
        "dead tip": (None, 0.5, 0.1, None, None),
    }


def test_a_mark_sent_twice_counts_once(book: Path, photo: str) -> None:
    sent = uuid4()
    for _ in range(2):
        mark(book, tree_in(book), PhotoMarked(photo, 0.2, 0.5), branch="b-1", today=TODAY, id=sent)
    assert sum(isinstance(e.body, PhotoMarked) for e in events_in(book)) == 1


@pytest.mark.parametrize(
    ("body", "branch"),
    [
        (PhotoMarked("", 0.2, 0.5), "b-1"),
        (PhotoMarked("0" * 64, 0.2, 0.5), "b-1"),
        (None, "b-9"),
        (None, ""),
    ],
)
def test_marks_of_nothing_are_refused(
    book: Path, photo: str, body: PhotoMarked | None, branch: str
) -> None:
    before = events_in(book)
    with pytest.raises(BoughwrightError):
        mark(book, tree_in(book), body or PhotoMarked(photo, 0.2, 0.5), branch=branch, today=TODAY)
    assert events_in(book) == before


@pytest.mark.parametrize("place", [(-0.01, 0.5), (0.5, 1.01), (float("nan"), 0.5)])
def test_marks_beside_the_picture_are_refused(
    book: Path, photo: str, place: tuple[float, float]
) -> None:
    with pytest.raises(RangeError, match="0 to 1"):
        mark(book, tree_in(book), PhotoMarked(photo, *place), branch="b-1", today=TODAY)


def test_two_ends_of_a_known_length_give_the_scale(book: Path, photo: str) -> None:
    # The picture is 120 x 160 px. Ends (60, 144) and (60, 24): 120 px for 300 mm, 2.5 mm a pixel.
    body = PhotoScaled(photo, 0.5, 0.9, 0.5, 0.15, 300.0, 0.5, 0.9)
    scale(book, tree_in(book), body, today=TODAY)
    found = listed(book).photo(photo).scale
    assert found is not None
    assert found.mm_per_px == pytest.approx(2.5)
    assert (found.soil, found.length_mm, found.grade) == ((0.5, 0.9), 300.0, Grade.MEASURED)
    # Aslant: ends 90 px across and 120 px up are 150 px apart. 300 mm: 2 mm a pixel.
    scale(
        book, tree_in(book), PhotoScaled(photo, 0.1, 0.9, 0.85, 0.15, 300.0, how="outline"),
        today=TODAY,
    )  # fmt: skip
    found = listed(book).photo(photo).scale
    assert found is not None
    assert found.mm_per_px == pytest.approx(2.0)
    assert (found.soil, found.grade) == (None, Grade.GUESS)


def test_a_scale_from_ends_too_close_is_refused(book: Path, photo: str) -> None:
    with pytest.raises(RangeError, match="too close"):
        scale(book, tree_in(book), PhotoScaled(photo, 0.5, 0.5, 0.5, 0.45, 300.0), today=TODAY)
    with pytest.raises(RangeError, match="length_mm"):
        scale(book, tree_in(book), PhotoScaled(photo, 0.5, 0.9, 0.5, 0.1, 0.0), today=TODAY)
    assert listed(book).photo(photo).scale is None


def test_a_picture_that_came_with_its_scale_has_no_soil_line(book: Path) -> None:
    body = Photographed("ab" * 32, 900, 1200, "front", mm_per_px=0.5, scale_how="ruler in it")
    write(book, Event(body, DAY, TREE))
    (found,) = listed(book).photos
    assert found.scale is not None
    assert (found.scale.mm_per_px, found.scale.how, found.scale.soil) == (0.5, "ruler in it", None)
    assert not found.here


def test_the_height_known_nearest_to_the_day_is_offered(tmp_path: Path) -> None:
    bare = new_book(tmp_path)
    assert known_height(tree_in(bare), DAY) is None
    (tmp_path / "two").mkdir()
    book = new_book(tmp_path / "two", height_mm=450.0)
    assert known_height(tree_in(book), DAY) == (450.0, "outline")
    write(book, height_read(400.0, date(2024, 5, 1)), height_read(430.0, date(2026, 5, 1)))
    assert known_height(tree_in(book), date(2024, 6, 1)) == (400.0, "tree height")
    assert known_height(tree_in(book), DAY) == (430.0, "tree height")


# --- taken back, kept, carried -------------------------------------------------------------------


def test_a_picture_taken_back_goes_with_its_marks_and_can_come_again(
    book: Path, photo: str
) -> None:
    tree = tree_in(book)
    mark(book, tree, PhotoMarked(photo, 0.2, 0.5), branch="b-1", today=TODAY)
    told = take_back(book, tree, photo, today=TODAY)
    assert told.receipts == (
        "Taken back: Whole tree: photo, from the front, Mon 1 June",
        "Taken back: 1st left: marked on a photo",
    )
    assert listed(book).photos == ()
    assert folder.has(book, photo)
    with pytest.raises(UnknownNameError):
        take_back(book, tree, photo, today=TODAY)
    back = [e for e in events_in(book) if isinstance(e.body, Withdrawn)]
    write(book, *(Event(Withdrawn(e.id), TODAY, TREE) for e in back))
    assert [m.name for m in listed(book).photo(photo).marks] == ["1L"]


def test_one_mark_is_taken_back_alone(book: Path, photo: str) -> None:
    tree = tree_in(book)
    first = mark(book, tree, PhotoMarked(photo, 0.2, 0.5), branch="b-1", today=TODAY)
    mark(book, tree, PhotoMarked(photo, 0.8, 0.5), branch="b-2", today=TODAY)
    take_back(book, tree, photo, today=TODAY, record=first.events[0])
    assert [m.name for m in listed(book).photo(photo).marks] == ["2R"]
    with pytest.raises(UnknownNameError):
        take_back(book, tree, "0" * 64, today=TODAY, record=first.events[0])


def test_pictures_change_nothing_of_the_tree(book: Path, photo: str) -> None:
    plain = new_book(book.parent / "x") if (book.parent / "x").mkdir() is None else book
    mark(book, tree_in(book), PhotoMarked(photo, 0.2, 0.5), branch="b-1", today=TODAY)
    with_photo, without = tree_in(book), tree_in(plain)
    assert with_photo.branches.ids == without.branches.ids
    assert with_photo.measures == without.measures
    assert with_photo.works == without.works
    assert with_photo.seen == without.seen
    assert with_photo.contradictions == without.contradictions == ()


def test_pictures_survive_the_garden_folder(book: Path, photo: str, tmp_path: Path) -> None:
    tree = tree_in(book)
    mark(book, tree, PhotoMarked(photo, 0.2, 0.5, 0.3, 0.4), branch="b-1", today=TODAY)
    body = PhotoScaled(photo, 0.5, 0.9, 0.5, 0.15, 300.0, 0.5, 0.9)
    scale(book, tree, body, today=TODAY)
    gone = add(book, TREE, shot_of(9), Shot("back", DAY), today=TODAY)
    take_back(book, tree, gone.photo, today=TODAY)
    save(book, tmp_path / "out")
    other = tmp_path / "other.book"
    load(other, tmp_path / "out", on=TODAY)
    mine, carried = listed(book).photos, listed(other).photos
    assert [replace(p, here=True) for p in carried] == list(mine)
    assert not carried[0].here


def test_pictures_stand_among_the_records(book: Path, photo: str) -> None:
    mark(book, tree_in(book), PhotoMarked(photo, 0.2, 0.5), branch="b-1", today=TODAY)
    words = [line.words for line in records(book, "Gate hornbeam", on=TODAY).lines]
    assert words == [
        "Whole tree: photo, from the front, Mon 1 June",
        "1st left: marked on a photo",
    ]
    own = [line.words for line in records(book, "Gate hornbeam", "1L", on=TODAY).lines]
    assert own == ["1st left: marked on a photo"]


def test_a_picture_does_not_come_between_same_and_what_was_said(book: Path) -> None:
    say(book, [Phrase("1L wire on 2 al", TODAY, tree=TREE)])
    add(book, TREE, shot_of(), Shot("front", TODAY), today=TODAY)
    (said,) = say(book, [Phrase("same 2R", TODAY, tree=TREE)])
    assert said.receipts == ("2nd right: 2.0 mm aluminium on",)
    (undone,) = say(book, [Phrase("undo", TODAY, tree=TREE)])
    assert undone.receipts == ("Taken back: 2nd right: 2.0 mm aluminium on",)
    assert len(listed(book).photos) == 1


def test_a_small_copy_that_is_lost_is_made_again(book: Path, photo: str) -> None:
    path = folder.folder_of(book) / photo[:2] / f"{photo}.320.webp"
    before = path.read_bytes()
    path.unlink()
    assert picture(book, photo, side_px=320) == (before, "image/webp")
    assert path.exists()


def test_days_after_today_are_not_shown(book: Path, photo: str) -> None:
    assert listed(book, today=DAY).photos[0].name == photo
    assert listed(book, today=DAY - timedelta(days=1)).photos == ()


def test_pictures_are_listed_by_side_and_newest_first(book: Path) -> None:
    for colour, side, on in (
        (1, "9", DAY),
        (2, "front", START),
        (3, "back", DAY),
        (4, "front", DAY),
    ):
        add(book, TREE, shot_of(colour * 40), Shot(side, on), today=TODAY)
    rows = [(side, [p.on for p in found]) for side, found in listed(book).by_side]
    assert rows == [("front", [DAY, START]), ("back", [DAY]), ("9", [DAY])]
    assert [p.on for p in listed(book).photos] == [DAY, DAY, DAY, START]


def test_shapes_are_plain(book: Path, photo: str) -> None:
    mark(book, tree_in(book), PhotoMarked(photo, 0.2, 0.5), branch="b-1", today=TODAY)
    told = photos_shape(listed(book))
    assert (told["shape"], told["version"], told["on"]) == ("boughwright/photos", 1, "2026-06-09")
    assert isinstance(told["photos"], list)
    assert isinstance(told["photos"][0], dict)
    assert told["photos"][0]["on"] == "2026-06-01"
    added = added_shape(add(book, TREE, shot_of(5), Shot("front"), today=TODAY))
    assert (added["on"], added["event"], added["known"]) == (None, None, False)

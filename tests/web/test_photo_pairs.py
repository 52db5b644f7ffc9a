"""Before and after at one scale on one soil line.

The proof: a drawn tree is taken twice from one side, from other distances, places and sizes; after
two taps on each the two lie over each other within 3 % of the tree's height. The trees are drawn,
so this says nothing of the tilt and lens of a real camera.
"""

from __future__ import annotations

import io
import random
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from photo_book import (
    BRANCHES,
    HEIGHT_MM,
    TODAY,
    TREE,
    Camera,
    as_file,
    drawn,
    events_in,
    front_turned,
    listed,
    new_book,
    tree_in,
    write,
)
from PIL import Image

from boughwright.errors import RecordError
from boughwright.journal.events import PhotoScaled
from boughwright.sources import Grade
from boughwright.usecases.photo_entry import Shot, add, scale
from boughwright.usecases.photo_pairs import Pair, Placed, pair_of, pair_shape, place, ruler
from boughwright.usecases.photos import Photo, picture

if TYPE_CHECKING:
    from pathlib import Path

BEFORE, AFTER = date(2024, 3, 1), date(2026, 3, 8)
PX_PER_MM = 2.0
NEAR = Camera(5.1, (1900.0, 2900.0), (3600, 3400))
FAR = Camera(1.3, (410.0, 900.0), (1000, 1300))
WIDE = Camera(2.2, (900.0, 1200.0), (2400, 1400))


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return new_book(tmp_path)


def taken(book: Path, camera: Camera, on: date, side: str = "front", slip_px: float = 0.0) -> str:
    """Take a picture and tap the soil and the top, each tap off by so many pixels."""
    chance = random.Random(f"{on}{side}")
    name = add(book, TREE, as_file(drawn(camera)), Shot(side, on), today=TODAY).photo

    def tap(up_mm: float) -> tuple[float, float]:
        x, y = camera.share(0, up_mm)
        off = [chance.uniform(-slip_px, slip_px) for _ in range(2)]
        return x + off[0] / camera.size[0], y + off[1] / camera.size[1]

    (x1, y1), (x2, y2) = tap(0), tap(HEIGHT_MM)
    body = PhotoScaled(name, x1, y1, x2, y2, HEIGHT_MM, x1, y1)
    scale(book, tree_in(book), body, today=TODAY)
    return name


def paired(book: Path, one: str, other: str) -> Pair:
    photos = listed(book)
    return pair_of(photos.photo(one), photos.photo(other), events_in(book))


def rendered(book: Path, placed: Placed, view: tuple[float, float, float, float]) -> np.ndarray:
    """Lay a kept picture into the view as a page does, and return where it is dark."""
    kept = Image.open(io.BytesIO(picture(book, placed.photo.name)[0])).convert("L")
    left, top, width, height = view
    size = (round(placed.width_mm * PX_PER_MM), round(placed.height_mm * PX_PER_MM))
    canvas = Image.new("L", (round(width * PX_PER_MM), round(height * PX_PER_MM)), 255)
    at = (round((placed.left_mm - left) * PX_PER_MM), round((placed.top_mm - top) * PX_PER_MM))
    canvas.paste(kept.resize(size), at)
    return np.asarray(canvas) < 80


def height_of(dark: np.ndarray, view: tuple[float, float, float, float]) -> float:
    """Return how far the topmost dark pixel lies above the soil line. [mm]"""
    top_row = int(np.flatnonzero(dark.any(axis=1))[0])
    return -(view[1] + top_row / PX_PER_MM)


@pytest.mark.parametrize("cameras", [(NEAR, FAR), (FAR, WIDE), (WIDE, NEAR)])
@pytest.mark.parametrize("slip_px", [0.0, 2.0])
def test_the_tree_taken_again_lies_over_itself_within_three_percent(
    book: Path, cameras: tuple[Camera, Camera], slip_px: float
) -> None:
    first = taken(book, cameras[0], BEFORE, slip_px=slip_px)
    second = taken(book, cameras[1], AFTER, slip_px=slip_px)
    pair = paired(book, first, second)
    assert (pair.before.photo.on, pair.after.photo.on) == (BEFORE, AFTER)
    masks = [rendered(book, one, pair.view) for one in (pair.before, pair.after)]
    limit = 0.03 * HEIGHT_MM
    heights = [height_of(mask, pair.view) for mask in masks]
    assert abs(heights[0] - heights[1]) <= limit
    assert all(abs(height - HEIGHT_MM) <= limit for height in heights)
    for _, x_mm, up_mm in BRANCHES:
        ends = [_tip(mask, pair.view, x_mm, up_mm) for mask in masks]
        assert np.hypot(*(ends[0] - ends[1])) <= limit
    # Nearly all that is wood in one picture is wood in the other.
    both, either = (masks[0] & masks[1]).sum(), (masks[0] | masks[1]).sum()
    assert both / either > (0.9 if slip_px == 0 else 0.6)


def _tip(
    dark: np.ndarray, view: tuple[float, float, float, float], x_mm: float, up_mm: float
) -> np.ndarray:
    """Return the outermost dark place near a branch's end. [mm to the right, mm above soil]"""
    rows, columns = np.nonzero(dark)
    x, up = view[0] + columns / PX_PER_MM, -(view[1] + rows / PX_PER_MM)
    near = (np.abs(x - x_mm) < 40) & (np.abs(up - up_mm) < 40)
    outermost = np.argmax(np.abs(x[near]))
    return np.array([x[near][outermost], up[near][outermost]])


def test_without_the_scale_they_would_not_fit(book: Path) -> None:
    # The test above can fail: laid over each other pixel by pixel the two differ by far more.
    for camera, on in ((NEAR, BEFORE), (FAR, AFTER)):
        taken(book, camera, on)
    newer, older = listed(book).photos
    assert older.scale is not None
    wrong = replace(newer, scale=older.scale)
    pair = pair_of(older, wrong)
    masks = [rendered(book, one, pair.view) for one in (pair.before, pair.after)]
    heights = [height_of(mask, pair.view) for mask in masks]
    assert abs(heights[0] - heights[1]) > 0.2 * HEIGHT_MM


def test_a_tree_that_grew_stands_taller_in_the_pair(book: Path) -> None:
    first = taken(book, FAR, BEFORE)
    second = taken(book, WIDE, AFTER)
    # The second time the tapped height was read as 10 % more: it is drawn 10 % taller.
    (x1, y1), (x2, y2) = WIDE.share(0, 0), WIDE.share(0, HEIGHT_MM)
    body = PhotoScaled(second, x1, y1, x2, y2, 1.1 * HEIGHT_MM, x1, y1)
    scale(book, tree_in(book), body, today=TODAY)
    pair = paired(book, first, second)
    masks = [rendered(book, one, pair.view) for one in (pair.before, pair.after)]
    heights = [height_of(mask, pair.view) for mask in masks]
    assert heights[1] / heights[0] == pytest.approx(1.1, abs=0.02)


# --- geometry ------------------------------------------------------------------------------------


def photo_of(camera: Camera, on: date = BEFORE, side: str = "front") -> Photo:
    """Return a picture as records tell it, its taps without error."""
    from uuid import UUID

    from boughwright.usecases.photos import Scale

    ends = (*camera.share(0, 0), *camera.share(0, HEIGHT_MM))
    known = Scale(UUID(int=1), 1 / camera.px_per_mm, HEIGHT_MM, "measured", ends,
                  camera.share(0, 0), Grade.MEASURED)  # fmt: skip
    return Photo(f"{on}{camera}", UUID(int=on.toordinal()), on, side, f"from the {side}",
                 *camera.size, "said", "", "", True, (), known)  # fmt: skip


@given(
    st.floats(0.5, 8), st.floats(100, 3000), st.floats(100, 3000), st.integers(800, 4000),
    st.integers(800, 4000), st.floats(-200, 200), st.floats(0, 420),
)  # fmt: skip
def test_every_place_on_the_tree_is_laid_where_it_is(
    px_per_mm: float, x: float, y: float, width: int, height: int, x_mm: float, up_mm: float
) -> None:
    camera = Camera(px_per_mm, (x, y), (width, height))
    placed = place(photo_of(camera))
    share = camera.share(x_mm, up_mm)
    assert placed.left_mm + share[0] * placed.width_mm == pytest.approx(x_mm, abs=1e-6)
    assert placed.top_mm + share[1] * placed.height_mm == pytest.approx(-up_mm, abs=1e-6)


def test_the_view_shows_the_room_about_the_tree_and_the_soil() -> None:
    pair = pair_of(photo_of(NEAR, BEFORE), photo_of(FAR, AFTER))
    left, top, width, height = pair.view
    # 1.2 and 0.3 times 420 mm above and below; to the sides 1.1 times, or as far as either goes:
    # FAR reaches 410 px / 1.3 = 315 mm to the left, NEAR 1900 / 5.1 = 373 mm.
    assert top == pytest.approx(-504.0)
    assert top + height == pytest.approx(min(126.0, 400 / 1.3))
    assert left == pytest.approx(-1900 / 5.1)
    assert left + width == pytest.approx(min(462.0, 590 / 1.3))


def test_the_older_one_is_before_whatever_order_they_are_chosen_in() -> None:
    old, new = photo_of(NEAR, BEFORE), photo_of(FAR, AFTER)
    assert pair_of(old, new) == pair_of(new, old)


def test_pairs_that_cannot_be_are_refused() -> None:
    one = photo_of(NEAR)
    assert one.scale is not None
    for other in (
        one,
        photo_of(FAR, AFTER, "back"),
        replace(photo_of(FAR, AFTER), scale=None),
        replace(photo_of(FAR, AFTER), scale=replace(one.scale, soil=None)),
    ):
        with pytest.raises(RecordError) as caught:
            pair_of(one, other)
        assert caught.value.todo


def test_a_front_turned_in_between_is_told(book: Path) -> None:
    first, second = taken(book, FAR, BEFORE), taken(book, WIDE, AFTER)
    write(book, front_turned(20, date(2023, 1, 1)), front_turned(300, date(2025, 1, 1)))
    assert paired(book, first, second).turned_deg == 300
    write(book, front_turned(60, AFTER))
    assert paired(book, first, second).turned_deg == 0


def test_a_pair_is_no_better_than_its_weaker_scale() -> None:
    one, other = photo_of(NEAR), photo_of(FAR, AFTER)
    assert other.scale is not None
    assert pair_of(one, other).grade is Grade.MEASURED
    weak = replace(other, scale=replace(other.scale, grade=Grade.GUESS))
    assert pair_of(one, weak).grade is Grade.GUESS


@pytest.mark.parametrize(
    ("height", "units", "step", "count"),
    [
        # At most ten steps of 1, 2 or 5 times a power of ten.
        (420, "mm", 50, 9),
        (1000, "mm", 100, 11),
        (95, "mm", 10, 10),
        # 420 mm are 16.5 in: steps of 2 in, up to 16.
        (420, "in", 50.8, 9),
    ],
)
def test_the_ruler_has_even_ticks(height: float, units: str, step: float, count: int) -> None:
    ticks = ruler(height, units)
    assert len(ticks) == count
    assert ticks[0] == 0
    assert np.diff(ticks) == pytest.approx(step)
    assert ticks[-1] <= height < ticks[-1] + step + 1e-6
    assert ruler(0) == ruler(-3) == (0.0,)


def test_the_shape_is_plain() -> None:
    told = pair_shape(pair_of(photo_of(NEAR), photo_of(FAR, AFTER)))
    assert (told["shape"], told["side"], told["grade"]) == (
        "boughwright/photo-pair",
        "front",
        "measured",
    )
    before = told["before"]
    assert isinstance(before, dict)
    assert before["on"] == "2024-03-01"
    assert before["tree_mm"] == HEIGHT_MM

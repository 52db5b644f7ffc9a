"""Where labels stand: never over each other, on the page, and near their branch."""

from __future__ import annotations

import numpy as np
import pytest
from drawing_cases import PLAIN
from hypothesis import given, settings
from hypothesis import strategies as st

from boughwright.report.drawing_labels import FARTHEST, Wanted, ink_cells, place
from boughwright.report.drawing_words import shared_name

WIDTH, HEIGHT = 360.0, 430.0
labels = st.lists(
    st.builds(
        Wanted,
        st.sampled_from((("1L", "let run"), ("2.5Lg", "notch feed"), ("4R wire off",), ("top",))),
        st.tuples(st.floats(0, WIDTH), st.floats(0, HEIGHT)),
    ),
    max_size=16,
)
ink = st.lists(st.tuples(st.floats(-50, 500), st.floats(-50, 500)), max_size=60).map(
    lambda rows: ink_cells(np.asarray(rows, float).reshape(-1, 2), WIDTH, HEIGHT)
)


@given(labels, ink)
@settings(max_examples=60)
def test_labels_never_cover_each_other_or_leave_the_page(wanted, cells):
    spots = place(wanted, cells, middle=WIDTH / 2)
    kept = [(w, s) for w, s in zip(wanted, spots, strict=True) if s is not None]
    for k, (one, at) in enumerate(kept):
        assert at.x >= 0
        assert at.x + one.width <= WIDTH + 4
        assert at.y >= 0
        assert at.y + one.height <= HEIGHT + 4
        for other, there in kept[k + 1 :]:
            apart_x = at.x + one.width <= there.x or there.x + other.width <= at.x
            assert apart_x or at.y + one.height <= there.y or there.y + other.height <= at.y


@given(labels, ink)
@settings(max_examples=60)
def test_labels_stand_near_what_they_name(wanted, cells):
    for one, at in zip(wanted, place(wanted, cells, middle=WIDTH / 2), strict=True):
        if at is not None:
            x, y = one.anchor
            off = np.hypot(max(at.x - x, x - at.x - one.width, 0),
                           max(at.y - y, y - at.y - one.height, 0))  # fmt: skip
            assert off <= FARTHEST


def test_a_label_keeps_off_the_ink_when_there_is_room():
    """All the right is ink: a label of a branch at the edge of it goes to the left."""
    points = np.stack(np.meshgrid(np.arange(180, 360, 2.0), np.arange(0, 430, 2.0)), -1)
    cells = ink_cells(points.reshape(-1, 2), WIDTH, HEIGHT)
    (spot,) = place([Wanted(("1L",), (178.0, 200.0))], cells, middle=200.0)
    assert spot.x + 22 < 184


def test_a_label_that_finds_no_room_is_left_out():
    wanted = [Wanted(("a name that fills the width of it all",), (180.0, 200.0))] * 30
    spots = place(wanted, ink_cells(np.empty((0, 2)), WIDTH, HEIGHT), middle=180.0)
    assert spots[0] is not None
    assert spots[-1] is None


@pytest.mark.parametrize(("names", "said"), [
    (("4R",), "4R"),
    (("1L-1", "1L-2", "1L-3"), "1L-1…3"),
    (("1L-1", "1L-2"), "1L-1, 2"),
    (("1L-1", "1L-4"), "1L-1, 4"),
    (("1L-1", "2R-2"), "1L-1, 2R-2"),
    (("top-1l", "top-1r"), "top-1l, top-1r"),
])  # fmt: skip
def test_names_of_shoots_are_said_together(names, said):
    from dataclasses import replace

    assert shared_name([replace(PLAIN, name=name) for name in names]) == said

"""Laws that every drawn tree keeps, whatever is known of it."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from shape_cases import primaries, trees
from tree_cases import field_maple

from boughwright.journal.terms import Job, Kind
from boughwright.tree.replay import replay
from boughwright.tree.shape import shape_of

SCAR = tuple(Kind).index(Kind.SCAR)
SACRIFICE = tuple(Job).index(Job.SACRIFICE)


def off_line(point, line):
    """Return how far a point stands from a line of straight pieces."""
    start, way = line[:-1], np.diff(line, axis=0)
    square = np.maximum((way**2).sum(axis=1), 1e-15)
    share = np.clip(((point - start) * way).sum(axis=1) / square, 0, 1)
    return float(np.linalg.norm(start + share[:, None] * way - point, axis=1).min())


def may_pass(tree):
    """Tell which rows may pass the outline: running, sacrifices, measured, and what is on them."""
    rows = tree.branches
    free = (rows.running == 1) | (rows.job == SACRIFICE)
    free |= ~np.isnan(rows.elevation_deg) & ~np.isnan(rows.length_mm)
    for row in range(1, len(rows)):
        free[row] |= bool(free[rows.parent[row]]) and rows.parent[row] > 0
    return free


@given(trees())
@settings(max_examples=60)
def test_lines_are_whole_above_the_soil_and_on_their_parents(tree):
    shape, rows = shape_of(tree), tree.branches
    assert np.isfinite(shape.points).all()
    assert np.isfinite(shape.radius).all()
    assert (shape.radius > 0).all()
    assert (shape.points[:, 1] >= -1e-9).all()
    place = {int(row): part for part, row in enumerate(shape.rows)}
    for part, row in enumerate(shape.rows[1:].tolist(), 1):
        if rows.kind[row] == SCAR:
            continue
        start = shape.line(part)[0][0]
        assert off_line(start, shape.line(place[int(rows.parent[row])])[0]) < 1e-6


@given(trees())
@settings(max_examples=60)
def test_every_living_part_is_drawn_once_after_the_one_it_grows_from(tree):
    shape, rows = shape_of(tree), tree.branches
    assert shape.rows.tolist() == [r for r in range(len(rows)) if not rows.gone[r]]
    assert shape.row.tolist() == np.repeat(shape.rows, np.diff(shape.first)).tolist()


@given(trees())
@settings(max_examples=60)
def test_wood_never_thickens_outward(tree):
    shape = shape_of(tree)
    for part, row in enumerate(shape.rows):
        if tree.branches.kind[row] != SCAR:
            assert (np.diff(shape.line(part)[1]) <= 1e-9).all()


@given(trees())
@settings(max_examples=60)
def test_the_outline_holds_all_but_what_runs(tree):
    shape, rows = shape_of(tree), tree.branches
    free = may_pass(tree)
    on_trunk = (rows.parent == 0) & ~rows.gone & ~np.isnan(rows.height_mm)
    highest = float(np.max(rows.height_mm[on_trunk], initial=0.0))
    held = np.isin(shape.row, np.flatnonzero(~free & (rows.kind != SCAR)))
    # A part whose start is unknown is set between the others, never over the top of them all.
    allowed = max(shape.outline_mm, 1.09 * highest, 1.0)
    under_free = np.asarray([free[rows.parent[r]] if r else False for r in shape.row])
    assert (shape.points[held & ~under_free, 1] <= allowed + 1e-6).all()


@given(trees())
@settings(max_examples=60)
def test_the_same_records_draw_the_same_lines(tree):
    first, again = shape_of(tree), shape_of(tree)
    assert np.array_equal(first.points, again.points)
    assert np.array_equal(first.twigs, again.twigs)


@given(trees())
@settings(max_examples=60)
def test_twigs_hang_on_drawn_wood_above_the_soil(tree):
    shape = shape_of(tree)
    assert np.isfinite(shape.twigs).all()
    assert (shape.twigs[..., 1] >= -1e-9).all()
    assert len(shape.twigs) <= 3 * 1500
    kinds = tree.branches.kind[shape.rows[shape.twig_of]]
    bare = [tuple(Kind).index(kind) for kind in (Kind.SCAR, Kind.ROOT)]
    assert not np.isin(kinds, bare).any()


def test_a_turned_front_turns_the_whole_tree_and_bends_nothing():
    """A front moved 90 degrees clockwise from above brings 9 o'clock to the viewer."""
    book = field_maple()
    before = shape_of(replay("ditch", book.events))
    book.turn(90.0)
    after = shape_of(replay("ditch", book.events))
    x, y, z = before.points.T
    assert np.allclose(after.points, np.stack([z, y, -x], axis=1), atol=1e-6)
    x, y, z = before.twigs.reshape(-1, 3).T
    assert np.allclose(after.twigs.reshape(-1, 3), np.stack([z, y, -x], axis=1), atol=1e-6)
    assert np.array_equal(after.radius, before.radius)


def test_other_trees_with_the_same_names_bend_otherwise():
    """Bends come from the lasting identities, the tree's among them."""
    here, there = primaries(), primaries(tree="hedge")
    one, other = (shape_of(replay(book.tree, book.events)) for book in (here, there))
    assert one.points.shape == other.points.shape
    assert not np.allclose(one.points, other.points)


def test_a_tree_without_any_record_is_a_bare_trunk():
    shape = shape_of(replay("hedge", []))
    assert shape.rows.tolist() == [0]
    assert not shape.outline_known

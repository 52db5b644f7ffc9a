"""Made-up trees for tests of shapes: any mix of what is known and unknown."""

from __future__ import annotations

from hypothesis import strategies as st
from tree_cases import Book

from boughwright.tree.replay import replay

KINDS = ("branch", "top", "graft", "scar", "root", "trunk")


def _maybe(strategy):
    return st.none() | strategy


@st.composite
def parts(draw, index):
    """Return the fields of one part, each known or not."""
    parent = draw(st.integers(-1, index - 1))
    fields = {
        "kind": draw(st.sampled_from((None, "branch", "branch", *KINDS))),
        "parent": None if parent < 0 else f"b{parent}",
        "height_mm": draw(_maybe(st.floats(0, 900))),
        "along_mm": draw(_maybe(st.floats(0, 300))),
        "clock": draw(_maybe(st.floats(0, 12))),
        "elevation_deg": draw(_maybe(st.floats(-90, 90))),
        "plan_angle_deg": draw(_maybe(st.floats(0, 180))),
        "job": draw(st.sampled_from((None, None, "sacrifice", "thicken"))),
        "name": draw(
            st.sampled_from((f"{index + 1}L", f"{index + 1}R", f"{index + 1}B", "1L-1l", "2R-1u",
                             "top", "scar front", "end", "first big one", ""))
        ),
    }  # fmt: skip
    reads = {
        what: draw(_maybe(st.floats(low, high)))
        for what, low, high in (("base", 0.1, 200), ("trunk", 0.5, 300), ("length", 0, 900),
                                ("node", 0.5, 90), ("room", 0, 500), ("open", 0, 90),
                                ("extension", 0, 400))
    }  # fmt: skip
    return fields, reads, draw(st.booleans())


@st.composite
def trees(draw):
    """Return a tree of up to nine parts, replayed from its records."""
    count = draw(st.integers(0, 9))
    book = Book(draw(st.sampled_from(("oak", "elm"))))
    book.facts(
        name="T",
        height_mm=draw(_maybe(st.floats(1, 1500))),
        trunk_mm=draw(_maybe(st.floats(1, 300))),
        phase=draw(st.sampled_from((None, "trunk building", "refinement"))),
        pot_volume_l=draw(_maybe(st.floats(0.01, 100))),
    )
    for index in range(count):
        fields, reads, runs = draw(parts(index))
        book.branch(f"b{index}", **{k: v for k, v in fields.items() if v is not None})
        for what, value in reads.items():
            if value is not None:
                book.read(f"b{index}", what, value)
        if runs:
            book.work(f"b{index}", "let run")
    return replay(book.tree, book.events)


def primaries(tree="plain", **more):
    """Return a book of a plain tree of 400 mm with four primaries and what else is told of each."""
    book = Book(tree)
    book.facts(name="Plain", height_mm=400.0, trunk_mm=60.0, phase="primary structure")
    rows = (("1L", 80, 9, 50), ("2R", 130, 3, 42), ("3B", 190, 12, 33), ("4F", 260, 6, 22))
    for name, height, clock, trunk in rows:
        book.branch(name, name=name, height_mm=height, clock=clock, **more)
        book.read(name, "trunk", trunk)
    return book

"""One tree on paper: two pages of A4 at most for each tree of the demonstration garden."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest

from boughwright.usecases.kept import KeptBook

if TYPE_CHECKING:
    from bench_browser import Served

PAGE = re.compile(rb"/Type\s*/Page\b")
BOX = re.compile(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]")
A4_PT = (595.3, 841.9)
"""A4 by ISO 216, 210 by 297 mm, in points of 1/72 inch."""


@pytest.mark.parametrize("reader", ["", "?for=pupil"])
def test_a_sheet_has_two_pages_of_a4_at_most(chromium: Any, served: Served, reader: str) -> None:
    trees = [day.facts.tree for day in KeptBook(served.book).day().trees]
    assert len(trees) == 12
    page = chromium.new_page()
    for tree in trees:
        page.goto(f"{served.address}/trees/{tree}/paper{reader}")
        printed = page.pdf(prefer_css_page_size=True)
        assert 1 <= len(PAGE.findall(printed)) <= 2, tree
        for wide, tall in BOX.findall(printed):
            assert (float(wide), float(tall)) == pytest.approx(A4_PT, abs=1.5)
    page.close()

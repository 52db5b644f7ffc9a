"""The page of JSON shapes lists just the keys that the tasks give, and no screen wording of mm."""

from __future__ import annotations

import json
import re
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from test_tasks_stock import count, wanting

from boughwright.journal.terms import Metal
from boughwright.usecases.enter import enter_place, enter_tree
from boughwright.usecases.entry import entered_shape
from boughwright.usecases.field_forms import form_of, form_shape
from boughwright.usecases.promises import promises_of, promises_shape
from boughwright.usecases.session import session_of, session_shape
from boughwright.usecases.start import (
    first_steps,
    first_steps_shape,
    species_matches,
    species_matches_shape,
)
from boughwright.usecases.stock import stock_of, stock_shape
from boughwright.usecases.sureness import sureness_of, sureness_shape

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tasks_garden import Forms

    from boughwright.usecases.day import GardenDay

DOC = Path(__file__).parents[2] / "docs" / "json-shapes.md"
SHAPES = ("session", "promises", "stock", "sureness", "entered", "first-steps", "species-matches",
          "form")  # fmt: skip


def documented() -> dict[str, set[str]]:
    """Return the keys of every part of the page; a link stands for the keys of the part linked."""
    parts: dict[str, set[str]] = {}
    here: set[str] = set()
    for line in DOC.read_text("utf-8").split("\n"):
        if head := re.fullmatch(r"#{2,3} .*", line):
            name = re.fullmatch(r"### part: (\S+)", head[0])
            here = parts.setdefault(name[1], set()) if name else set()
        elif row := re.fullmatch(r"\| `([^`]+)` \| (.+?) \| ?(.*?) ?\|", line):
            link = re.search(r"\(#part-([\w-]+)\)", row[2])
            here |= {f"{row[1]}.{key}" for key in parts[link[1]]} if link else {row[1]}
    return parts


def leaves(value: object, path: str = "") -> Iterator[str]:
    """Yield the path of everything in an answer that holds no keys of its own."""
    if isinstance(value, dict) and value:
        for key, inner in value.items():
            yield from leaves(inner, f"{path}.{key}" if path else key)
    elif isinstance(value, list):
        for inner in value:
            yield from leaves(inner, f"{path}[]")
    else:
        yield path


@pytest.fixture
def answers(forms: Forms, demo_garden: GardenDay) -> dict[str, list[Any]]:
    """Return answers of each shape, with something in every list."""
    tree = forms.plant()
    fields = {"height_mm": 95, "clock": 9, "outer": True}
    forms.branch(tree, "1L", base=6.0, trunk=47, length=200, **fields)
    count(forms, 2.0, Metal.ALUMINIUM, metres=10.0)
    forms.say("1L wire on 2 al; 1L will until base 7; 1L will cut past later", tree)
    later = forms.day().today + timedelta(days=3)
    bad = enter_tree(forms.path, None, {"height_mm": "-1"}, forms.writer())
    good = enter_place(forms.path, None, {"name": "Hill", "latitude": 46}, forms.writer())
    stranger = {"name": "Stranger", "species": "Arbor inventa", "place": "bench"}
    odd = enter_tree(forms.path, None, stranger, forms.writer())
    day = forms.day(date(2026, 6, 9))
    return {
        "session": [
            session_shape(session_of(garden, one.facts.tree))
            for garden in (demo_garden, day)
            for one in garden.trees
        ],
        "promises": [promises_shape(promises_of(g)) for g in (demo_garden, day)],
        "stock": [stock_shape(stock_of(wanting(day, tree, b1L=later)))],
        "sureness": [sureness_shape(sureness_of(demo_garden))],
        "entered": [entered_shape(one) for one in (bad, good, odd)],
        "first-steps": [first_steps_shape(first_steps(forms.path))],
        "species-matches": [species_matches_shape(species_matches("maple"))],
        "form": [form_shape(form_of(of)) for of in ("garden", "tree", "branch")],
    }


@pytest.mark.parametrize("name", SHAPES)
def test_the_page_lists_just_the_keys_that_are_given(
    name: str, answers: dict[str, list[Any]]
) -> None:
    listed = documented()[name]
    given = {path for told in answers[name] for path in leaves(json.loads(json.dumps(told)))}
    # What is empty or null in one answer stands for all that is listed inside it.
    unlisted = {
        p for p in given - listed if not any(k.startswith((f"{p}.", f"{p}[]")) for k in listed)
    }
    assert unlisted == set()
    # A key of a shared part may be given in any place that the part stands in.
    ends = {path.rpartition("[].")[2] for path in given}
    unseen = {k for k in listed - given if f"{k}[]" not in given}
    assert {k for k in unseen if k.rpartition("[].")[2] not in ends} == set()
    for told in answers[name]:
        assert (told["shape"], told["version"]) == (f"boughwright/{name}", 1)


def test_lengths_in_sentences_stand_in_braces(answers: dict[str, list[Any]]) -> None:
    """A length outside braces would stay mm on a screen that reads inches."""

    def texts(value: object) -> Iterator[str]:
        if isinstance(value, dict):
            for inner in value.values():
                yield from texts(inner)
        elif isinstance(value, list):
            for inner in value:
                yield from texts(inner)
        elif isinstance(value, str):
            yield value

    for name in ("session", "promises", "stock", "sureness"):
        for told in answers[name]:
            for text in texts(told):
                assert not re.search(r"\d mm\b", re.sub(r"\{[^}]*\}", "", text)), text
                assert "!" not in text

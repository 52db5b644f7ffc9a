"""The page that lists the shapes has every key of the answers about lines, and no other."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

from usecases_book import NOON, TODAY, Device

from boughwright.usecases.day import open_day
from boughwright.usecases.lines import lines_shape, take_lines
from boughwright.usecases.reading import reading_of, reading_shape

if TYPE_CHECKING:
    from collections.abc import Iterator

PAGE = (Path(__file__).parents[2] / "docs" / "json-shapes.md").read_text("utf-8")


def documented(name: str) -> set[str]:
    part = PAGE.partition(f"### part: {name}\n")[2].partition("\n#")[0]
    assert f"`boughwright/{name}`, version 1" in part
    return set(re.findall(r"^\| `([^`]+)` \|", part, re.M))


def ends(value: Any, path: str = "") -> Iterator[str]:
    """Yield the path of every end of an answer."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from ends(inner, f"{path}.{key}" if path else key)
    elif isinstance(value, list):
        for inner in value:
            yield from ends(inner, f"{path}[]")
    else:
        yield path


def test_the_page_lists_the_keys_of_lines(book: Path) -> None:
    device = Device(1)
    for text in ("2R cut fnord", "99L cut", "2R cut"):
        device.say(text, "elm")
    told = lines_shape(take_lines(book, device.lines, sent=NOON, now=NOON, device="phone"))
    assert set(ends(told)) == documented("lines")


def test_the_page_lists_the_keys_of_a_reading(demo_book: Path) -> None:
    garden = open_day(demo_book, on=TODAY)
    told = reading_shape(reading_of(garden, "2R cut fnord; 99L cut", "tile-trident", TODAY))
    assert set(ends(told)) == documented("reading")

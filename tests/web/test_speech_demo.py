"""Everything the demonstration garden says, in German: nothing is left in English.

Several days of the year, every tree and branch, and the questions a grower may ask of each.
"""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING

import pytest

from boughwright.demo.build import build
from boughwright.errors import BoughwrightError
from boughwright.usecases.call_up import call_up_of, call_up_shape
from boughwright.usecases.day import open_day
from boughwright.usecases.doubts import doubts_of, doubts_shape
from boughwright.usecases.may_i import ask_of, ask_shape
from boughwright.usecases.promises import promises_of, promises_shape
from boughwright.usecases.session import session_of, session_shape
from boughwright.usecases.sheet import sheet_of, sheet_shape
from boughwright.usecases.stages import stage_shape, strip_of
from boughwright.usecases.stock import stock_of, stock_shape
from boughwright.usecases.sureness import sureness_of, sureness_shape
from boughwright.usecases.wires import all_wire_of, all_wire_shape
from boughwright.web.speech import Speaker, Untold

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from boughwright.usecases.day import GardenDay
    from boughwright.usecases.shapes import Json

GERMAN = Speaker(language="de")
SENTENCES = {
    "text", "where", "flip", "never", "caution", "cautions", "headline", "places", "cost", "reason",
    "todo", "notes", "how", "missed", "why", "condition", "instead", "stop", "title", "record",
    "input", "mend", "species_doubt", "contradictions", "vigour_why", "warnings", "missing",
    "words", "sentence",
}  # fmt: skip
"""Keys of the answers whose values a page hands to the speaker."""
OWN_WORDS = {"two inner shoots pass 2.5"}
"""What a grower of the demonstration said, shown as it was said."""
DAYS = (
    None, date(2026, 1, 15), date(2026, 3, 1), date(2026, 4, 20), date(2026, 5, 20),
    date(2026, 8, 10), date(2026, 10, 25), date(2026, 11, 20),
)  # fmt: skip
ASKED = (
    "cut to pair 1", "leaf full", "leaf thin", "leaf clear", "wire on 2 al", "pinch", "rim",
    "sever", "notch", "raise", "lowered", "rub", "two", "bud select", "graft on", "repot", "feed",
)  # fmt: skip
ENGLISH = re.compile(
    r"\b(?:the|of|is|and|with|its|to|on|by|it|from|for|look|whole|tree|feed|cut|before|branch|not"
    r"|than|this|that)\b",
    re.I,
)
"""Words that no German sentence holds."""


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("words") / "demo.book"
    build(path)
    return path


def _texts(value: Json, key: str = "") -> Iterator[str]:
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from _texts(inner, name)
    elif isinstance(value, list):
        for inner in value:
            yield from _texts(inner, key)
    elif isinstance(value, str) and key in SENTENCES and " " in value and value not in OWN_WORDS:
        yield value


def _answers(garden: GardenDay) -> Iterator[Json]:
    yield call_up_shape(call_up_of(garden))
    yield all_wire_shape(all_wire_of(garden))
    yield stage_shape(strip_of(garden))
    yield promises_shape(promises_of(garden))
    yield stock_shape(stock_of(garden))
    yield sureness_shape(sureness_of(garden))
    yield doubts_shape(doubts_of([day.tree for day in garden.trees]))
    for day in garden.trees:
        yield sheet_shape(sheet_of(garden, day.facts.tree))
        yield session_shape(session_of(garden, day.facts.tree))


def _untold(texts: set[str]) -> list[str]:
    told = {text: GERMAN.say(text) for text in texts}
    return sorted(
        text for text, said in told.items() if isinstance(said, Untold) or ENGLISH.search(said)
    )


@pytest.mark.parametrize("on", DAYS)
def test_every_answer_is_told(demo: Path, on: date | None) -> None:
    garden = open_day(demo, on=on)
    texts = {text for answer in _answers(garden) for text in _texts(answer)}
    assert len(texts) > 100
    assert _untold(texts) == []


def test_every_may_i_is_told(demo: Path) -> None:
    garden = open_day(demo)
    texts: set[str] = set()
    for day in garden.trees:
        for branch in day.tree.branches.names[:12]:
            for work in ASKED:
                try:
                    answer = ask_of(garden, day.facts.tree, f"{branch} {work}")
                except BoughwrightError as error:
                    texts |= {error.what, error.allowed, error.todo} - {""}
                else:
                    texts |= set(_texts(ask_shape(answer)))
    assert len(texts) > 100
    assert _untold(texts) == []

"""How the pages speak: every word, number, day and unit in the grower's own way.

Page texts stand in ``words/en.toml`` and ``words/de.toml`` under the same keys; sentences that
the core makes are told by ``words/de_core.toml``.
"""

from __future__ import annotations

import html
import re
import tomllib
from dataclasses import dataclass
from datetime import date
from enum import Enum
from functools import cache, lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING, Final

from boughwright.errors import UnknownNameError
from boughwright.units import show_length
from boughwright.usecases import spoken
from boughwright.web.speech_core import catalogue, tell, tell_place, untold
from boughwright.web.speech_forms import (
    DAY_FIRST,
    MONTH_FIRST,
    day_text,
    degrees_as_written,
    marked,
    number_text,
    range_text,
    retell_days,
    units_pass,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

SOURCE: Final = "en"
"""The language the core writes in."""
LANGUAGES: Final = {"en": "English", "de": "Deutsch"}
"""Languages with a whole catalogue, each by its own name."""
_HOLE: Final = re.compile(r"\{([a-z]\w*)\}")
_UNTOLD_KEPT: Final = 500


class Untold(str):
    """A sentence that has no words in the page's language: shown in English, and marked so."""

    __slots__ = ()

    def __html__(self) -> str:
        """Return it escaped for a page. No quotation marks, so that it is safe in an attribute."""
        return f"<span lang={SOURCE}>{html.escape(self)}</span>"


@cache
def page_texts(language: str) -> Mapping[str, str | Mapping[str, str]]:
    """Return the page texts of a language: dotted key to text, or to its plural forms."""
    text = files("boughwright.web").joinpath(f"words/{language}.toml").read_text("utf-8")
    return dict(_flat(tomllib.loads(text), ""))


def _flat(table: Mapping[str, object], head: str) -> list[tuple[str, str | Mapping[str, str]]]:
    found: list[tuple[str, str | Mapping[str, str]]] = []
    for key, value in table.items():
        if isinstance(value, str):
            found.append((head + key, value))
        elif isinstance(value, dict):
            if set(value) == {"one", "other"}:
                found.append((head + key, value))
            else:
                found += _flat(value, f"{head}{key}.")
    return found


@dataclass(frozen=True, slots=True)
class Speaker:
    """One grower's way of reading: units, order of dates, language, half of the globe.

    Parameters
    ----------
    units : str
        ``mm`` or ``in``.
    temperature : str
        ``C`` or ``F``.
    dates : str
        ``day first``, ``month first`` or ``year first``.
    language : str
        A key of `LANGUAGES`.
    south : bool
        Whether the garden lies south of the equator.
    today : date, optional
        When given, days of another year are told with their year.
    """

    units: str = "mm"
    temperature: str = "C"
    dates: str = DAY_FIRST
    language: str = SOURCE
    south: bool = False
    today: date | None = None

    def __post_init__(self) -> None:
        """Refuse a language that has no catalogue.

        Raises
        ------
        UnknownNameError
        """
        if self.language not in LANGUAGES:
            raise UnknownNameError(
                f"language {self.language!r} is not known",
                allowed=", ".join(LANGUAGES),
                todo="Choose one of these",
            )

    def t(self, key: str, /, **values: object) -> str:
        """Return a page text with its holes filled.

        A text with forms ``one`` and ``other`` takes the one that fits ``n``. Values are told by
        `shown`.

        Raises
        ------
        KeyError
            When no language has the key, or a hole has no value.
        """
        text = page_texts(self.language).get(key) or page_texts(SOURCE)[key]
        if not isinstance(text, str):
            text = text["one" if values["n"] == 1 else "other"]
        return _HOLE.sub(lambda found: self.shown(values[found[1]]), text)

    def shown(self, value: object) -> str:
        """Return a value as text: days, numbers and words in the grower's way, text as it is."""
        if isinstance(value, Enum):
            return self.word(value)
        if isinstance(value, date):
            return self.day(value)
        if isinstance(value, float):
            return self.number(value)
        if isinstance(value, int):
            return self.count(value)
        return str(value)

    def say(self, text: str) -> str:
        """Return a sentence of the core in the grower's units, order of dates and language.

        A sentence without words in this language comes in English, as `Untold`.
        """
        return _said(self, text)

    def place(self, text: str) -> str:
        """Return branch names and places: ``whole tree`` told, names as they are."""
        return text if self.language == SOURCE else tell_place(text, self.language)

    def word(self, value: Enum | str, kind: str = "") -> str:
        """Return a word of a closed list: an act, stage, zone, phase and so on.

        Parameters
        ----------
        value : Enum or str
            A member, or the word of one.
        kind : str
            Which list a bare word is of: the name of its class in lower case, ``stage``.
        """
        text = _word_of(value)
        if self.language == SOURCE or not text:
            return text
        words = catalogue(self.language).words
        own = kind or (type(value).__name__.lower() if isinstance(value, Enum) else "")
        told = words.get(own, {}).get(text)
        return told if told is not None else self.say(text)

    def day(self, on: date, *, year: bool | None = None) -> str:
        """Return ``Thu 18 June``; with the year when told, or when it is not today's."""
        return day_text(on, self._order, self.language, year=self._year(on, year))

    def day_short(self, on: date) -> str:
        """Return a day without its weekday: ``18 June``."""
        return day_text(on, self._order, self.language, year=self._year(on, None), weekday="none")

    def day_long(self, on: date) -> str:
        """Return ``Thursday 18 June 2026``."""
        return day_text(on, self._order, self.language, year=True, weekday="long")

    def range(self, first: date, last: date) -> str:
        """Return a span of days: ``18 to 24 June``."""
        return range_text(first, last, self._order, self.language, year=self._year(last, None))

    def minutes(self, minutes: float) -> str:
        """Return bench time as a grower says it: ``50 min``, ``1 h 10``."""
        whole = round(minutes / 5) * 5 if minutes >= 10 else max(1, round(minutes))
        hours, rest = divmod(whole, 60)
        if not hours:
            return f"{rest} min"
        return f"{hours} h {rest:02d}" if rest else f"{hours} h"

    def hours(self, hours: float) -> str:
        """Return hours of bench time: ``9 h``, ``1 h 30``."""
        return self.minutes(hours * 60.0) if hours else "0 h"

    def length(self, mm: float | None, *, decimals: int | None = None) -> str:
        """Return a length in mm in the grower's unit; ``?`` when unknown."""
        if mm is None:
            return "?"
        return marked(show_length(mm, self.units, decimals=decimals), self.language)

    def temp(self, celsius: float | None, *, step: bool = False) -> str:
        """Return a temperature, or with ``step`` the difference of two; ``?`` when unknown."""
        if celsius is None or celsius != celsius:  # noqa: PLR0124  # nan alone is not itself
            return "?"
        number = f"{celsius:.1f}" if celsius % 1 else f"{celsius:.0f}"
        told = degrees_as_written(number, self.temperature, self.language, step=step)
        return f"{told} °{self.temperature}"

    def percent(self, share: float | None) -> str:
        """Return a share of one as ``74 %``; ``?`` when unknown."""
        if share is None or share != share:  # noqa: PLR0124  # nan alone is not itself
            return "?"
        return spoken.percent(share)

    def number(self, value: float, decimals: int | None = None) -> str:
        """Return a number with the language's decimal mark."""
        return number_text(value, self.language, decimals=decimals)

    def count(self, value: int) -> str:
        """Return a whole number, thousands set apart from 10 000 on."""
        return f"{value:,}".replace(",", "\N{NARROW NO-BREAK SPACE}") if abs(value) >= 10_000 else (
            str(value)
        )  # fmt: skip

    def season(self, on: date) -> str:
        """Return the season of a day: ``2026`` in the north, ``2026/27`` in the south."""
        if not self.south:
            return str(on.year)
        first = on.year if on.month >= 7 else on.year - 1
        return f"{first}/{(first + 1) % 100:02d}"

    @property
    def sunny_side(self) -> str:
        """The side the midday sun comes from: south in the north, north in the south."""
        return self.t("side.north" if self.south else "side.south")

    @property
    def _order(self) -> str:
        """Order of dates; month first is English alone."""
        if self.dates == MONTH_FIRST and self.language != SOURCE:
            return DAY_FIRST
        return self.dates

    def _year(self, on: date, told: bool | None) -> bool:
        if told is not None:
            return told
        return self.today is not None and on.year != self.today.year


def _word_of(value: Enum | str) -> str:
    if not isinstance(value, Enum):
        return value
    word = getattr(value, "word", None)
    if isinstance(word, str):
        return word
    return value.value if isinstance(value.value, str) else value.name.lower().replace("_", " ")


@lru_cache(maxsize=16384)
def _said(speaker: Speaker, text: str) -> str:
    order, language = speaker._order, speaker.language
    in_units = units_pass(speaker.units, speaker.temperature, language)
    if language != SOURCE:
        told = tell(text, language, order)
        if told is not None:
            return in_units(told)
        if len(untold) < _UNTOLD_KEPT:
            untold[text] += 1
        in_units = units_pass(speaker.units, speaker.temperature, SOURCE)
        return Untold(in_units(retell_days(text, speaker.dates, SOURCE, speaker.today)))
    return in_units(retell_days(text, order, language, speaker.today))

"""What every page and answer is made from: the book kept open, the words, the templates."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from functools import cache, cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape

from boughwright import __version__
from boughwright.settings import Settings, settings_of
from boughwright.usecases.day import garden_on
from boughwright.usecases.kept import KeptBook
from boughwright.web.pictures import Pictures
from boughwright.web.speech import SOURCE, Speaker, page_texts

if TYPE_CHECKING:
    from boughwright.journal.garden import Garden
    from boughwright.usecases.day import GardenDay, TreeDay

HERE = Path(__file__).parent
TEMPLATES = HERE / "templates"
DIST = HERE / "static" / "dist"
VIEW_COOKIE = "view"
"""Cookie of this device's own wishes: the thumb's side and the light. It holds no secret."""
HANDS = ("right", "left")
LIGHTS = ("device", "day", "night")
FIRST_WAIT_S = 0.8
"""How long the first page waits for the day before it shows how far the work has come. [s]"""


class StillWorking(Exception):  # noqa: N818  # not an error: the day is being worked out
    """The first day of the book is still being worked out."""


@dataclass(frozen=True, slots=True)
class Ground:
    """What holds for the whole garden: its settings, its day, its half of the world."""

    settings: Settings
    today: date
    south: bool


def _lies_south(garden: Garden) -> bool:
    home = str(garden.fields.get("home") or next(iter(garden.places), ""))
    latitude = garden.places.get(home, {}).get("latitude")
    return isinstance(latitude, (int, float)) and latitude < 0


@dataclass
class Bench:
    """One book, kept open for as long as the program serves it."""

    book: Path
    kept: KeptBook
    calendar: Callable[[], date] | None = None
    """Gives the day; None: the book's standing date, else the calendar's."""
    pictures: Pictures = field(default_factory=Pictures)
    share: float = 0.0
    """How far the first day has come, 0..1."""
    warm: bool = False
    """True once a day has been worked out."""
    _ground: tuple[object, Ground] | None = field(default=None, repr=False)
    _first: threading.Thread | None = field(default=None, repr=False)
    _failed: Exception | None = field(default=None, repr=False)
    _lock: threading.Lock = field(default_factory=threading.Lock, repr=False)

    @property
    def has_book(self) -> bool:
        """True once there is a book to read."""
        return self.book.exists()

    def day(self) -> GardenDay:
        """Return the garden today, worked out again only where something changed.

        Raises
        ------
        StillWorking
            When it is the first time and takes longer than a page may wait.
        """
        if not self.warm:
            self._warm_up()
        return self.kept.day()

    def _warm_up(self) -> None:
        with self._lock:
            if self._first is None:
                self._failed = None
                self._first = threading.Thread(target=self._work_out_first, daemon=True)
                self._first.start()
            first = self._first
        first.join(FIRST_WAIT_S)
        if first.is_alive():
            raise StillWorking
        with self._lock:
            self._first = None
        if self._failed is not None:
            raise self._failed

    @property
    def working(self) -> bool:
        """True while the first day is being worked out."""
        first = self._first
        return first is not None and first.is_alive()

    def _work_out_first(self) -> None:
        try:
            self.kept.day(progress=self._told)
            self.warm = True
        except Exception as error:  # handed to the page that asked
            self._failed = error

    def _told(self, share: float) -> None:
        self.share = share

    @property
    def ground(self) -> Ground:
        """What holds for the whole garden. The defaults while there is no book to read it from."""
        if not self.has_book:
            return Ground(Settings(), (self.calendar or date.today)(), south=False)
        events = self.kept.garden_events()
        given = (self.calendar or date.today)()
        if self._ground is None or self._ground[0] != (events, given):
            garden, today = garden_on(events, None, self.calendar)
            made = Ground(settings_of(garden.fields), today, south=_lies_south(garden))
            self._ground = ((events, given), made)
        return self._ground[1]

    @property
    def settings(self) -> Settings:
        """The garden's settings."""
        return self.ground.settings

    @property
    def today(self) -> date:
        """The day the pages speak of: the garden's standing date, else the calendar's."""
        return self.ground.today

    def speaker(self, ground: Ground | None = None) -> Speaker:
        """Return the speaker for the garden's units, dates and language."""
        here = ground or self.ground
        return Speaker(
            units=here.settings.units,
            temperature=here.settings.temperature,
            dates=here.settings.dates,
            language=here.settings.language,
            south=here.south,
            today=here.today,
        )

    @cached_property
    def pages(self) -> Environment:
        """The templates: every word escaped, every unknown name a fault."""
        env = Environment(
            loader=FileSystemLoader(TEMPLATES),
            autoescape=select_autoescape(default_for_string=True, default=True),
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )
        env.globals["version"] = __version__
        return env

    def render(
        self, request: Request, template: str, /, *, status: int = 200, **context: Any
    ) -> HTMLResponse:
        """Return a page, or a part of one when the page asks for a part only.

        Parameters
        ----------
        request : Request
            Whose device and session the page is for.
        template : str
            Path below ``templates``.
        status : int
            HTTP status.
        context
            What the template needs.
        """
        ground = self.ground
        words = self.speaker(ground)
        text = self.pages.get_template(template).render(
            **spoken_names(words),
            settings=ground.settings,
            today=ground.today,
            path=request.url.path,
            csrf=getattr(request.state, "csrf", ""),
            view=view_of(request, ground.settings),
            has_book=self.has_book,
            **context,
        )
        return HTMLResponse(text, status_code=status)


def spoken_names(words: Speaker) -> dict[str, Any]:
    """Return the speaker's ways of saying things under the names that templates use."""
    return {
        "words": words,
        "t": words.t,
        "say": words.say,
        "day": words.day,
        "day_long": words.day_long,
        "minutes": words.minutes,
        "length": words.length,
        "temp": words.temp,
        "percent": words.percent,
        "word": words.word,
        "lang": words.language,
        "device_words": device_words(words.language),
    }


@cache
def device_words(language: str) -> dict[str, str | dict[str, str]]:
    """Return the texts that the pages' own scripts say, their holes unfilled."""
    head = "device."
    return {
        key.removeprefix(head): text if isinstance(text, str) else dict(text)
        for key, text in {**page_texts(SOURCE), **page_texts(language)}.items()
        if key.startswith(head)
    }


def view_of(request: Request, settings: Settings) -> dict[str, str]:
    """Return the thumb's side and the light of a device: its own wish, else the garden's."""
    hand, _, light = request.cookies.get(VIEW_COOKIE, "").partition("-")
    return {
        "hand": hand if hand in HANDS else settings.hand,
        "light": light if light in LIGHTS else settings.light,
    }


def bench(request: Request) -> Bench:
    """Return the bench of the running app; what pages depend on."""
    found: Bench = request.app.state.bench
    return found


def tree_day(bench: Bench, tree: str) -> TreeDay:
    """Return one tree of today by its lasting id, its name or its tag.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
        When no tree, or more than one, is meant.
    """
    garden = bench.day()
    for day in garden.trees:
        if day.facts.tree == tree:
            return day
    return garden.tree(tree)

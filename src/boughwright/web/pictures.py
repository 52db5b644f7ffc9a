"""Drawings of trees, made once for each state of a tree and kept while it stays the same."""

from __future__ import annotations

import threading
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from markupsafe import Markup

from boughwright.report.drawing import line_drawing, thumb
from boughwright.usecases.drawing import drawing_of

if TYPE_CHECKING:
    from boughwright.usecases.day import TreeDay
    from boughwright.usecases.drawing import Drawing
    from boughwright.web.speech import Speaker


@dataclass
class Pictures:
    """The drawings of one book's trees. A tree that changed is drawn again."""

    _drawn: dict[str, tuple[TreeDay, Drawing]] = field(default_factory=dict)
    _thumbs: dict[str, tuple[TreeDay, Markup]] = field(default_factory=dict)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def drawing(self, day: TreeDay) -> Drawing:
        """Return a tree's drawing."""
        known = self._drawn.get(day.facts.tree)
        if known is not None and known[0] is day:
            return known[1]
        drawn = drawing_of(day)
        with self._lock:
            self._drawn[day.facts.tree] = (day, drawn)
        return drawn

    def thumb(self, day: TreeDay) -> Markup:
        """Return a tree's small drawing for a list."""
        known = self._thumbs.get(day.facts.tree)
        if known is not None and known[0] is day:
            return known[1]
        small = Markup(thumb(self.drawing(day)))  # noqa: S704  # our own picture, text escaped there
        with self._lock:
            self._thumbs[day.facts.tree] = (day, small)
        return small

    def lines(
        self,
        day: TreeDay,
        words: Speaker,
        *,
        turn: float = 0.0,
        width: int,
        height: int,
        highlight: str | None = None,
        ink_only: bool = False,
    ) -> Markup:
        """Return the line drawing of a tree from a turn of the turntable. [degrees, px]."""
        text = line_drawing(
            self.drawing(day),
            front_deg=turn,
            width=width,
            height=height,
            highlight=highlight,
            ink_only=ink_only,
            units=words.units,
            speech=words,
        )
        return Markup(text)  # noqa: S704  # our own picture, text escaped there

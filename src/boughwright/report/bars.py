"""Windows drawn as bars on one time axis that starts today, for rows of jobs and of wires.

Places along the axis are shares of the width, so one drawing fits a phone and a laptop and its
letters keep their size. Nothing in a drawing has an id: any number stand on a page, and a part of a
page can be swapped. A certain edge is sharp; an uncertain one fades from p10 to p90, drawn as
layers that lie over each other. Roles differ in form as well as colour, so that they can be told
apart in black and white.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from html import escape
from math import isnan
from typing import TYPE_CHECKING, Final, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import date

    from boughwright.season.stages import DateRange
    from boughwright.wire.window import WireWindow

LEFT, RIGHT = 4.0, 99.0
"""Where today and the last day stand. [% of the width]"""

TALL, HEAD_TALL, WIRE_TALL, SHARE_TALL = 24, 26, 36, 18
"""Heights of a bar, of the axis with its dates, of a wire's row and of a share, in px."""

WEEK_DAYS: Final = 7
LAYERS, LAYER_OPACITY = 8, 0.28
"""A fade is so many layers of this opacity, each ending further on."""
OPEN_DAYS: Final = 10
"""A bar without a last day fades out over so many days. [d]"""
BITTEN_GRADE: Final = 3
SHARE_REACH: Final = 1.25
"""A share's line reaches so far beyond its full mark."""


class _Form(NamedTuple):
    """How a role is drawn: thickness of its bar and of its last edge, hollow or full. [px]."""

    thick: float
    edge: float
    hollow: bool = False
    dash: str = ""


FORMS: Final[dict[str, _Form]] = {
    "harm": _Form(14, 4),
    "act": _Form(9, 2.5),
    "look": _Form(9, 1.5, hollow=True),
    "run": _Form(4, 1.5, dash="7 4"),
    "ink": _Form(4, 1.5),
}
"""Forms by role: the more harm, the heavier."""


@dataclass(frozen=True, slots=True)
class Axis:
    """The time axis of a page: one for all its rows.

    ``today`` stands at the left, ``until`` at the right.
    """

    today: date
    until: date

    def x(self, day: date) -> float:
        """Return the place of a day along the width, held to the axis. [%]."""
        span = max((self.until - self.today).days, 1)
        share = min(max((day - self.today).days / span, 0.0), 1.0)
        return LEFT + (RIGHT - LEFT) * share

    def weeks(self) -> Iterator[date]:
        """Yield today and every seventh day after it, up to the last."""
        day = self.today
        while day <= self.until:
            yield day
            day += timedelta(days=WEEK_DAYS)

    def head(self, say: Callable[[date], str]) -> str:
        """Return the axis itself: a tick and a date a week.

        Parameters
        ----------
        say : callable
            Writes a day in the grower's way. Every second date is of class ``odd`` and is left out
            where the width is small.
        """
        made = [f'<svg class="axis" width="100%" height="{HEAD_TALL}" aria-hidden="true">',
                f'<line class="axis-line" x1="{_p(LEFT)}" x2="{_p(RIGHT)}" y1="{HEAD_TALL - 1}" '
                f'y2="{HEAD_TALL - 1}"/>']  # fmt: skip
        for number, day in enumerate(self.weeks()):
            x = self.x(day)
            kind = "now" if number == 0 else ("odd" if number % 2 else "even")
            anchor = "end" if x > 90.0 else ("start" if number == 0 else "middle")
            at = 0.0 if number == 0 else x
            made.append(f'<g class="{kind}"><line class="axis-tick" x1="{_p(x)}" x2="{_p(x)}" '
                        f'y1="{HEAD_TALL - 6}" y2="{HEAD_TALL}"/><text x="{_p(at)}" y="14" '
                        f'text-anchor="{anchor}">{escape(say(day))}</text></g>')  # fmt: skip
        return "".join([*made, "</svg>"])

    def bar(
        self,
        earliest: date | None,
        latest: date | None,
        *,
        role: str,
        label: str,
        starts: DateRange | None = None,
        ends: DateRange | None = None,
    ) -> str:
        """Return the window of a job.

        Parameters
        ----------
        earliest, latest : date, optional
            None: already, and no last day. A last day before today is drawn as late.
        role : str
            One of `FORMS`.
        label : str
            What it is, in words.
        starts, ends : DateRange, optional
            How sure the edges are. None: sharp.
        """
        form = FORMS[role]
        body = [self._ground(TALL)]
        if latest is not None and latest < self.today:
            body.append(self._late(TALL))
        elif earliest is not None and earliest > self.until:
            body.append(_arrow(TALL))
        else:
            body.append(self._window(earliest or self.today, latest, form, TALL, starts, ends))
        late = " late" if latest is not None and latest < self.today else ""
        return _framed(f"bar role-{role}{late}", TALL, label, "".join(body))

    def _ground(self, tall: int) -> str:
        """Return the faint weeks and the line of today."""
        weeks = "".join(
            f'<line class="bar-week" x1="{_p(x)}" x2="{_p(x)}" y1="0" y2="{tall}"/>'
            for x in (self.x(day) for day in self.weeks())
        )
        return f'{weeks}<line class="bar-now" x1="{_p(LEFT)}" x2="{_p(LEFT)}" y1="0" y2="{tall}"/>'

    def _late(self, tall: int) -> str:
        """Return the mark of what should be over: a block that stands against today, overshot."""
        middle = tall / 2
        return (
            f'<rect x="0" width="{_p(LEFT)}" y="{middle - 7:g}" height="14" fill="currentColor"/>'
            f'<svg x="{_p(LEFT)}" overflow="visible"><path d="M3 {middle - 9:g}l9 9l-9 9" '
            f'fill="none" stroke="currentColor" stroke-width="3"/></svg>'
        )

    def _window(self, first: date, latest: date | None, form: _Form, tall: int,
                starts: DateRange | None, ends: DateRange | None) -> str:  # fmt: skip
        """Return a bar with its edges: sharp where sure, fading where not."""
        y = (tall - form.thick) / 2
        sure_from, maybe_from = _edge(starts, first, early=True)
        maybe_to: date
        if latest is None:
            fades = 0 if form.hollow else OPEN_DAYS  # a hollow bar has nothing that can fade
            sure_to, maybe_to = self.until - timedelta(days=fades), self.until
        else:
            sure_to, maybe_to = _edge(ends, latest, early=False)
        sure_to = max(sure_to, sure_from)
        left, right = self.x(sure_from), self.x(sure_to)
        made = [_block(left, right, y, form)]
        made.append(_fade(self.x(maybe_from), left, y, form.thick, rising=True))
        made.append(_fade(right, self.x(maybe_to), y, form.thick, rising=False))
        if starts is None and first > self.today:
            made.append(_upright(self.x(first), y - 2, y + form.thick + 2, 1.5))
        if latest is not None and latest <= self.until:
            made.append(_upright(self.x(latest), y - 4, y + form.thick + 4, form.edge))
        elif latest is not None:
            made.append(_arrow(tall))
        return "".join(made)


def _p(share: float) -> str:
    """Return a place as a per cent of the width."""
    return f"{share:.2f}".rstrip("0").rstrip(".") + "%"


def _edge(range_: DateRange | None, day: date, *, early: bool) -> tuple[date, date]:
    """Return where an edge is sure and where it may be at the furthest."""
    if range_ is None or range_.early is None:
        return day, day
    late = range_.late or range_.likely or range_.early
    return (late, range_.early) if early else (range_.early, late)


def _block(left: float, right: float, y: float, form: _Form) -> str:
    if right <= left:
        return ""
    if form.dash:
        middle = y + form.thick / 2
        return (f'<line x1="{_p(left)}" x2="{_p(right)}" y1="{middle:g}" y2="{middle:g}" '
                f'stroke="currentColor" stroke-width="{form.thick:g}" '
                f'stroke-dasharray="{form.dash}"/>')  # fmt: skip
    fill = ('fill="none" stroke="currentColor" stroke-width="1.5"' if form.hollow
            else 'fill="currentColor"')  # fmt: skip
    return (f'<rect x="{_p(left)}" width="{_p(right - left)}" y="{y:g}" height="{form.thick:g}" '
            f'{fill}/>')  # fmt: skip


def _fade(left: float, right: float, y: float, thick: float, *, rising: bool) -> str:
    """Return an edge that comes or goes: layers from its sure end, each reaching further."""
    if right - left < 0.05:
        return ""
    made = []
    for layer in range(1, LAYERS + 1):
        wide = (right - left) * layer / LAYERS
        at = right - wide if rising else left
        made.append(f'<rect x="{_p(at)}" width="{_p(wide)}" y="{y:g}" height="{thick:g}" '
                    f'fill="currentColor" fill-opacity="{LAYER_OPACITY}"/>')  # fmt: skip
    return f'<g class="bar-fade">{"".join(made)}</g>'


def _upright(x: float, top: float, foot: float, width: float, kind: str = "") -> str:
    named = f' class="{kind}"' if kind else ""
    return (f'<line{named} x1="{_p(x)}" x2="{_p(x)}" y1="{top:g}" y2="{foot:g}" '
            f'stroke="currentColor" stroke-width="{width:g}"/>')  # fmt: skip


def _arrow(tall: int) -> str:
    """Return the mark of what lies beyond the axis."""
    middle = tall / 2
    return (f'<svg x="{_p(RIGHT)}" overflow="visible"><path d="M-7 {middle - 6:g}l6 6l-6 6" '
            'fill="none" stroke="currentColor" stroke-width="2"/></svg>')  # fmt: skip


def _framed(kind: str, tall: int, label: str, body: str) -> str:
    return (f'<svg class="{kind}" width="100%" height="{tall}" role="img">'
            f"<title>{escape(label)}</title>{body}</svg>")  # fmt: skip


# --- wire ----------------------------------------------------------------------------------------


def wire_role(window: WireWindow, today: date) -> str:
    """Return how pressing a wire is: harm when bitten or past its day, act within a week."""
    off = window.off_by
    if window.seen_grade >= BITTEN_GRADE or (off is not None and off <= today):
        return "harm"
    return "act" if off is not None and (off - today).days <= WEEK_DAYS else "ink"


def wire_bar(window: WireWindow, axis: Axis, *, label: str) -> str:
    """Return the row of one wire: how long it may stay, with the days that matter.

    The bar runs to the day it must be off and fades on to the day by which it surely is too deep. A
    ring on a stem is the next look; two strokes below the line, that the bend holds from there; a
    cross, that the wire likely bites.
    """
    role = wire_role(window, axis.today)
    form, middle = FORMS[role], WIRE_TALL / 2
    body = [axis._ground(WIRE_TALL)]
    off = window.off_by
    if off is not None and off < axis.today:
        body.append(axis._late(WIRE_TALL))
    elif isnan(window.allowed.not_this_season):
        body.append(f'<line class="bar-unknown" x1="{_p(LEFT)}" x2="{_p(RIGHT)}" y1="{middle:g}" '
                    f'y2="{middle:g}"/>')  # fmt: skip
    else:
        ends = window.allowed if off == window.allowed.early else None
        body.append(axis._window(axis.today, off, form, WIRE_TALL, None, ends))
    body.append(_marks(window, axis, middle))
    return _framed(f"bar wire role-{role}", WIRE_TALL, label, "".join(body))


def _marks(window: WireWindow, axis: Axis, middle: float) -> str:
    """Return the marks of a wire's days that lie on the axis."""

    def on_axis(day: date | None) -> bool:
        return day is not None and axis.today <= day <= axis.until

    made = []
    look, holds, bitten = window.look_by, window.hold_from, window.bitten.likely
    if look is not None and look <= axis.until:
        x = axis.x(look)
        made.append(f'<g class="role-look">{_upright(x, 8, middle, 1.5)}<circle cx="{_p(x)}" '
                    'cy="5" r="3.5" class="bar-ring"/></g>')  # fmt: skip
    if holds is not None and on_axis(holds):
        made.append(f'<svg class="role-ink" x="{_p(axis.x(holds))}" overflow="visible">'
                    f'<path d="M-2 {middle + 7:g}v9M2 {middle + 7:g}v9" stroke="currentColor" '
                    'stroke-width="2"/></svg>')  # fmt: skip
    seen = window.seen_grade >= BITTEN_GRADE
    if seen or on_axis(bitten):
        x = axis.x(axis.today if seen or bitten is None else bitten)
        made.append(f'<svg class="role-harm" x="{_p(x)}" overflow="visible"><path '
                    f'd="M-4 {middle + 8:g}l8 8M4 {middle + 8:g}l-8 8" stroke="currentColor" '
                    'stroke-width="2"/></svg>')  # fmt: skip
    return "".join(made)


def share_line(used: tuple[float, float, float], *, role: str, label: str) -> str:
    """Return a share as the thick part of a line, with the full mark as a stroke across it.

    Parameters
    ----------
    used : (3,) tuple of float
        p10, p50 and p90; equal when it is sure. nan: unknown, a dashed line.
    role : str
        One of `FORMS`.
    label : str
        The same in words.
    """
    middle, thick = SHARE_TALL / 2, 6.0
    full = 100.0 / SHARE_REACH
    low, likely, high = (min(max(v, 0.0), SHARE_REACH) * full for v in used)
    unknown = any(isnan(value) for value in used)
    line = "bar-unknown" if unknown else "share-track"
    body = [f'<line class="{line}" x1="0" x2="100%" y1="{middle:g}" y2="{middle:g}"/>']
    if not unknown:
        y = middle - thick / 2
        body.append(f'<rect x="0" width="{_p(low)}" y="{y:g}" height="{thick:g}" '
                    'fill="currentColor"/>')  # fmt: skip
        body.append(_fade(low, high, y, thick, rising=False))
        body.append(_upright(likely, y - 3, y + thick + 3, 2))
    body.append(_upright(full, 1, SHARE_TALL - 1, 1.5, "share-full"))
    return _framed(f"share role-{role}", SHARE_TALL, label, "".join(body))

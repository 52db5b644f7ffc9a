"""A tree's season drawn as one shoot: grown up to today, still to come after it.

The shoot runs from the first day of the season to its last. Each stage starts at a node: full when
the grower logged it, open when it is reckoned, with the days in which it may start as a faint
swelling. What is past is drawn through, the stage of today thick, what is ahead broken. Places are
shares of the width, so that one drawing fits a phone and a laptop. Nothing in it has an id.
"""

from __future__ import annotations

from datetime import date
from html import escape
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from boughwright.report.charts_data import StageChart, StageMark

LEFT, RIGHT = 1.5, 98.5
"""Where the season's first and last day stand. [% of the width]"""
TALL, HEAD_TALL = 30, 26
"""Heights of a shoot and of the axis with its months, in px."""
PAST, NOW, AHEAD = 2.0, 6.0, 1.5
"""Thickness of what is past, of today's stage and of what is ahead, in px."""
NODE: Final = 4.5
"""Radius of a node, in px."""
RANGE_TALL: Final = 14


def place(day: date, first: date, last: date) -> float:
    """Return where a day stands along the season, held to its ends. [% of the width]."""
    share = (day - first).days / max((last - first).days, 1)
    return LEFT + (RIGHT - LEFT) * min(max(share, 0.0), 1.0)


def season_head(first: date, last: date, today: date, months: Sequence[str], now: str) -> str:
    """Return the axis of a season: a tick and a name a month, and today.

    Parameters
    ----------
    first, last, today : date
    months : sequence of str
        Short names of the twelve months.
    now : str
        The word for today.
    """
    made = [f'<svg class="season-head" width="100%" height="{HEAD_TALL}" aria-hidden="true">',
            f'<line class="axis-line" x1="{_p(LEFT)}" x2="{_p(RIGHT)}" y1="{HEAD_TALL - 1}" '
            f'y2="{HEAD_TALL - 1}"/>']  # fmt: skip
    at_now = place(today, first, last)
    for start in _month_starts(first, last):
        x, middle = place(start, first, last), place(start.replace(day=15), first, last)
        kind = "odd" if start.month % 2 == 0 else "even"
        made.append(f'<line class="axis-tick" x1="{_p(x)}" x2="{_p(x)}" y1="{HEAD_TALL - 6}" '
                    f'y2="{HEAD_TALL}"/>')  # fmt: skip
        made.append(f'<text class="{kind}" x="{_p(middle)}" y="15" text-anchor="middle">'
                    f"{escape(months[start.month - 1])}</text>")  # fmt: skip
    made.append(f'<line class="bar-now" x1="{_p(at_now)}" x2="{_p(at_now)}" y1="0" '
                f'y2="{HEAD_TALL}"><title>{escape(now)}</title></line>')  # fmt: skip
    return "".join([*made, "</svg>"])


def _month_starts(first: date, last: date) -> list[date]:
    months = (last.year - first.year) * 12 + last.month - first.month + 1
    starts = [
        date(first.year + (first.month - 1 + n) // 12, (first.month - 1 + n) % 12 + 1, 1)
        for n in range(months)
    ]
    return [start for start in starts if first <= start <= last]


def season_line(data: StageChart, label: str, say: Callable[[StageMark], str]) -> str:
    """Return the shoot of one tree's season.

    Parameters
    ----------
    data : StageChart
    label : str
        What it shows, in words.
    say : callable
        When a stage starts, in words: shown when its node is pointed at.
    """
    middle = TALL / 2
    today = place(data.today, data.first, data.last)
    begun = [mark.likely for mark in data.stages if mark.likely <= data.today]
    since = place(max(begun), data.first, data.last) if begun else LEFT
    body = [
        _run("season-past", LEFT, since, middle, PAST),
        _run("season-now", since, today, middle, NOW),
        _run("season-ahead", today, RIGHT, middle, AHEAD, dash="5 5"),
        *(_swelling(mark, data, middle) for mark in data.stages),
        f'<line class="bar-now" x1="{_p(today)}" x2="{_p(today)}" y1="0" y2="{TALL}"/>',
        *(_node(mark, data, middle, say) for mark in data.stages),
    ]
    return (f'<svg class="season" width="100%" height="{TALL}" role="img">'
            f"<title>{escape(label)}</title>{''.join(body)}</svg>")  # fmt: skip


def _run(kind: str, left: float, right: float, y: float, thick: float, dash: str = "") -> str:
    if right <= left:
        return ""
    broken = f' stroke-dasharray="{dash}"' if dash else ""
    return (f'<line class="{kind}" x1="{_p(left)}" x2="{_p(right)}" y1="{y:g}" y2="{y:g}" '
            f'stroke="currentColor" stroke-width="{thick:g}"{broken}/>')  # fmt: skip


def _swelling(mark: StageMark, data: StageChart, middle: float) -> str:
    """Return the days in which a stage may start."""
    if mark.early is None or mark.late is None or mark.late <= mark.early:
        return ""
    left = place(mark.early, data.first, data.last)
    right = place(mark.late, data.first, data.last)
    return (f'<rect class="season-range" x="{_p(left)}" width="{_p(right - left)}" '
            f'y="{middle - RANGE_TALL / 2:g}" height="{RANGE_TALL}" fill="currentColor" '
            'fill-opacity="0.18"/>')  # fmt: skip


def _node(mark: StageMark, data: StageChart, middle: float, say: Callable[[StageMark], str]) -> str:
    x = place(mark.likely, data.first, data.last)
    kind = "season-node seen" if mark.seen else "season-node"
    fill = ' fill="currentColor"' if mark.seen else ""
    return (f'<circle class="{kind}" cx="{_p(x)}" cy="{middle:g}" r="{NODE:g}" '
            f'stroke="currentColor" stroke-width="1.5"{fill}><title>{escape(say(mark))}</title>'
            "</circle>")  # fmt: skip


def _p(share: float) -> str:
    """Return a place as a per cent of the width."""
    return f"{share:.2f}".rstrip("0").rstrip(".") + "%"

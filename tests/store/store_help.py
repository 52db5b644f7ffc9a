"""Events and weather days made for the tests of the book."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from math import nan

from boughwright.journal.events import Event, Measured, Noted, Worked
from boughwright.journal.terms import Metal, Quantity, Work
from boughwright.season.record import Origin

DAY = date(2026, 6, 9)


@dataclass(frozen=True)
class Day:
    """A weather day of any kind."""

    on: date
    t_min_c: float = nan
    t_max_c: float = nan
    rain_mm: float = nan
    humidity_pct: float = nan
    wind_ms: float = nan
    sun_mj: float = nan
    origin: Origin = Origin.READ


def notes(count: int, *, tree: str | None = "t1", who: str = "") -> list[Event]:
    """Return so many small events."""
    return [Event(Noted(f"note {i}"), DAY, tree=tree, who=who) for i in range(count)]


def mixed() -> list[Event]:
    """Return events of several kinds, trees and days, with words from outside ASCII."""
    moment = datetime(2026, 6, 9, 23, 30, 0, 123456, tzinfo=UTC)
    return [
        Event(Measured(Quantity.BASE, 12.5, marked=True), DAY, tree="t1", branch="b1", who="Ana"),
        Event(
            Worked(Work.WIRE_ON, gauge_mm=2.5, metal=Metal.ALUMINIUM, until=date(2026, 8, 1)),
            DAY - timedelta(days=400),
            tree="t2",
            branch="b9",
            recorded=moment,
        ),
        Event(Noted('Čuvar "sjene" 50 %\nnew line'), DAY, tree="t1", recorded=moment),
        Event(Noted("whole garden"), DAY),
    ]


def days(first: date, lows: list[float], *, origin: Origin = Origin.READ) -> list[Day]:
    """Return days in a row with these minima and maxima 10 above."""
    return [
        Day(first + timedelta(days=i), low, low + 10, origin=origin) for i, low in enumerate(lows)
    ]

"""Where each tree is in its year, and what the weather threatens."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.usecases.day import open_day, quiet
from boughwright.usecases.shapes import shaped

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date
    from pathlib import Path

    from boughwright.season.stages import Alarm, DateRange, Stage, TreeCalendar
    from boughwright.usecases.day import GardenDay
    from boughwright.usecases.shapes import Json


@dataclass(frozen=True, slots=True)
class StageLine:
    """One tree's stage today, the next one, and its alarms."""

    tree: str
    shelf: str
    calendar: TreeCalendar
    next_stage: Stage | None
    next_starts: DateRange | None
    alarms: tuple[Alarm, ...]


@dataclass(frozen=True, slots=True)
class Strip:
    """All trees' stages and alarms."""

    today: date
    lines: tuple[StageLine, ...]


def stage_strip(
    path: Path, *, on: date | None = None, progress: Callable[[float], object] = quiet
) -> Strip:
    """Return the stage and weather strip of the garden.

    Raises
    ------
    UnknownNameError, StoreError
    """
    return strip_of(open_day(path, on=on, progress=progress))


def strip_of(garden: GardenDay) -> Strip:
    """Return the stage and weather strip of a garden already worked out."""
    lines = []
    for day in garden.trees:
        following = _next(day.calendar, garden.today)
        lines.append(
            StageLine(
                day.facts.name,
                day.shelf.name,
                day.calendar,
                following[0] if following else None,
                following[1] if following else None,
                day.alarms,
            )
        )
    return Strip(garden.today, tuple(lines))


def _next(calendar: TreeCalendar, today: date) -> tuple[Stage, DateRange] | None:
    ahead = [
        (when.likely, stage)
        for stage, when in calendar.starts.items()
        if when.likely is not None and when.likely > today and stage != calendar.stage
    ]
    if not ahead:
        return None
    _, stage = min(ahead)
    return stage, calendar.starts[stage]


def stage_shape(answer: Strip) -> dict[str, Json]:
    """Return the strip in its JSON shape."""
    return shaped(
        "boughwright/stages",
        1,
        {
            "on": answer.today,
            "trees": [
                {
                    "tree": line.tree,
                    "shelf": line.shelf,
                    "season": line.calendar.season,
                    "stage": line.calendar.stage,
                    "since": line.calendar.since,
                    "known": line.calendar.grade,
                    "next": line.next_stage,
                    "next_starts": line.next_starts,
                    "starts": line.calendar.starts,
                    "leaf_out": line.calendar.leaf_out,
                    "warmth_cd": line.calendar.warmth_cd,
                    "filled_days": line.calendar.filled_days,
                    "notes": line.calendar.notes,
                    "alarms": line.alarms,
                }
                for line in answer.lines
            ],
        },
    )

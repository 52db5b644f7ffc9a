"""What the collection needs in the days ahead, against the hours at hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.benchwork.callup import call_up
from boughwright.benchwork.costs import slip_cost
from boughwright.usecases.day import open_day, quiet
from boughwright.usecases.shapes import shaped
from boughwright.verdicts.cautions import caution_text

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date
    from pathlib import Path

    from boughwright.benchwork.jobs import BenchJob, CallUp, TreeCall
    from boughwright.usecases.day import GardenDay
    from boughwright.usecases.shapes import Json


@dataclass(frozen=True, slots=True)
class Called:
    """The call-up with the day it was worked out from."""

    garden: GardenDay
    call: CallUp
    notes: tuple[str, ...]
    """What the reader must know of the weather and the record before trusting the list."""


def call_up_for(
    path: Path,
    *,
    on: date | None = None,
    hours: float | None = None,
    days: int = 7,
    progress: Callable[[float], object] = quiet,
) -> Called:
    """Return the call-up of the whole garden.

    Parameters
    ----------
    path : Path
        The book.
    on : date, optional
        See `boughwright.usecases.day.open_day`.
    hours : float, optional
        Bench hours at hand; None: those of the garden's week, by the days asked for. [h]
    days : int
        How many days to look ahead, today counted.
    """
    return call_up_of(open_day(path, on=on, progress=progress), hours, days)


def call_up_of(garden: GardenDay, hours: float | None = None, days: int = 7) -> Called:
    """Return the call-up of a garden already worked out; see `call_up_for`."""
    calls = [day.call for day in garden.trees]
    at_hand = garden.settings.hours * days / 7 if hours is None else hours
    return Called(
        garden,
        call_up(calls, today=garden.today, days=days, hours=at_hand),
        tuple(_notes(garden)),
    )


def _notes(garden: GardenDay) -> list[str]:
    notes = [one.note for one in garden.left_out]
    filled: dict[str, int] = {}
    bare = set()
    for day in garden.trees:
        if day.facts.filled_days:
            place = str(day.shelf.place_fields.get("name") or day.shelf.place)
            filled[place] = max(filled.get(place, 0), day.facts.filled_days)
            if day.clock.known_to < day.clock.first:
                bare.add(place)
        if day.species is None:
            notes.append(f"{day.facts.name}: {day.species_doubt}. Its dates are wider.")
    for place, number in filled.items():
        if place in bare:
            notes.append(
                f"{place}: no weather of this season is on record. The usual weather stands in, so "
                "all dates are wide. Load a weather file."
            )
            continue
        told = "1 day of weather is" if number == 1 else f"{number} days of weather are"
        notes.append(
            f"{place}: {told} missing this season. The gap is filled from the days around it and "
            "the usual weather. Dates that rest on it are wider."
        )
    doubtful = [day.facts.name for day in garden.trees if day.facts.contradictions]
    if doubtful:
        notes.append(f"Records that cannot both be right: {', '.join(doubtful)}. See the doubts.")
    return notes


def call_up_shape(answer: Called) -> dict[str, Json]:
    """Return the call-up in its JSON shape."""
    call = answer.call
    return shaped(
        "boughwright/call-up",
        1,
        {
            "on": call.today,
            "until": call.until,
            "garden": answer.garden.garden.fields.get("name"),
            "hours": call.hours,
            "hours_wanted": call.hours_wanted,
            "hours_planned": call.hours_planned,
            "over_hours": call.over_hours,
            "trees": [_tree_body(tree) for tree in call.now],
            "slips": [
                {
                    "tree": slip.tree,
                    "name": slip.name,
                    "job": _job_body(slip.job),
                    "to": slip.to,
                    "days": slip.days,
                    "cost": slip.cost,
                }
                for slip in call.slips
            ],
            "calm": [
                {"tree": tree.tree, "name": tree.name, "headline": tree.headline}
                for tree in call.calm
            ],
            "later": [_tree_body(tree) for tree in call.later],
            "notes": answer.notes,
        },
    )


def _tree_body(tree: TreeCall) -> dict[str, object]:
    return {
        "tree": tree.tree,
        "name": tree.name,
        "harm": tree.harm,
        "act_by": tree.act_by,
        "minutes": tree.minutes,
        "setup_minutes": tree.setup_minutes,
        "toll_left": tree.toll_left,
        "toll_season": tree.toll_season,
        "branches": tree.branches,
        "leave_alone": tree.leave_alone,
        "headline": tree.headline,
        "jobs": [_job_body(job) for job in tree.jobs],
    }


def _job_body(job: BenchJob) -> dict[str, object]:
    return {
        "act": job.act,
        "places": job.places,
        "how": job.how,
        "earliest": job.earliest,
        "latest": job.latest,
        "minutes": job.minutes,
        "reason": job.reason,
        "grade": job.grade,
        "sureness": job.sureness,
        "harm": job.harm,
        "step": job.order,
        "toll": job.toll,
        "never": job.never,
        "caution": caution_text(job.caution) if job.caution else "",
        "missed": slip_cost(job.act, job.harm, late=True),
    }

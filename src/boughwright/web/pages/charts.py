"""Every chart as a picture for day or night, and as the definition that can be looked at closer."""

from __future__ import annotations

import json
from dataclasses import replace
from hashlib import blake2b
from typing import TYPE_CHECKING, Annotated, Literal

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import Response

from boughwright.errors import UnknownNameError
from boughwright.report.charts import NARROW, WIDE, alt, definition, spec_json, svg
from boughwright.usecases.call_up import call_up_of
from boughwright.usecases.charts import (
    branch_chart_data,
    hours_chart_data,
    ratio_chart_data,
    stage_chart_data,
    weather_chart_data,
    wire_chart_data,
    years_chart_data,
)
from boughwright.web.state import Bench, bench, tree_day

if TYPE_CHECKING:
    from boughwright.report.charts import ChartData
    from boughwright.report.charts_data import RatioChart, WeatherChart
    from boughwright.usecases.day import GardenDay, TreeDay
    from boughwright.wire.window import WireWindow

router = APIRouter(prefix="/charts")
AtBench = Annotated[Bench, Depends(bench)]
Ending = Literal["svg", "json"]
NO_SHELF = "-"
"""Stands in an address for a tree that stands on no shelf of its place."""
CACHE = "private, no-cache"
"""Kept by the browser, and asked about each time: the figures change with every record."""


class Look:
    """How a chart is wanted: for day or night, for a phone or a laptop."""

    def __init__(
        self,
        light: Annotated[Literal["day", "night"], Query()] = "day",
        narrow: Annotated[bool, Query()] = False,
    ) -> None:
        self.light = light
        self.width = NARROW if narrow else WIDE


Wanted = Annotated[Look, Depends(Look)]


def answer(request: Request, bench: Bench, look: Look, ending: Ending, data: ChartData) -> Response:
    """Return a chart as a picture or as its definition; nothing when the browser has the same."""
    words = bench.speaker()
    spec = definition(data, words, width=look.width)
    said = alt(data, words)
    whole = json.dumps([spec, said, look.light, ending], sort_keys=True)
    headers = {
        "ETag": f'"{blake2b(whole.encode(), digest_size=12).hexdigest()}"',
        "Cache-Control": CACHE,
    }
    if request.headers.get("if-none-match") == headers["ETag"]:
        return Response(status_code=304, headers=headers)
    if ending == "json":
        text = spec_json(spec, look.light)
        return Response(text, media_type="application/json", headers=headers)
    return Response(svg(spec, look.light, alt=said), media_type="image/svg+xml", headers=headers)


# --- one branch, one wire, one tree ---------------------------------------------------------------


@router.get("/branch/{tree}/{branch}.{ending}")
def branch(
    request: Request, tree: str, branch: str, ending: Ending, bench: AtBench, look: Wanted
) -> Response:
    """Send where the base of a branch is going."""
    day = tree_day(bench, tree)
    return answer(request, bench, look, ending, branch_chart_data(day, branch))


@router.get("/years/{tree}/{branch}.{ending}")
def years(
    request: Request, tree: str, branch: str, ending: Ending, bench: AtBench, look: Wanted
) -> Response:
    """Send what the base of a branch gained season by season."""
    day = tree_day(bench, tree)
    return answer(request, bench, look, ending, years_chart_data(day, branch))


@router.get("/ratio/{tree}/{branch}.{ending}")
def ratio(
    request: Request, tree: str, branch: str, ending: Ending, bench: AtBench, look: Wanted
) -> Response:
    """Send how a graft or a scar comes on."""
    data = _ratio(tree_day(bench, tree), branch)
    return answer(request, bench, look, ending, data)


def _ratio(day: TreeDay, branch: str) -> RatioChart:
    data = ratio_chart_data(day, branch)
    if data is None:
        raise UnknownNameError(
            f"{branch!r} of {day.facts.name} is neither a graft nor a scar",
            allowed="a graft or a scar",
            todo="Look at the chart of its base instead",
        )
    return data


@router.get("/wire/{tree}/{event}.{ending}")
def wire(
    request: Request, tree: str, event: str, ending: Ending, bench: AtBench, look: Wanted
) -> Response:
    """Send how deep a wire sinks."""
    day = tree_day(bench, tree)
    data = wire_chart_data(day, window_of(day, event))
    return answer(request, bench, look, ending, data)


@router.get("/wire/{tree}/{event}/{branch}.{ending}")
def wire_on(
    request: Request, tree: str, event: str, branch: str, ending: Ending, bench: AtBench,
    look: Wanted,
) -> Response:  # fmt: skip
    """Send how deep a wire sinks on one of the branches it went on."""
    day = tree_day(bench, tree)
    data = wire_chart_data(day, window_of(day, event, branch))
    return answer(request, bench, look, ending, data)


def window_of(day: TreeDay, event: str, branch: str = "") -> WireWindow:
    """Return the dates of a wire by the record that put it on, and by its branch where told.

    Raises
    ------
    UnknownNameError
        When no such wire is on.
    """
    ids = day.tree.branches.ids
    for window in day.windows:
        here = ids[window.row] if window.row >= 0 else ""
        if str(window.wire) == event and branch in ("", here):
            return window
    raise UnknownNameError(
        f"this wire is not on {day.facts.name} now",
        allowed="a wire that is on",
        todo="See all wire that is on",
    )


@router.get("/stages/{tree}.{ending}")
def stages(request: Request, tree: str, ending: Ending, bench: AtBench, look: Wanted) -> Response:
    """Send a tree's season: its stages and the warmth behind them."""
    return answer(request, bench, look, ending, stage_chart_data(tree_day(bench, tree)))


# --- the garden -----------------------------------------------------------------------------------


@router.get("/weather/{place}/{shelf}.{ending}")
def weather(
    request: Request, place: str, shelf: str, ending: Ending, bench: AtBench, look: Wanted
) -> Response:
    """Send the weather at one shelf: two weeks back and ten days ahead."""
    data = shelf_weather(bench.day(), place, "" if shelf == NO_SHELF else shelf)
    return answer(request, bench, look, ending, data)


def shelf_weather(garden: GardenDay, place: str, shelf: str) -> WeatherChart:
    """Return the weather of the one shelf of that key, with the trees that stand there.

    Raises
    ------
    UnknownNameError
        When no tree stands there.
    """
    here = tuple(d for d in garden.trees if (d.shelf.place, d.shelf.shelf) == (place, shelf))
    if not here:
        raise UnknownNameError(
            "no tree stands on that shelf",
            allowed="a shelf that trees stand on",
            todo="See the weather of all shelves",
        )
    return weather_chart_data(replace(garden, trees=here))[0]


@router.get("/hours.{ending}")
def hours(
    request: Request,
    ending: Ending,
    bench: AtBench,
    look: Wanted,
    hours: Annotated[float | None, Query(ge=0, le=112)] = None,
) -> Response:
    """Send the hours wanted against the hours at hand."""
    data = hours_chart_data(call_up_of(bench.day(), hours))
    return answer(request, bench, look, ending, data)

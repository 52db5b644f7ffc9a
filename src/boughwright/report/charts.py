"""Every chart by the data it shows: definition, picture, sentence and table, one of each.

`definition` gives the Vega-Lite mapping, `svg` its picture, `spec_json` the same to be looked at
closer, `alt` the sentence that says it and `rows` its figures as a table.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, NamedTuple

from boughwright.report.charts_branch import (
    fan,
    fan_alt,
    fan_rows,
    ratio,
    ratio_alt,
    ratio_rows,
    years,
    years_alt,
    years_rows,
)
from boughwright.report.charts_data import (
    BranchChart,
    ChartData,
    HoursChart,
    RatioChart,
    SinkChart,
    StageChart,
    WeatherChart,
    YearsChart,
)
from boughwright.report.charts_frame import (
    NARROW,
    PALETTES,
    WIDE,
    Spec,
    Table,
    Voice,
    spec_json,
    svg,
)
from boughwright.report.charts_hours import hours, hours_alt, hours_rows
from boughwright.report.charts_season import (
    stages,
    stages_alt,
    stages_rows,
    weather,
    weather_alt,
    weather_rows,
)
from boughwright.report.charts_wire import sink, sink_alt, sink_rows

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

__all__ = [
    "NARROW", "PALETTES", "WIDE", "ChartData", "Table", "Voice", "alt", "definition", "rows",
    "spec_json", "svg",
]  # fmt: skip


class _Kind(NamedTuple):
    draw: Callable[..., Spec]
    alt: Callable[[Any, Voice], str]
    rows: Callable[[Any, Voice], Table]


_KINDS: Final[Mapping[type[ChartData], _Kind]] = {
    BranchChart: _Kind(fan, fan_alt, fan_rows),
    YearsChart: _Kind(years, years_alt, years_rows),
    SinkChart: _Kind(sink, sink_alt, sink_rows),
    WeatherChart: _Kind(weather, weather_alt, weather_rows),
    StageChart: _Kind(stages, stages_alt, stages_rows),
    RatioChart: _Kind(ratio, ratio_alt, ratio_rows),
    HoursChart: _Kind(hours, hours_alt, hours_rows),
}


def definition(data: ChartData, voice: Voice, *, width: int = WIDE) -> Spec:
    """Return the Vega-Lite definition of a chart, its colours still named by role.

    Parameters
    ----------
    data : ChartData
    voice : Voice
        Units, dates and words.
    width : int
        Of the whole picture, `NARROW` for a phone and `WIDE` for a laptop. [px]
    """
    return _KINDS[type(data)].draw(data, voice, width=width)


def alt(data: ChartData, voice: Voice) -> str:
    """Return the sentence that says what the chart shows, with the same figures."""
    return _KINDS[type(data)].alt(data, voice)


def rows(data: ChartData, voice: Voice) -> Table:
    """Return the chart's figures as a table."""
    return _KINDS[type(data)].rows(data, voice)

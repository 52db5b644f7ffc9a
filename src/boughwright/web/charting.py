"""A chart as a page shows it: where its picture lies, its sentence and its figures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.report.charts import Table, alt, rows

if TYPE_CHECKING:
    from boughwright.report.charts import ChartData
    from boughwright.web.speech import Speaker


@dataclass(frozen=True, slots=True)
class Picture:
    """One chart on a page. ``href`` is its address without an ending."""

    href: str
    alt: str
    rows: Table


def picture(href: str, data: ChartData, words: Speaker) -> Picture:
    """Return a chart's picture, told in the grower's words."""
    return Picture(href, alt(data, words), rows(data, words))

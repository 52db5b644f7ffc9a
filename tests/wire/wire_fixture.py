"""A reference climate, and wires on it, for the tests of wire.

Daily mean 10.5 + 9.5 cos(2 pi (day - 201) / 365) °C, day 1 = 1 January, range ± 5 °C. Leaf-out is
day 115, 25 April. 2025 is an ordinary year of 365 days.
"""

from __future__ import annotations

from datetime import date, timedelta
from uuid import UUID

import numpy as np

from boughwright.growth.ring import CLASSES, RingCurve
from boughwright.journal.terms import Bend, Fit, Metal
from boughwright.season.record import SiteClock, Weather
from boughwright.season.stages import DateRange, Stage, TreeCalendar
from boughwright.sources import Grade
from boughwright.tree.model import Branches, Tree, Wire
from boughwright.wire.draws import Wires

YEAR = 2025
FIRST = date(YEAR, 1, 1)
LEAF_OUT = date(YEAR, 4, 25)


def mean_c(day_of_year: np.ndarray) -> np.ndarray:
    return 10.5 + 9.5 * np.cos(2.0 * np.pi * (day_of_year - 201.0) / 365.0)


def running_ed() -> np.ndarray:
    return np.cumsum(np.clip(mean_c(np.arange(1.0, 366.0)) - 5.0, 0.0, 7.0) / 7.0)


def clock(first: date = FIRST) -> SiteClock:
    """The reference season, on other dates when asked (a season is 365 days here)."""
    days = np.arange(1.0, 366.0)
    mean = mean_c(days)
    blank = np.full(365, np.nan)
    weather = Weather("reference", first, mean - 5.0, mean + 5.0, blank, blank, blank, blank,
                      np.zeros(365, np.int8), np.zeros(365))  # fmt: skip
    south = first.month == 7
    return SiteClock(
        season=f"{first.year}/{(first.year + 1) % 100}" if south else str(first.year),
        south=south,
        first=first,
        known_to=first + timedelta(days=364),
        weather=weather,
        warmth_cd=np.cumsum(np.maximum(mean - 5.0, 0.0)),
        warmth_sd_cd=np.zeros(365),
        effective_days=running_ed(),
        daylength_h=np.full(365, 12.0),
        chill_portions=60.0,
        chill_days=120.0,
        filled=np.zeros(365, dtype=np.bool_),
    )


def seen(day: date) -> DateRange:
    return DateRange(day, day, day, 0.0, Grade.MEASURED, seen=True)


def around(day: date, half_width: int) -> DateRange:
    wide = timedelta(days=half_width)
    return DateRange(day - wide, day, day + wide, 0.0, Grade.BORROWED)


def calendar(
    today: date,
    *,
    leaf_out: DateRange | None = None,
    first: date = FIRST,
    extra: dict[Stage, DateRange] | None = None,
) -> TreeCalendar:
    """Stages at their usual distance from leaf-out on the reference climate."""
    out = leaf_out or seen(first + (LEAF_OUT - FIRST))
    assert out.likely is not None
    day = out.likely
    starts = {
        Stage.SWELL: around(day - timedelta(days=24), 6),
        Stage.BURST: around(day - timedelta(days=10), 5),
        Stage.FIRST_LEAF: out,
        Stage.RUNNING: around(day + timedelta(days=9), 5),
        Stage.CLOSING: around(day + timedelta(days=32), 6),
        Stage.HARD: around(day + timedelta(days=46), 7),
        Stage.LATE_THICKENING: around(day + timedelta(days=122), 1),
    } | (extra or {})
    return TreeCalendar(
        season=str(first.year), south=first.month == 7, today=today, stage=Stage.DEEP_REST,
        since=seen(first), starts=starts, leaf_out=out, warmth_cd=0.0,
        warmth_since_leaf_out_cd=np.nan, warmth_to_colour_cd=1000.0, chill_portions=60.0,
        filled_days=0, grade=Grade.BORROWED,
    )  # fmt: skip


def branches(**arrays: object) -> Branches:
    """Branches with only what a test names; the rest unknown."""
    size = len(next(iter(arrays.values())))  # type: ignore[arg-type]
    text = tuple(f"b{i}" for i in range(size))
    kinds = {"ids": text, "names": text, "aliases": tuple(() for _ in text)}
    made: dict[str, object] = {}
    for name, kind in Branches.__annotations__.items():
        if name in kinds:
            made[name] = kinds[name]
        elif name in arrays:
            dtype = {"Floats": np.float64, "Ints": np.int32, "Codes": np.int8}.get(kind, np.bool_)
            made[name] = np.asarray(arrays[name], dtype=dtype)
        elif name == "order":
            made[name] = np.ones(size, dtype=np.int32)
        elif name == "gone":
            made[name] = np.zeros(size, dtype=np.bool_)
        elif kind == "Floats":
            made[name] = np.full(size, np.nan)
        else:
            made[name] = np.full(size, -1, dtype=np.int32 if kind == "Ints" else np.int8)
    return Branches(**made)  # type: ignore[arg-type]


def tree(rows: Branches, wires: tuple[Wire, ...]) -> Tree:
    return Tree("t1", {}, {}, 0.0, rows, (), wires, (), (), (), (), ())


def wire(number: int, branch: int, on: date, **given: object) -> Wire:
    known: dict[str, object] = {
        "zone": "", "gauge_mm": 1.5, "metal": Metal.ALUMINIUM, "strands": 1,
        "bend": Bend.MODERATE, "fit": Fit.NORMAL, "shoots": 1, "base_mm": 5.0, "looks": (),
        "off": None, "off_grade": None, "off_method": "",
    }  # fmt: skip
    return Wire(event=UUID(int=number), branch=branch, on=on, **(known | given))  # type: ignore[arg-type]


def sharp(rate_mm: float | list[float], *, kind: str = "pruned", slack_mm: float = 0.05,
          gauge_mm: float = 1.5, on: date | None = None, **given: object) -> Wires:  # fmt: skip
    """Wires of which everything is known exactly, on the reference climate; None: last autumn."""
    rate = np.atleast_1d(np.asarray(rate_mm, dtype=np.float64))
    size = len(rate)

    def each(value: object) -> np.ndarray:
        return np.broadcast_to(np.asarray(value, dtype=np.float64), size).copy()

    ed = running_ed()
    base = CLASSES[kind]
    curve = RingCurve(each(base.mid_ed), each(base.scale_ed), each(base.onset_ed), each(0.0),
                      each(0.0), each(np.inf), each(np.inf))  # fmt: skip
    known = {
        "log_rate": np.log(rate), "log_rate_sd": each(0.0), "curve": curve,
        "leaf_out_ed": each(ed[(LEAF_OUT - FIRST).days]),
        "leaf_out_early_sd_ed": each(0.0), "leaf_out_late_sd_ed": each(0.0),
        "wired_ed": each(0.0 if on is None else ed[(on - FIRST).days]),
        "rings_before": each(0.0), "slack_mm": each(slack_mm), "slack_log_sd": each(0.0),
        "gauge_mm": each(gauge_mm), "bark_factor": each(1.0), "sink_share": each(0.25),
        "base_mm": each(np.nan), "elastic": each(0.75), "creep": each(0.15),
        "today_ed": each(0.0), "end_ed": each(ed[-1]),
    }  # fmt: skip
    return Wires(**(known | given))  # type: ignore[arg-type]


def day_of(ed: np.ndarray) -> np.ndarray:
    """Days from leaf-out on which effective days are reached; inf for never."""
    place = np.searchsorted(running_ed(), np.asarray(ed) - 1e-9).astype(float)
    return np.where(np.isinf(ed), np.inf, place - (LEAF_OUT - FIRST).days)

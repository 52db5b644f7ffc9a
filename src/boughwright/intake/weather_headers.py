"""Header words of a weather table: which value a column holds, and in which unit."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.errors import FileError
from boughwright.season.water import wind_at_2m_ms
from boughwright.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence


@dataclass(frozen=True, slots=True)
class Column:
    """What a column holds: ``value * factor + shift`` is in our unit.

    ``field`` is one of the weather fields, ``date`` or ``kind``; ``unit`` is empty when the header
    names none.
    """

    field: str
    unit: str = ""
    factor: float = 1.0
    shift: float = 0.0


_SAME_WORD = {
    "temperature": "t", "temperatures": "t", "temp": "t", "temps": "t",
    "minimum": "min", "low": "min", "lo": "min", "lowest": "min", "mini": "min",
    "maximum": "max", "high": "max", "hi": "max", "highest": "max", "maxi": "max",
    "rainfall": "rain", "precipitation": "rain", "precip": "rain", "prcp": "rain", "rr": "rain",
    "pcp": "rain",
    "rh": "humidity", "hum": "humidity",
    "windspeed": "wind", "ws": "wind",
    "solar": "sun", "radiation": "sun", "irradiation": "sun", "srad": "sun", "rs": "sun",
    "irradiance": "sun", "insolation": "sun",
    "day": "date", "datum": "date",
    "type": "kind",
}  # fmt: skip
# Words that change nothing: "mean daily relative humidity" is humidity.
_NOISE = {
    "air", "daily", "of", "the", "in", "at", "mean", "average", "avg", "total", "sum", "relative",
    "speed", "global", "shortwave", "2m",
}  # fmt: skip
_NAMES: Mapping[frozenset[str], str] = {
    frozenset(words.split()): field
    for field, spellings in {
        "date": ("date", "obs date", "observation date"),
        "t_min_c": ("t min", "min", "tmin", "tn", "mint"),
        "t_max_c": ("t max", "max", "tmax", "tx", "maxt"),
        "rain_mm": ("rain",),
        "humidity_pct": ("humidity",),
        "wind_ms": ("wind",),
        "wind_10m": ("wind 10m", "wind10m"),
        "sun_mj": ("sun",),
        "kind": ("kind",),
    }.items()
    for words in spellings
}

_TEMPERATURE = {
    **dict.fromkeys(("c", "degc", "degreesc", "celsius", "degreescelsius", "centigrade"),
                    (1.0, 0.0)),
    **dict.fromkeys(("f", "degf", "degreesf", "fahrenheit", "degreesfahrenheit"),
                    (1.0 / 1.8, -32.0 / 1.8)),
    **dict.fromkeys(("k", "kelvin"), (1.0, -273.15)),
}  # fmt: skip


def _by_factor(table: Mapping[str, float]) -> dict[str, tuple[float, float]]:
    return {unit: (factor, 0.0) for units, factor in table.items() for unit in units.split()}


_WIND = {
    "ms mps msec": 1.0,
    "kmh kph kmhr": 1.0 / 3.6,
    "mph mih mileshour mileshr": 0.44704,
    "kn kt kts knot knots": 1852.0 / 3600.0,
    "kmd kmday": 1000.0 / 86400.0,
    "fts ftsec": 0.3048,
}
_UNITS: Mapping[str, Mapping[str, tuple[float, float]]] = {
    "date": {},
    "kind": {},
    "t_min_c": _TEMPERATURE,
    "t_max_c": _TEMPERATURE,
    "rain_mm": _by_factor({"mm lm2 millimetres millimeters": 1.0, "cm": 10.0,
                           "in inch inches": MM_PER_INCH}),
    "humidity_pct": _by_factor({"pct percent": 1.0, "fraction": 100.0}),
    "wind_ms": _by_factor(_WIND),
    "wind_10m": _by_factor(_WIND),
    "sun_mj": _by_factor({"mj mjm2": 1.0, "kj kjm2": 0.001, "jcm2": 0.01, "wm2": 0.0864,
                          "whm2": 0.0036, "kwhm2": 3.6, "calcm2 ly langley": 0.04184}),
}  # fmt: skip
_ALLOWED = {
    "t_min_c": "°C, °F or K",
    "t_max_c": "°C, °F or K",
    "rain_mm": "mm, cm or inches",
    "humidity_pct": "% or fraction",
    "wind_ms": "m/s, km/h, mph, knots, km/d or ft/s",
    "wind_10m": "m/s, km/h, mph, knots, km/d or ft/s",
    "sun_mj": "MJ/m2, kJ/m2, J/cm2, kWh/m2, Wh/m2, W/m2 or langley",
}
_BRACKETS = re.compile(r"[(\[]([^)\]]*)[)\]]")
_HEIGHT = re.compile(r"\b(\d+)\s+m\b")
# What is summed over a day may say so: "mm/day", "MJ m-2 d-1".
_A_DAY = re.compile(r"(?:24h|days?|d1|d|daily)$")


def _plain(text: str) -> str:
    text = text.casefold().replace("%", " pct ").replace("²", "2")
    return re.sub(r"[°º_/]", " ", text)


def _field(words: Sequence[str]) -> str:
    same = frozenset(_SAME_WORD.get(word, word) for word in words if word not in _NOISE)
    return _NAMES.get(same, "")


def _unit(field: str, text: str) -> str | None:
    """Return the unit as the table spells it, None when it is not one of this field."""
    compact = re.sub(r"per|[^a-z0-9]", "", text)
    known = _UNITS[field]
    if compact not in known and field in ("rain_mm", "sun_mj"):
        compact = _A_DAY.sub("", compact)
    if compact not in known and field in ("wind_ms", "wind_10m"):
        compact = compact.removesuffix("1")
    return compact if compact in known else None


def read_header(text: str) -> Column | None:
    """Return what a header cell names, None when we do not keep such a value.

    Raises
    ------
    FileError
        When the value is known but its unit in brackets is not.
    """
    bracket = _BRACKETS.search(text)
    plain = _HEIGHT.sub(r"\1m", _plain(_BRACKETS.sub(" ", text)))
    words = re.findall(r"[^\W_]+", plain)
    if bracket:
        field = _field(words)
        if field and _UNITS[field] and bracket[1].strip():
            unit = _unit(field, _plain(bracket[1]))
            if unit is None:
                raise FileError(f"the column {text.strip()!r} has a unit that is not known",
                                allowed=_ALLOWED[field], todo="Change the unit in the header",
                                )  # fmt: skip
            return _column(field, unit)
    for cut in range(1, len(words)):
        for name, unit_words in ((words[:cut], words[cut:]), (words[cut:], words[:cut])):
            field = _field(name)
            unit = _unit(field, "".join(unit_words)) if field else None
            if unit:
                return _column(field, unit)
    field = _field(words)
    return _column(field, "") if field else None


def _column(field: str, unit: str) -> Column:
    factor, shift = _UNITS[field].get(unit, (1.0, 0.0))
    if field == "wind_10m":
        field, factor = "wind_ms", factor * float(wind_at_2m_ms(1.0, height_m=10.0))
    return Column(field, unit, factor, shift)


def read_headers(cells: Sequence[str]) -> tuple[dict[int, Column], list[str]]:
    """Return what each column holds, by its place, and the headers that were passed over.

    Raises
    ------
    FileError
        Without a date column or any weather column, with an unknown unit, or with two columns
        for one value.
    """
    columns: dict[int, Column] = {}
    passed: list[str] = []
    for place, cell in enumerate(cells):
        column = read_header(cell)
        if column is None:
            passed += [cell.strip()] if cell.strip() else []
            continue
        twin = next((at for at, other in columns.items() if other.field == column.field), None)
        if twin is not None:
            raise FileError(
                f"the columns {cells[twin].strip()!r} and {cell.strip()!r} hold the same value",
                allowed="one column for each value", todo="Remove or rename one of them",
            )  # fmt: skip
        columns[place] = column
    fields = {column.field for column in columns.values()}
    if "date" not in fields or not fields - {"date", "kind"}:
        lacking = "no column date" if "date" not in fields else "no column of weather"
        raise FileError(f"the first row has {lacking}: {', '.join(cells)[:120]!r}",
                        allowed="date, t_min_c, t_max_c, rain_mm, humidity_pct, wind_ms, sun_mj",
                        todo="Write a header in the first row")  # fmt: skip
    return columns, passed

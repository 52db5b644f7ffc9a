"""Forms for what is read at the bench: a branch's measures, and the weather of one day."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Final

from boughwright.errors import BoughwrightError, UnknownNameError
from boughwright.intake.tables_cells import read_reading
from boughwright.intake.weather_rows import Gathering
from boughwright.journal.check import check
from boughwright.journal.columns import slug
from boughwright.journal.events import Measured
from boughwright.journal.terms import QUANTITY_UNIT, Quantity
from boughwright.season.record import LEGAL_RANGES, Origin
from boughwright.store.book import Book
from boughwright.units import celsius, parse_number
from boughwright.usecases.enter import branch_name_of, known_as
from boughwright.usecases.entry import Entered, FieldFault, fault_of, open_desk

if TYPE_CHECKING:
    from datetime import date

    from boughwright.intake.weather_rows import WeatherFile
    from boughwright.journal.events import FieldValue
    from boughwright.usecases.entry import Given, Writer

WEATHER_FIELDS: Final = tuple(LEGAL_RANGES)
_TEMPERATURES: Final = frozenset({"t_min_c", "t_max_c"})
HAND_READING: Final = "read by hand"
"""Named as the file that a day read at the bench comes from."""


def enter_readings(
    path: Path, tree: str, branch: str | None, given: Given, writer: Writer,
    *, marked: bool = False, how: str = "caliper",
) -> Entered:  # fmt: skip
    """Enter readings of a branch, or of the whole tree (``branch`` None).

    Parameters
    ----------
    given : mapping of str to value
        By quantity (``base``, ``trunk``, ``node`` ...): text with or without its unit, or a number
        in mm, s or g. Empty ones are passed over.
    marked : bool
        Taken at a marked spot on dry, smooth bark.
    how : str
        ``caliper``, ``tape``, ``eye`` or ``photo``.

    Raises
    ------
    UnknownNameError
        When there is no such tree or branch.
    StoreError
        When there is no book, or it cannot be written.
    """
    with open_desk(path, writer) as desk:
        here = desk.tree(tree)
        place = "" if branch is None else branch_name_of(here, branch)
        events, faults = [], []
        for name, value in given.items():
            if value is None or (isinstance(value, str) and not value.strip()):
                continue
            try:
                body = reading_body(name, value, desk.settings.units, marked=marked, how=how)
                event = desk.event(body, tree, branch)
                check(event)
            except BoughwrightError as error:
                faults.append(fault_of(name, error))
            else:
                events.append(event)
        if faults:
            return Entered(branch or tree, tuple(faults))
        return desk.write(branch or tree, events, place=place)


def enter_weather(
    path: Path, place: str, day: date, given: Given, writer: Writer, *, temperature: str = ""
) -> Entered:  # fmt: skip
    """Enter the weather of one day as it was read at the bench.

    Parameters
    ----------
    place : str
        Key of the place whose weather record it belongs to.
    day : date
        The day that was read; not after the writer's day.
    given : mapping of str to value
        ``t_min_c``, ``t_max_c``, ``rain_mm``, ``humidity_pct``, ``wind_ms``, ``sun_mj``; empty
        ones are unknown.
    temperature : str
        ``C`` or ``F``, what the two temperatures are given in; empty: as the garden's settings.

    Raises
    ------
    UnknownNameError
        When there is no such place.
    StoreError
        When there is no book, or it cannot be written.
    """
    with open_desk(path, writer) as desk:
        fields = known_as(desk.garden.places, place, "place")
        unit = temperature or desk.settings.temperature
    values, faults = _weather_values(given, unit)
    told = tuple(name for name, value in values.items() if not math.isnan(value))
    if not faults and not told:
        faults = [FieldFault("t_min_c", "no value is given", "at least one reading",
                             "Fill in what you read")]  # fmt: skip
    if faults:
        return Entered(place, tuple(faults))
    gathering = Gathering(Path(HAND_READING), writer.on)
    gathering.add(1, day, values, Origin.BENCH)
    faults, read = _gathered(gathering)
    if read is None:
        return Entered(place, tuple(faults))
    with Book.open(path) as book:
        station = str(fields.get("weather") or place)
        put = book.put_weather(station, read.days, file=HAND_READING)
    return Entered(place, changed=() if put.same else told)


def reading_body(name: str, value: FieldValue, units: str, *, marked: bool, how: str) -> Measured:
    """Return a reading as it is written down; ``units`` is that of a length that names none.

    Raises
    ------
    UnknownNameError, TextError
        When it is nothing that is measured, or no such reading.
    """
    try:
        what = Quantity(slug(name))
    except ValueError:
        raise UnknownNameError(f"{name!r} is not something that is measured",
                               allowed=", ".join(Quantity), todo="Choose one of these",
                               ) from None  # fmt: skip
    length = isinstance(value, str) and QUANTITY_UNIT[what] == "mm"
    number = read_reading(str(value), what, units if length else "")
    return Measured(what, number, marked=marked, how=how)


def _weather_values(given: Given, unit: str) -> tuple[dict[str, float], list[FieldFault]]:
    values = dict.fromkeys(WEATHER_FIELDS, math.nan)
    faults = []
    for name, value in given.items():
        if value is None or (isinstance(value, str) and not value.strip()):
            continue
        if name not in values:
            faults.append(FieldFault(name, f"{name!r} is not known", ", ".join(values),
                                     "Leave it out"))  # fmt: skip
            continue
        try:
            number = parse_number(str(value))
        except BoughwrightError as error:
            faults.append(fault_of(name, error))
            continue
        values[name] = celsius(number) if unit == "F" and name in _TEMPERATURES else number
    return values, faults


def _gathered(gathering: Gathering) -> tuple[list[FieldFault], WeatherFile | None]:
    """Return the day that was taken, or why it was not, told of the field it is about."""
    try:
        read = gathering.finish("refuse")
    except BoughwrightError as error:
        name = next((n for n in WEATHER_FIELDS if error.what.startswith(n)), "")
        name = name or ("t_min_c" if error.what.startswith("the lowest") else "day")
        what = error.what.removesuffix("; nothing was taken")
        return [FieldFault(name, what, error.allowed, error.todo)], None
    return [], read

"""Events and weather days between the program's shapes and what the book keeps."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Protocol
from uuid import UUID

import numpy as np

from boughwright.errors import BoughwrightError, StoreError
from boughwright.journal.codec import body_from_json, body_to_json
from boughwright.journal.events import Event
from boughwright.season.record import Origin, Weather
from boughwright.store.layout import ORIGIN_WORDS, WEATHER_FIELDS, Row

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from boughwright.season.record import Floats


class DayReading(Protocol):
    """One day of weather as handed in: nan is unknown, ``origin`` read, bench or forecast."""

    @property
    def on(self) -> date: ...  # noqa: D102
    @property
    def t_min_c(self) -> float: ...  # noqa: D102
    @property
    def t_max_c(self) -> float: ...  # noqa: D102
    @property
    def rain_mm(self) -> float: ...  # noqa: D102
    @property
    def humidity_pct(self) -> float: ...  # noqa: D102
    @property
    def wind_ms(self) -> float: ...  # noqa: D102
    @property
    def sun_mj(self) -> float: ...  # noqa: D102
    @property
    def origin(self) -> Origin: ...  # noqa: D102


def moment_text(moment: datetime) -> str:
    """Return a moment as UTC text that sorts by time.

    Raises
    ------
    StoreError
        When it has no time zone.
    """
    if moment.tzinfo is None or moment.utcoffset() is None:
        raise StoreError(f"the time {moment.isoformat()} has no time zone",
                         allowed="a time in UTC", todo="Give it one")  # fmt: skip
    return moment.astimezone(UTC).isoformat(timespec="microseconds")


def event_row(event: Event) -> Row:
    """Return an event as it is stored; its ``seq`` is 0, for the book gives it.

    Raises
    ------
    StoreError
        When a value cannot be written, with the event's id.
    """
    kind, version, data = body_to_json(event.body)
    try:
        body = json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False,
                          allow_nan=False)  # fmt: skip
        recorded = moment_text(event.recorded)
    except (ValueError, TypeError, AttributeError) as error:
        raise StoreError(f"the event {event.id} cannot be written: {error}",
                         todo="Enter it without that value") from error  # fmt: skip
    except StoreError as error:
        raise error.at(f"event {event.id}") from None
    return (0, str(event.id), kind, version, event.tree, event.branch, event.on.isoformat(),
            event.who, recorded, body)  # fmt: skip


def row_event(row: Row) -> Event:
    """Return the event of a stored row.

    Raises
    ------
    StoreError
        When the row is damaged.
    RecordError
        When its kind or version is newer than this program.
    """
    _, id_, kind, version, tree, branch, on_day, who, recorded, body = row
    try:
        return Event(
            body=body_from_json(kind, version, json.loads(body)),
            on=date.fromisoformat(on_day),
            tree=tree,
            branch=branch,
            who=who,
            recorded=datetime.fromisoformat(recorded),
            id=UUID(id_),
        )
    except BoughwrightError as error:
        raise error.at(f"event {id_}") from error
    except (ValueError, TypeError, KeyError) as error:
        raise StoreError(f"the event {id_} is damaged ({error})",
                         todo="Restore the book from a backup") from error  # fmt: skip


def same_event(kept: Row, given: Row) -> bool:
    """Tell whether two rows say the same, though one may be written in an older version."""
    return kept[1:] == given[1:] or row_event(kept) == row_event(given)


def reading_values(reading: DayReading) -> tuple[float | None, ...]:
    """Return the measured values in the order of `WEATHER_FIELDS`, None where unknown."""
    values = (reading.t_min_c, reading.t_max_c, reading.rain_mm, reading.humidity_pct,
              reading.wind_ms, reading.sun_mj)  # fmt: skip
    return tuple(None if np.isnan(value) else float(value) for value in values)


def origin_word(origin: Origin) -> str:
    """Return the stored word of an origin.

    Raises
    ------
    StoreError
        For days that were computed: they are never kept.
    """
    if origin not in ORIGIN_WORDS:
        raise StoreError("a filled day is computed, not kept",
                         allowed="read, bench or forecast", todo="Leave it out")  # fmt: skip
    return ORIGIN_WORDS[origin]


def weather_of(
    station: str,
    rows: Sequence[tuple[str, str, *tuple[float | None, ...]]],
    first: date,
    last: date,
) -> Weather:
    """Lay stored rows out as one value a day.

    For each day the temperatures come from the first of bench, read and forecast that knows both,
    else from the first that knows one; every other value from the first that knows it.

    Parameters
    ----------
    station : str
    rows : sequence of (day, origin word, six values)
        In any order; days outside ``first`` to ``last`` must not be in it.
    first, last : date

    Returns
    -------
    Weather
        D = last - first + 1 days. nan where unknown. ``sd_c`` is 0: the error of a forecast or a
        gap is for the season clock to say.
    """
    days = max((last - first).days + 1, 0)
    words = list(ORIGIN_WORDS.values())
    layers: Floats = np.full((len(words), len(WEATHER_FIELDS), days), np.nan)
    if rows:
        at = np.array([row[0] for row in rows], dtype="datetime64[D]") - np.datetime64(first)
        kind = np.array([words.index(row[1]) for row in rows])
        values = np.array([row[2:] for row in rows], dtype=np.float64)
        layers[kind, :, at.astype(np.int64)] = values
    known = ~np.isnan(layers)
    grade = known[:, 0].astype(np.int8) + known[:, 1]
    # argmax takes the first of equals, so the origin believed first wins.
    best = grade.argmax(axis=0)
    day = np.arange(days)
    any_temperature = grade.max(axis=0) > 0
    rain_mm, humidity_pct, wind_ms, sun_mj = [
        layers[known[:, f].argmax(axis=0), f, day] for f in range(2, len(WEATHER_FIELDS))
    ]
    codes = np.array([int(origin) for origin in ORIGIN_WORDS], dtype=np.int8)[best]
    # A day with no temperature at all has nothing read: it must be filled.
    origin = np.where(any_temperature, codes, np.int8(Origin.FILLED)).astype(np.int8)
    t_min_c, t_max_c = layers[best, 0, day], layers[best, 1, day]
    sd_c = np.zeros(days)
    return Weather(
        station, first, t_min_c, t_max_c, rain_mm, humidity_pct, wind_ms, sun_mj, origin, sd_c
    )


def day_span(days: Iterable[tuple[str | None, str | None]]) -> tuple[date, date] | None:
    """Return the first and last day of a (min, max) row, None when nothing is kept."""
    for low, high in days:
        if low is not None and high is not None:
            return date.fromisoformat(low), date.fromisoformat(high)
    return None

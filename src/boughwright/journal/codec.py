"""Events as versioned JSON and back, with nothing lost.

A record is a flat object: ``v`` (version of the kind of body), ``id``, ``kind``, ``tree``,
``branch``, ``on``, ``who``, ``recorded`` and ``body``. In ``body`` a detail that was not given is
left out. A date among the free ``fields`` is written ``{"date": "2026-06-09"}``, so that text stays
text. Values are judged at entry by `boughwright.journal.check`, not here: what was once taken can
always be read again.
"""

from __future__ import annotations

from dataclasses import MISSING, dataclass, fields
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any, TypeAlias, cast
from uuid import UUID

from boughwright.errors import RecordError
from boughwright.journal import terms
from boughwright.journal.events import (
    BranchSet,
    Event,
    FrontTurned,
    GardenSet,
    LookAgain,
    Measured,
    Noted,
    Photographed,
    PhotoMarked,
    PhotoScaled,
    PlaceSet,
    Promised,
    Saw,
    ShelfSet,
    StockCounted,
    TraitSet,
    TreeSet,
    Withdrawn,
    Worked,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from enum import Enum

    from boughwright.journal.events import Body

JsonValue: TypeAlias = "str | float | int | bool | list[JsonValue] | dict[str, JsonValue] | None"
"""Anything JSON can hold."""

KINDS: Mapping[str, tuple[type[Any], int]] = {
    "garden": (GardenSet, 1),
    "place": (PlaceSet, 1),
    "shelf": (ShelfSet, 1),
    "tree": (TreeSet, 1),
    "branch": (BranchSet, 1),
    "front": (FrontTurned, 1),
    "trait": (TraitSet, 1),
    "measure": (Measured, 1),
    "work": (Worked, 1),
    "sign": (Saw, 1),
    "promise": (Promised, 1),
    "look": (LookAgain, 1),
    "note": (Noted, 1),
    "stock": (StockCounted, 1),
    "photo": (Photographed, 1),
    "photo mark": (PhotoMarked, 1),
    "photo scale": (PhotoScaled, 1),
    "withdraw": (Withdrawn, 1),
}
"""Each kind of body with its class and the newest version this program writes and reads."""

KEYS: tuple[str, ...] = ("v", "id", "kind", "tree", "branch", "on", "who", "recorded", "body")
"""The keys of a record, in the order they are written."""

_UPDATE = "Update Boughwright; the record itself is kept as it is"
_PLAIN = frozenset({str, int, float, bool, type(None)})


# --- single values -------------------------------------------------------------------------------


def _same(value: Any) -> Any:
    return value


def _plain_out(value: Any) -> Any:
    return {"date": value.isoformat()} if isinstance(value, date) else value


def _plain_in(value: Any) -> Any:
    if type(value) in _PLAIN:
        return value
    return date.fromisoformat(value["date"])


def _fields_out(values: Mapping[str, Any]) -> dict[str, Any]:
    return {name: _plain_out(value) for name, value in values.items()}


def _fields_in(values: Any) -> dict[str, Any]:
    return {
        name: value if type(value) in _PLAIN else _plain_in(value) for name, value in values.items()
    }


def _number(value: Any) -> float:
    kind = type(value)
    if kind is float:
        return cast("float", value)
    if kind is int:
        return float(value)
    raise TypeError(value)


def _count(value: Any) -> int:
    if type(value) is int:
        return value
    if type(value) is float and value.is_integer():
        return int(value)
    raise TypeError(value)


def _text(value: Any) -> str:
    if type(value) is str:
        return value
    raise TypeError(value)


def _yes_no(value: Any) -> bool:
    if type(value) is bool:
        return value
    raise TypeError(value)


def _iso(value: date) -> str:
    return value.isoformat()


def _value(member: Enum) -> Any:
    return member.value


# Readers and writers by the annotation of a body's field.
_SINGLE: Mapping[str, tuple[Callable[[Any], Any], Callable[[Any], Any], str]] = {
    "str": (_text, _same, "text"),
    "float": (_number, _same, "a number"),
    "int": (_count, _same, "a whole number"),
    "bool": (_yes_no, _same, "true or false"),
    "date": (date.fromisoformat, _iso, "a date such as 2026-06-09"),
    "UUID": (UUID, str, "a UUID"),
    "FieldValue": (_plain_in, _plain_out, "text, a number, true, false, null or a date"),
    "Mapping[str, FieldValue]": (_fields_in, _fields_out, "an object of plain values"),
}


# --- whole bodies --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Plan:
    """How one class of body is read and written, worked out once at import."""

    make: Callable[..., Body]
    kind: str
    version: int
    readers: Mapping[str, Callable[[Any], Any]]
    writers: tuple[tuple[str, Callable[[Any], Any], Any], ...]
    wanted: Mapping[str, str]


def _single(annotation: str) -> tuple[Callable[[Any], Any], Callable[[Any], Any], str]:
    known = _SINGLE.get(annotation)
    if known is not None:
        return known
    words = getattr(terms, annotation)
    lookup = {member.value: member for member in words}
    return lookup.__getitem__, _value, "one of " + ", ".join(lookup)


def _or_none(read: Callable[[Any], Any]) -> Callable[[Any], Any]:
    return lambda value: None if value is None else read(value)


def _plan(kind: str, make: type[Any], version: int) -> _Plan:
    readers, writers, wanted = {}, [], {}
    for item in fields(make):
        annotation = str(item.type)
        read, write, want = _single(annotation.removesuffix(" | None"))
        readers[item.name] = _or_none(read) if annotation.endswith(" | None") else read
        writers.append((item.name, write, item.default))
        wanted[item.name] = want
    return _Plan(make, kind, version, readers, tuple(writers), wanted)


_BY_KIND = {kind: _plan(kind, make, version) for kind, (make, version) in KINDS.items()}
_BY_CLASS = {KINDS[kind][0]: plan for kind, plan in _BY_KIND.items()}


def body_to_json(body: Body) -> tuple[str, int, dict[str, JsonValue]]:
    """Turn a body into its kind, version and plain JSON object.

    Details at their default are left out.
    """
    plan = _BY_CLASS[type(body)]
    data = {}
    for name, write, default in plan.writers:
        value = getattr(body, name)
        if default is MISSING or value != default:
            data[name] = None if value is None else write(value)
    return plan.kind, plan.version, data


def body_from_json(kind: str, version: int, data: Mapping[str, Any]) -> Body:
    """Read a body back.

    Raises
    ------
    RecordError
        When the kind is unknown, the version newer than this program, a detail unknown, missing
        or of the wrong type.
    """
    plan = _BY_KIND.get(kind)
    if plan is None:
        raise RecordError(f"a record of kind {kind!r}", allowed=", ".join(_BY_KIND), todo=_UPDATE)
    if version != plan.version:
        raise _bad_version(plan, version)
    readers = plan.readers
    try:
        return plan.make(**{name: readers[name](value) for name, value in data.items()})
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise _explain(plan, data) from error


def _bad_version(plan: _Plan, version: object) -> RecordError:
    newer = type(version) is int and version > plan.version
    return RecordError(
        f"a record of kind {plan.kind!r} has version {version!r}",
        allowed=f"version {plan.version}",
        todo=_UPDATE if newer else "Mend its version",
    )


def _explain(plan: _Plan, data: Mapping[str, Any]) -> RecordError:
    """Find the detail that could not be read. Only runs once something has gone wrong."""
    if not isinstance(data, dict):
        return RecordError(f"the body of a {plan.kind!r} record is {data!r}", allowed="an object")
    for name, value in data.items():
        reader = plan.readers.get(name)
        if reader is None:
            allowed = ", ".join(plan.readers)
            what = f"a {plan.kind!r} record has an unknown detail {name!r}"
            return RecordError(what, allowed=allowed, todo="Mend its name, or update Boughwright")
        try:
            reader(value)
        except (KeyError, TypeError, ValueError, AttributeError):
            return RecordError(
                f"{name} of a {plan.kind!r} record is {value!r}",
                allowed=plan.wanted[name],
                todo="Mend the value",
            )
    missing = [n for n, _, default in plan.writers if default is MISSING and n not in data]
    return RecordError(f"a {plan.kind!r} record lacks {', '.join(missing)}", todo="Add it")


# --- whole events --------------------------------------------------------------------------------


def to_record(event: Event) -> dict[str, JsonValue]:
    """Turn an event into a record of plain JSON values, its keys in the order of `KEYS`."""
    kind, version, body = body_to_json(event.body)
    return {
        "v": version,
        "id": str(event.id),
        "kind": kind,
        "tree": event.tree,
        "branch": event.branch,
        "on": event.on.isoformat(),
        "who": event.who,
        "recorded": event.recorded.isoformat(),
        "body": body,
    }


def from_record(record: Mapping[str, Any]) -> Event:
    """Read an event back.

    ``tree``, ``branch`` and ``who`` may be missing. A ``recorded`` without an offset is UTC.

    Raises
    ------
    RecordError
        When a key is missing, unreadable or unknown, or the record is of a newer version or an
        unknown kind.
    """
    try:
        body = body_from_json(record["kind"], record["v"], record["body"])
        recorded = datetime.fromisoformat(record["recorded"])
        if recorded.tzinfo is None:
            recorded = recorded.replace(tzinfo=UTC)
        event = Event(
            body,
            date.fromisoformat(record["on"]),
            record.get("tree"),
            record.get("branch"),
            record.get("who") or "",
            recorded,
            UUID(record["id"]),
        )
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise _explain_envelope(record) from error
    if len(record) > len(KEYS) or not _words_only(event):
        raise _explain_envelope(record)
    return event


def _words_only(event: Event) -> bool:
    return (
        (event.tree is None or type(event.tree) is str)
        and (event.branch is None or type(event.branch) is str)
        and type(event.who) is str
    )


_ENVELOPE: Mapping[str, tuple[Callable[[Any], Any], str]] = {
    "v": (_count, "a whole number"),
    "id": (UUID, "a UUID"),
    "kind": (_text, "text"),
    "tree": (_or_none(_text), "text or null"),
    "branch": (_or_none(_text), "text or null"),
    "on": (date.fromisoformat, "a date such as 2026-06-09"),
    "who": (_text, "text"),
    "recorded": (datetime.fromisoformat, "a time such as 2026-06-09T08:30:00+00:00"),
    "body": (dict, "an object"),
}


def _explain_envelope(record: Any) -> RecordError:
    """Find the key that could not be read. Only runs once something has gone wrong."""
    if not isinstance(record, dict):
        return RecordError(f"a record is {record!r}", allowed="an object", todo="Mend the record")
    for key, (read, allowed) in _ENVELOPE.items():
        if key not in record:
            if key in {"tree", "branch", "who"}:
                continue
            return RecordError(f"a record lacks {key!r}", allowed=", ".join(KEYS), todo="Add it")
        try:
            read(record[key])
        except (KeyError, TypeError, ValueError, AttributeError):
            what = f"{key} of a record is {record[key]!r}"
            return RecordError(what, allowed=allowed, todo="Mend the value")
    extra = ", ".join(repr(key) for key in record if key not in _ENVELOPE)
    return RecordError(f"a record has unknown keys {extra}", allowed=", ".join(KEYS), todo=_UPDATE)

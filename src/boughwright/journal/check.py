"""Judging an event before it is taken: names of fields, types, words and legal ranges.

Used at entry only. Reading back what was once taken never passes here.
"""

from __future__ import annotations

import math
import re
from datetime import date
from typing import TYPE_CHECKING, Any

from boughwright.errors import RangeError, RecordError, TextError
from boughwright.journal.events import (
    BranchSet,
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
from boughwright.journal.fields import (
    DETAIL_RANGE,
    FIELDS_OF,
    PHOTO_CLOCK,
    PHOTO_DATED,
    PHOTO_LENGTHS,
    PHOTO_SIDES,
    QUANTITY_RANGE,
)
from boughwright.journal.terms import (
    PROMISES,
    QUANTITY_UNIT,
    Amount,
    Bend,
    Fit,
    Metal,
    Quantity,
    Sign,
    Work,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from enum import StrEnum

    from boughwright.journal.events import Event
    from boughwright.journal.fields import Field

_EARLIEST, _LATEST = date(1800, 1, 1), date(2299, 12, 31)
_MEND = "Mend the value, or leave it out when it is not known"
_PHOTO_NAME = re.compile(r"[0-9a-f]{64}")
_SHOWN = 60
"""How much of a wrong value is shown, in characters."""


def check(event: Event, *, imported: bool = False) -> None:
    """Refuse an event that cannot be right, naming the field, the value and what is allowed.

    Parameters
    ----------
    event : Event
        What is about to be taken into the journal.
    imported : bool
        It comes from another program or an older book, so its id may be any UUID.

    Raises
    ------
    RangeError
        A number or date lies outside its legal range.
    TextError
        A value is of the wrong kind or not one of the words allowed.
    RecordError
        A field is unknown, a tree or branch is missing, or the id was not made at entry.
    """
    _envelope(event, imported)
    body = event.body
    _CHECKS[type(body)](body)


# --- the envelope --------------------------------------------------------------------------------

_NEEDS_TREE = (
    TreeSet, BranchSet, FrontTurned, Measured, Worked, Saw, Promised, LookAgain,
    Photographed, PhotoMarked, PhotoScaled,
)  # fmt: skip
_NO_TREE = (GardenSet, PlaceSet, ShelfSet, StockCounted)


def _envelope(event: Event, imported: bool) -> None:
    kind = type(event.body).__name__
    if type(event.body) not in _CHECKS:
        raise RecordError(f"a body of type {kind!r}", allowed="a body of the journal")
    if event.id.version != 7 and not imported:
        raise RecordError(f"the id {event.id} is not of version 7", allowed="a UUID of version 7")
    if event.recorded.tzinfo is None:
        raise RecordError(f"recorded is {event.recorded}", allowed="a time with its offset, UTC")
    _day("on", event.on)
    for name, value in (("tree", event.tree), ("branch", event.branch)):
        if value is not None:
            _name(name, value)
    _text("who", event.who)
    if event.tree is None and (isinstance(event.body, _NEEDS_TREE) or event.branch is not None):
        raise RecordError("no tree is named", allowed="the lasting id of a tree", todo="Name it")
    if event.branch is None and isinstance(event.body, BranchSet):
        raise RecordError(
            "no branch is named", allowed="the lasting id of a branch", todo="Name it"
        )
    if event.tree is not None and isinstance(event.body, _NO_TREE):
        raise RecordError(f"tree is {event.tree!r}", allowed="no tree for garden, place or shelf")


# --- single values -------------------------------------------------------------------------------


def _wrong_kind(name: str, value: object, allowed: str) -> TextError:
    return TextError(f"{name} is {repr(value)[:_SHOWN]}", allowed=allowed, todo=_MEND)


def _number(name: str, value: object, low: float, high: float, unit: str = "") -> None:
    of_unit = f" {unit}" if unit else ""
    allowed = f"{low:g} to {high:g}{of_unit}"
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise _wrong_kind(name, value, f"a number, {allowed}")
    if not math.isfinite(value) or not low <= value <= high:
        raise RangeError(f"{name} is {value:g}{of_unit}", allowed=allowed, todo=_MEND)


def _count(name: str, value: object, low: float, high: float, unit: str = "") -> None:
    _number(name, value, low, high, unit)
    if not isinstance(value, int):
        raise _wrong_kind(name, value, f"a whole number, {low:g} to {high:g}")


def _text(name: str, value: object) -> None:
    if not isinstance(value, str):
        raise _wrong_kind(name, value, "text")
    if "\x00" in value or any("\ud800" <= letter <= "\udfff" for letter in value):
        raise _wrong_kind(name, value, "text without broken letters")


def _name(name: str, value: object) -> None:
    _text(name, value)
    if not str(value).strip():
        raise _wrong_kind(name, value, "at least one letter or digit")


def _day(name: str, value: object) -> None:
    if type(value) is not date:
        raise _wrong_kind(name, value, "a date without a time")
    if not _EARLIEST <= value <= _LATEST:
        allowed = f"{_EARLIEST} to {_LATEST}"
        raise RangeError(f"{name} is {value}", allowed=allowed, todo=_MEND)


def _yes_no(name: str, value: object) -> None:
    if not isinstance(value, bool):
        raise _wrong_kind(name, value, "yes or no")


def _word(name: str, value: object, words: type[StrEnum]) -> None:
    if not isinstance(value, words):
        raise _wrong_kind(name, value, ", ".join(words))


def _detail(name: str, value: object, *, whole: bool = False) -> None:
    """Check a number that may be missing against `DETAIL_RANGE`."""
    if value is not None:
        low, high = DETAIL_RANGE[name]
        unit = "mm" if name.endswith("_mm") else ""
        (_count if whole else _number)(name, value, low, high, unit)


# --- fields of trees, branches, places, shelves and the garden ----------------------------------


def _choice(row: Field, value: object) -> None:
    if value not in row.choices:
        raise _wrong_kind(row.name, value, ", ".join(row.choices))


_BY_KIND: Mapping[str, Callable[[Field, object], None]] = {
    "text": lambda row, value: _text(row.name, value),
    "ref": lambda row, value: _name(row.name, value),
    "number": lambda row, value: _number(row.name, value, row.low, row.high, row.unit),
    "count": lambda row, value: _count(row.name, value, row.low, row.high, row.unit),
    "yes-no": lambda row, value: _yes_no(row.name, value),
    "date": lambda row, value: _day(row.name, value),
    "choice": _choice,
}


def check_field(of: str, name: str, value: object) -> None:
    """Refuse one field of a ``tree``, ``branch``, ``place``, ``shelf`` or the ``garden``.

    ``None`` always passes: it takes the value back to unknown.

    Raises
    ------
    RecordError
        No such field.
    TextError, RangeError
        As for `check`.
    """
    row = FIELDS_OF[of].get(name)
    if row is None:
        allowed = ", ".join(FIELDS_OF[of])
        raise RecordError(f"a {of} has no field {name!r}", allowed=allowed, todo="Mend its name")
    if value is not None:
        _BY_KIND[row.kind](row, value)


def _fields(of: str, body: Any) -> None:
    for name, value in body.fields.items():
        check_field(of, name, value)


def _place(body: PlaceSet) -> None:
    _name("place", body.place)
    _fields("place", body)


def _shelf(body: ShelfSet) -> None:
    _name("place", body.place)
    _name("shelf", body.shelf)
    _fields("shelf", body)


# --- the other bodies ----------------------------------------------------------------------------


def _front(body: FrontTurned) -> None:
    _number("degrees", body.degrees, *DETAIL_RANGE["degrees"], "degrees")


def _trait(body: TraitSet) -> None:
    _name("species", body.species)
    _name("trait", body.trait)
    value = body.value
    if isinstance(value, str):
        _text(body.trait, value)
    elif isinstance(value, float) and not math.isfinite(value):
        raise RangeError(f"{body.trait} is {value}", allowed="a finite number", todo=_MEND)


def _measured(body: Measured) -> None:
    _word("what", body.what, Quantity)
    low, high = QUANTITY_RANGE[body.what]
    for value in (body.value, body.earlier):
        if value is not None:
            _number(body.what.value, value, low, high, QUANTITY_UNIT[body.what])
    if body.value is None:
        raise _wrong_kind(body.what.value, None, "a number")
    _yes_no("marked", body.marked)
    _detail("sd", body.sd)
    _text("how", body.how)


def _worked(body: Worked) -> None:
    _word("work", body.work, Work)
    words = (("amount", Amount), ("metal", Metal), ("bend", Bend), ("fit", Fit))
    for name, kind in words:
        if getattr(body, name) is not None:
            _word(name, getattr(body, name), kind)
    for name in ("gauge_mm", "share", "until_base_mm", "minutes"):
        _detail(name, getattr(body, name))
    for name in ("strands", "bite", "shoots"):
        _detail(name, getattr(body, name), whole=True)
    for name in ("method", "to", "zone", "because"):
        _text(name, getattr(body, name))
    if body.donor is not None:
        _name("donor", body.donor)
    if body.until is not None:
        _day("until", body.until)


def _saw(body: Saw) -> None:
    _word("sign", body.sign, Sign)
    _detail("grade", body.grade, whole=True)
    if body.amount is not None:
        _word("amount", body.amount, Amount)
    _text("zone", body.zone)
    _text("because", body.because)


def _promised(body: Promised) -> None:
    if body.what not in PROMISES:
        raise _wrong_kind("what", body.what, ", ".join(PROMISES))
    _detail("until_base_mm", body.until_base_mm)
    if body.until is not None:
        _day("until", body.until)
    needs = {"until base": ("until_base_mm", body.until_base_mm), "until": ("until", body.until)}
    name, value = needs.get(body.what, ("", True))
    if value is None:
        raise RecordError(f"{body.what!r} has no {name}", todo="Say until which base or day")
    for part in ("words", "because", "zone"):
        _text(part, getattr(body, part))


def _look(body: LookAgain) -> None:
    _day("due", body.due)
    _text("zone", body.zone)


def _noted(body: Noted) -> None:
    _text("text", body.text)
    _yes_no("unread", body.unread)


def _stock(body: StockCounted) -> None:
    _word("metal", body.metal, Metal)
    if body.gauge_mm is None:
        raise _wrong_kind("gauge_mm", None, "a number")
    for name in ("gauge_mm", "metres", "grams"):
        _detail(name, getattr(body, name))
    if body.metres is None and body.grams is None:
        raise RecordError("the count has no metres and no grams", todo="Measure or weigh the wire")


def _photo_name(value: object) -> None:
    if not isinstance(value, str) or _PHOTO_NAME.fullmatch(value) is None:
        raise _wrong_kind("photo", value, "64 lower-case hex digits")


def _one_of(name: str, value: object, words: tuple[str, ...]) -> None:
    if value not in words:
        raise _wrong_kind(name, value, ", ".join(words))


def _shares(body: PhotoMarked | PhotoScaled, needed: str, pair: str) -> None:
    """Check places on a picture; those of ``pair`` are both given or both left out."""
    for name in needed.split():
        _number(name, getattr(body, name), *DETAIL_RANGE["picture_share"])
    values = [getattr(body, name) for name in pair.split()]
    if any(value is not None for value in values):
        for name, value in zip(pair.split(), values, strict=True):
            _number(name, value, *DETAIL_RANGE["picture_share"])


def _photographed(body: Photographed) -> None:
    _photo_name(body.photo)
    for name in ("width", "height"):
        _count(name, getattr(body, name), *DETAIL_RANGE["picture_px"], "px")
    _one_of("side", body.side, (*PHOTO_SIDES, *PHOTO_CLOCK))
    _one_of("dated", body.dated, PHOTO_DATED)
    _detail("mm_per_px", body.mm_per_px)
    for name in ("scale_how", "note"):
        _text(name, getattr(body, name))


def _photo_marked(body: PhotoMarked) -> None:
    _photo_name(body.photo)
    _shares(body, "x y", "x2 y2")
    _text("label", body.label)


def _photo_scaled(body: PhotoScaled) -> None:
    _photo_name(body.photo)
    _shares(body, "x1 y1 x2 y2", "soil_x soil_y")
    _number("length_mm", body.length_mm, *DETAIL_RANGE["length_mm"], "mm")
    _one_of("how", body.how, PHOTO_LENGTHS)
    if (body.x1, body.y1) == (body.x2, body.y2):
        raise RecordError("both ends are at one place", todo="Mark the two ends of the length")


def _withdrawn(body: Withdrawn) -> None:
    _text("because", body.because)


_CHECKS: Mapping[type[Any], Callable[[Any], None]] = {
    GardenSet: lambda body: _fields("garden", body),
    PlaceSet: _place,
    ShelfSet: _shelf,
    TreeSet: lambda body: _fields("tree", body),
    BranchSet: lambda body: _fields("branch", body),
    FrontTurned: _front,
    TraitSet: _trait,
    Measured: _measured,
    Worked: _worked,
    Saw: _saw,
    Promised: _promised,
    LookAgain: _look,
    Noted: _noted,
    StockCounted: _stock,
    Photographed: _photographed,
    PhotoMarked: _photo_marked,
    PhotoScaled: _photo_scaled,
    Withdrawn: _withdrawn,
}

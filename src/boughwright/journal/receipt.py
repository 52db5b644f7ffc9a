"""What was taken, in plain English, and the bench phrase that says the same."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING, Any

from boughwright.errors import TextError
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
from boughwright.journal.fields import FIELDS_OF
from boughwright.journal.names import DEPTHS, spoken
from boughwright.journal.phrase_words import METHODS, SHARES, STAGES
from boughwright.journal.terms import QUANTITY_UNIT, Amount, Quantity, Sign, Work
from boughwright.units import show_date, show_length

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from boughwright.journal.events import Body, FieldValue

# --- the receipt ---------------------------------------------------------------------------------


def receipt(body: Body, place: str, *, on: date, today: date, units: str = "mm") -> str:
    """Return what was taken as one plain sentence: ``2nd right: 2.0 mm aluminium on``.

    Parameters
    ----------
    body : Body
        What was taken.
    place : str
        The branch or zone it was taken for; empty for the whole tree, place or garden.
    on, today : date
        The day it happened, told when it is not today.
    units : str
        ``mm`` or ``in``.
    """
    teller = _Teller(units, today)
    where = _WHERE.get(type(body))
    start = where(body) if where else spoken(place) if place else "whole tree"
    text = f"{start[:1].upper()}{start[1:]}: {_TELL[type(body)](teller, body)}"
    return text if on == today else f"{text}, {show_date(on, today=today)}"


_WHERE: Mapping[type[Any], Callable[[Any], str]] = {
    GardenSet: lambda body: "garden",
    PlaceSet: lambda body: f"place {body.place}",
    ShelfSet: lambda body: f"shelf {body.shelf} at {body.place}",
    TraitSet: lambda body: str(body.species),
    StockCounted: lambda _body: "wire stock",
}


class _Teller:
    """Tells bodies in one unit of length, on one day."""

    def __init__(self, units: str, today: date) -> None:
        self.units, self.today = units, today

    def length(self, value: float) -> str:
        return show_length(value, self.units)

    def day(self, value: date) -> str:
        return show_date(value, today=self.today)

    def value(self, value: FieldValue, unit: str = "") -> str:
        if value is None:
            return "not known"
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, date):
            return self.day(value)
        if isinstance(value, str):
            return value
        if unit == "mm":
            return self.length(value)
        return f"{value:g} {unit}" if unit and unit not in {"0-1", "x"} else f"{value:g}"

    def fields(self, of: str, body: Any) -> str:
        parts = []
        for name, value in body.fields.items():
            row = FIELDS_OF[of].get(name)
            label = re.split(r"[,;:]", row.help)[0] if row else name
            parts.append(f"{label}: {self.value(value, row.unit if row else '')}")
        return "; ".join(parts) or "entered"


def _front(teller: _Teller, body: FrontTurned) -> str:
    del teller
    way = "clockwise" if body.degrees >= 0 else "anticlockwise"
    return f"front turned {abs(body.degrees):g} degrees {way}, seen from above"


def _trait(teller: _Teller, body: TraitSet) -> str:
    return f"{body.trait.replace('_', ' ')} set to {teller.value(body.value)}"


def _measured(teller: _Teller, body: Measured) -> str:
    def say(value: float) -> str:
        unit = QUANTITY_UNIT[body.what]
        return teller.length(value) if unit == "mm" else f"{value:g} {unit}"

    text = f"{_QUANTITY.get(body.what, body.what.value)} {say(body.value)}"
    if body.earlier is not None:
        text += f", {say(body.earlier)} before"
    if body.sd is not None:
        text += f", give or take {say(body.sd)}"
    return text + (", at a marked spot" if body.marked else "")


_QUANTITY: Mapping[Quantity, str] = {
    Quantity.NODE: "first node",
    Quantity.ROOM: "room to outline",
    Quantity.OPEN: "open width",
    Quantity.DRAIN: "drains in",
}

_WORK: Mapping[Work, str] = {
    Work.TWO: "clusters to two",
    Work.RUB: "shoots rubbed off",
    Work.LEAF_CLEAR: "inner leaves cleared",
    Work.LEAF_THIN: "outer leaves thinned",
    Work.LEAF_PAIR: "one leaf of each pair off",
    Work.LEAF_FULL: "all leaves off",
    Work.NOTCH: "feed notched",
    Work.SEVER: "graft severed",
    Work.RIM: "scar rim refreshed",
    Work.RAISE: "raised",
    Work.LOWER: "lowered",
    Work.PINCH: "pinched",
    Work.BUD_SELECT: "buds selected",
    Work.REPOT: "repotted",
    Work.FEED: "fed",
    Work.SPRAY: "sprayed",
    Work.SHADE: "shaded",
    Work.COVER: "covered",
    Work.TURN: "turned",
}


def _worked(teller: _Teller, body: Worked) -> str:
    text = _WORK.get(body.work, body.work.value)
    if body.work is Work.WIRE_ON:
        text = _wire(teller, body)
    elif body.gauge_mm is not None:
        text += f" {teller.length(body.gauge_mm)}"
    if body.to:
        text += f" {body.to}" if body.to.startswith("past ") else f" to {body.to}"
    if body.donor is not None:
        text += f" from {spoken(body.donor)}"
    if body.until_base_mm is not None:
        text += f" until base {teller.length(body.until_base_mm)}"
    if body.until is not None:
        text += f" until {teller.day(body.until)}"
    details = [
        "" if body.bite is None else f"bite {body.bite}",
        body.method,
        body.amount.value if body.amount else "",
        "" if body.share is None else f"{body.share * 100:.0f} %",
        body.fit.value if body.fit else "",
        f"{body.bend.value} bend" if body.bend else "",
        "" if body.shoots is None else f"{body.shoots} shoot{'s' * (body.shoots != 1)}",
        f"in {body.zone}" if body.zone in DEPTHS else "",
        "" if body.minutes is None else f"{body.minutes:g} minutes",
    ]
    return _with_reason(", ".join((text, *filter(None, details))), body.because)


def _wire(teller: _Teller, body: Worked) -> str:
    parts = [
        f"{body.strands} ×" if body.strands > 1 else "",
        "" if body.gauge_mm is None else teller.length(body.gauge_mm),
        body.metal.word if body.metal else "wire",
        "on",
    ]
    return " ".join(filter(None, parts))


def _with_reason(text: str, because: str) -> str:
    return f"{text}, because {because}" if because else text


def _saw(teller: _Teller, body: Saw) -> str:
    del teller
    text = body.sign.value
    if body.grade is not None:
        text += f" {body.grade}"
    if body.amount is Amount.NONE:
        text = f"no {text}"
    elif body.amount is not None:
        text += f", {body.amount.value}"
    return _with_reason(text, body.because)


def _promised(teller: _Teller, body: Promised) -> str:
    text = {"keep": "to be kept", "cut past later": "to be cut past later"}.get(
        body.what, body.what
    )
    if body.until_base_mm is not None:
        text = f"kept until base {teller.length(body.until_base_mm)}"
    elif body.until is not None:
        text = f"kept until {teller.day(body.until)}"
    elif body.what in {"for graft", "for scar"}:
        text = f"kept {body.what}"
    if body.words:
        text += f" {spoken(body.words)}"
    return _with_reason(text, body.because)


def _noted(teller: _Teller, body: Noted) -> str:
    del teller
    return f"kept as a note, not read: {body.text}" if body.unread else f"note: {body.text}"


def _stock(teller: _Teller, body: StockCounted) -> str:
    amount = [
        "" if body.metres is None else f"{body.metres:g} m",
        "" if body.grams is None else f"{body.grams:g} g",
    ]
    wire = f"{teller.length(body.gauge_mm)} {body.metal.word}"
    return f"{', '.join(filter(None, amount))} of {wire}"


def _photographed(teller: _Teller, body: Photographed) -> str:
    del teller
    text = f"photo, {side_words(body.side)}"
    return f"{text}: {body.note}" if body.note else text


def side_words(side: str) -> str:
    """Return the side of a picture in plain words: ``from the front``, ``from 9 o'clock``."""
    return _SIDE.get(side, f"from {side} o’clock")


_SIDE: Mapping[str, str] = {
    "front": "from the front",
    "back": "from the back",
    "left": "from the left",
    "right": "from the right",
    "above": "from above",
    "close": "close up",
}


def _photo_marked(teller: _Teller, body: PhotoMarked) -> str:
    del teller
    return f"marked on a photo as {body.label}" if body.label else "marked on a photo"


def _photo_scaled(teller: _Teller, body: PhotoScaled) -> str:
    return f"scale of a photo set, {teller.length(body.length_mm)} between two marks"


_TELL: Mapping[type[Any], Callable[[_Teller, Any], str]] = {
    GardenSet: lambda teller, body: teller.fields("garden", body),
    PlaceSet: lambda teller, body: teller.fields("place", body),
    ShelfSet: lambda teller, body: teller.fields("shelf", body),
    TreeSet: lambda teller, body: teller.fields("tree", body),
    BranchSet: lambda teller, body: teller.fields("branch", body),
    FrontTurned: _front,
    TraitSet: _trait,
    Measured: _measured,
    Worked: _worked,
    Saw: _saw,
    Promised: _promised,
    LookAgain: lambda teller, body: f"look again {teller.day(body.due)}",
    Noted: _noted,
    StockCounted: _stock,
    Photographed: _photographed,
    PhotoMarked: _photo_marked,
    PhotoScaled: _photo_scaled,
    Withdrawn: lambda teller, body: _with_reason("an earlier line taken back", body.because),
}


# --- the phrase ----------------------------------------------------------------------------------


def write(body: Body, place: str = "") -> str:
    """Return the bench phrase of a body; reading it gives the body back.

    Parameters
    ----------
    body : Body
        A work, sign, measure, promise, look or note.
    place : str
        The branch or zone; empty for the whole tree, or for the body's own zone.

    Raises
    ------
    TextError
        When no phrase says it: settings, fields, withdrawals, and details phrases do not carry.
    """
    writer = _WRITE.get(type(body))
    if writer is None:
        raise TextError(
            f"a {type(body).__name__} has no bench phrase", allowed="what is said of a tree"
        )
    zone = getattr(body, "zone", "")
    place = place or zone
    extra = zone if zone != place else ""
    open_ended = isinstance(body, Promised) or getattr(body, "donor", None) is not None
    if extra and (open_ended or extra not in DEPTHS.values()):
        raise TextError(f"zone {extra!r} of {place} has no bench phrase", allowed="inner, outer")
    words = [place, *writer(body), extra]
    because = getattr(body, "because", "")
    if because:
        words += ["because", because]
    return " ".join(filter(None, words))


def _digits(value: float) -> str:
    """Return a number with all its digits and no idle ``.0``."""
    return repr(float(value)).removesuffix(".0")


def _write_worked(body: Worked) -> list[str]:
    if body.method and body.method not in METHODS.get(body.work, ()):
        raise TextError(f"method {body.method!r} has no bench phrase")
    return [
        "lowered" if body.work is Work.LOWER else body.work.value,  # "lower" is a zone as well
        "" if body.gauge_mm is None else _digits(body.gauge_mm),
        body.metal.value if body.metal else "",
        f"x{body.strands}" if body.strands > 1 else "",
        body.fit.value if body.fit else "",
        body.bend.value if body.bend else "",
        "" if body.bite is None else f"bite {body.bite}",
        body.method,
        body.amount.value if body.amount else "",
        "" if body.share is None else f"{_digits(round(body.share * 100, 9))} %",
        ("" if body.to.startswith("past ") else "to ") + body.to if body.to else "",
        "" if body.until_base_mm is None else f"until base {_digits(body.until_base_mm)}",
        "" if body.until is None else f"until {body.until.isoformat()}",
        "" if body.shoots is None else f"{body.shoots} shoots",
        "" if body.minutes is None else f"{_digits(body.minutes)} min",
        "" if body.donor is None else f"from {body.donor}",
    ]


def _write_saw(body: Saw) -> list[str]:
    bite = body.sign is Sign.BITE
    if bite and body.amount is Amount.NONE and body.grade is None:
        return ["no bite"]
    fits = body.amount is None or (body.amount in SHARES if body.sign in STAGES else not bite)
    if not fits or (not bite and body.grade is not None):
        raise TextError(f"{body.sign.value} with that grade or amount has no bench phrase")
    grade = "" if body.grade is None else str(body.grade)
    return [body.sign.value, grade, body.amount.value if body.amount else ""]


def _write_measured(body: Measured) -> list[str]:
    unit = QUANTITY_UNIT[body.what]
    suffix = "" if unit == "mm" else f" {unit}"
    first = [] if body.earlier is None else [f"{_digits(body.earlier)}{suffix} to"]
    return [
        body.what.value,
        *first,
        f"{_digits(body.value)}{suffix}",
        "marked" if body.marked else "",
        "" if body.sd is None else f"±{_digits(body.sd)}",
        "" if body.how == "caliper" else body.how,
    ]


def _write_promised(body: Promised) -> list[str]:
    if body.words and body.what not in {"swap when", "for graft", "for scar"}:
        raise TextError(f"{body.what!r} with words has no bench phrase")
    words = ["will", body.what]
    if body.until_base_mm is not None:
        words = ["will until base", _digits(body.until_base_mm)]
    elif body.until is not None:
        words = ["will until", body.until.isoformat()]
    return [*words, body.words]


def _write_noted(body: Noted) -> list[str]:
    return [body.text] if body.unread else ["note", body.text]


_WRITE: Mapping[type[Any], Callable[[Any], list[str]]] = {
    Worked: _write_worked,
    Saw: _write_saw,
    Measured: _write_measured,
    Promised: _write_promised,
    LookAgain: lambda body: ["look", body.due.isoformat()],
    Noted: _write_noted,
}

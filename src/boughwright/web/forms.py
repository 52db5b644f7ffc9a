"""Forms as the pages show them: each field with its label, value, choices and what is wrong.

Every field carries what it showed when the page was made. What comes back the same was not touched
and is left out, so that a rounded length is not written again, and two devices on one form do not
undo each other.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, Final

from fastapi import Request  # fastapi reads it when it calls sent_form
from fastapi.responses import RedirectResponse

from boughwright.errors import TextError
from boughwright.units import MM_PER_INCH, celsius, parse_number
from boughwright.usecases.entry import FieldFault, Writer
from boughwright.usecases.field_forms import form_of
from boughwright.web.speech import SOURCE, Untold, page_texts
from boughwright.web.speech_core import tell

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from typing import TypeAlias

    from boughwright.journal.events import FieldValue
    from boughwright.journal.fields import Field
    from boughwright.web.speech import Speaker
    from boughwright.web.state import Bench

    Choices: TypeAlias = Sequence[tuple[str, str]]

WAS: Final = "was:"
"""Before the name of a field: what it showed when the page was made."""
LONG_CHOICE: Final = 5
"""From so many choices on they are a list that opens."""
WORD_LISTS: Final = {"graft_kind": "graftkind", "apex_phase": "phase"}
"""The list of words of a choice, where it is not called like its field."""
STEPS: Final = frozenset({"offset_c", "frost_pocket_c"})
"""Temperatures that are differences."""
UNITLESS: Final = frozenset({"latitude", "longitude", "clock"})
"""Fields whose label says all."""
_COMPASS: Final = re.compile(r"^\s*(.*?\d)\s*°?\s*([nsew])\s*$", re.I)
_NAME: Final = re.compile(r"[A-Z]|[\w-]+\.\w+$")
"""A name of a species or a file: it is never told."""
_MANY: Final = 120
FEW_PARTS: Final = 10
"""With more commas than this a text is no sentence of ours."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One field as it is shown. ``was`` is its value when the page was made; None on new things."""

    name: str
    label: str
    kind: str
    value: str = ""
    was: str | None = None
    help: str = ""
    unit: str = ""
    choices: Choices = ()
    offers: str = ""
    """Id of the list of words offered for it; empty when there is none."""
    fault: FieldFault | None = None
    required: bool = False

    @property
    def id(self) -> str:
        """The element's id on the page."""
        return "f-" + re.sub(r"[^\w-]+", "-", self.name)


@dataclass(frozen=True, slots=True)
class EntryGroup:
    """Entries that stand together. ``open``: shown at once."""

    key: str
    title: str
    open: bool
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Sent:
    """What a form sent: every field as typed, and those that were touched."""

    typed: Mapping[str, str]
    was: Mapping[str, str]

    @property
    def touched(self) -> dict[str, str]:
        """The fields that do not say what they said when the page was made."""
        return {
            name: text
            for name, text in self.typed.items()
            if text.strip() != self.was.get(name, "").strip()
        }

    def get(self, name: str) -> str:
        """Return a field as typed; empty when it was not sent."""
        return self.typed.get(name, "")


async def sent_form(request: Request) -> Sent:
    """Return the text fields of a form; files in it are passed over."""
    form = await request.form()
    texts = {key: value for key, value in form.items() if isinstance(value, str)}
    typed = {key: text for key, text in texts.items() if not key.startswith(WAS) and key != "csrf"}
    was = {key[len(WAS) :]: text for key, text in texts.items() if key.startswith(WAS)}
    return Sent(typed, was)


def writer_of(bench: Bench) -> Writer:
    """Return who writes, for which day."""
    return Writer(bench.today, who=bench.settings.who)


def see(path: str) -> RedirectResponse:
    """Send the browser on to a page after a form was taken."""
    return RedirectResponse(path, status_code=303)


# --- from the page to the use case ----------------------------------------------------------------


def given(of: str, sent: Sent, words: Speaker) -> dict[str, FieldValue]:
    """Return the touched fields of a thing, ready for its use case.

    Temperatures in °F become °C; ``39.8 S`` becomes -39.8. What cannot be read stays text, so that
    the use case tells what is wrong with it.

    Parameters
    ----------
    of : str
        ``garden``, ``place``, ``shelf``, ``tree`` or ``branch``.
    sent : Sent
    words : Speaker
        Whose units the form was in.
    """
    fields = {field.name: field for field in form_of(of).fields}
    return {
        name: _plain(fields[name], text, words)
        for name, text in sent.touched.items()
        if name in fields
    }


def _plain(field: Field, text: str, words: Speaker) -> FieldValue:
    if field.unit == "°C" and words.temperature == "F" and text.strip():
        return _celsius(field, text)
    if field.name in ("latitude", "longitude") and (found := _COMPASS.match(text)):
        number, side = found[1], found[2].casefold()
        fits = side in ("ns" if field.name == "latitude" else "ew")
        if fits and not number.startswith("-"):
            return f"-{number}" if side in "sw" else number
    return text


def _celsius(field: Field, text: str) -> FieldValue:
    bare = re.sub(r"\s*°?\s*F\s*$", "", text, flags=re.I)
    try:
        value = parse_number(bare)
    except TextError:
        return text
    return round(value / 1.8 if field.name in STEPS else celsius(value), 4)


# --- from what is known to the page ---------------------------------------------------------------


def shown(field: Field, value: FieldValue, words: Speaker) -> str:
    """Return a value as its field shows it: in the grower's unit, without the unit."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, date):
        return day_shown(value, words)
    if isinstance(value, int | float):
        return _number(field, float(value), words)
    return str(value)


def day_shown(day: date, words: Speaker) -> str:
    """Return a day in figures, in the grower's order."""
    if words.dates == "year first":
        return day.isoformat()
    if words.language != "en":
        return f"{day.day}.{day.month}.{day.year}"
    first = (day.month, day.day) if words.dates == "month first" else (day.day, day.month)
    return f"{first[0]}/{first[1]}/{day.year}"


def _number(field: Field, value: float, words: Speaker) -> str:
    if field.unit == "mm":
        inches = words.units == "in"
        return _short(value / MM_PER_INCH if inches else value, 3 if inches else 2, words)
    if field.unit == "°C" and words.temperature == "F":
        return _short(value * 1.8 + (0.0 if field.name in STEPS else 32.0), 1, words)
    return _short(value, 5, words)


def _short(value: float, decimals: int, words: Speaker) -> str:
    text = f"{value:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return text.replace(".", ",") if words.language == "de" else text


def groups_of(
    of: str,
    words: Speaker,
    *,
    known: Mapping[str, FieldValue] | None = None,
    sent: Sent | None = None,
    faults: Iterable[FieldFault] = (),
    choices: Mapping[str, Choices] | None = None,
    offers: Mapping[str, str] | None = None,
    required: Iterable[str] = (),
    only: Iterable[str] = (),
) -> tuple[EntryGroup, ...]:
    """Return a form in its groups.

    Parameters
    ----------
    of : str
        ``garden``, ``place``, ``shelf``, ``tree`` or ``branch``.
    words : Speaker
    known : mapping, optional
        Values as they stand; None for a new thing.
    sent : Sent, optional
        What was typed, when something was wrong with it: it is shown again.
    faults : iterable of FieldFault
    choices : mapping, optional
        Values and labels of fields that name another thing.
    offers : mapping, optional
        Ids of the lists of words offered, by field.
    required : iterable of str
    only : iterable of str
        Groups wanted; all when empty.
    """
    wanted, needs = frozenset(only), frozenset(required)
    wrong = {one.field: one for one in reversed(list(faults))}
    found = []
    for group in form_of(of).groups:
        if wanted and group.key not in wanted:
            continue
        entries = tuple(
            replace(
                entry_of(of, field, words, known, sent),
                choices=_choices(field, words, choices or {}),
                offers=(offers or {}).get(field.name, ""),
                fault=told_plainly(field, wrong.get(field.name), words),
                required=field.name in needs,
            )
            for field in group.fields
        )
        opened = group.essential or any(one.fault for one in entries)
        title = words.t(f"facts.group.{of}.{group.key}")
        found.append(EntryGroup(group.key, title, opened, entries))
    return tuple(found)


def entry_of(
    of: str, field: Field, words: Speaker, known: Mapping[str, FieldValue] | None, sent: Sent | None
) -> Entry:
    """Return one field with its label and value."""
    was = None if known is None else shown(field, known.get(field.name), words)
    if sent is not None:
        was = sent.was.get(field.name, was)
    value = sent.get(field.name) if sent is not None else (was or "")
    label, help_ = label_of(of, field, words)
    kind = "choice" if field.kind in ("choice", "yes-no", "ref") else field.kind
    return Entry(field.name, label, kind, value, was, help_, _unit(field, words))


def label_of(of: str, field: Field, words: Speaker) -> tuple[str, str]:
    """Return a field's label and its longer help; without a label of its own the help leads."""
    help_ = words.say(field.help)
    key = f"facts.label.{of}.{field.name}"
    texts = page_texts(words.language)
    if key not in texts:
        return help_[:1].upper() + help_[1:], ""
    more = f"facts.help.{of}.{field.name}"
    return words.t(key), words.t(more) if more in texts else ""


def _unit(field: Field, words: Speaker) -> str:
    if field.unit == "mm":
        return words.units
    if field.unit == "°C":
        return f"°{words.temperature}"
    if field.unit in ("", "0-1", "x") or field.name in UNITLESS:
        return ""
    key = f"facts.unit.{field.unit}"
    return words.t(key) if key in page_texts(words.language) else field.unit


def _choices(field: Field, words: Speaker, others: Mapping[str, Choices]) -> Choices:
    if field.name in others:
        return others[field.name]
    if field.kind == "yes-no":
        return (("yes", words.t("facts.yes")), ("no", words.t("facts.no")))
    own = page_texts(words.language)
    return tuple(
        (word, words.t(f"facts.choice.{field.name}.{word}")
         if f"facts.choice.{field.name}.{word}" in own
         else words.word(word, WORD_LISTS.get(field.name, field.name)))
        for word in field.choices
    )  # fmt: skip


def told_plainly(
    field: Field | None, fault: FieldFault | None, words: Speaker
) -> FieldFault | None:
    """Return a fault in the page's words: no key of the program, limits in the grower's units.

    Parameters
    ----------
    field : Field, optional
        What it is about; None when it is no field of a thing.
    fault : FieldFault, optional
    words : Speaker
    """
    if fault is None:
        return None
    if field is None or not fault.what.startswith(f"{field.name} is "):
        listed = _listed(fault.allowed, words)
        return replace(fault, what=briefly(fault.what.rstrip("."), words), allowed=listed,
                       todo=words.say(fault.todo.rstrip(".")))  # fmt: skip
    value = fault.what.removeprefix(f"{field.name} is ").removesuffix(" 0-1")
    number = re.match(r"-?[\d.e+]+", value)
    unit = _unit(field, words)
    if field.unit and number and field.high < float("inf"):
        value = f"{_number(field, float(number[0]), words)} {unit}".strip()
        ends = (_number(field, end, words) for end in (field.low, field.high))
        allowed = words.t("facts.between", low=next(ends), high=next(ends), unit=unit).strip()
    elif field.choices:
        allowed = ", ".join(label for _, label in _choices(field, words, {}))
    else:
        allowed = words.say(fault.allowed)
    return replace(fault, what=words.t("facts.unfit", value=value[:_MANY]), allowed=allowed,
                   todo=words.t("facts.mend"))  # fmt: skip


def _listed(allowed: str, words: Speaker) -> str:
    """Return what is allowed told: as one sentence, else piece by piece, names as they are."""
    if words.language == SOURCE:
        return words.say(allowed)
    if allowed.count(", ") <= FEW_PARTS and tell(allowed, words.language) is not None:
        return words.say(allowed)
    parts = allowed.split(", ")
    return ", ".join(part if _NAME.match(part) else words.say(part) for part in parts)


def briefly(text: str, words: Speaker) -> str:
    """Return a sentence of the core told; one with a long list of somebody's own as it stands.

    A name with a colon before the sentence stays as it is.
    """
    if text.count(", ") > FEW_PARTS:
        return Untold(text)
    name, found, rest = text.partition(": ")
    if words.language != SOURCE and found and tell(text, words.language) is None:
        return f"{name}: {words.say(rest)}" if tell(rest, words.language) else words.say(text)
    return words.say(text)


def faulty(groups: Iterable[EntryGroup]) -> tuple[Entry, ...]:
    """Return the entries that something is wrong with, in order."""
    return tuple(entry for group in groups for entry in group.entries if entry.fault)

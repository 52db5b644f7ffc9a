"""Reading the species tables, finding a species by any of its names, and the grower's own values.

``names.toml`` holds what each species is called, ``data/<key>.toml`` its traits, ``traits.toml``
what a trait means. Each file is read once, a species' own only when it is asked for.
"""

from __future__ import annotations

import difflib
import math
import re
import tomllib
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from boughwright.errors import AmbiguousNameError, RangeError, TextError, UnknownNameError
from boughwright.sources import Grade
from boughwright.species.model import Species, Trait
from boughwright.units import parse_number

if TYPE_CHECKING:
    from collections.abc import Mapping

_RANK = re.compile(r"\b(?:subsp|ssp|var|f|forma)\b")
"""Words between a species and the name below it, which people write or leave out."""


@dataclass(frozen=True, slots=True)
class TraitMeaning:
    """What a trait means: ``kind`` is ``word``, ``number``, ``yes-no`` or ``text``.

    ``low`` and ``high`` are the legal range of a number in ``unit``, ``words`` those allowed.
    """

    name: str
    means: str
    kind: str
    unit: str = ""
    low: float = -math.inf
    high: float = math.inf
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SpeciesNames:
    """What a species is called. ``synonyms`` are botanical names that share its row."""

    key: str
    botanical: str
    plain: str
    common: tuple[str, ...]
    synonyms: tuple[str, ...]


def _read(name: str) -> dict[str, Any]:
    return tomllib.loads(files("boughwright.species").joinpath(name).read_text("utf-8"))


@cache
def trait_meanings() -> Mapping[str, TraitMeaning]:
    """Return what each trait means, by its name."""
    rows = _read("traits.toml")
    return MappingProxyType(
        {
            name: TraitMeaning(name, **row | {"words": tuple(row.get("words", ()))})
            for name, row in rows.items()
        }
    )


@cache
def all_names() -> Mapping[str, SpeciesNames]:
    """Return what each species is called, by its key; reads no traits."""
    return MappingProxyType(
        {
            key: SpeciesNames(
                key,
                row["botanical"],
                row["plain"],
                tuple(row["common"]),
                tuple(row["synonyms"]),
            )
            for key, row in _read("names.toml").items()
        }
    )


@cache
def of_key(key: str) -> Species:
    """Return the species with that key of `all_names`.

    Raises
    ------
    UnknownNameError
        When there is none.
    """
    if key not in all_names():
        raise UnknownNameError(
            f"species key {key!r} is not known", allowed=", ".join(all_names()), todo="Mend the key"
        )
    names = all_names()[key]
    traits = {
        name: Trait(
            row["value"],
            row["unit"],
            row["source"],
            Grade.of(row["grade"]),
            row.get("low"),
            row.get("high"),
        )
        for name, row in _read(f"data/{key}.toml").items()
    }
    return Species(key, names.botanical, names.plain, names.common, MappingProxyType(traits))


@cache
def all_species() -> tuple[Species, ...]:
    """Return every species with its traits, in the order of the table of names."""
    return tuple(of_key(key) for key in all_names())


def _plain_form(name: str) -> str:
    """Return a name in lower case, without marks, ranks and the sign of a hybrid."""
    lowered = re.sub(r"[-_.,×’']+", " ", name.lower().replace("'", ""))
    without = re.sub(r"\bx\b", " ", _RANK.sub(" ", lowered))
    return " ".join(without.split())


def _squeezed(name: str) -> str:
    return _plain_form(name).replace(" ", "")


@cache
def _index() -> tuple[Mapping[str, frozenset[str]], Mapping[str, str]]:
    """Return the keys of every name, squeezed, and the key of every botanical name.

    A genus alone stands for all its species.
    """
    every: dict[str, set[str]] = {}
    botanical: dict[str, str] = {}
    for key, names in all_names().items():
        for latin in (names.botanical, *names.synonyms):
            botanical[_squeezed(latin)] = key
            every.setdefault(_plain_form(latin).split()[0], set()).add(key)
        for name in (names.botanical, names.plain, *names.common, *names.synonyms, key):
            every.setdefault(_squeezed(name), set()).add(key)
    return {name: frozenset(keys) for name, keys in every.items()}, botanical


def find(name: str) -> Species:
    """Return the species of a botanical, plain or common name.

    Case, spaces and hyphens do not matter; authors and cultivars after a botanical name are
    passed over (``Acer ginnala Maxim.``, ``Acer palmatum 'Kiyohime'``).

    Raises
    ------
    AmbiguousNameError
        When a common name or a genus covers several species; it lists their botanical names.
    UnknownNameError
        When no species is called that; it gives the nearest names.
    """
    every, botanical = _index()
    keys = every.get(_squeezed(name), frozenset())
    if not keys:
        words = _plain_form(name).split()
        for length in (3, 2):
            latin = "".join(words[:length])
            if len(words) > length and latin in botanical:
                return of_key(botanical[latin])
    if len(keys) == 1:
        return of_key(next(iter(keys)))
    if keys:
        fits = [names.botanical for key, names in all_names().items() if key in keys]
        raise AmbiguousNameError(
            f"{name!r} covers several species",
            allowed=", ".join(fits),
            todo="Give the botanical name once",
        )
    raise UnknownNameError(
        f"species {name!r} is not known", allowed=_nearest(name), todo="Give the botanical name"
    )


def _nearest(name: str) -> str:
    """Return the names most like a name, for an error."""
    spelled = {
        _squeezed(word): word
        for names in all_names().values()
        for word in (*names.common, *names.synonyms, names.plain, names.botanical)
    }
    close = difflib.get_close_matches(_squeezed(name), spelled, n=3, cutoff=0.6)
    if not close:
        return ", ".join(names.botanical for names in all_names().values())
    return "perhaps " + ", ".join(spelled[word] for word in close)


def with_overrides(species: Species, overrides: Mapping[str, object]) -> Species:
    """Return the species with the grower's own values in place of the table's.

    Parameters
    ----------
    species : Species
    overrides : mapping of str to value
        By trait name. Numbers and yes-no values may be written as text. ``None`` keeps the
        table's value.

    Returns
    -------
    Species
        The set traits are graded measured, their source is the grower.

    Raises
    ------
    UnknownNameError
        When there is no such trait.
    RangeError
        When a value is not one the trait can have.
    """
    traits = dict(species.traits)
    for name, value in overrides.items():
        if name not in trait_meanings():
            close = difflib.get_close_matches(name, trait_meanings(), n=3)
            raise UnknownNameError(
                f"trait {name!r} is not known",
                where=species.botanical,
                allowed=", ".join(close or trait_meanings()),
                todo="Mend the trait",
            )
        if value is None:
            continue
        meaning = trait_meanings()[name]
        legal = _legal(value, meaning, where=f"{species.botanical}, {name}")
        number = legal if isinstance(legal, float) else None
        traits[name] = Trait(legal, meaning.unit, "grower", Grade.MEASURED, number, number)
    return replace(species, traits=MappingProxyType(traits))


_YES_NO = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}


def _legal(value: object, meaning: TraitMeaning, *, where: str) -> float | str | bool:
    """Return a value as the trait holds it, or raise `RangeError`."""
    found: float | str | bool | None = None
    if meaning.kind == "yes-no":
        allowed = "yes or no"
        found = _YES_NO.get(str(value).strip().lower())
    elif meaning.kind == "number":
        allowed = f"{meaning.low:g} to {meaning.high:g} {meaning.unit}".strip()
        number = _number(value)
        found = number if meaning.low <= number <= meaning.high else None
    elif meaning.kind == "word":
        allowed = ", ".join(meaning.words)
        word = " ".join(str(value).lower().split())
        found = word if word in meaning.words else None
    else:
        allowed = "text"
        found = str(value)
    if found is None:
        raise RangeError(
            f"{value!r} cannot be the {meaning.name}",
            where=where,
            allowed=allowed,
            todo="Mend or empty it",
        )
    return found


def _number(value: object) -> float:
    """Return a value as a number, nan when it is none."""
    if isinstance(value, bool):
        return math.nan
    if isinstance(value, int | float):
        return float(value)
    try:
        return parse_number(str(value))
    except TextError:
        return math.nan

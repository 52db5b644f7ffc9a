"""Sentences of the core put into another language by patterns with named holes.

A pattern is an English sentence, or a part of one, with holes: ``Its base of {mm} has reached
{share}``. The first letters of a hole's name say what fits it and how it is told on, `KINDS`.
A sentence is looked up whole, then against the patterns, then in parts. What no pattern fits is
handed back as it stands, marked as not told.
"""

from __future__ import annotations

import re
import tomllib
from collections import Counter, defaultdict
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING, Final

from boughwright.web.speech_forms import (
    DAY_FIRST,
    WRITTEN_DAY,
    marked,
    retell_days,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

HOLE: Final = re.compile(r"\{([a-z]+)(\d*)\}")
"""A named hole of a pattern. A length such as ``{12.1 mm}`` begins with a digit and is none."""

_LENGTH: Final = r"\{-?\d+(?:\.\d+)? mm\}|\?"
_NUMBER: Final = r"-?\d+(?:\.\d+)?"
_ZONE: Final = r"(?:low|mid|apex|inner|outer|front|back|left|right)"
_PART: Final = (
    r"(?:(?:\d{1,3}(?:\.\d{1,3})?[LRBF]g?|top|trunk|root"
    r"|scar(?: (?:\d{1,3}|front|back|left|right))?)"
    rf"(?:-(?:\d{{1,3}}[lrud]?|end))*|whole tree|the tree|all|{_ZONE}(?: {_ZONE})*)"
)
"""One branch, named part, zone or the whole tree, as written at the bench."""
_SIDE: Final = r"(?:left|right|back|front)"
_STEP: Final = r"(?:running end|\d+(?:st|nd|rd|th)(?: (?:left|right|upper|lower))? side shoot)"
_SPOT: Final = (
    rf"(?:\d+(?:st|nd|rd|th) {_SIDE}(?: graft)?|{_NUMBER} {_SIDE}(?: graft)?|(?:{_SIDE} )?scar"
    rf"|scar \d+|top|trunk|root|pot|whole tree)(?:, {_STEP})*"
)
KINDS: Final[Mapping[str, str]] = {
    "n": _NUMBER,
    "mm": _LENGTH,
    "len": rf"{_NUMBER} (?:mm|in)|\?",
    "share": rf"{_NUMBER} %",
    "c": rf"{_NUMBER} °C",
    "day": rf"{WRITTEN_DAY}|\d{{4}}-\d\d-\d\d",
    "days": rf"(?:{WRITTEN_DAY})(?: and (?:{WRITTEN_DAY}))*",
    "place": rf"{_PART}(?:, {_PART})*(?: and (?:{_PART}|\d+ more))?",
    "spot": rf"(?i:{_SPOT})|{_PART}",
    "key": r"[a-z][a-z0-9]*(?:_[a-z0-9]+)*",
    "col": r"[a-z]+(?:_[a-z0-9]+)+",
    "raw": r"'.*'|\".*\"|-?\d\S*(?: \S+)?|None|True|False|nan|-?inf|\[.*\]|\{.*\}|[\w.]+\(.*\)",
    "unit": r"[^\s.,;:]{1,9}(?: d)?",
    "words": r"[\w-]+(?: [\w-]+){0,2}(?:, [\w-]+(?: [\w-]+){0,2})+",
    "name": ".+?",
    "text": ".+?",
    "any": ".+?",
    "value": "[^;]+",
}
"""What fits each kind of hole. Numbers, lengths (in braces, or with their unit), shares,
temperatures and days; keys, raw values, units and lists of words as files write them; places
written (``4R``) or spoken (``4th right``); a name or word of the grower's own, told as it stands;
a text of the core, told on, or the whole counts as not told; any text, told where it is known and
else as it stands. A kind that is none of these is the name of a list of words."""

_JOINS: Final = (". ", "; ", ": ", ", ")
_LIST: Final = re.compile(r", | and ")
LONGEST: Final = 2400
MOST_PARTS: Final = 100
"""Longer texts, or texts of more joins, are a grower's own: they are left as they stand. A branch
entered with all its fields makes the longest receipt, some 70 joins."""

LISTS: Final = {"signs": "sign", "heavies": "heavy"}
"""Holes that take several words of one list."""
_AS_IT_STANDS: Final = frozenset({"mm", "c", "key", "col", "raw", "unit", "words", "name"})
_TOLD_ON: Final = frozenset({"text", "any", "value"})
_NUMBERS: Final = frozenset({"n", "share", "len"})
_WORDS: Final = "word_"
"""How the name of a section that lists words begins."""

untold: Counter[str] = Counter()
"""Sentences that were shown in English on a page of another language, with how often."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """One pattern: what it fits, the kinds of its holes in order, and how it is told."""

    fits: re.Pattern[str]
    holes: tuple[tuple[str, str], ...]
    """Kind and number of each."""
    told: str
    literal: int
    """Letters outside holes: the more, the earlier it is tried."""


@dataclass(frozen=True, slots=True)
class Catalogue:
    """A language's sentences, patterns and words."""

    exact: Mapping[str, str]
    by_word: Mapping[str, tuple[Pattern, ...]]
    """Patterns under their rarest whole word."""
    wordless: tuple[Pattern, ...]
    words: Mapping[str, Mapping[str, str]]
    """Words of closed lists: kind of list, English word, told word."""


def core_table(language: str) -> dict[str, dict[str, str]]:
    """Return the catalogue of a language as it is written: section, English, told."""
    text = files("boughwright.web").joinpath(f"words/{language}_core.toml").read_text("utf-8")
    return tomllib.loads(text)


@cache
def catalogue(language: str) -> Catalogue:
    """Return the sentences of a language, ready to look up."""
    table = core_table(language)
    words = {
        section.removeprefix(_WORDS): entries
        for section, entries in table.items()
        if section.startswith(_WORDS)
    }
    sentences: dict[str, str] = {}
    for entries in table.values():
        for english, told in entries.items():
            sentences.setdefault(english.rstrip("."), told.rstrip("."))
    open_ones = [english for english in sentences if HOLE.search(english)]
    seen = Counter(word for english in open_ones for word in set(_whole_words(english)))
    by_word: dict[str, list[Pattern]] = defaultdict(list)
    wordless: list[Pattern] = []
    for english in open_ones:
        rare = min(_whole_words(english), key=lambda word: (seen[word], word), default=None)
        pattern = _pattern(english, sentences[english], words)
        (wordless if rare is None else by_word[rare]).append(pattern)
    return Catalogue(
        {english: told for english, told in sentences.items() if not HOLE.search(english)},
        {word: tuple(found) for word, found in by_word.items()},
        tuple(sorted(wordless, key=lambda pattern: -pattern.literal)),
        words,
    )


def _pattern(english: str, told: str, words: Mapping[str, Mapping[str, str]]) -> Pattern:
    pieces = HOLE.split(english)
    literals, kinds, numbers = pieces[::3], pieces[1::3], pieces[2::3]
    body = re.escape(literals[0])
    for kind, number, literal in zip(kinds, numbers, literals[1:], strict=True):
        fits = KINDS.get(kind) or _some_of(kind, words)
        body += f"(?P<{kind}{number}>{fits}){re.escape(literal)}"
    holes = tuple(zip(kinds, numbers, strict=True))
    return Pattern(re.compile(body, re.S), holes, told, sum(map(len, literals)))


def _some_of(kind: str, words: Mapping[str, Mapping[str, str]]) -> str:
    """Return what fits a word of a list, its first letter small or large, or several of them."""
    known = words[LISTS.get(kind, kind)]
    forms = {form for word in known for form in (word, word[:1].upper() + word[1:])}
    one = "|".join(map(re.escape, sorted(forms, key=len, reverse=True)))
    return f"(?:{one})(?:(?:, | and )(?:{one}))*" if kind in LISTS else one


_WORD: Final = re.compile(r"[^\W\d_]+")


def _whole_words(english: str) -> list[str]:
    """Return words that stand whole in a pattern, not run into a hole."""
    text = HOLE.sub("\0", english)
    return [
        found[0]
        for found in _WORD.finditer(text)
        if text[found.start() - 1 : found.start()] != "\0"
        and text[found.end() : found.end() + 1] != "\0"
    ]


def tell(text: str, language: str, order: str = DAY_FIRST) -> str | None:
    """Return a sentence of the core in a language, None when a part of it has no words there.

    Lengths, temperatures and their signs stay as they are written, for `units_pass`.
    """
    plain = text.strip()
    if not plain:
        return text
    if len(plain) > LONGEST or sum(map(plain.count, _JOINS)) > MOST_PARTS:
        return None
    return _tell(plain, language, order)


@lru_cache(maxsize=16384)
def _tell(text: str, language: str, order: str) -> str | None:
    """Return a text told whole, by a pattern, or in parts, each of them shorter than it.

    Kept, so that a text of many parts asks for each stretch of it once.
    """
    for form, finish in _forms(text):
        found = _look_up(form, language, order)
        if found is not None:
            return finish(found)
    return _in_parts(text, language, order)


def _forms(text: str) -> Iterator[tuple[str, _Finish]]:
    """Yield a text as it stands, without its full stop, and with its first letter turned."""
    bare = text.rstrip(".")
    stop = text[len(bare) :]
    yield text, _Finish("", upper=False)
    if stop:
        yield bare, _Finish(stop, upper=False)
    if bare[:1].isupper():
        yield bare[0].lower() + bare[1:], _Finish(stop, upper=True)
    elif bare[:1].islower():
        yield bare[0].upper() + bare[1:], _Finish(stop, upper=False)


@dataclass(frozen=True, slots=True)
class _Finish:
    stop: str
    upper: bool

    def __call__(self, told: str) -> str:
        if self.upper:
            told = told[:1].upper() + told[1:]
        return told + self.stop


def _look_up(text: str, language: str, order: str) -> str | None:
    known = catalogue(language)
    exact = known.exact.get(text)
    if exact is not None:
        return exact
    if re.fullmatch(KINDS["day"], text):
        return retell_days(text, order, language, None)
    found = {
        id(pattern): pattern
        for word in set(_WORD.findall(text))
        for pattern in known.by_word.get(word, ())
    }
    for pattern in sorted(found.values(), key=lambda p: -p.literal):
        told = _fill(pattern, text, language, order)
        if told is not None:
            return told
    for pattern in known.wordless:
        told = _fill(pattern, text, language, order)
        if told is not None:
            return told
    return None


def _fill(pattern: Pattern, text: str, language: str, order: str) -> str | None:
    match = pattern.fits.fullmatch(text)
    if match is None:
        return None
    values = {}
    for kind, number in pattern.holes:
        value = _hole(kind, match[kind + number], language, order)
        if value is None:
            return None
        values[kind + number] = value
    return HOLE.sub(lambda found: values[found[1] + found[2]], pattern.told)


def _hole(kind: str, value: str, language: str, order: str) -> str | None:
    if kind in _AS_IT_STANDS:
        return value
    if kind in _NUMBERS:
        return marked(value, language)
    if kind in _TOLD_ON:
        told = _tell(value, language, order)
        return value if told is None and kind != "text" else told
    return _told_value(kind, value, language, order)


def _told_value(kind: str, value: str, language: str, order: str) -> str:
    """Return a day, a place or a word of a list as the language tells it."""
    if kind in ("day", "days"):
        told = retell_days(value, order, language, None)
        return told.replace(" and ", f" {_word('join', 'and', language)} ")
    if kind in ("place", "spot"):
        return (tell_place if kind == "place" else tell_spot)(value, language)
    if kind not in LISTS:
        return _word(kind, value, language)
    parts = re.split("(, | and )", value)
    joins = {", ": ", ", " and ": f" {_word('join', 'and', language)} "}
    return "".join(joins.get(part) or _word(LISTS[kind], part, language) for part in parts)


def _word(kind: str, value: str, language: str) -> str:
    words = catalogue(language).words[kind]
    if value in words:
        return words[value]
    told = words[value[0].lower() + value[1:]]
    return told[:1].upper() + told[1:]


def tell_place(text: str, language: str) -> str:
    """Return places as written at the bench: zones and the whole tree told, names as they are."""
    known = catalogue(language).words
    if not re.fullmatch(KINDS["place"], text):
        return text
    told = []
    for name in _LIST.split(text):
        if name in known["place"]:
            told.append(known["place"][name])
        elif name.endswith(" more"):
            told.append(f"{name.removesuffix(' more')} {known['join']['more']}")
        elif re.fullmatch(rf"{_ZONE}(?: {_ZONE})*", name):
            told.append(" ".join(known["zonepart"][word] for word in name.split()))
        else:
            told.append(name)
    last = f" {known['join']['and']} {told.pop()}" if " and " in text else ""
    return ", ".join(told) + last


def tell_spot(text: str, language: str) -> str:
    """Return a place as a receipt says it: ``2nd right, 1st side shoot``."""
    if re.fullmatch(_PART, text):
        whole = catalogue(language).words["spot"].get(text)
        return tell_place(text, language) if whole is None else whole
    words = catalogue(language).words["spot"]
    told = []
    for step in text.split(", "):
        number, found, rest = step.partition(" ")
        if found and number[0].isdigit():
            count = re.sub(r"(\d+)(?:st|nd|rd|th)", r"\1.", number)
            told.append(f"{marked(count, language) if '.' in number else count} {words[rest]}")
        elif step.lower().startswith("scar "):
            told.append(f"{words['scar']} {rest}")
        else:
            told.append(words[step[:1].lower() + step[1:]])
    first = ", ".join(told)
    return first[:1].upper() + first[1:] if text[:1].isupper() else first


def _in_parts(text: str, language: str, order: str) -> str | None:
    for mark in _JOINS:
        head, found, rest = text.partition(mark)
        while found:
            first = _tell(head, language, order)
            if first is not None:
                second = _tell(rest, language, order)
                if second is not None:
                    return first + mark + second
            more, found, rest = rest.partition(mark)
            head = head + mark + more
    return None

"""Every word the core and the pages can show stands in the catalogue of every language.

The sentences of the core are read off its code, so that a new one without a German text fails
here before a grower meets it.
"""

from __future__ import annotations

import itertools
import re
import tomllib
from functools import cache
from typing import TYPE_CHECKING

import pytest
from code_tree import PACKAGE, modules
from sentence_tree import sentences

from boughwright.benchwork import pairs as heavy_pairs
from boughwright.journal import fields as journal_fields
from boughwright.journal import terms
from boughwright.season.stages import AlarmKind, Stage
from boughwright.sources import Grade
from boughwright.verdicts.answer import Say
from boughwright.verdicts.verdict import Act, Harm, Sureness
from boughwright.web.speech import LANGUAGES, SOURCE, Speaker, page_texts
from boughwright.web.speech_core import HOLE, KINDS, LISTS, catalogue, core_table, tell
from boughwright.wire.off import Method

if TYPE_CHECKING:
    from collections.abc import Iterator
    from enum import Enum

CORE = (
    "verdicts/", "benchwork/", "wire/", "health/", "feed/", "growth/", "tree/", "season/",
    "species/", "journal/", "usecases/", "intake/", "store/", "report/",
    "errors.py", "units.py", "sources.py", "settings.py", "web/",
)  # fmt: skip
"""Where sentences are made that a page hands on."""

OUTSIDE = {
    "journal/columns.py": "columns of files and their page of documentation, one in all languages",
    "journal/phrase_words.py": "words a grower types; bench phrases are English everywhere",
    "usecases/completing.py": "endings of a bench phrase, which is English everywhere",
    "usecases/bench_phrases.py": "bench phrases, and sentences of the core they are looked up by",
    "report/bars.py": "drawn by the texts of the pages",
    "report/charts": "drawn by the texts of the pages",
    "report/drawing_marks.py": "lines and their classes",
    "report/tables_doc.py": "the page that documents the files of a garden folder",
    "store/layout.py": "names of columns of the book",
    "store/schema.py": "the book's own columns and conditions",
    "store/migrate.py": "names of the tool that changes layouts",
    "store/migrations/": "layouts of the book",
    "store/queries.py": "questions to the book",
    "usecases/tap_acts.py": "bench phrases that taps make, English everywhere",
    "web/api/models.py": "the description of the JSON answers, English like their keys",
    "web/guard/certificates.py": "names inside certificates",
    "web/guard/handing.py": "headers",
    "web/guard/headers.py": "headers",
    "web/guard/layer.py": "names of counters",
    "web/guard/seats.py": "cookies",
    "web/pages/say.py": "examples of bench phrases, English everywhere",
    "web/pages/wire.py": "bench phrases that buttons say",
    "web/serve.py": "what the terminal prints",
    "web/speech": "the teller itself",
}
"""Modules whose strings no page shows, and why."""

NOT_SHOWN: dict[str, str] = {
    "wire bites": "name of a rule",
    "no pinching": "name of a rule",
    "wire before cut": "name of a rule",
    "{} and {}{n} more": "branch names, told as a place",
    "It has spent {} of the {} points of toll ": "told with the line that follows it",
    "it bears in six weeks": "told with the line before it",
    "{} of {} points of toll are left this season, ": "told with the line that follows it",
    "{} in these six weeks": "told with the line before it",
    "soil_x soil_y": "names of details",
    "A base of": "told with what was wrong with it",
    "until base": "a word of the phrase grammar",
    "place {}": "told with the receipt it begins",
    "shelf {} at {}": "told with the receipt it begins",
    "wire stock": "told with the receipt it begins",
    "It was logged as  on {day}": "a sign always goes with it",
    "wire ends": "key of a caution",
    "bending force": "key of a caution",
    "missing fact": "names a measure",
    "wind 10m (m/s)": "name of a column",
    "wind 10m (mph)": "name of a column",
    "obs date": "name of a column",
    "observation date": "name of a column",
    "t min": "name of a column",
    "t max": "name of a column",
    "wind 10m": "name of a column",
    "by hand": "name of a kind of weather row",
    "in use": "ending of a file's name",
    "withdraw {}": "a line as it was sent",
    " for {}": "told with the job before it",
    "%s %s failed": "for the terminal",
    "the work of %s failed": "for the terminal",
    "private, no-cache": "a header",
    "private, max-age=31536000, immutable": "a header",
    "text/csv; charset=utf-8": "a header",
    'attachment; filename="records-{}.csv"': "a header",
    "data: {}\n\n": "a line of a stream",
    "{} base __": "a bench phrase",
    "the zip holds  twice": "a file's name always goes with it",
    "The same figures as the pages and the commands. Lengths are mm, days ISO dates, unknown\nis "
    "null. Every answer names its shape and the shape's version.": "of the JSON description",
    "A bite": "told with what was seen",
    "past {} {}": "where a cut goes, in the words of the phrase",
    "{} set to {}": "told with the species it is of",
    "in {}": "told with the rest of its receipt",
    "kept {}": "told with the rest of its receipt",
    "{} of {} {}": "told with the rest of its receipt",
}
"""Single strings that no page shows, and why."""

TARGETS = tuple(language for language in LANGUAGES if language != SOURCE)

# --- the core ------------------------------------------------------------------------------------

SAMPLES = {
    "mm": "{12.1 mm}", "share": "74 %", "day": "18 June", "n": "3", "place": "1L and 4R",
}  # fmt: skip
"""What stands for a hole whose value the code tells."""
ANYTHING = (
    "1L", "3", "wire off", "the base is thick enough", "strong", "cut", "t_max_c", "'abc'",
    "18 June", "2026-06-09", "12.0 mm", "mm", "Field maple", "canker, spots",
    "keep, cut past later", "{12.1 mm}", "before", "a bite", "a scar", "",
)  # fmt: skip
"""What may stand for a hole whose value the code does not tell, beside a word of each list."""


def openings(language: str) -> tuple[str, ...]:
    """Return what an open hole is tried with."""
    lists = (next(iter(words)) for words in catalogue(language).words.values())
    return tuple(dict.fromkeys((*ANYTHING, *lists)))


def filled(sentence: str, language: str) -> Iterator[str]:
    """Yield a sentence with its holes filled, in ways enough to find one that fits."""
    pieces = re.split(r"\{([a-z]*)\}", re.sub(r"(?:\{\}){2,}", "{}", sentence))
    literals, kinds = pieces[::2], pieces[1::2]
    every = openings(language)
    options = [(SAMPLES[kind],) if kind in SAMPLES else every for kind in kinds]
    free = [len(option) > 1 for option in options]
    if sum(free) <= 2:
        choices: Iterator[tuple[str, ...]] = itertools.product(*options)
    else:
        short = [
            option[:9] if is_free else option for option, is_free in zip(options, free, strict=True)
        ]
        choices = itertools.islice(itertools.product(*short), 3000)
    for choice in choices:
        yield "".join(itertools.chain(*itertools.zip_longest(literals, choice, fillvalue="")))


def whole(sentence: str) -> str:
    """Return a continuation such as ``; it should be off`` as the sentence it would be alone."""
    return re.sub(r"^[;.,]\s+|^\s+|\s+$|\s*[;,]\s*$", "", sentence)


@cache
def skeletons(language: str) -> frozenset[str]:
    """Return the sentences of the catalogue with their holes unnamed."""
    return frozenset(
        _bones(english) for section in core_table(language).values() for english in section
    )


def _bones(text: str) -> str:
    return re.sub(r"\{[a-z]*\d*\}", "{}", text)


def is_told(sentence: str, language: str) -> bool:
    """Tell whether the catalogue has words for a sentence, whatever stands in its holes."""
    if sentence.count("{}") > 2 and _bones(whole(sentence)) in skeletons(language):
        return True
    heads = ("",)
    if sentence[:1] == " ":
        heads = ("", "cut ", "base 12.0 mm ")
    return any(
        tell(head + text, language) is not None
        for head in heads
        for text in filled(whole(sentence), language)
    )


def core_sentences() -> list[tuple[str, str]]:
    """Return each sentence of the core with the module that makes it."""
    return [
        (module.name, text)
        for module in modules()
        if module.name.startswith(CORE) and not module.name.startswith(tuple(OUTSIDE))
        for text in sentences(module.tree)
        if " " in text.strip() and text not in NOT_SHOWN
    ]


@pytest.mark.parametrize("language", TARGETS)
def test_every_sentence_of_the_core_is_told(language: str) -> None:
    missing = [
        f"{module}: {text}" for module, text in core_sentences() if not is_told(text, language)
    ]
    assert missing == []


def test_the_reader_of_code_finds_sentences() -> None:
    found = {text for _, text in core_sentences()}
    assert "Its base of {mm} has reached {share} of its target" in found
    assert "Do not pinch weak, inner or low shoots" in found
    assert len(found) > 900


def test_what_is_left_out_is_there() -> None:
    names = [module.name for module in modules()]
    assert all(any(name.startswith(one) for name in names) for one in OUTSIDE)
    every = {text for module in modules() for text in sentences(module.tree)}
    assert set(NOT_SHOWN) <= every


WORD_LISTS: dict[str, type[Enum]] = {
    "act": Act, "work": terms.Work, "sign": terms.Sign, "stage": Stage, "phase": terms.Phase,
    "zone": terms.Zone, "vigour": terms.Vigour, "kind": terms.Kind, "job": terms.Job,
    "graftkind": terms.GraftKind, "bend": terms.Bend, "fit": terms.Fit, "bark": terms.Bark,
    "sureness": Sureness, "harm": Harm, "grade": Grade, "amount": terms.Amount,
    "quantity": terms.Quantity, "say": Say, "alarmkind": AlarmKind, "heavy": heavy_pairs.Heavy,
    "metal": terms.Metal, "method": Method,
}  # fmt: skip
"""Closed lists of the core, by the name of their list in the catalogue."""


@pytest.mark.parametrize("language", TARGETS)
@pytest.mark.parametrize("name", WORD_LISTS)
def test_every_word_of_a_closed_list_is_told(language: str, name: str) -> None:
    words = catalogue(language).words[name]
    for member in WORD_LISTS[name]:
        english = Speaker().word(member)
        assert english in words, english
        assert Speaker(language=language).word(member) == words[english]


@pytest.mark.parametrize("language", TARGETS)
def test_every_promise_is_told(language: str) -> None:
    assert set(terms.PROMISES) == set(catalogue(language).words["promise"])


@pytest.mark.parametrize("language", TARGETS)
def test_every_field_is_told(language: str) -> None:
    labels = catalogue(language).words["field"]
    for fields in journal_fields.FIELDS_OF.values():
        for row in fields.values():
            assert tell(row.help, language) is not None, row.help
            assert re.split(r"[,;:]", row.help)[0] in labels, row.help
            for choice in row.choices:
                if " " in choice:
                    assert tell(choice, language) is not None, choice


# --- the catalogue itself ------------------------------------------------------------------------


def holes(text: str) -> list[str]:
    """Return the holes of a text, named and of lengths, in order of the alphabet."""
    return sorted(re.findall(r"\{[^{}]+\}", text))


@pytest.mark.parametrize("language", TARGETS)
def test_both_sides_have_the_same_holes(language: str) -> None:
    bad = [
        english
        for section in core_table(language).values()
        for english, told in section.items()
        if holes(english) != holes(told) and '"text"' not in english
    ]
    assert bad == []


@pytest.mark.parametrize("language", TARGETS)
def test_every_hole_has_a_kind(language: str) -> None:
    known = {*KINDS, *LISTS, *catalogue(language).words}
    used = {
        kind
        for section in core_table(language).values()
        for english in section
        for kind, _ in HOLE.findall(english)
    }
    assert used <= known


@pytest.mark.parametrize("language", TARGETS)
def test_each_entry_tells_its_own_sentence(language: str) -> None:
    """An entry that another one shadows would be dead text."""
    first: dict[str, str] = {}
    for section, entries in core_table(language).items():
        for english, told in entries.items():
            if section.startswith("word_"):
                continue
            kept = first.setdefault(english, told)
            assert kept == told, english


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_text_shouts(language: str) -> None:
    texts = [text for _, text in _page_forms(language)]
    if language != SOURCE:
        texts += [told for section in core_table(language).values() for told in section.values()]
    assert [text for text in texts if "!" in text] == []
    assert [text for text in texts if not text.strip()] == []


# --- the pages -----------------------------------------------------------------------------------


def _page_forms(language: str) -> list[tuple[str, str]]:
    found = []
    for key, text in page_texts(language).items():
        if isinstance(text, str):
            found.append((key, text))
        else:
            found += [(f"{key}.{form}", one) for form, one in text.items()]
    return found


@pytest.mark.parametrize("language", TARGETS)
def test_pages_have_the_same_texts_in_each_language(language: str) -> None:
    english, told = dict(_page_forms(SOURCE)), dict(_page_forms(language))
    assert sorted(set(english) - set(told)) == []
    assert sorted(set(told) - set(english)) == []
    differing = [
        key
        for key in english
        if holes(english[key]) != holes(told[key]) and not key.endswith((".one", ".other"))
    ]
    assert differing == []


_CALL = re.compile(r"""\bt\(\s*f?["']([\w.-]+)(["'{])\s*(~)?""")
_QUOTED = re.compile(r"""["']([a-z][\w-]*(?:\.[\w-]+)*\.?)(?=["'{])""")


def _used() -> tuple[set[str], set[str], set[str]]:
    """Return keys that pages name, beginnings of keys they put together, and quoted beginnings.

    The charts name their texts without the name of their section.
    """
    known = set(page_texts(SOURCE))
    keys: set[str] = set()
    heads: set[str] = set()
    quoted: set[str] = set()
    for path in sorted((PACKAGE / "web").rglob("*")):
        if path.suffix in (".html", ".py"):
            text = path.read_text("utf-8")
            for key, end, joined in _CALL.findall(text):
                (heads if joined or end == "{" else keys).add(key)
            quoted |= set(_QUOTED.findall(text))
    for path in sorted((PACKAGE / "report").glob("*.py")):
        quoted |= {f"charts.{word}" for word in _QUOTED.findall(path.read_text("utf-8"))}
        quoted |= {f"charts.{w}" for w in re.findall(r'"([a-z]+_)\{', path.read_text("utf-8"))}
    return keys | (quoted & known), heads, {one for one in quoted if one[-1] in "._"}


def test_every_text_a_page_asks_for_is_there() -> None:
    keys, heads, _ = _used()
    known = set(page_texts(SOURCE))
    assert sorted(keys - known) == []
    assert [head for head in sorted(heads) if not any(key.startswith(head) for key in known)] == []


def test_every_text_is_asked_for() -> None:
    keys, heads, quoted = _used()
    begun = tuple(heads | quoted)
    idle = [key for key in page_texts(SOURCE) if key not in keys and not key.startswith(begun)]
    assert idle == []


def test_catalogues_are_plain_tables() -> None:
    for path in sorted((PACKAGE / "web" / "words").glob("*.toml")):
        assert tomllib.loads(path.read_text("utf-8"))

"""Every source that the code or a species table names is listed, and every listed one is used."""

from __future__ import annotations

import ast
import re
import tomllib
from typing import TYPE_CHECKING

import pytest
from code_tree import PACKAGE, ROOT, modules

from boughwright.errors import UnknownNameError
from boughwright.sources import all_sources, source

if TYPE_CHECKING:
    from collections.abc import Iterator

KINDS = {"published", "memory", "trade", "guess", "standard"}


def _records_with_source() -> dict[str, int]:
    """Return the classes that have a field ``source``, with its place among the arguments."""
    found = {}
    for module in modules():
        for node in ast.walk(module.tree):
            if isinstance(node, ast.ClassDef):
                fields = [
                    line.target.id
                    for line in node.body
                    if isinstance(line, ast.AnnAssign) and isinstance(line.target, ast.Name)
                ]
                if "source" in fields:
                    found[node.name] = fields.index("source")
    return found


def _literals(node: ast.expr) -> Iterator[str]:
    """Yield the words an argument may be: a word, or either side of a condition."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from _literals(node.body)
        yield from _literals(node.orelse)


def _keys_in_code() -> Iterator[tuple[str, str]]:
    records = _records_with_source()
    for module in modules():
        if module.name == "sources.py":
            continue
        for node in ast.walk(module.tree):
            if isinstance(node, ast.Call):
                given = [word.value for word in node.keywords if word.arg == "source"]
                place = records.get(getattr(node.func, "id", ""))
                if place is not None and len(node.args) > place:
                    given.append(node.args[place])
                for argument in given:
                    yield from ((module.name, key) for key in _literals(argument))


def _keys_in_tables() -> Iterator[tuple[str, str]]:
    for path in sorted((PACKAGE / "species").rglob("*.toml")):
        for row in tomllib.loads(path.read_text("utf-8")).values():
            if isinstance(row, dict) and "source" in row:
                yield path.name, row["source"]


def test_records_that_carry_a_source_are_found() -> None:
    assert {"Alarm", "Reason", "WireMetal", "Value"} & set(_records_with_source()) >= {
        "Alarm",
        "Reason",
        "WireMetal",
    }


def test_every_key_named_in_code_is_listed() -> None:
    named = list(_keys_in_code())
    assert len(named) > 10
    assert [pair for pair in named if pair[1] not in all_sources()] == []


def test_every_key_named_in_a_species_table_is_listed() -> None:
    named = list(_keys_in_tables())
    assert len(named) > 500
    assert [pair for pair in named if pair[1] not in all_sources()] == []


def test_every_entry_has_text_and_a_kind() -> None:
    for entry in all_sources().values():
        assert entry.kind in KINDS, entry.key
        assert len(entry.text) > 20, entry.key
        assert entry.text.endswith("."), entry.key


def test_every_entry_is_named_by_a_value_a_docstring_or_a_check() -> None:
    texts = [
        path.read_text("utf-8")
        for folder in (PACKAGE, ROOT / "tests" / "published")
        for path in folder.rglob("*.*")
        if path.suffix in {".py", ".toml"} and path.name != "sources.toml"
    ]
    unused = {
        key
        for key in all_sources()
        if not any(re.search(rf"[\"'`]{re.escape(key)}[\"'`]", text) for text in texts)
        and not any(re.search(rf"\b{re.escape(key)}\b", text) for text in texts)
    }
    assert unused == set()


def test_an_unlisted_key_is_refused_with_what_to_do() -> None:
    with pytest.raises(UnknownNameError, match=r"'no-such-key' is not listed.*sources\.toml"):
        source("no-such-key")

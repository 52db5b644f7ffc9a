"""How the code is written: errors that say what to do, documented functions, sizes."""

from __future__ import annotations

import ast

import pytest
from code_tree import Module, body_lines, modules, public_functions

from boughwright import errors

MOST_LINES = 500
MOST_BODY_LINES = 40

ALL = modules()
OURS = {
    name
    for name, item in vars(errors).items()
    if isinstance(item, type) and issubclass(item, errors.BoughwrightError)
}
CORE = (
    "benchwork",
    "feed",
    "growth",
    "health",
    "journal",
    "season",
    "species",
    "tree",
    "verdicts",
    "wire",
)

LONG_MODULES = {
    "journal/phrase_acts.py": "one table of bench words with a small reader for each",
    "verdicts/cards_cut.py": "the cards that cut, which hand over to each other",
    "verdicts/conditions.py": "one condition for each work, in the order of the works",
    "verdicts/tree_verdicts.py": "the verdicts on a whole tree, one function each",
    "web/api/models_bench.py": "one class an answer, its keys written out",
}
"""Modules over the size, each with its reason."""

LONG_FUNCTIONS = {
    "usecases/day.py:_finish": "one record, its fields written out",
    "verdicts/assemble.py:tree_facts": "one record, its fields written out",
    "verdicts/reading.py:_columns": "one record, its fields written out",
    "verdicts/cards_cut.py:unwanted": "one verdict for each case, written out",
    "verdicts/cards_cut.py:_swap": "one verdict for each case, written out",
    "verdicts/cards_cut.py:_cut_back": "one verdict for each case, written out",
    "verdicts/cards_grafts_scars.py:rim": "one verdict for each case, written out",
    "verdicts/cards_grow.py:_let_run": "one verdict for each case, written out",
    "verdicts/cards_wire.py:wire_on": "one verdict for each case, written out",
    "verdicts/tree_verdicts.py:rest": "one verdict for each case, written out",
    "verdicts/tree_verdicts.py:hygiene": "one verdict for each case, written out",
    "verdicts/tree_verdicts.py:leaf": "one verdict for each case, written out",
    "verdicts/tree_verdicts.py:repot": "one verdict for each case, written out",
}
"""Functions over the size, each with its reason."""

NOT_FOR_GROWERS = {
    "journal/check.py": "raised on records that a program made, not a person",
    "journal/codec.py": "raised on records that a program made, not a person",
    "journal/names.py": "raised where the caller adds what to do",
    "journal/receipt.py": "caught by the caller, which then shows the plain words",
}
"""Modules where an error of ours may lack the next step, and why."""


def _raised(module: Module) -> list[ast.Call]:
    return [
        node.exc
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call)
    ]


def _name(call: ast.Call) -> str:
    return getattr(call.func, "id", getattr(call.func, "attr", ""))


@pytest.mark.parametrize("module", ALL, ids=lambda m: m.name)
def test_no_error_has_its_words_filled_in_apart(module: Module) -> None:
    for call in _raised(module):
        texts = [a.value for a in call.args if isinstance(a, ast.Constant)]
        assert not any("%s" in text for text in texts if isinstance(text, str)), call.lineno
        assert _name(call) not in OURS or len(call.args) == 1, call.lineno


@pytest.mark.parametrize(
    "module", [m for m in ALL if m.name not in NOT_FOR_GROWERS], ids=lambda m: m.name
)
def test_every_error_of_ours_says_what_to_do(module: Module) -> None:
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Call) and _name(node) in OURS:
            given = {word.arg for word in node.keywords}
            assert "todo" in given, f"{module.name}:{node.lineno}: no next step"


def test_errors_of_ours_are_most_of_those_raised() -> None:
    raised = [call for module in ALL for call in _raised(module)]
    assert sum(_name(call) in OURS for call in raised) > 100


@pytest.mark.parametrize("module", ALL, ids=lambda m: m.name)
def test_modules_and_public_functions_are_documented_and_annotated(module: Module) -> None:
    assert ast.get_docstring(module.tree), module.name
    for name, function in public_functions(module):
        where = f"{module.name}:{name}"
        assert ast.get_docstring(function), where
        assert function.returns is not None, where
        arguments = [*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs]
        bare = [a.arg for a in arguments if a.annotation is None and a.arg not in {"self", "cls"}]
        assert bare == [], where


def _own_raises(function: ast.FunctionDef) -> set[str]:
    return {
        _name(node.exc)
        for node in ast.walk(function)
        if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call)
    } & OURS


@pytest.mark.parametrize(
    "module", [m for m in ALL if m.name.startswith(CORE)], ids=lambda m: m.name
)
def test_core_functions_that_raise_say_so(module: Module) -> None:
    for name, function in public_functions(module):
        raised = _own_raises(function)
        if raised:
            told = ast.get_docstring(function) or ""
            assert "Raises" in told or "raise" in told, f"{module.name}:{name} raises {raised}"


def test_modules_keep_to_their_size() -> None:
    over = {m.name for m in ALL if len(m.text.splitlines()) > MOST_LINES}
    assert over - set(LONG_MODULES) == set()


def test_functions_keep_to_their_size() -> None:
    over = {
        f"{module.name}:{node.name}"
        for module in ALL
        for node in ast.walk(module.tree)
        if isinstance(node, ast.FunctionDef) and body_lines(node) > MOST_BODY_LINES
    }
    assert over - set(LONG_FUNCTIONS) == set()


def test_every_exception_to_a_size_still_stands() -> None:
    names = {module.name for module in ALL}
    functions = {
        f"{module.name}:{node.name}"
        for module in ALL
        for node in ast.walk(module.tree)
        if isinstance(node, ast.FunctionDef)
    }
    assert set(LONG_MODULES) <= names
    assert set(NOT_FOR_GROWERS) <= names
    assert set(LONG_FUNCTIONS) <= functions

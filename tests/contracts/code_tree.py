"""The package's modules as syntax trees, for checks that read the code itself."""

from __future__ import annotations

import ast
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "src" / "boughwright"


@dataclass(frozen=True)
class Module:
    """One module: its path below the package, its text and its tree."""

    name: str
    text: str
    tree: ast.Module


def modules() -> list[Module]:
    """Return every module of the package."""
    return [
        Module(str(path.relative_to(PACKAGE)), text := path.read_text("utf-8"), ast.parse(text))
        for path in sorted(PACKAGE.rglob("*.py"))
    ]


def public_functions(module: Module) -> Iterator[tuple[str, ast.FunctionDef]]:
    """Yield functions of a module and methods of its public classes, with their names."""
    for node in module.tree.body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            yield node.name, node
        elif isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            for inner in node.body:
                if isinstance(inner, ast.FunctionDef) and not _silent(inner):
                    yield f"{node.name}.{inner.name}", inner


def _silent(function: ast.FunctionDef) -> bool:
    """Tell whether a method is private, or a protocol's bare ``...``, told by its class."""
    only = function.body[0] if len(function.body) == 1 else None
    bare = isinstance(only, ast.Expr) and isinstance(only.value, ast.Constant)
    return function.name.startswith("_") or (bare and only.value.value is ...)


def body_lines(function: ast.FunctionDef) -> int:
    """Return how many lines a function's body has, its docstring left out."""
    body = function.body[1:] if ast.get_docstring(function) else function.body
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0

"""Sentences in the code that can reach a screen, read off the syntax trees.

Every string of a module counts, unless its place says that no grower reads it: a docstring, a key
looked up, a comparison, a name of a measure, a source, a pattern. A sentence that is put together
counts once for each way it can come out, with a hole where a value goes: ``{mm}`` for a length,
``{share}`` for a percentage, ``{day}`` for a day, ``{n}`` for a number, ``{place}`` for names,
``{}`` for anything else.
"""

from __future__ import annotations

import ast
import itertools
import re
from dataclasses import dataclass, field

MOST = 48
"""Ways one sentence may come out before its parts are taken one by one."""

HOLES = {
    "mm": "{mm}", "percent": "{share}", "day": "{day}", "show_date": "{day}",
    "listed": "{place}", "_day": "{day}", "_mm": "{mm}",
}  # fmt: skip
"""Functions of the core that put a value into a sentence, and what they put there."""

SILENT_ARGUMENTS = {
    "measure": "names a reading in the JSON; the sentence beside it says it in words",
    "source": "a key of the table of sources",
    "unit": "a unit's sign",
    "card": "the rule's own name, never shown",
    "encoding": "of a file",
    "errors": "of a decoder",
    "slug": "for programs",
    "sep": "of a table",
    "newline": "of a file",
    "mode": "of a file",
    "caution": "the key of a caution; its words stand in the table of cautions",
}
"""Named arguments that no grower reads, and why."""

SILENT_FUNCTIONS = {
    "_write_worked": "writes a bench phrase, which is English everywhere",
    "_write_saw": "writes a bench phrase",
    "_write_measured": "writes a bench phrase",
    "_write_promised": "writes a bench phrase",
    "_write_noted": "writes a bench phrase",
    "_read_scar": "writes a branch name",
    "_say_step": "a place spoken out, told piece by piece",
    "spoken": "a place spoken out, told piece by piece",
}
SILENT_NAMES = {
    "_COUNTS": "number words a grower types",
    "_TENS": "number words a grower types",
    "_ORDER": "number words a grower types",
}

SILENT_PLACES = {
    "Reason": (1, 4, 5), "act": (2,), "look_first": (2,), "_verdict": (1,), "Verdict": (1,),
    "Contradiction": (0,), "_Limit": (), "shaped": (0,), "at": (), "Alarm": (6,),
}  # fmt: skip
"""Places of arguments that no grower reads: measures, units, sources, names of rules."""

SILENT_CALLS = {
    "compile": "a pattern", "match": "a pattern", "search": "a pattern", "fullmatch": "a pattern",
    "sub": "a pattern", "split": "a separator", "rsplit": "a separator", "partition": "a separator",
    "rpartition": "a separator", "startswith": "a test", "endswith": "a test", "replace": "a form",
    "strip": "letters", "lstrip": "letters", "rstrip": "letters", "removeprefix": "a form",
    "removesuffix": "a form", "getattr": "a name in code", "setattr": "a name in code",
    "hasattr": "a name in code", "TypeVar": "a name in code", "NewType": "a name in code",
    "encode": "a coding", "decode": "a coding", "open": "a file", "cast": "a type",
    "get": "a key", "pop": "a key", "setdefault": "a key", "execute": "a question to the book",
    "text": "a question to the book", "joinpath": "a file", "read_text": "a file",
    "frozenset": "a set of keys", "assert_never": "no sentence", "trait_word": "a key",
    "trait_number": "a key", "float": "a number", "index": "a key", "count": "a key",
    "TypeError": "a fault of ours, caught before a grower", "ValueError": "a fault of ours",
    "RuntimeError": "a fault of ours", "AssertionError": "a fault of ours",
    "KeyError": "a fault of ours", "LookupError": "a fault of ours", "dtype": "a type",
    "array": "a type", "astype": "a type", "import_module": "a module",
}  # fmt: skip
"""Calls whose arguments no grower reads, and what they are."""


@dataclass
class Function:
    """Where names of one function get their strings."""

    given: dict[str, list[ast.expr]] = field(default_factory=dict)
    grown: set[str] = field(default_factory=set)
    alone: set[str] = field(default_factory=set)
    """Names that are also read outside a longer string."""
    within: set[int] = field(default_factory=set)


def sentences(tree: ast.Module) -> dict[str, int]:
    """Return the sentences of a module, each with the line it stands in."""
    reader = _Reader()
    reader.read_body(tree, Function())
    return {
        text: line
        for text, (line, node) in reader.found.items()
        if _is_sentence(text) and node not in reader.within
    }


def _is_sentence(text: str) -> bool:
    """Tell whether a string reads as words: two letters together, no markup, no query."""
    bare = re.sub(r"\{\w*\}", "", text)
    return bool(re.search(r"[A-Za-z]{2}", bare)) and not _MACHINE.search(text)


_MACHINE = re.compile(
    r"</?[a-z]|\b(?:SELECT|BEGIN|INSERT|UPDATE|DELETE|PRAGMA|WHERE|AND|ORDER BY|CREATE) "
    r"|^\w+ = [A-Z]+$|%\.\d|^M\{"
)


def _is_text(node: ast.expr) -> bool:
    if isinstance(node, ast.Constant):
        return isinstance(node.value, str)
    if isinstance(node, ast.IfExp):
        return _is_text(node.body) or _is_text(node.orelse)
    if isinstance(node, ast.BinOp):
        return isinstance(node.op, ast.Add) and (_is_text(node.left) or _is_text(node.right))
    return isinstance(node, ast.JoinedStr)


def call_name(node: ast.Call) -> str:
    """Return the bare name of what is called."""
    target = node.func
    return target.attr if isinstance(target, ast.Attribute) else getattr(target, "id", "")


class _Reader:
    def __init__(self) -> None:
        self.found: dict[str, tuple[int, int]] = {}
        self.within: set[int] = set()
        """Strings given to a name that is then read as part of a longer one."""

    def read_body(self, node: ast.AST, names: Function) -> None:
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            names = _names_of(node)
            for part in [*node.args.defaults, *node.args.kw_defaults, *_told(node)]:
                if part is not None:
                    self.read(part, names)
            return
        if isinstance(node, (ast.Module, ast.ClassDef)):
            for part in _told(node):
                self.read(part, names)
            return
        self.read(node, names)

    def read(self, node: ast.AST, names: Function) -> None:  # noqa: PLR0912
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)):
            if node.name not in SILENT_FUNCTIONS:
                self.read_body(node, names)
        elif (
            isinstance(node, ast.Assign)
            and any(isinstance(one, ast.Name) and one.id in SILENT_NAMES for one in node.targets)
        ) or (isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)):
            return
        elif isinstance(node, ast.AnnAssign):
            if node.value is not None and "TypeAlias" not in ast.unparse(node.annotation):
                self.read(node.value, names)
        elif isinstance(node, (ast.Import, ast.ImportFrom, ast.Global, ast.Pass)):
            return
        elif isinstance(node, ast.expr) and _is_text(node):
            self.take(node, names)
        elif isinstance(node, ast.Compare):
            return
        elif isinstance(node, ast.Subscript):
            self.read(node.value, names)
        elif isinstance(node, ast.Dict):
            for key in node.keys:
                if isinstance(key, ast.Constant) and str(key.value).endswith("."):
                    self.take(key, names)  # sentences with the condition under which they are said
            for value in node.values:
                self.read(value, names)
        elif isinstance(node, ast.Call):
            self.read_call(node, names)
        else:
            for child in ast.iter_child_nodes(node):
                self.read(child, names)

    def read_call(self, node: ast.Call, names: Function) -> None:
        name = call_name(node)
        self.read(node.func, names)
        if name in SILENT_CALLS:
            return
        if name == "plural":
            self.take(node, names)
            return
        for place, part in enumerate(node.args):
            if place not in SILENT_PLACES.get(name, ()):
                self.read(part, names)
        for key in node.keywords:
            if key.arg not in SILENT_ARGUMENTS:
                self.read(key.value, names)

    def take(self, node: ast.expr, names: Function) -> None:
        for text in ways(node, names, 0):
            self.found.setdefault(text, (node.lineno, id(node)))
        self.within |= names.within
        for part in ast.walk(node):
            if isinstance(part, ast.FormattedValue) and not _is_text(part.value):
                self.read(part.value, names)
            elif isinstance(part, ast.IfExp):
                self.read(part.test, names)


def _told(
    node: ast.FunctionDef | ast.AsyncFunctionDef | ast.Module | ast.ClassDef,
) -> list[ast.stmt]:
    """Return the statements of a body without its docstrings."""
    return [
        part
        for part in node.body
        if not (isinstance(part, ast.Expr) and isinstance(part.value, ast.Constant))
    ]


def _names_of(node: ast.FunctionDef | ast.AsyncFunctionDef) -> Function:
    names = Function()
    _note_alone(node, names, inside=False)
    for part in ast.walk(node):
        if isinstance(part, ast.AugAssign) and isinstance(part.target, ast.Name):
            names.grown.add(part.target.id)
        if not isinstance(part, (ast.Assign, ast.AnnAssign)) or part.value is None:
            continue
        targets = part.targets if isinstance(part, ast.Assign) else [part.target]
        for target in targets:
            if isinstance(target, ast.Name):
                names.given.setdefault(target.id, []).append(part.value)
            elif isinstance(target, ast.Tuple):
                values: list[ast.expr | None] = [None] * len(target.elts)
                if isinstance(part.value, ast.Tuple):
                    values = list(part.value.elts)
                for one, value in zip(target.elts, values, strict=False):
                    if isinstance(one, ast.Name):
                        names.given.setdefault(one.id, []).append(value or ast.Constant(0))
    return names


def _note_alone(node: ast.AST, names: Function, *, inside: bool) -> None:
    if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load) and not inside:
        names.alone.add(node.id)
    joined = isinstance(node, ast.JoinedStr) or (isinstance(node, ast.BinOp) and _is_text(node))
    for child in ast.iter_child_nodes(node):
        kept = inside and isinstance(node, ast.FormattedValue)
        _note_alone(child, names, inside=joined or kept)


def ways(node: ast.expr, names: Function, depth: int) -> list[str]:  # noqa: PLR0911
    """Return every way a string can come out, with holes for its values."""
    if isinstance(node, ast.Constant):
        return [node.value] if isinstance(node.value, str) else ["{n}"]
    if isinstance(node, ast.IfExp):
        return _once([*ways(node.body, names, depth), *ways(node.orelse, names, depth)])
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        return _product([ways(node.left, names, depth), ways(node.right, names, depth)])
    if isinstance(node, ast.JoinedStr):
        return _product([ways(part, names, depth) for part in node.values])
    if isinstance(node, ast.FormattedValue):
        if node.format_spec is not None and not _is_text(node.value):
            return ["{n}%" if ast.unparse(node.format_spec).rstrip("'\"").endswith("%") else "{n}"]
        return ways(node.value, names, depth)
    if isinstance(node, ast.Call):
        return _call_ways(node, names, depth)
    if isinstance(node, ast.Name) and depth < 3:
        given = names.given.get(node.id, [])
        if given and node.id not in names.grown and all(_is_text(one) for one in given):
            if node.id not in names.alone:
                names.within |= {id(one) for one in given}
            return _once([way for one in given for way in ways(one, names, depth + 1)])
    return ["{}"]


def _call_ways(node: ast.Call, names: Function, depth: int) -> list[str]:
    name = call_name(node)
    if name == "plural":
        one = ways(node.args[1], names, depth)
        many = ways(node.args[2], names, depth) if len(node.args) > 2 else [w + "s" for w in one]
        return _once(["{n} " + word for word in [*one, *many]])
    return [HOLES.get(name, "{}")]


def _product(parts: list[list[str]]) -> list[str]:
    size = 1
    for index, part in enumerate(parts):
        size *= len(part)
        if size > MOST:
            parts[index] = ["{}"]
            size //= len(part)
    joined = ("".join(way) for way in itertools.product(*parts))
    return _once([text.replace("{{n} mm}", "{mm}") for text in joined])


def _once(texts: list[str]) -> list[str]:
    return list(dict.fromkeys(texts))

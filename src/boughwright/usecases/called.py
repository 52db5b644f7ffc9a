"""Which tree a grower means by a name, a part of it, a tag or a key."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from boughwright.errors import AmbiguousNameError, UnknownNameError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from boughwright.journal.events import FieldValue


class HasNames(Protocol):
    """A tree as far as it can be called by a word."""

    @property
    def id(self) -> str: ...  # noqa: D102
    @property
    def name(self) -> str: ...  # noqa: D102
    @property
    def facts(self) -> Mapping[str, FieldValue]: ...  # noqa: D102


def named(name: str, trees: Sequence[HasNames]) -> int:
    """Return the place in the list of the tree that a name, tag or id means.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
    """
    wanted = folded(name)

    def called(tree: HasNames) -> list[str]:
        return [folded(w) for w in (tree.name, tree.id, tree.facts.get("tag"))]

    exact = [i for i, tree in enumerate(trees) if wanted in called(tree)]
    near = exact or [i for i, tree in enumerate(trees) if any(wanted in w for w in called(tree))]
    names = ", ".join(tree.name for tree in trees) or "none yet"
    if not near or not wanted:
        raise UnknownNameError(f"no tree is called {name!r}", allowed=names,
                               todo="Use a tree's name or tag")  # fmt: skip
    if len(near) > 1:
        fit_ = ", ".join(trees[i].name for i in near)
        raise AmbiguousNameError(f"{name!r} fits more than one tree", allowed=fit_,
                                 todo="Say more of its name")  # fmt: skip
    return near[0]


def folded(word: object) -> str:
    """Return a word without capitals, hyphens and doubled spaces; nothing for None."""
    text = "" if word is None else str(word)
    return " ".join(text.casefold().replace("-", " ").replace("_", " ").split())

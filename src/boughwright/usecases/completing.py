"""Words that may come next in a bench phrase while it is typed, by the grammar that reads it."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING, TypeAlias

from boughwright.errors import BoughwrightError
from boughwright.journal.fields import QUANTITY_RANGE
from boughwright.journal.names import head_to_foot
from boughwright.journal.phrase_parts import clauses, match_act, read_place
from boughwright.journal.phrase_words import ACTS, AMOUNTS, FITS, METALS, METHODS
from boughwright.journal.phrases import parse
from boughwright.journal.terms import Quantity, Sign, Work
from boughwright.usecases.called import named
from boughwright.usecases.writing import callable_names

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from boughwright.journal.phrase_words import Act
    from boughwright.tree.model import Tree
    from boughwright.usecases.day import GardenDay

MOST_COMPLETIONS = 8
MOST_TRIES = 48
"""Most words that are tried; the grammar reads the line anew with each."""
WORDS_TOGETHER = 3
"""Most words already typed that a longer word may go on from, as ``off`` goes on from ``wire``."""

ZONES = ("all", "apex", "mid", "low", "inner", "outer")
GAUGES = ("1 al", "1.5 al", "2 al", "2.5 al", "3 al", "4 al", "1 cu", "1.5 cu", "2 cu")
CUTS = ("to pair 1", "to pair 2", "to node 1", "to two")
DETAILS: Mapping[Act, tuple[str, ...]] = {
    Work.CUT: (*CUTS, *AMOUNTS),
    Work.PINCH: (*CUTS, *AMOUNTS),
    Work.WIRE_ON: (*GAUGES, *METALS, *FITS),
    Work.GUY_ON: (*GAUGES, *METALS, *FITS),
    Work.WIRE_OFF: (*METHODS[Work.WIRE_OFF], "bite 0", "bite 1", "bite 2", "bite 3"),
    Work.GRAFT_IN: METHODS[Work.GRAFT_IN],
    Work.GRAFT_ON: METHODS[Work.GRAFT_ON],
}
"""Details of an act, the likeliest first; of any other act, how much."""
AFTER = {
    "because": "because it ran",
    "except": "",
    "look 7 d": "",
    "look 14 d": "",
    "yesterday": "",
}
"""What may follow a whole entry, with what the grammar needs to read it."""
PLACE_FOLLOWS = frozenset({"except", "same", "from", "not"})
"""Words after which only a place can come."""
SOME_ACT = "ok"
"""An act that fits any place: with it a line that ends with a place is whole."""


def completions(garden: GardenDay, text: str, tree: str | None = None) -> list[str]:
    """Return words that may come next in a line.

    Parameters
    ----------
    garden : GardenDay
        The garden worked out.
    text : str
        The line so far. What stands after its last space is the word being typed.
    tree : str, optional
        Name, tag or id of the tree at hand.

    Returns
    -------
    list of str
        At most 8, those that the grammar puts first in front. Each stands in the place of the word
        being typed, and the line is understood with it.
    """
    line = _Typed(*_split(text), garden, tree)
    words = list(dict.fromkeys(line.candidates()))
    found = line.fitting([line.goes_on(*word) for word in words])
    if not (found and line.unread):  # else a word was begun, and this is how it ends
        found |= line.fitting([line.begins(*word) for word in words])
    return list(found)[:MOST_COMPLETIONS]


def _split(text: str) -> tuple[str, str]:
    """Return the line up to its last space, and the word being typed."""
    head, _, typed = text.rpartition(" ")
    if ";" in typed:
        before, _, typed = typed.rpartition(";")
        head = f"{head} {before};"
    return head.strip(), typed


_Option: TypeAlias = "tuple[str, str] | None"
"""What of a word is still to come, and the whole line to try, empty when none need be."""


class _Typed:
    """A line while it is typed, and what is known of it."""

    def __init__(self, kept: str, typed: str, garden: GardenDay, tree: str | None) -> None:
        self.kept, self.typed, self.today = kept, typed.casefold(), garden.today
        trees = [day.tree for day in garden.trees]
        self.trees = [one.name for one in trees]
        line = parse(f"{kept} {SOME_ACT}", today=self.today, trees=callable_names(trees))
        self.unread = len(line.unread)
        self.names = [] if line.tree is None else [line.tree]
        self.tree: Tree | None = None
        with suppress(BoughwrightError):
            called = line.tree or tree
            self.tree = trees[named(called, trees)] if called else None
        parts = clauses(kept)
        self.starts = not parts
        ended = not parts or kept.endswith(";")
        self.words = [] if ended else [token.word for token in parts[-1]]
        if line.tree and len(parts) == 1 and not ended:
            self.words = self.words[_said_of(line.tree, self.words) :]

    def candidates(self) -> Iterator[tuple[str, str]]:
        """Yield words with what makes the line whole once they are in it, the likeliest first."""
        words = self.words
        acts = [(at, act) for at in range(len(words)) if (act := match_act(words, at))]
        if acts and acts[-1][1][1] == len(words) and isinstance(acts[-1][1][0], Quantity):
            return  # a number comes next
        if words and words[-1] in PLACE_FOLLOWS:
            yield from self._places("")
            return
        if self.starts and self.tree is None:
            yield from ((name, "") for name in self.trees)
        if not words:
            yield from ((name, "") for name in self.names)
        if acts:
            yield from ((word, word) for word in DETAILS.get(acts[-1][1][0], tuple(AMOUNTS)))
            yield from self._after()
        elif not any(read_place(words, at) for at in range(len(words))):
            yield from self._places(SOME_ACT)
        yield from _acts()
        yield "same", "same"
        if self.starts:
            yield "undo", "undo"
            yield from ((name, "") for name in self.trees)
        elif not acts:
            yield from self._places(SOME_ACT)

    def _after(self) -> Iterator[tuple[str, str]]:
        first = next((name for name, _ in self._places("")), "all")
        for word, probe in AFTER.items():
            yield word, f"except {first}" if word == "except" else probe or word

    def _places(self, act: str) -> Iterator[tuple[str, str]]:
        """Yield the living branches of the tree, those on the trunk first, then its zones."""
        names: list[str] = []
        if self.tree is not None:
            rows = self.tree.branches
            names = [n for n, gone in zip(rows.names, rows.gone.tolist(), strict=True) if not gone]
            names = [name for name in names if name.casefold().startswith(self.typed)]
            names.sort(key=lambda name: ("-" in name, head_to_foot(name)))
        for name in (*names, *ZONES):
            yield name, f"{name} {act}".strip()

    def begins(self, word: str, probe: str) -> _Option:
        """Return a word that the word being typed begins."""
        low = word.casefold()
        if not low.startswith(self.typed) or low == self.typed or word in self.names:
            return None
        return word, f"{self.kept} {probe}".strip() if probe else ""

    def goes_on(self, word: str, probe: str) -> _Option:
        """Return the rest of a word that the words before the one being typed begin."""
        said = self.kept.split()
        for many in range(min(WORDS_TOGETHER, len(said)), 0, -1):
            head = " ".join(said[-many:]).casefold() + " "
            if word.casefold().startswith(head + self.typed) and len(word) > len(head + self.typed):
                return word[len(head) :], " ".join([*said[:-many], probe]) if probe else ""
        return None

    def fitting(self, options: Sequence[_Option]) -> dict[str, None]:
        """Return the words with which the line is understood as well as without them, in order."""
        found: dict[str, None] = {}
        for option in [one for one in options if one is not None][:MOST_TRIES]:
            if not option[1] or self._fits(option[1]):
                found[option[0]] = None
            if len(found) == MOST_COMPLETIONS:
                break
        return found

    def _fits(self, whole: str) -> bool:
        try:
            line = parse(whole, today=self.today, trees=self.names)
        except BoughwrightError:
            return False
        return len(line.unread) <= self.unread and not line.doubts


def _said_of(name: str, words: list[str]) -> int:
    """Return how many words at the front of a line belong to the name of its tree."""
    whole = name.casefold().split()
    runs = [whole[i:j] for i in range(len(whole)) for j in range(i + 1, len(whole) + 1)]
    return max((len(run) for run in runs if words[: len(run)] == run), default=0)


def _acts() -> Iterator[tuple[str, str]]:
    """Yield works, measures and signs by their own words, then the words said for them."""
    for work in Work:
        yield work.value, work.value
    for what in Quantity:
        low, high = QUANTITY_RANGE[what]
        yield what.value, f"{what.value} {(low + high) / 2:g}"
    for sign in Sign:
        yield sign.value, sign.value
    yield from (("will keep", "will keep"), ("note", "note x"))
    for words in ACTS:
        said = " ".join(words)
        yield said, said

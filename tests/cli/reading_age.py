"""Flesch-Kincaid grade of a screen, with a small count of syllables.

A syllable is a group of the vowels a, e, i, o, u, y. A final silent e is taken off, and the e of
-es and -ed where it is not spoken; a word has at least one. It agrees with a dictionary on about
nine words in ten, which is enough for a mean over a screen.
"""

from __future__ import annotations

import re

from boughwright.cli.text import WIDTH

_WORD = re.compile(r"[A-Za-z][A-Za-z'’]*")


def syllables(word: str) -> int:
    """Return about how many syllables an English word has."""
    low = word.lower().rstrip("'’")
    count = len(re.findall(r"[aeiouy]+", low))
    silent_e = re.search(r"[^aeiouyl]e$|[aeiouy]le$|[^td]ed$", low)
    silent_es = re.search(r"[^sxzcg]es$", low) and not re.search(r"(?:sh|ch)es$", low)
    inner = re.search(r"[^aeiouy]e(?=(?:line|beam|less|ful|ly|ment|where|cast)$)", low)
    for quiet in (silent_e, silent_es, inner):
        if quiet and count > 1:
            count -= 1
    return max(1, count)


def _without_tables(text: str) -> str:
    """Drop what stands from a table's head to the next empty line."""
    kept = []
    for block in text.split("\n\n"):
        if not re.search(r"^ *---", block, re.M):
            kept.append(block)
    return "\n\n".join(kept)


def sentences(text: str) -> list[str]:
    """Return the sentences of a screen.

    One ends at a stop or a question mark, at an empty line, and at the end of a line that was not
    broken for width: one that had room for the next line's first word.
    """
    found: list[str] = []
    for block in _without_tables(text).split("\n\n"):
        joined = ""
        lines = block.split("\n")
        for line, following in zip(lines, [*lines[1:], ""], strict=True):
            first = following.split()[:1]
            broken = bool(first) and len(line) + 1 + len(first[0]) > WIDTH
            joined += line.strip() + (" " if broken else "\n")
        found += re.split(r"(?<=[.?!])\s+|\n", joined)
    return [one for one in found if _WORD.search(one)]


def grade(text: str) -> float:
    """Return the Flesch-Kincaid grade of a screen."""
    parts = sentences(text)
    words = [word for one in parts for word in _WORD.findall(one)]
    spoken = sum(map(syllables, words))
    return 0.39 * len(words) / len(parts) + 11.8 * spoken / len(words) - 15.59

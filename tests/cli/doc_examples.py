"""Examples in the documents, made anew from the demonstration garden.

Run ``python tests/cli/doc_examples.py`` after a change of a screen; a test holds them current.
"""

from __future__ import annotations

import os
import re
import shlex
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from cli_running import shown

from boughwright.demo.build import build

ROOT = Path(__file__).parents[2]
DOCUMENTS = (ROOT / "README.md", ROOT / "docs" / "commands.md")

_EXAMPLE = re.compile(
    r"(?P<head>(?:<!-- paragraphs matching: (?P<only>.*) -->\n)?```\n"
    r"\$ boughwright (?P<words>.*)\n)(?P<shown>(?:.*\n)*?)```\n"
)


def renewed(text: str, scratch: Path) -> str:
    """Return a document with every example's output made anew, in an empty folder."""
    build(scratch / "demo.book")

    def made(match: re.Match[str]) -> str:
        words = shlex.split(match["words"])
        words[1] = words[1] if words[1].endswith(".book") else f"{words[1]}.book"
        words[1] = str(scratch / words[1])
        whole = shown(None, *words).rstrip("\n")
        return f"{match['head']}{_chosen(whole, match['only'])}\n```\n"

    return _EXAMPLE.sub(made, text)


def _chosen(whole: str, only: str | None) -> str:
    """Return the paragraphs whose first line fits one of the patterns, ``[...]`` for the rest."""
    if only is None:
        return whole
    patterns = [re.compile(pattern) for pattern in only.split(" ;; ")]
    kept = []
    for paragraph in whole.split("\n\n"):
        if any(pattern.search(paragraph.split("\n")[0]) for pattern in patterns):
            kept.append(paragraph)
        elif kept[-1:] != ["[...]"]:
            kept.append("[...]")
    return "\n\n".join(kept)


def main() -> None:
    """Write the documents anew."""
    for document in DOCUMENTS:
        with tempfile.TemporaryDirectory() as scratch:
            os.chdir(scratch)
            text = renewed(document.read_text("utf-8"), Path(scratch))
            os.chdir(ROOT)
        document.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()

"""Words that must not be in the repository: paths of one machine, private notes, codes of rules."""

from __future__ import annotations

import re
import shutil
import subprocess
import tomllib

import pytest
from code_tree import ROOT

import boughwright

SHOWN = ("src/", "docs/", "README.md", "ARCHITECTURE.md", "CHANGES.md")
"""What a reader or a grower sees."""

ANYWHERE = {
    "a private note": r"\b(?:trade|settled|science|survey|growth|look|stack|style)[.]md\b",
    "talk of how it was written": r"\btran[s]cripts?\b|\bchat ?[b]ot\b|\bthe assistan[t]\b",
    "a path of one machine": r"(?<![\w.])/(?:work|root|home|Users)/\w|/tm[p]/\w",
    "a host of a package index": r"\bpyp[i]\.|\bpythonhoste[d]\b|\bproxy\.golan[g]\b|index-ur[l]",
}
"""What no tracked file may hold. A letter in brackets keeps this file from finding itself."""

IN_SIGHT = {
    "a code of a rule": r"(?<![\w#&'\"%/-])[DF]\d{1,2}\b(?!['\"]|\.\d)",
    "a short form of a phase": r"\b(?:TB|PS|RA|RE)\b",
}
"""What no file that a reader sees may hold."""

HEX_LIKE = {"sources.toml"}
"""Files where a publication's own number may look like a code."""


def tracked() -> list[str]:
    """Return the files of the repository, new ones too, ignored ones not."""
    git = shutil.which("git")
    if git is None or not (ROOT / ".git").exists():
        pytest.skip("not in a clone: the list of files comes from git")
    names = subprocess.run(
        [git, "ls-files", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    return [name for name in names.stdout.splitlines() if (ROOT / name).is_file()]


def _text(name: str) -> str:
    try:
        return (ROOT / name).read_text("utf-8")
    except UnicodeDecodeError:
        return ""


@pytest.mark.parametrize("what", ANYWHERE)
def test_no_file_holds(what: str) -> None:
    found = [
        f"{name}: {hit[0]}"
        for name in tracked()
        for hit in re.finditer(ANYWHERE[what], _text(name))
    ]
    assert found == []


@pytest.mark.parametrize("what", IN_SIGHT)
def test_nothing_in_sight_holds(what: str) -> None:
    found = [
        f"{name}: {hit[0]}"
        for name in tracked()
        if name.startswith(SHOWN) and name.rpartition("/")[2] not in HEX_LIKE
        for hit in re.finditer(IN_SIGHT[what], _text(name))
    ]
    assert found == []


def test_the_patterns_find_what_they_are_for() -> None:
    assert re.search(ANYWHERE["a private note"], "see settled" + ".md")
    assert re.search(ANYWHERE["a path of one machine"], "open('/" + "home/me/x')")
    assert re.search(IN_SIGHT["a code of a rule"], "as D14 says (F8)")
    assert re.search(IN_SIGHT["a short form of a phase"], "phase PS")
    assert not re.search(IN_SIGHT["a code of a rule"], "branch 2R of 12.5 mm")


def test_version_numbers_agree() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    assert project["version"] == boughwright.__version__
    changes = ROOT / "CHANGES.md"
    if changes.exists():
        assert f"## {boughwright.__version__}" in changes.read_text("utf-8")

"""The documents: their examples are what the commands print, and the README's steps work."""

from __future__ import annotations

import re
import shlex
from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest
from cli_running import shown
from doc_examples import DOCUMENTS, ROOT, renewed

from boughwright.cli import COMMANDS

if TYPE_CHECKING:
    from pathlib import Path

README = (ROOT / "README.md").read_text("utf-8")


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_examples_are_what_the_commands_print(
    document: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """When this fails after a change of words, run ``python tests/cli/doc_examples.py``."""
    monkeypatch.chdir(tmp_path)
    text = document.read_text("utf-8")
    assert "$ boughwright" in text
    assert renewed(text, tmp_path) == text


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_examples_show_something_and_fit_the_page(document: Path) -> None:
    blocks = re.findall(r"```\n\$ boughwright (.*)\n((?:.*\n)*?)```", document.read_text("utf-8"))
    assert blocks
    for command, text in blocks:
        told = [line for line in text.split("\n") if line not in {"", "[...]"}]
        assert told, command
        assert max(map(len, told)) <= 80, command


def test_the_page_of_commands_has_each_of_them() -> None:
    page = (ROOT / "docs" / "commands.md").read_text("utf-8")
    heads = " ".join(re.findall(r"^## (.*)$", page, re.M))
    assert [name for name in COMMANDS if name not in heads.replace(":", " ").split()] == []


def test_the_readme_starts_with_the_job_and_two_commands() -> None:
    assert len(README.split("\n")) <= 140
    title, job, *_ = README.split("\n\n")
    assert title == "# Boughwright"
    assert 60 <= len(job.split()) <= 150
    assert re.findall(r"```sh\n(.*)\n```", README) == [
        "python3 -m venv .venv && .venv/bin/pip install . && .venv/bin/boughwright demo",
        "./check",
    ]


def test_links_lead_somewhere() -> None:
    for document in (*DOCUMENTS, *(ROOT / "docs").glob("*.md"), ROOT / "ARCHITECTURE.md"):
        for link in re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", document.read_text("utf-8")):
            assert "://" in link or (document.parent / link).exists(), (document.name, link)


def test_the_five_steps_of_the_readme(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The tables and commands of the README, as they stand there, on a fixed day."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "my-garden").mkdir()
    tables = re.findall(r"`(my-garden/\w+\.csv)`\n\n```csv\n((?:.*\n)*?)```", README)
    assert [name for name, _ in tables] == [
        "my-garden/places.csv",
        "my-garden/trees.csv",
        "my-garden/branches.csv",
    ]
    for name, text in tables:
        (tmp_path / name).write_text(text)
    first = date(2026, 1, 1)
    days = [f"{first + timedelta(days=i)},{i / 12:.1f},{6 + i / 9:.1f}" for i in range(160)]
    (tmp_path / "weather.csv").write_text("\n".join(["date,t_min_c,t_max_c", *days]) + "\n")
    steps = README.partition("## Your own garden")[2].partition("\n## ")[0]
    commands = [shlex.split(one) for one in re.findall(r"`boughwright ([^`]+)`", steps)]
    assert [words[0] for words in commands] == [
        "load", "load-weather", "call-up", "sheet", "say", "may-i",
    ]  # fmt: skip
    book = tmp_path / "own.book"
    told = {words[0]: shown(book, *words, "--on", "2026-06-09") for words in commands}
    assert "not taken" not in told["load"] + told["load-weather"]
    assert "Long elm" in told["call-up"]
    assert re.search(r"^1L: ", told["sheet"], re.M)
    assert told["say"] == "Long elm:\n  1st left: 1.5 mm aluminium on\n"
    assert re.match(r"(Yes|Not now|Never)", told["may-i"])
    assert "Long elm: 1L" in shown(book, "wire", "--on", "2026-06-09")

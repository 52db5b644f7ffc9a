"""Every command works without a network, in this process and in one of its own."""

from __future__ import annotations

import socket
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest
from cli_running import READING, shown, started

if TYPE_CHECKING:
    from pathlib import Path

CUT_OFF = """
import socket, sys

def refuse(*args, **kwargs):
    raise RuntimeError("the network was asked for")

socket.create_connection = socket.getaddrinfo = refuse
socket.socket = type("socket", (socket.socket,), {"__init__": refuse})  # a class: others derive it
sys.addaudithook(lambda event, args: refuse() if event.startswith("socket.") else None)
"""


def _steps(tmp_path: Path) -> list[list[str]]:
    folder, copy = str(tmp_path / "saved"), str(tmp_path / "copy.book")
    return [
        ["demo"],
        ["say", "--tree", "ditch field maple", "2R wire on 2 al"],
        ["save", folder],
        ["load", folder],
        ["load-weather", "weir-lane", str(tmp_path / "saved" / "weather" / "weir-lane.csv")],
        ["backup", copy],
        ["restore", copy, "--force"],
    ]


@pytest.mark.usefixtures("_no_sockets")
def test_every_command_in_this_process(tmp_path: Path) -> None:
    book = tmp_path / "own.book"
    for words in (*_steps(tmp_path), *READING.values()):
        assert shown(book, *words)


@pytest.fixture
def _no_sockets(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise RuntimeError("the network was asked for")

    for name in ("socket", "create_connection", "getaddrinfo"):
        monkeypatch.setattr(socket, name, refuse)
    with pytest.raises(RuntimeError, match="asked for"):
        socket.create_connection(("localhost", 9))


def test_every_command_in_a_process_of_its_own(tmp_path: Path) -> None:
    site = tmp_path / "site"
    site.mkdir()
    (site / "sitecustomize.py").write_text(CUT_OFF)
    env = {"PYTHONPATH": str(site)}
    book = ["--book", str(tmp_path / "own.book")]
    one_of_each = {words[0]: words for words in READING.values()}
    for words in (*_steps(tmp_path), *one_of_each.values()):
        done = started(*book, *words, env=env)
        assert done.returncode == 0, (words, done.stderr)
        assert done.stdout


def test_the_cut_is_real(tmp_path: Path) -> None:
    (tmp_path / "sitecustomize.py").write_text(CUT_OFF)
    done = subprocess.run(
        [sys.executable, "-c", "import socket; socket.create_connection(('localhost', 9))"],
        env={"PYTHONPATH": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert "the network was asked for" in done.stderr

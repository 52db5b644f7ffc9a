"""The scripts' own types and unit tests, run by node; their words in the catalogue."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest
from browser_help import FRONT_END, needs, node

from boughwright.web.speech import page_texts

PARTS = [("types", ("tsc",)), ("types of the worker", ("tsc", "-p", "tsconfig.sw.json"))]


def run(*command: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(command, cwd=FRONT_END, capture_output=True, text=True, check=False)


@needs(libraries=True)
@pytest.mark.parametrize(("what", "command"), PARTS, ids=[what for what, _ in PARTS])
def test_the_scripts_keep_their_types(what: str, command: tuple[str, ...]) -> None:
    del what
    tool = FRONT_END / "node_modules" / "typescript" / "bin" / command[0]
    done = run(str(node()), str(tool), *command[1:])
    assert (done.returncode, done.stdout) == (0, "")


@needs(libraries=True)
def test_units_of_the_scripts() -> None:
    done = run(str(node()), "test.mjs")
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]
    passed = re.search(r"^(?:#|ℹ) pass (\d+)$", done.stdout, re.MULTILINE)
    assert passed is not None
    tests = "".join(
        path.read_text(encoding="utf-8") for path in Path(__file__).parent.glob("*.test.mjs")
    )
    assert int(passed[1]) == len(re.findall(r"^test\(", tests, re.MULTILINE)) > 10


def test_every_word_of_the_scripts_stands_in_the_catalogue_as_they_fall_back_to_it() -> None:
    source = (FRONT_END / "src" / "words.ts").read_text(encoding="utf-8")
    block = source[source.index("ENGLISH") : source.index("\n};")]
    told: dict[str, object] = {}
    for key, plain, one, other in re.findall(
        r'^  (\w+): (?:"(.*)"|\{ one: "(.*)", other: "(.*)" \}),$', block, re.MULTILINE
    ):
        told[key] = plain or {"one": one, "other": other}
    assert len(told) == len(re.findall(r"^  \w+: ", block, re.MULTILINE))
    catalogue = {
        key.removeprefix("device."): text
        for key, text in page_texts("en").items()
        if key.startswith("device.")
    }
    assert told == catalogue


def test_every_word_the_scripts_say_is_there_and_every_one_there_is_said() -> None:
    source = (FRONT_END / "src" / "words.ts").read_text(encoding="utf-8")
    keys = set(re.findall(r"^  (\w+): ", source[: source.index("\n};")], re.MULTILINE))
    others = "".join(
        path.read_text(encoding="utf-8")
        for path in (FRONT_END / "src").glob("*.ts")
        if path.name != "words.ts"
    )
    said = set(re.findall(r'words\("(\w+)"', others))
    assert said <= keys
    assert {key for key in keys if f'"{key}"' not in others} == set()

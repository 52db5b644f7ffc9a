"""Small garden folders made by hand, for the tests of reading them."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from boughwright.intake.folder import read_folder
from boughwright.journal.events import BranchSet, Measured, TreeSet
from boughwright.tree.replay import replay

NOW = datetime(2026, 6, 9, 20, tzinfo=UTC)

TREES = "name,species\nDitch field maple,Acer campestre\n"
BRANCHES = """\
tree,name,height,clock,trunk,base,on
Ditch field maple,1L,95,9,47,12.1,2026-06-07
Ditch field maple,2R,130,3,43,14.6,2026-06-07
Ditch field maple,2R-1,,,,4.2,2026-06-07
"""


class Folder:
    """A folder of files written as given."""

    def __init__(self, path):
        self.path = path

    def put(self, **files):
        """Write files; ``trees_csv`` is trees.csv. Bytes are written as they are."""
        for name, content in files.items():
            file = self.path / name.replace("_csv", ".csv").replace("_toml", ".toml")
            data = content if isinstance(content, bytes) else content.encode("utf-8")
            file.write_bytes(data)
        return self

    def weather(self, station, content):
        (self.path / "weather").mkdir(exist_ok=True)
        (self.path / "weather" / f"{station}.csv").write_text(content, "utf-8")
        return self

    def read(self, **others):
        return read_folder(self.path, **{"on_bad": "skip", "now": NOW, "who": "me", **others})


@pytest.fixture(name="folder")
def _folder(tmp_path):
    path = tmp_path / "garden"
    path.mkdir()
    return Folder(path)


def readings(read):
    """Return every reading: branch, what, value, day."""
    return {
        (event.branch, event.body.what.value, event.on): event.body.value
        for event in read.events
        if isinstance(event.body, Measured)
    }


def facts(read, branch=None):
    """Return what was set of a branch, or of the tree."""
    found = {}
    for event in read.events:
        if isinstance(event.body, TreeSet | BranchSet) and event.branch == branch:
            found |= event.body.fields
    return found


def tree_of(read, key="ditch-field-maple"):
    return replay(key, read.events)


def base_of(tree, name):
    return float(tree.branches.base_mm[tree.branches.names.index(name)])

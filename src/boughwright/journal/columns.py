"""The plain tables of a garden folder: which files, which columns, and how a cell is kept safe.

One description drives the writer, the reader and the printed description of the folder. A column is
a `boughwright.journal.fields.Field`; its ``kind`` may also be ``moment``, a day with its time, or
``reading``, a number whose unit stands beside it.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING
from urllib.parse import quote, unquote

from boughwright.journal.fields import (
    BRANCH_FIELDS,
    DETAIL_RANGE,
    PLACE_FIELDS,
    QUANTITY_RANGE,
    SHELF_FIELDS,
    TREE_FIELDS,
    Field,
)
from boughwright.journal.terms import (
    PROMISES,
    QUANTITY_UNIT,
    Amount,
    Bend,
    Fit,
    Metal,
    Quantity,
    Sign,
    Work,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

FORMAT = "boughwright garden folder"
VERSION = 1
"""Name and version written into the garden's file; a newer one is not read."""

GARDEN_FILE = "garden.toml"
RECORDS_FILE = "records.csv"
WEATHER_FOLDER = "weather"
UNKNOWN = "?"
"""A cell that takes a value back to unknown; an empty one says nothing."""

WEATHER_COLUMNS: tuple[str, ...] = (
    "date", "kind", "t_min_c", "t_max_c", "rain_mm", "humidity_pct", "wind_ms", "sun_mj",
)  # fmt: skip


# --- cells ---------------------------------------------------------------------------------------

_GUARDED = re.compile(r"'*(?:[=+\-@\t\r]|\?$)")


def guard(text: str) -> str:
    """Put an apostrophe before text that a spreadsheet would run as a formula.

    Text that begins with ``=``, ``+``, ``-``, ``@``, a tab or a carriage return, and a lone ``?``,
    gets one; so does text that begins with apostrophes before one of these, so that
    `unguard` always gives back what was there.
    """
    return f"'{text}" if _GUARDED.match(text) else text


def unguard(text: str) -> str:
    """Take the apostrophe of `guard` away again."""
    return text[1:] if text.startswith("'") and _GUARDED.match(text) else text


def slug(text: str) -> str:
    """Return a plain lasting key for a name: ``Gate hornbeam`` gives ``gate-hornbeam``.

    Letters lose their accents; a point between digits stays (``2.5Lg`` gives ``2.5lg``). The same
    name always gives the same key.
    """
    folded = unicodedata.normalize("NFKD", text).casefold()
    bare = "".join(letter for letter in folded if not unicodedata.combining(letter))
    bare = re.sub(r"(?<!\d)\.|\.(?!\d)", "-", bare)
    return re.sub(r"[^\w.]+", "-", bare).strip("-")


def station_file(station: str) -> str:
    """Return the file name of a weather station, safe on every disk."""
    name = quote(station, safe=" _-.")
    return f"{'%2E' + name[1:] if name.startswith('.') else name}.csv"


def station_of(file: str) -> str:
    """Return the station of a file name."""
    return unquote(file.removesuffix(".csv"))


# --- columns -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Table:
    """One table of a garden folder.

    Parameters
    ----------
    file : str
        Name of the file.
    row : str
        What one row is, in the grower's words.
    columns : tuple of Field
        In the order they are written.
    kind : str
        Kind of record that one row makes, for tables of happenings; empty for tables of things.
    works : tuple of str
        The works that belong here; empty for all the others.
    needs : tuple of str
        Columns that no row can do without.
    same : mapping of str to str
        Other words for a column in a header.
    """

    file: str
    row: str
    columns: tuple[Field, ...]
    kind: str = ""
    works: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    same: Mapping[str, str] = field(default_factory=dict)

    def column(self, name: str) -> Field | None:
        """Return the column of that name."""
        return next((one for one in self.columns if one.name == name), None)


def _choice(name: str, help_: str, words: Iterable[str]) -> Field:
    return Field(name, "choice", help_, choices=tuple(words))


def _detail(name: str, help_: str, *, count: bool = False, unit: str = "") -> Field:
    low, high = DETAIL_RANGE[name]
    return Field(name, "count" if count else "number", help_, unit, low, high)


def _readings(words: Mapping[Quantity, str]) -> Mapping[str, tuple[Quantity, Field]]:
    found = {}
    for what, help_ in words.items():
        unit = QUANTITY_UNIT[what]
        name = f"{what.value}_{unit}"
        found[name] = (what, Field(name, "number", help_, unit, *QUANTITY_RANGE[what]))
    return found


TREE_READINGS = _readings(
    {
        Quantity.TRUNK: "trunk above the root flare",
        Quantity.DRAIN: "time the pot takes to drain",
        Quantity.WEIGHT: "weight of pot and tree",
    }
)
"""Measures that may stand in the table of trees, by column."""

BRANCH_READINGS = _readings(
    {
        Quantity.BASE: "thickness at its base",
        Quantity.TRUNK: "trunk beside it, just above",
        Quantity.NODE: "first internode in doubt",
        Quantity.ROOM: "from that node along its line to the outline",
        Quantity.LENGTH: "length of the branch",
        Quantity.EXTENSION: "mean free shoot of the latest flush",
        Quantity.EXIT: "graft: thickness where it leaves the trunk",
        Quantity.ENTRY: "graft: thickness where it enters the trunk",
        Quantity.OPEN: "scar: open width",
    }
)
"""Measures that may stand in the table of branches, by column."""

_TREE = Field("tree", "text", "lasting key of the tree; its name or tag is understood too")
_BRANCH = Field("branch", "ref", "name or lasting key of the branch; empty for the whole tree")
_ZONE = Field("zone", "text", "part of the tree, when no one branch is meant: low outer left")
_ON = Field("on", "date", "the day it happened")
_WHY = Field("because", "text", "why")
_WHO = Field("who", "text", "who did or saw it")
_RECORDED = Field("recorded", "moment", "when it was entered, UTC; orders what fell on one day")
_PLACE_KEY = Field("place", "text", "lasting key of the place")
_AMOUNT = _choice("amount", "how much", Amount)
_MINUTES = _detail("minutes", "bench time it took", unit="min")
_METHOD = Field("method", "text", "wire off: cut or unwound; graft: thread or approach")
_SHOOTS = _detail("shoots", "how many shoots it touched", count=True, unit="shoots")
_GAUGE = _detail("gauge_mm", "thickness of one strand", unit="mm")
_METAL = _choice("metal", "al (aluminium) or cu (copper)", Metal)
_UNTIL_BASE = _detail("until_base_mm", "ends when the base reaches this", unit="mm")
_UNTIL = Field("until", "date", "ends on this day")
_TAIL = (_WHO, _RECORDED)
_HEAD = (_TREE, _BRANCH, _ZONE, _ON)
_WIRE = (Work.WIRE_ON.value, Work.WIRE_OFF.value)


def _with_vigour_on(fields: Mapping[str, Field]) -> tuple[Field, ...]:
    day = Field("vigour_on", "date", "the day its strength was judged; empty: the day of the row")
    columns: list[Field] = []
    for one in fields.values():
        columns += [one, day] if one.name == "vigour" else [one]
    return tuple(columns)


def _set_on(what: str) -> Field:
    return Field("on", "date", f"the day {what}; empty: the garden's day, else today")


_MEASURED_ON = Field("measured_on", "date", "the day of the measures in this row; empty: its day")

PLACES = Table(
    "places.csv", "a place where trees stand",
    (_PLACE_KEY, *PLACE_FIELDS.values(),
     Field("on", "date", "the day it was entered; empty: the earliest day in the folder")),
    same={"id": "place", "key": "place", "station": "weather", "lat": "latitude",
          "long": "longitude", "lon": "longitude", "altitude": "elevation_m"},
)  # fmt: skip
SHELVES = Table(
    "shelves.csv", "a shelf at a place",
    (_PLACE_KEY, Field("shelf", "text", "lasting key of the shelf"), *SHELF_FIELDS.values(),
     Field("on", "date", "the day it was entered; empty: the earliest day in the folder")),
    same={"id": "shelf", "key": "shelf"},
)  # fmt: skip
SPECIES = Table(
    "species.csv", "a species value of your own in place of the table's",
    (replace(_TREE, help="only for this tree; empty for the whole garden"),
     Field("species", "text", "botanical name"),
     Field("trait", "text", "name of the value, as the species card has it"),
     Field("value", "text", "your value, in the unit of the card"),
     replace(_ON, help="the day it was set; empty: the earliest day in the folder"), *_TAIL),
    kind="trait", needs=("species", "trait", "value"),
)  # fmt: skip
TREES = Table(
    "trees.csv", "a tree",
    (replace(_TREE, help="lasting key of the tree; empty: made from its name"),
     *_with_vigour_on(TREE_FIELDS), *(one for _, one in TREE_READINGS.values()), _MEASURED_ON,
     _set_on("these facts were taken down"), *_TAIL),
    same={"id": "tree", "key": "tree", "tree name": "name", "plain name": "name",
          "botanical name": "species", "latin name": "species", "latin": "species",
          "variety": "cultivar", "vigor": "vigour", "strength": "vigour", "trunk": "trunk_mm",
          "pot": "pot_volume_l", "outline height": "height_mm"},
)  # fmt: skip
BRANCHES = Table(
    "branches.csv", "a branch, graft, scar, root or the top",
    (replace(_TREE, help="key, name or tag of its tree; may be left out with one tree only"),
     Field("branch", "text", "lasting key of the branch; empty: made from its name"),
     *_with_vigour_on(BRANCH_FIELDS), *(one for _, one in BRANCH_READINGS.values()), _MEASURED_ON,
     Field("old_names", "text", "what it was called before: 4R until 2026-03-01; 5R until ..."),
     Field("entered_on", "date", "the day it was first written down, when before the day of row"),
     _set_on("these facts were taken down"), *_TAIL),
    same={"id": "branch", "key": "branch", "branch name": "name", "vigor": "vigour",
          "strength": "vigour", "thickness": "base_mm", "diameter": "base_mm",
          "trunk beside": "trunk_mm", "internode": "node_mm", "hour": "clock",
          "clock hour": "clock", "start height": "height_mm", "step": "target_step"},
)  # fmt: skip
MEASURES = Table(
    "measures.csv", "one reading",
    (_TREE, _BRANCH, _ON, _choice("what", "what was measured", Quantity),
     Field("value", "reading", "the reading, in the unit beside it"),
     Field("unit", "text", "mm, cm or in; s for drain; g or kg for weight"),
     Field("earlier", "reading", "a reading given along with it, its day unknown"),
     Field("marked", "yes-no", "taken at a marked spot on dry, smooth bark"),
     Field("sd", "reading", "its standard error, when known better than by rule"),
     Field("how", "text", "caliper, tape, photo or eye"), *_TAIL),
    kind="measure", needs=("on", "what", "value"),
    same={"measure": "what", "quantity": "what", "reading": "value"},
)  # fmt: skip
WIRES = Table(
    "wires.csv", "wire put on, or taken off",
    (*_HEAD, _choice("work", "wire on or wire off; empty: wire on", _WIRE), _GAUGE, _METAL,
     _detail("strands", "how many strands side by side", count=True),
     _choice("bend", "how hard the bend", Bend), _choice("fit", "how close it was put on", Fit),
     _SHOOTS, Field("off", "date", "for a wire on: the day it came off, when it has"),
     _detail("bite", "grade seen when it came off, 0 to 5", count=True), _METHOD, _MINUTES, _WHY,
     *_TAIL),
    kind="work", works=_WIRE,
    same={"grade": "bite", "wire": "gauge_mm", "thickness": "gauge_mm", "off on": "off",
          "off date": "off", "came off": "off", "put on": "on"},
)  # fmt: skip
WORKS = Table(
    "works.csv", "a work done, other than wiring",
    (*_HEAD, _choice("work", "what was done", (one for one in Work if one.value not in _WIRE)),
     _AMOUNT, Field("to", "text", "where a cut went: pair 1, leaf 2, base, past node 1, outline"),
     _detail("share", "share of leaf or root taken", unit="0-1"), _SHOOTS,
     Field("donor", "ref", "for a graft: the branch it comes from, or the name of a tree"), _METHOD,
     _GAUGE, _METAL, _UNTIL_BASE, _UNTIL, _MINUTES, _WHY, *_TAIL),
    kind="work", needs=("on", "work"),
)  # fmt: skip
SIGNS = Table(
    "signs.csv", "a sign seen",
    (*_HEAD, _choice("sign", "what was seen", Sign),
     _detail("grade", "grade of a bite, 0 to 5", count=True), _AMOUNT, _WHY, *_TAIL),
    kind="sign", needs=("on", "sign"), same={"seen": "sign"},
)  # fmt: skip
PROMISE_TABLE = Table(
    "promises.csv", "a choice that stands for now, or a job for later",
    (*_HEAD, _choice("what", "what was promised", PROMISES), _UNTIL_BASE, _UNTIL,
     Field("words", "text", "the sign that re-opens it, as it was said"), _WHY, *_TAIL),
    kind="promise", needs=("on", "what"), same={"promise": "what", "will": "what"},
)  # fmt: skip
LOOKS = Table(
    "looks.csv", "a look that was asked for",
    (*_HEAD, Field("due", "date", "the day to look again"), *_TAIL),
    kind="look", needs=("on", "due"), same={"look again": "due"},
)  # fmt: skip
FRONTS = Table(
    "fronts.csv", "a change of the tree's front",
    (_TREE, _ON, _detail("degrees", "clockwise, seen from above", unit="degrees"), *_TAIL),
    kind="front", needs=("on", "degrees"),
)  # fmt: skip
NOTES = Table(
    "notes.csv", "words kept as they were said",
    (replace(_TREE, help="empty for the whole garden"), _BRANCH, _ON,
     Field("text", "text", "the words"),
     Field("unread", "yes-no", "the reader of phrases did not know them"), *_TAIL),
    kind="note", needs=("on", "text"), same={"note": "text", "words": "text"},
)  # fmt: skip

HAPPENINGS: tuple[Table, ...] = (
    MEASURES, FRONTS, WIRES, WORKS, SIGNS, PROMISE_TABLE, LOOKS, NOTES,
)  # fmt: skip
"""Tables of which each row is one record."""

TABLES: tuple[Table, ...] = (PLACES, SHELVES, SPECIES, TREES, BRANCHES, *HAPPENINGS)
"""Every readable table, in the order they are read."""

RECORDS = Table(
    RECORDS_FILE, "one record of the journal, withdrawn ones too",
    (Field("id", "text", "UUID of the record"), Field("kind", "text", "kind of record"),
     Field("version", "count", "version of that kind"), Field("tree", "text", "lasting key"),
     Field("branch", "text", "lasting key"), Field("on", "date", "the day it happened"),
     Field("who", "text", "who did or saw it"), Field("recorded", "moment", "when it was entered"),
     Field("body", "text", "its details as a JSON object")),
    needs=("id", "kind", "version", "on", "recorded", "body"),
)  # fmt: skip
"""The table that holds everything."""

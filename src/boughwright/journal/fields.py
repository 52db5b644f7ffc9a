"""Every field that a tree, branch, place, shelf or garden can carry.

One table drives the codec's checks, the columns of the plain tables, the forms and their
documentation. A field that was never given is unknown.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.journal.terms import (
    Bark,
    GraftKind,
    Job,
    Kind,
    Phase,
    Quantity,
    Vigour,
    Zone,
)

if TYPE_CHECKING:
    from collections.abc import Mapping
    from enum import Enum


@dataclass(frozen=True, slots=True)
class Field:
    """One field.

    Parameters
    ----------
    name : str
        Key in records and column in tables.
    kind : str
        ``text``, ``number``, ``count``, ``yes-no``, ``date``, ``choice``, or ``ref`` (the lasting
        id of a branch; the name in tables).
    help : str
        What it means, in the grower's words.
    unit : str
        Unit of a number; lengths are mm.
    low, high : float
        Legal range of a number, both ends allowed.
    choices : tuple of str
        The words allowed for a choice.
    """

    name: str
    kind: str
    help: str
    unit: str = ""
    low: float = float("-inf")
    high: float = float("inf")
    choices: tuple[str, ...] = ()


DATE_ORDERS: tuple[str, ...] = ("day first", "month first", "year first")
"""``9 June 2026``, ``June 9 2026`` and ``2026-06-09``."""


def _words(enum: type[Enum]) -> tuple[str, ...]:
    return tuple(
        member.name.lower() if isinstance(member.value, int) else str(member.value)
        for member in enum
    )


def _table(*rows: Field) -> Mapping[str, Field]:
    return {row.name: row for row in rows}


def _mm(name: str, help_: str, high: float) -> Field:
    return Field(name, "number", help_, "mm", 0.0, high)


GARDEN_FIELDS = _table(
    Field("name", "text", "name of the garden"),
    Field("units", "choice", "unit of lengths on screens", choices=("mm", "in")),
    Field("temperature", "choice", "unit of temperatures on screens", choices=("C", "F")),
    Field("dates", "choice", "order of dates on screens", choices=DATE_ORDERS),
    Field("language", "choice", "language of the pages", choices=("en", "de")),
    Field("hand", "choice", "side of the thumb that works the screen", choices=("right", "left")),
    Field("light", "choice", "light of the pages", choices=("device", "day", "night")),
    Field("hours_week", "number", "your bench hours in a week", "h", 0, 112),
    Field("pupil_hours_week", "number", "a pupil's bench hours in a week", "h", 0, 112),
    Field("who", "text", "who is writing, when nobody else is named"),
    Field("home", "text", "key of the place where the bench is"),
    Field("standing_date", "date", "the day to take as today, for a demonstration garden"),
)

PLACE_FIELDS = _table(
    Field("name", "text", "name of the place"),
    Field("latitude", "number", "degrees north; south is negative", "degrees", -66.5, 66.5),
    Field("longitude", "number", "degrees east; west is negative", "degrees", -180, 180),
    Field("elevation_m", "number", "height above the sea", "m", -430, 5000),
    Field("weather", "text", "name of the weather record to use"),
    Field("frost_pocket_c", "number", "how much colder nights are than the record", "°C", -10, 5),
)

SHELF_FIELDS = _table(
    Field("name", "text", "name of the shelf"),
    Field("offset_c", "number", "how much warmer the shelf is than the record", "°C", -10, 10),
    Field("frost_pocket_c", "number", "how much colder its nights are", "°C", -10, 5),
    Field("shade", "number", "share of the light taken away", "0-1", 0, 1),
    Field("store", "yes-no", "a frame or shed that keeps hard frost out"),
    Field("low_c", "number", "coldest it gets in a store", "°C", -10, 15),
    Field("covered", "yes-no", "kept dry from rain"),
    Field("windy", "yes-no", "open to drying wind"),
    Field("room_trees", "count", "how many trees it takes", "trees", 0, 1000),
)

TREE_FIELDS = _table(
    Field("name", "text", "the tree's plain name"),
    Field("tag", "text", "number on the stake"),
    Field("species", "text", "botanical name; a common name is asked about once"),
    Field("cultivar", "text", "cultivar, as a label"),
    Field("owner", "text", "who owns it"),
    Field("place", "text", "key of the place where it stands"),
    Field("shelf", "text", "key of the shelf it stands on"),
    Field("phase", "choice", "phase of most of its branches", choices=_words(Phase)),
    Field("apex_phase", "choice", "phase of the apex, when it differs", choices=_words(Phase)),
    Field("vigour", "choice", "strength, when judged by hand", choices=_words(Vigour)),
    _mm("height_mm", "height of the agreed outline above the soil", 5000),
    _mm("trunk_goal_mm", "trunk thickness aimed at above the root flare", 1000),
    Field("pot_volume_l", "number", "volume of the pot", "l", 0.01, 2000),
    Field("bark", "choice", "bark, when not that of the species", choices=_words(Bark)),
    Field("acquired_on", "date", "when it came to the garden"),
    Field("collected_on", "date", "when it was collected from the wild"),
    Field("climate_moved_on", "date", "when it last changed climate"),
    Field("fruiting", "yes-no", "carries flower or fruit this season"),
    Field("show_on", "date", "next show it is meant for"),
    Field("show_leafless", "yes-no", "to be shown without leaves"),
    Field("norm_extension_mm", "number", "its usual free shoot of one flush", "mm", 1, 3000),
    Field("full_defoliation_on", "date", "last full defoliation before the records begin"),
    Field("gone_on", "date", "sold, given away or dead since"),
    Field("gone_how", "text", "what became of it"),
)

BRANCH_FIELDS = _table(
    Field("name", "text", "branch name: 1L, 2R-1, 2.5Lg, top, trunk, scar front"),
    Field("kind", "choice", "what it is", choices=_words(Kind)),
    Field("parent", "ref", "branch it grows from; the trunk for primaries"),
    _mm("height_mm", "height of its start above the soil", 5000),
    _mm("along_mm", "distance of its start from its parent's start", 5000),
    Field("clock", "number", "clock hour of its direction, front = 6", "h", 0, 12),
    Field("zone", "choice", "zone, when not that of its height", choices=_words(Zone)),
    Field("outer", "yes-no", "in the outer half of the crown"),
    Field("phase", "choice", "phase, when not the tree's", choices=_words(Phase)),
    Field("vigour", "choice", "local strength, judged by hand", choices=_words(Vigour)),
    Field("wanted", "yes-no", "kept in the design"),
    Field("target_step", "number", "base as a share of the trunk beside it", "0-1", 0.02, 1),
    Field("job", "choice", "what it must do before it may be cut", choices=_words(Job)),
    Field("job_for", "ref", "branch or scar the job serves"),
    _mm("job_until_base_mm", "base of the thickened branch at which the job ends", 500),
    Field("elevation_deg", "number", "angle of the branch above level", "degrees", -90, 90),
    Field("plan_angle_deg", "number", "angle off its parent's line from above", "degrees", 0, 180),
    Field("shaded_by", "ref", "branch that shades it more than half the day"),
    Field("bud_inside", "yes-no", "a live bud or shoot at the node inside the doubtful one"),
    Field("pair_level", "yes-no", "the first pair lies left and right, not up and down"),
    Field("leaves", "count", "leaves or pairs on its end shoot", "leaves", 0, 200),
    Field("cluster", "count", "shoots standing at its worst node", "shoots", 0, 60),
    Field("clusters", "count", "nodes with more than two shoots", "nodes", 0, 500),
    Field("knuckle", "number", "worst node swelling over the wood beside it", "x", 0.5, 6),
    Field("fork_order", "count", "forks passed from base to tip", "forks", 0, 14),
    Field("bark", "choice", "bark, when not the tree's", choices=_words(Bark)),
    Field("graft_kind", "choice", "how it was grafted", choices=_words(GraftKind)),
    Field("grafted_on", "date", "when it was grafted"),
    Field("donor", "ref", "branch that feeds the graft"),
    Field("union_moves", "yes-no", "the union can be moved by hand"),
    Field("union_gap", "yes-no", "a gap shows at the union"),
    Field("lips_joined", "yes-no", "bark lips joined all round the union"),
    Field("weaned", "yes-no", "the graft lives on its own"),
    Field("provisional_since", "date", "cut as a compromise then, to be re-opened"),
    Field("gone_on", "date", "cut off, fallen or dead since"),
)

PHOTO_SIDES: tuple[str, ...] = ("front", "back", "left", "right", "above", "close")
"""Sides that a picture shows; ``left`` and ``right`` as seen from the front."""

PHOTO_CLOCK: tuple[str, ...] = tuple(str(hour) for hour in range(1, 13))
"""Clock hours from which a picture may be taken, seen from above, front = 6."""

PHOTO_DATED: tuple[str, ...] = ("said", "camera", "sent")
"""How a picture's day is known: told by the grower, by the camera's own clock, or only as the day
a device sent it."""

PHOTO_LENGTHS: tuple[str, ...] = ("measured", "tree height", "outline")
"""What a picture's scale rests on: a length measured, a reading of the tree's height, or the
height of its agreed outline."""

FIELDS_OF: Mapping[str, Mapping[str, Field]] = {
    "garden": GARDEN_FIELDS,
    "place": PLACE_FIELDS,
    "shelf": SHELF_FIELDS,
    "tree": TREE_FIELDS,
    "branch": BRANCH_FIELDS,
}
"""The table of fields of each kind of record."""

QUANTITY_RANGE: Mapping[Quantity, tuple[float, float]] = {
    Quantity.BASE: (0.1, 1000.0),
    Quantity.TRUNK: (0.5, 1500.0),
    Quantity.NODE: (0.5, 2000.0),
    Quantity.ROOM: (0.0, 3000.0),
    Quantity.LENGTH: (0.0, 5000.0),
    Quantity.EXTENSION: (0.0, 3000.0),
    Quantity.EXIT: (0.1, 300.0),
    Quantity.ENTRY: (0.1, 300.0),
    Quantity.OPEN: (0.0, 1000.0),
    Quantity.HEIGHT: (1.0, 5000.0),
    Quantity.DRAIN: (0.0, 86400.0),
    Quantity.WEIGHT: (1.0, 2_000_000.0),
}
"""Legal range of each measure in the unit of `boughwright.journal.terms.QUANTITY_UNIT`.

Set wide, from memory, to catch slips of the decimal mark or the unit and nothing finer.
"""

DETAIL_RANGE: Mapping[str, tuple[float, float]] = {
    "gauge_mm": (0.2, 12.0),
    "strands": (1, 6),
    "bite": (0, 5),
    "grade": (0, 5),
    "share": (0.0, 1.0),
    "shoots": (1, 5000),
    "until_base_mm": (0.5, 500.0),
    "minutes": (0.0, 1440.0),
    "sd": (0.001, 1000.0),
    "degrees": (-360.0, 360.0),
    "metres": (0.0, 100_000.0),
    "grams": (0.0, 1_000_000.0),
    "length_mm": (1.0, 5000.0),
    "mm_per_px": (0.001, 100.0),
    "picture_px": (1, 20_000),
    "picture_share": (0.0, 1.0),
    "look_days": (0, 3660),
}
"""Legal range of the numbers that go with a work, a sign, a promise, a picture or a look."""

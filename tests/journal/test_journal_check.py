"""Judging events at entry: each refusal names the field, the value and what is allowed."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID, uuid4

import pytest

from boughwright.errors import BoughwrightError, RangeError, RecordError, TextError
from boughwright.journal.check import check, check_field
from boughwright.journal.events import (
    BranchSet,
    Event,
    FrontTurned,
    GardenSet,
    LookAgain,
    Measured,
    Noted,
    Photographed,
    PhotoMarked,
    PhotoScaled,
    PlaceSet,
    Promised,
    Saw,
    ShelfSet,
    TraitSet,
    TreeSet,
    Withdrawn,
    Worked,
)
from boughwright.journal.fields import FIELDS_OF, QUANTITY_RANGE
from boughwright.journal.terms import QUANTITY_UNIT, Amount, Metal, Quantity, Sign, Work

DAY = date(2026, 6, 9)


def event(body: Any, **changes: Any) -> Event:
    of_garden = isinstance(body, GardenSet | PlaceSet | ShelfSet)
    made = Event(body, DAY, tree=None if of_garden else "t", branch=None if of_garden else "b")
    return replace(made, **changes)


PHOTO = "0123456789abcdef" * 4

GOOD = [
    GardenSet({"units": "in", "hours_week": 9, "standing_date": DAY, "home": None}),
    PlaceSet("weir", {"latitude": 46.4, "frost_pocket_c": -4.0}),
    ShelfSet("weir", "south", {"shade": 0.5, "covered": True, "room_trees": 12}),
    TreeSet({"name": "Ditch field maple", "phase": "primary structure", "vigour": "strong"}),
    TreeSet({}),
    BranchSet({"name": "1L", "clock": 9, "zone": "lower", "target_step": 0.35, "leaves": 0}),
    FrontTurned(-30.0),
    TraitSet("Acer campestre", "ring", 1.2),
    Measured(Quantity.OPEN, 41.0, earlier=46.0, sd=0.4),
    Worked(Work.WIRE_ON, gauge_mm=1.5, metal=Metal.COPPER, strands=2, shoots=14),
    Worked(Work.LEAF_THIN, amount=Amount.MOST, share=0.7, zone="apex"),
    Saw(Sign.BITE, grade=3),
    Promised("until base", until_base_mm=14.0),
    Promised("until", until=DAY),
    LookAgain(DAY),
    Noted("x" * 10_000),
    Photographed(PHOTO, 2250, 3000, "front", note="bare", mm_per_px=0.4),
    Photographed(PHOTO, 64, 64, "12", dated="sent"),
    PhotoMarked(PHOTO, 0.0, 1.0, 0.5, 0.5),
    PhotoMarked(PHOTO, 0.5, 0.5, label="rot"),
    PhotoScaled(PHOTO, 0.5, 0.9, 0.5, 0.1, 420.0, 0.5, 0.9, "outline"),
    Withdrawn(uuid4()),
]


@pytest.mark.parametrize("body", GOOD, ids=lambda b: type(b).__name__)
def test_sound_events_pass(body: Any) -> None:
    check(event(body))


@pytest.mark.parametrize(
    ("body", "error", "named", "allowed"),
    [
        (TreeSet({"nme": "x"}), RecordError, "'nme'", "name, tag"),
        (Photographed("../x", 9, 9, "front"), TextError, "photo is '../x'", "64 lower-case"),
        (Photographed(PHOTO.upper(), 9, 9, "front"), TextError, "photo is", "64 lower-case"),
        (Photographed(PHOTO + "\n", 9, 9, "front"), TextError, "photo is", "64 lower-case"),
        (Photographed(PHOTO, 0, 9, "front"), RangeError, "width is 0 px", "1 to 20000 px"),
        (Photographed(PHOTO, 9, 9.5, "front"), TextError, "height is 9.5", "a whole number"),
        (Photographed(PHOTO, 9, 9, "top"), TextError, "side is 'top'", "front, back"),
        (Photographed(PHOTO, 9, 9, "0"), TextError, "side is '0'", "11, 12"),
        (Photographed(PHOTO, 9, 9, "front", dated="x"), TextError, "dated is 'x'", "camera"),
        (Photographed(PHOTO, 9, 9, "front", mm_per_px=0.0), RangeError, "mm_per_px is 0", "100"),
        (PhotoMarked(PHOTO, 1.1, 0.5), RangeError, "x is 1.1", "0 to 1"),
        (PhotoMarked(PHOTO, 0.5, math.nan), RangeError, "y is nan", "0 to 1"),
        (PhotoMarked(PHOTO, 0.5, 0.5, 0.6), TextError, "y2 is None", "0 to 1"),
        (PhotoScaled(PHOTO, 0, 0, 0, 1, 0.0), RangeError, "length_mm is 0 mm", "1 to 5000 mm"),
        (PhotoScaled(PHOTO, 0, 0, 0, 0, 9.0), RecordError, "both ends", ""),
        (PhotoScaled(PHOTO, 0, 0, 0, 1, 9.0, soil_y=0.5), TextError, "soil_x is None", "0 to 1"),
        (PhotoScaled(PHOTO, 0, 0, 0, 1, 9.0, how="guess"), TextError, "how is 'guess'", "outline"),
        (TreeSet({"phase": "youth"}), TextError, "phase is 'youth'", "trunk building"),
        (TreeSet({"height_mm": -99}), RangeError, "height_mm is -99 mm", "0 to 5000 mm"),
        (TreeSet({"height_mm": math.nan}), RangeError, "height_mm is nan", "0 to 5000"),
        (TreeSet({"height_mm": math.inf}), RangeError, "height_mm is inf", "0 to 5000"),
        (TreeSet({"height_mm": "tall"}), TextError, "height_mm is 'tall'", "a number"),
        (TreeSet({"height_mm": True}), TextError, "height_mm is True", "a number"),
        (TreeSet({"name": 4}), TextError, "name is 4", "text"),
        (TreeSet({"name": "a\x00b"}), TextError, "name", "broken letters"),
        (TreeSet({"name": "a\ud800b"}), TextError, "name", "broken letters"),
        (TreeSet({"fruiting": 1}), TextError, "fruiting is 1", "yes or no"),
        (TreeSet({"show_on": "2026-11-28"}), TextError, "show_on", "a date"),
        (TreeSet({"show_on": datetime(2026, 11, 28, tzinfo=UTC)}), TextError, "show_on", "a date"),
        (TreeSet({"show_on": date(26, 11, 28)}), RangeError, "show_on is 0026", "1800-01-01"),
        (BranchSet({"clock": 13}), RangeError, "clock is 13 h", "0 to 12 h"),
        (BranchSet({"leaves": 2.0}), TextError, "leaves is 2.0", "a whole number"),
        (BranchSet({"parent": " "}), TextError, "parent", "at least one letter"),
        (GardenSet({"units": "cm"}), TextError, "units is 'cm'", "mm, in"),
        (PlaceSet("", {}), TextError, "place is ''", "at least one letter"),
        (PlaceSet("weir", {"latitude": 91}), RangeError, "latitude is 91", "-66.5 to 66.5"),
        (ShelfSet("weir", "", {}), TextError, "shelf is ''", "at least one letter"),
        (FrontTurned(400.0), RangeError, "degrees is 400", "-360 to 360"),
        (TraitSet("", "ring", 1), TextError, "species is ''", "at least one letter"),
        (TraitSet("Acer", "ring", math.nan), RangeError, "ring is nan", "finite"),
        (Measured("base", 12.0), TextError, "what is 'base'", "base, trunk"),
        (Measured(Quantity.BASE, 0.0), RangeError, "base is 0 mm", "0.1 to 1000 mm"),
        (Measured(Quantity.DRAIN, -1.0), RangeError, "drain is -1 s", "0 to 86400 s"),
        (Measured(Quantity.BASE, None), TextError, "base is None", "a number"),
        (Measured(Quantity.OPEN, 41.0, earlier=4e6), RangeError, "open is 4e+06", "0 to 1000"),
        (Measured(Quantity.BASE, 9.0, sd=0.0), RangeError, "sd is 0", "0.001"),
        (Worked("prune"), TextError, "work is 'prune'", "wire on"),
        (Worked(Work.WIRE_ON, gauge_mm=20.0), RangeError, "gauge_mm is 20 mm", "0.2 to 12 mm"),
        (Worked(Work.WIRE_ON, metal="al"), TextError, "metal is 'al'", "al, cu"),
        (Worked(Work.WIRE_ON, strands=0), RangeError, "strands is 0", "1 to 6"),
        (Worked(Work.WIRE_OFF, bite=6), RangeError, "bite is 6", "0 to 5"),
        (Worked(Work.WIRE_OFF, bite=2.5), TextError, "bite is 2.5", "a whole number"),
        (Worked(Work.REPOT, share=30.0), RangeError, "share is 30", "0 to 1"),
        (Worked(Work.GRAFT_IN, donor=""), TextError, "donor is ''", "at least one letter"),
        (Worked(Work.LET_RUN, until="June"), TextError, "until is 'June'", "a date"),
        (Saw(Sign.BITE, grade=6), RangeError, "grade is 6", "0 to 5"),
        (Saw(Sign.SPOTS, amount="some"), TextError, "amount is 'some'", "few, some"),
        (Promised("maybe"), TextError, "what is 'maybe'", "keep, cut past later"),
        (Promised("until base"), RecordError, "until_base_mm", "until which base"),
        (Promised("until"), RecordError, "no until", "until which base or day"),
        (LookAgain("soon"), TextError, "due is 'soon'", "a date"),
        (Noted(None), TextError, "text is None", "text"),
    ],
)
def test_wrong_values_are_refused(
    body: Any, error: type[BoughwrightError], named: str, allowed: str
) -> None:
    with pytest.raises(error) as caught:
        check(event(body))
    assert named in str(caught.value)
    assert allowed in str(caught.value)


@pytest.mark.parametrize(
    ("changes", "named"),
    [
        ({"tree": None, "branch": None}, "no tree"),
        ({"tree": None}, "no tree"),
        ({"branch": None}, "no branch"),
        ({"tree": " "}, "tree"),
        ({"on": datetime(2026, 6, 9, tzinfo=UTC)}, "on is"),
        ({"on": date(1066, 1, 1)}, "on is 1066-01-01"),
        ({"recorded": datetime(2026, 6, 9)}, "recorded"),  # the fault planted
        ({"id": uuid4()}, "not of version 7"),
        ({"body": "text"}, "'str'"),
    ],
)
def test_wrong_envelopes_are_refused(changes: dict[str, Any], named: str) -> None:
    with pytest.raises(BoughwrightError, match=named):
        check(replace(event(BranchSet({"name": "1L"})), **changes))


def test_garden_events_name_no_tree() -> None:
    with pytest.raises(RecordError, match="no tree for garden"):
        check(replace(event(GardenSet({})), tree="t"))


def test_import_takes_ids_of_any_version() -> None:
    made = event(Noted("a"), id=UUID("f47ac10b-58cc-4372-a567-0e02b2c3d479"))
    check(made, imported=True)


@pytest.mark.parametrize("of", FIELDS_OF)
def test_every_field_takes_its_ends_and_unknown_but_nothing_beyond(of: str) -> None:
    for name, row in FIELDS_OF[of].items():
        check_field(of, name, None)
        if row.kind in {"number", "count"}:
            for end, beyond in ((row.low, row.low - 1), (row.high, row.high + 1)):
                if math.isfinite(end):
                    check_field(of, name, int(end) if row.kind == "count" else end)
                    with pytest.raises(RangeError, match=name):
                        check_field(of, name, int(beyond) if row.kind == "count" else beyond)
        for word in row.choices:
            check_field(of, name, word)


def test_every_measure_has_a_range_and_a_unit() -> None:
    assert set(QUANTITY_RANGE) == set(Quantity) == set(QUANTITY_UNIT)
    for what, (low, high) in QUANTITY_RANGE.items():
        check(event(Measured(what, low)))
        check(event(Measured(what, high)))

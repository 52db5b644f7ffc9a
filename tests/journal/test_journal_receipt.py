"""Receipts: what was taken, in plain English, in the grower's unit."""

from __future__ import annotations

from datetime import date
from typing import get_args
from uuid import UUID

import pytest

from boughwright.journal.events import (
    Body,
    BranchSet,
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
    StockCounted,
    TraitSet,
    TreeSet,
    Withdrawn,
    Worked,
)
from boughwright.journal.receipt import receipt
from boughwright.journal.terms import (
    Amount,
    Bend,
    Fit,
    Metal,
    Quantity,
    Sign,
    Work,
)

TODAY = date(2026, 6, 9)
AL = Metal.ALUMINIUM

CASES: list[tuple[Body, str, str]] = [
    (Worked(Work.WIRE_ON, gauge_mm=2.0, metal=AL), "2R", "2nd right: 2.0 mm aluminium on"),
    (
        Worked(
            Work.WIRE_ON,
            gauge_mm=1.5,
            metal=Metal.COPPER,
            strands=2,
            fit=Fit.TIGHT,
            bend=Bend.STRONG,
            shoots=14,
        ),
        "2R-1",
        "2nd right, 1st side shoot: 2 × 1.5 mm copper on, tight, strong bend, 14 shoots",
    ),
    (Worked(Work.WIRE_ON), "2R", "2nd right: wire on"),
    (
        Worked(Work.WIRE_OFF, bite=3, method="unwound"),
        "2R",
        "2nd right: wire off, bite 3, unwound",
    ),
    (Worked(Work.CUT, to="pair 1"), "top", "Top: cut to pair 1"),
    (
        Worked(Work.CUT, to="past node 1", because="long"),
        "4R",
        "4th right: cut past node 1, because long",
    ),
    (Worked(Work.LET_RUN, until_base_mm=14.0), "1L", "1st left: let run until base 14.0 mm"),
    (
        Worked(Work.LET_RUN, until=date(2026, 8, 1)),
        "1L",
        "1st left: let run until Sat 1 August",
    ),
    (Worked(Work.GRAFT_IN, donor="3B"), "2.5L", "2.5 left: graft in from 3rd back"),
    (Worked(Work.REPOT, amount=Amount.LIGHT, share=0.3), "", "Whole tree: repotted, light, 30 %"),
    (
        Worked(Work.LEAF_THIN, amount=Amount.MOST, zone="outer"),
        "2R",
        "2nd right: outer leaves thinned, most, in outer",
    ),
    (Worked(Work.TWO, zone="low"), "low", "Low: clusters to two"),
    (Saw(Sign.SPOTS, amount=Amount.SOME), "low left", "Low left: spots, some"),
    (Saw(Sign.SPOTS, amount=Amount.NONE), "all", "Whole tree: no spots"),
    (Saw(Sign.BITE, grade=3), "scar front", "Front scar: bite 3"),
    (
        Measured(Quantity.OPEN, 41.0, earlier=46.0),
        "scar front",
        "Front scar: open width 41.0 mm, 46.0 mm before",
    ),
    (
        Measured(Quantity.BASE, 12.1, marked=True, sd=0.2),
        "1L",
        "1st left: base 12.1 mm, give or take 0.2 mm, at a marked spot",
    ),
    (Measured(Quantity.DRAIN, 40.0), "pot", "Pot: drains in 40 s"),
    (Measured(Quantity.ROOM, 150.0), "2R", "2nd right: room to outline 150 mm"),
    (
        Promised("cut past later", because="base"),
        "3R",
        "3rd right: to be cut past later, because base",
    ),
    (
        Promised("for graft", words="2.5L"),
        "3B-2",
        "3rd back, 2nd side shoot: kept for graft 2.5 left",
    ),
    (Promised("until base", until_base_mm=14.0), "1L", "1st left: kept until base 14.0 mm"),
    (Promised("until", until=date(2026, 8, 1)), "1L", "1st left: kept until Sat 1 August"),
    (Promised("swap when", words="firm"), "top", "Top: swap when firm"),
    (LookAgain(date(2026, 6, 19)), "low", "Low: look again Fri 19 June"),
    (LookAgain(date(2027, 3, 1)), "low", "Low: look again Mon 1 March 2027"),
    (Photographed("ab" * 32, 900, 1200, "front"), "", "Whole tree: photo, from the front"),
    (
        Photographed("ab" * 32, 900, 1200, "9", note="before wiring"),
        "",
        "Whole tree: photo, from 9 o’clock: before wiring",
    ),
    (PhotoMarked("ab" * 32, 0.4, 0.6), "2R", "2nd right: marked on a photo"),
    (PhotoMarked("ab" * 32, 0.4, 0.6, label="rot"), "", "Whole tree: marked on a photo as rot"),
    (
        PhotoScaled("ab" * 32, 0.5, 0.9, 0.5, 0.1, 420.0, 0.5, 0.9),
        "",
        "Whole tree: scale of a photo set, 420 mm between two marks",
    ),
    (StockCounted(1.5, Metal.ALUMINIUM, 12.0), "", "Wire stock: 12 m of 1.5 mm aluminium"),
    (StockCounted(2.0, Metal.COPPER, grams=281.0), "", "Wire stock: 281 g of 2.0 mm copper"),
    (Noted("ask Ana"), "", "Whole tree: note: ask Ana"),
    (Noted("2R glarb", unread=True), "2R", "2nd right: kept as a note, not read: 2R glarb"),
    (GardenSet({"units": "in"}), "", "Garden: unit of lengths on screens: in"),
    (
        PlaceSet("weir", {"latitude": 46.4, "weather": None}),
        "",
        "Place weir: degrees north: 46.4 degrees; name of the weather record to use: not known",
    ),
    (
        ShelfSet("weir", "south", {"covered": True, "shade": 0.5}),
        "",
        "Shelf south at weir: kept dry from rain: yes; share of the light taken away: 0.5",
    ),
    (
        TreeSet({"show_on": date(2026, 11, 28), "trunk_goal_mm": 90}),
        "",
        "Whole tree: next show it is meant for: Sat 28 November; "
        "trunk thickness aimed at above the root flare: 90.0 mm",
    ),
    (TreeSet({}), "", "Whole tree: entered"),
    (BranchSet({"name": "1L"}), "1L", "1st left: branch name: 1L"),
    (
        FrontTurned(-30.0),
        "",
        "Whole tree: front turned 30 degrees anticlockwise, seen from above",
    ),
    (TraitSet("Acer campestre", "ring_mm", 1.2), "", "Acer campestre: ring mm set to 1.2"),
    (
        Withdrawn(UUID(int=1), because="wrong tree"),
        "",
        "Whole tree: an earlier line taken back, because wrong tree",
    ),
]


def test_every_class_of_body_has_a_receipt_here() -> None:
    assert {type(body) for body, _, _ in CASES} == set(get_args(Body))


@pytest.mark.parametrize(("body", "place", "text"), CASES, ids=[text for _, _, text in CASES])
def test_receipt(body: Body, place: str, text: str) -> None:
    assert receipt(body, place, on=TODAY, today=TODAY) == text


def test_day_is_told_when_it_is_not_today() -> None:
    body = Worked(Work.WIRE_ON, gauge_mm=2.0, metal=AL)
    told = receipt(body, "2R", on=date(2026, 6, 7), today=TODAY)
    assert told == "2nd right: 2.0 mm aluminium on, Sun 7 June"
    told = receipt(body, "2R", on=date(2025, 11, 9), today=TODAY)
    assert told == "2nd right: 2.0 mm aluminium on, Sun 9 November 2025"


def test_inches() -> None:
    # 2.0 / 25.4 = 0.079, 12.7 / 25.4 = 0.5
    body = Worked(Work.WIRE_ON, gauge_mm=2.0, metal=AL)
    assert receipt(body, "2R", on=TODAY, today=TODAY, units="in") == (
        "2nd right: 0.08 in aluminium on"
    )
    base = Measured(Quantity.BASE, 12.7)
    assert receipt(base, "2R", on=TODAY, today=TODAY, units="in") == "2nd right: base 0.50 in"


@pytest.mark.parametrize("work", Work)
def test_every_work_is_told_in_words(work: Work) -> None:
    told = receipt(Worked(work), "2R", on=TODAY, today=TODAY)
    assert told.startswith("2nd right: ")
    assert told == told.strip()

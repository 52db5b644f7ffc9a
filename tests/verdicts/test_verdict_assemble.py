"""Facts read off a real replayed tree: unknown stays unknown, and what serves what is found."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from written_facts import TODAY, calendar, window

from boughwright.journal.events import BranchSet, Event, Measured, Saw, TreeSet, Worked
from boughwright.journal.terms import Amount, Job, Metal, Quantity, Sign, Work, Zone
from boughwright.season.outlook import TenDays
from boughwright.species.tables import of_key
from boughwright.tree.replay import replay
from boughwright.verdicts.assemble import facts_of
from boughwright.verdicts.precedence import decide_all
from boughwright.verdicts.verdict import Act

if TYPE_CHECKING:
    from boughwright.verdicts.facts import BranchFacts, TreeFacts

OUTLOOK = TenDays(26.0, 11.0, None, None, None, TODAY, 0, 10)
DAY = date(2026, 6, 1)


def event(body: Any, on: date = DAY, branch: str | None = None) -> Event:
    return Event(body, on, "t1", branch)


def read(what: Quantity, value: float, branch: str, on: date = DAY) -> Event:
    return event(Measured(what, value), on, branch)


def events() -> list[Event]:
    start = date(2024, 1, 1)
    return [
        event(TreeSet({"name": "Maple", "species": "Acer campestre", "phase": "primary structure",
                       "height_mm": 440.0, "vigour": "strong", "norm_extension_mm": 200.0}), DAY),
        event(BranchSet({"name": "trunk", "kind": "trunk"}), start, "b0"),
        event(BranchSet({"name": "1L", "parent": "b0", "height_mm": 95.0, "clock": 9.0}),
              start, "b1"),
        event(BranchSet({"name": "2R", "parent": "b0", "height_mm": 99.0, "clock": 3.0}),
              start, "b2"),
        event(BranchSet({"name": "2R-1", "parent": "b2", "job": "graft feeder", "job_for": "b4"}),
              start, "b3"),
        event(BranchSet({"name": "2.5Lg", "parent": "b0", "kind": "graft", "height_mm": 155.0,
                         "grafted_on": date(2025, 6, 1), "graft_kind": "approach",
                         "donor": "b3"}), start, "b4"),
        event(BranchSet({"name": "6R", "parent": "b0", "height_mm": 335.0, "clock": 4.0}),
              start, "b5"),
        event(BranchSet({"name": "5L", "parent": "b0", "height_mm": 262.0, "clock": 10.0,
                         "shaded_by": "b5"}), start, "b6"),
        event(BranchSet({"name": "scar front", "parent": "b0", "kind": "scar"}), start, "s1"),
        read(Quantity.BASE, 12.1, "b1"), read(Quantity.TRUNK, 47.0, "b1"),
        read(Quantity.BASE, 14.6, "b2"),
        read(Quantity.OPEN, 46.0, "s1", date(2024, 6, 1)), read(Quantity.OPEN, 41.0, "s1"),
        event(Saw(Sign.CANKER), DAY, "b5"),
        event(Worked(Work.FEED), date(2023, 6, 1)),
        event(Worked(Work.REPOT, amount=Amount.HARD), date(2025, 3, 10)),
        event(Worked(Work.WIRE_ON, gauge_mm=1.5, metal=Metal.COPPER), date(2025, 11, 9), "b1"),
    ]  # fmt: skip


@pytest.fixture(scope="module")
def read_off() -> tuple[TreeFacts, dict[str, BranchFacts]]:
    tree = replay("t1", events(), until=TODAY)
    row = tree.branches.names.index("1L")
    wire = window(wire=tree.wires[0].event, row=row)
    facts, parts = facts_of(
        tree,
        species=of_key("acer-campestre"),
        calendar=calendar(),
        outlook=OUTLOOK,
        alarms=(),
        today=TODAY,
        windows=(wire,),
    )
    return facts, {part.name: part for part in parts}


def test_measures_follow_from_readings_and_the_rest_stays_unknown(
    read_off: tuple[TreeFacts, dict[str, BranchFacts]],
) -> None:
    _, parts = read_off
    one = parts["1L"]
    assert one.step == pytest.approx(12.1 / 47.0)
    assert one.reached == pytest.approx(12.1 / (47.0 * 0.35))
    assert (one.zone, one.base_age_days) == (Zone.LOWER, 8)
    two = parts["2R"]
    assert (two.trunk_mm, two.step, two.reached) == (None, None, None)
    assert (two.node_mm, two.bud_inside, two.leaves, two.job) == (None, None, None, None)
    assert two.base_forecast_mm is None


def test_what_serves_what_is_named(read_off: tuple[TreeFacts, dict[str, BranchFacts]]) -> None:
    _, parts = read_off
    assert parts["2R-1"].job is Job.GRAFT_FEEDER
    assert parts["2R-1"].job_met is False
    assert parts["2R"].feeds == ("2.5Lg",)
    assert parts["2R-1"].feeds == ("2.5Lg",)
    assert parts["1L"].feeds == ()
    assert parts["6R"].shades == ("5L",)
    assert parts["5L"].shaded_by == "6R"


def test_two_primaries_opposite_at_one_height_are_rivals(
    read_off: tuple[TreeFacts, dict[str, BranchFacts]],
) -> None:
    _, parts = read_off
    assert (parts["1L"].rival, parts["2R"].rival) == ("2R", "1L")
    assert parts["6R"].rival is None


def test_wire_signs_and_scars_reach_their_branch(
    read_off: tuple[TreeFacts, dict[str, BranchFacts]],
) -> None:
    facts, parts = read_off
    assert parts["1L"].wire is not None
    assert (parts["1L"].wire_metal, parts["1L"].wire_gauge_mm) == (Metal.COPPER, 1.5)
    assert parts["1L"].wire_on == date(2025, 11, 9)
    assert set(parts["6R"].signs) == {"canker"}
    assert "canker" in facts.disease
    scar = parts["scar front"]
    assert (scar.open_mm, scar.open_was_mm) == (41.0, 46.0)
    assert scar.open_years == pytest.approx(2.0, abs=0.01)


def test_tree_facts_of_repots_feed_and_grafts(
    read_off: tuple[TreeFacts, dict[str, BranchFacts]],
) -> None:
    facts, _ = read_off
    assert facts.weeks_since_repot == pytest.approx((TODAY - date(2025, 3, 10)).days / 7)
    assert (facts.repot_share, facts.repot_last_season, facts.repot_this_season) == (
        0.4,
        True,
        False,
    )
    assert (facts.fed_this_season, facts.seasons_unfed) == (False, 2)  # 2024 and 2025
    assert facts.unweaned_grafts == 1
    assert facts.works[0].work is Work.WIRE_ON
    assert facts.weeks_to_colour == pytest.approx((date(2026, 10, 12) - TODAY).days / 7)


def test_verdicts_come_from_a_replayed_tree(
    read_off: tuple[TreeFacts, dict[str, BranchFacts]],
) -> None:
    facts, parts = read_off
    verdicts = dict(zip(parts, decide_all(facts, parts.values()), strict=True))
    assert verdicts["1L"].act is Act.LET_RUN
    assert verdicts["2R"].act is Act.LOOK_FIRST  # the trunk beside it was never read
    assert verdicts["2R-1"].act is Act.LET_RUN
    assert verdicts["6R"].act is Act.CUT_SICK
    assert verdicts["trunk"].act is Act.LEAVE


def test_wire_on_a_zone_is_told_at_the_tree() -> None:
    zone = [
        *events(),
        event(Worked(Work.WIRE_ON, gauge_mm=1.0, metal=Metal.ALUMINIUM, zone="apex", shoots=28),
              TODAY - timedelta(days=36)),
    ]  # fmt: skip
    tree = replay("t1", zone, until=TODAY)
    on_zone = next(w for w in tree.wires if w.branch < 0)
    facts, _ = facts_of(
        tree,
        species=None,
        calendar=calendar(),
        outlook=OUTLOOK,
        alarms=(),
        today=TODAY,
        windows=(window(wire=on_zone.event, row=-1),),
    )
    assert [(z.name, z.wire_shoots, z.row) for z in facts.zone_wires] == [("apex", 28, -1)]
    assert facts.species is None
    assert facts.opposite is None

"""From a tree to the dates of its wires: looks to be made, hold window, wirings, hemispheres."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from wire_fixture import (
    FIRST,
    LEAF_OUT,
    YEAR,
    around,
    branches,
    calendar,
    clock,
    seen,
    tree,
    wire,
)

from boughwright.growth.increment import prior
from boughwright.journal.terms import Bark, Bend, Fit, Phase, Vigour, Zone
from boughwright.season.stages import DateRange, Stage
from boughwright.sources import Grade
from boughwright.species.tables import find
from boughwright.wire.inputs import WiredTree
from boughwright.wire.register import collection_windows, strongest_first, wire_windows

AUTUMN = date(YEAR - 1, 11, 25)
PHASES, VIGOURS, ZONES = list(Phase), list(Vigour), list(Zone)
TRIDENT, BEECH, ELM = (
    find(n) for n in ("Acer buergerianum", "Fagus sylvatica", "Ulmus parvifolia")
)


def rows(*kinds, running=1, **more):
    """One branch for each (phase, vigour)."""
    phase = [-1 if p is None else PHASES.index(p) for p, _ in kinds]
    vigour = [-1 if v is None else v.value for _, v in kinds]
    return branches(phase=phase, vigour=vigour, outer=[1] * len(kinds),
                    running=[running] * len(kinds), **more)  # fmt: skip


def windows(parts, wires, *, species=TRIDENT, today=date(YEAR, 2, 1), **given):
    season = given.pop("season", None) or calendar(today, **given)
    return wire_windows(WiredTree(tree(parts, tuple(wires)), species, clock(), season))


STRONG = (Phase.PRIMARY, Vigour.STRONG)
WEAK = (Phase.PRIMARY, Vigour.WEAK)
REFINED = (Phase.REFINEMENT, Vigour.STEADY)


def test_only_wire_that_is_on_has_a_window_and_order_is_kept():
    off = wire(2, 0, AUTUMN, off=date(YEAR, 1, 10), off_grade=0)
    found = windows(rows(STRONG, WEAK), [wire(1, 1, AUTUMN), off, wire(3, 0, AUTUMN)])
    assert [w.wire.int for w in found] == [1, 3]
    assert [w.row for w in found] == [1, 0]


def test_trees_do_not_depend_on_their_company():
    one = WiredTree(tree(rows(STRONG), (wire(1, 0, AUTUMN),)), TRIDENT, clock(),
                    calendar(date(YEAR, 2, 1)))  # fmt: skip
    bare = replace(one, tree=tree(rows(STRONG), ()))
    other = replace(one, species=ELM)
    together = collection_windows([bare, one, other, bare])
    assert together == [(), wire_windows(one), wire_windows(other), ()]
    assert collection_windows([]) == []


def test_autumn_wire_is_looked_at_three_weeks_after_burst_at_the_latest():
    burst = LEAF_OUT - timedelta(days=10)
    (slow,) = windows(rows(REFINED, running=0), [wire(1, 0, AUTUMN)], species=BEECH)
    assert slow.line.early is not None
    assert slow.line.early > burst + timedelta(days=21)
    assert slow.look_by == burst + timedelta(days=21)
    (fast,) = windows(rows(STRONG), [wire(1, 0, AUTUMN)])
    assert fast.look_by == fast.line.early
    assert fast.look_by < burst + timedelta(days=21)


@pytest.mark.parametrize(("after", "counts"), [(5, False), (13, False), (14, True), (21, True)])
def test_a_look_soon_after_burst_is_not_the_one_at_three_weeks(after, counts):
    burst = LEAF_OUT - timedelta(days=10)
    looked = wire(1, 0, AUTUMN, looks=((burst + timedelta(days=after), 0),))
    (found,) = windows(rows(REFINED, running=0), [looked], species=BEECH)
    assert (found.look_by == burst + timedelta(days=21)) is not counts
    if counts:
        assert found.look_by == found.line.early


def test_looks_that_cannot_be_right_are_told():
    early, late = LEAF_OUT + timedelta(days=5), LEAF_OUT + timedelta(days=40)
    clash, fine = windows(
        rows(WEAK),
        [wire(1, 0, AUTUMN, looks=((early, 4), (late, 0))), wire(2, 0, AUTUMN, looks=((late, 0),))],
        today=late,
    )
    assert clash.disagree
    assert not fine.disagree
    assert clash.likely_grade >= 4
    assert clash.off_by is not None
    assert clash.off_by <= early


def test_flush_wire_has_no_burst_cap():
    on = LEAF_OUT + timedelta(days=20)
    (slow,) = windows(rows(REFINED, running=0), [wire(1, 0, on)], species=BEECH)
    assert slow.look_by is not None
    assert slow.look_by > LEAF_OUT + timedelta(days=30)


def test_common_practice_elm_type_wire_is_looked_at_from_swell_and_then_every_ten_days():
    # The likely swell: its early edge may lie weeks before, in deep rest, on real weather. Where a
    # first line may come sooner, that leads.
    swell = LEAF_OUT - timedelta(days=24)
    (fresh,) = windows(rows(REFINED, running=0), [wire(1, 0, AUTUMN)], species=ELM)
    assert fresh.look_by == swell
    assert fresh.line.early is None or fresh.line.early > swell
    looked = wire(1, 0, AUTUMN, looks=((swell, 0),))
    (again,) = windows(rows(REFINED, running=0), [looked], species=ELM)
    assert again.look_by == swell + timedelta(days=10)


def test_every_wire_gets_a_look_in_late_thickening():
    late = LEAF_OUT + timedelta(days=122)
    on = late - timedelta(days=60)
    quiet = wire(1, 0, on, fit=Fit.LOOSE, looks=((late - timedelta(days=30), 0),))
    (found,) = windows(rows(REFINED, running=0), [quiet], species=BEECH, today=late)
    assert found.look_by == late + timedelta(days=14)
    done = replace(quiet, looks=((late + timedelta(days=1), 0),))
    (after,) = windows(rows(REFINED, running=0), [done], species=BEECH, today=late)
    assert after.look_by is None


@pytest.mark.parametrize(
    ("phase", "share"),
    [(Phase.TRUNK, 0.25), (Phase.PRIMARY, 0.25), (Phase.RAMIFICATION, 0.10),
     (Phase.REFINEMENT, 0.05), (None, 0.05)],
)  # fmt: skip
def test_allowed_sink_by_phase(phase, share):
    (found,) = windows(rows((phase, Vigour.STRONG)), [wire(1, 0, AUTUMN, gauge_mm=3.0)])
    assert found.allowed_sink == share
    assert found.off_by == found.allowed.early
    if share == 0.05:
        assert found.allowed == found.line
    else:
        assert found.off_by is not None
        assert found.line.early is not None
        assert found.off_by > found.line.early


def test_hold_window_runs_from_set_to_off_by():
    # strong bend, thin base: 10 % of 2 mm is 0.1 mm of radius, set before the mark
    wires = [wire(1, 0, AUTUMN, bend=Bend.STRONG, base_mm=2.0),
             wire(2, 0, AUTUMN, bend=Bend.GENTLE, base_mm=8.0)]  # fmt: skip
    holds, not_yet = windows(rows(STRONG), wires)
    assert holds.hold_from == holds.set.likely
    assert holds.hold_from is not None
    assert holds.off_by is not None
    assert not_yet.off_by is not None
    assert not_yet.hold_from is None or not_yet.hold_from > not_yet.off_by
    # (1.299 - 1) * 8 / 2 = 1.196 mm over 0.15 slack + 0.25 * 1.5 * 0.8 = 0.30 -> 2.66, three
    assert not_yet.wirings == 3


def test_unknown_base_leaves_set_and_wirings_unknown():
    (found,) = windows(rows(STRONG), [wire(1, 0, AUTUMN, base_mm=np.nan)])
    assert (found.set.early, found.set.likely, found.set.late) == (None, None, None)
    assert np.isnan(found.set.not_this_season)
    assert found.hold_from is None
    assert found.wirings == -1
    assert found.off_by is not None


def test_without_species_only_the_looks_every_wire_gets_are_dated():
    (found,) = windows(rows(STRONG), [wire(1, 0, AUTUMN)], species=None)
    assert found.look_by == LEAF_OUT - timedelta(days=10) + timedelta(days=21)
    assert found.off_by is None
    assert found.line.likely is None
    assert np.isnan(found.line.not_this_season)
    assert found.likely_grade == -1
    assert found.grade is Grade.GUESS


@pytest.mark.parametrize("phase", [*Phase, None])
@pytest.mark.parametrize("grade", [3, 4, 5])
def test_a_bite_that_was_seen_is_due_now_in_any_phase(phase, grade):
    look = LEAF_OUT + timedelta(days=12)
    bitten = wire(1, 0, AUTUMN, looks=((look, grade),))
    (found,) = windows(rows((phase, Vigour.WEAK)), [bitten], today=look)
    assert found.off_by is not None
    assert found.off_by <= look
    assert found.look_by is not None
    assert found.look_by <= look
    assert found.seen_grade == grade
    assert found.seen_on == look
    assert found.likely_grade >= grade


def test_a_line_that_was_seen_is_due_now_on_refined_branches_only():
    look = LEAF_OUT + timedelta(days=25)
    marked = wire(1, 0, AUTUMN, looks=((look, 2),), gauge_mm=2.5)
    (refined,) = windows(rows(REFINED), [marked], today=look)
    assert refined.off_by is not None
    assert refined.off_by <= look
    (structure,) = windows(rows(STRONG), [marked], today=look)
    assert structure.off_by is not None
    assert structure.off_by > look
    assert structure.look_by is not None
    assert structure.look_by == min(look + timedelta(days=7), structure.off_by)


def test_a_look_that_shows_nothing_moves_every_date_later():
    look = LEAF_OUT + timedelta(days=15)
    plain, looked = windows(
        rows(STRONG), [wire(1, 0, AUTUMN), wire(2, 0, AUTUMN, looks=((look, 0),))]
    )
    for name in ("line", "allowed", "bitten", "deep"):
        assert getattr(looked, name).early > getattr(plain, name).early
    assert looked.look_by > look
    assert looked.share_used <= plain.share_used


def test_common_practice_strongest_bites_first_apex_before_the_weak_inside():
    """One tree, one day of wiring: apex strong, middle steady, lower inner weak."""
    parts = branches(
        phase=[PHASES.index(Phase.PRIMARY)] * 3,
        vigour=[Vigour.WEAK.value, Vigour.STEADY.value, Vigour.STRONG.value],
        zone=[ZONES.index(Zone.LOWER), ZONES.index(Zone.MIDDLE), ZONES.index(Zone.APEX)],
        outer=[0, 1, 1],
        running=[1, 1, 1],
    )
    found = windows(parts, [wire(i, i, AUTUMN) for i in range(3)])
    assert [w.row for w in strongest_first(found)] == [2, 1, 0]
    apex, weak = found[2], found[0]
    assert apex.bitten.likely is not None
    # the weak branch most likely shows no line on the day the apex is bitten
    assert weak.line.likely is None or weak.line.likely > apex.bitten.likely


def test_wire_on_a_zone_is_judged_by_its_fastest_strictest_branch():
    parts = rows(STRONG, REFINED, WEAK, zone=[ZONES.index(Zone.APEX)] * 2 + [0])
    alone, zone = windows(parts, [wire(1, 0, AUTUMN), wire(2, -1, AUTUMN, zone="apex")])
    assert zone.row == -1
    assert zone.allowed_sink == 0.05
    assert zone.line == alone.line
    assert zone.off_by == alone.line.early


def test_bark_of_the_branch_goes_before_that_of_the_species():
    thin, corky = windows(
        rows(STRONG, STRONG, bark=[list(Bark).index(Bark.SMOOTH), list(Bark).index(Bark.CORKY)]),
        [wire(1, 0, AUTUMN, gauge_mm=4.0), wire(2, 1, AUTUMN, gauge_mm=4.0)],
    )
    assert corky.line.early > thin.line.early
    assert corky.deep == thin.deep


def test_ring_still_to_be_laid_last_summer_counts():
    august, november = windows(rows(STRONG), [wire(1, 0, date(YEAR - 1, 8, 1)), wire(2, 0, AUTUMN)])
    assert august.line.early < november.line.early


@pytest.mark.parametrize("speed", [1.0, 0.6, 0.4])
def test_a_short_season_leaves_no_ring_for_the_winter(speed):
    # Of a season with 0.4 of the usual effective days the curve lays about two thirds; what it
    # did not lay is not laid under wire put on after leaf fall.
    usual = clock()
    short = replace(clock(date(YEAR - 1, 1, 1)), effective_days=speed * usual.effective_days)
    wired = WiredTree(tree(rows(STRONG), (wire(1, 0, AUTUMN),)), TRIDENT, usual,
                      calendar(FIRST + timedelta(days=31)), before=short)  # fmt: skip
    (found,) = wire_windows(wired)
    assert max(found.share_used) == 0.0
    (plain,) = wire_windows(replace(wired, before=usual))
    assert found.line == plain.line


def test_a_leaf_out_that_may_be_late_is_not_taken_to_be_early_too():
    # Few effective days lie in the weeks before leaf-out and many in those after: the early edge
    # of the line hangs on the early edge of leaf-out alone.
    usual = seen(LEAF_OUT)
    early = LEAF_OUT - timedelta(days=12)
    first, second = (
        windows(rows(STRONG), [wire(1, 0, AUTUMN)],
                leaf_out=replace(usual, early=early, late=LEAF_OUT + timedelta(days=late),
                                 seen=False))[0]
        for late in (12, 40)
    )  # fmt: skip
    assert first.line.early is not None
    assert abs((first.line.early - second.line.early).days) <= 1
    assert second.line.late > first.line.late


def test_wire_of_the_autumn_before_last_has_a_whole_ring_behind_it():
    old, new = windows(rows(STRONG), [wire(1, 0, date(YEAR - 2, 11, 25)), wire(2, 0, AUTUMN)])
    assert old.bitten.likely == FIRST
    assert old.likely_grade >= 3
    assert new.likely_grade == 0


def test_rate_learned_from_readings_replaces_the_starting_value():
    parts = rows(STRONG)
    wired = WiredTree(tree(parts, (wire(1, 0, AUTUMN),)), TRIDENT, clock(),
                      calendar(date(YEAR, 2, 1)))  # fmt: skip
    start = prior(TRIDENT, phase=parts.phase, vigour=parts.vigour, outer=parts.outer,
                  running=parts.running)  # fmt: skip
    (plain,), (same,) = wire_windows(wired), wire_windows(replace(wired, increment=start))
    assert plain == same
    slow = replace(start, log_mean=start.log_mean - 2.0, log_sd=start.log_sd * 0.2,
                   grade=np.zeros_like(start.grade))  # fmt: skip
    (learned,) = wire_windows(replace(wired, increment=slow))
    assert learned.line.early > plain.line.early
    assert learned.grade < plain.grade


def test_an_uncertain_leaf_out_widens_the_dates_and_asks_earlier():
    sure, unsure = (
        windows(rows(STRONG), [wire(1, 0, AUTUMN)], leaf_out=known)[0]
        for known in (seen(LEAF_OUT), around(LEAF_OUT, 16))
    )
    assert unsure.line.early < sure.line.early
    assert unsure.line.late > sure.line.late


def test_a_second_push_of_a_cut_branch_holds_back_the_spring_curve():
    push = {Stage.SECOND_PUSH: seen(LEAF_OUT + timedelta(days=55))}
    plain, pushed = (
        windows(rows(REFINED, running=0), [wire(1, 0, AUTUMN)], extra=extra)[0]
        for extra in ({}, push)
    )
    assert pushed.line.likely > plain.line.likely


def test_grade_is_that_of_the_weakest_input():
    noted, unknown = windows(rows(STRONG), [wire(1, 0, AUTUMN), wire(2, 0, AUTUMN, fit=None)])
    assert noted.grade >= TRIDENT.grade("increment_developing_mm")
    assert unknown.grade is Grade.GUESS


def test_south_mirrors_north_within_a_day():
    parts = rows(STRONG, WEAK)
    north = windows(parts, [wire(i, i, AUTUMN) for i in range(2)])
    first = date(YEAR, 7, 1)
    shift = first - FIRST
    south_clock = clock(first)
    season = calendar(date(YEAR, 2, 1) + shift, first=first)
    wires = tuple(wire(i, i, AUTUMN + shift) for i in range(2))
    south = wire_windows(WiredTree(tree(parts, wires), TRIDENT, south_clock, season))
    for one, other in zip(north, south, strict=True):
        assert abs(other.look_by - one.look_by - shift) <= timedelta(days=1)
        assert abs(other.off_by - one.off_by - shift) <= timedelta(days=1)


def test_dates_of_a_look_never_come_before_it():
    look = LEAF_OUT + timedelta(days=30)
    (found,) = windows(rows(STRONG), [wire(1, 0, AUTUMN, looks=((look, 1),))], today=look)
    for name in ("line", "allowed", "bitten", "deep"):
        early = getattr(found, name).early
        assert early is None or early >= look


def test_unknown_leaf_out_leaves_growth_unknown():
    nothing = DateRange(None, None, None)
    plain = calendar(date(YEAR, 2, 1))
    season = replace(plain, leaf_out=nothing)
    (found,) = windows(rows(STRONG), [wire(1, 0, AUTUMN)], season=season)
    assert found.off_by is None
    assert np.isnan(found.allowed.not_this_season)
    assert found.look_by == plain.starts[Stage.BURST].likely + timedelta(days=21)

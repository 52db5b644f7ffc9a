"""A garden folder written and read again: the whole record, and the readable tables alone."""

from __future__ import annotations

import tempfile
from dataclasses import fields as fields_of_class
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from uuid import UUID

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from tables_events import BRANCHES, DAY, days, journals, readings

from boughwright.intake.folder import read_folder
from boughwright.journal.events import (
    BranchSet,
    Event,
    FrontTurned,
    LookAgain,
    Measured,
    Promised,
    Saw,
    TraitSet,
    TreeSet,
    Withdrawn,
    Worked,
    once,
    standing,
)
from boughwright.journal.garden import garden_of
from boughwright.journal.terms import Amount, Metal, Phase, Quantity, Sign, Vigour, Work
from boughwright.report.tables import garden_tables, write_folder
from boughwright.season.record import Origin, Weather
from boughwright.tree.replay import replay

NOW = datetime(2028, 6, 9, 20, tzinfo=UTC)


def written(events, folder, weather=None):
    garden = garden_of(standing(events))
    write_folder(folder, events=events, garden=garden, weather=weather or {})
    return folder


def read(folder, **others):
    return read_folder(folder, **{"on_bad": "refuse", "now": NOW, "who": "me", **others})


@settings(max_examples=600, deadline=None, report_multiple_bugs=False)
@given(journals())
def test_all_that_was_written_is_read(events):
    with tempfile.TemporaryDirectory() as place:
        first = written(events, Path(place, "one"))
        back = read(first)
        assert back.refused == ()
        assert back.whole
        assert {event.id: event for event in back.events} == once(events)
        assert standing(back.events) == standing(events)
        assert back.new_to(events) == ()
        second = written(back.events, Path(place, "two"))
        for file in first.iterdir():
            assert (second / file.name).read_bytes() == file.read_bytes()


# --- the readable tables alone -------------------------------------------------------------------

small = st.floats(1, 60).map(lambda value: round(value, 3))
words = st.sampled_from(["", "=now", "-2 buds", "because, so; there"])


def set_on_branch():
    return st.fixed_dictionaries(
        {},
        optional={
            "height_mm": small,
            "clock": st.none() | st.floats(1, 12).map(lambda hour: round(hour, 1)),
            "target_step": small.map(lambda value: (value + 2) / 100),
            "vigour": st.none() | st.sampled_from([v.word for v in Vigour]),
            "phase": st.none() | st.sampled_from([p.value for p in Phase]),
            "wanted": st.booleans(),
            "job": st.none() | st.sampled_from(["thicken", "sacrifice"]),
            "job_until_base_mm": st.none() | small,
            "leaves": st.integers(0, 20),
            "lips_joined": st.none() | st.booleans(),
            "shaded_by": st.sampled_from(["b2", "bt"]),
            "job_for": st.sampled_from(["bs", "b1"]),
            "provisional_since": st.none() | days,
        },
    ).map(BranchSet)


def set_on_tree():
    return st.fixed_dictionaries(
        {},
        optional={
            "owner": st.none() | words.filter(bool),
            "height_mm": small,
            "vigour": st.none() | st.sampled_from([v.word for v in Vigour]),
            "show_on": st.none() | days,
            "fruiting": st.booleans(),
            "pot_volume_l": st.none() | small,
        },
    ).map(TreeSet)


def done():
    wired = st.builds(Worked, st.sampled_from([Work.WIRE_ON, Work.WIRE_OFF]),
                      gauge_mm=st.none() | small.map(lambda v: 1 + v / 20),
                      metal=st.none() | st.sampled_from(Metal), bite=st.none() | st.integers(0, 5),
                      method=st.sampled_from(["", "cut"]), because=words)  # fmt: skip
    ran = st.builds(Worked, st.just(Work.LET_RUN), until_base_mm=st.none() | small)
    cut = st.builds(Worked, st.just(Work.CUT), to=st.sampled_from(["pair 1", "base"]))
    graft = st.builds(Worked, st.just(Work.GRAFT_IN), method=st.just("approach"),
                      donor=st.just("b2"))  # fmt: skip
    leaf = st.builds(Worked, st.just(Work.LEAF_THIN), amount=st.sampled_from(Amount),
                     share=st.none() | st.floats(0, 1), minutes=st.none() | st.floats(0, 60),
                     zone=st.sampled_from(["", "apex", "low outer left"]))  # fmt: skip
    return st.one_of(wired, ran, cut, graft, leaf)


@st.composite
def one_tree(draw):
    """Return the journal of a tree with six named parts and much that happened to it."""
    told = [(TreeSet({"name": "Old elm", "species": "Ulmus parvifolia"}), None, DAY)]
    told += [(BranchSet({"name": name}), branch, DAY) for branch, name in BRANCHES.items()]
    for _ in range(draw(st.integers(0, 14))):
        branch = draw(st.sampled_from(sorted(BRANCHES)))
        body = draw(
            st.one_of(
                set_on_branch(), set_on_tree(), done(), readings(),
                st.builds(Saw, st.sampled_from(Sign), grade=st.none() | st.integers(0, 5)),
                st.builds(Promised, st.sampled_from(["keep", "for scar"]), words=words),
                st.builds(LookAgain, days),
                st.builds(FrontTurned, st.sampled_from([30.0, 90.0, -60.0])),
                st.just(TraitSet("Ulmus parvifolia", "leaf_cm2", 4.5)),
            )
        )  # fmt: skip
        whole = isinstance(body, TreeSet | FrontTurned | TraitSet)
        told.append((body, None if whole else branch, draw(days)))
    return [
        Event(body, on, "elm", branch, "me",
              datetime(on.year, on.month, on.day, 18, tzinfo=UTC) + timedelta(seconds=number),
              UUID(int=number + 1))
        for number, (body, branch, on) in enumerate(told)
    ]  # fmt: skip


def same_arrays(one, other):
    for field in fields_of_class(one):
        mine, theirs = getattr(one, field.name), getattr(other, field.name)
        if isinstance(mine, np.ndarray):
            np.testing.assert_allclose(mine, theirs, atol=1e-9, err_msg=field.name)
        else:
            assert mine == theirs, field.name


def told(tree):
    """Return what a tree tells, without the ids of the records behind it."""
    rows = [
        [(m.on, m.branch, m.what, m.value, m.sd, m.how, m.who, repr(m.earlier))
         for m in tree.measures],
        [(w.on, w.branch, w.zone, repr(w.gauge_mm), w.metal, w.strands, repr(w.base_mm), w.looks,
          w.off, w.off_grade, w.off_method) for w in tree.wires],
        [(s.on, s.branch, s.sign, s.grade, s.amount, s.zone) for s in tree.seen],
        [(p.on, p.branch, p.what) for p in tree.promises],
        [(k.on, k.due, k.branch, k.zone) for k in tree.looks],
        [(w.on, w.branch, w.what.work, w.what.because, w.what.minutes, w.what.share, w.what.to,
          w.what.zone, w.what.donor, w.who) for w in tree.works],
        sorted((c.kind, c.branch, c.what) for c in tree.contradictions),
    ]  # fmt: skip
    return dict(tree.facts), dict(tree.traits), rows


@settings(max_examples=1500, deadline=None, report_multiple_bugs=False)
@given(one_tree())
def test_the_readable_tables_alone_give_the_same_tree(events):
    with tempfile.TemporaryDirectory() as place:
        folder = written(events, Path(place, "one"))
        (folder / "records.csv").unlink()
        back = read(folder)
    assert back.refused == ()
    before, after = replay("elm", events), replay("elm", back.events)
    assert told(after) == told(before)
    assert abs(after.front_deg - before.front_deg) < 1e-9
    same_arrays(after.branches, before.branches)


def test_old_names_come_back_with_their_days():
    """4R became 5R on 1 March 2026 and 5.5R on 2 March 2027, as a yearly tidying does."""
    events = [Event(TreeSet({"name": "Elm"}), DAY, "elm", id=UUID(int=9), recorded=NOW)]
    for number, (name, on) in enumerate(
        [("4R", DAY), ("5R", date(2026, 3, 1)), ("5.5R", date(2027, 3, 2))]
    ):
        events.append(Event(BranchSet({"name": name}), on, "elm", "b4",
                            id=UUID(int=number + 1), recorded=NOW))  # fmt: skip
    with tempfile.TemporaryDirectory() as place:
        folder = written(events, Path(place, "one"))
        text = (folder / "branches.csv").read_text("utf-8")
        assert "4R until 2026-03-01; 5R until 2027-03-02" in text
        (folder / "records.csv").unlink()
        tree = replay("elm", read(folder).events)
    row = tree.branches.names.index("5.5R")
    assert tree.branches.aliases[row] == ("4R", "5R")
    assert tree.branches.alias_until[row] == (date(2026, 3, 1), date(2027, 3, 2))


def test_withdrawn_records_stay_in_the_record_and_out_of_the_tables():
    kept = Event(Measured(Quantity.BASE, 12.5), DAY, "elm", "b1", id=UUID(int=1), recorded=NOW)
    wrong = Event(Measured(Quantity.BASE, 99.5), DAY, "elm", "b1", id=UUID(int=2), recorded=NOW)
    taken = Event(Withdrawn(wrong.id), DAY, id=UUID(int=3), recorded=NOW)
    events = [wrong, taken, kept]
    with tempfile.TemporaryDirectory() as place:
        folder = written(events, Path(place, "one"))
        assert "99.5" in (folder / "records.csv").read_text("utf-8")
        assert "99.5" not in (folder / "measures.csv").read_text("utf-8")
        assert "99.5" not in (folder / "branches.csv").read_text("utf-8")
        assert len(read(folder).events) == 3


def test_tables_do_not_depend_on_the_order_of_arrival():
    events = [
        Event(Measured(Quantity.BASE, 10.0 + n), DAY + timedelta(days=n), "elm", "b1",
              id=UUID(int=n + 1), recorded=NOW)
        for n in range(5)
    ]  # fmt: skip
    garden = garden_of([])
    assert garden_tables(events, garden) == garden_tables(events[::-1], garden)


def test_weather_comes_back_and_filled_days_do_not():
    """Four days: read, read with nothing known, forecast, filled from its neighbours."""
    nan = float("nan")
    weather = Weather(
        "čuvar/1", date(2026, 6, 7), np.array([9.5, nan, 11.0, 10.0]),
        np.array([21.25, nan, 24.0, 20.0]), np.array([0.0, nan, 2.5, 1.5]), np.full(4, nan),
        np.array([1.5, nan, nan, nan]), np.full(4, nan),
        np.array([Origin.READ, Origin.READ, Origin.FORECAST, Origin.FILLED], np.int8), np.zeros(4),
    )  # fmt: skip
    event = Event(TreeSet({"name": "Elm"}), DAY, "elm", id=UUID(int=1), recorded=NOW)
    with tempfile.TemporaryDirectory() as place:
        folder = written([event], Path(place, "one"), {"čuvar/1": weather})
        back = read(folder, now=datetime(2026, 6, 8, tzinfo=UTC))
    days_read = back.weather["čuvar/1"]
    assert [(d.on.day, d.origin, d.t_min_c, d.t_max_c, d.rain_mm) for d in days_read[:2]] == [
        (7, Origin.READ, 9.5, 21.25, 0.0), (9, Origin.FORECAST, 11.0, 24.0, 2.5),
    ]  # fmt: skip
    assert days_read[0].wind_ms == 1.5
    assert np.isnan(days_read[0].sun_mj)
    # Of the filled day only the rain was known; it lies ahead, so it can only be a forecast.
    assert len(days_read) == 3
    assert days_read[2].origin == Origin.FORECAST
    assert np.isnan(days_read[2].t_min_c)
    assert days_read[2].rain_mm == 1.5

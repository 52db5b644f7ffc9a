"""Hypothesis strategies for every kind of body, and for whole events."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from uuid import UUID

from hypothesis import strategies as st

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
    StockCounted,
    TraitSet,
    TreeSet,
    Withdrawn,
    Worked,
)
from boughwright.journal.terms import (
    PROMISES,
    Amount,
    Bend,
    Fit,
    Metal,
    Quantity,
    Sign,
    Work,
)

DAYS = st.dates(date(1990, 1, 1), date(2090, 12, 31))
TEXT = st.text(st.characters(codec="utf-8"), max_size=30)
NUMBERS = st.floats(allow_nan=False, allow_infinity=False)
VALUES = st.one_of(st.none(), st.booleans(), st.integers(), NUMBERS, TEXT, DAYS)
FIELDS = st.dictionaries(TEXT, VALUES, max_size=5)
IDS = st.integers(0, 2**128 - 1).map(
    lambda n: UUID(int=n & ~(0xF << 76) & ~(0x3 << 62) | 0x7 << 76 | 0x2 << 62)
)
"""Any UUID of version 7."""


def maybe(values: st.SearchStrategy) -> st.SearchStrategy:
    """The values, or None."""
    return st.none() | values


BODIES = {
    GardenSet: st.builds(GardenSet, FIELDS),
    PlaceSet: st.builds(PlaceSet, TEXT, FIELDS),
    ShelfSet: st.builds(ShelfSet, TEXT, TEXT, FIELDS),
    TreeSet: st.builds(TreeSet, FIELDS),
    BranchSet: st.builds(BranchSet, FIELDS),
    FrontTurned: st.builds(FrontTurned, NUMBERS),
    TraitSet: st.builds(TraitSet, TEXT, TEXT, VALUES),
    Measured: st.builds(
        Measured,
        st.sampled_from(Quantity),
        NUMBERS,
        marked=st.booleans(),
        sd=maybe(NUMBERS),
        earlier=maybe(NUMBERS),
        how=TEXT,
    ),
    Worked: st.builds(
        Worked,
        st.sampled_from(Work),
        amount=maybe(st.sampled_from(Amount)),
        gauge_mm=maybe(NUMBERS),
        metal=maybe(st.sampled_from(Metal)),
        strands=st.integers(1, 6),
        bend=maybe(st.sampled_from(Bend)),
        fit=maybe(st.sampled_from(Fit)),
        bite=maybe(st.integers(0, 5)),
        method=TEXT,
        to=TEXT,
        donor=maybe(TEXT),
        share=maybe(NUMBERS),
        zone=TEXT,
        shoots=maybe(st.integers(1, 500)),
        until_base_mm=maybe(NUMBERS),
        until=maybe(DAYS),
        minutes=maybe(NUMBERS),
        because=TEXT,
    ),
    Saw: st.builds(
        Saw,
        st.sampled_from(Sign),
        grade=maybe(st.integers(0, 5)),
        amount=maybe(st.sampled_from(Amount)),
        zone=TEXT,
        because=TEXT,
    ),
    Promised: st.builds(
        Promised,
        st.sampled_from(PROMISES),
        until_base_mm=maybe(NUMBERS),
        until=maybe(DAYS),
        words=TEXT,
        because=TEXT,
        zone=TEXT,
    ),
    LookAgain: st.builds(LookAgain, DAYS, zone=TEXT),
    Noted: st.builds(Noted, TEXT, unread=st.booleans()),
    Photographed: st.builds(
        Photographed,
        TEXT,
        st.integers(1, 20_000),
        st.integers(1, 20_000),
        TEXT,
        dated=TEXT,
        mm_per_px=maybe(NUMBERS),
        scale_how=TEXT,
        note=TEXT,
    ),
    PhotoMarked: st.builds(
        PhotoMarked, TEXT, NUMBERS, NUMBERS, maybe(NUMBERS), maybe(NUMBERS), label=TEXT
    ),
    PhotoScaled: st.builds(
        PhotoScaled,
        TEXT,
        *[NUMBERS] * 5,
        soil_x=maybe(NUMBERS),
        soil_y=maybe(NUMBERS),
        how=TEXT,
    ),
    StockCounted: st.builds(
        StockCounted,
        NUMBERS,
        st.sampled_from(Metal),
        metres=maybe(NUMBERS),
        grams=maybe(NUMBERS),
    ),
    Withdrawn: st.builds(Withdrawn, IDS, because=TEXT),
}
"""A strategy for each class of body."""

MOMENTS = st.datetimes(
    datetime(2020, 1, 1),
    datetime(2030, 1, 1),
    timezones=st.just(UTC),
)

EVENTS = st.builds(
    Event,
    st.one_of(*BODIES.values()),
    DAYS,
    tree=maybe(TEXT),
    branch=maybe(TEXT),
    who=TEXT,
    recorded=MOMENTS,
    id=IDS,
)


@st.composite
def journals(draw: st.DrawFn) -> list[Event]:
    """Notes, and withdrawals of notes and of other withdrawals, on clocks that disagree."""
    size = draw(st.integers(0, 12))
    ids = draw(st.lists(IDS, min_size=size, max_size=size, unique=True))
    events = []
    for index, own in enumerate(ids):
        target = draw(maybe(st.integers(0, index - 1))) if index else None
        body = Noted(str(index)) if target is None else Withdrawn(ids[target])
        skew = timedelta(minutes=draw(st.integers(-600, 600)))
        recorded = datetime(2026, 6, 9, 12, tzinfo=UTC) + skew
        on = date(2026, 6, 1) + timedelta(days=draw(st.integers(0, 8)))
        events.append(Event(body, on, tree="t", recorded=recorded, id=own))
    return events

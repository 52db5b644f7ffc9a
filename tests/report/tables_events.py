"""Random journals for the tests of the garden folder, each event one that could be entered."""

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
    PlaceSet,
    Promised,
    Saw,
    ShelfSet,
    TraitSet,
    TreeSet,
    Withdrawn,
    Worked,
)
from boughwright.journal.fields import (
    BRANCH_FIELDS,
    GARDEN_FIELDS,
    PLACE_FIELDS,
    QUANTITY_RANGE,
    SHELF_FIELDS,
    TREE_FIELDS,
)
from boughwright.journal.terms import Amount, Bend, Fit, Metal, Quantity, Sign, Work

DAY = date(2025, 1, 10)
BRANCHES = {"b1": "1L", "b2": "2R", "b21": "2R-1", "bt": "top", "bg": "2.5Lg", "bs": "scar front"}

any_text = st.one_of(
    st.sampled_from(
        ["=1+1", "-end", "+44", "@home", "'=x", "?", "'", "a,b;c", 'say "so"', "é\r\nü"]
    ),
    st.text(st.characters(exclude_categories=("Cs",), exclude_characters="\x00"), max_size=12),
)
"""Any words a grower may enter, those that spreadsheets trip over most of all."""

tidy_text = st.sampled_from(["=1+1", "-end", "?", "'", "a,b;c", 'say "so"', "two\nlines", "čar"])
days = st.integers(0, 900).map(lambda n: DAY + timedelta(days=n))


def value_of(field, text):
    """Return values that a field may hold."""
    low, high = max(field.low, -1e4), min(field.high, 1e4)
    if field.kind == "choice":
        return st.sampled_from(field.choices)
    if field.kind == "number":
        return st.floats(low, high).filter(lambda number: number == 0 or abs(number) > 1e-6)
    if field.kind == "count":
        return st.integers(int(low), int(high))
    if field.kind == "yes-no":
        return st.booleans()
    return days if field.kind == "date" else text.filter(str.strip)


def fields_of(table, text, *, leave=()):
    """Return some fields of a table, now and then one taken back to unknown."""
    return st.fixed_dictionaries(
        {},
        optional={
            name: st.one_of(value_of(field, text), st.none())
            for name, field in table.items()
            if name not in leave
        },
    )


quantities = st.sampled_from(Quantity)


@st.composite
def readings(draw):
    what = draw(quantities)
    value = st.floats(*QUANTITY_RANGE[what])
    return Measured(what, draw(value), draw(st.booleans()), draw(st.none() | st.floats(0.01, 9)),
                    draw(st.none() | value))  # fmt: skip


def works(text):
    maybe = st.none()
    return st.builds(
        Worked, st.sampled_from(Work), amount=maybe | st.sampled_from(Amount),
        gauge_mm=maybe | st.floats(0.5, 6), metal=maybe | st.sampled_from(Metal),
        strands=st.integers(1, 3), bend=maybe | st.sampled_from(Bend),
        fit=maybe | st.sampled_from(Fit), bite=maybe | st.integers(0, 5), to=text,
        share=maybe | st.floats(0, 1), shoots=maybe | st.integers(1, 50),
        minutes=maybe | st.floats(0, 90), because=text, until=maybe | days,
    )  # fmt: skip


def bodies(text):
    """Return bodies of every kind that belongs to a tree or to one of its branches."""
    return st.one_of(
        st.builds(TreeSet, fields_of(TREE_FIELDS, text)),
        st.builds(BranchSet, fields_of(BRANCH_FIELDS, text)),
        st.builds(FrontTurned, st.floats(-180, 180)),
        readings(),
        works(text),
        st.builds(Saw, st.sampled_from(Sign), grade=st.none() | st.integers(0, 5), because=text),
        st.builds(Promised, st.sampled_from(["keep", "cut past later"]), words=text),
        st.builds(LookAgain, days),
        st.builds(Noted, text, st.booleans()),
        st.builds(TraitSet, st.just("Acer palmatum"), text.filter(str.strip),
                  st.floats(0, 9) | text | st.booleans() | st.none() | days),
    )  # fmt: skip


def garden_bodies(text):
    name = text.filter(str.strip)
    return st.one_of(
        st.builds(GardenSet, fields_of(GARDEN_FIELDS, text)),
        st.builds(PlaceSet, name, fields_of(PLACE_FIELDS, text)),
        st.builds(ShelfSet, name, name, fields_of(SHELF_FIELDS, text)),
        st.builds(Noted, text),
    )


@st.composite
def journals(draw, text=any_text):
    """Return a journal of a few trees, some of it withdrawn."""
    made = []
    for number in range(draw(st.integers(1, 12))):
        if draw(st.integers(0, 4)) == 0:
            tree = branch = None
            body = draw(garden_bodies(text))
        else:
            tree = draw(st.sampled_from(["t1", "=t2", "tree three"]))
            body = draw(bodies(text))
            placed = isinstance(body, BranchSet) or (
                not isinstance(body, TreeSet | FrontTurned | Noted | TraitSet)
                and draw(st.booleans())
            )
            branch = draw(st.sampled_from(sorted(BRANCHES))) if placed else None
        if made and draw(st.integers(0, 7)) == 0:
            body, tree, branch = Withdrawn(draw(st.sampled_from(made)).id), None, None
        on = draw(days)
        recorded = datetime(on.year, on.month, on.day, 19, tzinfo=UTC)
        recorded += timedelta(microseconds=draw(st.integers(0, 10**9)))
        made.append(Event(body, on, tree, branch, draw(text), recorded, UUID(int=number + 1)))
    return made

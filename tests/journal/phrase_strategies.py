"""Hypothesis strategies for bodies that a bench phrase can say."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from hypothesis import strategies as st

from boughwright.journal.events import (
    LookAgain,
    Measured,
    Noted,
    Promised,
    Saw,
    Worked,
)
from boughwright.journal.fields import QUANTITY_RANGE
from boughwright.journal.phrase_words import HOW, SHARES, STAGES
from boughwright.journal.terms import (
    Amount,
    Bend,
    Fit,
    Metal,
    Quantity,
    Sign,
    Work,
)

if TYPE_CHECKING:
    from boughwright.journal.events import Body

TODAY = date(2026, 6, 9)
BRANCHES = st.sampled_from(
    [
        "1L",
        "2R",
        "3B",
        "4F",
        "12L",
        "2.5Lg",
        "3.75B",
        "2R-1",
        "2R-1l",
        "2R-2-1u",
        "2R-end",
        "top",
        "top-1",
        "trunk",
        "root",
        "scar 1",
        "scar front",
    ]
)
ZONES = st.sampled_from(
    ["low", "mid", "apex", "inner", "outer", "front", "back", "left", "low outer left", "apex back"]
)
PLACES = st.one_of(st.just(""), st.sampled_from(["all", "pot"]), BRANCHES, ZONES)

# Words of reasons and notes: some mean something elsewhere in a phrase.
WORDS = st.lists(
    st.sampled_from(["shade", "too", "3B", "hard", "wire", "off", "5", "storm,", "x", "later"]),
    max_size=4,
).map(lambda words: " ".join([*words, "thick"]))
BECAUSE = st.just("") | WORDS
DAYS_AHEAD = st.dates(TODAY, date(2036, 1, 1))


def maybe(values: st.SearchStrategy) -> st.SearchStrategy:
    return st.none() | values


def lengths(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high).map(lambda x: float(repr(x)) if "e" not in repr(x) else high)


def of_work(work: Work) -> st.SearchStrategy[Worked]:
    """Works with the details that belong to them."""
    details: dict[str, st.SearchStrategy] = {
        "amount": maybe(st.sampled_from(Amount)),
        "share": maybe(st.integers(0, 100).map(lambda n: n / 100)),
        "shoots": maybe(st.integers(1, 500)),
        "minutes": maybe(st.integers(0, 600).map(float)),
        "because": BECAUSE,
    }
    own: dict[Work, dict[str, st.SearchStrategy]] = {
        Work.WIRE_ON: {
            "gauge_mm": maybe(lengths(0.2, 12.0)),
            "metal": maybe(st.sampled_from(Metal)),
            "strands": st.integers(1, 4),
            "bend": maybe(st.sampled_from(Bend)),
            "fit": maybe(st.sampled_from(Fit)),
        },
        Work.WIRE_OFF: {
            "bite": maybe(st.integers(0, 5)),
            "method": st.sampled_from(["", "cut", "unwound"]),
        },
        Work.CUT: {
            "to": st.sampled_from(
                [
                    "",
                    "pair 1",
                    "pair 12",
                    "leaf 2",
                    "node 3",
                    "base",
                    "outline",
                    "past node 1",
                    "inner shoot",
                ]
            )
        },
        Work.GRAFT_IN: {"donor": maybe(BRANCHES), "method": st.sampled_from(["", "thread"])},
        Work.GRAFT_ON: {"donor": maybe(st.sampled_from(["3B", "the seedling", "pot tree two"]))},
    }
    if work is Work.LET_RUN:
        made = st.builds(Worked, st.just(work), **details)
        return st.one_of(
            made,
            st.builds(replace, made, until_base_mm=lengths(0.5, 500.0)),
            st.builds(replace, made, until=DAYS_AHEAD),
        )
    return st.builds(Worked, st.just(work), **details, **own.get(work, {}))


def of_sign(sign: Sign) -> st.SearchStrategy[Saw]:
    amounts = SHARES if sign in STAGES else tuple(Amount)
    if sign is Sign.BITE:
        graded = st.builds(Saw, st.just(sign), grade=maybe(st.integers(0, 5)), because=BECAUSE)
        return graded | st.builds(Saw, st.just(sign), amount=st.just(Amount.NONE), because=BECAUSE)
    return st.builds(Saw, st.just(sign), amount=maybe(st.sampled_from(amounts)), because=BECAUSE)


def of_quantity(what: Quantity) -> st.SearchStrategy[Measured]:
    values = lengths(max(QUANTITY_RANGE[what][0], 0.01), QUANTITY_RANGE[what][1])
    return st.builds(
        Measured,
        st.just(what),
        values,
        marked=st.booleans(),
        sd=maybe(lengths(0.001, 10.0)),
        earlier=maybe(values),
        how=st.sampled_from(HOW),
    )


PROMISED = st.one_of(
    st.builds(Promised, st.sampled_from(["keep", "cut past later"]), because=BECAUSE),
    st.builds(
        Promised,
        st.sampled_from(["for graft", "for scar"]),
        words=st.just("") | BRANCHES,
        because=BECAUSE,
    ),
    st.builds(Promised, st.just("until base"), lengths(0.5, 500.0), because=BECAUSE),
    st.builds(Promised, st.just("until"), until=DAYS_AHEAD, because=BECAUSE),
    st.builds(Promised, st.just("swap when"), words=WORDS, because=BECAUSE),
)

BODIES = st.one_of(
    st.sampled_from(Work).flatmap(of_work),
    st.sampled_from(Sign).flatmap(of_sign),
    st.sampled_from(Quantity).flatmap(of_quantity),
    PROMISED,
    st.builds(LookAgain, DAYS_AHEAD),
    st.builds(Noted, WORDS),
)


@st.composite
def placed(draw: st.DrawFn) -> tuple[str, Body]:
    """A place and a body said of it, the zone in the body where the place is one."""
    place, body = draw(PLACES), draw(BODIES)
    zoned = isinstance(body, Worked | Saw | Promised | LookAgain)
    if zoned and place in {
        "low",
        "mid",
        "apex",
        "inner",
        "outer",
        "front",
        "back",
        "left",
        "low outer left",
        "apex back",
    }:
        body = replace(body, zone=place)
    elif isinstance(body, Worked | Saw) and place and draw(st.booleans()):
        if getattr(body, "donor", None):
            return place, body
        body = replace(body, zone=draw(st.sampled_from(["inner", "outer"])))
    return place, body

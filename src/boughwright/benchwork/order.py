"""The order of works: fifteen steps of one bench session, and what must come before what.

Wire comes off before cutting, because wire hides what to cut; grafts go before wire, so that no
coil crosses a union; tips go last, because only measured bases tell which tips must stay. Leaf is
cut from the top down, wire put on from the bottom up, thick before thin. Common practice.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, TypeAlias

from boughwright.verdicts.verdict import Act

if TYPE_CHECKING:
    from boughwright.benchwork.jobs import BenchJob
    from boughwright.verdicts.facts import BranchFacts

STEPS: Final[dict[int, str]] = {
    1: "photo, strength and signs",
    2: "sick and dead wood off, blades cleaned",
    3: "leaf off as far as needed to read the structure",
    4: "caliper what decides something today",
    5: "wire off",
    6: "useless shoots off",
    7: "structural cuts, largest first",
    8: "clusters to two",
    9: "scar rims",
    10: "grafts",
    11: "wire on, thick to thin, trunk outward, bottom up",
    12: "fine cut to the outline, tips last",
    13: "check the seals",
    14: "photo",
    15: "place, water, label the day of the next look",
}
STEP: Final[dict[Act, int]] = {
    Act.CUT_SICK: 2,
    Act.LEAF_CLEAR: 3,
    Act.LOOK_FIRST: 4,
    Act.WIRE_OFF: 5, Act.KEEP_WIRE: 5,
    Act.RUB: 6, Act.FRUIT_OFF: 6,
    Act.REMOVE: 7, Act.SWAP_LEADER: 7, Act.CUT_PAST: 7,
    Act.TWO: 8, Act.BUD_SELECT: 8,
    Act.RIM: 9,
    Act.GRAFT: 10, Act.NOTCH: 10, Act.SEVER: 10, Act.GRAFT_WAIT: 10,
    Act.WIRE_ON: 11, Act.GUY: 11, Act.RAISE: 11,
    Act.LEAF_FULL: 12, Act.LEAF_THIN: 12, Act.LEAF_PAIR: 12, Act.WEAKEN: 12,
    Act.CUT_TO_PAIR: 12, Act.CUT_TO_LEAF: 12, Act.SHORTEN: 12, Act.PINCH: 12,
    Act.REPOT: 15, Act.FEED: 15, Act.PROTECT: 15, Act.LET_RUN: 15, Act.REST: 15, Act.LEAVE: 15,
}  # fmt: skip
"""Step of the session each act belongs to."""


@dataclass(frozen=True, slots=True)
class Arrow:
    """One set of acts that comes before another. ``same_part``: only on one and the same part."""

    first: frozenset[Act]
    then: frozenset[Act]
    why: str
    same_part: bool = False


STRUCTURAL: Final = frozenset({Act.REMOVE, Act.SWAP_LEADER, Act.CUT_PAST})
FINE: Final = frozenset({Act.CUT_TO_PAIR, Act.CUT_TO_LEAF, Act.SHORTEN, Act.PINCH})
GRAFTS: Final = frozenset({Act.GRAFT, Act.NOTCH, Act.SEVER})
LEAF: Final = frozenset({Act.LEAF_THIN, Act.LEAF_PAIR, Act.LEAF_FULL, Act.WEAKEN})
CUTS: Final = STRUCTURAL | FINE | {Act.TWO, Act.RIM}
ARROWS: Final[tuple[Arrow, ...]] = (
    Arrow(frozenset({Act.CUT_SICK}), CUTS | GRAFTS | {Act.RUB},
          "sick wood goes first, then the blades are cleaned"),
    Arrow(frozenset({Act.LEAF_CLEAR}), STRUCTURAL | {Act.WIRE_OFF},
          "the structure must be seen"),
    Arrow(frozenset({Act.LOOK_FIRST}), STRUCTURAL | FINE | {Act.WIRE_OFF, Act.TWO},
          "look before you cut", same_part=True),
    Arrow(frozenset({Act.WIRE_OFF}), CUTS, "wire hides what to cut", same_part=True),
    Arrow(frozenset({Act.WIRE_OFF}), frozenset({Act.WIRE_ON}),
          "old wire goes and the bark is level before new wire", same_part=True),
    Arrow(STRUCTURAL, frozenset({Act.TWO}) | FINE, "large cuts decide what the small ones are for"),
    Arrow(STRUCTURAL | GRAFTS, frozenset({Act.WIRE_ON}),
          "no coil may cross a union or a fresh cut"),
    Arrow(frozenset({Act.WIRE_ON}), FINE, "tips stay on until the line is set"),
    Arrow(CUTS | GRAFTS | LEAF | {Act.WIRE_OFF, Act.WIRE_ON}, frozenset({Act.FEED, Act.PROTECT}),
          "placing and feeding come after the work"),
)  # fmt: skip
"""What comes before what in one session."""

SEASONS_APART: Final[tuple[tuple[str, str], ...]] = (
    ("healthy roots", "the trunk's goal"),
    ("the trunk's goal", "scars half closed"),
    ("scars half closed", "primaries filled and thick"),
    ("primaries filled and thick", "the first two nodes right"),
    ("the first two nodes right", "forks"),
    ("forks", "fine twigs"),
    ("fine twigs", "leaf size"),
    ("leaf size", "show"),
    ("a whip grown a season ahead", "thread graft"),
    ("a graft in an empty place", "fine twigs beside it"),
    ("a repot the season before", "all leaves off"),
    ("a repot the season before", "show"),
    ("a weaned graft", "wire on it"),
    ("a thick base", "a shortened branch"),
    ("shade leaf made used to sun", "full sun"),
    ("the strong cut", "the weak touched, one flush later"),
)
"""What must be there, often seasons before, for what follows. Breaking it costs years."""


def step_of(act: Act) -> int:
    """Return the step of the session, 1..15, an act belongs to."""
    return STEP[act]


def in_order(jobs: Iterable[BenchJob]) -> tuple[BenchJob, ...]:
    """Return the jobs of one session in bench order; within a step worst harm first."""
    return tuple(sorted(jobs, key=lambda j: (j.order, j.harm, _within(j.act), j.rows)))


_WITHIN: Final = {Act.REMOVE: 0, Act.SWAP_LEADER: 1, Act.CUT_PAST: 2, Act.PINCH: 9}


def _within(act: Act) -> int:
    return _WITHIN.get(act, 5)


def before(first: Act, then: Act) -> Arrow | None:
    """Return the arrow that puts one act before another, None when none does."""
    return next((a for a in ARROWS if first in a.first and then in a.then), None)


def needs(jobs: Sequence[BenchJob]) -> tuple[tuple[int, ...], ...]:
    """Return, for each job, the places in ``jobs`` of those on the same parts that go first."""
    return tuple(
        tuple(
            i for i, one in enumerate(jobs)
            if i != n and (arrow := before(one.act, job.act)) is not None and arrow.same_part
            and not set(one.rows).isdisjoint(job.rows)
        )
        for n, job in enumerate(jobs)
    )  # fmt: skip


def broken(jobs: Sequence[BenchJob]) -> tuple[str, ...]:
    """Return the reason of every arrow that a sequence of jobs breaks; empty when it is sound."""
    found = []
    for n, job in enumerate(jobs):
        for later in jobs[n + 1 :]:
            arrow = before(later.act, job.act)
            if arrow is None or before(job.act, later.act) is not None:
                continue
            if not arrow.same_part or not set(job.rows).isdisjoint(later.rows):
                found.append(f"{later.act.value} before {job.act.value}: {arrow.why}")
    return tuple(found)


_Key: TypeAlias = Callable[["BranchFacts"], tuple[float, ...]]
_LARGEST: Final[_Key] = lambda b: (-(b.base_mm or 0.0), b.row)  # noqa: E731
_BOTTOM_UP: Final[_Key] = lambda b: (b.order, -(b.base_mm or 0.0), b.row)  # noqa: E731
_TOP_DOWN: Final[_Key] = lambda b: (-b.row,)  # noqa: E731
ROW_ORDER: Final[dict[Act, _Key]] = (
    dict.fromkeys(STRUCTURAL, _LARGEST)
    | dict.fromkeys(LEAF | {Act.LEAF_CLEAR}, _TOP_DOWN)
    | dict.fromkeys((Act.WIRE_ON, Act.GUY), _BOTTOM_UP)
)


def rows_in_order(
    act: Act, rows: Iterable[int], branches: Mapping[int, BranchFacts]
) -> tuple[int, ...]:
    """Return the rows of one job in the order they are worked.

    Cuts largest first, leaf from the top down, wire from the bottom up and thick to thin; others
    as the tree is read, from the base up.
    """
    key = ROW_ORDER.get(act)
    every = dict.fromkeys(rows)
    known = sorted(row for row in every if row in branches)
    rest = tuple(row for row in every if row not in branches)
    if key is None:
        return rest + tuple(known)
    return rest + tuple(b.row for b in sorted((branches[row] for row in known), key=key))

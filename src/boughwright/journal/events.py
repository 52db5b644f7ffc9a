"""Events: the envelope and the bodies.

An event never changes. A mistake is mended by withdrawing it (`Withdrawn`) and entering it again.
``on`` is the day it happened, ``recorded`` the moment it was entered; replay orders by
(``on``, ``recorded``, ``id``), so the order of arrival never matters.

Values of the ``fields`` of `PlaceSet`, `ShelfSet`, `TreeSet`, `BranchSet`, `GardenSet` are checked
against `boughwright.journal.fields`. ``None`` takes a value back to unknown.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from operator import attrgetter
from typing import TYPE_CHECKING, TypeAlias

from uuid6 import uuid7

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from uuid import UUID

    from boughwright.journal.terms import (
        Amount,
        Bend,
        Fit,
        Metal,
        Quantity,
        Sign,
        Work,
    )

FieldValue: TypeAlias = str | float | int | bool | date | None
"""A plain value of one field."""


@dataclass(frozen=True, slots=True)
class GardenSet:
    """Settings of the whole garden: units, hours a week, who, house rules."""

    fields: Mapping[str, FieldValue]


@dataclass(frozen=True, slots=True)
class PlaceSet:
    """A place where trees stand, or new values for it. ``place`` is its lasting key."""

    place: str
    fields: Mapping[str, FieldValue]


@dataclass(frozen=True, slots=True)
class ShelfSet:
    """A shelf at a place, or new values for it."""

    place: str
    shelf: str
    fields: Mapping[str, FieldValue]


@dataclass(frozen=True, slots=True)
class TreeSet:
    """A tree's facts. The first for a tree enters it."""

    fields: Mapping[str, FieldValue]


@dataclass(frozen=True, slots=True)
class BranchSet:
    """A branch's facts. The first for a branch enters it; ``name`` again renames it."""

    fields: Mapping[str, FieldValue]


@dataclass(frozen=True, slots=True)
class FrontTurned:
    """The front of the tree moved clockwise, seen from above, in degrees."""

    degrees: float


@dataclass(frozen=True, slots=True)
class TraitSet:
    """A species value overridden, for a garden (no tree in the envelope) or for one tree."""

    species: str
    trait: str
    value: FieldValue


@dataclass(frozen=True, slots=True)
class Measured:
    """One reading. ``value`` in the unit of `QUANTITY_UNIT`.

    ``marked``: taken at a marked spot with a dry, smooth bark (error 0.10 mm), else 0.20 mm.
    ``sd`` overrides both. ``earlier`` is a reading given along with it (``open 46 to 41``).
    """

    what: Quantity
    value: float
    marked: bool = False
    sd: float | None = None
    earlier: float | None = None
    how: str = "caliper"


@dataclass(frozen=True, slots=True)
class Worked:
    """A work done. Only the details that belong to the work are given.

    Parameters
    ----------
    work : Work
        What was done.
    amount : Amount, optional
        How much of it, in bench words.
    gauge_mm, metal, strands, bend, fit
        For wire on: one strand's gauge [mm], its metal, how many, how hard the bend, how close.
    bite : int, optional
        For wire off: grade 0..5 seen.
    method : str
        For wire off ``cut`` or ``unwound``; else free.
    to : str
        For cuts: ``pair 1``, ``leaf 2``, ``base``, ``past node 1``, ``outline``.
    donor : str, optional
        For grafts: lasting id of the branch, or the name of the other tree.
    share : float, optional
        0..1 of the leaf or root taken, when a number is known.
    zone : str
        Where on the tree, when no single branch is meant: ``apex``, ``low outer left``.
    shoots : int, optional
        How many shoots it touched.
    until_base_mm, until : end condition of ``let run``.
    """

    work: Work
    amount: Amount | None = None
    gauge_mm: float | None = None
    metal: Metal | None = None
    strands: int = 1
    bend: Bend | None = None
    fit: Fit | None = None
    bite: int | None = None
    method: str = ""
    to: str = ""
    donor: str | None = None
    share: float | None = None
    zone: str = ""
    shoots: int | None = None
    until_base_mm: float | None = None
    until: date | None = None
    minutes: float | None = None
    because: str = ""


@dataclass(frozen=True, slots=True)
class Saw:
    """A sign seen. ``grade`` 0..5 for a bite; ``amount`` for spots and the like."""

    sign: Sign
    grade: int | None = None
    amount: Amount | None = None
    zone: str = ""
    because: str = ""


@dataclass(frozen=True, slots=True)
class Promised:
    """A provisional choice or a job to do later, with the sign that re-opens it.

    ``what`` is one of ``keep``, ``cut past later``, ``for graft``, ``for scar``, ``until base``,
    ``until``, ``swap when``.
    """

    what: str
    until_base_mm: float | None = None
    until: date | None = None
    words: str = ""
    because: str = ""
    zone: str = ""


@dataclass(frozen=True, slots=True)
class LookAgain:
    """The grower asked to see this tree or branch again on ``due``."""

    due: date
    zone: str = ""


@dataclass(frozen=True, slots=True)
class Noted:
    """Words kept as they were said. ``unread`` marks words the phrase reader did not know."""

    text: str
    unread: bool = False


@dataclass(frozen=True, slots=True)
class StockCounted:
    """Wire of one gauge and metal on the shelf, counted by length or by weight.

    Parameters
    ----------
    gauge_mm : float
        Thickness of the wire. [mm]
    metal : Metal
    metres : float, optional
        Length that is there. [m]
    grams : float, optional
        What it weighs without its spool, when the length was not measured. [g]
    """

    gauge_mm: float
    metal: Metal
    metres: float | None = None
    grams: float | None = None


@dataclass(frozen=True, slots=True)
class Photographed:
    """A picture of the tree, taken on the day of the event. The tree itself stays as it was.

    Parameters
    ----------
    photo : str
        SHA-256 of the kept picture, 64 lower-case hex digits: its name on the disk.
    width, height : int
        Size of the kept picture. [px]
    side : str
        One of `boughwright.journal.fields.PHOTO_SIDES`, or a clock hour ``1`` to ``12`` from which
        it was taken, seen from above, front = 6.
    dated : str
        How the day is known, one of `boughwright.journal.fields.PHOTO_DATED`.
    mm_per_px : float, optional
        Length that one pixel spans at the tree, when the picture came with its scale. [mm]
    scale_how : str
        How that scale is known.
    note : str
        Words of the grower.
    """

    photo: str
    width: int
    height: int
    side: str
    dated: str = "said"
    mm_per_px: float | None = None
    scale_how: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class PhotoMarked:
    """A short stroke on a picture that shows where a branch is.

    ``x``, ``y`` are shares of the picture's width from its left and of its height from its top,
    0..1; ``x2``, ``y2`` is the other end, None for a point. The branch stands in the envelope;
    ``label`` is what is written beside it when no branch is meant.
    """

    photo: str
    x: float
    y: float
    x2: float | None = None
    y2: float | None = None
    label: str = ""


@dataclass(frozen=True, slots=True)
class PhotoScaled:
    """Two ends of a known length on a picture, and where the trunk stands in the soil.

    Parameters
    ----------
    photo : str
        SHA-256 of the kept picture.
    x1, y1, x2, y2 : float
        The two ends, as shares of the picture's width and height, 0..1 from its upper left.
    length_mm : float
        Their distance. [mm]
    soil_x, soil_y : float, optional
        The middle of the trunk at the soil, as shares; None when it cannot be seen.
    how : str
        How the length is known, one of `boughwright.journal.fields.PHOTO_LENGTHS`.
    """

    photo: str
    x1: float
    y1: float
    x2: float
    y2: float
    length_mm: float
    soil_x: float | None = None
    soil_y: float | None = None
    how: str = "measured"


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """The event ``event`` no longer counts. Withdrawing a withdrawal brings it back."""

    event: UUID
    because: str = ""


Body: TypeAlias = (
    GardenSet
    | PlaceSet
    | ShelfSet
    | TreeSet
    | BranchSet
    | FrontTurned
    | TraitSet
    | Measured
    | Worked
    | Saw
    | Promised
    | LookAgain
    | Noted
    | StockCounted
    | Photographed
    | PhotoMarked
    | PhotoScaled
    | Withdrawn
)
"""What an event says."""


@dataclass(frozen=True, slots=True)
class Event:
    """One line of the journal.

    Parameters
    ----------
    body : Body
        What happened.
    on : date
        The day it happened.
    tree, branch : str, optional
        Lasting identities; a branch needs its tree. Neither for events of the whole garden.
    who : str
        Who did or saw it.
    recorded : datetime
        When it was entered, UTC.
    id : UUID
        Version 7, made where the event was entered.
    """

    body: Body
    on: date
    tree: str | None = None
    branch: str | None = None
    who: str = ""
    recorded: datetime = field(default_factory=lambda: datetime.now(UTC))
    id: UUID = field(default_factory=uuid7)

    @property
    def order(self) -> tuple[date, datetime, UUID]:
        """The key that replay sorts by."""
        return (self.on, self.recorded, self.id)


def _content(event: Event) -> tuple[datetime, date, str]:
    """Return a key that tells two events of one id apart, whatever order their fields came in."""
    fields = getattr(event.body, "fields", None)
    body = event.body if fields is None else sorted(fields.items())
    return (event.recorded, event.on, repr((body, event.tree, event.branch, event.who)))


def once(events: Iterable[Event]) -> dict[UUID, Event]:
    """Return each id once.

    Should one id come with two contents, which no honest phone makes, the one recorded first
    stays, whichever arrived first.
    """
    unique: dict[UUID, Event] = {}
    for event in events:
        known = unique.setdefault(event.id, event)
        if known is not event and known != event:
            unique[event.id] = min(known, event, key=_content)
    return unique


def _taken_back(unique: Mapping[UUID, Event]) -> set[UUID]:
    """Return the ids that a counting withdrawal takes back.

    A withdrawal counts when nothing that counts takes it back; so those that nobody withdrew are
    settled first, then their targets, and so on. Clocks play no part. Withdrawals that go round
    in a ring (which no honest phone makes) are never settled and take nothing back.
    """
    target = {i: e.body.event for i, e in unique.items() if isinstance(e.body, Withdrawn)}
    against: dict[UUID, int] = {}
    for aim in target.values():
        against[aim] = against.get(aim, 0) + 1
    ready = [source for source in target if source not in against]
    taken: set[UUID] = set()
    while ready:
        source = ready.pop()
        aim = target[source]
        against[aim] -= 1
        if source not in taken:
            taken.add(aim)
        if against[aim] == 0 and aim in target:
            ready.append(aim)
    return taken


def standing(events: Iterable[Event]) -> list[Event]:
    """Return the events that count, once each, in replay order.

    An event counts when no counting withdrawal takes it back; a withdrawn withdrawal brings its
    event back. Withdrawals themselves are left out. The order of arrival, repeats and clocks that
    differ between phones change nothing.

    Parameters
    ----------
    events : iterable of Event
        Everything known, in any order, with repeats.

    Returns
    -------
    list of Event
        Sorted by (``on``, ``recorded``, ``id``).
    """
    unique = once(events)
    taken = _taken_back(unique)
    counted = [
        event
        for event in unique.values()
        if event.id not in taken and not isinstance(event.body, Withdrawn)
    ]
    counted.sort(key=attrgetter("on", "recorded", "id"))
    return counted

"""What a verdict is: an act with place, window, reasons, sureness and the fact that flips it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum, StrEnum
from typing import TYPE_CHECKING

from boughwright.sources import Grade

if TYPE_CHECKING:
    from datetime import date

    from boughwright.journal.terms import Work


class Act(StrEnum):
    """What a verdict tells the grower to do with a branch."""

    WIRE_OFF = "wire off"
    WIRE_ON = "wire on"
    KEEP_WIRE = "keep wire"
    LET_RUN = "let run"
    SHORTEN = "shorten by half"
    CUT_TO_PAIR = "cut to pair"
    CUT_TO_LEAF = "cut to leaf"
    CUT_PAST = "cut past"
    SWAP_LEADER = "swap leader"
    RAISE = "raise"
    WEAKEN = "thin leaf"
    REMOVE = "take off"
    RUB = "rub off"
    TWO = "cluster to two"
    PINCH = "pinch"
    BUD_SELECT = "select buds"
    LEAF_CLEAR = "clear to see"
    LEAF_THIN = "outer thin"
    LEAF_PAIR = "one of a pair"
    LEAF_FULL = "all leaves"
    GRAFT = "graft"
    GRAFT_WAIT = "leave graft"
    NOTCH = "notch feed"
    SEVER = "sever graft"
    RIM = "refresh rim"
    CUT_SICK = "cut out sick wood"
    FRUIT_OFF = "fruit off"
    PROTECT = "protect"
    REPOT = "repot"
    FEED = "feed"
    GUY = "guy"
    REST = "rest"
    LOOK_FIRST = "look first"
    LEAVE = "leave alone"


class Sureness(IntEnum):
    """How sure a verdict is."""

    DOUBTFUL = 0
    LIKELY = 1
    SURE = 2

    @property
    def word(self) -> str:
        """The word shown on screens."""
        return self.name.lower()


class Harm(IntEnum):
    """What skipping it costs; the order of the call-up, worst first."""

    IRREVERSIBLE = 0
    """Bite at grade 3 or due, frost, heat, spreading disease."""
    WINDOW = 1
    """Its window closes this week."""
    FEEDS = 2
    """Other works wait for it."""
    IMPROVEMENT = 3
    COSMETIC = 4
    NONE = 5


@dataclass(frozen=True, slots=True)
class Reason:
    """Why: ``text`` is a plain sentence in mm, ``value`` and ``limit`` the measure behind it."""

    text: str
    measure: str = ""
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    source: str = "common-practice"
    grade: Grade = Grade.BORROWED


@dataclass(frozen=True, slots=True)
class SideNote:
    """Something else true of the branch that does not lead.

    The fields after ``text`` are those of `Verdict`, for a bench list that must not miss a wire
    whose note follows a verdict of another kind.
    """

    act: Act
    text: str
    works: tuple[Work, ...] = ()
    harm: Harm = Harm.NONE
    earliest: date | None = None
    latest: date | None = None
    minutes: float = 0.0
    share: float = 0.0
    structural: bool = False
    grade: Grade = Grade.BORROWED
    """Of the reason behind it."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """The one main verdict on one branch, or on the tree as a whole (``row`` -1).

    Parameters
    ----------
    row : int
        Row of the branch in `boughwright.tree.model.Branches`, -1 for the tree.
    card : str
        Which rule spoke. Internal: never on a screen.
    act : Act
    where : str
        The exact place, in bench words: ``just above node 1``.
    earliest, latest : date, optional
        Window in which to do it. ``earliest`` None: already. ``latest`` None: no hurry.
    minutes : float
        Bench minutes for this branch alone.
    reasons : tuple of Reason
        At least one, the strongest first.
    sureness : Sureness
    flip : str
        The one fact that would change it: ``base reaches 15.6 mm``.
    never : tuple of str
        What must not be done here now.
    harm : Harm
    works : tuple of Work
        The works it asks for, in bench order; empty when it asks for none.
    share : float
        Share of the leaf or shoots of its zone that it takes, 0..1, for the toll.
    structural : bool
        A structural cut on one branch, which counts a whole point of toll.
    notes : tuple of SideNote
        At most two.
    caution : str
        Key of a caution in `boughwright.verdicts.cautions`, empty when none.
    next_look : date, optional
    """

    row: int
    card: str
    act: Act
    where: str
    reasons: tuple[Reason, ...]
    flip: str
    sureness: Sureness
    harm: Harm = Harm.NONE
    earliest: date | None = None
    latest: date | None = None
    minutes: float = 0.0
    never: tuple[str, ...] = ()
    works: tuple[Work, ...] = ()
    share: float = 0.0
    structural: bool = False
    notes: tuple[SideNote, ...] = ()
    caution: str = ""
    next_look: date | None = None

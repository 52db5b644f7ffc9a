"""The closed word lists of the journal: works, signs, quantities, phases, zones and grades.

The value of each member is the word written in records and typed in a bench phrase.
"""

from __future__ import annotations

from enum import IntEnum, StrEnum


class Work(StrEnum):
    """A work done at the bench."""

    WIRE_ON = "wire on"
    WIRE_OFF = "wire off"
    GUY_ON = "guy on"
    GUY_OFF = "guy off"
    CUT = "cut"
    RUB = "rub"
    TWO = "two"
    """A cluster of shoots at one node reduced to two."""
    LET_RUN = "let run"
    RAISE = "raise"
    LOWER = "lower"
    PINCH = "pinch"
    BUD_SELECT = "bud select"
    LEAF_CLEAR = "leaf clear"
    LEAF_THIN = "leaf thin"
    LEAF_PAIR = "leaf pair"
    LEAF_FULL = "leaf full"
    GRAFT_IN = "graft in"
    GRAFT_ON = "graft on"
    NOTCH = "notch"
    SEVER = "sever"
    RIM = "rim"
    REPOT = "repot"
    FEED = "feed"
    FRUIT_OFF = "fruit off"
    SPRAY = "spray"
    SHADE = "shade"
    COVER = "cover"
    TURN = "turn"


class Sign(StrEnum):
    """Something seen on a tree or a branch."""

    OK = "ok"
    STRONG = "strong"
    STEADY = "steady"
    WEAK = "weak"
    FAILING = "failing"
    DEAD = "dead"
    BITE = "bite"
    SWELL = "swell"
    BURST = "burst"
    FIRST_LEAF = "first leaf"
    RUNNING = "running"
    CLOSING = "closing"
    HARD = "hard"
    COLOUR = "colour"
    LEAF_DROP = "leaf drop"
    REGROWTH = "regrowth"
    SPOTS = "spots"
    CURL = "curl"
    MILDEW = "mildew"
    PEST = "pest"
    CANKER = "canker"
    FRUIT = "fruit"
    DRY = "dry"
    WET = "wet"
    WILT = "wilt"
    PALE = "pale"
    FROST = "frost"
    SCORCH = "scorch"
    HAIL = "hail"
    DIEBACK = "dieback"
    GAP = "gap"
    MOVED = "moved"
    BROKE = "broke"
    HELD = "held"
    """A bend that kept its shape after the wire came off."""
    SPRANG = "sprang"


class Quantity(StrEnum):
    """Something measured, with its unit in `QUANTITY_UNIT`."""

    BASE = "base"
    TRUNK = "trunk"
    """The trunk beside a branch, just above it; on the tree itself, above the root flare."""
    NODE = "node"
    """Length of the first internode that is in doubt."""
    ROOM = "room"
    """Distance along the branch line from that node to the agreed outline."""
    LENGTH = "length"
    EXTENSION = "extension"
    """Mean free shoot of the latest flush."""
    EXIT = "exit"
    ENTRY = "entry"
    OPEN = "open"
    HEIGHT = "height"
    DRAIN = "drain"
    WEIGHT = "weight"


QUANTITY_UNIT: dict[Quantity, str] = dict.fromkeys(Quantity, "mm") | {
    Quantity.DRAIN: "s",
    Quantity.WEIGHT: "g",
}


class Amount(StrEnum):
    """How much, in the words used at the bench."""

    NONE = "none"
    FEW = "few"
    SOME = "some"
    MOST = "most"
    ALL = "all"
    LIGHT = "light"
    HALF = "half"
    FULL = "full"
    HARD = "hard"


AMOUNT_SHARE: dict[Amount, float] = {
    Amount.NONE: 0.0,
    Amount.FEW: 0.1,
    Amount.LIGHT: 0.25,
    Amount.SOME: 0.35,
    Amount.HALF: 0.5,
    Amount.MOST: 0.7,
    Amount.HARD: 0.4,
    Amount.FULL: 1.0,
    Amount.ALL: 1.0,
}
"""Share of the leaf, shoots or roots a word stands for. Starting values; ``hard`` is of roots."""


class Phase(StrEnum):
    """Where a branch stands in a tree's making."""

    TRUNK = "trunk building"
    PRIMARY = "primary structure"
    RAMIFICATION = "ramification"
    REFINEMENT = "refinement"


class Zone(StrEnum):
    """Height of a branch's start as a share of the agreed outline."""

    LOWER = "lower"
    MIDDLE = "middle"
    APEX = "apex"


class Vigour(IntEnum):
    """Strength of growth now; higher is stronger."""

    FAILING = 0
    WEAK = 1
    STEADY = 2
    STRONG = 3

    @property
    def word(self) -> str:
        """The word shown on screens."""
        return self.name.lower()


class Kind(StrEnum):
    """What a named part of the tree is."""

    TRUNK = "trunk"
    BRANCH = "branch"
    TOP = "top"
    GRAFT = "graft"
    SCAR = "scar"
    ROOT = "root"


class Job(StrEnum):
    """Why a branch must keep what it has until its end condition is met."""

    THICKEN = "thicken"
    SACRIFICE = "sacrifice"
    SCAR_HELPER = "scar helper"
    GRAFT_FEEDER = "graft feeder"
    GRAFT_WHIP = "graft whip"
    REPLACEMENT = "replacement leader"


class GraftKind(StrEnum):
    """How a graft was made."""

    THREAD = "thread"
    APPROACH = "approach"


class Metal(StrEnum):
    """What wire is made of."""

    ALUMINIUM = "al"
    COPPER = "cu"

    @property
    def word(self) -> str:
        """The word shown on screens."""
        return self.name.lower()


class Bend(StrEnum):
    """How hard a branch was bent: by bend radius, over 40 diameters, 20 to 40, under 20."""

    GENTLE = "gentle"
    MODERATE = "moderate"
    STRONG = "strong"


class Fit(StrEnum):
    """How close the wire was put on."""

    TIGHT = "tight"
    NORMAL = "normal"
    LOOSE = "loose"


class Bark(StrEnum):
    """Kind of bark, for wire."""

    SMOOTH = "smooth thin"
    ORDINARY = "ordinary"
    CORKY = "corky"


PROMISES: tuple[str, ...] = (
    "keep",
    "cut past later",
    "for graft",
    "for scar",
    "until base",
    "until",
    "swap when",
)
"""What a grower may promise; the word ``will`` is typed before it."""

"""The words of the bench phrase: one table a kind, each trade word with the ones said for it.

A phrase is matched by the longest run of words in `ACTS`. Adding a word here is all it takes to
have it understood; words that could be a record of something not done stay out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

from boughwright.journal.terms import Amount, Bend, Fit, Metal, Quantity, Sign, Work

if TYPE_CHECKING:
    from collections.abc import Mapping

Act: TypeAlias = Work | Sign | Quantity | str
"""A work, a sign, a measure, or the word of a promise, a look or a note."""

_WORKS: Mapping[Work, str] = {
    Work.WIRE_ON: "wired",
    Work.WIRE_OFF: "unwired, wire came off, took wire off, took the wire off",
    Work.GUY_ON: "guyed, guy",
    Work.CUT: "cut back, pruned, trimmed, trim, shortened, shorten",
    Work.RUB: "rubbed, rub off, rubbed off",
    Work.TWO: "to two, cluster to two, clusters to two, reduced to two",
    Work.LET_RUN: "let it run, left to run, leave to run, let grow",
    Work.RAISE: "raised",
    Work.LOWER: "lowered",
    Work.PINCH: "pinched, pinch back, pinched back",
    Work.BUD_SELECT: "bud selected, buds selected, bud selection, select buds, selected buds",
    Work.LEAF_CLEAR: "leaves cleared, leaf cleared, clear to see, cleared to see",
    Work.LEAF_THIN: "leaf thinned, leaves thinned, thin leaf, thinned leaf, outer thin",
    Work.LEAF_PAIR: "leaf one of a pair, one of a pair",
    Work.LEAF_FULL: "defoliated, full defoliation",
    Work.GRAFT_IN: "grafted in",
    Work.GRAFT_ON: "grafted on",
    Work.NOTCH: "notched",
    Work.SEVER: "severed",
    Work.RIM: "rim refreshed, refresh rim, refreshed rim",
    Work.REPOT: "repotted",
    Work.FEED: "fed",
    Work.FRUIT_OFF: "fruits off, took fruit off",
    Work.SPRAY: "sprayed",
    Work.COVER: "covered",
    Work.TURN: "turned",
}

_SIGNS: Mapping[Sign, str] = {
    Sign.OK: "fine, good, left alone, looked, looked nothing, nothing to do",
    Sign.BURST: "bud burst, budburst",
    Sign.SWELL: "buds swell, buds swelling, swelling",
    Sign.FIRST_LEAF: "first leaves",
    Sign.COLOUR: "color",
    Sign.LEAF_DROP: "leaf fall, leaves falling",
    Sign.HARD: "hardened, leaf hard",
    Sign.SPOTS: "spotted",
    Sign.CURL: "curled",
    Sign.PEST: "pests",
    Sign.WILT: "wilted, wilting, limp",
    Sign.SCORCH: "scorched",
    Sign.BROKE: "broken",
    Sign.BITE: "bitten",
    Sign.SPRANG: "sprang back",
}

_QUANTITIES: Mapping[Quantity, str] = {
    Quantity.BASE: "base is",
    Quantity.ROOM: "room to outline",
}

PROMISE_ACTS: Mapping[str, str] = {
    "will keep": "keep",
    "keep": "keep",
    "will cut past later": "cut past later",
    "cut past later": "cut past later",
    "will for graft": "for graft",
    "for graft": "for graft",
    "will for scar": "for scar",
    "for scar": "for scar",
    "will until": "until",
    "will swap when": "swap when",
    "swap when": "swap when",
}
"""Promises. Those that no work done could be mistaken for may leave ``will`` out."""


def _acts() -> dict[tuple[str, ...], Act]:
    table: dict[str, Act] = {}
    for words in (Work, Sign, Quantity):
        table |= {member.value: member for member in words}
    for said in (_WORKS, _SIGNS, _QUANTITIES):
        for act, spoken in said.items():
            table |= dict.fromkeys(spoken.split(", "), act)
    table |= dict.fromkeys(PROMISE_ACTS, "will")
    table |= dict.fromkeys(("look", "look again", "look in", "look again in"), "look")
    table |= {"because": "because", "note": "note", "except": "except", "but not": "except"}
    table |= {"apart from": "except"}
    del table["two"]  # the number as well; read by its place in the phrase
    return {tuple(words.split()): act for words, act in table.items()}


ACTS: Mapping[tuple[str, ...], Act] = _acts()
"""What each run of words starts."""

LONGEST_ACT = max(map(len, ACTS))

AMOUNTS: Mapping[str, Amount] = {amount.value: amount for amount in Amount}

METALS: Mapping[str, Metal] = {
    "al": Metal.ALUMINIUM,
    "alu": Metal.ALUMINIUM,
    "aluminium": Metal.ALUMINIUM,
    "aluminum": Metal.ALUMINIUM,
    "cu": Metal.COPPER,
    "copper": Metal.COPPER,
}
FITS: Mapping[str, Fit] = {fit.value: fit for fit in Fit}
BENDS: Mapping[str, Bend] = {bend.value: bend for bend in Bend}
STRANDS: Mapping[str, int] = {"doubled": 2, "double": 2, "triple": 3, "single": 1}

BITE_WORDS: Mapping[str, int] = {
    "slides": 0,
    "snug": 1,
    "bitten": 3,
    "closed": 5,
}
"""Words for a bite grade after wire off."""

METHODS: Mapping[Work, tuple[str, ...]] = {
    Work.WIRE_OFF: ("cut", "unwound"),
    Work.GRAFT_IN: ("thread", "approach"),
    Work.GRAFT_ON: ("thread", "approach"),
}
"""Ways of doing a work that a word may name."""

HOW: tuple[str, ...] = ("caliper", "tape", "eye", "photo")
"""Ways of taking a measure that a word may name."""

STAGES = frozenset(
    {
        Sign.SWELL,
        Sign.BURST,
        Sign.FIRST_LEAF,
        Sign.RUNNING,
        Sign.CLOSING,
        Sign.HARD,
        Sign.COLOUR,
        Sign.LEAF_DROP,
    }
)
SHARES = (Amount.NONE, Amount.FEW, Amount.SOME, Amount.MOST, Amount.ALL, Amount.HALF)
"""The amounts that fit a stage: a word such as ``hard`` after one is a second sign."""

BEFORE: Mapping[Amount, frozenset[Act]] = {
    Amount.HARD: frozenset({Work.REPOT, Work.CUT, Sign.FROST}),
    Amount.FULL: frozenset({Work.FEED}),
    Amount.ALL: frozenset(),
}
"""Acts before which these amounts may stand; the others may stand before any act."""

FILLERS = frozenset(
    {"the", "a", "an", "please", "and", "with", "of", "it", "its", "is", "was", "were", "are"}
    | {"has", "have", "been", "i", "we", "then", "now", "on", "at", "um", "er", "by"}
)
"""Words passed over where nothing else is made of them."""

DENIABLE = frozenset(
    {
        Sign.BITE,
        Sign.CANKER,
        Sign.CURL,
        Sign.DIEBACK,
        Sign.FROST,
        Sign.FRUIT,
        Sign.GAP,
        Sign.HAIL,
        Sign.MILDEW,
        Sign.PEST,
        Sign.REGROWTH,
        Sign.SCORCH,
        Sign.SPOTS,
        Sign.WILT,
    }
)
"""Signs of which "no" is worth keeping: looked for and not there."""

WHOLE_TREE: frozenset[Act] = frozenset(
    {Work.REPOT, Work.FEED, Work.SPRAY, Work.TURN, Work.SHADE, Work.COVER, Sign.HAIL, *STAGES}
    | {Quantity.DRAIN, Quantity.WEIGHT, Quantity.HEIGHT}
)
"""What is meant of a whole tree, not of the last branch, when no place is named."""

DENIALS = frozenset({"not", "no", "never", "without", "didn't", "don't", "isn't", "wasn't", "nor"})
"""Words that turn what follows into its opposite."""

NOT_YET = frozenset(
    {"will", "shall", "would", "should", "could", "must", "might", "going", "plan", "planned"}
    | {"want", "wants", "need", "needs", "ought", "tomorrow"}
)
"""Words that put what is said into the future: a work said so is not done."""

LENGTH_UNITS: Mapping[str, float] = {
    **dict.fromkeys(("mm", "mil", "millimetre", "millimetres", "millimeters"), 1.0),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeters"), 10.0),
    "in": 25.4,
    "inch": 25.4,
    "inches": 25.4,
    '"': 25.4,
    "″": 25.4,
}
TIME_UNITS: Mapping[str, float] = {
    **dict.fromkeys(("s", "sec", "second", "seconds"), 1.0),
    **dict.fromkeys(("min", "mins", "minute", "minutes"), 60.0),
}
WEIGHT_UNITS: Mapping[str, float] = {
    **dict.fromkeys(("g", "gram", "grams"), 1.0),
    **dict.fromkeys(("kg", "kilo", "kilos"), 1000.0),
}
DAY_UNITS: Mapping[str, int] = {
    **dict.fromkeys(("d", "day", "days"), 1),
    **dict.fromkeys(("w", "wk", "week", "weeks"), 7),
}

MONTHS: Mapping[str, int] = {
    name: number
    for number, names in enumerate(
        (
            ("january", "jan"),
            ("february", "feb"),
            ("march", "mar"),
            ("april", "apr"),
            ("may",),
            ("june", "jun"),
            ("july", "jul"),
            ("august", "aug"),
            ("september", "sep", "sept"),
            ("october", "oct"),
            ("november", "nov"),
            ("december", "dec"),
        ),
        start=1,
    )
    for name in names
}
SHORT_DAYS = frozenset({"sun", "sat", "wed", "mon"})
"""Short weekdays that are words too: read as days only after ``last`` or ``on``."""

WEEKDAYS: Mapping[str, int] = {
    name: number
    for number, names in enumerate(
        (
            ("monday", "mon"),
            ("tuesday", "tue", "tues"),
            ("wednesday", "wed"),
            ("thursday", "thu", "thur", "thurs"),
            ("friday", "fri"),
            ("saturday", "sat"),
            ("sunday", "sun"),
        )
    )
    for name in names
}

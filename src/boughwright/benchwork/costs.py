"""What it costs to let a job slip, in plain words, by act: in time, and past its window."""

from __future__ import annotations

from typing import Final

from boughwright.verdicts.verdict import Act, Harm

IN_TIME: Final = "nothing but the wait"
LATE: Final[dict[Act, str]] = {
    Act.WIRE_OFF: "a mark that takes two to eight years to grow out",
    Act.PROTECT: "leaf, a branch or roots",
    Act.CUT_SICK: "more sick wood to cut",
    Act.LOOK_FIRST: "a mark that may come before you look",
    Act.REPOT: "one season: roots are cut only while buds swell",
    Act.PINCH: "long first nodes for this year",
    Act.TWO: "knuckles; about one season to cut them back",
    Act.BUD_SELECT: "a flush of shoots to rub off later",
    Act.LEAF_THIN: "one season of light for the inner buds",
    Act.LEAF_PAIR: "one season of light for the inner buds",
    Act.LEAF_CLEAR: "one season of light for the inner buds",
    Act.LEAF_FULL: "one season: the slot comes once a year",
    Act.WEAKEN: "one flush of thickening in the wrong place",
    Act.CUT_PAST: "one flush, at most one season",
    Act.SWAP_LEADER: "one flush, at most one season",
    Act.REMOVE: "one season of a larger wound",
    Act.CUT_TO_PAIR: "one flush of forks",
    Act.CUT_TO_LEAF: "one flush of forks",
    Act.SHORTEN: "a shoot thicker than you want",
    Act.RIM: "one season of closing",
    Act.NOTCH: "one season more on the feed",
    Act.SEVER: "one season more on the feed",
    Act.GRAFT: "one to three seasons",
    Act.WIRE_ON: "one season of an unset line",
    Act.RAISE: "one flush of weak growth",
    Act.RUB: "a woody shoot to cut",
    Act.FRUIT_OFF: "strength that goes into fruit",
    Act.FEED: "part of a flush unfed",
    Act.GUY: "one season of an unset line",
}
"""What a job costs when it slips past its window. Starting values of common practice."""
EACH_WAIT: Final[dict[Act, str]] = {
    Act.FRUIT_OFF: "strength that goes into fruit",
    Act.FEED: "growth it could have made",
    Act.RAISE: "part of a flush of weak growth",
    Act.CUT_SICK: "more sick wood to cut",
    Act.PROTECT: "leaf, a branch or roots",
}
"""What every day of waiting costs, where it does, although no window closes."""


def slip_cost(act: Act, harm: Harm, *, late: bool) -> str:
    """Return what it costs to let a job slip.

    Parameters
    ----------
    act, harm
        Of the job.
    late : bool
        Its last day passes, or its next day is not known.
    """
    if act is Act.WIRE_OFF and harm > Harm.WINDOW:
        return "a cut that waits for it"
    if late:
        return LATE.get(act, "its window this season")
    if act in EACH_WAIT:
        return EACH_WAIT[act]
    return "works that wait for it" if harm is Harm.FEEDS else IN_TIME

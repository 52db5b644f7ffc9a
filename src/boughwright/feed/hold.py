"""When to feed, how much, and when to hold feed back.

Holding feed is a window, never a policy: refined trees get none while the first flush opens and
are fed once it is hard; trees in the making are fed from first leaf. Blocks (a repot, heat, a wet
or wilting pot, all leaves just taken, bare rest) stop any dose for a while. No tree goes a whole
year with none. Common practice in the trade; the label of the feed comes first.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from boughwright.journal.terms import Phase, Vigour
from boughwright.season.stages import Stage

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date


class Dose(StrEnum):
    """How much of what the label allows."""

    NONE = "none"
    HALF = "half"
    FULL = "full"
    LOW_NITROGEN = "low nitrogen"


@dataclass(frozen=True, slots=True)
class FeedState:
    """What feed depends on. ``None`` is unknown.

    ``show_phase``: phase of most of the apex and outer crown. ``extended``: share of the first
    flush's length that is out. ``late_share``: share of late thickening that is behind.
    ``repot_weeks``: weeks since a repot of this season, None when there was none.
    """

    on: date
    stage: Stage
    phase_mix: Mapping[Phase, float]
    show_phase: Phase | None
    vigour: Vigour | None
    repot_weeks: float | None = None
    extended: float | None = None
    late_share: float | None = None
    t_max_c: float | None = None
    hot_to: date | None = None
    wilting: bool = False
    saturated: bool = False
    bare_weeks: float | None = None
    """Weeks since all leaves were taken, None when that lies behind or was never done."""
    hard_from: date | None = None
    """Forecast first day of the hard stage, when it is still to come."""


@dataclass(frozen=True, slots=True)
class FeedAdvice:
    """The dose today and why; while it is none, from when or until which sign.

    ``blocks`` are the reasons that stop feed whatever the phase.
    """

    dose: Dose
    reason: str
    from_date: date | None = None
    until: str = ""
    blocks: tuple[str, ...] = ()


REPOT_WEEKS: Final = 6.0
"""The trade waits four to six weeks; the cautious end."""
HEAT_C: Final = 35.0
RA_FROM: Final = 0.6
_REST: Final = frozenset({Stage.EARLY_REST, Stage.DEEP_REST, Stage.LEAF_DROP})
_FIRST_FLUSH: Final = (Stage.SWELL, Stage.BURST, Stage.FIRST_LEAF, Stage.RUNNING, Stage.CLOSING)


def rule_phase(mix: Mapping[Phase, float], show_phase: Phase | None) -> Phase | None:
    """Return the phase whose feeding rule the tree follows.

    A tree whose apex and outer crown are mostly refined follows the rule of refined trees; its
    thin branches are pushed by letting them run instead. Else the largest share decides, and on
    a tie the phase further from refinement.
    """
    if show_phase is Phase.REFINEMENT:
        return Phase.REFINEMENT
    order = list(Phase)
    if not mix:
        return show_phase
    return max(mix, key=lambda phase: (mix[phase], -order.index(phase)))


def _blocks(state: FeedState) -> list[FeedAdvice]:
    found: list[FeedAdvice] = []

    def block(reason: str, from_date: date | None, until: str) -> None:
        found.append(FeedAdvice(Dose.NONE, reason, from_date, until, (reason,)))

    if state.stage in _REST:
        block("It is at rest and takes up nothing", None, "the first leaves open")
    if state.repot_weeks is not None and state.repot_weeks < REPOT_WEEKS:
        wait = timedelta(weeks=REPOT_WEEKS - state.repot_weeks)
        block("It was repotted less than six weeks ago", state.on + wait, "six weeks are over")
    if state.t_max_c is not None and state.t_max_c > HEAT_C:
        after = state.hot_to + timedelta(days=1) if state.hot_to else None
        block("It is over 35 °C", after, "the heat is over")
    if state.wilting:
        block("It wilts", None, "it stands firm again")
    if state.saturated:
        block("The pot is soaked", None, "the soil drains again")
    if state.bare_weeks is not None and state.bare_weeks < 4:
        block("All leaves were taken", None, "the buds move")
    return found


def _late(state: FeedState, dose: Dose) -> FeedAdvice:
    """Return the dose in late thickening: the usual one to its middle, then low nitrogen."""
    if state.late_share is not None and state.late_share < 0.5:
        return FeedAdvice(dose, "The bases swell now", until="late thickening is half over")
    return FeedAdvice(
        Dose.LOW_NITROGEN,
        "Growth ends; late nitrogen would push soft shoots",
        until="half the leaves are down",
    )


def _making(state: FeedState) -> FeedAdvice:
    if state.stage in (Stage.SWELL, Stage.BURST):
        return FeedAdvice(Dose.NONE, "The first leaves are not open", until="the first leaves open")
    if state.stage is Stage.LATE_THICKENING:
        return _late(state, Dose.FULL)
    return FeedAdvice(Dose.FULL, "Its branches must thicken", until="late thickening is half over")


def _forking(state: FeedState) -> FeedAdvice:
    early = state.stage in (Stage.SWELL, Stage.BURST, Stage.FIRST_LEAF) or (
        state.stage is Stage.RUNNING and (state.extended is None or state.extended < RA_FROM)
    )
    if early:
        return FeedAdvice(
            Dose.NONE, "Feed now makes long internodes", until="the shoots are 60 % of their length"
        )
    if state.stage is Stage.LATE_THICKENING:
        return _late(state, Dose.HALF)
    return FeedAdvice(Dose.HALF, "It builds forks", until="late thickening is half over")


def _refined(state: FeedState) -> FeedAdvice:
    if state.stage in _FIRST_FLUSH:
        return FeedAdvice(
            Dose.NONE,
            "Feed in the first flush makes coarse shoots",
            state.hard_from,
            "the leaves are dark and leathery",
        )
    if state.stage is Stage.LATE_THICKENING:
        return _late(state, Dose.FULL)
    return FeedAdvice(
        Dose.HALF, "The first flush is hard, so the hold ends", until="late thickening begins"
    )


_RULES: Final = {
    Phase.TRUNK: _making,
    Phase.PRIMARY: _making,
    Phase.RAMIFICATION: _forking,
    Phase.REFINEMENT: _refined,
}


def advice(state: FeedState) -> FeedAdvice:
    """Return the dose for a tree on a day.

    Blocks come first, all of them listed and the latest date taken. Then the rule of its phase. A
    weak tree gets half at most, and only once its leaves are hard. An unknown phase is fed like a
    tree that builds forks.
    """
    blocks = _blocks(state)
    if blocks:
        dates = [b.from_date for b in blocks]
        known = [d for d in dates if d is not None]
        return FeedAdvice(
            Dose.NONE,
            blocks[0].reason,
            max(known) if len(known) == len(dates) else None,
            blocks[0].until,
            tuple(b.reason for b in blocks),
        )
    if state.stage is Stage.COLOUR:
        return FeedAdvice(
            Dose.LOW_NITROGEN,
            "The leaves are turning; no nitrogen now",
            until="half the leaves are down",
        )
    if state.vigour is not None and state.vigour <= Vigour.WEAK:
        return _weak(state)
    phase = rule_phase(state.phase_mix, state.show_phase)
    return _RULES[phase if phase is not None else Phase.RAMIFICATION](state)


def _weak(state: FeedState) -> FeedAdvice:
    if state.stage in _FIRST_FLUSH:
        return FeedAdvice(
            Dose.NONE,
            "A weak tree opens its leaves on stores alone",
            state.hard_from,
            "the leaves are dark and leathery",
        )
    if state.stage is Stage.LATE_THICKENING:
        return _late(state, Dose.HALF)
    return FeedAdvice(Dose.HALF, "It is weak, so it gets half", until="late thickening begins")

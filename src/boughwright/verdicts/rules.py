"""The lines that cards share: limits by zone, when a base is thick enough, how sure a verdict is.

Lines are met unrounded. A verdict that has once passed a line falls back only two points below it.
Every number here is common practice in the trade or a starting value, as its comment says.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from boughwright.journal.terms import Job, Kind, Phase, Vigour, Work, Zone
from boughwright.season.stages import Stage
from boughwright.verdicts.verdict import Act, Sureness

if TYPE_CHECKING:
    from datetime import date

    from boughwright.verdicts.facts import BranchFacts, TreeFacts

THICK: Final = 0.95
"""Share of its target base from which a branch is thick enough (common practice)."""
SHORTEN: Final = 0.90
"""From here the shoot is shortened by half: the base still gains 5-10 % before the season ends."""
NEARLY: Final = 0.85
BACK: Final = 0.02
"""How far below a line a verdict must fall before it turns back."""
_EPS: Final = 1e-9

NODE_LIMIT: Final = {Zone.LOWER: 0.40, Zone.MIDDLE: 0.35, Zone.APEX: 0.30}
"""Longest first internode as a share of the room: each next one a quarter shorter must leave
three to five forks. Starting values near the geometric 0.33 to 0.43."""
NODE_LENIENT: Final = 0.40
PROVISIONAL: Final = 1.10
"""Up to a tenth over the limit a node is kept for now."""
STEP_LIMIT: Final = {Zone.LOWER: 0.50, Zone.MIDDLE: 0.45, Zone.APEX: 0.40}
"""Base over trunk from which a branch is too thick (common practice)."""
STEP_LENIENT: Final = 0.50
FORK_STEP: Final = 0.55
"""Child over parent from which a secondary branch is thick enough."""
LARGE_WOUND: Final = 1.0 / 3.0
"""A wound wider than this share of the trunk is a large one."""
OLD_READING_DAYS: Final = 400

MAKING: Final = frozenset({Phase.TRUNK, Phase.PRIMARY, Phase.RAMIFICATION})
FORKING: Final = frozenset({Phase.RAMIFICATION, Phase.REFINEMENT})
SOFT: Final = frozenset({Stage.BURST, Stage.FIRST_LEAF, Stage.RUNNING, Stage.CLOSING})
SHOOTING: Final = frozenset(
    {Stage.FIRST_LEAF, Stage.RUNNING, Stage.CLOSING, Stage.HARD, Stage.SECOND_PUSH}
)
HARDENED: Final = frozenset({Stage.HARD, Stage.SECOND_PUSH, Stage.SUMMER_HOLD})
IN_LEAF: Final = SOFT | HARDENED | {Stage.LATE_THICKENING}
BARE: Final = frozenset({Stage.EARLY_REST, Stage.DEEP_REST, Stage.SWELL})
CUT_BACK: Final = HARDENED | {Stage.LEAF_DROP}
"""Stages in which branches are cut back to a pair or a leaf."""

ZERO_TOLL: Final = frozenset(
    {
        Work.WIRE_OFF,
        Work.GUY_ON,
        Work.GUY_OFF,
        Work.RUB,
        Work.LET_RUN,
        Work.RAISE,
        Work.FEED,
        Work.FRUIT_OFF,
        Work.SPRAY,
        Work.SHADE,
        Work.COVER,
        Work.TURN,
    }
)
"""All that a weak tree is offered."""
UNKNOWN_STRENGTH: Final = frozenset(
    {
        Work.WIRE_OFF,
        Work.GUY_OFF,
        Work.LET_RUN,
        Work.FEED,
        Work.SPRAY,
        Work.SHADE,
        Work.COVER,
        Work.TURN,
    }
)
"""What may be done before anyone has said how strong the tree is: nothing is taken or bent."""
SAFE_ACTS: Final = frozenset(
    {
        Act.WIRE_OFF,
        Act.KEEP_WIRE,
        Act.RUB,
        Act.RAISE,
        Act.GUY,
        Act.LET_RUN,
        Act.LOOK_FIRST,
        Act.GRAFT_WAIT,
        Act.CUT_SICK,
        Act.FRUIT_OFF,
        Act.PROTECT,
        Act.FEED,
        Act.REST,
        Act.LEAVE,
    }
)

MINUTES: Final = {
    Act.WIRE_OFF: 3.0, Act.WIRE_ON: 15.0, Act.SHORTEN: 1.0, Act.CUT_TO_PAIR: 3.0,
    Act.CUT_TO_LEAF: 3.0, Act.CUT_PAST: 4.0, Act.SWAP_LEADER: 5.0, Act.RAISE: 5.0,
    Act.WEAKEN: 4.0, Act.REMOVE: 10.0, Act.RUB: 1.0, Act.TWO: 2.0, Act.PINCH: 2.0,
    Act.BUD_SELECT: 2.0, Act.LEAF_CLEAR: 4.0, Act.LEAF_THIN: 4.0, Act.LEAF_PAIR: 4.0,
    Act.NOTCH: 5.0, Act.SEVER: 10.0, Act.RIM: 15.0, Act.CUT_SICK: 5.0, Act.GUY: 5.0,
    Act.LOOK_FIRST: 1.0,
}  # fmt: skip
"""Bench minutes of one branch on a tree of middle size (starting values from the usual times)."""


def minutes_for(tree: TreeFacts, act: Act, count: int = 1) -> float:
    """Return the bench minutes of one act: less on a tree under 250 mm, more over 550 mm."""
    tall = tree.height_mm or tree.tall_mm or 400.0
    return MINUTES.get(act, 0.0) * count * (0.6 if tall < 250 else 1.6 if tall > 550 else 1.0)


def at_line(value: float, was: float | None, line: float) -> bool:
    """Return whether a value stands at or over a line, with the two points it may fall back."""
    if value >= line - _EPS:
        return True
    return was is not None and was >= line - _EPS and value >= line - BACK - _EPS


def is_primary(branch: BranchFacts) -> bool:
    """Return whether the base is judged against the trunk: primaries and weaned grafts."""
    if branch.order != 1:
        return False
    return branch.kind is Kind.BRANCH or (branch.kind is Kind.GRAFT and branch.weaned is True)


def thick_enough(branch: BranchFacts) -> bool | None:
    """Return whether the base has reached its target, None when it is not known.

    A secondary with no target of its own is judged by its fork step.
    """
    if branch.order <= 1 or branch.target_set:
        if branch.reached is None:
            return None
        return at_line(branch.reached, branch.reached_was, THICK)
    return None if branch.step is None else branch.step >= FORK_STEP


def job_live(branch: BranchFacts) -> bool:
    """Return whether the branch has a job whose end is not met.

    Thickening with no base of its own named ends when the base is thick enough.
    """
    if branch.job is None or branch.job_met:
        return False
    ends = branch.job is Job.THICKEN and branch.job_until_base_mm is None
    return not (ends and thick_enough(branch) is True)


def step_limit(branch: BranchFacts) -> float:
    """Return the step from which the branch is too thick; the loosest when its zone is unknown."""
    return STEP_LENIENT if branch.zone is None else STEP_LIMIT[branch.zone]


def too_thick(branch: BranchFacts) -> bool | None:
    """Return whether a primary is too thick for its place, None when its step is not known."""
    if branch.step is None:
        return None
    limit = step_limit(branch)
    if branch.step > limit:
        return True
    if branch.reached_was is None or branch.target_step is None:
        return False
    return branch.reached_was * branch.target_step > limit and branch.step > limit - BACK


def node_limit(branch: BranchFacts) -> float:
    """Return the longest first internode as a share of the room."""
    return NODE_LENIENT if branch.zone is None else NODE_LIMIT[branch.zone]


def node_over(branch: BranchFacts) -> bool:
    """Return whether the first internode is clearly over its limit."""
    share = branch.internode_share
    return share is not None and share > node_limit(branch) * PROVISIONAL + _EPS


def node_provisional(branch: BranchFacts) -> bool:
    """Return whether the first internode is over its limit by no more than a tenth."""
    share = branch.internode_share
    limit = node_limit(branch)
    return share is not None and limit + _EPS < share <= limit * PROVISIONAL + _EPS


def strength(tree: TreeFacts, branch: BranchFacts | None = None) -> Vigour | None:
    """Return how strong the tree is, or the branch when it is weaker; None when unknown.

    A tree that has lost over two fifths of its leaf counts as weak.
    """
    found = tree.vigour
    if found is not None and tree.leaf_loss > 0.4:
        found = min(found, Vigour.WEAK)
    if branch is not None and branch.vigour is not None and found is not None:
        found = min(found, branch.vigour)
    return found


def is_weak(tree: TreeFacts, branch: BranchFacts | None = None) -> bool:
    """Return whether it is known to be weak or failing."""
    found = strength(tree, branch)
    return found is not None and found <= Vigour.WEAK


def trait_word(tree: TreeFacts, trait: str) -> str | None:
    """Return a trait of the tree's species as a word, None when the species is unknown."""
    if tree.species is None or trait not in tree.species.traits:
        return None
    return tree.species.word(trait)


def trait_number(tree: TreeFacts, trait: str) -> float | None:
    """Return a trait of the tree's species as a number, None when the species is unknown."""
    if tree.species is None or trait not in tree.species.traits:
        return None
    return tree.species.number(trait)


def trait_yes(tree: TreeFacts, trait: str) -> bool:
    """Return whether a yes-or-no trait is known to hold."""
    if tree.species is None or trait not in tree.species.traits:
        return False
    return tree.species.traits[trait].value in (True, "yes")


def stage_start(tree: TreeFacts, stage: Stage, on: date) -> date | None:
    """Return the likely first day of a stage still to come after ``on``, None when not known."""
    found = tree.calendar.starts.get(stage)
    if found is None or found.likely is None or found.likely <= on:
        return None
    return found.likely


def stage_on(tree: TreeFacts, on: date) -> Stage:
    """Return the stage on a day: the one at hand today, else the last that has likely begun."""
    if on == tree.calendar.today:
        return tree.calendar.stage
    begun = [
        (found.likely, stage)
        for stage, found in tree.calendar.starts.items()
        if found.likely is not None and found.likely <= on
    ]
    return max(begun)[1] if begun else Stage.DEEP_REST


def sureness(tree: TreeFacts, branch: BranchFacts | None, *unknown: object) -> Sureness:
    """Return how sure a verdict is.

    Sure needs a fresh reading, a known species, strength not guessed and each ``unknown`` known;
    one thing short is likely, two or more doubtful. A base that is unread, read long ago, or within
    its reading error of the thick-enough line is one thing short.
    """
    short = sum(value is None for value in unknown)
    short += tree.vigour is None or tree.vigour_grade.value > 1
    short += tree.species is None
    short += tree.weeks_to_colour is None and tree.calendar.stage in IN_LEAF
    if branch is not None and is_primary(branch):
        short += _base_in_doubt(branch)
    return Sureness(max(0, 2 - short))


def _base_in_doubt(branch: BranchFacts) -> bool:
    """Tell whether the base is unread, read long ago, or within its error of the line."""
    if branch.reached is None or branch.base_age_days is None:
        return True
    if branch.base_age_days > OLD_READING_DAYS:
        return True
    if branch.target_base_mm is None or branch.base_mm is None:
        return True
    error = branch.base_sd_mm or 0.2
    return abs(branch.base_mm - THICK * branch.target_base_mm) < error

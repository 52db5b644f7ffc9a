"""The conditions of the four leaf works, and of taking all leaves above all.

Clear to see takes inner leaves and keeps tips; outer thin takes the largest outer leaves; one of
a pair is the lighter dose; all leaves is the heavy one, and every one of its conditions must
hold. Common practice in the trade; where the trade gives a range, its least is the line.
"""

from __future__ import annotations

import math
from datetime import timedelta
from typing import TYPE_CHECKING, Final

from boughwright.journal.terms import Phase, Vigour, Work
from boughwright.season.stages import Stage
from boughwright.verdicts.answer import strictest
from boughwright.verdicts.asking import (
    LEAF_DISEASE,
    LEAF_WORKS,
    WET_DISEASE,
    Asked,
    Check,
    never,
    not_now,
    past_medium,
    sick,
)
from boughwright.verdicts.rules import (
    FORKING,
    HARDENED,
    IN_LEAF,
    SOFT,
    stage_start,
    thick_enough,
    too_thick,
    trait_word,
    trait_yes,
)
from boughwright.verdicts.verdict import Reason

if TYPE_CHECKING:
    from boughwright.verdicts.answer import Answer
    from boughwright.verdicts.facts import BranchFacts

MIN_WEEKS: Final = 8.0
"""Weeks that must be left before the leaves colour."""
MIN_WARMTH_CD: Final = 700.0
HARD_DAYS: Final = 35
"""Days in leaf before all leaves may go: five to six weeks."""
SICK_LEAF: Final = 0.10
"""Up to a tenth of the leaf is picked off sick trees at any time in leaf."""
STEADY_SHARE: Final = 0.40
"""Leaf a steady tree loses at once over a zone or the whole crown, at most."""
YEARS_WEEKS: Final = 78.0
"""At most every second year: the last must be further back than a season and a half."""
HARD_ROOTS: Final = 0.30


def class_allows(asked: Asked) -> Answer | None:
    """Refuse full defoliation on kinds that never take it, and on unknown kinds."""
    kind = trait_word(asked.tree, "full_defoliation")
    if kind is None:
        return not_now(
            "The species is not known",
            condition="you name the species",
            instead="leave the leaves on",
        )
    name = asked.tree.species.plain if asked.tree.species else ""
    if kind == "never":
        reason = Reason(f"{name} never loses all its leaves at once", "species")
        return never(reason.text, reason=reason, instead="thin the outer leaves, if it is strong")
    if trait_yes(asked.tree, "fruit") and asked.tree.fruiting is not False:
        return not_now(f"{name} with fruit keeps its leaves", condition="a year with no fruit")
    return None


def partial_allows(asked: Asked) -> Answer | None:
    """Refuse lighter leaf works where the species bears none, and keep the dose small where few."""
    kind = trait_word(asked.tree, "partial_defoliation")
    if kind is None:
        return not_now("The species is not known", condition="you name the species")
    name = asked.tree.species.plain if asked.tree.species else ""
    if kind == "no":
        return never(f"{name} keeps all its leaves")
    if kind == "careful" and asked.work is Work.LEAF_THIN and (asked.share or 0.0) > 0.5:
        return not_now(
            f"{name} loses half its leaf at most",
            condition="you take less",
            instead="thin half or less",
        )
    return None


def strong_enough(asked: Asked) -> Answer | None:
    """Refuse full defoliation below the strength that the species asks for."""
    kind = trait_word(asked.tree, "full_defoliation")
    need = Vigour.STEADY if kind == "strong-or-steady" else Vigour.STRONG
    if asked.strength is None:
        return not_now("Its strength is not known", condition="you say how strong it is")
    if asked.strength < need:
        text = f"It is {asked.strength.word}; all leaves may go only when it is {need.word}"
        return not_now(
            text, condition=f"it grows {need.word} again", reason=Reason(text, "strength")
        )
    return None


def far_enough_made(asked: Asked) -> Answer | None:
    """Refuse full defoliation before forks are built, and where a base must still thicken."""
    branch = asked.branch
    phase = branch.phase if branch is not None else asked.tree.phase
    if phase not in FORKING:
        return not_now(
            "The structure must thicken first, and leaf does that",
            condition="the branch builds forks",
        )
    return None if branch is None else _thick_first(branch)


def _thick_first(branch: BranchFacts) -> Answer | None:
    """Keep the leaf on a primary whose base is thin, or is not known."""
    thick = thick_enough(branch)
    if branch.order != 1 or thick:
        return None
    text = "This base must still thicken, so it keeps its leaf"
    if thick is None:
        text = "It is not known if its base is thick enough, so it keeps its leaf"
    return not_now(text, condition="the base is thick enough")


def leaves_hard(asked: Asked) -> Answer | None:
    """Refuse leaf works while the leaf is soft, or when it is too late for them."""
    if asked.stage in HARDENED:
        in_leaf = asked.tree.days_in_leaf
        if asked.work is Work.LEAF_FULL:
            if in_leaf is None:
                return not_now("The day of first leaf is not known", condition="you log it")
            open_days = in_leaf + (asked.on - asked.tree.today).days
            if open_days < HARD_DAYS:
                text = f"The leaves are {open_days} days old; they need {HARD_DAYS}"
                when = asked.on + timedelta(days=HARD_DAYS - open_days)
                return not_now(
                    text,
                    from_date=when,
                    condition="the leaves are hard",
                    reason=Reason(text, "days in leaf", open_days, HARD_DAYS, "d"),
                )
        return None
    if asked.stage in SOFT:
        start = stage_start(asked.tree, Stage.HARD, asked.on)
        return not_now(
            "The leaves are still soft",
            from_date=start,
            condition="the leaves are dark and leathery",
        )
    return not_now("It is too late in the season for leaf work", condition="next flush is hard")


def time_left(asked: Asked) -> Answer | None:
    """Refuse leaf works when too little of the season is left to grow new leaf and buds."""
    weeks = asked.tree.weeks_to_colour
    full = asked.work is Work.LEAF_FULL
    if weeks is None:
        return not_now("The time left is not known", condition="the season clock runs")
    weeks -= (asked.on - asked.tree.today).days / 7.0
    if weeks < MIN_WEEKS:
        text = f"About {max(weeks, 0):.0f} weeks are left before the leaves turn; it needs 8"
        return not_now(
            text,
            condition="next flush is hard",
            reason=Reason(text, "weeks to colour", weeks, MIN_WEEKS, "weeks"),
        )
    warmth = asked.tree.calendar.warmth_to_colour_cd
    if full and (math.isnan(warmth) or warmth < MIN_WARMTH_CD):
        text = "Too little warmth is left before the leaves turn"
        value = None if math.isnan(warmth) else warmth
        return not_now(
            text,
            condition="next flush is hard",
            reason=Reason(
                text,
                "warmth to colour",
                value,
                MIN_WARMTH_CD,
                "°C d",
                "common-practice",
                asked.tree.calendar.grade,
            ),
        )
    return None


def roots_settled(asked: Asked) -> Answer | None:
    """Refuse full defoliation in the season of a repot, or within two of a hard one."""
    tree = asked.tree
    if tree.repot_this_season:
        text = "It was repotted this season"
        return not_now(text, condition="next season", reason=Reason(text, "repot"))
    hard = tree.repot_share is None or tree.repot_share > HARD_ROOTS
    weeks = tree.weeks_since_repot
    if weeks is not None and hard and weeks < 104:
        text = "It was repotted hard within two seasons"
        return not_now(
            text,
            condition="two seasons after the repot",
            reason=Reason(text, "weeks since repot", weeks, 104.0, "weeks"),
        )
    return None


def once_a_flush(asked: Asked) -> Answer | None:
    """Refuse a second medium or heavy work in one flush for full defoliation."""
    if any(work.this_flush and past_medium(work) for work in asked.tree.works):
        return not_now("Another big work was done this flush", condition="the next flush is hard")
    return None


def every_second_year(asked: Asked) -> Answer | None:
    """Refuse full defoliation two years running."""
    for work in asked.tree.works:
        weeks = work.weeks_ago + (asked.on - asked.tree.today).days / 7.0
        if work.work is Work.LEAF_FULL and weeks < YEARS_WEEKS:
            text = "It lost all its leaves within the last two years"
            return not_now(
                text,
                condition="a year of rest from it",
                reason=Reason(text, "weeks since", weeks, YEARS_WEEKS, "weeks"),
            )
    return None


def leaf_clean(asked: Asked) -> Answer | None:
    """Refuse leaf works with active disease: any for all leaves, wet ones for the lighter kinds."""
    watched = (*LEAF_DISEASE, "canker") if asked.work is Work.LEAF_FULL else WET_DISEASE
    return sick(asked, watched, instead="bag sick leaves and give it air")


def nothing_to_get_over(asked: Asked) -> Answer | None:
    """Refuse full defoliation while the tree recovers, or carries a graft not yet weaned."""
    if asked.tree.unweaned_grafts:
        return not_now("Leaf drives the graft on this tree", condition="the graft is weaned")
    if asked.tree.recovering:
        return not_now(
            f"It is getting over {asked.tree.recovering}", condition="one good flush is over"
        )
    return None


def no_bare_show(asked: Asked) -> Answer | None:
    """Refuse full defoliation within five months of a show."""
    show = asked.tree.show_on
    if show is None or show < asked.on:
        return None
    if asked.tree.show_leafless is not False or (show - asked.on).days < 150:
        return not_now(
            "A show follows this season",
            condition="after the show",
            instead="thin the outer leaves",
        )
    return None


def branch_bears_it(asked: Asked) -> Answer | None:
    """Refuse thinning on a weak branch, or on one that must thicken."""
    branch = asked.branch
    if branch is None:
        return None
    if branch.vigour is not None and branch.vigour <= Vigour.WEAK:
        return not_now("A weak branch keeps its leaf", condition="it grows well again")
    spared = asked.work is Work.LEAF_CLEAR or branch.phase is Phase.REFINEMENT or too_thick(branch)
    return None if spared else _thick_first(branch)


def steady_dose(asked: Asked) -> Answer | None:
    """Refuse over two fifths of the leaf at once on a steady tree; one branch may lose more."""
    share = asked.share
    if asked.branch is not None or share is None or share <= STEADY_SHARE + 1e-9:
        return None
    if asked.strength is not Vigour.STEADY:
        return None
    text = "A steady tree loses two fifths of its leaf at once at the most"
    return not_now(
        text,
        condition="you take less",
        instead="thin two fifths or less",
        reason=Reason(text, "share of the leaf", share, STEADY_SHARE),
    )


def not_twice(asked: Asked) -> Answer | None:
    """Refuse a leaf work that was done on the same place in this flush."""
    done = any(
        w.this_flush and w.work in LEAF_WORKS and w.row in (-1, asked.row) for w in asked.tree.works
    )
    return (
        not_now("Leaf was taken this flush", condition="the next flush is hard") if done else None
    )


FULL: Final[tuple[Check, ...]] = (
    class_allows,
    strong_enough,
    far_enough_made,
    leaves_hard,
    roots_settled,
    once_a_flush,
    leaf_clean,
    time_left,
    every_second_year,
    nothing_to_get_over,
    no_bare_show,
)
PARTIAL: Final[tuple[Check, ...]] = (
    partial_allows,
    leaves_hard,
    time_left,
    leaf_clean,
    steady_dose,
    branch_bears_it,
    not_twice,
)


def clear_ready(asked: Asked) -> Answer | None:
    """Hold clearing to the conditions of leaf work, but for the few sick leaves of a sick tree."""
    few = asked.share is not None and asked.share <= SICK_LEAF + 1e-9
    if few and any(sign in asked.tree.disease for sign in LEAF_DISEASE) and asked.stage in IN_LEAF:
        return None
    checks = (leaves_hard, time_left, leaf_clean, steady_dose, branch_bears_it, not_twice)
    found = [answer for check in checks if (answer := check(asked)) is not None]
    return strictest(found) if found else None


CLEAR: Final[tuple[Check, ...]] = (clear_ready,)

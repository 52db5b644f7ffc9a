"""How cards build a verdict: leave alone, look first, and an act held to its conditions."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from math import ceil
from typing import TYPE_CHECKING, Final

from boughwright.season.stages import Stage
from boughwright.sources import Grade
from boughwright.verdicts.answer import Say
from boughwright.verdicts.conditions import may
from boughwright.verdicts.rules import (
    BARE,
    HARDENED,
    SOFT,
    THICK,
    UNKNOWN_STRENGTH,
    at_line,
    minutes_for,
    stage_start,
    sureness,
)
from boughwright.verdicts.verdict import Act, Harm, Reason, SideNote, Sureness, Verdict
from boughwright.verdicts.words import day, mm, percent

if TYPE_CHECKING:
    from datetime import date

    from boughwright.journal.terms import Work
    from boughwright.verdicts.answer import Answer
    from boughwright.verdicts.facts import BranchFacts, TreeFacts

FAR_LOOK_DAYS: Final = 42
_NEXT: Final = {
    Stage.HARD: Stage.LATE_THICKENING, Stage.SECOND_PUSH: Stage.LATE_THICKENING,
    Stage.SUMMER_HOLD: Stage.LATE_THICKENING, Stage.LATE_THICKENING: Stage.COLOUR,
    Stage.COLOUR: Stage.LEAF_DROP, Stage.LEAF_DROP: Stage.SWELL, Stage.EARLY_REST: Stage.SWELL,
    Stage.DEEP_REST: Stage.SWELL, Stage.SWELL: Stage.FIRST_LEAF,
}  # fmt: skip
LOOK_AT: Final = dict.fromkeys(SOFT, "its new shoots") | dict.fromkeys(
    HARDENED, "its base and its inner buds"
) | dict.fromkeys(BARE, "its buds") | {
    Stage.LATE_THICKENING: "its base and any wire", Stage.COLOUR: "its base",
    Stage.LEAF_DROP: "its bare structure",
}  # fmt: skip
"""What the next look is for, by stage."""


def next_look(tree: TreeFacts) -> date:
    """Return the day of the next look when nothing else sets one."""
    stage = _NEXT.get(tree.calendar.stage, Stage.HARD)
    found = tree.calendar.starts.get(stage)
    far = tree.today + timedelta(days=FAR_LOOK_DAYS)
    if found is None or found.likely is None or found.likely <= tree.today:
        return far
    return min(found.likely, far)


def reached_reason(branch: BranchFacts) -> Reason:
    """Return the sentence of how far a base has come."""
    reached = branch.reached if branch.reached is not None else 0.0
    base = f" of {mm(branch.base_mm)}" if branch.base_mm is not None else ""
    was = branch.reached_was
    held_by = was is not None and reached < THICK <= was and at_line(reached, was, THICK)
    kept = f"; it had passed {percent(THICK)}, and the verdict turns back 2 points below"
    return Reason(
        f"Its base{base} has reached {percent(reached)} of its target{kept if held_by else ''}",
        "base reached",
        reached,
        THICK,
        "",
        "common-practice",
        Grade.MEASURED,
    )


def base_flip(branch: BranchFacts, line: float = THICK) -> str:
    """Return the flip fact of a base that has not reached a line."""
    if branch.target_base_mm is None:
        return f"its base reaches {percent(line)} of its target"
    # Rounded up to a tenth, so that a base read at that value has reached the line.
    return f"its base reaches {mm(ceil(branch.target_base_mm * line * 10 - 1e-6) / 10)}"


_TWIG: Final = Reason(
    "Nothing about this part is in doubt",
    "order of branching",
    None,
    None,
    "",
    "common-practice",
    Grade.BORROWED,
)
_TWIG_FLIP: Final = "you see a sign on it, or more than two shoots at one node"


def leave(tree: TreeFacts, branch: BranchFacts) -> Verdict:
    """Return the plain *leave alone*, with the day of the next look and what to look at."""
    where = "next look: " + LOOK_AT[tree.calendar.stage]
    if branch.gone:
        reason = Reason("This part is gone", "record", source="grower", grade=Grade.MEASURED)
        return Verdict(
            branch.row, "gone", Act.LEAVE, "", (reason,), "it was logged by mistake", Sureness.SURE
        )
    if branch.order <= 1 and branch.reached is not None:
        reason, flip = reached_reason(branch), "its base or its strength changes"
    else:
        reason, flip = _TWIG, _TWIG_FLIP
    return Verdict(
        branch.row,
        "leave",
        Act.LEAVE,
        where,
        (reason,),
        flip,
        Sureness.LIKELY,
        next_look=next_look(tree),
    )


def look_first(
    tree: TreeFacts,
    branch: BranchFacts,
    card: str,
    how: str,
    why: str,
    *,
    measure: str = "missing fact",
    latest: date | None = None,
    harm: Harm = Harm.IMPROVEMENT,
    flip: str = "",
    grade: Grade = Grade.MEASURED,
) -> Verdict:
    """Return a *look first* that names the one fact worth most and how to get it."""
    reason = Reason(why, measure, grade=grade)
    return Verdict(
        branch.row,
        card,
        Act.LOOK_FIRST,
        how,
        (reason,),
        flip or f"you {how}",
        Sureness.DOUBTFUL,
        harm,
        latest=latest,
        minutes=minutes_for(tree, Act.LOOK_FIRST),
        never=("Do not cut before you have looked",),
        next_look=latest or tree.today,
    )


def act(
    tree: TreeFacts,
    branch: BranchFacts,
    card: str,
    what: Act,
    where: str,
    reasons: tuple[Reason, ...],
    flip: str,
    *,
    sure: Sureness | None = None,
    harm: Harm = Harm.IMPROVEMENT,
    latest: date | None = None,
    never: tuple[str, ...] = (),
    works: tuple[Work, ...] = (),
    share: float = 0.0,
    structural: bool = False,
    notes: tuple[SideNote, ...] = (),
    caution: str = "",
    look: date | None = None,
    earliest: date | None = None,
    count: int = 1,
) -> Verdict:
    """Return a verdict with its minutes and its sureness filled in."""
    return Verdict(
        branch.row,
        card,
        what,
        where,
        reasons,
        flip,
        sureness(tree, branch) if sure is None else sure,
        harm,
        earliest,
        latest,
        minutes_for(tree, what, count) if works else 0.0,
        never,
        works,
        share,
        structural,
        notes,
        caution,
        look,
    )


def held(
    tree: TreeFacts,
    branch: BranchFacts,
    verdict: Verdict,
    work: Work,
    *,
    share: float | None = None,
    hard: bool = False,
) -> Verdict:
    """Hold a verdict to the conditions of its work.

    Allowed: as it is. Not now, from a known day: the same act from that day. Not now with no day,
    or never: leave alone, saying why. Strength unknown: look first.
    """
    if tree.vigour is None and work not in UNKNOWN_STRENGTH:
        return look_first(
            tree,
            branch,
            verdict.card,
            "say how strong the tree grows",
            "Its strength is not known",
            measure="strength",
        )
    answer = may(tree, branch, work, share=share, hard=hard)
    if answer.say is Say.YES:
        return verdict
    if answer.say is Say.NOT_NOW and answer.from_date is not None:
        return replace(
            verdict,
            earliest=answer.from_date,
            latest=None,
            reasons=verdict.reasons + answer.reasons,
            sureness=min(verdict.sureness, Sureness.LIKELY),
            harm=_later(verdict.harm),
            next_look=answer.from_date,
        )
    return waiting(tree, branch, verdict, answer)


def _later(harm: Harm) -> Harm:
    """Return the harm of a work that may not start yet: its window cannot close this week."""
    return Harm.IMPROVEMENT if harm is Harm.WINDOW else harm


def waiting(tree: TreeFacts, branch: BranchFacts, verdict: Verdict, answer: Answer) -> Verdict:
    """Return the *leave alone* of an act that its conditions forbid for now."""
    wish = Reason(
        f"It would be: {verdict.act.value}",
        verdict.reasons[0].measure,
        verdict.reasons[0].value,
        verdict.reasons[0].limit,
    )
    flip = answer.condition or verdict.flip
    return Verdict(
        branch.row,
        verdict.card,
        Act.LEAVE,
        answer.instead,
        (*answer.reasons, wish),
        flip,
        min(verdict.sureness, Sureness.LIKELY),
        never=verdict.never,
        next_look=next_look(tree),
    )


def is_waiting(verdict: Verdict) -> bool:
    """Return whether a verdict is an act held back by its conditions."""
    return verdict.act is Act.LEAVE and verdict.card not in ("leave", "gone", "node kept")


def note_of(verdict: Verdict) -> SideNote:
    """Return a verdict as a side note of another."""
    when = f", from {day(verdict.earliest)}" if verdict.earliest else ""
    place = f", {verdict.where}" if verdict.where else ""
    why = ""
    if verdict.act is Act.WIRE_OFF and verdict.reasons:
        said = verdict.reasons[0].text
        why = f"; {said[0].lower()}{said[1:]}"
    text = f"{verdict.act.value}{place}{when}{why}"
    return SideNote(
        verdict.act,
        text[0].upper() + text[1:],
        verdict.works,
        verdict.harm,
        verdict.earliest,
        verdict.latest,
        verdict.minutes,
        verdict.share,
        verdict.structural,
        verdict.reasons[0].grade if verdict.reasons else Grade.BORROWED,
    )


def before_heat(tree: TreeFacts) -> date | None:
    """Return the last day before the next hot spell, None when none is forecast."""
    hot = tree.outlook.hot_from
    return None if hot is None or hot <= tree.today else hot - timedelta(days=1)


def hard_date(tree: TreeFacts) -> date | None:
    """Return the likely day on which the flush is hard, None when it is past or unknown."""
    return stage_start(tree, Stage.HARD, tree.today)

"""Whether a work may be done on a tree or a branch on a day.

One table names, for each work, the conditions it must pass; each condition is a small function
that returns ``None`` when it holds. Cards ask here, so a verdict and the answer to a grower's own
question never differ. What a work costs the tree, which works exclude each other and in which
order they go is settled at the bench list, not here. Common practice in the trade throughout.

Over 500 lines because the table at its end is read together with its conditions.
"""

# ruff: noqa: PLR0911  (a rule of the trade is a row of guards, one return each)
from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Final

from boughwright.feed.hold import Dose
from boughwright.journal.terms import Job, Kind, Phase, Vigour, Work, Zone
from boughwright.season.stages import Stage
from boughwright.sources import Grade
from boughwright.verdicts import leafwork, wirework
from boughwright.verdicts.answer import Answer, Say, strictest
from boughwright.verdicts.asking import (
    LEAF_WORKS,
    WET_DISEASE,
    Asked,
    Check,
    hot_now,
    hot_soon,
    is_medium,
    never,
    not_now,
    past_medium,
    sick,
    very_hot_soon,
)
from boughwright.verdicts.cautions import caution_for
from boughwright.verdicts.feeding import feed_advice
from boughwright.verdicts.grafting import notch_gate, sever_gate
from boughwright.verdicts.rules import (
    BARE,
    HARDENED,
    IN_LEAF,
    SHOOTING,
    SHORTEN,
    SOFT,
    UNKNOWN_STRENGTH,
    ZERO_TOLL,
    at_line,
    job_live,
    stage_on,
    stage_start,
    strength,
    thick_enough,
    trait_number,
)
from boughwright.verdicts.verdict import Reason
from boughwright.verdicts.words import listed, mm, percent

if TYPE_CHECKING:
    from datetime import date

    from boughwright.verdicts.facts import BranchFacts, TreeFacts

_RESCUE: Final = frozenset({Work.SHADE, Work.COVER, Work.TURN})
_SICK: Final = ("canker", "dead")
LEAF_DROP_CUT_DAYS: Final = 21
"""Trees that bleed are cut from half the leaves down to three weeks after."""
_MOVES: Final = frozenset({Work.WIRE_ON, Work.RAISE, Work.LOWER})
RAISED_WEEKS: Final = 52.0
"""A raised branch that grows well this long has had two good flushes, or one long one."""


def _sick_wood(asked: Asked) -> bool:
    return (
        asked.work is Work.CUT
        and asked.branch is not None
        and any(sign in asked.branch.signs for sign in _SICK)
    )


def _biting(asked: Asked) -> bool:
    wire = asked.branch.wire if asked.branch is not None else None
    if asked.work is not Work.WIRE_OFF or wire is None:
        return False
    return wire.seen_grade >= 3 or (
        wire.off_by is not None and wire.off_by <= asked.on + timedelta(days=7)
    )


def gate(asked: Asked) -> Answer | None:
    """Refuse what the tree is not fit for; biting wire and sick wood always come off."""
    if asked.work in _RESCUE or _biting(asked) or _sick_wood(asked):
        return None
    if asked.strength is None:
        if asked.work in UNKNOWN_STRENGTH:
            return None
        return not_now("Its strength is not known", condition="you say how strong it is")
    word = asked.strength.word
    reason = Reason(
        asked.tree.vigour_why or f"It is {word}",
        "strength",
        float(asked.strength),
        float(Vigour.STEADY),
        "",
        "common-practice",
        asked.tree.vigour_grade,
    )
    if asked.strength is Vigour.FAILING:
        return not_now(
            "", condition="it grows again", instead="shade, water, wire that bites", reason=reason
        )
    light = asked.work is Work.LEAF_CLEAR and (asked.share or 1.0) <= 0.1
    if asked.strength is Vigour.WEAK and asked.work not in ZERO_TOLL and not light:
        return not_now(
            "",
            condition="one good flush is over",
            instead="let it run and feed as advised",
            reason=reason,
        )
    medium = is_medium(asked.work, asked.share, asked.hard)
    if (
        asked.strength is Vigour.STEADY
        and medium
        and any(work.this_flush and past_medium(work) for work in asked.tree.works)
    ):
        return not_now(
            "A steady tree bears one big work a flush", condition="the next flush is hard"
        )
    return None


def still_there(asked: Asked) -> Answer | None:
    """Refuse any work on a part that is gone."""
    gone = asked.branch is not None and asked.branch.gone
    return never("This part is gone") if gone else None


_JOB_ENDS: Final = {
    Job.THICKEN: "its base is thick enough",
    Job.SACRIFICE: "the wood it feeds is thick enough",
    Job.SCAR_HELPER: "the scar has closed",
    Job.GRAFT_FEEDER: "the graft is weaned",
    Job.GRAFT_WHIP: "the whip is grafted",
    Job.REPLACEMENT: "it has taken the lead",
}


def no_live_job(asked: Asked) -> Answer | None:
    """Warn off a branch that has a job, until the job's end is met.

    A branch that only thickens may be shortened by half from nine tenths of its target.
    """
    branch = asked.branch
    if branch is None or branch.job is None or not job_live(branch):
        return None
    half = (asked.share or 1.0) <= 0.5 and branch.job is Job.THICKEN
    if half and branch.reached is not None and at_line(branch.reached, None, SHORTEN):
        return None
    end = _JOB_ENDS[branch.job]
    if branch.job_until_base_mm is not None:
        end = f"the base reaches {mm(branch.job_until_base_mm)}"
    serves = f" for {branch.job_for}" if branch.job_for else ""
    text = f"It has a job: {branch.job.value}{serves}"
    reason = Reason(text, "job", source="grower", grade=Grade.MEASURED)
    return not_now(text, condition=end, instead="keep its tip on", reason=reason)


def off_unions(asked: Asked) -> Answer | None:
    """Keep wire, cuts and pulls off a graft that is not weaned."""
    branch = asked.branch
    if branch is None:
        return None
    if branch.kind is not Kind.GRAFT or branch.weaned:
        return _off_feeders(asked, branch)
    if asked.work is Work.WIRE_ON:
        text = "No wire within {50 mm} of a union that is not weaned"
        return not_now(
            text,
            condition="the graft is weaned",
            instead="guy it still",
            reason=Reason(text, "distance to the union", 0.0, 50.0, "mm"),
        )
    return not_now("The graft is not weaned", condition="the graft is weaned")


def _off_feeders(asked: Asked, branch: BranchFacts) -> Answer | None:
    """Keep what feeds a graft still: moving it tears the union."""
    if asked.work not in _MOVES or not branch.feeds or not asked.tree.unweaned_grafts:
        return None
    if branch.job is Job.SCAR_HELPER:
        return None
    return not_now(
        f"A shoot of it feeds {listed(branch.feeds)}; moving it tears the union",
        condition=f"{listed(branch.feeds)} can do without it",
        instead="guy it still",
    )


def cut_season(asked: Asked) -> Answer | None:
    """Refuse cuts in soft leaf, in colour, and when the sap of a bleeding tree runs."""
    if _sick_wood(asked):
        return None
    tree, stage = asked.tree, asked.stage
    hard = stage_start(tree, Stage.HARD, asked.on)
    if stage in SOFT:
        return not_now(
            "The leaves are not hard yet",
            from_date=hard,
            condition="the leaves are dark and leathery",
        )
    bleeds = trait_number(tree, "bleeds")
    if stage in (Stage.DEEP_REST, Stage.SWELL) and (bleeds is None or bleeds >= 2):
        text = "Sap runs from cuts between late rest and leaf"
        return not_now(
            text,
            from_date=hard,
            condition="the first flush is hard",
            instead="leave a stub if you must cut",
            reason=Reason(text, "bleeding", bleeds, 2.0),
        )
    if (late := bleeds_late(asked)) is not None:
        return late
    if stage is Stage.COLOUR:
        return not_now(
            "The leaves are turning",
            condition="half the leaves are down",
            from_date=stage_start(tree, Stage.LEAF_DROP, asked.on),
        )
    return _late(asked)


def bleeds_late(asked: Asked) -> Answer | None:
    """Refuse cuts on a bleeding tree from three weeks after half its leaves are down."""
    bleeds = trait_number(asked.tree, "bleeds")
    dry = bleeds is not None and bleeds < 2
    if dry or asked.stage not in (Stage.LEAF_DROP, Stage.EARLY_REST):
        return None
    begun = asked.tree.calendar.starts.get(Stage.LEAF_DROP)
    fell = begun.likely if begun is not None else None
    if fell is None or fell > asked.on:  # not known, or the one on hand is the next
        late = asked.stage is Stage.EARLY_REST
    else:
        late = (asked.on - fell).days > LEAF_DROP_CUT_DAYS
    if not late:
        return None
    return not_now(
        "Leaf-drop is over three weeks past",
        condition="the first flush is hard",
        instead="leave a stub if you must cut",
    )


def _late(asked: Asked) -> Answer | None:
    weeks = asked.tree.weeks_to_colour
    late = asked.stage is Stage.LATE_THICKENING and asked.hard
    if asked.stage in IN_LEAF and weeks is not None:
        weeks -= (asked.on - asked.tree.today).days / 7.0
        late |= weeks < 6
    if late:
        return not_now(
            "A cut this late pushes soft growth",
            condition="half the leaves are down",
            from_date=stage_start(asked.tree, Stage.LEAF_DROP, asked.on),
        )
    return None


def cut_heat(asked: Asked) -> Answer | None:
    """Keep large cuts ten days off heat, and small ones off the hot days themselves."""
    if _sick_wood(asked):
        return None
    return hot_soon(asked) if asked.hard else hot_now(asked)


def no_wet_disease(asked: Asked) -> Answer | None:
    """Put off wounds while a disease that spreads by wounds and wet is active."""
    return sick(asked, WET_DISEASE, instead="take sick leaves off on a dry day")


def pinch_ready(asked: Asked) -> Answer | None:
    """Pinch only refined or nearly refined shoots that grow well, as they open."""
    tree, branch = asked.tree, asked.branch
    phase = branch.phase if branch is not None else tree.phase
    if phase not in (Phase.RAMIFICATION, Phase.REFINEMENT):
        return not_now("Pinching is for refined parts", condition="its forks are built")
    if branch is not None and branch.order == 1 and thick_enough(branch) is not True:
        return not_now(
            "The base is not known to be thick enough", condition="the base is thick enough"
        )
    if asked.stage not in (Stage.FIRST_LEAF, Stage.RUNNING, Stage.SECOND_PUSH):
        return not_now(
            "No tips are opening",
            condition="the first leaves open",
            from_date=stage_start(tree, Stage.FIRST_LEAF, asked.on),
        )
    if branch is not None and (branch.zone is Zone.LOWER or branch.outer is False):
        return not_now(
            "Low and inner shoots keep their tips", condition="they are as strong as the outer ones"
        )
    return _pinch_rest(asked)


def _pinch_rest(asked: Asked) -> Answer | None:
    tree = asked.tree
    ratio = tree.extension_ratio
    if ratio is not None and ratio < 0.6:
        text = f"Its shoots reach {percent(ratio)} of their usual length"
        return not_now(
            text, condition="shoots reach 60 % again", reason=Reason(text, "extension", ratio, 0.6)
        )
    hard = tree.repot_share is None or tree.repot_share > 0.3
    if hard and (tree.repot_this_season or tree.repot_last_season):
        text = (
            "It was repotted hard"
            if tree.repot_share
            else "It is not known how hard it was repotted"
        )
        return not_now(text, condition="the season after next")
    if tree.recovering:
        return not_now(f"It is getting over {tree.recovering}", condition="one good flush is over")
    return None


def bud_season(asked: Asked) -> Answer | None:
    """Choose buds from rest to swell, or again while soft."""
    if asked.stage in BARE or asked.stage in (Stage.FIRST_LEAF, Stage.RUNNING):
        return None
    return not_now("Buds do not show well now", condition="the tree is bare")


def two_season(asked: Asked) -> Answer | None:
    """Reduce clusters while shoots are soft, at the first hardening, or at leaf-drop."""
    if asked.stage in SHOOTING or asked.stage in (Stage.LEAF_DROP, Stage.EARLY_REST):
        return None
    return not_now(
        "Shoots are best reduced while soft, or at leaf-drop",
        condition="new shoots are as long as a finger",
        from_date=stage_start(asked.tree, Stage.LEAF_DROP, asked.on),
    )


def rub_season(asked: Asked) -> Answer | None:
    """Rub while there are shoots: any time the tree is in leaf."""
    if asked.stage in IN_LEAF:
        return None
    return not_now("There is nothing soft to rub", condition="shoots are soft")


def rim_ready(asked: Asked) -> Answer | None:
    """Refresh a rim from the first hard flush to late thickening, dry and below 30 °C."""
    tree = asked.tree
    if asked.stage not in HARDENED:
        return not_now(
            "A rim is refreshed after the first flush is hard",
            from_date=stage_start(tree, Stage.HARD, asked.on),
            condition="the first flush is hard",
        )
    look = tree.outlook
    hot = hot_soon(asked)
    if hot is not None:
        dry = max((d for d in (hot.from_date, look.dry_from) if d), default=None)
        return replace(hot, from_date=dry, condition="the first dry week below 30 °C is here")
    if look.t_max_10d_c is not None and look.t_max_10d_c >= 30.0:
        return not_now(
            "It is over 30 °C in the next ten days",
            condition="the first dry week below 30 °C is here",
        )
    if look.wet_spells_14d is not None and look.wet_spells_14d >= 2:
        return not_now(
            "The last two weeks were wet", from_date=look.dry_from, condition="a dry week"
        )
    if look.dry_from is not None and look.dry_from > asked.on:
        return not_now("Rain is on its way", from_date=look.dry_from, condition="a dry week")
    return None


def graft_on_season(asked: Asked) -> Answer | None:
    """Graft from rest to mid-summer on a tree that is fit, its roots at ease."""
    tree = asked.tree
    if asked.stage in (
        Stage.EARLY_REST,
        Stage.COLOUR,
        Stage.LEAF_DROP,
        Stage.LATE_THICKENING,
        Stage.SUMMER_HOLD,
    ):
        return not_now(
            "No union forms before rest",
            condition="buds swell again",
            from_date=stage_start(tree, Stage.SWELL, asked.on),
        )
    if tree.repot_this_season and (tree.repot_share is None or tree.repot_share > 0.3):
        return not_now("It was repotted hard this season", condition="next season")
    return None


def notch_ready(asked: Asked) -> Answer | None:
    """Notch the feed of a graft only when its gate is open, once the flush is hard."""
    if asked.branch is None:
        return not_now("Say which graft", condition="you name the graft")
    state = notch_gate(asked.tree, asked.branch, asked.on)
    if state.lost:
        return never("", reason=state.reason, instead="leave it be and plan a new graft")
    if not state.open:
        return not_now("", reason=state.reason, condition=state.ask or "all its signs have come")
    if asked.stage not in HARDENED:
        return not_now(
            "A notch is made once the flush is hard",
            condition="the flush is hard",
            from_date=stage_start(asked.tree, Stage.HARD, asked.on),
        )
    return None


def sever_ready(asked: Asked) -> Answer | None:
    """Cut a graft free only after its notch has held, at flush hard or leaf-drop."""
    if asked.branch is None:
        return not_now("Say which graft", condition="you name the graft")
    state = sever_gate(asked.tree, asked.branch, asked.on)
    if state.lost:
        return never("", reason=state.reason, instead="leave it be and plan a new graft")
    if not state.open:
        return not_now("", reason=state.reason, condition=state.ask or "all its signs have come")
    if asked.stage not in HARDENED and asked.stage is not Stage.LEAF_DROP:
        return not_now(
            "A graft is cut free at flush hard or leaf-drop",
            from_date=stage_start(asked.tree, Stage.HARD, asked.on),
            condition="the flush is hard",
        )
    frost, show = asked.tree.outlook.frost_on, asked.tree.show_on
    if frost is not None:
        return not_now("Frost is close", from_date=None, condition="no frost for two weeks")
    if show is not None and 0 <= (show - asked.on).days < 60:
        return not_now("A show is close", from_date=show + timedelta(days=1))
    return None


def repot_ready(asked: Asked) -> Answer | None:
    """Repot only in swell, once a season, and lightly while a graft depends on its feed."""
    tree = asked.tree
    if asked.stage is not Stage.SWELL:
        return not_now(
            "Roots are cut only while buds swell",
            condition="buds swell",
            from_date=stage_start(tree, Stage.SWELL, asked.on),
        )
    if tree.repot_this_season:
        return not_now("It was repotted this season", condition="buds swell another year")
    hard = asked.hard or asked.share is None or asked.share > 0.3
    if hard and tree.unweaned_grafts:
        return not_now(
            "A graft on it is not weaned",
            condition="the graft is weaned",
            instead="cut under a third of the roots",
        )
    frost = tree.outlook.t_min_10d_c
    if frost is not None and frost <= 0.0:
        return not_now(
            "Frost comes on fresh cut roots",
            condition="it stands free of frost",
            instead="repot and keep it in a frost-free place for four weeks",
        )
    return None


def raise_ready(asked: Asked) -> Answer | None:
    """Raise a weak branch only when its weakness has no other cause, and not in a heat spell."""
    branch = asked.branch
    if branch is None:
        return None
    sick = [sign for sign in ("canker", "wilt", "dieback") if sign in branch.signs]
    if sick:
        return not_now(f"Treat the cause first: {sick[0]}", condition="the cause is treated")
    if branch.wire is not None and branch.wire.seen_grade >= 3:
        return not_now(
            "Wire that bites holds it back",
            condition="the wire is off",
            instead="take the wire off",
        )
    return None


def lower_ready(asked: Asked) -> Answer | None:
    """Lower a branch again only once it is thick enough, or has grown well for two flushes."""
    branch = asked.branch
    if branch is None or thick_enough(branch) is True:
        return None
    raised = [w.weeks_ago for w in asked.tree.works if w.work is Work.RAISE and w.row == branch.row]
    well = asked.strength is not None and asked.strength >= Vigour.STEADY
    if raised and min(raised) >= RAISED_WEEKS and well:
        return None
    if branch.reached is None:
        return not_now("It is not known if it has caught up", condition="you caliper its base")
    return not_now("It has not caught up yet", condition="its base is thick enough")


def feed_ready(asked: Asked) -> Answer | None:
    """Feed as the hold windows say."""
    advice = feed_advice(asked.tree, asked.on)
    if advice.dose is not Dose.NONE:
        return None
    return not_now(
        "", from_date=advice.from_date, condition=advice.until, reason=Reason(advice.reason, "feed")
    )


_CUT: Final[tuple[Check, ...]] = (no_live_job, off_unions, cut_season, cut_heat)
CHECKS: Final[dict[Work, tuple[Check, ...]]] = {
    Work.CUT: _CUT,
    Work.TWO: (no_live_job, off_unions, two_season, bleeds_late, hot_now),
    Work.RUB: (no_live_job, off_unions, rub_season),
    Work.PINCH: (no_live_job, off_unions, pinch_ready, hot_now),
    Work.BUD_SELECT: (off_unions, bud_season),
    Work.LEAF_CLEAR: (no_live_job, off_unions, *leafwork.CLEAR, very_hot_soon),
    Work.LEAF_THIN: (no_live_job, off_unions, *leafwork.PARTIAL, very_hot_soon),
    Work.LEAF_PAIR: (no_live_job, off_unions, *leafwork.PARTIAL, very_hot_soon),
    Work.LEAF_FULL: (no_live_job, off_unions, *leafwork.FULL, hot_soon),
    Work.WIRE_ON: (off_unions, *wirework.ON),
    Work.RAISE: (off_unions, raise_ready, hot_now),
    Work.LOWER: (off_unions, lower_ready, hot_now),
    Work.GRAFT_IN: (graft_on_season, no_wet_disease, hot_soon),
    Work.GRAFT_ON: (graft_on_season, no_wet_disease, hot_soon),
    Work.NOTCH: (notch_ready, no_wet_disease, hot_soon),
    Work.SEVER: (sever_ready, no_wet_disease, hot_soon),
    Work.RIM: (rim_ready, no_wet_disease),
    Work.REPOT: (repot_ready, hot_now),
    Work.FEED: (feed_ready,),
}
"""Conditions of each work, beside the two that hold for all; works not listed have none."""


def may(
    tree: TreeFacts,
    branch: BranchFacts | None,
    work: Work,
    *,
    share: float | None = None,
    hard: bool = False,
    on: date | None = None,
) -> Answer:
    """Say whether a work may be done on a tree or a branch on a day.

    Parameters
    ----------
    tree, branch : facts
        ``branch`` None asks for the tree as a whole.
    work : Work
    share : float, optional
        0..1 of the leaf, shoots or roots it takes.
    hard : bool
        A wound over a third of the trunk, a strong bend, or over 30 % of the roots.
    on : date, optional
        The day; today when not given.

    Returns
    -------
    Answer
        The strictest of all conditions, with every reason. Toll, excluding pairs and the order of
        works are added by the bench list.
    """
    day_asked = tree.today if on is None else on
    asked = Asked(
        tree,
        branch,
        work,
        share,
        hard,
        day_asked,
        stage_on(tree, day_asked),
        strength(tree, branch),
    )
    found = [
        answer
        for check in (still_there, gate, *CHECKS.get(work, ()))
        if (answer := check(asked)) is not None
    ]
    if not found:
        return Answer(Say.YES, caution=caution_for(work))
    return replace(strictest(found), caution=caution_for(work))


__all__ = ["CHECKS", "LEAF_WORKS", "may"]

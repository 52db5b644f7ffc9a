"""Verdicts on a tree as a whole (row -1): what holds for all of it, worst harm first.

Over 500 lines because each verdict is one call with one argument a line.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Final

from boughwright.feed.hold import Dose
from boughwright.health.pressure import Pressure, pressure
from boughwright.health.signs import HYGIENE
from boughwright.journal.terms import Phase, Vigour, Work, Zone
from boughwright.season.stages import AlarmKind, Stage
from boughwright.sources import Grade
from boughwright.tree.wires import season_year
from boughwright.verdicts import cards_wire
from boughwright.verdicts.again import FEED_DAYS, GUARD_DAYS, ROUND_DAYS, last_on_tree
from boughwright.verdicts.answer import Say
from boughwright.verdicts.asking import LEAF_DISEASE
from boughwright.verdicts.cards_leaf import leaf_dose
from boughwright.verdicts.conditions import may
from boughwright.verdicts.feeding import feed_advice
from boughwright.verdicts.looks import by_the_look, due_looks
from boughwright.verdicts.making import next_look
from boughwright.verdicts.rules import (
    BARE,
    FORKING,
    HARDENED,
    IN_LEAF,
    is_primary,
    minutes_for,
    stage_start,
    strength,
    sureness,
    trait_yes,
)
from boughwright.verdicts.verdict import Act, Harm, Reason, SideNote, Sureness, Verdict
from boughwright.verdicts.words import day, percent, plural

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from boughwright.feed.hold import FeedAdvice
    from boughwright.season.stages import Alarm
    from boughwright.verdicts.facts import BranchFacts, TreeFacts

FEED_MINUTES: Final = 3.0
FRUIT_MINUTES: Final = 10.0
MOVE_MINUTES: Final = 5.0
DRAIN_S: Final = 30.0
WIRE_OFF_BEFORE_SHOW_DAYS: Final = 180
PINCH_YEARS: Final = 3
REPOT_YEARS: Final = {
    Phase.TRUNK: 3.0,
    Phase.PRIMARY: 3.0,
    Phase.RAMIFICATION: 4.0,
    Phase.REFINEMENT: 5.0,
}
"""Years after which a repot is due: two or three while young, three to five when refined."""
_UNITS: Final = {AlarmKind.WET_LEAF: "h", AlarmKind.WIND: "m/s"}


def _verdict(
    tree: TreeFacts,
    card: str,
    what: Act,
    where: str,
    reasons: tuple[Reason, ...],
    flip: str,
    *,
    harm: Harm = Harm.IMPROVEMENT,
    works: tuple[Work, ...] = (),
    minutes: float = 0.0,
    earliest: date | None = None,
    latest: date | None = None,
    never: tuple[str, ...] = (),
    share: float = 0.0,
    notes: tuple[SideNote, ...] = (),
    caution: str = "",
    look: date | None = None,
    sure: Sureness | None = None,
) -> Verdict:
    return Verdict(
        -1,
        card,
        what,
        where,
        reasons,
        flip,
        sureness(tree, None) if sure is None else sure,
        harm,
        earliest,
        latest,
        minutes,
        never,
        works,
        share,
        False,
        notes,
        caution,
        look,
    )


def _one_sentence(parts: tuple[str, ...]) -> str:
    text = "; ".join(parts)
    return f"{text[0].upper()}{text[1:]}"


def protect(tree: TreeFacts) -> list[Verdict]:
    """Return one verdict for each kind of threat, the nearest of each."""
    first: dict[AlarmKind, Alarm] = {}
    for alarm in tree.alarms:
        first.setdefault(alarm.kind, alarm)
    return [_protect(tree, alarm) for alarm in first.values()]


def _protect(tree: TreeFacts, alarm: Alarm) -> Verdict:
    reason = Reason(
        alarm.reason,
        alarm.kind.name.lower().replace("_", " "),
        alarm.value,
        alarm.limit,
        _UNITS.get(alarm.kind, "°C"),
        alarm.source,
        alarm.grade,
    )
    heat = alarm.kind is AlarmKind.HEAT
    eve = max(tree.today, alarm.first - timedelta(days=1))
    work = Work.SHADE if heat else Work.COVER
    since = last_on_tree(tree, work)
    if since is not None and (alarm.first - since).days <= GUARD_DAYS:
        return _guarded(tree, alarm, reason, since)
    return _verdict(
        tree,
        "protect",
        Act.PROTECT,
        alarm.todo,
        (reason,),
        "the forecast changes",
        harm=Harm.IMPROVEMENT if alarm.kind is AlarmKind.WET_LEAF else Harm.IRREVERSIBLE,
        works=(work,),
        minutes=MOVE_MINUTES,
        latest=eve,
        never=("Do not unpot or wire it in the heat",) if heat else (),
        caution="lifting",
        look=alarm.last + timedelta(days=1),
        sure=Sureness.LIKELY,
    )


def _guarded(tree: TreeFacts, alarm: Alarm, reason: Reason, since: date) -> Verdict:
    """Return the verdict on a threat against which shade or cover was put up already."""
    word = "shade" if alarm.kind is AlarmKind.HEAT else "cover"
    stands = Reason(
        f"It has stood in {word} since {day(since)}"
        if word == "shade"
        else f"It has stood under {word} since {day(since)}",
        "protection",
        source="grower",
        grade=Grade.MEASURED,
    )
    return _verdict(
        tree,
        "protect",
        Act.PROTECT,
        f"keep it there until {day(alarm.last)}",
        (stands, reason),
        "the forecast changes",
        harm=Harm.NONE,
        look=alarm.last + timedelta(days=1),
        sure=Sureness.LIKELY,
    )


def rest(tree: TreeFacts) -> Verdict | None:
    """Rest a weak or failing tree, and say what it is still offered."""
    how = strength(tree)
    if how is None:
        reason = Reason("Nothing tells how strong it grows", "strength", grade=Grade.GUESS)
        return _verdict(
            tree,
            "strength",
            Act.LOOK_FIRST,
            "say how strong the tree grows",
            (reason,),
            "you say it is strong, steady, weak or failing",
            minutes=1.0,
            never=("Do not cut before you know",),
            sure=Sureness.DOUBTFUL,
            look=tree.today,
        )
    if how > Vigour.WEAK:
        return None
    failing = how is Vigour.FAILING
    where = (
        "only wire that bites, dead wood, shade and water"
        if failing
        else ("only wire off, rubbing soft shoots, letting run, guys and sick leaves")
    )
    why = tree.vigour_why
    if tree.leaf_loss > 0.4:
        why = f"It lost {percent(tree.leaf_loss)} of its leaf this season"
    reason = Reason(
        why or f"It is {how.word}",
        "strength",
        float(how),
        float(Vigour.STEADY),
        "",
        "common-practice",
        tree.vigour_grade,
    )
    return _verdict(
        tree,
        "rest",
        Act.REST,
        where,
        (reason,),
        "one flush grows well again",
        harm=Harm.NONE,
        look=next_look(tree),
        never=("No cuts, no leaf work, no new wire, no repot but for sick roots",),
    )


def hygiene(tree: TreeFacts) -> Verdict | None:
    """Return the hygiene list while disease is active, or its pressure is high."""
    bare = tree.calendar.stage in BARE
    found = sorted(sign for sign in tree.disease if not (bare and sign in LEAF_DISEASE))
    risk = pressure(tree.calendar.stage, tree.outlook.wet_spells_14d)
    high = risk is not None and risk.pressure is Pressure.HIGH
    if not found and not high:
        return None
    reasons = []
    if found:
        last = max(tree.disease.values())
        reasons.append(
            Reason(
                f"Signs on record: {', '.join(found)}, last on {day(last)}",
                "signs",
                source="grower",
                grade=Grade.MEASURED,
            )
        )
    if high and risk is not None:
        reasons.append(
            Reason(
                risk.why,
                "wet spells",
                tree.outlook.wet_spells_14d,
                2.0,
                "",
                "magarey-2005",
                risk.grade,
            )
        )
    since = tree.cleaned_on
    if since is not None and (tree.today - since).days < ROUND_DAYS:
        return _cleaned(tree, since, tuple(reasons))
    return _verdict(
        tree,
        "hygiene",
        Act.PROTECT,
        "; ".join(HYGIENE[:3]),
        tuple(reasons),
        "one clean flush is over",
        harm=Harm.IRREVERSIBLE if "canker" in found else Harm.FEEDS,
        minutes=5.0 if found else 2.0,
        never=("Do not name the cause before a test", "Do not wet the leaf at night"),
        works=(Work.COVER,),
        notes=(
            SideNote(Act.PROTECT, _one_sentence(HYGIENE[3:5])),
            SideNote(Act.PROTECT, _one_sentence(HYGIENE[5:])),
        ),
        caution="blade hygiene",
        look=tree.today + timedelta(days=7),
        sure=Sureness.LIKELY,
    )


def _cleaned(tree: TreeFacts, since: date, reasons: tuple[Reason, ...]) -> Verdict:
    """Return the verdict between two rounds against disease."""
    again = since + timedelta(days=ROUND_DAYS)
    done = Reason(
        f"The last round was on {day(since)}; the next is due on {day(again)}",
        "days since the round",
        float((tree.today - since).days),
        float(ROUND_DAYS),
        "days",
        "starting-value",
        Grade.GUESS,
    )
    return _verdict(
        tree,
        "hygiene",
        Act.PROTECT,
        "; ".join(HYGIENE[3:5]),
        (done, *reasons),
        "one clean flush is over",
        harm=Harm.NONE,
        never=("Do not name the cause before a test", "Do not wet the leaf at night"),
        caution="blade hygiene",
        look=again,
        sure=Sureness.LIKELY,
    )


def feed(tree: TreeFacts) -> Verdict | None:
    """Return the feed advice: a dose, or a hold with the day or the sign that ends it."""
    advice = feed_advice(tree, tree.today)
    reasons = [Reason(text, "feed") for text in (advice.blocks or (advice.reason,))]
    if tree.seasons_unfed >= 2:
        reasons.append(
            Reason(
                f"It had no feed for {plural(tree.seasons_unfed, 'season')}",
                "feed",
                float(tree.seasons_unfed),
                0.0,
                "seasons",
            )
        )
    if advice.dose is Dose.NONE:
        return None if tree.calendar.stage in BARE else _feed_held(tree, advice, tuple(reasons))
    again, last = _fed_lately(tree)
    if last is not None:
        reasons.insert(0, last)
    dose = "low-nitrogen feed" if advice.dose is Dose.LOW_NITROGEN else f"{advice.dose.value} dose"
    return _verdict(
        tree,
        "feed",
        Act.FEED,
        dose,
        tuple(reasons),
        advice.until or "the stage changes",
        works=(Work.FEED,),
        minutes=FEED_MINUTES,
        earliest=again,
        look=again,
        caution="sprays",
        never=("Do not feed dry soil", "Do not give more than the label says"),
        harm=Harm.IMPROVEMENT,
    )


def _feed_held(tree: TreeFacts, advice: FeedAdvice, reasons: tuple[Reason, ...]) -> Verdict:
    """Return the verdict while feed is held back, with what ends that."""
    return _verdict(
        tree,
        "feed hold",
        Act.FEED,
        "none for now",
        reasons,
        advice.until or "that is over",
        harm=Harm.NONE,
        look=advice.from_date,
        never=("Do not feed it yet",),
    )


def _fed_lately(tree: TreeFacts) -> tuple[date | None, Reason | None]:
    """Return the day of the next dose while the last one lasts, and the reason for it."""
    fed = last_on_tree(tree, Work.FEED)
    again = None if fed is None else fed + timedelta(days=FEED_DAYS)
    if fed is None or again is None or again <= tree.today:
        return None, None
    told = f"The last dose was on {day(fed)}; one lasts two weeks, unless the label says else"
    since = float((tree.today - fed).days)
    return again, Reason(
        told, "days since feed", since, float(FEED_DAYS), "days", "starting-value", Grade.GUESS
    )


def leaf(tree: TreeFacts, branches: Sequence[BranchFacts]) -> Verdict | None:
    """Return the leaf work of the season: kind and dose for each zone in forks or refinement."""
    if tree.calendar.stage not in HARDENED:
        return None
    doses: list[tuple[Zone, Act, Work, float, float]] = []
    total = sum(b.leaf_share or 0.0 for b in branches if is_primary(b) and not b.gone)
    for zone in (Zone.APEX, Zone.MIDDLE):
        here = [b for b in branches if b.zone is zone and is_primary(b) and not b.gone]
        phases = [b.phase for b in here if b.phase is not None]
        if not phases:
            continue
        phase = max(set(phases), key=lambda p: (phases.count(p), list(Phase).index(p)))
        found = leaf_dose(tree, zone, phase)
        weight = sum(b.leaf_share or 0.0 for b in here)
        part = weight / total if total > 0 else 0.5
        if found is not None and found[2] > 0:
            doses.append((zone, *found, part))
    if not doses:
        return None
    share = sum(dose[3] * dose[4] for dose in doses)
    _, what, work, _, _ = doses[0]
    answer = may(tree, None, work, share=share)
    if answer.say is Say.NEVER or (answer.say is Say.NOT_NOW and answer.from_date is None):
        return None
    where = ", ".join(f"{zone.value} {percent(part)}" for zone, _, _, part, _ in doses)
    kind = {
        Act.LEAF_THIN: "the largest outer leaves",
        Act.LEAF_PAIR: "one leaf of each pair, or half of each leaf",
    }[what]
    weeks = tree.weeks_to_colour
    reasons = (
        Reason("Light must reach the inner buds", "weeks to colour", weeks, 8.0, "weeks"),
        *answer.reasons,
    )
    return _verdict(
        tree,
        "leaf work",
        what,
        f"{kind}: {where}; weak and low parts keep theirs",
        reasons,
        "heat comes, or the inner buds stand in light",
        works=(work,),
        share=share,
        minutes=50.0 * share * minutes_for(tree, Act.PINCH) / 2.0,
        earliest=answer.from_date,
        never=("Cut the stalk, do not tear", "Do not thin a weak branch or one that must thicken"),
        caution="blades",
    )


def zone_wires(tree: TreeFacts) -> list[Verdict]:
    """Return one verdict for each wiring of a zone, by the cards of wire on a branch."""
    found = []
    for zone in tree.zone_wires:
        cards = (cards_wire.harm_now, cards_wire.due, cards_wire.look, cards_wire.keep)
        verdict = next(v for card in cards if (v := card(tree, zone)) is not None)
        found.append(replace(verdict, where=f"{zone.name}: {verdict.where}"))
    return found


def pinch_rest(tree: TreeFacts) -> Verdict | None:
    """Rest a tree from pinching that was pinched three years running."""
    if tree.phase not in FORKING or tree.calendar.stage not in IN_LEAF:
        return None
    south = tree.calendar.south
    pinched = {season_year(w.on, south=south) for w in tree.works if w.work is Work.PINCH}
    season = season_year(tree.today, south=south)
    last = season if season in pinched else season - 1
    if not all(year in pinched for year in range(last - PINCH_YEARS + 1, last + 1)):
        return None
    reason = Reason(
        "It was pinched three years running; rest one flush in three",
        "seasons pinched",
        float(len(pinched)),
        float(PINCH_YEARS),
        "seasons",
    )
    return _verdict(
        tree,
        "no pinching",
        Act.REST,
        "no pinching for one flush",
        (reason,),
        "a flush with no pinching is over",
        harm=Harm.FEEDS,
        never=("Do not pinch this flush",),
        look=next_look(tree),
    )


def repot(tree: TreeFacts) -> Verdict | None:
    """Say when a repot is due; it is done only in swell."""
    years = None if tree.weeks_since_repot is None else tree.weeks_since_repot / 52.2
    due_after = REPOT_YEARS[tree.phase] if tree.phase is not None else 5.0
    slow = trait_yes(tree, "repot_slow")
    late = years is not None and years >= due_after - 0.25 + (1.0 if slow else 0.0)
    wet = tree.drain_s is not None and tree.drain_s > DRAIN_S
    if not late and not wet:
        return None
    if wet:
        reason = Reason(
            f"Water stands for {tree.drain_s:.0f} seconds",
            "drainage",
            tree.drain_s,
            DRAIN_S,
            "s",
            "common-practice",
            Grade.MEASURED,
        )
    else:
        reason = Reason(
            f"The last repot was {plural(round(years or 0), 'year')} ago",
            "years since repot",
            years,
            due_after,
            "years",
            "common-practice",
            Grade.MEASURED,
        )
    answer = may(tree, None, Work.REPOT, share=0.25)
    swell = tree.calendar.stage is Stage.SWELL
    if answer.say is Say.YES:
        return _verdict(
            tree,
            "repot",
            Act.REPOT,
            "now, while buds swell; up to 30 % of the roots",
            (reason,),
            "roots are open and white, and water runs through",
            harm=Harm.WINDOW,
            works=(Work.REPOT,),
            share=0.3,
            minutes=90.0,
            latest=stage_start(tree, Stage.BURST, tree.today),
            caution="lifting",
            never=("Do not take all leaves in the same year",),
        )
    where = "after the frost" if swell else "next time the buds swell"
    return _verdict(
        tree,
        "repot due",
        Act.REPOT,
        where,
        (reason, *answer.reasons),
        "water runs through quickly and the pot is firm",
        harm=Harm.NONE,
        earliest=answer.from_date,
        look=answer.from_date,
        never=("Do not repot before the buds swell",),
    )


def fruit_off(tree: TreeFacts) -> Verdict | None:
    """Take all fruit off weak trees and trees that still build their structure."""
    if not tree.fruiting or tree.calendar.stage not in IN_LEAF:
        return None
    how = strength(tree)
    weak = how is not None and how <= Vigour.WEAK
    making = tree.phase in (Phase.TRUNK, Phase.PRIMARY)
    if not weak and not making:
        return None
    why = "Fruit drains a weak tree" if weak else "Fruit slows a tree that must thicken"
    measure = "strength" if weak else "phase"
    return _verdict(
        tree,
        "fruit off",
        Act.FRUIT_OFF,
        "all of it, stalks too",
        (Reason(why, measure),),
        "its structure is built and it grows well",
        harm=Harm.FEEDS,
        works=(Work.FRUIT_OFF,),
        minutes=FRUIT_MINUTES,
    )


def show(tree: TreeFacts, branches: Sequence[BranchFacts]) -> Verdict | None:
    """Advise for or against the next show, with the reason that decides."""
    on = tree.show_on
    if on is None or on < tree.today or (on - tree.today).days > 400:
        return None
    reasons = _against_show(tree, branches, on)
    if reasons:
        return _verdict(
            tree,
            "show",
            Act.REST,
            f"advise against the show on {day(on)}",
            tuple(reasons),
            "all of these are put right in time",
            harm=Harm.NONE,
            never=("Do not hurry works for the show",),
            look=next_look(tree),
        )
    off = on - timedelta(days=WIRE_OFF_BEFORE_SHOW_DAYS)
    reason = Reason(
        f"Nothing speaks against the show on {day(on)}",
        "strength",
        float(strength(tree) or 0),
        float(Vigour.STEADY),
    )
    where = (
        f"fit for the show so far; all wire off by {day(off)}"
        if off > tree.today
        else ("fit for the show so far; all wire off now")
    )
    return _verdict(
        tree,
        "show",
        Act.LEAVE,
        where,
        (reason,),
        "its strength falls, or a mark shows",
        harm=Harm.NONE,
        never=("No hard cuts that will be seen",),
        look=next_look(tree),
    )


def _against_show(tree: TreeFacts, branches: Sequence[BranchFacts], on: date) -> list[Reason]:
    found = []
    how = strength(tree)
    if how is None or how <= Vigour.WEAK or tree.recovering:
        text = (
            f"It is getting over {tree.recovering}"
            if tree.recovering
            else ("Its strength is not known" if how is None else f"It is {how.word}")
        )
        found.append(
            Reason(text, "strength", None if how is None else float(how), float(Vigour.STEADY))
        )
    local = [
        b.name
        for b in branches
        if b.vigour is not None and b.vigour <= Vigour.WEAK and is_primary(b) and not b.gone
    ]
    if local:
        found.append(Reason(f"{local[0]} is weak and would be seen", "local strength"))
    if "dieback" in tree.disease or any("dieback" in b.signs for b in branches):
        found.append(Reason("Inner twigs are being lost", "twigs lost"))
    if set(tree.disease) & {"canker", "spots", "pest"}:
        found.append(Reason("Disease is active; it stays at home", "signs"))
    marks = [
        b
        for b in branches
        if b.wire is not None and b.wire.seen_grade >= 3 and (b.order <= 1 or is_primary(b))
    ]
    if marks and (on - tree.today).days < WIRE_OFF_BEFORE_SHOW_DAYS:
        found.append(Reason(f"{marks[0].name} has a wire mark", "bite grade", 3.0, 2.0))
    return found


def tree_level(tree: TreeFacts, branches: Sequence[BranchFacts]) -> tuple[Verdict, ...]:
    """Return the verdicts on the tree as a whole, worst harm first.

    Parameters
    ----------
    tree : TreeFacts
    branches : sequence of BranchFacts
        Every branch of it.
    """
    found: list[Verdict | None] = [
        *protect(tree),
        *zone_wires(tree),
        rest(tree),
        hygiene(tree),
        fruit_off(tree),
        feed(tree),
        leaf(tree, branches),
        pinch_rest(tree),
        repot(tree),
        show(tree, branches),
        *due_looks(tree),
    ]
    told = (by_the_look(tree, v) if tree.looks else v for v in found if v is not None)
    return tuple(sorted(told, key=lambda v: v.harm))

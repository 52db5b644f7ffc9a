"""When to stop a bench session: what the tree bears, the weather, the light and what may tear."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Final

from boughwright.benchwork.toll import toll_of
from boughwright.journal.terms import Vigour, Work
from boughwright.sources import Grade
from boughwright.verdicts.rules import ZERO_TOLL
from boughwright.verdicts.verdict import Act, Reason
from boughwright.verdicts.words import day as day_word
from boughwright.verdicts.words import percent
from boughwright.wire.off import LOOK_AT_REST_HOURS

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from boughwright.usecases.day import TreeDay
    from boughwright.verdicts.facts import TreeFacts

DUSK_SHARE: Final = 0.25
"""Share of the day's light from which a session has to be begun in time. Starting value."""
WOUNDS: Final = frozenset({Work.CUT, Work.RIM, Work.NOTCH, Work.SEVER})
MOVES: Final = frozenset({Work.RAISE, Work.LOWER, Work.GUY_ON, Work.WIRE_ON})
DRY_ONLY: Final = frozenset({Act.RIM, Act.CUT_SICK})


def stop_rules(
    day: TreeDay, acts: Iterable[Act], works: Iterable[Work], *, toll: float, minutes: float
) -> tuple[Reason, ...]:
    """Return what ends a session early, each with the fact it rests on.

    Parameters
    ----------
    day : TreeDay
    acts, works
        Those of the list for today.
    toll : float
        What the list takes of the tree. [points]
    minutes : float
        How long it takes, setting up counted.
    """
    on_list, asked = frozenset(acts), frozenset(works)
    found = [
        *_strength(day.facts, toll),
        *_weather(day.facts, asked),
        *_wounds(day.facts, on_list, asked),
        *_wire(day, on_list),
        *_light(day, minutes),
    ]
    return tuple(found)


def _strength(tree: TreeFacts, cost: float) -> Iterator[Reason]:
    toll = toll_of(tree)
    if tree.wilting:
        yield Reason("Stop: its leaf hangs limp. Water and shade come first", "wilt",
                     source="grower", grade=Grade.MEASURED)  # fmt: skip
    if toll.bears is None:
        yield Reason("Stop after the looks: its strength is not known", "strength",
                     grade=Grade.GUESS)  # fmt: skip
    elif toll.bears <= Vigour.WEAK:
        yield Reason("Stop at this list: a weak tree bears nothing more", "strength",
                     float(toll.bears), float(Vigour.STEADY), "", "common-practice",
                     tree.vigour_grade)  # fmt: skip
    elif cost > 0.0 and toll.six_weeks > 0.0:
        share = (toll.used_on(toll.on)[1] + cost) / toll.six_weeks
        text = f"Stop at this list: it brings the tree to {percent(share)} of what it bears in six weeks"  # noqa: E501
        yield Reason(text, "toll", share, 1.0, "", "starting-value", tree.vigour_grade)


def _weather(tree: TreeFacts, works: frozenset[Work]) -> Iterator[Reason]:
    look = tree.outlook
    taxing = bool(works - ZERO_TOLL)
    if look.hot_from is not None and (taxing or works & MOVES):
        if look.hot_from <= tree.today:
            text = "Stop: it is over 33 °C today. Only wire that bites comes off"
        else:
            eve = look.hot_from - timedelta(days=1)
            text = f"Be done by {day_word(eve)}: heat over 33 °C comes on {day_word(look.hot_from)}"
        yield Reason(text, "heat", look.t_max_10d_c, 33.0, "°C")
    if look.frost_on is not None and works & WOUNDS:
        text = f"Be done well before {day_word(look.frost_on)}: frost comes then"
        yield Reason(text, "frost", look.t_min_10d_c, 0.0, "°C")


def _wounds(tree: TreeFacts, acts: frozenset[Act], works: frozenset[Work]) -> Iterator[Reason]:
    if acts & DRY_ONLY:
        yield Reason("Stop when rain wets the bark: these wounds are cut dry", "rain")
    if works & MOVES:
        yield Reason("Stop bending at the first cracking sound", "cracking")
    if tree.unweaned_grafts and works & (MOVES | WOUNDS):
        yield Reason("Stop if a graft moves: the union tears", "unweaned grafts",
                     float(tree.unweaned_grafts), 0.0, "", "common-practice",
                     Grade.MEASURED)  # fmt: skip


def _wire(day: TreeDay, acts: frozenset[Act]) -> Iterator[Reason]:
    """Stop cutting when wire turns out to have bitten: the rest of its date may have too."""
    unseen = [window for window in day.windows if window.seen_grade < 3]
    if Act.WIRE_OFF not in acts or not unseen:
        return
    text = (
        f"If a wire has bitten, stop cutting and look at all wire of that day within "
        f"{LOOK_AT_REST_HOURS} hours"
    )
    yield Reason(text, "bite grade", None, 3.0)


def _light(day: TreeDay, minutes: float) -> Iterator[Reason]:
    row = day.clock.day(day.facts.today)
    if not 0 <= row < len(day.clock.daylength_h):
        return
    hours = float(day.clock.daylength_h[row])
    if hours <= 0.0 or minutes / 60.0 < DUSK_SHARE * hours:
        return
    text = f"Begin at least {minutes / 60.0:.1f} hours before sunset, and stop at dusk"
    yield Reason(text, "day length", minutes / 60.0, hours, "h", "forsythe-1995", Grade.MEASURED)

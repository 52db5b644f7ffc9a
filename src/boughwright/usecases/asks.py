"""The few readings that decide something today: which, how likely each turns a verdict, and how.

A reading is taken as a normal error round its value, with the growth since on top. The verdict is
asked again, by its own rules, along that spread; where it turns, the chance of that and the value
at which it turns are known. Nothing is ranked by taste: first the harm at stake, then
the chance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from functools import cache, partial
from statistics import NormalDist
from typing import TYPE_CHECKING, Final

import numpy as np

from boughwright.growth.branches import rings_by
from boughwright.journal.terms import Kind, Quantity
from boughwright.tree.readings import CALIPER_SD_MM
from boughwright.usecases.bench_phrases import BLANK, blank, look_form
from boughwright.verdicts.precedence import decide
from boughwright.verdicts.verdict import Act, Harm
from boughwright.verdicts.words import mm

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping
    from datetime import date
    from typing import TypeAlias

    import numpy.typing as npt

    from boughwright.tree.model import Measure
    from boughwright.usecases.day import TreeDay
    from boughwright.verdicts.facts import BranchFacts, TreeFacts
    from boughwright.verdicts.verdict import Verdict

    Floats: TypeAlias = npt.NDArray[np.float64]
    Growth: TypeAlias = tuple[float, float, float]

MOST: Final = 5
"""Readings asked for in one sitting at most. Common practice."""
WORTH_FROM: Final = 0.05
"""Chance to turn a verdict from which a reading is worth its minute. Starting value."""
POINTS: Final = 9
"""Where along the error a verdict is asked again, before the turn itself is sought."""
HALVINGS: Final = 14
"""How often the gap that holds a turn is halved: to under a hundredth of a millimetre."""
TWIG_MM: Final = 2.0
"""Thinner wood is never measured. Common practice."""
DAYS_A_YEAR: Final = 365.25
_NORMAL: Final = NormalDist()
DRAWS: Final = 512
GOLDEN: Final = 0.6180339887498949
"""Golden-ratio step: draws fill the square of two independent normals evenly."""
_PROBES: Final = ((np.arange(POINTS) + 0.5) / POINTS * DRAWS).astype(np.int64)


@dataclass(frozen=True, slots=True)
class Ask:
    """One reading worth taking before the work begins.

    Parameters
    ----------
    row : int
        Row of the branch.
    branch, place : str
        Its lasting id and its name.
    what : tuple of Quantity
        What to read; two are read together when one alone says nothing.
    phrase : str
        How it is said, ``__`` for each number.
    act, instead : Act
        The verdict as it stands, and what it most likely turns to; None where a fact is missing.
    chance : float
        How likely it turns, 0..1; 1 where the fact is missing and the verdict waits for it.
    turns_at_mm : float or None
        The reading at which it turns.
    last_mm, likely_mm, sd_mm : float or None
        The last reading, what is expected today, and the error of that. [mm]
    read_on : date or None
        Day of the last reading.
    harm : Harm
        The worst at stake on either side.
    why : str
        One plain sentence.
    """

    row: int
    branch: str
    place: str
    what: tuple[Quantity, ...]
    phrase: str
    act: Act
    instead: Act | None
    chance: float
    turns_at_mm: float | None
    last_mm: float | None
    likely_mm: float | None
    sd_mm: float | None
    read_on: date | None
    harm: Harm
    why: str


def asks_of(day: TreeDay, *, most: int = MOST) -> tuple[Ask, ...]:
    """Return the readings that may turn a verdict of one tree today, the worthiest first.

    Parameters
    ----------
    day : TreeDay
        One tree on the day.
    most : int
        How many at most.

    Returns
    -------
    tuple of Ask
        One a branch at most, by harm at stake, then by chance.
    """
    held = _LAST.get(day.facts.tree)
    if held is None or held[0] is not day:
        if len(_LAST) >= KEPT_TREES:
            _LAST.clear()
        held = _LAST[day.facts.tree] = (day, _worked_out(day))
    return held[1][:most]


KEPT_TREES: Final = 1000
_LAST: Final[dict[str, tuple[TreeDay, tuple[Ask, ...]]]] = {}
"""Asks of the last day of each tree: the same day asked again costs nothing."""


def _worked_out(day: TreeDay) -> tuple[Ask, ...]:
    fitted = {v.row: v for v in day.verdicts}
    by_reading = _last_readings(day)
    grown = _growth_since(day)
    today = day.facts.today
    found: list[Ask] = []
    for branch in day.branches:
        verdict = fitted.get(branch.row)
        if verdict is None or not _measured_part(branch):
            continue
        best = _missing(day, branch, verdict)
        if best is None and verdict.act is not Act.LOOK_FIRST:
            guesses = _surest_out(list(_guesses(branch, by_reading, grown, today)))
            guesses = [guess for guess in guesses if guess.read_on != today]
            turns = [_turn(day, guess) for guess in guesses]
            best = max((t for t in turns if t), key=lambda a: a.chance, default=None)
        if best is not None:
            found.append(best)
    found.sort(key=lambda a: (a.harm, -round(a.chance, 6), a.row))
    return tuple(found)


def _measured_part(branch: BranchFacts) -> bool:
    """Tell whether anybody would put a caliper there: primaries, grafts, scars, running shoots."""
    if branch.order <= 1:
        return True
    thick = branch.base_mm is not None and branch.base_mm >= TWIG_MM
    return thick and (branch.running is True or branch.wire is not None)


# --- facts that are missing -----------------------------------------------------------------------


def _missing(day: TreeDay, branch: BranchFacts, verdict: Verdict) -> Ask | None:
    """Return what a *look first* waits for, where that is a reading."""
    if verdict.act is not Act.LOOK_FIRST:
        return None
    form = look_form(verdict, day.facts, branch)
    if not form.what or not form.phrases or BLANK not in form.phrases[0]:
        return None
    rows = day.tree.branches
    reason = verdict.reasons[0].text
    return Ask(
        branch.row, rows.ids[branch.row], branch.name, form.what, "; ".join(form.phrases),
        verdict.act, None, 1.0, None, None, None, None, None, verdict.harm, reason,
    )  # fmt: skip


# --- facts that may have moved --------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Guess:
    """What one reading would give today: equally likely values, in order. [mm]."""

    branch: BranchFacts
    what: tuple[Quantity, ...]
    last: float
    likely: Floats
    read_on: date | None
    put: Callable[[BranchFacts, float], BranchFacts]

    @property
    def mean(self) -> float:
        """What is expected."""
        return float(self.likely.mean())

    @property
    def sd(self) -> float:
        """The error of that."""
        return float(self.likely.std())

    def under(self, value: float) -> float:
        """Return the chance that the reading comes out under a value."""
        ranks = (np.arange(len(self.likely)) + 0.5) / len(self.likely)
        return float(np.interp(value, self.likely, ranks, left=0.0, right=1.0))


@cache
def _normals() -> tuple[Floats, Floats]:
    """Return equally likely pairs of two independent standard normals; fixed, not random."""
    ranks = (np.arange(DRAWS) + 0.5) / DRAWS
    first = np.array([_NORMAL.inv_cdf(float(rank)) for rank in ranks])
    second = first[np.argsort((np.arange(DRAWS) * GOLDEN) % 1.0)]
    return first, second


def _spread(value: float, sd: float, growth: Growth | None) -> Floats:
    """Return the values a reading may give: what was read, its error, and growth since.

    Growth is log-normal: wood never gets thinner, and now and then it grows much.
    """
    noise, speed = _normals()
    likely = value + sd * noise
    if growth is not None:
        rings, log_mean, log_sd = growth
        likely = likely + 2.0 * rings * np.exp(log_mean + log_sd * speed)
    return np.sort(likely)


def _guesses(
    branch: BranchFacts,
    read: Mapping[tuple[Quantity, int], Measure],
    grown: Mapping[int, Growth],
    today: date,
) -> Iterator[_Guess]:
    """Yield what a new reading of each kind would likely give."""
    for what, name in _SINGLE:
        value = getattr(branch, name)
        if value is None:
            continue
        last = read.get((what, branch.row))
        sd = CALIPER_SD_MM[False] if last is None or math.isnan(last.sd) else last.sd
        if what is Quantity.BASE and branch.base_sd_mm is not None:
            sd = branch.base_sd_mm
        on = None if last is None else last.on
        likely = _spread(value, sd, grown.get(branch.row) if what in _GROWS else None)
        yield _Guess(branch, (what,), value, likely, on, _PUT[what])
    if branch.kind is Kind.SCAR:
        yield from _scar(branch, read, today)


def _surest_out(guesses: list[_Guess]) -> list[_Guess]:
    """Leave out, of two readings that count only as a ratio, the one known better.

    Nothing that its error could turn is not turned by the other's.
    """
    error = {guess.what[0]: guess.sd / guess.mean for guess in guesses if guess.mean > 0.0}
    out = {
        min(pair, key=lambda what: error[what])
        for pair in _RATIOS
        if all(what in error for what in pair)
    }
    return [guess for guess in guesses if guess.what[0] not in out]


_RATIOS: Final = (
    (Quantity.TRUNK, Quantity.BASE),
    (Quantity.ROOM, Quantity.NODE),
    (Quantity.ENTRY, Quantity.EXIT),
)
_SINGLE: Final = (
    (Quantity.BASE, "base_mm"),
    (Quantity.TRUNK, "trunk_mm"),
    (Quantity.NODE, "node_mm"),
    (Quantity.ROOM, "room_mm"),
    (Quantity.EXIT, "exit_mm"),
    (Quantity.ENTRY, "entry_mm"),
)
_GROWS: Final = frozenset({Quantity.BASE, Quantity.EXIT})


def _scar(
    branch: BranchFacts, read: Mapping[tuple[Quantity, int], Measure], today: date
) -> Iterator[_Guess]:
    """Yield the width a scar likely has today, its rim moving on as it did before."""
    last = read.get((Quantity.OPEN, branch.row))
    now, was, years = branch.open_mm, branch.open_was_mm, branch.open_years
    if last is None or now is None or was is None or not years:
        return
    sd = CALIPER_SD_MM[False] if math.isnan(last.sd) else last.sd
    since = (today - last.on).days / DAYS_A_YEAR
    mean = max(now - (was - now) / years * since, 0.0)
    error = math.hypot(sd, math.sqrt(2.0) * sd / years * since)
    put = partial(_open, years=years + since)
    likely = _spread(mean, error, None)
    yield _Guess(branch, (Quantity.OPEN,), now, likely, last.on, put)


def _base(branch: BranchFacts, value: float) -> BranchFacts:
    step = branch.step
    if branch.trunk_mm is not None:
        step = value / branch.trunk_mm
    elif step is not None and branch.base_mm:
        step = step * value / branch.base_mm
    target = branch.target_base_mm
    reached = None if target is None else value / target
    return replace(branch, base_mm=value, step=step, reached=reached, reached_was=branch.reached,
                   base_age_days=0, base_sd_mm=CALIPER_SD_MM[False])  # fmt: skip


def _trunk(branch: BranchFacts, value: float) -> BranchFacts:
    base, share = branch.base_mm, branch.target_step
    target = None if share is None else value * share
    return replace(
        branch, trunk_mm=value, target_base_mm=target,
        step=branch.step if base is None else base / value,
        reached=None if base is None or target is None else base / target,
        reached_was=branch.reached,
    )  # fmt: skip


def _node(branch: BranchFacts, value: float) -> BranchFacts:
    share = value / branch.room_mm if branch.room_mm else None
    return replace(branch, node_mm=value, internode_share=share)


def _room(branch: BranchFacts, value: float) -> BranchFacts:
    share = branch.node_mm / value if branch.node_mm is not None and value > 0 else None
    return replace(branch, room_mm=value, internode_share=share)


def _open(branch: BranchFacts, value: float, *, years: float) -> BranchFacts:
    return replace(branch, open_mm=max(value, 0.0), open_years=years)


_PUT: Final[Mapping[Quantity, Callable[[BranchFacts, float], BranchFacts]]] = {
    Quantity.BASE: _base,
    Quantity.TRUNK: _trunk,
    Quantity.NODE: _node,
    Quantity.ROOM: _room,
    Quantity.EXIT: lambda branch, value: replace(branch, exit_mm=value),
    Quantity.ENTRY: lambda branch, value: replace(branch, entry_mm=value),
}
"""How a reading changes the facts of its branch."""


def _last_readings(day: TreeDay) -> dict[tuple[Quantity, int], Measure]:
    """Return the last reading of each quantity and row; records come oldest first."""
    return {(one.what, one.branch): one for one in day.tree.measures}


def _growth_since(day: TreeDay) -> dict[int, Growth]:
    """Return, by row, the rings laid since a base was read, and how fast it grows.

    Rings, mean and spread of the logarithm of the radius a ring adds. [mm]
    """
    rows, growth = day.tree.branches, day.growth
    if growth is None or day.species is None:
        return {}
    read = np.flatnonzero(rows.base_on > 0)
    if not read.size:
        return {}
    today = day.calendar.today.toordinal()
    days = np.append(rows.base_on[read].astype(np.int64), today)
    laid = rings_by(days, day.species, day.clock, day.calendar)
    rings = np.maximum(laid[-1] - laid[:-1], 0.0)
    rate = growth.increment.take(read)
    known = zip(rings.tolist(), rate.log_mean.tolist(), rate.log_sd.tolist(), strict=True)
    return dict(zip(read.tolist(), known, strict=True))


# --- where a verdict turns ------------------------------------------------------------------------


def _turn(day: TreeDay, guess: _Guess) -> Ask | None:
    """Return the reading as an ask when it may turn the verdict to or from work for today."""
    tree = day.facts
    here = decide(tree, guess.branch)
    if here.act is Act.LOOK_FIRST or not guess.likely[-1] > guess.likely[0]:
        return None
    values = guess.likely[_PROBES].tolist()
    ends = [_asked(tree, guess, values[0]), _asked(tree, guess, values[-1])]
    if all(_same(here, end) for end in ends):
        return None
    asked = [ends[0], *(_asked(tree, guess, value) for value in values[1:-1]), ends[1]]
    chances, turns = _weighed(tree, guess, values, asked)
    counted = {
        key: chance for key, chance in chances.items()
        if not _same(here, key) and (_is_work(here, tree.today) or _is_work(key, tree.today))
    }  # fmt: skip
    chance = sum(counted.values())
    if chance < WORTH_FROM:
        return None
    other = max(counted, key=lambda key: counted[key])
    nearest = min(turns, key=lambda value: abs(value - guess.last), default=None)
    rows, branch = day.tree.branches, guess.branch
    return Ask(
        branch.row, rows.ids[branch.row], branch.name, guess.what, blank(branch.name, *guess.what),
        here.act, other.act, min(chance, 1.0), nearest, guess.last, guess.mean, guess.sd,
        guess.read_on, min(here.harm, other.harm), _why(guess, other, nearest),
    )  # fmt: skip


def _asked(tree: TreeFacts, guess: _Guess, value: float) -> Verdict:
    return decide(tree, guess.put(guess.branch, max(value, 0.01)))


def _same(one: Verdict, other: Verdict) -> bool:
    return one.act is other.act and one.works == other.works


def _is_work(verdict: Verdict, today: date) -> bool:
    """Tell whether a verdict asks for a work today."""
    return bool(verdict.works) and (verdict.earliest is None or verdict.earliest <= today)


def _weighed(
    tree: TreeFacts, guess: _Guess, values: list[float], asked: list[Verdict]
) -> tuple[dict[Verdict, float], list[float]]:
    """Return each verdict with its chance, and the values at which one gives way to the next."""
    chances = {asked[0]: guess.under(values[0])}
    turns: list[float] = []

    def add(verdict: Verdict, low: float, high: float) -> None:
        key = next((known for known in chances if _same(known, verdict)), verdict)
        chances[key] = chances.get(key, 0.0) + guess.under(high) - guess.under(low)

    for k in range(len(values) - 1):
        low, high = values[k], values[k + 1]
        if _same(asked[k], asked[k + 1]):
            add(asked[k], low, high)
            continue
        edge = _edge(tree, guess, low, high, asked[k])
        turns.append(edge)
        add(asked[k], low, edge)
        add(asked[k + 1], edge, high)
    add(asked[-1], values[-1], math.inf)
    return chances, turns


def _edge(tree: TreeFacts, guess: _Guess, low: float, high: float, first: Verdict) -> float:
    """Halve a gap until the value is known from which the verdict is no longer the first."""
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        if _same(first, _asked(tree, guess, middle)):
            low = middle
        else:
            high = middle
    return high


_NAMES: Final = {
    Quantity.BASE: "base",
    Quantity.TRUNK: "trunk beside it",
    Quantity.NODE: "first node",
    Quantity.ROOM: "room",
    Quantity.EXIT: "wood above the union",
    Quantity.ENTRY: "feed below the union",
    Quantity.OPEN: "open width",
}


def _why(guess: _Guess, other: Verdict, turns: float | None) -> str:
    """Return why a reading is worth it: what it was, and where the verdict turns."""
    name = _NAMES[guess.what[0]]
    at = "" if turns is None else f" at {mm(turns)}"
    return f"The {name} was {mm(guess.last)}; the verdict turns{at} to {other.act.value}"


def ask_body(ask: Ask) -> dict[str, object]:
    """Return an ask as the shapes show it; its row stays inside."""
    return {f.name: getattr(ask, f.name) for f in fields(ask) if f.name != "row"}

"""How each act is made up for a branch, a zone or a tree: its phrase, its amounts, its readings."""

from __future__ import annotations

from dataclasses import dataclass
from math import isnan
from typing import TYPE_CHECKING, Any, TypeAlias

from boughwright.journal.events import Promised, Saw, Worked
from boughwright.journal.phrases import parse
from boughwright.journal.receipt import write
from boughwright.journal.terms import Amount, Bend, Kind, Metal, Quantity, Sign, Work
from boughwright.usecases.bench_phrases import (
    BLANK,
    CLEANED,
    LET_BE,
    SPOKEN_AMOUNTS,
    blank,
    done_phrase,
    look_form,
)
from boughwright.usecases.gauge import BRITTLE_STAGES
from boughwright.verdicts.verdict import Act
from boughwright.wire.choice import choose

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from enum import Enum

    from boughwright.journal.events import Body
    from boughwright.usecases.day import TreeDay
    from boughwright.verdicts.facts import BranchFacts
    from boughwright.verdicts.verdict import SideNote, Verdict

MOST_GAUGES = 8
MOST_LAST_USED = 3
COMMON_GAUGES_MM = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0)
"""Gauges of aluminium offered after those used last and the one that fits. Common practice."""
LOOK_DAYS = (7, 10, 14, 21)
"""In how many days a look may be asked for. [d]"""
GRADES = range(6)
REASONS = ("base", "graft", "scar", "light")
"""Why a cut waits: the base must thicken, a graft or a scar is fed, the light is wanted."""
SEEN_AMOUNTS = (Amount.FEW, Amount.SOME, Amount.MOST, Amount.NONE)
WHOLE = "all"
"""Place of what is said of the whole tree, so that no branch named before is meant."""
STAGES = ("swell", "burst", "first_leaf", "running", "closing", "hard", "colour", "leaf_drop")


@dataclass(frozen=True, slots=True)
class Choice:
    """One amount of an act, and the phrase that says the act with it.

    ``kind`` tells what it is and which fields it has:

    - ``gauge``: ``mm``, the metal as ``word``, and ``n`` strands
    - ``bite``: grade ``n``; ``method``: how wire came off, ``word``
    - ``to``: where a cut goes, ``word``, with ``amount`` when only so much of it went
    - ``share``: how much, ``amount``; ``seen``: a sign as ``word`` with its ``amount``
    - ``until``: until a base of ``mm``, None to be read; ``days``: look again in ``n`` days
    - ``why``: the reason, ``word``; ``donor``: where a graft comes from, ``word``
    - ``number``: readings to be given, ``what``; ``plain``: no more is said

    ``advised`` marks what the verdict asks for, or the gauge that fits.
    """

    kind: str
    phrase: str
    mm: float | None = None
    n: int | None = None
    word: Enum | str | None = None
    amount: Amount | None = None
    what: tuple[Quantity, ...] = ()
    advised: bool = False

    @property
    def blanks(self) -> int:
        """How many numbers have to be given."""
        return self.phrase.split().count(BLANK)


@dataclass(frozen=True, slots=True)
class Tap:
    """One act.

    Parameters
    ----------
    key : str
        Its name in the catalogue of words.
    phrase : str
        What logs it; with ``__`` for each number to be given; empty when an amount is chosen.
    choices : tuple of Choice
        The amounts, the likeliest first.
    what : tuple of Quantity
        The readings that the blanks of ``phrase`` stand for.
    ways : tuple of str
        Words on how it was done that may be added.
    field : str
        The field of the branch's form that answers it, where no phrase does.
    advised : bool
        The verdict asks for it.
    """

    key: str
    phrase: str = ""
    choices: tuple[Choice, ...] = ()
    what: tuple[Quantity, ...] = ()
    ways: tuple[str, ...] = ()
    field: str = ""
    advised: bool = False

    @property
    def ends(self) -> bool:
        """True when one tap says it all."""
        return bool(self.phrase) and not self.what


@dataclass(frozen=True, slots=True)
class Spot:
    """A branch, a zone, a new place or the tree, with what is said of it today."""

    day: TreeDay
    place: str
    """Name of the branch, the zone or the new place; empty for the whole tree."""
    branch: BranchFacts | None
    verdicts: tuple[Verdict, ...]
    free: bool = False

    @property
    def here(self) -> str:
        """The place as it begins a phrase."""
        return self.place or WHOLE

    def told(self, work: Work) -> list[Worked]:
        """Return the ways in which the verdicts ask for a work, as they would be logged."""
        works = (body for body in _told_bodies(self) if isinstance(body, Worked))
        return [body for body in works if body.work is work]


def asked_of(spot: Spot) -> list[tuple[Verdict | SideNote, str]]:
    """Return the verdicts with their notes, each with the place and way it names."""
    asked: list[tuple[Verdict | SideNote, str]] = []
    for verdict in spot.verdicts:
        asked.append((verdict, verdict.where))
        asked += [(note, "") for note in verdict.notes]
    return asked


def _told_bodies(spot: Spot) -> list[Body]:
    """Return what the verdicts ask for as it would be logged once it is done."""
    bodies: list[Body] = []
    for told, where in asked_of(spot):
        if told.act in LET_BE or not told.works:
            continue
        phrase = done_phrase(told.act, told.works, (spot.here,), where=where, share=told.share)
        if phrase and BLANK not in phrase:
            bodies += read_phrase(phrase, spot.day)
    return bodies


def read_phrase(phrase: str, day: TreeDay) -> list[Body]:
    """Return what a phrase says of a tree."""
    line = parse(phrase, today=day.facts.today)
    return [body for entry in line.entries for body in entry.bodies]


# --- what each says -------------------------------------------------------------------------------


def key_of(word: Work | Sign | Quantity) -> str:
    """Return the key of an act's tap."""
    return word.value.replace(" ", "_")


_PLAIN: Mapping[str, Body] = {
    **{key_of(work): Worked(work) for work in Work},
    **{key_of(sign): Saw(sign) for sign in Sign},
    "keep": Promised("keep"),
}
_Maker: TypeAlias = "Callable[[Spot], Tap | None]"


def plain_tap(spot: Spot, key: str) -> Tap:
    """Return an act that its own word says whole."""
    return Tap(key, write(_PLAIN[key], spot.here))


_DETAILS: Mapping[str, Callable[[Worked], dict[str, Any] | None]] = {
    "gauge": lambda b: None if b.gauge_mm is None else {
        "mm": b.gauge_mm, "n": b.strands, "word": b.metal
    },
    "until": lambda b: None if b.until_base_mm is None else {"mm": b.until_base_mm},
    "bite": lambda b: None if b.bite is None else {"n": b.bite},
    "to": lambda b: {"word": b.to, "amount": b.amount} if b.to else None,
    "method": lambda b: {"word": b.method} if b.method else None,
    "share": lambda b: None if b.amount is None else {"amount": b.amount},
    "donor": lambda b: None if b.donor is None else {"word": b.donor},
}  # fmt: skip
"""How a work's leading detail is told, by the kind of choice it makes."""


def _of_body(spot: Spot, body: Worked, *, advised: bool = False) -> Choice:
    """Return the choice that a work with its details makes."""
    phrase = write(body, spot.here)
    for kind, read in _DETAILS.items():
        found = read(body)
        if found is not None:
            return Choice(kind, phrase, advised=advised, **found)
    return Choice("plain", phrase, advised=advised)


def _work(
    spot: Spot, work: Work, bodies: Iterable[Worked], ways: tuple[str, ...] = ()
) -> Tap:  # fmt: skip
    """Return a work with its amounts, those that the verdicts ask for in front."""
    told = spot.told(work)
    each = dict.fromkeys((*told, *bodies))
    return Tap("", choices=tuple(_of_body(spot, b, advised=b in told) for b in each), ways=ways)


def _wire_on(spot: Spot) -> Tap:
    fits = _fitting(spot)
    last = sorted(spot.day.tree.wires, key=lambda wire: wire.on, reverse=True)
    used = dict.fromkeys(
        (wire.gauge_mm, wire.metal or Metal.ALUMINIUM, wire.strands)
        for wire in last
        if not isnan(wire.gauge_mm)
    )
    common = ((mm, Metal.ALUMINIUM, 1) for mm in COMMON_GAUGES_MM)
    each = list(dict.fromkeys((*list(used)[:MOST_LAST_USED], *fits, *common)))[:MOST_GAUGES]
    return Tap("", choices=tuple(
        _of_body(spot, Worked(Work.WIRE_ON, gauge_mm=mm, metal=metal, strands=strands),
                 advised=(mm, metal, strands) in fits)
        for mm, metal, strands in each
    ))  # fmt: skip


def _fitting(spot: Spot) -> list[tuple[float, Metal, int]]:
    """Return the wire that holds a moderate bend of the branch; none where its base is unknown."""
    base_mm = None if spot.branch is None else spot.branch.base_mm
    if not base_mm or base_mm <= 0.0:
        return []
    stage = spot.day.facts.calendar.stage
    found = choose(base_mm, bend=Bend.MODERATE, species=spot.day.species,
                   in_flush=stage in BRITTLE_STAGES)  # fmt: skip
    return [] if found.gauge_mm is None else [(found.gauge_mm, found.metal, found.strands)]


def _wire_off(spot: Spot) -> Tap:
    grades = (Worked(Work.WIRE_OFF, bite=grade) for grade in GRADES)
    return _work(spot, Work.WIRE_OFF, grades, ways=("cut", "unwound"))


def _bite(spot: Spot) -> Tap:
    phrases = ((grade, write(Saw(Sign.BITE, grade=grade), spot.here)) for grade in GRADES)
    return Tap("", choices=tuple(Choice("bite", phrase, n=grade) for grade, phrase in phrases))


def _ends(spot: Spot) -> tuple[str, ...]:
    """Return where a shoot is cut back to, by how its buds stand."""
    opposite = spot.day.facts.opposite
    pairs = () if opposite is False else ("pair 1", "pair 2")
    leaves = () if opposite is True else ("leaf 1", "leaf 2")
    return (*pairs, *leaves)


def _cut(spot: Spot) -> Tap:
    ends = (*_ends(spot), "past node 1", "base", "live wood")
    bodies = [Worked(Work.CUT, to=end) for end in ends]
    bodies[-2:-2] = [Worked(Work.CUT, amount=Amount.HALF), Worked(Work.CUT, amount=Amount.LIGHT)]
    return _work(spot, Work.CUT, bodies)


def _pinch(spot: Spot) -> Tap:
    bodies = (Worked(Work.PINCH), *(Worked(Work.PINCH, to=end) for end in _ends(spot)))
    return _work(spot, Work.PINCH, bodies)


def _shares(work: Work, amounts: Sequence[Amount]) -> _Maker:
    def make(spot: Spot) -> Tap:
        return _work(spot, work, (Worked(work, amount=amount) for amount in amounts))

    return make


def _let_run(spot: Spot) -> Tap:
    branch = spot.branch
    goal = None if branch is None else branch.target_base_mm
    there = branch is not None and goal is not None and (branch.base_mm or 0.0) >= goal
    bodies = [] if goal is None or there else [Worked(Work.LET_RUN, until_base_mm=round(goal, 1))]
    made = _work(spot, Work.LET_RUN, (*bodies, Worked(Work.LET_RUN)))
    asked = Choice("until", f"{spot.here} let run until base {BLANK}", what=(Quantity.BASE,))
    return Tap("", choices=(*made.choices, asked))


def _seen(sign: Sign) -> _Maker:
    def make(spot: Spot) -> Tap:
        return Tap("", choices=tuple(
            Choice("seen", write(Saw(sign, amount=amount), spot.here), word=sign, amount=amount)
            for amount in SEEN_AMOUNTS
        ))  # fmt: skip

    return make


def _look(saying: str) -> _Maker:
    def make(spot: Spot) -> Tap:
        return Tap("", choices=tuple(
            Choice("days", f"{spot.here} {saying}look {days} d", n=days) for days in LOOK_DAYS
        ))  # fmt: skip

    return make


def _later(spot: Spot) -> Tap:
    waits = Promised("cut past later")
    each = [(word, Promised(waits.what, because=word)) for word in REASONS]
    return Tap("", choices=(
        *(Choice("why", write(body, spot.here), word=word) for word, body in each),
        Choice("plain", write(waits, spot.here)),
    ))  # fmt: skip


def _reading(*what: Quantity, marked: bool = False, whole: bool = False) -> _Maker:
    def make(spot: Spot) -> Tap:
        return Tap("", blank("" if whole else spot.here, *what, marked=marked), what=what)

    return make


def _graft(work: Work) -> _Maker:
    def make(spot: Spot) -> Tap | None:
        donors = [branch.name for branch in spot.day.branches
                  if branch.kind in (Kind.BRANCH, Kind.TOP) and branch.order <= 1
                  and not branch.gone]  # fmt: skip
        bodies = (Worked(work, donor=name) for name in donors)
        return _work(spot, work, bodies) if donors else None

    return make


def _foreign_graft(spot: Spot) -> Tap:
    return Tap("", write(Worked(Work.GRAFT_ON), spot.here), ways=("thread", "approach"))


def _whole_work(work: Work, amounts: Sequence[Amount] = ()) -> _Maker:
    """Return the maker of a work that is always of the whole tree."""

    def make(spot: Spot) -> Tap:
        if not amounts:
            return Tap("", write(Worked(work)))
        told = [body for body in spot.told(work) if body.amount in amounts]
        each = dict.fromkeys((*told, *(Worked(work, amount=amount) for amount in amounts)))
        return Tap("", choices=tuple(
            Choice("share", write(b), amount=b.amount, advised=b in told) for b in each
        ))  # fmt: skip

    return make


def _whole_sign(sign: Sign) -> _Maker:
    return lambda spot: Tap("", write(Saw(sign)))


def _answer(spot: Spot) -> Tap | None:
    """Return how the look that comes first is answered."""
    verdict = next((one for one in spot.verdicts if one.act is Act.LOOK_FIRST), None)
    if verdict is None:
        return None
    form = look_form(verdict, spot.day.facts, spot.branch)
    if not form.phrases:
        return Tap("", field=form.field) if form.field else None
    if len(form.phrases) == 1 and form.what:
        return Tap("", form.phrases[0], what=form.what)
    return Tap("", choices=tuple(_answered(p, form.what, spot.day) for p in form.phrases))


def _answered(phrase: str, what: tuple[Quantity, ...], day: TreeDay) -> Choice:
    if what:
        return Choice("number", phrase, word=phrase.partition(f" {what[0].value} ")[0], what=what)
    if BLANK in phrase:
        return Choice("grade", phrase)
    body = read_phrase(phrase, day)[0]
    assert isinstance(body, Saw)
    return Choice("seen", phrase, word=body.sign, amount=body.amount)


_LEAF_AMOUNTS = (*SPOKEN_AMOUNTS, Amount.ALL, Amount.NONE)
MAKERS: Mapping[str, _Maker] = {
    "wire_on": _wire_on,
    "wire_off": _wire_off,
    "bite": _bite,
    "cut": _cut,
    "pinch": _pinch,
    "let_run": _let_run,
    "ok_look": _look("ok "),
    "look": _look(""),
    "later": _later,
    "answer": _answer,
    "graft_in": _graft(Work.GRAFT_IN),
    "graft_on": _foreign_graft,
    **{key_of(work): _shares(work, _LEAF_AMOUNTS)
       for work in (Work.LEAF_THIN, Work.LEAF_PAIR, Work.LEAF_CLEAR)},
    **{key_of(sign): _seen(sign)
       for sign in (Sign.SPOTS, Sign.MILDEW, Sign.PEST, Sign.CURL, Sign.CANKER, Sign.DIEBACK,
                    Sign.SCORCH)},
    **{key_of(what): _reading(what)
       for what in (Quantity.BASE, Quantity.EXTENSION, Quantity.OPEN)},
    "trunk": _reading(Quantity.TRUNK, marked=True),
    "node": _reading(Quantity.NODE, Quantity.ROOM),
    "exit_entry": _reading(Quantity.EXIT, Quantity.ENTRY),
    **{key_of(what): _reading(what, whole=True)
       for what in (Quantity.DRAIN, Quantity.HEIGHT, Quantity.WEIGHT)},
    "feed": _whole_work(Work.FEED, (Amount.LIGHT, Amount.HALF, Amount.FULL)),
    "repot": _whole_work(Work.REPOT, (Amount.LIGHT, Amount.HALF, Amount.HARD)),
    **{key_of(work): _whole_work(work) for work in (Work.SPRAY, Work.SHADE, Work.COVER, Work.TURN)},
    **{key: _whole_sign(Sign(key.replace("_", " "))) for key in (*STAGES, "hail")},
    "hygiene": lambda spot: Tap("", f"{spot.here} note {CLEANED}"),
}  # fmt: skip
"""How an act is made up whose phrase needs more than its own word."""


def with_ending(said: str, way: str, why: str, then: str) -> str:
    """Return a phrase with how it was done, the reason and the next look at its end."""
    reason = f"because {why.strip()}" if why.strip() else ""
    return " ".join(filter(None, (said.strip(), way.strip(), reason, then.strip())))

"""All wire on all trees: what bites first, by when each comes off, the strip for the shed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import isnan
from typing import TYPE_CHECKING, Annotated, Any, Literal, NamedTuple

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse
from markupsafe import Markup

from boughwright.report.bars import BITTEN_GRADE, WEEK_DAYS, Axis, share_line, wire_bar, wire_role
from boughwright.report.drawing_model import Mark
from boughwright.usecases.charts import wire_chart_data
from boughwright.usecases.drawing import MARKS
from boughwright.usecases.wires import AllWire, WireLine, all_wire_of
from boughwright.verdicts.cautions import caution_text
from boughwright.verdicts.verdict import Act
from boughwright.web.charting import picture
from boughwright.web.pages.charts import window_of
from boughwright.web.state import Bench, bench, tree_day

if TYPE_CHECKING:
    from boughwright.tree.model import Wire
    from boughwright.usecases.day import GardenDay, TreeDay
    from boughwright.verdicts.verdict import SideNote, Verdict
    from boughwright.web.speech import Speaker
    from boughwright.wire.window import WireWindow

router = APIRouter()
AtBench = Annotated[Bench, Depends(bench)]
MOST_ROWS = 80
"""Rows that the page shows at once; the rest is one link away."""
Name = Annotated[str, Query(max_length=120)]
AXIS_DAYS = 35
"""How far the axis reaches: five weeks, as on the week's page. [d]"""
WIRE_ACTS = frozenset({Act.WIRE_OFF, Act.KEEP_WIRE, Act.LOOK_FIRST})
"""Acts that may stand for what a wire wants."""
GRADES = range(6)
"""How deep wire may sit, from one that slides to one that is closed over."""
FIRST_WITH_METHOD = 3
"""From this grade on it matters to the record how a wire came off."""
ALL_TREES = ""


class Place(NamedTuple):
    """Where a wire is: the branch's name, and its card; empty for a part of the tree."""

    name: str
    href: str


@dataclass(frozen=True, slots=True)
class Row:
    """Wires of one tree that read the same: what they want, by when, and where they are."""

    tree: str
    name: str
    shelf: str
    places: tuple[Place, ...]
    wire: Wire
    window: WireWindow
    act: Act
    by: date | None
    where: str
    branches: tuple[str, ...]

    @property
    def role(self) -> str:
        """The role of the word's colour."""
        return "look" if self.act is Act.LOOK_FIRST else "ink"

    @property
    def href(self) -> str:
        """The page of the first of these wires."""
        branch = f"?branch={self.branches[0]}" if self.branches[0] else ""
        return f"/wire/{self.tree}/{self.window.wire}{branch}"

    @property
    def seen_on(self) -> date | None:
        """The day of the last look."""
        return self.wire.looks[-1][0] if self.wire.looks else None


# --- the pages ------------------------------------------------------------------------------------


@router.get("/wire")
def all_wire(
    request: Request,
    bench: AtBench,
    tree: Name = ALL_TREES,
    every: Annotated[bool, Query()] = False,
) -> HTMLResponse:
    """Show all wire on all trees, or on one; what bites first, unless every row is wanted."""
    garden, words = bench.day(), bench.speaker()
    found = all_wire_of(garden, tree or None)
    rows = grouped(rows_of(garden, found))
    axis = Axis(garden.today, garden.today + timedelta(days=AXIS_DAYS))
    return bench.render(
        request,
        "wire/all.html",
        sentence=sentence(rows, garden.today, words),
        rows=[_Shown(row, axis, words) for row in (rows if every else rows[:MOST_ROWS])],
        more=0 if every else max(len(rows) - MOST_ROWS, 0),
        axis=Markup(axis.head(words.day_short)),  # noqa: S704  # our own picture
        trees=_wired(garden),
        chosen=garden.tree(tree).facts.tree if tree else "",
        count=len(found.lines),
        caution=caution_text("wire ends") if found.lines else "",
    )


@router.get("/wire/strip")
def strip(
    request: Request,
    bench: AtBench,
    tree: Name = ALL_TREES,
    by: Annotated[Literal["day", "tree"], Query()] = "day",
) -> HTMLResponse:
    """Show the strip to print for the shed: one line a wire, with boxes to tick."""
    garden, words = bench.day(), bench.speaker()
    rows = rows_of(garden, all_wire_of(garden, tree or None))
    if by == "tree":
        rows.sort(key=lambda row: (row.shelf, row.name))
    return bench.render(
        request,
        "wire/strip.html",
        rows=[_Told(row, garden.today, words) for row in rows],
        trees=_wired(garden),
        chosen=garden.tree(tree).facts.tree if tree else "",
        by=by,
        due=sum(now(row, garden.today) for row in rows),
        caution=caution_text("wire ends"),
    )


@router.get("/wire/{tree}/{event}")
def one_wire(
    request: Request, tree: str, event: str, bench: AtBench, branch: Name = ""
) -> HTMLResponse:
    """Show one wire: how deep it sinks, its days, and what to write down of it."""
    day, garden, words = tree_day(bench, tree), bench.day(), bench.speaker()
    window = window_of(day, event, branch)
    rows = rows_of(garden, all_wire_of(garden, day.facts.tree))
    group = next(row for row in grouped(rows) if _holds(row, window, day))
    mine = next(row for row in rows if row.window is window)
    axis = Axis(garden.today, garden.today + timedelta(days=AXIS_DAYS))
    end = f"/{mine.branches[0]}" if mine.branches[0] else ""
    chart = picture(
        f"/charts/wire/{mine.tree}/{window.wire}{end}", wire_chart_data(day, window), words
    )
    return bench.render(
        request,
        "wire/one.html",
        row=_Shown(mine, axis, words),
        alike=group.places if len(group.places) > 1 else (),
        axis=Markup(axis.head(words.day_short)),  # noqa: S704  # our own picture
        chart=chart,
        verdict=_verdict(day, window),
        sentence=_one_sentence(mine, garden.today, words),
        here=looks(mine.places),
        all_here=looks(group.places) if len(group.places) > 1 else (),
        back=request.url.path + (f"?{request.url.query}" if request.url.query else ""),
        caution=caution_text("wire ends"),
    )


# --- rows -----------------------------------------------------------------------------------------


def rows_of(garden: GardenDay, found: AllWire) -> list[Row]:
    """Return one row a wire, the one that must come off first on top."""
    at = {(w.wire, w.row): day for day in garden.trees for w in day.windows}
    rows = [_row(line, at[line.window.wire, line.window.row]) for line in found.lines]
    rows.sort(key=lambda row: (
        row.window.seen_grade < BITTEN_GRADE, row.by or date.max, row.window.look_by or date.max
    ))  # fmt: skip
    return rows


def _row(line: WireLine, day: TreeDay) -> Row:
    window, branches = line.window, day.tree.branches
    branch = branches.ids[window.row] if window.row >= 0 else ""
    href = f"/trees/{day.facts.tree}/branches/{branch}" if branch else ""
    told = _told(day, window)
    act = told.act if told else Act.KEEP_WIRE
    by = window.off_by
    if told is not None and act is Act.WIRE_OFF:
        by = min((d for d in (by, told.latest) if d is not None), default=None)
    return Row(
        day.facts.tree, line.tree, day.shelf.name, (Place(line.place, href),), line.wire, window,
        act, by, _where(day, window), (branch,),
    )  # fmt: skip


def _verdict(day: TreeDay, window: WireWindow) -> Verdict | None:
    return next((v for v in day.verdicts if v.row == window.row), None)


def _told(day: TreeDay, window: WireWindow) -> Verdict | SideNote | None:
    """Return what the tree's verdicts ask of a wire: the branch's own, or a note of it."""
    verdict = _verdict(day, window)
    every: tuple[Verdict | SideNote, ...] = (verdict, *verdict.notes) if verdict else ()
    return next((told for told in every if told.act in WIRE_ACTS), None)


def _where(day: TreeDay, window: WireWindow) -> str:
    verdict = _verdict(day, window)
    return verdict.where if verdict is not None and verdict.act is Act.WIRE_OFF else ""


def _alike(row: Row) -> tuple[Any, ...]:
    """Return what wires of one tree must share to stand on one row."""
    wire, window = row.wire, row.window
    gauge = None if isnan(wire.gauge_mm) else wire.gauge_mm
    used = tuple(None if isnan(share) else round(share, 2) for share in window.share_used)
    return (
        row.tree, gauge, wire.metal, wire.strands, wire.on, wire.looks, window.look_by,
        window.off_by, window.hold_from, window.wirings, window.seen_grade, window.likely_grade,
        used, row.act, row.by, row.where,
    )  # fmt: skip


def grouped(rows: Sequence[Row]) -> list[Row]:
    """Return rows with those of one tree that read the same put together, in their order."""
    groups: dict[tuple[Any, ...], list[Row]] = {}
    for row in rows:
        groups.setdefault(_alike(row), []).append(row)
    return [_joined(several) for several in groups.values()]


def _joined(rows: Sequence[Row]) -> Row:
    one = rows[0]
    return Row(
        one.tree, one.name, one.shelf, tuple(p for row in rows for p in row.places), one.wire,
        one.window, one.act, one.by, one.where, tuple(b for row in rows for b in row.branches),
    )  # fmt: skip


def _holds(row: Row, window: WireWindow, day: TreeDay) -> bool:
    branch = day.tree.branches.ids[window.row] if window.row >= 0 else ""
    return row.tree == day.facts.tree and branch in row.branches


def _wired(garden: GardenDay) -> list[tuple[str, str]]:
    return [(day.facts.tree, day.facts.name) for day in garden.trees if day.windows]


# --- words ----------------------------------------------------------------------------------------


def now(row: Row, today: date) -> bool:
    """Tell whether a wire should be off by now."""
    if row.window.seen_grade >= BITTEN_GRADE:
        return True
    return row.act is Act.WIRE_OFF and row.by is not None and row.by <= today


def sentence(rows: Sequence[Row], today: date, words: Speaker) -> str:
    """Return the page's answer: how many wires come off, by when, and where to begin."""
    if not rows:
        return words.t("wires.none")
    until = today + timedelta(days=WEEK_DAYS)
    late = sum(len(row.places) for row in rows if now(row, today))
    soon = sum(len(row.places) for row in rows if not now(row, today) and _by(row, until))
    first = {"place": words.place(rows[0].places[0].name), "tree": rows[0].name}
    if late:
        more = words.t("wires.more", n=soon, day=words.day(until)) if soon else ""
        return words.t("wires.late", n=late, **first) + more
    if soon:
        return words.t("wires.soon", n=soon, day=words.day(until), **first)
    looks = [row for row in rows if row.window.look_by is not None]
    if not looks:
        return words.t("wires.calm", day=words.day(until))
    look = min(looks, key=lambda row: row.window.look_by or date.max)
    return words.t(
        "wires.look", day=words.day(until), place=words.place(look.places[0].name),
        tree=look.name, look=words.day(max(look.window.look_by or today, today)),
    )  # fmt: skip


def _by(row: Row, until: date) -> bool:
    return row.act is Act.WIRE_OFF and row.by is not None and row.by <= until


def _one_sentence(row: Row, today: date, words: Speaker) -> str:
    return words.t(
        "wires.one", place=words.place(row.places[0].name), tree=row.name,
        act=words.word(row.act), when=_when(row, today, words),
    )  # fmt: skip


def _when(row: Row, today: date, words: Speaker) -> str:
    """Return by when a wire wants what it wants."""
    window = row.window
    if now(row, today):
        return words.t("wires.now")
    if row.act is Act.LOOK_FIRST and window.look_by is not None:
        return words.t("when.by", day=words.day(max(window.look_by, today)))
    if row.by is not None:
        return words.t("when.by", day=words.day(row.by))
    if isnan(window.allowed.not_this_season):
        return words.t("wires.unknown")
    return words.t("wires.stays")


class _Told:
    """One row in words."""

    def __init__(self, row: Row, today: date, words: Speaker) -> None:
        wire, window = row.wire, row.window
        self.row = row
        self.now = now(row, today)
        self.role = "harm" if self.now else ("act" if row.act is Act.WIRE_OFF else row.role)
        self.mark = MARKS.get(row.act, Mark.LEAVE)
        self.when = _when(row, today, words)
        self.gauge = _gauge(wire, words)
        self.on = words.t("wires.since", day=words.day_short(wire.on))
        self.seen = _seen(row, words)
        self.likely = _grade(window.likely_grade, words)
        self.look = _look(window, today, words)
        self.off = _off(row, today, words)
        self.holds = _holding(window, today, words)
        self.used = _used(window, words)
        self.guess = window.grade.word == "guess"


class _Shown(_Told):
    """One row in words, with its bar and its share."""

    def __init__(self, row: Row, axis: Axis, words: Speaker) -> None:
        super().__init__(row, axis.today, words)
        names = ", ".join(words.place(place.name) for place in row.places)
        label = words.t("wires.bar", place=names, tree=row.name, off=self.off, look=self.look)
        role = wire_role(row.window, axis.today)
        self.bar = Markup(wire_bar(row.window, axis, label=label))  # noqa: S704  # our picture
        self.share = Markup(  # noqa: S704  # our own picture
            share_line(row.window.share_used, role=role, label=self.used)
        )


def _gauge(wire: Wire, words: Speaker) -> str:
    size = words.t("wires.gauge_unknown") if isnan(wire.gauge_mm) else words.length(wire.gauge_mm)
    metal = words.word(wire.metal) if wire.metal else words.t("wires.metal_unknown")
    if wire.strands > 1:
        return words.t("wires.strands", n=wire.strands, size=size, metal=metal)
    return words.t("wires.wire", size=size, metal=metal)


def _grade(grade: int, words: Speaker) -> str:
    return words.t(f"wires.grade_{grade}") if grade in GRADES else words.t("wires.grade_unknown")


def _seen(row: Row, words: Speaker) -> str:
    if row.window.seen_grade < 0 or row.seen_on is None:
        return words.t("wires.never_seen")
    grade = _grade(row.window.seen_grade, words)
    return words.t("wires.seen", grade=grade, day=words.day(row.seen_on))


def _look(window: WireWindow, today: date, words: Speaker) -> str:
    if window.look_by is None:
        return words.t("wires.no_look")
    if window.look_by <= today:
        return words.t("wires.look_now")
    return words.t("wires.look_by", day=words.day(window.look_by))


def _off(row: Row, today: date, words: Speaker) -> str:
    off = row.window.off_by
    if now(row, today):
        return words.t("wires.off_now")
    if off is not None and row.by is not None and row.by < off:
        return words.t("wires.off_sooner", by=words.day(row.by), off=words.day(off))
    if off is not None:
        return words.t("wires.off_by", day=words.day(off))
    unknown = isnan(row.window.allowed.not_this_season)
    return words.t("wires.off_unknown" if unknown else "wires.off_not")


def _holding(window: WireWindow, today: date, words: Speaker) -> str:
    """Return whether the bend holds, and how many wirings it needs."""
    if window.wirings < 0:
        return words.t("wires.set_unknown")
    if window.wirings > 1:
        return words.t("wires.wirings", n=window.wirings)
    if window.hold_from is None:
        return words.t("wires.set_not")
    key = "wires.held" if window.hold_from <= today else "wires.holds_from"
    return words.t(key, day=words.day(window.hold_from))


def _used(window: WireWindow, words: Speaker) -> str:
    low, likely, high = window.share_used
    if isnan(likely):
        return words.t("wires.used_unknown")
    if likely > 1.0:
        return words.t("wires.used_over", allowed=words.percent(window.allowed_sink))
    return words.t("wires.used", share=words.percent(likely), low=words.percent(low),
                   high=words.percent(high))  # fmt: skip


# --- what to write down ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Saying:
    """One thing to write down of a wire: the grade, and the bench phrases that say it."""

    grade: int
    look: str
    off: tuple[tuple[str, str], ...]
    """How it came off, and the phrase."""


def looks(places: Sequence[Place]) -> tuple[Saying, ...]:
    """Return what may be seen of the wire on some places, and how it may have come off."""
    where = ", ".join(place.name for place in places)
    said = []
    for grade in GRADES:
        off = f"{where} wire off bite {grade}"
        ways = [("off", off)]
        if grade >= FIRST_WITH_METHOD:
            ways = [("cut", f"{off} cut"), ("unwound", f"{off} unwound")]
        said.append(Saying(grade, f"{where} bite {grade}", tuple(ways)))
    return tuple(said)

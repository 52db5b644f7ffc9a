"""Every part of the interface side by side, by day and by night: to see at once what a change does.

The examples are made up, so that each state is there; only the drawing and the chart are of a tree
of this garden, where it has one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from math import nan
from typing import TYPE_CHECKING, Annotated, Any, Final
from uuid import UUID

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse
from markupsafe import Markup

from boughwright.report.bars import FORMS, Axis, share_line, wire_bar, wire_role
from boughwright.report.drawing_model import Mark, Role
from boughwright.season.stages import DateRange
from boughwright.sources import Grade
from boughwright.usecases.drawing import MARKS
from boughwright.verdicts.verdict import Act
from boughwright.web.branch_card import chart
from boughwright.web.state import Bench, bench
from boughwright.web.views import CALM, LOOKS
from boughwright.wire.window import WireWindow

if TYPE_CHECKING:
    from boughwright.usecases.day import TreeDay
    from boughwright.web.speech import Speaker

router = APIRouter()
AXIS_DAYS = 35
NEVER: Final = DateRange(None, None, None, nan)
LIGHTS: Final = ("day", "night")


@dataclass(frozen=True, slots=True)
class Shown:
    """One example: its word from the catalogue, and the picture of it."""

    key: str
    picture: Markup


@router.get("/parts")
def parts(request: Request, bench: Annotated[Bench, Depends(bench)]) -> HTMLResponse:
    """Show every part of the interface."""
    words, today = bench.speaker(), bench.today
    axis = Axis(today, today + timedelta(days=AXIS_DAYS))
    tree = _first_tree(bench)
    return bench.render(
        request,
        "parts_page.html",
        lights=LIGHTS,
        verdicts=[(act, role_of(act), MARKS.get(act, Mark.LEAVE)) for act in Act],
        axis=Markup(axis.head(words.day)),  # noqa: S704  # our own picture
        bars=_bars(axis, words),
        wires=_wires(axis, words),
        shares=_shares(words),
        soon=today + timedelta(days=5),
        later=today + timedelta(days=30),
        harm=Role.HARM,
        cut=Mark.CUT,
        example=tree,
        **(_pictures(bench, tree, words) if tree else {}),
    )


def role_of(act: Act) -> Role:
    """Return the role of an act's colour where no harm is near."""
    if act in CALM:
        return Role.INK
    if act in LOOKS:
        return Role.LOOK
    return Role.RUN if act is Act.LET_RUN else Role.ACT


def _first_tree(bench: Bench) -> TreeDay | None:
    """Return the tree with the most kinds of verdicts, None where there is no tree."""
    trees = bench.day().trees if bench.has_book else ()
    return max(trees, key=lambda day: len({branch.job for branch in day.branches}), default=None)


def _pictures(bench: Bench, tree: TreeDay, words: Speaker) -> dict[str, Any]:
    charts = (chart(tree, branch, words) for branch in tree.branches if branch.base_mm is not None)
    return {
        "thumb": bench.pictures.thumb(tree),
        "drawing": bench.pictures.lines(tree, words, width=320, height=320),
        "chart": next((one for one in charts if one is not None), None),
    }


def _bars(axis: Axis, words: Speaker) -> list[Shown]:
    """Return the window of a job in each state and each role."""
    day: Callable[[int], date] = lambda n: axis.today + timedelta(days=n)  # noqa: E731
    unsure = DateRange(day(12), day(16), day(22))
    states: list[tuple[str, dict[str, Any]]] = [
        *((f"role_{role}", {"earliest": None, "latest": day(12), "role": role}) for role in FORMS),
        ("bar_late", {"earliest": None, "latest": day(-3), "role": "harm"}),
        ("bar_opens", {"earliest": day(9), "latest": day(24), "role": "act"}),
        ("bar_unsure", {"earliest": None, "latest": day(12), "role": "act", "ends": unsure}),
        ("bar_open", {"earliest": None, "latest": None, "role": "run"}),
        ("bar_beyond", {"earliest": None, "latest": day(60), "role": "look"}),
        ("bar_after", {"earliest": day(50), "latest": day(70), "role": "act"}),
    ]
    return [
        Shown(key, _picture(axis.bar(**how, label=words.t(f"parts.{key}")))) for key, how in states
    ]


def _wires(axis: Axis, words: Speaker) -> list[Shown]:
    """Return the row of a wire in each state."""
    today = axis.today

    def wire(key: str, **given: Any) -> Shown:
        window = _window(today, **given)
        label = words.t(f"parts.{key}")
        made = _picture(wire_bar(window, axis, label=label))
        role = wire_role(window, today)
        return Shown(key, made + _picture(share_line(window.share_used, role=role, label=label)))

    return [
        wire("wire_fresh", look=10, off=30, bites=34, used=0.2, hold=20),
        wire("wire_due", look=2, off=5, bites=11, used=0.8, hold=-4),
        wire("wire_bitten", look=None, off=-2, bites=-2, used=1.2, hold=-9, seen=3),
        wire("wire_quiet", look=21, off=None, bites=None, used=0.05, hold=None),
        wire("wire_unknown", look=7, off=None, bites=None, used=nan, hold=None),
    ]


def _window(
    today: date, *, look: int | None, off: int | None, bites: int | None, used: float,
    hold: int | None, seen: int = -1,
) -> WireWindow:  # fmt: skip
    """Return a made-up wire. Days are counted from today."""

    def day(n: int | None) -> date | None:
        return None if n is None else today + timedelta(days=n)

    def about(n: int | None) -> DateRange:
        return NEVER if n is None else DateRange(day(n), day(n + 5), day(n + 11))

    return WireWindow(
        wire=UUID(int=0), row=0, look_by=day(look), off_by=day(off), line=about(look),
        allowed=about(off), bitten=about(bites), deep=NEVER, set=about(hold), hold_from=day(hold),
        share_used=(used * 0.7, used, used * 1.4), seen_grade=seen,
        seen_on=today if seen >= 0 else None, likely_grade=max(seen, 1), wirings=1,
        allowed_sink=0.1, grade=Grade.GUESS,
    )  # fmt: skip


def _shares(words: Speaker) -> list[Shown]:
    cases = (
        ("share_half", 0.5, "ink"),
        ("share_over", 1.15, "harm"),
        ("share_unknown", nan, "ink"),
    )
    return [
        Shown(key, _picture(share_line((n, n, n), role=role, label=words.t(f"parts.{key}"))))
        for key, n, role in cases
    ]


def _picture(text: str) -> Markup:
    return Markup(text)  # noqa: S704  # our own picture, its label escaped there

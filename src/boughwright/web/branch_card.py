"""What the card of a branch shows, gathered from one day of its tree."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from boughwright.report.bars import Axis, share_line, wire_bar, wire_role
from boughwright.report.charts_frame import whole_seasons
from boughwright.usecases.charts import branch_chart_data
from boughwright.verdicts.cautions import caution_text
from boughwright.web.charting import Picture, picture

if TYPE_CHECKING:
    from boughwright.usecases.day import TreeDay
    from boughwright.usecases.sheet import Line
    from boughwright.verdicts.facts import BranchFacts
    from boughwright.web.speech import Speaker
    from boughwright.web.state import Bench

AXIS_DAYS = 35
"""How far the axis of its wire reaches: five weeks. [d]"""
RECENT = 6
"""How many records the card shows; all are one link away."""


def card_of(bench: Bench, day: TreeDay, line: Line, words: Speaker) -> dict[str, Any]:
    """Return what the card's template needs."""
    branch, verdict = line.branch, line.verdict
    known, unknown = measures(branch, words)
    history = bench.kept.records(day.facts.tree, branch.name).lines
    return {
        "branch": branch,
        "verdict": verdict,
        "caution": caution_text(verdict.caution) if verdict.caution else "",
        "measures": known,
        "unknown": ", ".join(unknown),
        "chart": chart(day, branch, words),
        "wire": wire_lines(day, branch, words),
        "history": len(history),
        "recent": history[-RECENT:][::-1],
    }


def chart(day: TreeDay, branch: BranchFacts, words: Speaker) -> Picture | None:
    """Return the chart of a branch's base ahead; None when nothing of it is known."""
    if branch.base_mm is None:
        return None
    key = day.tree.branches.ids[branch.row]
    data = branch_chart_data(day, key)
    return picture(f"/charts/branch/{day.facts.tree}/{key}", data, words)


def wire_lines(day: TreeDay, branch: BranchFacts, words: Speaker) -> dict[str, Any] | None:
    """Return the bar, the share used and the words of a branch's wire; None without wire."""
    window = branch.wire
    if window is None:
        return None
    today = day.calendar.today
    told = [
        words.t("wire.on_since", day=words.day(branch.wire_on)) if branch.wire_on else "",
        words.t("wire.look_by", day=words.day(window.look_by)) if window.look_by else "",
        words.t("wire.off_by", day=words.day(window.off_by)) if window.off_by else "",
    ]
    role = wire_role(window, today)
    used = words.t("wire.used", share=words.percent(window.share_used[1]))
    axis = Axis(today, today + timedelta(days=AXIS_DAYS))
    name = words.t("wire.bar", place=branch.name)
    return {
        "axis": Markup(axis.head(words.day_short)),  # noqa: S704  # our own picture
        "bar": Markup(wire_bar(window, axis, label=name)),  # noqa: S704
        "share": Markup(share_line(window.share_used, role=role, label=used)),  # noqa: S704
        "told": " ".join(text for text in told if text),
        "used": used,
    }


def measures(branch: BranchFacts, words: Speaker) -> tuple[list[tuple[str, str, str]], list[str]]:
    """Return what is known of a branch as (label, value, note), and the labels not known."""
    base = words.length(branch.base_mm)
    goal = branch.target_base_mm
    reached = (
        None
        if branch.reached is None or goal is None
        else words.t("card.reached", share=words.percent(branch.reached), goal=words.length(goal))
    )
    age = None if branch.base_age_days is None else words.t("card.age", n=branch.base_age_days)
    rows: list[tuple[str, str | None, str | None]] = [
        ("base", base if branch.base_mm is not None else None, age),
        ("target", reached, words.t("card.target_set") if branch.target_set else None),
        ("step", _share(branch.step, words), None),
        ("season_end", _span(branch.base_forecast_mm, words), words.t("card.if_runs")),
        ("seasons", _seasons(branch.seasons_to_target, words), None),
        ("node", _length(branch.node_mm, words), _room(branch, words)),
        ("extension", _length(branch.extension_mm, words), None),
        ("zone", _word(branch.zone, words), _word_or_none("outer", branch.outer, words)),
        ("phase", _word(branch.phase, words), None),
        ("vigour", _word(branch.vigour, words), None),
        ("exit_entry", _ratio(branch, words), None),
        ("open", _length(branch.open_mm, words), None),
        ("job", _word(branch.job, words), branch.job_for),
        ("promised", words.say(branch.promised) if branch.promised else None, None),
    ]
    told = [(words.t(f"measure.{key}"), v, note or "") for key, v, note in rows if v is not None]
    missing = [words.t(f"measure.{key}") for key, v, _ in rows if v is None and key in ASKED]
    return told, missing


ASKED = frozenset({"base", "target", "node", "vigour", "zone", "phase"})
"""Facts that most verdicts rest on: told as unknown when they are."""


def _length(mm: float | None, words: Speaker) -> str | None:
    return None if mm is None else words.length(mm)


def _share(share: float | None, words: Speaker) -> str | None:
    return None if share is None else words.t("card.of_trunk", share=words.percent(share))


def _span(span: tuple[float, float, float] | None, words: Speaker) -> str | None:
    if span is None:
        return None
    low, middle, high = (words.length(mm) for mm in span)
    return words.t("card.span", low=low, middle=middle, high=high)


def _seasons(number: float | None, words: Speaker) -> str | None:
    return None if number is None else words.t("card.seasons", n=whole_seasons(number))


def _room(branch: BranchFacts, words: Speaker) -> str | None:
    if branch.room_mm is None or branch.internode_share is None:
        return None
    return words.t(
        "card.room", share=words.percent(branch.internode_share), room=words.length(branch.room_mm)
    )


def _ratio(branch: BranchFacts, words: Speaker) -> str | None:
    if branch.exit_mm is None or branch.entry_mm is None:
        return None
    ratio = words.number(branch.exit_mm / branch.entry_mm, 2)
    return f"{ratio} ({words.length(branch.exit_mm)} / {words.length(branch.entry_mm)})"


def _word(value: object, words: Speaker) -> str | None:
    return None if value is None else words.word(value)  # type: ignore[arg-type]


def _word_or_none(key: str, value: bool | None, words: Speaker) -> str | None:
    return words.t(f"card.{key}") if value else None

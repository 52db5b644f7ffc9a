"""What needs me this week: trees by the harm of skipping them, against the hours at hand."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import RedirectResponse, Response
from markupsafe import Markup

from boughwright.report.bars import Axis, share_line
from boughwright.usecases.call_up import Called, call_up_of
from boughwright.usecases.promises import promises_of
from boughwright.usecases.week import Week, week_of
from boughwright.verdicts.verdict import Harm
from boughwright.web.state import Bench, bench
from boughwright.web.views import mark_of, role_of

if TYPE_CHECKING:
    from boughwright.benchwork.jobs import BenchJob
    from boughwright.web.speech import Speaker

router = APIRouter()
AXIS_DAYS = 35
"""How far the time axis reaches: five weeks. [d]"""
HOURS_ROOM = 1.5
"""The slider reaches this much past the hours wanted or given, whichever is more."""


@router.get("/")
def this_week(
    request: Request,
    bench: Annotated[Bench, Depends(bench)],
    hours: Annotated[float | None, Query(ge=0, le=112)] = None,
) -> Response:
    """Show what needs the grower in the next seven days."""
    if not bench.has_book:
        return RedirectResponse("/start", status_code=303)
    garden = bench.day()
    if not garden.trees:
        return RedirectResponse("/start", status_code=303)
    called = call_up_of(garden, hours)
    week = week_of(called.call)
    words = bench.speaker()
    axis = Axis(garden.today, garden.today + timedelta(days=AXIS_DAYS))
    here = {day.facts.tree: day for day in garden.trees}
    return bench.render(
        request,
        "week.html",
        call=called.call,
        week=week,
        notes=called.notes,
        sentence=_sentence(called, week, words),
        garden=garden.garden.fields.get("name") or "",
        standing=garden.garden.fields.get("standing_date") is not None,
        hours_most=_most(called),
        hours_picture=_hours_line(called, words),
        axis=Markup(axis.head(words.day)),  # noqa: S704  # our own picture
        job_bar=_bars(axis, words),
        thumbs={one.tree.tree: bench.pictures.thumb(here[one.tree.tree]) for one in week.bench},
        leads={one.tree.tree: _lead(one.jobs) for one in week.bench},
        promised=len(promises_of(garden).now),
        job_role=role_of,
        job_mark=mark_of,
        told=_told,
    )


def _most(called: Called) -> int:
    """Return the end of the hours' slider, in whole hours of at least a working day."""
    return int(max(8.0, HOURS_ROOM * called.call.hours_wanted, HOURS_ROOM * called.call.hours)) + 1


def _sentence(called: Called, week: Week, words: Speaker) -> str:
    call = called.call
    if not call.now:
        return words.t("week.none", day=words.day(call.until))
    slips = (
        words.t("week.slips_some", n=len(call.slips)) if call.slips else words.t("week.slips_none")
    )
    return words.t(
        "week.sentence",
        trees=words.t("week.trees", n=len(week.bench)),
        day=words.day(call.until),
        planned=words.minutes(call.hours_planned * 60),
        hours=words.minutes(call.hours * 60),
        slips=slips,
    )


def _hours_line(called: Called, words: Speaker) -> Markup:
    """Return the hours wanted as a line against the hours at hand."""
    call = called.call
    share = call.hours_wanted / call.hours if call.hours > 0 else float(call.hours_wanted > 0) * 2
    told = words.t(
        "week.hours_told",
        wanted=words.minutes(call.hours_wanted * 60),
        hours=words.minutes(call.hours * 60),
    )
    role = "harm" if call.over_hours > 0 else "ink"
    return Markup(share_line((share, share, share), role=role, label=told))  # noqa: S704


def _lead(jobs: tuple[BenchJob, ...]) -> BenchJob:
    """Return the job of a tree that skipping harms most, the soonest first."""
    return min(
        jobs,
        key=lambda job: (job.harm is not Harm.IRREVERSIBLE, job.latest or date.max, job.harm),
    )


def _told(job: BenchJob) -> str:
    """Return a job's reason, with what to do where the reason does not say it."""
    asks = job.act.value in ("look first", "keep wire") and job.how not in job.reason
    return f"{job.reason.rstrip('.')}: {job.how}" if asks else job.reason


def _bars(axis: Axis, words: Speaker) -> Callable[[Any], Markup]:
    def bar(job: BenchJob) -> Markup:
        text = words.t("week.bar", act=words.word(job.act), places=words.place(job.places))
        return Markup(  # noqa: S704  # our own picture, its text escaped there
            axis.bar(job.earliest, job.latest, role=role_of(job), label=text)
        )

    return bar

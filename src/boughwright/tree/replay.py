"""Replay: from a tree's events to the tree as it stands, the same for any order of arrival."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from boughwright.journal.events import (
    LookAgain,
    Measured,
    Promised,
    Saw,
    Worked,
)
from boughwright.journal.terms import Quantity
from boughwright.tree import build
from boughwright.tree.contradictions import Case, find_contradictions
from boughwright.tree.model import Look, Measure, Promise, Seen, Tree, WorkDone
from boughwright.tree.naming import Standing
from boughwright.tree.readings import by_day, error_of, latest
from boughwright.tree.story import done, tell, traits_of
from boughwright.tree.wires import wires_of

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from boughwright.journal.events import Event
    from boughwright.tree.build import Frame
    from boughwright.tree.story import Story


def replay(
    tree_id: str, events: Iterable[Event], *, until: date | None = None, south: bool = False
) -> Tree:
    """Return one tree as its journal tells it.

    Pure, and the same for events in any order or given twice.

    Parameters
    ----------
    tree_id : str
        Lasting identity of the tree.
    events : iterable of Event
        Any events; those of other trees are passed over, except species values set for the
        whole garden and withdrawals.
    until : date, optional
        Leave out all that happened after this day, withdrawals too. A day in the past gives the
        tree as it was known then, apart from what was entered late.
    south : bool
        The tree stands south of the equator, where seasons turn on 1 July.

    Returns
    -------
    Tree
        With its contradictions listed, none of them mended.
    """
    story = tell(tree_id, events, until)
    frame = build.frame_of(story)
    measures = _measures(story, frame)
    index = by_day(measures)
    rows = build.branches_of(story, frame, index, until)
    at = Standing(rows.kind, rows.zone, rows.outer, rows.clock, rows.parent)
    gone = build.gone_days(frame, until)
    wires, wire_faults = wires_of(story.wiring, frame, at, gone, index, south=south)
    facts = dict(story.facts)
    trunk = latest(index, Quantity.BASE, 0)
    if trunk is not None:
        facts["trunk_mm"] = trunk.value
    tree = Tree(
        id=tree_id, facts=facts, traits=traits_of(story), front_deg=story.front_deg, branches=rows,
        measures=measures, wires=wires, works=_works(story, frame), seen=_seen(story, frame, at),
        promises=_promises(story, frame, rows.gone.tolist()), looks=_looks(story, frame),
        contradictions=(),
    )  # fmt: skip
    faults = find_contradictions(Case(tree, story, frame, index, gone))
    return replace(tree, contradictions=(*frame.faults, *wire_faults, *faults))


def _row(event: Event, frame: Frame) -> int:
    return -1 if event.branch is None else frame.row[event.branch]


def _measures(story: Story, frame: Frame) -> tuple[Measure, ...]:
    return tuple(
        Measure(
            event.id, event.on, _row(event, frame), body.what, body.value, error_of(body),
            body.how, event.who, float("nan") if body.earlier is None else body.earlier,
        )
        for event in story.events
        if isinstance(body := event.body, Measured)
    )  # fmt: skip


def _works(story: Story, frame: Frame) -> tuple[WorkDone, ...]:
    return tuple(
        WorkDone(event.id, event.on, _row(event, frame), event.body, event.who)
        for event in story.events
        if isinstance(event.body, Worked) and done(event.body)
    )


def _seen(story: Story, frame: Frame, at: Standing) -> tuple[Seen, ...]:
    found = []
    for said in story.seen:
        event, body = said.event, said.event.body
        assert isinstance(body, Saw)
        zoned = event.branch is None and body.zone
        rows = np.flatnonzero(build.rows_said(said, at)).tolist() if zoned else ()
        found.append(
            Seen(event.id, event.on, _row(event, frame), body.sign, body.grade, body.amount,
                 body.zone, tuple(rows))
        )  # fmt: skip
    return tuple(found)


def _promises(story: Story, frame: Frame, gone: list[bool]) -> tuple[Promise, ...]:
    standing = sorted(story.promises.values(), key=lambda event: event.order)
    return tuple(
        Promise(event.id, event.on, _row(event, frame), event.body)
        for event in standing
        if isinstance(event.body, Promised)
        and (event.branch is None or not gone[_row(event, frame)])
    )


def _looks(story: Story, frame: Frame) -> tuple[Look, ...]:
    return tuple(
        Look(event.id, event.on, event.body.due, _row(event, frame), event.body.zone)
        for event in story.events
        if isinstance(event.body, LookAgain)
    )

"""One tree on paper: its session, its main measures, and what a pupil asks about first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from boughwright.benchwork.order import CUTS, GRAFTS
from boughwright.journal.names import head_to_foot
from boughwright.usecases.session import session_of
from boughwright.verdicts.verdict import Act

if TYPE_CHECKING:
    from boughwright.usecases.day import GardenDay, TreeDay
    from boughwright.usecases.session import Session
    from boughwright.verdicts.facts import BranchFacts

ASK_FIRST: Final = CUTS | GRAFTS | {Act.CUT_SICK, Act.LEAF_FULL, Act.BUD_SELECT, Act.REPOT}
"""Acts that nobody can put back: a pupil asks before each. Common practice."""
PUPIL_TIME: Final = 1.5
"""A pupil takes so much longer. Common practice."""


@dataclass(frozen=True, slots=True)
class Paper:
    """One tree's sheet. ``measures`` are its main branches, grafts and scars, head to foot."""

    day: TreeDay
    session: Session
    measures: tuple[BranchFacts, ...]
    cautions: tuple[str, ...]


def paper_of(garden: GardenDay, tree: str) -> Paper:
    """Return what a sheet of paper for one tree shows.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
        When the name fits no tree or more than one.
    """
    day = garden.tree(tree)
    session = session_of(garden, tree)
    main = [branch for branch in day.branches if branch.order <= 1 and not branch.gone]
    main.sort(key=lambda branch: head_to_foot(branch.name))
    lines = [line for step in session.steps for line in step.lines]
    cautions = dict.fromkeys(line.caution for line in lines if line.caution)
    return Paper(day, session, tuple(main), tuple(cautions))

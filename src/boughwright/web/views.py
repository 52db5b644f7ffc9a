"""How a verdict looks: its colour's role and the mark drawn for it. The word always leads."""

from __future__ import annotations

from typing import TYPE_CHECKING

from boughwright.report.drawing_model import Mark, Role
from boughwright.usecases.drawing import MARKS
from boughwright.verdicts.verdict import Act, Harm

if TYPE_CHECKING:
    from boughwright.benchwork.jobs import BenchJob
    from boughwright.verdicts.verdict import SideNote, Verdict

CALM = frozenset({Act.LEAVE, Act.REST, Act.GRAFT_WAIT})
"""Acts that leave a branch as it is: plain ink."""
LOOKS = frozenset({Act.LOOK_FIRST, Act.KEEP_WIRE})


def role_of(told: Verdict | BenchJob | SideNote) -> Role:
    """Return the role of a verdict's or a job's colour."""
    if told.act in CALM:
        return Role.INK
    if told.harm is Harm.IRREVERSIBLE:
        return Role.HARM
    if told.act in LOOKS:
        return Role.LOOK
    return Role.RUN if told.act is Act.LET_RUN else Role.ACT


def mark_of(told: Verdict | BenchJob | SideNote) -> Mark:
    """Return the mark of a verdict or a job."""
    return MARKS.get(told.act, Mark.LEAVE)

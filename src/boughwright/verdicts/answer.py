"""The answer to a question: may this work be done on this day."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from boughwright.verdicts.verdict import Reason


class Say(StrEnum):
    """The three answers."""

    YES = "yes"
    NOT_NOW = "not now"
    NEVER = "never"


@dataclass(frozen=True, slots=True)
class Answer:
    """Yes, not now or never, and why.

    ``from_date`` is the first day it may be done, when a day is known; ``condition`` the sign that
    opens it; ``instead`` what to do meanwhile. Several answers combine to the strictest, with the
    latest date and all reasons; when one of them has no date, the whole has none.
    """

    say: Say
    reasons: tuple[Reason, ...] = ()
    from_date: date | None = None
    condition: str = ""
    instead: str = ""
    caution: str = ""


def strictest(answers: list[Answer]) -> Answer:
    """Combine answers: the strictest word, the latest date, every reason and condition once."""
    rank = {Say.YES: 0, Say.NOT_NOW: 1, Say.NEVER: 2}
    worst = max(answers, key=lambda a: rank[a.say], default=Answer(Say.YES))
    same = [a for a in answers if a.say == worst.say]
    dates = [a.from_date for a in same if a.from_date is not None]
    open_ended = any(a.from_date is None and a.say is Say.NOT_NOW for a in same)
    first = dict.fromkeys  # keeps order, drops repeats
    return Answer(
        worst.say,
        tuple(first(r for a in same for r in a.reasons)),
        None if open_ended else max(dates, default=None),
        "; ".join(first(a.condition for a in same if a.condition)),
        "; ".join(first(a.instead for a in same if a.instead)),
        "; ".join(first(a.caution for a in same if a.caution)),
    )

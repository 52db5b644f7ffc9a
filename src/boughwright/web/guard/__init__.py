"""Who may come in, and how: everything that stands before the pages.

The guard is one layer around the app. A request passes, in this order: its Host, who sends it,
how often, how long its body is, whether a changing request was meant. What the guard does not know
it refuses; pages need no care of their own, but for one thing: each form carries the hidden field
``csrf`` first.
"""

from __future__ import annotations

from boughwright.web.guard.faults import Fault, Refused, install_errors
from boughwright.web.guard.layer import Guard, install_guard
from boughwright.web.guard.options import GuardOptions, Listening
from boughwright.web.guard.seats import Visitor, visitor_of

__all__ = [
    "Fault",
    "Guard",
    "GuardOptions",
    "Listening",
    "Refused",
    "Visitor",
    "install_errors",
    "install_guard",
    "visitor_of",
]

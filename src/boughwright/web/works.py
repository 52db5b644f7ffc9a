"""Long works of the pages: done in the background, with how far they are and what came of them."""

from __future__ import annotations

import logging
import threading
from collections import OrderedDict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final
from uuid import uuid4

from boughwright.errors import BoughwrightError, UnknownNameError
from boughwright.web.guard import Refused

if TYPE_CHECKING:
    from collections.abc import Callable

    from fastapi import Request

KEPT: Final = 20
"""How many works are remembered; the oldest that ended is forgotten first."""
AT_ONCE: Final = 3
"""How many may run at once."""
WAIT_S: Final = 1.0
"""How long an answer waits for a short work before it shows how far it has come. [s]"""
MIDDLE: Final = 0.5
"""Where the first of two parts of a work ends."""

_log = logging.getLogger("boughwright.web")


@dataclass
class Work:
    """One work. ``of`` tells which page shows it; ``about`` is what that page needs besides."""

    id: str
    of: str
    about: dict[str, Any]
    share: float = 0.0
    """How far it is, 0..1."""
    ended: bool = False
    result: Any = None
    fault: BoughwrightError | None = None
    """Why it failed, when that can be told."""
    broke: bool = False
    """It failed in a way that cannot be told."""
    _thread: threading.Thread | None = field(default=None, repr=False)

    def told(self, share: float) -> None:
        """Take note of how far the work is; it never goes back."""
        self.share = max(self.share, min(1.0, share))

    def wait(self, seconds: float = WAIT_S) -> None:
        """Wait for the end, not longer than told."""
        if self._thread is not None:
            self._thread.join(seconds)

    def begin(self, job: Callable[[Callable[[float], None]], Any]) -> None:
        """Start the work in the background."""
        self._thread = threading.Thread(target=self._run, args=(job,), daemon=True)
        self._thread.start()

    def _run(self, job: Callable[[Callable[[float], None]], Any]) -> None:
        try:
            self.result = job(self.told)
        except BoughwrightError as error:
            self.fault = error
        except Exception:
            self.broke = True
            _log.exception("the work of %s failed", self.of)
        self.share, self.ended = 1.0, True


class Works:
    """The works of one running server."""

    def __init__(self) -> None:
        self._works: OrderedDict[str, Work] = OrderedDict()
        self._lock = threading.Lock()

    def start(
        self, of: str, job: Callable[[Callable[[float], None]], Any], **about: Any
    ) -> Work:  # fmt: skip
        """Start a work and return it.

        Parameters
        ----------
        of : str
            Which page shows it.
        job : callable
            Given what to tell the share done to; returns the result.
        about
            What the page needs besides.

        Raises
        ------
        Refused
            When too many run already.
        """
        with self._lock:
            if sum(not work.ended for work in self._works.values()) >= AT_ONCE:
                raise Refused("busy", retry_s=5)
            work = Work(uuid4().hex, of, about)
            self._works[work.id] = work
            ended = [key for key, one in self._works.items() if one.ended]
            for key in ended[: max(0, len(self._works) - KEPT)]:
                del self._works[key]
            work.begin(job)
        return work

    def work(self, key: str) -> Work:
        """Return a work by its key.

        Raises
        ------
        UnknownNameError
            When it is forgotten, or never was.
        """
        found = self._works.get(key)
        if found is None:
            raise UnknownNameError("this work is not known any more", allowed="one of this run",
                                   todo="See the places for what was taken")  # fmt: skip
        return found


_first = threading.Lock()


def works_of(request: Request) -> Works:
    """Return the works of the running app."""
    with _first:
        if not hasattr(request.app.state, "works"):
            request.app.state.works = Works()
    found: Works = request.app.state.works
    return found

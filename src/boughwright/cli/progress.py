"""A progress bar on the error stream, shown only on a screen and only after a second."""

from __future__ import annotations

import sys
import threading
import time
from contextlib import contextmanager
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

QUIET_S = 1.0
"""Nothing is shown before. [s]"""
_STEP_S = 0.2
_CELLS = 30


class _Bar:
    """What is drawn: the share done once one is told, else that work goes on."""

    def __init__(self, label: str, stream: TextIO) -> None:
        self.label, self.stream = label, stream
        self.share: float | None = None
        self.drawn = False
        self.done = threading.Event()
        self.begun = time.monotonic()

    def tell(self, share: float) -> None:
        """Take note of the share done, 0..1."""
        self.share = min(max(share, 0.0), 1.0)

    def run(self) -> None:
        """Draw until the work is done."""
        if self.done.wait(QUIET_S):
            return
        while not self.done.wait(_STEP_S):
            self.draw()

    def draw(self) -> None:
        """Draw the bar once over itself."""
        seconds = time.monotonic() - self.begun
        if self.share is None:
            at = int(seconds / _STEP_S) % _CELLS
            cells, told = "-" * at + "#" + "-" * (_CELLS - at - 1), f"{seconds:.0f} s"
        else:
            full = round(self.share * _CELLS)
            cells, told = "#" * full + "-" * (_CELLS - full), f"{self.share * 100:.0f} %"
        self.stream.write(f"\r{self.label} [{cells}] {told} ")
        self.stream.flush()
        self.drawn = True

    def clear(self) -> None:
        """Take the bar off the screen."""
        if self.drawn:
            self.stream.write("\r" + " " * 79 + "\r")
            self.stream.flush()


@contextmanager
def progress(label: str) -> Iterator[Callable[[float], object]]:
    """Show how far a work of over a second has come; yields what to tell the share to."""
    stream = sys.stderr
    bar = _Bar(label, stream)
    if not stream.isatty():
        yield bar.tell
        return
    drawer = threading.Thread(target=bar.run, daemon=True)
    drawer.start()
    try:
        yield bar.tell
    finally:
        bar.done.set()
        drawer.join()
        bar.clear()

"""How often: a bucket of tokens for each sender, refilled with time."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

MOST_SENDERS = 4096
"""Buckets held at a time; the one longest unused goes first."""


@dataclass(frozen=True, slots=True)
class Rate:
    """A bucket of ``burst`` requests that refills by ``per_s`` a second."""

    burst: float
    per_s: float


class Buckets:
    """A bucket for each sender. A sender not heard of for long starts with a full one."""

    def __init__(self, rate: Rate, monotone: Callable[[], float], most: int = MOST_SENDERS) -> None:
        self.rate = rate
        self._now = monotone
        self._most = most
        self._held: OrderedDict[str, tuple[float, float]] = OrderedDict()

    def __len__(self) -> int:
        return len(self._held)

    def take(self, sender: str) -> float:
        """Take one request out of a sender's bucket.

        Returns
        -------
        float
            0 when there was one, else seconds until there will be.
        """
        now = self._now()
        left, then = self._held.pop(sender, (self.rate.burst, now))
        left = min(self.rate.burst, left + max(0.0, now - then) * self.rate.per_s)
        wait = 0.0 if left >= 1.0 else (1.0 - left) / self.rate.per_s
        self._held[sender] = (left if wait else left - 1.0, now)
        while len(self._held) > self._most:
            self._held.popitem(last=False)
        return wait

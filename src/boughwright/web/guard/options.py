"""What the guard is told: where the server listens, who keeps the door, and every limit."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.web.guard.rates import Rate

if TYPE_CHECKING:
    from collections.abc import Callable

    from boughwright.usecases.devices import Doorkeeper

KB, MB = 1_000, 1_000_000

BODY_LIMITS: tuple[tuple[str, int], ...] = (
    ("/pair", 4 * KB),
    ("/api/lines", 1 * MB),
    ("/api/photos", 40 * MB),
    ("/trees/*/photos", 40 * MB),
    ("/weather", 60 * MB),
    ("/weather/*", 60 * MB),
    ("/keep", 60 * MB),
    ("/keep/*", 60 * MB),
)
"""Longest body by path, the first pattern that fits; ``*`` stands for anything. [bytes]"""

FORM_LIMIT = 64 * KB
"""Longest body elsewhere, and of every form that carries no file. [bytes]"""

MOST_FIELDS = 256
"""Most fields of a form, and most parts of one with files."""

PAGE_RATE = Rate(burst=300, per_s=30.0)
STRANGER_RATE = Rate(burst=40, per_s=2.0)
PAIRING_RATE = Rate(burst=10, per_s=10 / 300)

OPEN_PATHS = ("/pair", "/static/dist/*")
"""What a device that is not let in may ask for."""


@dataclass(frozen=True, slots=True)
class Listening:
    """One door of the server: ``http`` or ``https``, its port, and whether others reach it."""

    scheme: str
    port: int
    lan: bool = False


@dataclass(frozen=True)
class GuardOptions:
    """Everything the guard goes by.

    Parameters
    ----------
    keeper : Doorkeeper
        Keeps the list of devices and the key.
    doors : tuple of Listening
        Where the server listens.
    names : tuple of str
        Names of this computer that other devices may use, in lower case: ``laptop.local``.
    addresses : callable
        Returns the computer's addresses in home networks now, the likeliest first.
    certificate : callable, optional
        Returns the authority's certificate (PEM) that devices install; None without https.
    certificate_port : int, optional
        Port where that certificate is handed out.
    page_rate, stranger_rate, pairing_rate : Rate
        How often one device may ask; how often an address that is not let in may; how often all
        addresses together may try to pair.
    silence_s : float
        Longest wait for the next piece of a body. [s]
    monotone : callable
        Gives a time that never goes back. [s]
    """

    keeper: Doorkeeper
    doors: tuple[Listening, ...]
    names: tuple[str, ...] = ()
    addresses: Callable[[], tuple[str, ...]] = tuple
    certificate: Callable[[], bytes] | None = None
    certificate_port: int | None = None
    body_limits: tuple[tuple[str, int], ...] = BODY_LIMITS
    form_limit: int = FORM_LIMIT
    open_paths: tuple[str, ...] = OPEN_PATHS
    page_rate: Rate = PAGE_RATE
    stranger_rate: Rate = STRANGER_RATE
    pairing_rate: Rate = PAIRING_RATE
    silence_s: float = 30.0
    monotone: Callable[[], float] = time.monotonic

    @property
    def lan_door(self) -> Listening | None:
        """The door that other devices use; None when there is none."""
        return next((door for door in self.doors if door.lan), None)

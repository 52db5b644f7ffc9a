"""How long a body may be, held while it streams in: never more is read than may be kept."""

from __future__ import annotations

import re
from fnmatch import fnmatchcase
from typing import TYPE_CHECKING

import anyio

from boughwright.web.guard.faults import Refused
from boughwright.web.guard.options import MOST_FIELDS

if TYPE_CHECKING:
    from starlette.types import Message, Receive

    from boughwright.web.guard.options import GuardOptions

_BOUNDARY = re.compile(r';\s*boundary=(?:"([^"\r\n]{1,70})"|([^\s;,"]{1,70}))', re.IGNORECASE)
URLENCODED = "application/x-www-form-urlencoded"
MULTIPART = "multipart/form-data"


def limit_of(path: str, kind: str, options: GuardOptions) -> int:
    """Return the longest body that may be sent to a path, by its media type, in bytes."""
    most = next(
        (limit for pattern, limit in options.body_limits if fnmatchcase(path, pattern)),
        options.form_limit,
    )
    return min(most, options.form_limit) if kind == URLENCODED else most


def media_type(header: str) -> str:
    """Return the bare media type of a Content-Type header."""
    return header.partition(";")[0].strip().lower()


def boundary_of(header: str) -> bytes | None:
    """Return the mark between the parts of a form with files; None when there is none."""
    match = _BOUNDARY.search(header)
    if match is None:
        return None
    return b"--" + (match[1] or match[2]).encode("latin-1", "replace")


class Body:
    """The stream of one request's body, counted as it comes.

    Parameters
    ----------
    receive : Receive
        Where it comes from.
    most : int
        Longest body. [bytes]
    silence_s : float
        Longest wait for the next piece. [s]
    boundary : bytes, optional
        Mark between parts, which are then counted too.
    """

    def __init__(
        self, receive: Receive, most: int, silence_s: float, boundary: bytes | None = None
    ) -> None:
        self._receive = receive
        self._most, self._silence_s = most, silence_s
        self._boundary, self._tail, self._parts = boundary, b"", 0
        self._read = 0
        self._ended = False
        self._again: list[Message] = []

    async def receive(self) -> Message:
        """Return the next piece.

        Raises
        ------
        Refused
            When the body is too long, has too many parts, or stopped coming.
        """
        if self._again:
            return self._again.pop(0)
        if self._ended:
            return await self._receive()
        try:
            with anyio.fail_after(self._silence_s):
                message = await self._receive()
        except TimeoutError:
            raise Refused("slow", closes=True) from None
        self._count(message)
        return message

    def _count(self, message: Message) -> None:
        if message["type"] != "http.request":
            self._ended = True
            return
        piece = message.get("body", b"")
        self._read += len(piece)
        if self._read > self._most:
            raise Refused("too-big", size=told_size(self._most))
        if self._boundary is not None:
            seen = self._tail + piece
            self._parts += seen.count(self._boundary)
            self._tail = seen[-(len(self._boundary) - 1) :]
            if self._parts > MOST_FIELDS + 1:
                raise Refused("too-many-fields")
        self._ended = not message.get("more_body", False)

    async def begin(self, most: int, enough: re.Pattern[bytes] | None = None) -> bytes:
        """Read the beginning and put it back, so that the app reads the whole again.

        Parameters
        ----------
        most : int
            Read on until so many bytes are there, or the body ends. [bytes]
        enough : pattern, optional
            Read no further once this is found.
        """
        begun: list[Message] = []
        held = bytearray()
        while len(held) < most and not self._ended:
            message = await self.receive()
            begun.append(message)
            held += message.get("body", b"")
            if enough is not None and enough.search(held):
                break
        self._again = begun
        return bytes(held)


def told_size(size: int) -> str:
    """Return a size as it is read: ``40 MB``, ``64 kB``."""
    return f"{size // 1_000_000} MB" if size >= 1_000_000 else f"{size // 1_000} kB"

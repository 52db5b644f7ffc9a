"""Ids that follow from the id of a line, so that a line sent twice makes the same records."""

from __future__ import annotations

from hashlib import sha256
from uuid import UUID

from boughwright.errors import RecordError

LINE_VERSIONS = (4, 7)
"""Versions of a UUID that a device may give a line."""

SAID_ID = 7
"""Version of the id of a record made where it was said."""

MOST_EVENTS = 1 << 16
"""Most records of one line: their numbers take 16 bits of an id."""

_RANDOM_BITS = 74
_TAIL_BITS = _RANDOM_BITS - 16


def line_id(given: UUID) -> UUID:
    """Return a line's id when a device may give it.

    Raises
    ------
    RecordError
        When it is no random or timed UUID.
    """
    if given.version not in LINE_VERSIONS:
        raise RecordError(
            f"the line's id {given} is of no kind that is taken",
            allowed="a UUID of version 4 or 7",
            todo="Make a new id on the device and send the line again",
        )
    return given


def event_id(line: UUID, number: int) -> UUID:
    """Return the id of the record of a line with this number, counted from 0.

    A UUID of version 7: the time of a line's own version 7 id, else bits of its digest; then the
    number, so that ids sort as the records were said; then bits of the digest.

    Raises
    ------
    RecordError
        When a line makes more records than ids have room for.
    """
    if not 0 <= number < MOST_EVENTS:
        raise RecordError(
            f"one line makes more than {MOST_EVENTS} records",
            allowed=f"up to {MOST_EVENTS}",
            todo="Say it in several lines",
        )
    digest = int.from_bytes(sha256(b"record of line " + line.bytes).digest(), "big")
    time_ms = line.int >> 80 if line.version == SAID_ID else digest >> (256 - 48)
    random = (number << _TAIL_BITS) | (digest & ((1 << _TAIL_BITS) - 1))
    high, low = random >> 62, random & ((1 << 62) - 1)
    return UUID(int=time_ms << 80 | 0x7 << 76 | high << 64 | 0b10 << 62 | low)


def taking_back_id(line: UUID) -> UUID:
    """Return the id of the line that takes a line back, when the device gave it none.

    A UUID of version 4 made of bits of the line's digest: the same each time.
    """
    digest = sha256(b"taking back of line " + line.bytes).digest()
    return UUID(bytes=digest[:16], version=4)

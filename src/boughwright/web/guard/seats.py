"""Who sends a request: this computer, a device that is let in, or a stranger.

A device holds one cookie: its id and secret, signed with the server's key. A token against
requests that other pages forge is bound to the sender and drawn anew for every page.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import re
import secrets
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from itsdangerous import BadData, URLSafeSerializer, URLSafeTimedSerializer

if TYPE_CHECKING:
    from collections.abc import Callable

    from starlette.requests import HTTPConnection

DAY_S = 86_400
COOKIE_S = 180 * DAY_S
"""A device that was not here for so long pairs again. [s]"""
RENEW_S = DAY_S
"""A cookie older than this is written anew. [s]"""
STRANGER_COOKIE_S = 3_600
_NONCE = 12
_SEAT = re.compile(r"[A-Za-z0-9_-]{22}")


@dataclass(frozen=True, slots=True)
class Visitor:
    """Who sends a request.

    ``kind`` is ``owner`` (this computer), ``device`` (let in) or ``stranger``; ``seat`` is what
    tokens are bound to.
    """

    kind: str
    seat: str
    device: str = ""
    name: str = ""

    @property
    def owner(self) -> bool:
        """True for a browser on the computer that runs the server."""
        return self.kind == "owner"


OWNER = Visitor("owner", "owner")


def visitor_of(connection: HTTPConnection) -> Visitor:
    """Return who sends a request that has passed the guard."""
    found: Visitor = connection.state.visitor
    return found


class Seats:
    """Cookies and tokens, made and read with one key.

    Parameters
    ----------
    key : bytes
        The server's key.
    wall : callable
        Gives the time. [s since 1970]
    """

    def __init__(self, key: bytes, wall: Callable[[], float] = time.time) -> None:
        self._key, self._wall = key, wall
        # Two books on one computer share a cookie jar; each key has names of its own.
        mark = hashlib.sha256(b"cookie\0" + key).hexdigest()[:8]
        self._names = (f"device_{mark}", f"seat_{mark}")
        digest = {"digest_method": hashlib.sha256}
        self._device = URLSafeTimedSerializer(key, salt="device", signer_kwargs=digest)
        self._stranger = URLSafeSerializer(key, salt="stranger", signer_kwargs=digest)

    def names(self, *, secure: bool) -> tuple[str, str]:
        """Return the names of the device's and the stranger's cookie.

        Over https they start so that a browser takes them from this server over https alone.
        """
        head = "__Host-" if secure else ""
        return f"{head}{self._names[0]}", f"{head}{self._names[1]}"

    def device_cookie(self, device: str, secret: str, *, secure: bool) -> bytes:
        """Return the header that gives a device its cookie."""
        value = self._device.dumps([device, secret])
        text = value if isinstance(value, str) else value.decode()
        return _cookie(self.names(secure=secure)[0], text, COOKIE_S, secure=secure)

    def read_device(self, value: str) -> tuple[str, str, float] | None:
        """Return id, secret and age [s] of a device's cookie; None when it is not whole."""
        try:
            held, when = self._device.loads(value, return_timestamp=True)
        except (BadData, ValueError):
            return None
        age_s = self._wall() - when.timestamp()  # below zero where this computer's clock was mended
        if not _two_texts(held) or age_s > COOKIE_S:
            return None
        return held[0], held[1], age_s

    def stranger_cookie(self, seat: str, *, secure: bool) -> bytes:
        """Return the header that gives a stranger a seat, so that a form can be bound to it."""
        value = self._stranger.dumps(seat)
        text = value if isinstance(value, str) else value.decode()
        return _cookie(self.names(secure=secure)[1], text, STRANGER_COOKIE_S, secure=secure)

    def read_stranger(self, value: str) -> str | None:
        """Return a stranger's seat; None when the cookie is not whole."""
        try:
            seat = self._stranger.loads(value)
        except (BadData, ValueError):
            return None
        return seat if isinstance(seat, str) and _SEAT.fullmatch(seat) else None

    @staticmethod
    def new_seat() -> str:
        """Return a seat for a stranger."""
        return secrets.token_urlsafe(16)

    def gone(self, *, secure: bool) -> list[bytes]:
        """Return the headers that take both cookies away."""
        return [_cookie(name, "", 0, secure=secure) for name in self.names(secure=secure)]

    def token(self, seat: str) -> str:
        """Return a new token for a form of this sender. It holds as long as the key and seat."""
        nonce = secrets.token_bytes(_NONCE)
        return base64.urlsafe_b64encode(nonce + self._mark(seat, nonce)).decode()

    def token_holds(self, seat: str, token: str) -> bool:
        """Tell whether a token was made for this sender."""
        try:
            raw = base64.b64decode(token.encode("ascii"), altchars=b"-_", validate=True)
        except (ValueError, UnicodeEncodeError):
            return False
        return hmac.compare_digest(raw[_NONCE:], self._mark(seat, raw[:_NONCE]))

    def _mark(self, seat: str, nonce: bytes) -> bytes:
        return hmac.new(self._key, b"token\0" + seat.encode() + b"\0" + nonce, "sha256").digest()


def _two_texts(held: Any) -> bool:
    return isinstance(held, list) and len(held) == 2 and all(isinstance(x, str) for x in held)


def _cookie(name: str, value: str, age_s: int, *, secure: bool) -> bytes:
    end = "; Secure" if secure else ""
    return f"{name}={value}; Max-Age={age_s}; Path=/; HttpOnly; SameSite=Lax{end}".encode("ascii")

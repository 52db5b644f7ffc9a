"""Let a phone or tablet in, see which are let in, and let one out again.

An invitation is a link with a one-time token, shown as a picture to photograph, and a short code
for typing. It holds five minutes and lets one device in. What is kept of token, code and secret
is their hash, compared in constant time.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
import threading
import unicodedata
from dataclasses import dataclass
from typing import TYPE_CHECKING

from boughwright.errors import RangeError, TextError, UnknownNameError
from boughwright.store.devices import (
    Device,
    DeviceList,
    keys_folder,
    secret_file,
    write_secret,
)

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date, datetime
    from pathlib import Path

__all__ = ["Admission", "Device", "Doorkeeper", "Invitation", "clean_name"]

HOLDS_S = 300
"""How long an invitation holds. [s]"""
CODE_LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Digits and letters that are not taken for each other when read aloud: Crockford's base 32."""
CODE_LENGTH = 8
"""32^8 codes, about 10^12: with the tries below, one guess in 200 thousand million gets in."""
CODE_TRIES = 5
NAME_LENGTH = 40
MOST_DEVICES = 64
"""Devices let in at a time, so that the list stays one that a person can read."""
_KEY_FILE, _LIST_FILE = "server.key", "devices.db"
_READ_AS = str.maketrans({"O": "0", "I": "1", "L": "1", " ": None, "-": None})


@dataclass(frozen=True, slots=True)
class Invitation:
    """A one-time way in: the link's token, the short code, and when both end."""

    token: str
    code: str
    until: datetime

    @property
    def code_shown(self) -> str:
        """The code in two halves, as it is read aloud."""
        return f"{self.code[:4]} {self.code[4:]}"


@dataclass(frozen=True, slots=True)
class Admission:
    """A device just let in, with the secret that only it will hold."""

    device: str
    secret: str


class Doorkeeper:
    """Who may come in, for one book.

    Parameters
    ----------
    book : Path
        The book; keys lie in a folder beside it.
    clock : callable
        Gives the time now, with its zone.
    """

    def __init__(self, book: Path, clock: Callable[[], datetime]) -> None:
        self.clock = clock
        self._folder = keys_folder(book)
        self._lock = threading.Lock()
        self.key = secret_file(self._folder, _KEY_FILE, lambda: secrets.token_bytes(32))
        self._list = DeviceList(self._folder / _LIST_FILE)
        self._shown: Invitation | None = None

    def close(self) -> None:
        """Close the list of devices."""
        self._list.close()

    def kept_file(self, name: str, make: Callable[[], bytes]) -> bytes:
        """Return a key file of this book; it is made at the first call."""
        return secret_file(self._folder, name, make)

    def keep_file(self, name: str, data: bytes) -> Path:
        """Write a key file of this book and return its path."""
        write_secret(self._folder, name, data)
        return self._folder / name

    def invite(self) -> Invitation:
        """Open an invitation; one that stood before is void.

        Raises
        ------
        RangeError
            When as many devices are let in as may be.
        """
        if sum(d.may_enter for d in self._list.all()) >= MOST_DEVICES:
            raise RangeError(
                f"{MOST_DEVICES} devices are let in already",
                allowed=f"up to {MOST_DEVICES} devices",
                todo="Let one out first",
            )
        now = self.clock()
        until_s = int(now.timestamp()) + HOLDS_S
        token = secrets.token_urlsafe(24)
        code = "".join(secrets.choice(CODE_LETTERS) for _ in range(CODE_LENGTH))
        with self._lock:
            self._list.invite(
                self._hash("token", token), self._hash("code", code), until_s, CODE_TRIES
            )
            self._shown = Invitation(token, code, now.fromtimestamp(until_s, now.tzinfo))
            return self._shown

    def open_invitation(self) -> Invitation | None:
        """Return the invitation that this run of the server opened, while it can be used."""
        with self._lock:
            shown, held = self._shown, self._list.invitation()
            if shown is None or held is None or self._ended(held[2]):
                self._shown = None
            elif not hmac.compare_digest(held[0], self._hash("token", shown.token)):
                self._shown = None  # another run of the server opened a newer one
            return self._shown

    def take_back(self) -> None:
        """Void the open invitation."""
        held = self._list.invitation()
        if held is not None:
            self._list.use_up(held[0])

    def admit_by_token(self, token: str, name: str) -> Admission | None:
        """Let a device in by the link's token; None when it is wrong, used or too old."""
        held = self._list.invitation()
        given = self._hash("token", token)
        if held is None or not hmac.compare_digest(held[0], given) or self._ended(held[2]):
            return None
        return self._admit(held[0], name)

    def admit_by_code(self, code: str, name: str) -> Admission | None:
        """Let a device in by the short code; None when it is wrong, used, tried out or too old.

        Every call takes one of the tries, right or wrong.
        """
        held = self._list.invitation()
        if held is None or self._ended(held[2]) or not self._list.take_try():
            return None
        read = code.upper().translate(_READ_AS)
        if not hmac.compare_digest(held[1], self._hash("code", read)):
            return None
        return self._admit(held[0], name)

    def _admit(self, token_hash: str, name: str) -> Admission | None:
        named = clean_name(name)
        if not self._list.use_up(token_hash):
            return None  # another device came in with it at the same time
        device, secret = secrets.token_hex(8), secrets.token_urlsafe(32)
        today = self.today()
        self._list.add(
            Device(device, named, self._hash("device", secret), today, today, let_out_on=None)
        )
        return Admission(device, secret)

    def knows(self, device: str, secret: str) -> Device | None:
        """Return the device that holds this secret, let in or let out; None for any other."""
        found = self._list.find(device)
        given = self._hash("device", secret)
        if found is None or not hmac.compare_digest(found.secret_hash, given):
            return None
        return found

    def saw(self, device: Device) -> None:
        """Write down that a device is here today; nothing when that is written already."""
        today = self.today()
        if device.seen_on != today:
            self._list.seen(device.id, today)

    def devices(self) -> list[Device]:
        """Return every device, those let in first, then by name."""
        return self._list.all()

    def rename(self, device: str, name: str) -> None:
        """Give a device another name.

        Raises
        ------
        TextError, UnknownNameError
            When the name is empty or too long, or there is no such device.
        """
        if not self._list.rename(device, clean_name(name)):
            raise _no_such(device)

    def let_out(self, device: str) -> None:
        """Let a device in no longer, from its next request on. Harmless when done twice.

        Raises
        ------
        UnknownNameError
            When there is no such device.
        """
        if not self._list.let_out(device, self.today()) and self._list.find(device) is None:
            raise _no_such(device)

    def forget(self, device: str) -> None:
        """Strike a device that was let out off the list. Harmless when done twice."""
        self._list.forget(device)

    def today(self) -> date:
        """Return the day where the computer stands."""
        return self.clock().astimezone().date()

    def _ended(self, until_s: int) -> bool:
        return self.clock().timestamp() >= until_s

    def _hash(self, kind: str, text: str) -> str:
        said = f"{kind}\0{text}".encode("utf-8", "surrogatepass")
        return hmac.new(self.key, said, hashlib.sha256).hexdigest()


def clean_name(text: str) -> str:
    """Return a device's name: one line, no control marks.

    Raises
    ------
    TextError
        When nothing is left, or it is too long.
    """
    kept = "".join(" " if unicodedata.category(c)[0] in "CZ" else c for c in text)
    name = " ".join(kept.split())
    if not name or len(name) > NAME_LENGTH:
        raise TextError(
            "a device needs a name" if not name else f"a name of {len(name)} letters is too long",
            allowed=f"1 to {NAME_LENGTH} letters",
            todo="Give it a short name, such as phone",
        )
    return name


def _no_such(device: str) -> UnknownNameError:
    return UnknownNameError(
        f"no device {device[:NAME_LENGTH]!r} is on the list",
        allowed="a device of the list",
        todo="Open the list of devices again",
    )

"""Which names and addresses the server answers to.

A page elsewhere can make its own name point at this computer, and then read what the server
answers as if it were its own. Its requests carry that name, so any name but ours is refused. An
address written in figures cannot be redirected so: the one that the request came in by is good.
Headers that a proxy adds are not looked at.
"""

from __future__ import annotations

import ipaddress
import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from boughwright.web.guard.options import Listening

LOOPBACK_NAMES = ("localhost", "127.0.0.1", "[::1]")
DEFAULT_PORTS = {"http": 80, "https": 443}
_HOST = re.compile(
    r"(?P<name>\[[0-9a-f:.]+\]|[a-z0-9](?:[a-z0-9.-]*[a-z0-9])?)(?::(?P<port>\d{1,5}))?"
)


def is_loopback(address: str) -> bool:
    """Tell whether an address is of this computer itself."""
    try:
        found = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return False
    mapped = getattr(found, "ipv4_mapped", None)
    return (mapped or found).is_loopback


def split_host(text: str, scheme: str) -> tuple[str, int] | None:
    """Return name and port of a Host header, in lower case; None when it is not well formed."""
    match = _HOST.fullmatch(text.lower())
    if match is None:
        return None
    port = int(match["port"]) if match["port"] else DEFAULT_PORTS[scheme]
    return (match["name"], port) if 0 < port < 65536 else None


def host_fits(
    text: str,
    *,
    door: Listening,
    names: Iterable[str],
    arrived_at: str,
    from_here: bool,
) -> bool:
    """Tell whether a Host header names this server.

    Parameters
    ----------
    text : str
        The header.
    door : Listening
        The door the request came in by.
    names : iterable of str
        Names that other devices may use.
    arrived_at : str
        Address of this computer that the request was sent to.
    from_here : bool
        Whether it was sent from this computer.
    """
    split = split_host(text, door.scheme)
    if split is None or split[1] != door.port:
        return False
    name = split[0]
    if name in LOOPBACK_NAMES:
        return from_here
    return door.lan and (name in names or _same_address(name, arrived_at))


def _same_address(name: str, address: str) -> bool:
    try:
        given = ipaddress.ip_address(name.strip("[]"))
        arrived = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return False
    return given in (arrived, getattr(arrived, "ipv4_mapped", None))

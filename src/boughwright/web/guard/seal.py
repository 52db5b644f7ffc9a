"""The certificates of https in use: kept beside the book, renewed while the server runs."""

from __future__ import annotations

import ssl
from typing import TYPE_CHECKING

from boughwright.web.guard.certificates import (
    authority_holds,
    bundle,
    is_home,
    make_authority,
    make_leaf,
    still_good,
    unbundle,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from boughwright.usecases.devices import Doorkeeper

_AUTHORITY_FILE, _LEAF_FILE = "authority.pem", "server.pem"
_OWN = ("127.0.0.1", "localhost")


class Seal:
    """The certificates of https, kept beside the book and renewed while the server runs."""

    def __init__(self, keeper: Doorkeeper) -> None:
        self._keeper = keeper
        now = keeper.clock()
        self.authority = unbundle(
            keeper.kept_file(_AUTHORITY_FILE, lambda: bundle(make_authority(now)))
        )
        if not authority_holds(self.authority, now):
            self.authority = make_authority(now)
            keeper.keep_file(_AUTHORITY_FILE, bundle(self.authority))
        self.context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        self.context.minimum_version = ssl.TLSVersion.TLSv1_2
        self.context.set_alpn_protocols(["http/1.1"])

    def refresh(self, addresses: Sequence[str], names: Sequence[str]) -> bool:
        """Load the certificate for these hosts; True when a new one had to be made."""
        hosts = [h for h in dict.fromkeys((*addresses, *names, *_OWN)) if is_home(h)]
        now = self._keeper.clock()

        def make() -> bytes:
            return bundle(make_leaf(self.authority, hosts, now))

        held = unbundle(self._keeper.kept_file(_LEAF_FILE, make))
        good = still_good(self.authority, held, hosts, now)
        path = self._keeper.keep_file(_LEAF_FILE, bundle(held) if good else make())
        self.context.load_cert_chain(path)
        return not good

    def certificate(self) -> bytes:
        """Return the authority's certificate as PEM."""
        return self.authority.certificate

"""How long the server waits for a sender, and how much of itself it gives to one."""

from __future__ import annotations

import asyncio
import ipaddress

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

HEAD_S, DRAIN_S, KEEP_S = 15.0, 60.0, 15
"""Seconds for a request's head, for the rest of a refused body, and between requests."""
MOST_FROM_ONE = 48
"""Connections that one address may hold."""


class PatientProtocol(H11Protocol):
    """Http that waits, but not for ever, and not on one sender alone.

    A head must be there within `HEAD_S`; what comes after a refusal is read off for `DRAIN_S`, so
    that the sender hears the answer; one address holds `MOST_FROM_ONE` connections at most.
    """

    _deadline: asyncio.TimerHandle | None = None
    _waits_for: str = ""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Start to wait for the first request."""
        super().connection_made(transport)
        address = self.client[0] if self.client else ""
        same = sum(
            isinstance(c, H11Protocol) and (c.client or ("", 0))[0] == address
            for c in self.connections
        )
        if same > MOST_FROM_ONE and not ipaddress.ip_address(address or "127.0.0.1").is_loopback:
            transport.abort()
            return
        self._wait("head", HEAD_S)

    def data_received(self, data: bytes) -> None:
        """Take in a piece, then wait for what is still missing."""
        super().data_received(data)
        self._watch()

    def on_response_complete(self) -> None:
        """Wait for the next request, or for the rest of this one."""
        super().on_response_complete()
        self._watch()

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait no longer."""
        self._stop_waiting()
        super().connection_lost(exc)

    def _watch(self) -> None:
        answered = self.cycle is not None and self.cycle.response_complete
        if self.conn.their_state is h11.IDLE:
            begun = bool(self.conn.trailing_data[0])
            self._wait("head", HEAD_S) if begun else self._wait("next", KEEP_S)
        elif self.conn.their_state is h11.SEND_BODY and answered:
            self._wait("rest", DRAIN_S)
        else:
            self._stop_waiting()

    def _wait(self, what: str, seconds: float) -> None:
        if self._waits_for != what:  # a later piece of the same does not put the end off
            self._stop_waiting()
            self._waits_for = what
            self._deadline = self.loop.call_later(seconds, self._too_late)

    def _stop_waiting(self) -> None:
        self._waits_for = ""
        if self._deadline is not None:
            self._deadline.cancel()
            self._deadline = None

    def _too_late(self) -> None:
        self._stop_waiting()
        if not self.transport.is_closing():
            self.transport.abort()

"""The guard itself: one layer around the app that every request and answer passes."""

from __future__ import annotations

from fnmatch import fnmatchcase
from typing import TYPE_CHECKING, Any

from starlette.datastructures import Headers
from starlette.requests import Request

from boughwright.web.guard.bodies import Body, boundary_of, limit_of, media_type, told_size
from boughwright.web.guard.csrf import SAFE_METHODS, check_origin, check_token, vouched_for
from boughwright.web.guard.faults import Refused, fault_of, log_failure, plain_answer
from boughwright.web.guard.headers import with_headers
from boughwright.web.guard.hosts import host_fits, is_loopback
from boughwright.web.guard.rates import Buckets
from boughwright.web.guard.seats import OWNER, RENEW_S, Seats, Visitor

if TYPE_CHECKING:
    from fastapi import FastAPI
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

    from boughwright.web.guard.options import GuardOptions

PAIR_PATH = "/pair"
STATIC = "/static/"
_PROXIED = ("forwarded", "x-forwarded-for", "x-real-ip")


def install_guard(app: FastAPI, guard: GuardOptions) -> None:
    """Put the guard in front of an app. Pages find it as ``request.app.state.guard``."""
    app.state.guard = guard
    app.state.seats = Seats(guard.keeper.key)
    app.add_middleware(Guard, options=guard, seats=app.state.seats)


class Guard:
    """The layer. See the package for what it does in which order."""

    def __init__(self, app: ASGIApp, options: GuardOptions, seats: Seats | None = None) -> None:
        self.app = app
        self.options = options
        self.seats = seats or Seats(options.keeper.key)
        self._pages = Buckets(options.page_rate, options.monotone)
        self._strangers = Buckets(options.stranger_rate, options.monotone)
        self._pairing = Buckets(options.pairing_rate, options.monotone)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let one request through, or answer it."""
        if scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})
        elif scope["type"] == "http":
            await _Passage(self, scope, receive, send).pass_through()
        else:
            await self.app(scope, receive, send)

    def how_often(self, visitor: Visitor, address: str, *, pairs: bool) -> None:
        """Refuse a sender who asks too often.

        Raises
        ------
        Refused
        """
        if visitor.kind == "stranger":
            wait = self._strangers.take(address)
            if not wait and pairs:
                wait = self._pairing.take("all")
        else:
            wait = self._pages.take(visitor.seat)
        if wait:
            raise Refused("too-often", retry_s=wait)


class _Passage:
    """One request on its way through the guard."""

    def __init__(self, guard: Guard, scope: Scope, receive: Receive, send: Send) -> None:
        self.guard, self.scope, self.receive, self._send = guard, scope, receive, send
        self.options, self.seats = guard.options, guard.seats
        self.request = Request(scope)
        self.headers = Headers(scope=scope)
        self.path: str = scope["path"]
        self.secure = scope["scheme"] == "https"
        self.address = (scope.get("client") or ("", 0))[0]
        self.cookies: list[bytes] = []
        self.started = False

    async def pass_through(self) -> None:
        """Check the request, hand it on, and answer in plain words when either fails."""
        try:
            body = await self._check()
            await self.guard.app(self.scope, body.receive, self.send)
        except Refused as refused:
            await self._refuse(refused)
        except Exception as error:  # whatever fails is told, never shown
            log_failure(self.request, error)
            if self.started:
                raise  # half an answer is out; the connection must break off
            await self._answer(plain_answer(self.request, fault_of("broken")))

    async def send(self, message: Message) -> None:
        """Send a piece of the answer, with the guard's headers at its start."""
        if message["type"] == "http.response.start":
            shared = self.path.startswith(STATIC) or self.path == "/sw.js"
            trusted = self.secure or is_loopback(self.address)
            message = with_headers(message, shared=shared, trusted=trusted, cookies=self.cookies)
            self.started = True
        await self._send(message)

    async def _refuse(self, refused: Refused) -> None:
        if self.started:
            raise refused
        await self._answer(plain_answer(self.request, refused.fault, refused.headers))

    async def _answer(self, response: Any) -> None:
        await response(self.scope, self.receive, self.send)

    async def _check(self) -> Body:
        """Return the body to hand on, once everything else has been found in order."""
        state = self.scope.setdefault("state", {})
        state["visitor"], state["csrf"] = Visitor("stranger", ""), ""
        self._check_host()
        visitor = state["visitor"] = self._visitor()
        pairs = self.path == PAIR_PATH and self.request.method not in SAFE_METHODS
        self.guard.how_often(visitor, self.address, pairs=pairs)
        if not _plain_path(self.path):
            raise Refused("missing")
        if not bytes(self.scope.get("query_string", b"")).isascii():
            raise Refused("bad-request")
        is_open = any(fnmatchcase(self.path, pattern) for pattern in self.options.open_paths)
        if visitor.kind == "stranger" and not is_open:
            raise Refused("let-out" if visitor.device else "not-paired")
        if not self.path.startswith(STATIC):
            state["csrf"] = self.seats.token(visitor.seat)
        return await self._check_body(visitor)

    def _check_host(self) -> None:
        given = self.headers.getlist("host")
        arrived, port = self.scope.get("server") or ("", 0)
        door = next((d for d in self.options.doors if d.scheme == self.scope["scheme"]
                     and d.port == (port or d.port)), None)  # fmt: skip
        if len(given) != 1 or door is None or not host_fits(
            given[0], door=door, names=self.options.names, arrived_at=arrived,
            from_here=is_loopback(self.address),
        ):  # fmt: skip
            raise Refused("host")

    def _visitor(self) -> Visitor:
        if is_loopback(self.address) and not any(name in self.headers for name in _PROXIED):
            return OWNER
        device_name, stranger_name = self.seats.names(secure=self.secure)
        given = self.request.cookies
        found = self._device(given.get(device_name, ""))
        if found is not None and found.kind == "device":
            return found
        seat = self.seats.read_stranger(given.get(stranger_name, ""))
        if seat is None:
            seat = self.seats.new_seat()
            if self.path == PAIR_PATH:
                self.cookies.append(self.seats.stranger_cookie(seat, secure=self.secure))
        return Visitor("stranger", f"stranger {seat}", device=found.device if found else "")

    def _device(self, cookie: str) -> Visitor | None:
        """Return the device that sent a cookie; as a stranger when it was let out."""
        held = self.seats.read_device(cookie) if cookie else None
        if held is None:
            return None
        device_id, secret, age_s = held
        device = self.options.keeper.knows(device_id, secret)
        if device is None:
            return None
        if not device.may_enter:
            return Visitor("stranger", "", device=device.id)
        self.options.keeper.saw(device)
        if not 0 <= age_s < RENEW_S and not self.path.startswith(STATIC):
            self.cookies.append(self.seats.device_cookie(device_id, secret, secure=self.secure))
        return Visitor("device", f"device {device.id}", device.id, device.name)

    async def _check_body(self, visitor: Visitor) -> Body:
        kind = self.headers.get("content-type", "")
        most = limit_of(self.path, media_type(kind), self.options)
        told = self.headers.get("content-length", "0")
        if not (told.isascii() and told.isdigit()):
            raise Refused("bad-request", closes=True)
        if len(told) > 15 or int(told) > most:
            raise Refused("too-big", size=told_size(most))
        boundary = boundary_of(kind) if media_type(kind).startswith("multipart/") else None
        body = Body(self.receive, most, self.options.silence_s, boundary)
        if self.request.method not in SAFE_METHODS:
            host = self.headers["host"].lower()
            check_origin(self.headers, f"{self.scope['scheme']}://{host}")
            if not vouched_for(self.headers, self.path):
                await check_token(self.headers, body, boundary, seats=self.seats, seat=visitor.seat)
        return body


def _plain_path(path: str) -> bool:
    """Tell whether a path names nothing above itself and holds no mark that text never holds."""
    if any(ord(mark) < 32 or ord(mark) == 127 or mark == "\\" for mark in path):
        return False
    return not any(step in (".", "..") for step in path.split("/"))

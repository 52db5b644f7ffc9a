"""Run the server: find the doors, say what is safe and what is not, stop cleanly.

By default nobody but this computer can reach it. ``lan`` opens it to the home network, where
devices pair first; ``https`` seals what is sent there.
"""

from __future__ import annotations

import asyncio
import contextlib
import gc
import ipaddress
import os
import re
import signal
import socket
import threading
import webbrowser
from collections.abc import Callable, Generator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, TypeAlias

import uvicorn

from boughwright.errors import RangeError
from boughwright.usecases.devices import Doorkeeper
from boughwright.web.guard import GuardOptions, Listening
from boughwright.web.guard.certificates import HOME_NETS, fingerprint
from boughwright.web.guard.patience import KEEP_S, PatientProtocol
from boughwright.web.guard.seal import Seal

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path
    from types import FrameType

    from fastapi import FastAPI
    from starlette.types import ASGIApp

    from boughwright.usecases.devices import Invitation

MakeApp: TypeAlias = "Callable[[GuardOptions], ASGIApp]"

HERE, EVERYWHERE = "127.0.0.1", "0.0.0.0"  # noqa: S104  # only when the grower asks for it
FIRST_PORT = 8170
PORTS_TRIED = 20
HEAD_BYTES = 16_384
"""Longest head of a request. [bytes]"""
STOP_S = 5
"""Seconds that open requests have to end when the server stops."""
MOST_CONNECTIONS = 256
LEAF_CHECK_S = 3600.0
RARELY = (50_000, 20, 50)
"""When garbage is searched for: a whole search of a large garden takes 0.1 s of a page's time."""
_HOST_NAME = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?")


@dataclass(frozen=True, slots=True)
class Plan:
    """How the server is to run.

    Parameters
    ----------
    port : int, optional
        The port, and with https the two after it; None: the first free ones from 8170.
    lan : bool
        Open it to the home network.
    https : bool
        Seal what is sent there. Only with ``lan``.
    open_browser : bool
        Show the first page in this computer's browser.
    """

    port: int | None = None
    lan: bool = False
    https: bool = False
    open_browser: bool = False


@dataclass
class Doors:
    """The sockets of a plan: this computer's or all of plain http, and with https two more."""

    main: socket.socket
    sealed: socket.socket | None = None
    handing: socket.socket | None = None

    def listening(self, *, lan: bool) -> tuple[Listening, ...]:
        """Return what the guard goes by."""
        plain = Listening("http", port_of(self.main), lan=lan and self.sealed is None)
        if self.sealed is None:
            return (plain,)
        return plain, Listening("https", port_of(self.sealed), lan=True)

    def close(self) -> None:
        """Close every socket."""
        for one in (self.main, self.sealed, self.handing):
            if one is not None:
                one.close()


def port_of(bound: socket.socket) -> int:
    """Return the port of a socket."""
    port: int = bound.getsockname()[1]
    return port


def open_doors(plan: Plan) -> Doors:
    """Take the ports of a plan.

    Raises
    ------
    RangeError
        When a port that was asked for is taken, or none is free.
    """
    main = _bind(HERE if plan.https or not plan.lan else EVERYWHERE, plan.port, 0)
    if not (plan.lan and plan.https):
        return Doors(main)
    doors = Doors(main)
    try:
        doors.sealed = _bind(EVERYWHERE, plan.port, 1)
        doors.handing = _bind(EVERYWHERE, plan.port, 2)
    except BaseException:
        doors.close()
        raise
    return doors


def _bind(address: str, asked: int | None, step: int) -> socket.socket:
    first = FIRST_PORT if asked is None else asked
    tries = range(first, first + PORTS_TRIED) if asked is None else (first + step,)
    for port in tries:
        bound = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        if os.name == "posix":  # elsewhere it would let two programs share a port
            bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            bound.bind((address, port))
            bound.listen(128)
        except (OSError, OverflowError):
            bound.close()
        else:
            return bound
    tried = str(tries[0]) if len(tries) == 1 else f"{tries[0]} to {tries[-1]}"
    raise RangeError(
        f"port {tried} cannot be taken",
        where="--port",
        allowed="a free port from 1024 to 65533",
        todo="Give another one, or stop the program that uses it",
    )


def home_addresses() -> tuple[str, ...]:
    """Return this computer's addresses in home networks, the likeliest first. Nothing is sent."""
    found: list[str] = []
    for far in ("192.0.2.1", "10.255.255.255", "192.168.255.255"):  # only the route is asked for
        with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as s:
            s.connect((far, 9))
            found.append(s.getsockname()[0])
    with contextlib.suppress(OSError):
        found += [
            str(a[4][0]) for a in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
        ]
    return tuple(
        address
        for address in dict.fromkeys(found)
        if any(ipaddress.ip_address(address) in net for net in HOME_NETS if net.version == 4)
        and not ipaddress.ip_address(address).is_loopback
    )


def home_names() -> tuple[str, ...]:
    """Return the name under which devices at home may find this computer."""
    name = socket.gethostname().partition(".")[0].lower()
    return (f"{name}.local",) if _HOST_NAME.fullmatch(name) and name != "localhost" else ()


class _Server(uvicorn.Server):
    """A server that leaves the signals to us, as several run side by side."""

    @contextlib.contextmanager
    def capture_signals(self) -> Generator[None, None, None]:
        yield


def _server(app: ASGIApp, seal: Seal | None = None) -> _Server:
    sealed: dict[str, Any] = {}
    if seal is not None:
        sealed["ssl_context_factory"] = lambda _config, _default: seal.context
    return _Server(
        uvicorn.Config(
            app,
            http=PatientProtocol,
            ws="none",
            lifespan="off",
            log_config=None,
            access_log=False,
            proxy_headers=False,
            server_header=False,
            limit_concurrency=MOST_CONNECTIONS,
            timeout_keep_alive=KEEP_S,
            timeout_graceful_shutdown=STOP_S,
            h11_max_incomplete_event_size=HEAD_BYTES,
            **sealed,
        )
    )


@dataclass
class Running:
    """Everything that runs together, made before the first request is taken."""

    plan: Plan
    doors: Doors
    keeper: Doorkeeper
    guard: GuardOptions
    servers: list[tuple[_Server, socket.socket]]
    seal: Seal | None = None
    invitation: Invitation | None = None

    def stop(self) -> None:
        """Ask every server to end what it does and stop; a second time, to stop at once."""
        for server, _ in self.servers:
            server.force_exit = server.should_exit
            server.should_exit = True

    async def run(self, started: Callable[[], None]) -> None:
        """Serve until stopped."""
        tasks = [
            asyncio.create_task(server.serve(sockets=[bound])) for server, bound in self.servers
        ]
        while not all(server.started for server, _ in self.servers):
            if any(task.done() for task in tasks):
                break
            await asyncio.sleep(0.01)
        else:
            started()
        renewing = asyncio.create_task(self._renew())
        try:
            await asyncio.gather(*tasks)
        finally:
            renewing.cancel()

    async def _renew(self) -> None:
        while self.seal is not None:
            await asyncio.sleep(LEAF_CHECK_S)
            self.seal.refresh(home_addresses(), self.guard.names)


def prepare(book: Path, plan: Plan, make_app: MakeApp, clock: Callable[[], datetime]) -> Running:
    """Open the doors and make the servers, without taking a request yet.

    Raises
    ------
    RangeError, StoreError
        When a port is taken, https is asked for without the network, or keys cannot be kept.
    """
    if plan.https and not plan.lan:
        raise RangeError(
            "--https is for the home network",
            where="--https",
            allowed="--lan --https",
            todo="Give --lan too; on this computer alone nothing needs sealing",
        )
    doors = open_doors(plan)
    try:
        keeper = Doorkeeper(book, clock)
    except BaseException:
        doors.close()
        raise
    try:
        return _prepared(plan, make_app, doors, keeper)
    except BaseException:
        doors.close()
        keeper.close()
        raise


def _prepared(plan: Plan, make_app: MakeApp, doors: Doors, keeper: Doorkeeper) -> Running:
    names = home_names() if plan.lan else ()
    seal = Seal(keeper) if plan.https else None
    if seal is not None:
        seal.refresh(home_addresses(), names)
    guard = GuardOptions(
        keeper,
        doors.listening(lan=plan.lan),
        names=names,
        addresses=home_addresses if plan.lan else tuple,
        certificate=seal.certificate if seal else None,
        certificate_port=port_of(doors.handing) if doors.handing else None,
    )
    app = make_app(guard)
    servers = [(_server(app), doors.main)]
    if seal is not None and doors.sealed is not None and doors.handing is not None:
        from boughwright.web.guard.handing import certificate_app  # noqa: PLC0415

        handing = certificate_app(guard, seal.certificate(), port_of(doors.handing))
        servers += [(_server(app, seal), doors.sealed), (_server(handing), doors.handing)]
    invitation = keeper.invite() if plan.lan else None
    return Running(plan, doors, keeper, guard, servers, seal, invitation)


def serve(
    book: Path,
    plan: Plan,
    *,
    tell: Callable[[str], None],
    today: Callable[[], date] | None = None,
    make_app: MakeApp | None = None,
    clock: Callable[[], datetime] = lambda: datetime.now(UTC),
) -> None:
    """Serve a book until Ctrl-C.

    Parameters
    ----------
    book : Path
        It may not be there yet; its folder must be.
    plan : Plan
    tell : callable
        Takes each line that is said to the grower.
    today : callable, optional
        Gives the day; None: the calendar's, or the book's standing date.
    make_app : callable, optional
        Makes the app from what the guard is told; None: the pages of the book.
    clock : callable
        Gives the time now, with its zone.

    Raises
    ------
    RangeError, StoreError
        When a port is taken, https is asked for without the network, or keys cannot be kept.
    """
    gc.set_threshold(*RARELY)
    running = prepare(book, plan, make_app or _pages_of(book, today), clock)

    def started() -> None:
        for line in greeting(running):
            tell(line)
        if plan.open_browser:
            address = f"http://{HERE}:{port_of(running.doors.main)}/"
            threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()

    def asked_to_stop(_signal: int, _frame: FrameType | None) -> None:
        running.stop()

    kept = {one: signal.signal(one, asked_to_stop) for one in (signal.SIGINT, signal.SIGTERM)}
    try:
        asyncio.run(running.run(started))
    finally:
        for one, handler in kept.items():
            signal.signal(one, handler)
        running.doors.close()
        running.keeper.close()
    tell("Stopped. Everything that was written is in the book.")


def _pages_of(book: Path, today: Callable[[], date] | None) -> MakeApp:
    def make(guard: GuardOptions) -> FastAPI:
        from boughwright.web.app import create_app  # noqa: PLC0415  # the pages are slow to load

        return create_app(book, guard=guard, today=today)

    return make


def greeting(running: Running) -> list[str]:
    """Return what the grower is told when the server has started."""
    port = port_of(running.doors.main)
    lines = [f"Boughwright is open at  http://{HERE}:{port}/"]
    if not running.plan.lan:
        lines += [
            "Only this computer can reach it, and whoever can use this computer.",
            "For a phone or tablet in the same Wi-Fi, start it with --lan.",
        ]
    else:
        lines += _lan_greeting(running)
    return [*lines, "", "Stop it with Ctrl-C."]


def _lan_greeting(running: Running) -> list[str]:
    from boughwright.web.guard.codes import terminal_code  # noqa: PLC0415
    from boughwright.web.pages.devices import (  # noqa: PLC0415
        certificate_address,
        pair_address,
        ways_in,
    )

    ways = ways_in(running.guard)
    if not running.guard.addresses():
        return ["This computer is in no home network now, so no other device can reach it.",
                "Join one; the page of devices then shows how to pair."]  # fmt: skip
    lines = [f"In the home network:    {way}" for way in ways]
    certificate = certificate_address(running.guard)
    if certificate is not None and running.seal is not None:
        lines += [
            "", "First, once on each device: install the certificate. Scan this, or open",
            certificate, "", terminal_code(certificate), "",
            "Its fingerprint there must be",
            *_halves(fingerprint(running.seal.certificate())),
            "", "Then pair.",
        ]  # fmt: skip
    invitation = running.invitation
    link = pair_address(running.guard, invitation) if invitation else None
    if invitation is not None and link is not None:
        lines += [
            "", "To let one device in within five minutes, scan this:", "", terminal_code(link),
            "", f"or open {ways[0]}pair there and type  {invitation.code_shown}",
            "More invitations, and the list of devices, are at",
            f"http://{HERE}:{port_of(running.doors.main)}/devices",
        ]  # fmt: skip
    return [*lines, "", *(_SEALED if running.seal is not None else _OPEN)]


_OPEN = (
    "Only paired devices get in. But this is plain http: anyone on the same Wi-Fi who",
    "listens in can read what is sent, take a device's pass and act as that device.",
    "Use it only where you trust everyone on the Wi-Fi, or add --https.",
    "Without https a page goes on writing when the signal drops, but cannot be opened",
    "again until it is back.",
)
_SEALED = (
    "Only paired devices get in, and what is sent to them is sealed. This was tried in",
    "one browser on a computer, not on real phones; some may not take the certificate.",
)


def _halves(text: str) -> list[str]:
    groups = text.split(" ")
    middle = len(groups) // 2
    return [f"  {' '.join(part)}" for part in (groups[:middle], groups[middle:])]

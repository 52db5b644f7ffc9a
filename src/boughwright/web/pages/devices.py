"""Which devices are let in: invite one, name it, let it out; and the page where a device pairs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Depends, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from boughwright.errors import TextError
from boughwright.usecases.shapes import shaped
from boughwright.web.guard import GuardOptions, Refused, visitor_of
from boughwright.web.guard.codes import SquareCode, square_code
from boughwright.web.guard.plain import plain_page
from boughwright.web.state import Bench, bench

if TYPE_CHECKING:
    from boughwright.usecases.devices import Admission, Doorkeeper, Invitation

router = APIRouter()

_LONGEST = 200
Field = Annotated[str, Form(max_length=_LONGEST)]


@dataclass(frozen=True, slots=True)
class WayIn:
    """An address that another device can open, with its square code."""

    address: str
    code: SquareCode


def ways_in(guard: GuardOptions, path: str = "/") -> list[str]:
    """Return the addresses at which other devices find this server; figures before names."""
    door = guard.lan_door
    if door is None:
        return []
    hosts = [f"[{a}]" if ":" in a else a for a in guard.addresses()]
    return [f"{door.scheme}://{host}:{door.port}{path}" for host in (*hosts, *guard.names)]


def certificate_address(guard: GuardOptions) -> str | None:
    """Return the address where a device gets the certificate; None without https."""
    addresses = guard.addresses()
    if guard.certificate_port is None or not addresses:
        return None
    host = f"[{addresses[0]}]" if ":" in addresses[0] else addresses[0]
    return f"http://{host}:{guard.certificate_port}/"


def pair_address(guard: GuardOptions, invitation: Invitation) -> str | None:
    """Return the link that lets one device in. The token stands where no log sees it."""
    ways = ways_in(guard, "/pair")
    return f"{ways[0]}#{invitation.token}" if ways else None


def _guard(request: Request) -> GuardOptions:
    found: GuardOptions = request.app.state.guard
    return found


def _owner(request: Request) -> Doorkeeper:
    if not visitor_of(request).owner:
        raise Refused("owner-only")
    return _guard(request).keeper


def _way(address: str | None) -> WayIn | None:
    return None if address is None else WayIn(address, square_code(address))


@router.get("/devices")
def show_devices(request: Request, bench: Annotated[Bench, Depends(bench)]) -> HTMLResponse:
    """Show the devices that are let in; on the computer itself also how to let one in."""
    return _devices_page(request, bench)


def _devices_page(
    request: Request, bench: Bench, *, status: int = 200, fault: TextError | None = None
) -> HTMLResponse:
    from boughwright.web.guard.certificates import fingerprint  # noqa: PLC0415

    guard, visitor = _guard(request), visitor_of(request)
    door = guard.lan_door
    open_ = guard.keeper.open_invitation() if visitor.owner and door is not None else None
    shown: dict[str, Any] = {
        "visitor": visitor,
        "devices": guard.keeper.devices(),
        "lan": door is not None,
        "secure": door is not None and door.scheme == "https",
        "addresses": ways_in(guard),
        "invitation": open_,
        "way": _way(pair_address(guard, open_)) if open_ else None,
        "certificate_way": _way(certificate_address(guard)) if visitor.owner else None,
        "fingerprint": fingerprint(guard.certificate()) if guard.certificate else "",
        "fault": fault,
    }
    return bench.render(request, "devices/list.html", status=status, **shown)


@router.post("/devices/invite")
def invite(request: Request) -> Response:
    """Open an invitation for one device."""
    _owner(request).invite()
    return _back()


@router.post("/devices/uninvite")
def uninvite(request: Request) -> Response:
    """Void the open invitation."""
    _owner(request).take_back()
    return _back()


@router.post("/devices/leave")
def leave(request: Request) -> Response:
    """Let this very device out, and take its cookie away."""
    visitor = visitor_of(request)
    if visitor.kind != "device":
        return _back()
    _guard(request).keeper.let_out(visitor.device)
    answer = RedirectResponse("/pair", 303)
    for cookie in request.app.state.seats.gone(secure=request.url.scheme == "https"):
        answer.raw_headers.append((b"set-cookie", cookie))
    return answer


@router.post("/devices/{device}/rename")
def rename(
    request: Request, device: str, name: Field, bench: Annotated[Bench, Depends(bench)]
) -> Response:
    """Give a device another name: this one, or on the computer itself any."""
    visitor = visitor_of(request)
    keeper = _guard(request).keeper if visitor.device == device else _owner(request)
    try:
        keeper.rename(device, name)
    except TextError as error:
        return _devices_page(request, bench, status=422, fault=error)
    return _back()


@router.post("/devices/{device}/out")
def let_out(request: Request, device: str) -> Response:
    """Let a device out: its next request is refused."""
    _owner(request).let_out(device)
    return _back()


@router.post("/devices/{device}/forget")
def forget(request: Request, device: str) -> Response:
    """Strike a device that was let out off the list."""
    _owner(request).forget(device)
    return _back()


def _back() -> Response:
    return RedirectResponse("/devices", 303)


@router.get("/pair")
def show_pair(request: Request) -> HTMLResponse:
    """Show a device that is not let in how to pair."""
    return _pair_page(request)


def _pair_page(request: Request, *, status: int = 200, wrong: str = "") -> HTMLResponse:
    page = plain_page(request, "devices/pair.html", visitor=visitor_of(request), wrong=wrong)
    return HTMLResponse(page, status)


@router.post("/pair")
def pair(request: Request, token: Field = "", code: Field = "", name: Field = "") -> Response:
    """Let a device in by a link's token or a short code, and give it its cookie."""
    if visitor_of(request).kind != "stranger":
        return RedirectResponse("/", 303)
    keeper = _guard(request).keeper
    try:
        admitted = (keeper.admit_by_token(token, name) if token
                    else keeper.admit_by_code(code, name))  # fmt: skip
    except TextError:
        return _pair_page(request, status=422, wrong="name")
    if admitted is None:
        return _pair_page(request, status=403, wrong="link" if token else "code")
    return _let_in(request, admitted)


def _let_in(request: Request, admitted: Admission) -> Response:
    secure = request.url.scheme == "https"
    seats = request.app.state.seats
    answer = RedirectResponse("/", 303)
    answer.raw_headers += [
        (b"set-cookie", seats.gone(secure=secure)[1]),
        (b"set-cookie", seats.device_cookie(admitted.device, admitted.secret, secure=secure)),
    ]
    return answer


@router.get("/api/visitor")
def visitor(request: Request) -> dict[str, Any]:
    """Return who asks, with a new token for what it sends next."""
    found = visitor_of(request)
    return shaped(
        "boughwright/visitor",
        1,
        {"kind": found.kind, "device": found.device, "name": found.name,
         "csrf": request.state.csrf},
    )  # fmt: skip

"""What is said when a request is refused or fails: a plain page, or JSON for the API.

No page shows where in the program it failed; that goes to the error stream alone.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from boughwright.errors import (
    AmbiguousNameError,
    BoughwrightError,
    FileError,
    RangeError,
    RecordError,
    StoreError,
    TextError,
    UnknownNameError,
)

if TYPE_CHECKING:
    from fastapi import FastAPI

Render: TypeAlias = Callable[[Request, int, str, str], Response]
"""Draws an error page from the request, the status, what is wrong and what to do."""

FAULTS: Mapping[str, tuple[int, str, str, str]] = {
    "bad-request": (400, "This request cannot be read", "",
                    "Go back and try again"),
    "host": (400, "This is not an address of this server", "",
             "Open the address that the computer shows"),
    "not-paired": (401, "This device is not let in", "",
                   "Pair it: on the computer, open the list of devices and invite one"),
    "let-out": (401, "This device is no longer let in", "",
                "Pair it again to go on; what waits on it stays there"),
    "cross-site": (403, "This request came from another page", "",
                   "Open the page here and do it again"),
    "stale-page": (403, "This page is no longer good", "",
                   "Open it again, then do it once more; nothing was changed"),
    "owner-only": (403, "Only the computer itself may do this", "",
                   "Do it in the browser of the computer that runs Boughwright"),
    "missing": (404, "There is no such page", "",
                "Check the address, or start from this week"),
    "method": (405, "This page cannot be asked in that way", "",
               "Open it from the page it belongs to"),
    "slow": (408, "The rest did not arrive in time", "",
             "Try again where the signal is better; nothing was changed"),
    "too-big": (413, "This is too large to take", "up to {size}",
                "Send less at once, or a smaller file; nothing was changed"),
    "too-many-fields": (413, "This form has too many fields", "",
                        "Send less at once; nothing was changed"),
    "not-understood": (422, "Something in this request is missing or not understood", "",
                       "Check what you gave and send it again"),
    "too-often": (429, "Too many requests at once", "",
                  "Wait a little, then try again"),
    "broken": (500, "Something went wrong here", "",
               "Nothing half done was kept; try again. The computer's window says more"),
    "busy": (503, "The server is busy", "",
             "Wait a little, then try again"),
}  # fmt: skip
"""Slug: status, what is wrong, what is allowed, what to do."""

_BY_STATUS = {
    400: "bad-request",
    401: "not-paired",
    403: "stale-page",
    404: "missing",
    405: "method",
    413: "too-big",
    422: "not-understood",
    429: "too-often",
    503: "busy",
}

_OURS: tuple[tuple[type[BoughwrightError], int], ...] = (
    (UnknownNameError, 404),
    (AmbiguousNameError, 422),
    (RangeError, 422),
    (TextError, 422),
    (RecordError, 422),
    (FileError, 422),
    (StoreError, 503),
)
"""Status of an error that a page let through."""

_log = logging.getLogger("boughwright.web")


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with a request, told in English; a page tells it in the grower's words."""

    status: int
    slug: str
    what: str
    where: str = ""
    allowed: str = ""
    todo: str = ""

    def shape(self) -> dict[str, dict[str, str]]:
        """Return the fault as the API answers it."""
        return {
            "error": {
                "slug": self.slug,
                "what": self.what,
                "where": self.where,
                "allowed": self.allowed,
                "todo": self.todo,
            }
        }


def fault_of(slug: str, *, size: str = "") -> Fault:
    """Return a fault of the table."""
    status, what, allowed, todo = FAULTS[slug]
    limit = allowed.replace("{size}", size) if size else ""
    return Fault(status, slug, what, allowed=limit, todo=todo)


class Refused(HTTPException):
    """A request that is not let through.

    Parameters
    ----------
    slug : str
        A key of `FAULTS`.
    size : str
        The limit that was passed, as it is read.
    retry_s : float, optional
        Seconds until it is worth trying again.
    closes : bool
        Whether the connection ends with the answer.
    """

    def __init__(
        self, slug: str, *, size: str = "", retry_s: float | None = None, closes: bool = False
    ) -> None:
        self.fault = fault_of(slug, size=size)
        headers = {} if retry_s is None else {"Retry-After": str(max(1, -int(-retry_s // 1)))}
        if closes:
            headers["Connection"] = "close"
        super().__init__(self.fault.status, self.fault.what, headers)


def for_program(request: Request) -> bool:
    """Tell whether the answer is read by a program: JSON instead of a page."""
    path = str(request.scope["path"])  # the whole address may hold what cannot be read
    return path.startswith("/api/") or path == "/api"


def install_errors(app: FastAPI, render: Render) -> None:
    """Answer every error of the app in plain words.

    Parameters
    ----------
    app : FastAPI
    render : callable
        Draws an error page from the request, the status, what is wrong and what to do.
    """
    from fastapi.exceptions import RequestValidationError  # noqa: PLC0415

    def told(request: Request, fault: Fault, headers: Mapping[str, str] | None) -> Response:
        if for_program(request):
            answer: Response = JSONResponse(fault.shape(), fault.status)
        else:
            answer = _drawn(request, fault, render)
        answer.headers.update(headers or {})
        return answer

    def of_http(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        if error.status_code in (204, 304):
            return Response(status_code=error.status_code, headers=error.headers)
        return told(request, _of_http(error), error.headers)

    def of_ours(request: Request, error: Exception) -> Response:
        assert isinstance(error, BoughwrightError)
        status = next((s for kind, s in _OURS if isinstance(error, kind)), 500)
        fault = Fault(status, error.slug, error.what, error.where, error.allowed, error.todo)
        return told(request, fault, None)

    def of_fields(request: Request, error: Exception) -> Response:
        assert isinstance(error, RequestValidationError)
        places = dict.fromkeys(str(e["loc"][-1]) for e in error.errors() if e["loc"])
        where = ", ".join(places)[:200]
        base = fault_of("not-understood")
        return told(request, Fault(422, base.slug, base.what, where, todo=base.todo), None)

    app.add_exception_handler(HTTPException, of_http)
    app.add_exception_handler(RequestValidationError, of_fields)
    app.add_exception_handler(BoughwrightError, of_ours)


def _of_http(error: HTTPException) -> Fault:
    if isinstance(error, Refused):
        return error.fault
    slug = _BY_STATUS.get(error.status_code)
    if slug is None:
        slug = "broken" if error.status_code >= 500 else "bad-request"
    base = fault_of(slug)
    return Fault(error.status_code, slug, base.what, todo=base.todo)


def _drawn(request: Request, fault: Fault, render: Render) -> Response:
    what = f"{fault.where}: {fault.what}" if fault.where else fault.what
    try:
        return render(request, fault.status, what, fault.todo)
    except Exception as error:  # the page of an error must not fail
        log_failure(request, error)
        return plain_answer(request, fault)


def plain_answer(
    request: Request, fault: Fault, headers: Mapping[str, str] | None = None
) -> Response:
    """Return a fault without touching the book: a bare page, or JSON for the API."""
    from boughwright.web.guard.plain import plain_page  # noqa: PLC0415

    if for_program(request):
        answer: Response = JSONResponse(fault.shape(), fault.status)
    else:
        answer = HTMLResponse(
            plain_page(request, "devices/refused.html", fault=fault), fault.status
        )
    answer.headers.update(headers or {})
    return answer


def log_failure(request: Request, error: BaseException) -> None:
    """Write to the error stream where the program failed. The query is left out: it may be private.

    Parameters
    ----------
    request : Request
    error : BaseException
    """
    path = str(request.scope["path"]).encode("ascii", "backslashreplace").decode()
    _log.error("%s %s failed", request.method, path, exc_info=error)

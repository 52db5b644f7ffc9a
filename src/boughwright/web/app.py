"""The web application: pages, JSON answers, and the guard in front of both."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from fastapi import FastAPI, Request
from fastapi.responses import FileResponse, JSONResponse, Response
from fastapi.staticfiles import StaticFiles

from boughwright import __version__
from boughwright.errors import BoughwrightError
from boughwright.usecases.kept import KeptBook
from boughwright.web.api.models import REFUSALS
from boughwright.web.guard.faults import Fault, plain_answer
from boughwright.web.state import DIST, Bench, StillWorking

if TYPE_CHECKING:
    from boughwright.web.guard import GuardOptions

PAGES = (
    "week",
    "start",
    "trees",
    "tree",
    "session",
    "paper",
    "say",
    "wire",
    "weather",
    "may_i",
    "records",
    "promises",
    "stock",
    "sure",
    "facts",
    "places",
    "settings",
    "keep",
    "photos",
    "charts",
    "devices",
    "more",
    "parts",
    "progress",
)
"""Modules of `boughwright.web.pages`, each with a ``router``, in the order they are asked."""

ANSWERS = ("read", "write", "photos")
"""Modules of `boughwright.web.api`, each with a ``router``."""

ABOUT = """The same figures as the pages and the commands. Lengths are mm, days ISO dates, unknown
is null. Every answer names its shape and the shape's version."""


def create_app(
    book: Path, *, guard: GuardOptions, today: Callable[[], date] | None = None
) -> FastAPI:
    """Return the application for one book.

    Parameters
    ----------
    book : Path
        The book to serve. It may not be there yet; the first page then leads to one.
    guard : GuardOptions
        Who may come in, and how.
    today : callable, optional
        Gives the day; None: the calendar's, or the book's standing date.
    """
    from boughwright.web.guard import install_errors, install_guard  # noqa: PLC0415

    app = FastAPI(
        title="Boughwright",
        version=__version__,
        description=ABOUT,
        openapi_url="/api/openapi.json",
        docs_url=None,
        redoc_url=None,
    )
    app.state.bench = Bench(book, KeptBook(book, today=today), today)
    for name in ANSWERS:
        app.include_router(
            import_module(f"boughwright.web.api.{name}").router, prefix="/api", responses=REFUSALS
        )
    for name in PAGES:
        app.include_router(
            import_module(f"boughwright.web.pages.{name}").router, include_in_schema=False
        )
    app.mount("/static/dist", StaticFiles(directory=DIST, check_dir=False), name="dist")
    app.add_api_route("/sw.js", _worker, include_in_schema=False)
    app.add_exception_handler(StillWorking, _still_working)
    install_errors(app, _error_page)
    install_guard(app, guard)
    return app


def _worker() -> FileResponse:
    """Return the worker that opens pages without a signal; it must lie at the root."""
    return FileResponse(
        DIST / "sw.js", media_type="text/javascript", headers={"Cache-Control": "no-cache"}
    )


def _still_working(request: Request, _error: Exception) -> Response:
    """Show how far the first day has come; the page asks again by itself."""
    bench: Bench = request.app.state.bench
    if request.url.path.startswith("/api/"):
        return _busy_answer()
    back = request.url.path if request.method == "GET" else "/"
    return bench.render(request, "working.html", status=503, back=back, share=bench.share)


def _busy_answer() -> Response:
    return JSONResponse(
        {"error": {"slug": "still-working", "what": "the first day is still being worked out",
                   "where": "", "allowed": "", "todo": "Ask again in a second"}},
        status_code=503,
        headers={"Retry-After": "1"},
    )  # fmt: skip


def _error_page(request: Request, status: int, what: str, todo: str) -> Response:
    """Return an error as a page in plain words, also when the book itself cannot be read."""
    bench: Bench = request.app.state.bench
    try:
        return bench.render(request, "error.html", status=status, code=status, what=what, todo=todo)
    except BoughwrightError:
        return plain_answer(request, Fault(status, "not-done", what, todo=todo))

"""The pages and answers about photos alone, without the guard, for one small book."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import FastAPI
from fastapi.testclient import TestClient

from boughwright.usecases.kept import KeptBook
from boughwright.web.api import photos as answers
from boughwright.web.guard import install_errors
from boughwright.web.pages import photos as pages
from boughwright.web.state import Bench

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi import Request, Response


def photo_app(book: Path) -> FastAPI:
    """Return an app with the photo pages of a book."""
    app = FastAPI()
    app.state.bench = Bench(book, KeptBook(book))
    app.include_router(answers.router, prefix="/api")
    app.include_router(pages.router)

    def fault(request: Request, status: int, what: str, todo: str) -> Response:
        bench: Bench = request.app.state.bench
        return bench.render(request, "error.html", status=status, code=status, what=what, todo=todo)

    install_errors(app, fault)
    return app


def client_of(book: Path) -> TestClient:
    """Return a browser without JavaScript on the pages of a book."""
    return TestClient(photo_app(book), follow_redirects=False)

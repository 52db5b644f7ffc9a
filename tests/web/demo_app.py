"""The whole app on a book, and browsers that ask it without JavaScript."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from fastapi.testclient import TestClient

from boughwright.usecases.devices import Doorkeeper
from boughwright.web.app import create_app
from boughwright.web.guard import GuardOptions, Listening
from boughwright.web.guard.rates import Rate

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi import FastAPI

PORT = 8765
AS_OFTEN_AS_LIKED = Rate(burst=1e9, per_s=1e9)


def app_of(book: Path) -> FastAPI:
    """Return the whole app on a book, its first day worked out."""
    options = GuardOptions(
        keeper=Doorkeeper(book, lambda: datetime.now(UTC)),
        doors=(Listening("http", PORT),),
        page_rate=AS_OFTEN_AS_LIKED,
    )
    app = create_app(book, guard=options)
    app.state.bench.kept.day()
    app.state.bench.warm = True
    return app


def browser_on(app: FastAPI) -> TestClient:
    """Return a browser without JavaScript on the computer itself."""
    return TestClient(
        app,
        base_url=f"http://127.0.0.1:{PORT}",
        client=("127.0.0.1", 50_000),
        follow_redirects=False,
    )


def copy_of(book: Path, folder: Path) -> Path:
    """Return a copy of a book that may be written to."""
    for part in book.parent.glob(f"{book.name}*"):
        if part.is_file():  # beside it lies the folder of keys, made anew for each app
            shutil.copy(part, folder / part.name)
    return folder / book.name

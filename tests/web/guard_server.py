"""A real server for tests: ``guard_server.py BOOK PORT FLAGS``, over a small app."""

from __future__ import annotations

import sys
from pathlib import Path

from fastapi import FastAPI, Request
from fastapi.responses import PlainTextResponse
from fastapi.staticfiles import StaticFiles

from boughwright.web import serve as serving
from boughwright.web.guard import GuardOptions, install_errors, install_guard, layer, patience
from boughwright.web.pages.devices import router
from boughwright.web.state import DIST


def make_app(guard: GuardOptions) -> FastAPI:
    """Return an app with a page, a body to count and the guard."""
    app = FastAPI()

    @app.get("/")
    def week(request: Request) -> PlainTextResponse:
        return PlainTextResponse(request.state.csrf)

    @app.post("/api/lines")
    async def lines(request: Request) -> dict[str, int]:
        return {"bytes": len(await request.body())}

    @app.get("/fails")
    def fails() -> None:
        raise RuntimeError("secret inside")

    app.include_router(router)
    app.mount("/static/dist", StaticFiles(directory=DIST, check_dir=False))
    install_errors(app, lambda _r, status, what, _todo: PlainTextResponse(what, status))
    install_guard(app, guard)
    return app


if __name__ == "__main__":
    book, port, *flags = sys.argv[1:]
    for name in ("HEAD_S", "DRAIN_S"):
        if f"{name}=short" in flags:
            setattr(patience, name, 0.5)
    if "away" in flags:  # every browser counts as one on another device
        layer.is_loopback = lambda _address: False
        serving.home_names = lambda: ("bench.local",)
    serving.home_addresses = lambda: ("127.0.0.1",)  # the only one sure to be there
    serving.serve(
        Path(book),
        serving.Plan(int(port) or None, lan="lan" in flags, https="https" in flags),
        tell=lambda line: print(line, flush=True),
        make_app=make_app,
    )

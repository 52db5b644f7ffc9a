"""A small server for the scripts' tests: bare pages, and a line book that can be told to fail."""

from __future__ import annotations

import asyncio
import json
import math
import socket
import threading
import time
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import uvicorn
from fastapi import FastAPI, Request
from fastapi.responses import FileResponse, HTMLResponse, JSONResponse, Response, StreamingResponse
from fastapi.staticfiles import StaticFiles

import boughwright.web

if TYPE_CHECKING:
    from collections.abc import Iterator

DIST = Path(boughwright.web.__file__).parent / "static" / "dist"
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
    "connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)

FRAME = """<!doctype html><html lang="en" data-hand="right"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="csrf" content="{csrf}"><title>{title}</title>
<link rel="stylesheet" href="/static/dist/app.css">
<link rel="manifest" href="/static/dist/manifest.webmanifest">
<link rel="icon" href="/static/dist/icon.svg">
<script type="module" src="/static/dist/app.js"></script></head><body>
<header><p data-outbox role="status" aria-live="polite"></p><p data-can></p></header>
<main id="main" tabindex="-1"><h1>{title}</h1>{body}</main>
<div class="live" data-receipts role="status" aria-live="polite"></div></body></html>"""

LINE_FORM = """<form method="post" action="/say" data-line>
<input type="hidden" name="csrf" value="{csrf}"><input type="hidden" name="tree" value="elm">
<label for="say-text">Write down</label><div class="phrase">
<input id="say-text" type="text" name="text" data-phrase><button class="main">Write</button></div>
<p data-reading></p></form>"""

TAPS = """<p>Place: <b data-place-shown></b></p>
<button type="button" data-tap="act" data-word="ok" data-ends>ok</button>
<button type="button" data-tap="act" data-word="wire on">wire on</button>
<button type="button" data-tap="act" data-word="wire off">wire off</button>
<button type="button" data-tap="same">same again</button>
<button type="button" data-tap="except">except</button>
<button type="button" data-tap="when" data-word="yesterday">yesterday</button>
<button type="button" data-tap="why" data-word="gap">because gap</button>
<button type="button" data-tap="next" data-word="look 10d">look in 10 d</button>
<div data-for-act="wire on">
<button type="button" data-tap="amount" data-group="gauge" data-word="2 al" data-ends>2 al</button>
</div><div data-for-act="wire off">
<button type="button" data-tap="amount" data-group="how" data-word="cut">cut off</button>
<button type="button" data-tap="amount" data-group="bite" data-word="bite 3"
 data-ends>bite 3</button>
</div><button type="button" data-say="1L let run" data-tree="elm">step one done</button>
<div data-script hidden>with scripts</div>"""

LIST = """<div class="two"><div class="turntable" data-scene="/api/trees/elm/drawing"
 data-label="Elm in the round" data-turn-left="left" data-turn-right="right" data-front="front"
 data-closer="closer" data-further="further"><div data-drawing>
<svg viewBox="0 0 100 60" width="300" height="180"><g data-branch="b1">
<a href="/trees/elm/branches/b1">
<path d="M5 40h40" stroke="currentColor" stroke-width="6"/></a></g><g data-branch="b2">
<a href="/trees/elm/branches/b2"><path d="M50 20h40" stroke="currentColor" stroke-width="6"/></a>
</g></svg></div></div>
<p class="no-scene">links that turn</p>
<ul data-branches class="rows"><li data-branch="b1" data-name="1L"><a class="row-link"
 href="/trees/elm/branches/b1" hx-get="/trees/elm/branches/b1?part=card" hx-target="#card-b1">1L
 <span class="word">let run</span></a><div id="card-b1"></div></li>
<li data-branch="b2" data-name="4R"><a class="row-link" href="/trees/elm/branches/b2"
 hx-get="/trees/elm/branches/b2?part=card" hx-target="#card-b2">4R
 <span class="word">wire off</span></a><div id="card-b2"></div></li></ul></div>"""

MARKER = """<figure data-marker="{kind}">
<img src="/picture.svg" alt="A tree" width="400" height="300">
<svg viewBox="0 0 1000 1000" preserveAspectRatio="none" class="over"></svg>
<form method="post" action="/say" data-marker-form>{fields}<button>Keep</button></form></figure>"""
FIELD = '<label>{name} <input type="number" step="any" min="0" max="{most}" name="{name}"></label>'

PHOTO_FORM = """<form method="post" action="/say" enctype="multipart/form-data" data-photo>
<input type="hidden" name="csrf" value="{csrf}"><input type="hidden" name="tree" value="elm">
<label>Side <select name="side"><option>front</option></select></label>
<label>Photo <input type="file" name="file"></label><button>Send</button></form>"""


@dataclass
class Bench:
    """What the fake server was sent, and how it is told to behave."""

    written: dict[str, dict[str, Any]] = field(default_factory=dict)
    """Lines by id, as first stored."""
    seen: list[str] = field(default_factory=list)
    """Ids of lines in the order they came, repeats with them."""
    plain: list[str] = field(default_factory=list)
    """Lines that came by an ordinary form."""
    photos: dict[str, dict[str, Any]] = field(default_factory=dict)
    csrf: str = "token-1"
    lose_replies: int = 0
    """How many answers are lost after the lines were stored."""
    fail_with: int | None = None
    refuse: str = ""
    """Lines with this word are refused."""
    slow_s: float = 0.0
    pages_asked: list[str] = field(default_factory=list)
    let_in: bool = True
    pieces: int = 60
    address: str = ""

    @property
    def texts(self) -> list[str]:
        return [line["text"] for line in self.written.values() if "text" in line]


def tree_drawing(pieces: int) -> dict[str, Any]:
    """Make a drawing with about so many pieces of wood: a trunk and branches round it."""
    per = 20
    branches = [_branch("trunk", "trunk", "leave", "ink", "", [
        (0.0, 500.0 * k / per, 0.0, 30.0 - k) for k in range(per + 1)
    ])]  # fmt: skip
    count = max(2, pieces // per - 1)
    for b in range(count):
        turn = math.pi / 2 + math.pi * b if b < 2 else b * 2.399
        high, long = 120.0 + 360.0 * b / count, 260.0 - 150.0 * b / count
        line = [
            (
                math.sin(turn) * long * k / per,
                high + 30 * math.sin(3 * k / per),
                math.cos(turn) * long * k / per,
                7.0 * (1 - 0.8 * k / per),
            )
            for k in range(per + 1)
        ]
        mark, role = (("run", "run"), ("wire off", "harm"), ("leave", "ink"))[min(b, 2)]
        branches.append(_branch(f"b{b + 1}", f"{b + 1}L", mark, role, mark, line))
    twigs = [0.0, 500.0, 0.0, 10.0, 520.0, 5.0]
    return {
        "shape": "boughwright/drawing",
        "version": 1,
        "branches": branches,
        "twigs": twigs,
        "twig_of": [0],
        "pot_mm": [300.0, 220.0],
        "size_mm": [520.0, 520.0, 520.0],
    }


def _branch(
    name: str, plain: str, mark: str, role: str, act: str, line: list[tuple[float, ...]]
) -> dict[str, Any]:
    points = [round(value, 1) for point in line for value in point]
    kind = "trunk" if name == "trunk" else "primary"
    told = {"id": name, "name": plain, "kind": kind, "mark": mark, "role": role, "act": act}
    return told | {"cut_mm": None, "keep": False, "beyond": False, "points": points}


def make_app(bench: Bench) -> FastAPI:
    app = FastAPI()

    @app.middleware("http")
    async def guard(request: Request, follow: Any) -> Response:
        path = request.url.path
        if not path.startswith("/static"):
            bench.pages_asked.append(path)
        if not bench.let_in and not path.startswith("/static"):
            return HTMLResponse("not let in", 401)
        if (
            path.startswith("/api/")
            and request.method == "POST"
            and request.headers.get("x-csrf") != bench.csrf
        ):
            return JSONResponse({"error": {"what": "stale"}}, 403)
        if bench.slow_s and not path.startswith("/static"):
            await asyncio.sleep(bench.slow_s)
        answer: Response = await follow(request)
        answer.headers["content-security-policy"] = POLICY
        answer.headers.setdefault("cache-control", "no-store")
        return answer

    def page(title: str, body: str) -> HTMLResponse:
        return HTMLResponse(FRAME.format(csrf=bench.csrf, title=title, body=body))

    @app.get("/")
    def week() -> HTMLResponse:
        form = LINE_FORM.format(csrf=bench.csrf)
        return page("This week", f'{form}{TAPS}<a href="/trees/elm">Elm</a>')

    @app.get("/say")
    def say() -> HTMLResponse:
        return page("Say", LINE_FORM.format(csrf=bench.csrf) + "<div data-outbox-list></div>")

    @app.post("/say")
    async def say_plainly(request: Request) -> HTMLResponse:
        async with request.form() as form:
            bench.plain.append(str(form["text"]))
        return page("Say", "written the plain way")

    @app.get("/offline")
    def offline() -> HTMLResponse:
        return page("Not kept here", "<p>Go back to a page that is.</p>")

    @app.get("/unkept")
    def unkept() -> HTMLResponse:
        return page("Unkept", "")

    @app.get("/trees/elm")
    def tree() -> HTMLResponse:
        return page("Elm", LIST + LINE_FORM.format(csrf=bench.csrf) + TAPS)

    @app.get("/trees/elm/branches/{branch}")
    def card(branch: str, part: str = "") -> HTMLResponse:
        if part == "card":
            return HTMLResponse(f'<article class="branch-card">Why {branch}</article>')
        return page(f"Branch {branch}", "")

    @app.get("/marker/{kind}")
    def marker(kind: str, most: int = 1) -> HTMLResponse:
        names = {"point": ("x", "y"), "scale": ("x1", "y1", "x2", "y2")}[kind]
        fields = "".join(FIELD.format(name=name, most=most) for name in names)
        return page("Mark", MARKER.format(kind=kind, fields=fields))

    @app.get("/photo")
    def photo() -> HTMLResponse:
        return page("Photo", PHOTO_FORM.format(csrf=bench.csrf))

    @app.get("/chart")
    def chart() -> HTMLResponse:
        return page("Chart", '<figure data-chart="/chart.json"><img src="/picture.svg" '
                    'alt="Bases by year"></figure>')  # fmt: skip

    @app.get("/chart.json")
    def chart_data() -> dict[str, Any]:
        return {
            "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
            "width": 200,
            "height": 100,
            "data": {"values": [{"year": 1, "base": 4.0}, {"year": 2, "base": 6.5}]},
            "transform": [{"calculate": "datum.base * 2", "as": "double"}],
            "mark": "line",
            "encoding": {
                "x": {"field": "year", "type": "quantitative"},
                "y": {"field": "double", "type": "quantitative"},
            },
        }

    @app.get("/picture.svg")
    def picture() -> Response:
        text = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 30"></svg>'
        return Response(text, media_type="image/svg+xml")

    @app.get("/steps")
    def work() -> HTMLResponse:
        return page("Work", '<div data-progress-url="/steps/told"><progress max="1" value="0" '
                    'aria-label="Work"></progress><p data-progress-words></p></div>')  # fmt: skip

    @app.get("/steps/told")
    def told() -> StreamingResponse:
        steps = ({"share": 0.5, "words": "Half of it"}, {"share": 1, "done": True, "href": "/say"})

        async def say_it() -> Any:
            for step in steps:
                yield f"data: {json.dumps(step)}\n\n"
                await asyncio.sleep(0.4)

        return StreamingResponse(say_it(), media_type="text/event-stream")

    @app.get("/api/trees/elm/drawing")
    def drawing() -> dict[str, Any]:
        return tree_drawing(bench.pieces)

    @app.get("/api/completions")
    def completions(text: str = "") -> dict[str, list[str]]:
        words = ["wire on", "wire off", "will keep", "let run"]
        last = text.rpartition(" ")[2]
        return {"completions": [word for word in words if word.startswith(last)]}

    @app.get("/api/reading")
    def reading(text: str = "") -> dict[str, list[str]]:
        unread = ["blah"] if "blah" in text else []
        return {"receipts": [f"read: {text}"], "doubts": [], "unread": unread, "branches": ["b2"]}

    @app.post("/api/lines")
    async def lines(request: Request) -> Response:
        body = await request.json()
        if bench.fail_with:
            return JSONResponse({"error": {"what": "no", "todo": "Wait"}}, bench.fail_with)
        answers = [_answer(bench, line) for line in body["lines"]]
        if bench.lose_replies:
            bench.lose_replies -= 1
            return Response(content=b"{", headers={"content-type": "application/json"})
        return JSONResponse({"answers": answers})

    @app.post("/api/photos")
    async def photos(request: Request) -> Response:
        async with request.form() as form:
            told: dict[str, Any] = {k: v for k, v in form.items() if isinstance(v, str)}
            told["bytes"] = await form["file"].read()  # type: ignore[union-attr]
        if bench.refuse and told["bytes"].startswith(bench.refuse.encode()):
            return JSONResponse(
                {"error": {"what": "this is not a photo", "todo": "Send JPEG"}}, 422
            )
        bench.photos[told["id"]] = told
        return JSONResponse({"state": "stored"})

    @app.get("/sw.js")
    def worker() -> FileResponse:
        return FileResponse(DIST / "sw.js", media_type="text/javascript")

    app.mount("/static/dist", StaticFiles(directory=DIST))
    return app


def _answer(bench: Bench, line: dict[str, Any]) -> dict[str, Any]:
    key = line["id"]
    bench.seen.append(key)
    text = line.get("text", "")
    if bench.refuse and bench.refuse in text:
        return {"id": key, "state": "refused", "receipts": [], "doubts": [], "note": None,
                "error": {"what": f"{text} cannot be", "todo": "Say it otherwise"}}  # fmt: skip
    known = key in bench.written
    bench.written.setdefault(key, line)
    return {"id": key, "state": "known" if known else "stored", "receipts": [f"Written: {text}"],
            "doubts": [], "note": None, "error": None}  # fmt: skip


@contextmanager
def serving(bench: Bench, port: int = 0) -> Iterator[Bench]:
    """Serve on this machine alone, for as long as the block runs."""
    held = socket.socket()
    held.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    held.bind(("127.0.0.1", port))
    config = uvicorn.Config(
        make_app(bench), log_level="warning", ws="none", timeout_graceful_shutdown=1
    )
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [held]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    bench.address = f"http://127.0.0.1:{held.getsockname()[1]}"
    try:
        yield bench
    finally:
        server.should_exit = True
        thread.join(10)
        held.close()

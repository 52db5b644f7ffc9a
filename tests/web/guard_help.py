"""A small app behind the guard, a keeper with a clock that tests move, and clients of each kind."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import FastAPI, File, Form, Request, UploadFile
from fastapi.responses import HTMLResponse, JSONResponse, PlainTextResponse
from fastapi.staticfiles import StaticFiles
from jinja2 import ChoiceLoader, DictLoader, Environment, FileSystemLoader, StrictUndefined
from starlette.testclient import TestClient

from boughwright.errors import UnknownNameError
from boughwright.usecases.devices import Doorkeeper
from boughwright.web.guard import GuardOptions, Listening, install_errors, install_guard
from boughwright.web.pages.devices import router
from boughwright.web.speech import Speaker
from boughwright.web.state import bench as bench_of

if TYPE_CHECKING:
    from collections.abc import Callable

PORT = 8170
LAPTOP = "192.168.1.50"
PHONE = "192.168.1.77"
TEMPLATES = Path(__file__).parents[2] / "src" / "boughwright" / "web" / "templates"
START = datetime(2026, 6, 9, 10, 0, tzinfo=UTC)


@dataclass
class Clock:
    """A wall clock and a monotone one that tests move together."""

    now: datetime = START

    def __call__(self) -> datetime:
        return self.now

    def monotone(self) -> float:
        return (self.now - START).total_seconds()

    def wait(self, **span: float) -> None:
        self.now += timedelta(**span)


class StubBench:
    """Draws pages with a bare frame, so that the devices' pages are tried without a book."""

    frame = (
        "<title>{% block title %}{% endblock %}</title><main>{% block main %}{% endblock %}</main>"
    )

    def __init__(self) -> None:
        self._env = Environment(
            loader=ChoiceLoader(
                [DictLoader({"base.html": self.frame}), FileSystemLoader(TEMPLATES)]
            ),
            autoescape=True,
            undefined=StrictUndefined,
        )

    def render(self, request: Request, name: str, /, *, status: int = 200, **context: Any) -> Any:
        words = Speaker()
        page = self._env.get_template(name).render(
            t=words.t, say=words.say, csrf=request.state.csrf, **context
        )
        return HTMLResponse(page, status)


@dataclass
class Place:
    """The app, its keeper and the clock, with what the app was made to do."""

    app: FastAPI
    keeper: Doorkeeper
    clock: Clock
    done: list[Any] = field(default_factory=list)

    def here(self, **headers: str) -> TestClient:
        """Return a browser on the computer itself."""
        return client(self.app, f"http://127.0.0.1:{PORT}", "127.0.0.1", headers)

    def away(self, address: str = PHONE, host: str = LAPTOP, **headers: str) -> TestClient:
        """Return a browser on another device."""
        return client(self.app, f"http://{host}:{PORT}", address, headers)


def client(app: Any, base: str, address: str, headers: dict[str, str]) -> TestClient:
    """Return a client that asks from an address."""
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return TestClient(
        app,
        base_url=base,
        client=(address, 50_000),
        headers=named,
        follow_redirects=False,
        raise_server_exceptions=False,
    )


def make_place(folder: Path, *, lan: bool = True, **changes: Any) -> Place:
    """Return a small app behind the guard."""
    clock = Clock()
    keeper = Doorkeeper(folder / "garden.book", clock)
    options = GuardOptions(
        keeper,
        (Listening("http", PORT, lan=lan),),
        **{
            "names": ("laptop.local",),
            "addresses": lambda: (LAPTOP,),
            "monotone": clock.monotone,
            **changes,
        },
    )
    app = FastAPI()
    place = Place(app, keeper, clock)
    _add_pages(app, place.done, folder)
    install_errors(app, _error_page)
    install_guard(app, options)
    return place


def _error_page(_request: Request, status: int, what: str, todo: str) -> HTMLResponse:
    return HTMLResponse(f"<h1>{what}</h1><p>{todo}</p>", status)


def _add_pages(app: FastAPI, done: list[Any], folder: Path) -> None:
    stub = StubBench()
    app.dependency_overrides[bench_of] = lambda: stub
    app.include_router(router)

    @app.get("/")
    def week(request: Request) -> HTMLResponse:
        return HTMLResponse(f'<input name="csrf" value="{request.state.csrf}">')

    @app.post("/say")
    def say(text: Annotated[str, Form()]) -> PlainTextResponse:
        done.append(text)
        return PlainTextResponse("written")

    @app.post("/api/lines")
    async def lines(request: Request) -> JSONResponse:
        body = await request.body()
        done.append(len(body))
        return JSONResponse({"bytes": len(body)})

    @app.post("/trees/{tree}/photos")
    def photo(
        tree: str, file: Annotated[UploadFile, File()], side: Annotated[str, Form()] = "front"
    ) -> JSONResponse:
        data = file.file.read()
        done.append((tree, side, len(data)))
        return JSONResponse({"bytes": len(data)})

    @app.get("/api/count/{number}")
    def count(number: int) -> dict[str, int]:
        return {"number": number}

    @app.get("/trees/{tree}")
    def tree(tree: str) -> HTMLResponse:
        raise UnknownNameError(f"no tree {tree!r}", where="trees", allowed="a tree", todo="Look")

    @app.get("/fails")
    def fails() -> None:
        raise RuntimeError("secret inside")

    @app.get("/breaks")
    def breaks() -> PlainTextResponse:
        return PlainTextResponse("x", headers={"X-Name": "a\r\nSet-Cookie: b=c"})

    @app.get("/charts/base.svg")
    def chart() -> PlainTextResponse:
        return PlainTextResponse("<svg/>", headers={"Cache-Control": "private, no-cache"})

    built = folder / "dist"
    built.mkdir(exist_ok=True)
    (built / "app.css").write_text("main{}", "utf-8")
    (folder / "secret.txt").write_text("not for you", "utf-8")
    app.mount("/static/dist", StaticFiles(directory=built))


TOKEN = re.compile(r'name="csrf" value="([^"]+)"')


def token_on(page: str) -> str:
    """Return the token of a page's first form."""
    found = TOKEN.search(page)
    assert found is not None, page
    return found[1]


def pair(place: Place, phone: TestClient, name: str = "phone") -> None:
    """Pair a device by the link's token."""
    invitation = place.keeper.invite()
    csrf = token_on(phone.get("/pair").text)
    answer = phone.post("/pair", data={"csrf": csrf, "token": invitation.token, "name": name})
    assert answer.status_code == 303, answer.text


def chunked(pieces: int, size: int, read: list[int]) -> Callable[[], Any]:
    """Return a body without a length, counting what was asked of it."""

    def body() -> Any:
        for _ in range(pieces):
            read.append(size)
            yield b"x" * size

    return body

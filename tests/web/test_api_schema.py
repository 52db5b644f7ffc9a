"""The JSON addresses against their own OpenAPI document, by generated requests, good and bad.

The generator is Schemathesis: it reads the document and draws requests that keep it and requests
that break it. Every answer must be one that the document names, with the keys it names, and never a
failure of the server. What is drawn is the same in every run.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
import schemathesis
from demo_app import PORT, app_of, copy_of
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis import GenerationMode
from schemathesis.specs.openapi import checks

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi import FastAPI
    from schemathesis.schemas import BaseSchema

EXAMPLES = 40
"""Requests drawn for each address and kind."""
REAL = {
    "tree": ("ditch-field-maple", "tall beech", "Gate hornbeam", "maple"),
    "branch": ("1L", "4R", "apex", "trunk"),
    "place": ("1L", "2R", "all"),
    "phrase": ("leaf full", "2R cut to pair 1", "repot hard", "1L wire on 2 al", "feed full"),
    "name": ("beech", "japanese maple", "Acer"),
    "of": ("tree", "branch", "garden"),
    "typed": ("map", "bech"),
    "text": ("2R cut", "feed", "1L wire on 2 ", "ok"),
    "on": ("2026-06-09", "2026-06-10"),
    "moment": ("2026-06-09T18:30:00+02:00", "2026-06-08T06:00:00Z"),
}
"""Words that mean something in the demonstration garden."""
NEED_A_PICTURE = {"/api/photos", "/api/trees/{tree}/photos/pair"}
"""Answer well only with a picture at hand; the tests of photos bring some."""
HELD_TO = [
    schemathesis.checks.not_a_server_error,
    checks.status_code_conformance,
    checks.content_type_conformance,
    checks.response_headers_conformance,
    checks.response_schema_conformance,
    checks.negative_data_rejection,
    checks.unsupported_method,
]


class AtTheComputer:
    """The app as the computer's own browser asks it: from loopback, with a token."""

    def __init__(self, app: FastAPI) -> None:
        self.app = app
        self.token = app.state.seats.token("owner").encode()

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        if scope["type"] == "http":
            own = {b"host", b"x-csrf", b"origin", b"sec-fetch-site"}
            scope = scope | {
                "client": ("127.0.0.1", 50_000),
                "server": ("127.0.0.1", PORT),
                "scheme": "http",
                "headers": [
                    *((name, value) for name, value in scope["headers"] if name not in own),
                    (b"host", f"127.0.0.1:{PORT}".encode()),
                    (b"x-csrf", self.token),
                ],
            }
        await self.app(scope, receive, send)


@pytest.fixture(scope="module")
def document(demo_book: Path, tmp_path_factory: pytest.TempPathFactory) -> BaseSchema:
    """Return the app's document, tied to the app on a copy of the demonstration garden."""
    app = app_of(copy_of(demo_book, tmp_path_factory.mktemp("schema")))
    return schemathesis.openapi.from_asgi("/api/openapi.json", AtTheComputer(app))


def labels() -> list[str]:
    """Return every address of the API with its method."""
    from importlib import import_module

    from boughwright.web.app import ANSWERS

    found = []
    for name in ANSWERS:
        for route in import_module(f"boughwright.web.api.{name}").router.routes:
            found += [f"{method} /api{route.path}" for method in route.methods]
    return found


@pytest.mark.parametrize("mode", list(GenerationMode), ids=lambda mode: mode.value)
@pytest.mark.parametrize("label", labels())
def test_generated_requests_are_answered_as_the_document_says(
    document: BaseSchema, label: str, mode: GenerationMode
) -> None:
    method, path = label.split(" ")
    operation = document[path][method]
    keeps = mode is GenerationMode.POSITIVE
    if not keeps and not takes_something(operation):
        return
    seen: set[int] = set()

    @settings(
        max_examples=EXAMPLES,
        phases=[Phase.generate],
        derandomize=True,
        database=None,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(operation.as_strategy(generation_mode=mode), real_words() if keeps else st.just({}))
    def asked(case: schemathesis.Case, words: dict[str, str]) -> None:
        for part in (case.path_parameters, case.query):
            part.update({name: word for name, word in words.items() if name in part})
        if keeps and "moment" in words:
            give_moments(case.body, words["moment"])
        answer = case.call()
        seen.add(answer.status_code)
        case.validate_response(answer, checks=HELD_TO)

    asked()
    if keeps and path not in NEED_A_PICTURE:
        assert 200 in seen


def takes_something(operation: Any) -> bool:
    """Tell whether a request can break the document at all: what takes nothing cannot."""
    taken = (operation.path_parameters, operation.query, operation.body)
    return any(len(list(part)) for part in taken)


def real_words() -> st.SearchStrategy[dict[str, str]]:
    """Return words of the demonstration garden for all parameters, for some, or for none."""
    words = {name: st.sampled_from(known) for name, known in REAL.items()}
    return st.fixed_dictionaries(words) | st.fixed_dictionaries({}, optional=words)


def give_moments(body: Any, moment: str) -> None:
    """Put a moment into a body of lines: no text drawn at random is one."""
    if isinstance(body, dict) and {"sent", "lines"} <= set(body):
        body["sent"] = moment
        for line in body["lines"]:
            line["said"] = moment

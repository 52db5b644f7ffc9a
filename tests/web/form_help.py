"""Forms used as a browser without JavaScript uses them: read from the page, changed, sent."""

from __future__ import annotations

import shutil
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import TYPE_CHECKING, Any

from page_checks import browser_on, in_german

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi.testclient import TestClient


@dataclass
class PageForm:
    """One form of a page: what it would send as it stands, and how it is made."""

    action: str
    method: str
    values: dict[str, str] = field(default_factory=dict)
    required: list[str] = field(default_factory=list)
    labels: set[str] = field(default_factory=set)
    ids: dict[str, str] = field(default_factory=dict)
    described: dict[str, str] = field(default_factory=dict)
    invalid: set[str] = field(default_factory=set)
    choices: dict[str, list[str]] = field(default_factory=dict)


class _Forms(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.forms: list[PageForm] = []
        self._form: PageForm | None = None
        self._select = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "form":
            self._form = PageForm(given.get("action", ""), given.get("method", "get"))
            self.forms.append(self._form)
        if self._form is None:
            return
        name = given.get("name", "")
        if tag == "label" and "for" in given:
            self._form.labels.add(given["for"])
        if tag in ("input", "select"):
            self._control(self._form, name, given)
        if tag == "select":
            self._select = name
            self._form.values.setdefault(name, "")
        if tag == "option" and self._select:
            self._form.choices.setdefault(self._select, []).append(given.get("value", ""))
            if "selected" in given:
                self._form.values[self._select] = given.get("value", "")

    def _control(self, form: PageForm, name: str, given: dict[str, str]) -> None:
        if given.get("type") in ("radio", "checkbox"):
            form.choices.setdefault(name, []).append(given.get("value", ""))
            if "checked" in given:
                form.values[name] = given.get("value", "")
        elif given.get("type") != "file" and "value" in given:
            form.values[name] = given["value"]
        if given.get("type") != "hidden":
            form.ids[name] = given.get("id", "")
        if "required" in given and name not in form.required:
            form.required.append(name)
        if "aria-invalid" in given:
            form.invalid.add(name)
        if "aria-describedby" in given:
            form.described[name] = given["aria-describedby"]

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._form = None
        if tag == "select":
            self._select = ""


def forms_of(page: str) -> list[PageForm]:
    """Return every form of a page."""
    reader = _Forms()
    reader.feed(page)
    return reader.forms


def form_on(page: str, action: str) -> PageForm:
    """Return the one form of a page that is sent to an address."""
    found = [form for form in forms_of(page) if form.action == action]
    assert len(found) == 1, (action, [form.action for form in forms_of(page)])
    return found[0]


def fill_in(
    client: TestClient, path: str, changes: dict[str, str], *, action: str = "", **more: Any
) -> Any:
    """Open a page, change fields of its form, send it, and return the answer."""
    shown = client.get(path)
    assert shown.status_code == 200, (path, shown.status_code)
    form = form_on(shown.text, action or path.partition("?")[0])
    unknown = set(changes) - set(form.values) - set(form.ids)
    assert not unknown, f"{path} has no field {unknown}"
    return client.post(form.action, data=form.values | changes, **more)


def assert_well_made(page: str) -> None:
    """Hold every control of every form to a label, and every fault to the field it is about."""
    for form in forms_of(page):
        for name, id_ in form.ids.items():
            kinds = form.choices.get(name)
            assert kinds or id_ in form.labels, f"{name} of {form.action} has no label"
        for name in form.invalid:
            told = form.described.get(name, "")
            assert any(f'id="{one}"' in page for one in told.split() if "fault" in one), name


def german_copy(book: Path, folder: Path) -> TestClient:
    """Return a browser on a copy of a book that is read in German, its first day worked out."""
    for part in book.parent.glob(f"{book.name}*"):
        if part.is_file():
            shutil.copy(part, folder / part.name)
    in_german(folder / book.name)
    client = browser_on(folder / book.name)
    bench = client.app.state.bench  # type: ignore[attr-defined]
    bench.kept.day()
    bench.warm = True
    return client

"""Copies out, tables out and in, and zips that must not be believed."""

from __future__ import annotations

import io
import stat
import threading
import zipfile
from typing import TYPE_CHECKING, Any

import pytest
from form_help import assert_well_made, form_on, german_copy
from page_checks import assert_clean, first_sentence, text_of
from page_checks import browser_on as new_browser

from boughwright.errors import FileError
from boughwright.usecases import folder_zip
from boughwright.usecases.day import open_day
from boughwright.usecases.folder_zip import pack, unpack
from boughwright.usecases.keep import put_back
from boughwright.usecases.sheet import sheet, sheet_shape
from boughwright.web.speech_core import untold

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi.testclient import TestClient


def zipped(files: dict[str, bytes]) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, data in files.items():
            packed.writestr(name, data)
    return made.getvalue()


def bring(client: TestClient, data: bytes, name: str = "garden.zip") -> Any:
    form = form_on(client.get("/keep").text, "/keep/folder")
    answer = client.post(form.action, data=form.values, files={"file": (name, data)})
    if answer.status_code != 303:
        return answer
    for _ in range(400):
        page = client.get(answer.headers["location"])
        if "data-progress-url" not in page.text:
            return page
        threading.Event().wait(0.05)
    raise AssertionError("the work did not end")


def test_the_page_is_well_made_and_explains_the_way_back(reader: TestClient) -> None:
    page = reader.get("/keep").text
    assert_clean(page)
    assert_well_made(page)
    assert first_sentence(page)
    told = text_of(page)
    assert "restore FILE --force" in told
    assert str(reader.app.state.bench.book) in told  # type: ignore[attr-defined]


def test_the_copy_holds_the_whole_garden(reader: TestClient, tmp_path: Path) -> None:
    answer = reader.get("/keep/copy")
    assert answer.status_code == 200
    assert 'filename="garden-2026-06-09.book"' in answer.headers["content-disposition"]
    (tmp_path / "copy.book").write_bytes(answer.content)
    held, kept = put_back(tmp_path / "copy.book", tmp_path / "again.book")
    assert kept is None
    assert str(held.events) == answer.headers["x-held-records"]
    book = reader.app.state.bench.book  # type: ignore[attr-defined]
    for day in open_day(book).trees:
        name = day.facts.name
        assert sheet_shape(sheet(tmp_path / "again.book", name)) == sheet_shape(sheet(book, name))


def test_the_tables_come_out_and_in_and_give_the_same_garden(
    reader: TestClient, tmp_path: Path
) -> None:
    answer = reader.get("/keep/folder.zip")
    assert answer.status_code == 200
    empty = new_browser(tmp_path / "new.book")
    page = bring(empty, answer.content)
    assert page.status_code == 200, text_of(page.text)
    assert_clean(page.text)
    assert "records came in" in first_sentence(page.text)
    book = reader.app.state.bench.book  # type: ignore[attr-defined]
    for day in open_day(book).trees:
        name = day.facts.name
        assert sheet_shape(sheet(tmp_path / "new.book", name)) == sheet_shape(sheet(book, name))
    again = bring(empty, answer.content)
    assert first_sentence(again.text) == "Everything in it was here already"


def test_a_bad_row_is_left_out_and_listed(client: TestClient) -> None:
    trees = b"tree,name,species,height_mm\nx,Shed elm,Ulmus minor,300\ny,Bad,Ulmus minor,tall\n"
    garden = b'format = "boughwright garden folder"\nversion = 1\n'
    page = bring(client, zipped({"g/garden.toml": garden, "g/trees.csv": trees}))
    assert page.status_code == 200, text_of(page.text)
    assert_clean(page.text)
    told = text_of(page.text)
    assert "Row 3" in told
    assert "'tall' is not a length" in told
    names = {day.facts.name for day in client.app.state.bench.kept.day().trees}  # type: ignore[attr-defined]
    assert "Shed elm" in names


# --- zips that must not be believed ---------------------------------------------------------------


def entry(name: str, mode: int = 0o644) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name)
    info.external_attr = mode << 16
    return info


def one_file(info: zipfile.ZipInfo, data: bytes = b"x") -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as packed:
        packed.writestr("trees.csv", "tree,name\na,A\n")
        packed.writestr(info, data)
    return made.getvalue()


@pytest.mark.parametrize(
    "name", ["../trees.csv", "a/../../x.csv", "/etc/passwd", "C:\\x.csv", "..\\..\\x.csv",
             "weather/../../x.csv", "\\\\host\\share"],
)  # fmt: skip
def test_a_name_that_leads_out_is_refused(tmp_path: Path, name: str) -> None:
    (tmp_path / "z.zip").write_bytes(one_file(entry(name)))
    with pytest.raises(FileError, match="holds the name"):
        unpack(tmp_path / "z.zip", tmp_path / "in" / "garden")
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["z.zip"]


def test_a_link_in_a_zip_is_refused(tmp_path: Path) -> None:
    (tmp_path / "z.zip").write_bytes(
        one_file(entry("weather/w.csv", stat.S_IFLNK | 0o777), b"/etc/passwd")
    )
    with pytest.raises(FileError, match="holds the name"):
        unpack(tmp_path / "z.zip", tmp_path / "garden")


def test_only_files_of_a_garden_folder_are_unpacked_under_our_names(tmp_path: Path) -> None:
    files = {
        "my garden/trees.csv": b"tree,name\na,A\n",
        "my garden/weather/w e%2F..%2Fx.csv": b"date,t_min_c\n",
        "my garden/weather/evil.sh": b"x",
        "my garden/run.exe": b"x",
        "my garden/sub/trees.csv": b"x",
        "__MACOSX/my garden/trees.csv": b"x",
    }
    (tmp_path / "z.zip").write_bytes(zipped(files))
    made = unpack(tmp_path / "z.zip", tmp_path / "garden")
    names = {path.relative_to(tmp_path / "garden").as_posix() for path in made}
    # The station is called "w e/../x"; its file name is quoted, so that it stays one name.
    assert names == {"trees.csv", "weather/w e%2F..%2Fx.csv"}
    assert all(path.resolve().is_relative_to(tmp_path / "garden") for path in made)


def test_a_bomb_is_refused_by_what_it_says_and_by_what_it_does(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bomb = zipped({"records.csv": b"\0" * 30_000_000})
    assert len(bomb) < 60_000
    (tmp_path / "z.zip").write_bytes(bomb)
    with pytest.raises(FileError, match="too large when it is unpacked"):
        unpack(tmp_path / "z.zip", tmp_path / "one")
    monkeypatch.setattr(folder_zip, "MOST_BYTES", 900)
    (tmp_path / "z.zip").write_bytes(zipped({"records.csv": bytes(range(256)) * 4}))
    with pytest.raises(FileError, match="too large when it is unpacked"):
        unpack(tmp_path / "z.zip", tmp_path / "two")
    monkeypatch.setattr(folder_zip, "MOST_FILES", 3)
    (tmp_path / "z.zip").write_bytes(zipped({f"{n}.txt": b"" for n in range(4)}))
    with pytest.raises(FileError, match="4 files"):
        unpack(tmp_path / "z.zip", tmp_path / "three")


def test_a_size_that_is_lied_about_does_not_get_through(tmp_path: Path) -> None:
    data = bytearray(zipped({"records.csv": b"a,b\n" * 4000}))
    size = (16_000).to_bytes(4, "little")
    assert data.count(size) == 2  # in the file's own head and in the list at the end
    data = data.replace(size, (10).to_bytes(4, "little"))
    (tmp_path / "z.zip").write_bytes(bytes(data))
    with pytest.raises(FileError):
        unpack(tmp_path / "z.zip", tmp_path / "garden")


@pytest.mark.parametrize(
    "data", [b"", b"hello", b"PK\x03\x04", zipped({}), zipped({"notes.txt": b"x"}),
             zipped({"trees.csv": b"x"})[:-30]],
)  # fmt: skip
def test_what_is_no_garden_zip_is_refused_in_plain_words(client: TestClient, data: bytes) -> None:
    before = client.app.state.bench.kept.day()  # type: ignore[attr-defined]
    page = bring(client, data, "../../<b>x</b>.zip")
    assert page.status_code == 422
    assert_clean(page.text)
    assert "boughwright-" not in page.text
    assert client.app.state.bench.kept.day() is before  # type: ignore[attr-defined]


def test_a_zip_with_a_file_twice_is_refused(tmp_path: Path) -> None:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as packed:
        packed.writestr("trees.csv", "a")
        with pytest.warns(UserWarning, match="Duplicate"):
            packed.writestr("trees.csv", "b")
    (tmp_path / "z.zip").write_bytes(made.getvalue())
    with pytest.raises(FileError, match="twice"):
        unpack(tmp_path / "z.zip", tmp_path / "garden")


def test_a_locked_zip_is_refused(tmp_path: Path, demo_book: Path) -> None:
    path = pack(demo_book, tmp_path / "z.zip")
    data = bytearray(path.read_bytes())
    with zipfile.ZipFile(path) as packed:
        heads = [one.header_offset for one in packed.infolist()]
    at = data.index(b"PK\x01\x02")
    for head in heads:
        data[head + 6] |= 1  # the flag of a locked file, in its own head
    data[at + 8] |= 1  # and in the list at the end
    path.write_bytes(bytes(data))
    with pytest.raises(FileError, match="locked"):
        unpack(path, tmp_path / "garden")


def test_the_page_speaks_german(demo_book: Path, tmp_path: Path) -> None:
    german = german_copy(demo_book, tmp_path)
    untold.clear()
    data = german.get("/keep/folder.zip").content
    for page in (german.get("/keep"), bring(german, data), bring(german, b"no zip"),
                 bring(german, zipped({"notes.txt": b"x"}))):  # fmt: skip
        assert_clean(page.text)
        assert "<span lang=en>" not in page.text
    assert not untold

"""Keep the garden safe: a checked copy, the garden as plain tables, and the way back."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Depends, File, Request, UploadFile
from fastapi.responses import FileResponse, HTMLResponse, Response
from starlette.background import BackgroundTask

from boughwright.errors import FileError
from boughwright.usecases.folder_zip import load_zip, pack
from boughwright.usecases.keep import copy_to_hand_out
from boughwright.web.forms import see
from boughwright.web.guard import visitor_of
from boughwright.web.pages.places import keep_upload, look_again
from boughwright.web.state import Bench, bench
from boughwright.web.works import MIDDLE, works_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from boughwright.usecases.folder import FolderTaken

router = APIRouter(prefix="/keep")
AtBench = Annotated[Bench, Depends(bench)]


@router.get("")
def show_keep(request: Request, bench: AtBench) -> HTMLResponse:
    """Show the ways to keep a copy, and the way back."""
    owner = visitor_of(request).owner
    return bench.render(
        request, "keep/page.html", owner=owner, book=str(bench.book) if owner else ""
    )


@router.get("/copy")
def save_copy(bench: AtBench) -> Response:
    """Send a copy of the book that was read back and counted."""
    if not bench.has_book:
        return see("/start")
    folder = Path(tempfile.mkdtemp(prefix="boughwright-"))
    try:
        held, copy = copy_to_hand_out(bench.book, folder, f"garden-{bench.today.isoformat()}")
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    answer = _sent(copy, folder)
    answer.headers["X-Held-Records"] = str(held.events)
    return answer


@router.get("/folder.zip")
def save_folder(bench: AtBench) -> Response:
    """Send the whole garden as plain tables."""
    if not bench.has_book:
        return see("/start")
    folder = Path(tempfile.mkdtemp(prefix="boughwright-"))
    try:
        packed = pack(bench.book, folder / f"garden-tables-{bench.today.isoformat()}.zip")
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    return _sent(packed, folder)


def _sent(file: Path, folder: Path) -> FileResponse:
    """Send a file piece by piece, and clear it away after."""
    return FileResponse(
        file,
        media_type="application/octet-stream",
        filename=file.name,
        headers={"Cache-Control": "no-store"},
        background=BackgroundTask(shutil.rmtree, folder, ignore_errors=True),
    )


@router.post("/folder")
def take_folder(
    request: Request, bench: AtBench, file: Annotated[UploadFile | None, File()] = None
) -> Response:
    """Take a zipped garden folder; what the book holds already counts once."""
    if file is None or not file.size:
        raise FileError("no file was chosen", allowed="a zip of a garden folder",
                        todo="Go back and choose it")  # fmt: skip
    folder = Path(tempfile.mkdtemp(prefix="boughwright-"))
    kept = keep_upload(file, folder / "garden.zip")
    settings, today = bench.settings, bench.today

    def job(told: Callable[[float], None]) -> FolderTaken:
        try:
            taken = load_zip(
                bench.book, kept, units=settings.units, who=settings.who, on=today,
                progress=lambda share: told(MIDDLE * share),
            )  # fmt: skip
        finally:
            shutil.rmtree(folder, ignore_errors=True)
        look_again(bench, told)
        return taken

    work = works_of(request).start("folder", job)
    work.wait()
    return see(f"/works/{work.id}")

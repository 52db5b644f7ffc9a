"""Lines of a text file, whatever its size or encoding, a few at a time."""

from __future__ import annotations

import codecs
import gzip
import io
import zlib
from contextlib import contextmanager
from typing import TYPE_CHECKING, BinaryIO, cast

from boughwright.errors import FileError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

MAX_BYTES = 200_000_000
"""The largest file that is read, once unpacked."""

MAX_LINE = 20_000
"""The longest row, in characters."""

_PIECE = 1 << 20
_GZIP = b"\x1f\x8b"
# Codes that Windows-1252 leaves without a letter: where they occur, it is not that encoding.
_NOT_CP1252 = bytes((0x81, 0x8D, 0x8F, 0x90, 0x9D))
_KINDS = {
    b"PK\x03\x04": "a spreadsheet or a zip folder",
    b"\xd0\xcf\x11\xe0": "an old spreadsheet",
    b"%PDF": "a PDF",
    b"SQLite format 3": "a database",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a photo",
}
_MARKS = (
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_SAVE = "Save it as CSV in UTF-8"


@contextmanager
def _opened(path: Path) -> Iterator[BinaryIO]:
    """Open a file, unpacking gzip, and tell every fault of the disk in our words."""
    try:
        with path.open("rb") as plain:
            packed = plain.read(2) == _GZIP
            plain.seek(0)
            if packed:
                with gzip.open(plain) as unpacked:
                    yield cast("BinaryIO", unpacked)
            else:
                yield plain
    except FileNotFoundError as error:
        raise FileError("there is no such file", where=str(path), todo="Check the name") from error
    except (IsADirectoryError, PermissionError) as error:
        raise FileError("this cannot be read as a file", where=str(path),
                        todo="Name a file that you may read") from error  # fmt: skip
    except (gzip.BadGzipFile, zlib.error, EOFError) as error:
        raise FileError("the packed file is damaged or cut short", where=str(path),
                        todo="Fetch it again") from error  # fmt: skip
    except OSError as error:
        raise FileError(f"the disk refuses: {error.strerror or error}", where=str(path),
                        todo="Copy the file to another disk and try again") from error  # fmt: skip


def encoding_of(path: Path) -> tuple[str, list[str]]:
    """Find a file's encoding by reading it through once.

    Returns
    -------
    str
        ``utf-8``, ``utf-8-sig``, ``utf-16`` (with its mark) or ``cp1252``.
    list of str
        A note when it had to be guessed.

    Raises
    ------
    FileError
        When it is missing, empty, too large, not text or in another encoding.
    """
    with _opened(path) as file:
        head = file.read(_PIECE)
        if not head.strip():
            raise FileError("the file is empty", where=str(path),
                            allowed="a header and one row a day",
                            todo="Save it again, or name another file")  # fmt: skip
        marked = next((name for mark, name in _MARKS if head.startswith(mark)), "")
        if marked == "utf-32":
            raise FileError("the file is in UTF-32", where=str(path), allowed="UTF-8 or UTF-16",
                            todo=_SAVE)  # fmt: skip
        kind = next((what for start, what in _KINDS.items() if head.startswith(start)), "")
        if kind or (b"\x00" in head and marked != "utf-16"):
            raise FileError(f"this is {kind or 'not text'}", where=str(path),
                            allowed="CSV text in UTF-8, or UTF-16 with its mark", todo=_SAVE,
                            )  # fmt: skip
        utf8, cp1252 = _read_through(path, file, head, marked)
    if marked == "utf-16" or utf8:
        return marked or "utf-8", []
    if cp1252 and not marked:
        return "cp1252", ["The file is not in UTF-8; it was read as Windows Western (cp1252)"]
    raise FileError("the encoding of the file is not known", where=str(path),
                    allowed="UTF-8, UTF-16 with its mark, or Windows Western (cp1252)", todo=_SAVE,
                    )  # fmt: skip


def _read_through(path: Path, file: BinaryIO, head: bytes, marked: str) -> tuple[bool, bool]:
    """Tell whether a whole file can be UTF-8 and Windows-1252, holding one piece at a time."""
    decoder = codecs.getincrementaldecoder("utf-8")()
    utf8, cp1252, size, piece = True, True, 0, head
    while piece:
        size += len(piece)
        if size > MAX_BYTES:
            raise FileError(f"the file is larger than {MAX_BYTES // 1_000_000} MB",
                            where=str(path), allowed=f"up to {MAX_BYTES // 1_000_000} MB",
                            todo="Cut it into files of some years, or of one station",
                            )  # fmt: skip
        if marked != "utf-16":
            cp1252 = cp1252 and not any(code in piece for code in _NOT_CP1252)
            try:
                utf8 = utf8 and decoder.decode(piece) is not None
            except UnicodeDecodeError:
                utf8 = False
        piece = file.read(_PIECE)
    # A last letter cut in half by the end of the file shows only here.
    if utf8 and marked != "utf-16":
        try:
            decoder.decode(b"", final=True)
        except UnicodeDecodeError:
            utf8 = False
    return utf8, cp1252


def text_lines(path: Path, encoding: str) -> Iterator[str]:
    """Give the lines of a file one by one, with their line ends.

    Raises
    ------
    FileError
        When a line is too long to be a row, or not text.
    """
    with _opened(path) as file:
        text = io.TextIOWrapper(file, encoding=encoding)
        number = 0
        try:
            while line := text.readline(MAX_LINE + 1):
                number += 1
                if len(line) > MAX_LINE or "\x00" in line:
                    fault = "is not text" if "\x00" in line else "is too long for a row"
                    raise FileError(f"line {number} {fault}", where=f"{path.name}, row {number}",
                                    allowed=f"text of up to {MAX_LINE} letters a row", todo=_SAVE,
                                    )  # fmt: skip
                yield line
        except UnicodeError as error:
            raise FileError("the text breaks off or is damaged",
                            where=f"{path.name}, row {number + 1}",
                            todo=_SAVE) from error  # fmt: skip
        finally:
            text.detach()

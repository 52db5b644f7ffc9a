"""Pictures from a camera: judged, turned upright, stripped of all but what they show.

A picture comes from anywhere and may be anything. Its kind is told by its first bytes, never by
its name; its size is read from its head before a pixel is unpacked. What is kept is drawn anew, so
nothing of the file that came goes with it: no place, no maker, no owner, no hidden preview. Only
the day it was taken is handed on.
"""

from __future__ import annotations

import hashlib
import io
import struct
import warnings
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, BinaryIO

from PIL import Image, ImageCms, ImageFile, JpegImagePlugin, PngImagePlugin, WebPImagePlugin
from PIL.Image import Resampling, Transpose

from boughwright.errors import FileError

if TYPE_CHECKING:
    from collections.abc import Callable

MAX_BYTES = 40_000_000
"""Largest file taken. [B]"""
MAX_PIXELS = 60_000_000
"""Most pixels that are unpacked. [px]"""
MIN_SIDE_PX = 64
"""A smaller picture shows no tree. [px]"""
MAX_STRETCH = 12
"""Longest side over the shortest; a sweep of a whole bench is about 8."""
MAX_PIXELS_PER_BYTE = 400
"""Pixels that one byte of a photo may stand for: sharp ones hold under 20, a bomb thousands."""
SMALL_PIXELS = 4_000_000
"""A picture up to this size is unpacked however well it was packed. [px]"""
KEPT_SIDE_PX = 3000
"""Longest side of the picture that is kept. [px]"""
KEPT_QUALITY = 88
THUMB_SIDES_PX = (320, 1200)
"""Longest sides of the small copies. [px]"""
THUMB_QUALITY = 80
EARLIEST = date(1990, 1, 1)
"""Cameras write no day before this: an earlier one is a clock that was never set. From memory."""

_ALLOWED = "JPEG, PNG or WebP"
_HEAD = 32
_PAPER = (255, 255, 255)
_FAULTS = (
    OSError, SyntaxError, ValueError, TypeError, KeyError, IndexError, EOFError, MemoryError,
    OverflowError, ZeroDivisionError, AttributeError, struct.error,
)  # fmt: skip
"""What a broken or hostile file makes a decoder raise."""

_OPENERS: dict[bytes, Callable[[BinaryIO], ImageFile.ImageFile]] = {
    b"\xff\xd8\xff": JpegImagePlugin.JpegImageFile,
    b"\x89PNG\r\n\x1a\n": PngImagePlugin.PngImageFile,
    b"RIFF": WebPImagePlugin.WebPImageFile,
}
"""The only decoders that ever see a file, by its first bytes."""

_AVERAGED = frozenset({"L", "LA", "RGB", "RGBA", "CMYK"})
_UPRIGHT = {
    2: Transpose.FLIP_LEFT_RIGHT,
    3: Transpose.ROTATE_180,
    4: Transpose.FLIP_TOP_BOTTOM,
    5: Transpose.TRANSPOSE,
    6: Transpose.ROTATE_270,
    7: Transpose.TRANSVERSE,
    8: Transpose.ROTATE_90,
}
"""What turns a picture of each Exif orientation upright."""

_ORIENTATION, _TIMES, _CHANGED, _TAKEN, _STORED = 0x0112, 0x8769, 0x0132, 0x9003, 0x9004


@dataclass(frozen=True, slots=True)
class CleanPhoto:
    """A picture as it is kept.

    Parameters
    ----------
    data : bytes
        JPEG in sRGB, upright, without anything but the picture.
    name : str
        SHA-256 of ``data``, 64 lower-case hex digits.
    width, height : int
        [px]
    taken : date or None
        The day by the camera's own clock; None when it says none that can be right.
    """

    data: bytes
    name: str
    width: int
    height: int
    taken: date | None


def clean(upload: bytes | BinaryIO) -> CleanPhoto:
    """Read an upload and return the picture to keep.

    Parameters
    ----------
    upload : bytes or binary file
        The file as it came. A file must be able to seek; it is left open.

    Returns
    -------
    CleanPhoto

    Raises
    ------
    FileError
        When it is no picture, of another kind, too large, broken, cut short or moving.
    """
    file = io.BytesIO(upload) if isinstance(upload, bytes) else upload
    size = _size(file)
    opener = _opener(_head(file), size)
    # A spoiled note of the camera is worth no warning: it is passed over or refused here.
    with warnings.catch_warnings(action="ignore"):
        return _cleaned(opener, file, size)


def reread(data: bytes, name: str) -> CleanPhoto:
    """Return a kept picture again, without a day.

    Raises
    ------
    FileError
        When it is broken.
    """
    with _kept(data) as picture:
        return CleanPhoto(data, name, *picture.size, None)


def thumbnail(data: bytes, side_px: int) -> bytes:
    """Return a small copy of a kept picture as WebP.

    Parameters
    ----------
    data : bytes
        A picture that `clean` made.
    side_px : int
        Longest side of the copy; a picture that is smaller keeps its size. [px]

    Raises
    ------
    FileError
        When the kept picture is broken.
    """
    try:
        with _kept(data) as picture:
            small = _shrunk(picture, side_px)
    except _FAULTS as error:
        raise _spoiled() from error
    made = io.BytesIO()
    small.save(made, "WEBP", quality=THUMB_QUALITY, method=4)
    return made.getvalue()


def _cleaned(
    opener: Callable[[BinaryIO], ImageFile.ImageFile], file: BinaryIO, size: int
) -> CleanPhoto:
    try:
        picture = opener(file)
    except _FAULTS as error:
        raise _broken() from error
    with picture:
        _may_unpack(picture.size, size)
        if getattr(picture, "n_frames", 1) > 1:
            raise FileError("the picture moves", allowed="one still picture",
                            todo="Send a still photo")  # fmt: skip
        turn, taken = _told_by_camera(picture)
        flat = _unpacked(picture)
    upright = flat.transpose(_UPRIGHT[turn]) if turn in _UPRIGHT else flat
    data = _jpeg(upright)
    return CleanPhoto(data, hashlib.sha256(data).hexdigest(), *upright.size, taken)


def _kept(data: bytes) -> ImageFile.ImageFile:
    try:
        return JpegImagePlugin.JpegImageFile(io.BytesIO(data))
    except _FAULTS as error:
        raise _spoiled() from error


def _spoiled() -> FileError:
    return FileError("a kept picture is broken", allowed="a picture as it was kept",
                     todo="Put it back from a backup, or add the photo again")  # fmt: skip


# --- judged by its head --------------------------------------------------------------------------


def _size(file: BinaryIO) -> int:
    size = file.seek(0, io.SEEK_END)
    file.seek(0)
    if size == 0:
        raise FileError(
            "the file is empty", allowed=_ALLOWED, todo="Take or choose the photo again"
        )
    if size > MAX_BYTES:
        raise FileError(
            f"the file has {size / 1e6:.0f} MB",
            allowed=f"up to {MAX_BYTES / 1e6:.0f} MB",
            todo="Send the photo in a smaller size",
        )
    return size


def _head(file: BinaryIO) -> bytes:
    head = file.read(_HEAD)
    file.seek(0)
    return head


def _opener(head: bytes, size: int) -> Callable[[BinaryIO], ImageFile.ImageFile]:
    for start, opener in _OPENERS.items():
        if head.startswith(start):
            if start == b"RIFF":
                _may_unpack(_webp_size(head), size)
            return opener
    if head[4:8] == b"ftyp":
        raise FileError("the picture is a HEIC or AVIF file", allowed=_ALLOWED,
                        todo="Send it as JPEG: the camera's settings offer that, or share a copy",
                        )  # fmt: skip
    raise FileError("this file is not a photo", allowed=_ALLOWED, todo="Send a photo as JPEG")


def _webp_size(head: bytes) -> tuple[int, int]:
    """Return the size that a WebP's head gives.

    Its decoder makes room for the whole picture as soon as it is opened, so the head is read first
    (RFC 9649, sections 2.5 to 2.7).
    """
    kind = head[8:16]
    if kind == b"WEBPVP8X":
        return _little(head[24:27]) + 1, _little(head[27:30]) + 1
    if kind == b"WEBPVP8L" and head[20:21] == b"\x2f":
        bits = _little(head[21:25])
        return (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1
    if kind == b"WEBPVP8 " and head[23:26] == b"\x9d\x01\x2a":
        return _little(head[26:28]) & 0x3FFF, _little(head[28:30]) & 0x3FFF
    if head[8:12] == b"WEBP":
        raise _broken()
    raise FileError("this file is not a photo", allowed=_ALLOWED, todo="Send a photo as JPEG")


def _little(part: bytes) -> int:
    return int.from_bytes(part, "little")


def _may_unpack(pixels: tuple[int, int], size: int) -> None:
    """Refuse a picture by its size alone, before room is made for it."""
    short, long = sorted(pixels)
    area = short * long
    shown = f"the picture measures {pixels[0]} by {pixels[1]} pixels"
    if area > MAX_PIXELS or long > short * MAX_STRETCH:
        raise FileError(shown, allowed=f"up to {MAX_PIXELS / 1e6:.0f} million pixels, and at most "
                        f"{MAX_STRETCH} times as long as wide",
                        todo="Send the photo in a smaller size")  # fmt: skip
    if short < MIN_SIDE_PX:
        raise FileError(shown, allowed=f"at least {MIN_SIDE_PX} pixels each way",
                        todo="Send the photo itself, not a small copy")  # fmt: skip
    if area > SMALL_PIXELS and area > size * MAX_PIXELS_PER_BYTE:
        raise FileError(f"{shown}, far more than its {size} bytes hold", allowed="a photo",
                        todo="Send the photo as the camera made it")  # fmt: skip


def _broken() -> FileError:
    return FileError("the picture is broken or cut short", allowed=f"a whole {_ALLOWED}",
                     todo="Take or send it again")  # fmt: skip


# --- what the camera says ------------------------------------------------------------------------


def _told_by_camera(picture: Image.Image) -> tuple[int, date | None]:
    """Return which way up the camera was held, 1 when it does not say, and the day it says."""
    try:
        told = picture.getexif()
        turn = told.get(_ORIENTATION)
        times = told.get_ifd(_TIMES)
        days = [_day(times.get(_TAKEN)), _day(times.get(_STORED)), _day(told.get(_CHANGED))]
    except _FAULTS:
        return 1, None
    return (
        turn if isinstance(turn, int) else 1,
        next((day for day in days if day is not None), None),
    )


def _day(text: object) -> date | None:
    """Return the day of an Exif time ``2026:06:09 08:30:00``; None when it cannot be right."""
    if isinstance(text, bytes):
        text = text.decode("ascii", "replace")
    if not isinstance(text, str):
        return None
    try:
        day = datetime.strptime(text.strip("\x00 ")[:10].replace("-", ":"), "%Y:%m:%d").date()
    except ValueError:
        return None
    return day if day >= EARLIEST else None


# --- unpacked and drawn anew ---------------------------------------------------------------------


def _unpacked(picture: ImageFile.ImageFile) -> Image.Image:
    """Return the picture in sRGB, at most `KEPT_SIDE_PX` long, with nothing else attached."""
    profile = picture.info.get("icc_profile")
    try:
        small = _shrunk(picture, KEPT_SIDE_PX)
    except _FAULTS as error:
        raise _broken() from error
    return _plain(_in_srgb(small, profile))


def _shrunk(picture: ImageFile.ImageFile, side_px: int) -> Image.Image:
    """Unpack a picture and bring it to size; a large JPEG is unpacked at a half or less."""
    width, height = picture.size
    scale = min(1.0, side_px / max(width, height))
    target = (max(1, round(width * scale)), max(1, round(height * scale)))
    picture.draft(None, target)
    picture.load()
    flat = _eight_bits(_averaged(picture, max(target)))
    return flat if flat.size == target else flat.resize(target, Resampling.LANCZOS)


def _averaged(picture: Image.Image, side_px: int) -> Image.Image:
    """Average blocks of pixels down to twice the size wanted, so that one large copy is enough."""
    by = max(picture.size) // (2 * side_px)
    return picture.reduce(by) if by > 1 and picture.mode in _AVERAGED else picture


def _eight_bits(picture: Image.Image) -> Image.Image:
    """Return grey, colour or four-ink values of 8 bits; what shows through becomes paper."""
    if picture.mode.startswith("I") or picture.mode == "F":
        # 16-bit grey: the upper byte. Pillow's own conversion would cut off at 255.
        return picture.convert("I").point(lambda value: value / 256).convert("L")
    if picture.mode in {"RGBA", "LA", "PA", "RGBa", "La"} or "transparency" in picture.info:
        seen = picture.convert("RGBA")
        paper = Image.new("RGB", seen.size, _PAPER)
        paper.paste(seen, mask=seen.getchannel("A"))
        return paper
    return picture if picture.mode in {"L", "RGB", "CMYK"} else picture.convert("RGB")


def _in_srgb(picture: Image.Image, profile: object) -> Image.Image:
    if isinstance(profile, bytes) and profile:
        try:
            given = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            turned = ImageCms.profileToProfile(
                picture, given, ImageCms.createProfile("sRGB"), outputMode="RGB"
            )
        except (ImageCms.PyCMSError, *_FAULTS):
            turned = None  # a profile that does not fit its picture says nothing about its colours
        if turned is not None:
            return turned
    return picture.convert("RGB")


def _plain(picture: Image.Image) -> Image.Image:
    """Return the picture without comments, profiles and marks, which writers would pass on."""
    bare = picture.copy()
    bare.info.clear()
    return bare


def _jpeg(picture: Image.Image) -> bytes:
    made = io.BytesIO()
    picture.save(made, "JPEG", quality=KEPT_QUALITY)
    return made.getvalue()

"""Pictures made for tests: files of every kind, with what a camera writes beside the picture."""

from __future__ import annotations

import io
import struct
import zlib
from typing import Any

from PIL import Image

CORNERS = {
    "red": (200, 30, 30),
    "green": (30, 160, 40),
    "blue": (30, 50, 190),
    "sand": (210, 190, 120),
}
"""Colours of the four quarters, from upper left in reading order."""
SECRET_XMP = (
    b"<x:xmpmeta xmlns:x='adobe:ns:meta/'><exif:GPSLatitude>46,21.5N</exif:GPSLatitude></x:xmpmeta>"
)


def quarters(size: tuple[int, int] = (160, 120)) -> Image.Image:
    """A picture of four colours, so that every turn of it looks different."""
    picture = Image.new("RGB", size)
    half = (size[0] // 2, size[1] // 2)
    for number, colour in enumerate(CORNERS.values()):
        left, top = number % 2 * half[0], number // 2 * half[1]
        picture.paste(colour, (left, top, left + half[0] + 1, top + half[1] + 1))
    return picture


def looks_like(picture: Image.Image) -> list[str]:
    """Return the names of the nearest colours of the four quarters, in reading order."""
    seen = picture.convert("RGB")
    width, height = seen.size
    found = []
    for number in range(4):
        at = (int(width * (0.25 + 0.5 * (number % 2))), int(height * (0.25 + 0.5 * (number // 2))))
        pixel = seen.getpixel(at)
        assert isinstance(pixel, tuple)
        found.append(
            min(
                CORNERS,
                key=lambda name: sum(
                    (a - b) ** 2 for a, b in zip(CORNERS[name], pixel, strict=True)
                ),
            )
        )
    return found


def file_of(picture: Image.Image, kind: str = "JPEG", **options: Any) -> bytes:
    """Return a picture as a file."""
    made = io.BytesIO()
    picture.save(made, kind, **options)
    return made.getvalue()


def exif_of(
    *, turn: int | None = None, taken: str | None = None, gps: bool = False, more: bool = False
) -> bytes:
    """Return what a camera says: which way up, when, where and whose it is."""
    told = Image.Exif()
    if turn is not None:
        told[0x0112] = turn
    if taken is not None:
        told.get_ifd(0x8769)[0x9003] = taken
    if gps:
        told.get_ifd(0x8825).update({1: "N", 2: (46.0, 21.0, 30.0), 3: "E", 4: (14.0, 5.0, 0.0)})
    if more:
        told[0x010F] = "SECRET-MAKER"
        told[0x013B] = "SECRET-OWNER"
        told.get_ifd(0x8769)[0xA431] = "SECRET-SERIAL"
    return told.tobytes()


def chunk(kind: bytes, data: bytes) -> bytes:
    """Return one chunk of a PNG."""
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png_claiming(width: int, height: int) -> bytes:
    """A tiny PNG that says it is of this size: a bomb when it is believed."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    packed = zlib.compress(b"\x00" * 100_000, 9)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")
    )


def webp_claiming(width: int, height: int) -> bytes:
    """A tiny WebP whose head says it is of this size."""
    body = b"VP8X" + struct.pack("<I", 10) + b"\x02\x00\x00\x00"
    body += (width - 1).to_bytes(3, "little") + (height - 1).to_bytes(3, "little")
    body += b"ANIM" + struct.pack("<I", 6) + bytes(6)
    return b"RIFF" + struct.pack("<I", len(body) + 4) + b"WEBP" + body


def jpeg_claiming(width: int, height: int) -> bytes:
    """A small JPEG whose frame says it is of this size."""
    whole = bytearray(file_of(quarters()))
    at = whole.index(b"\xff\xc0")
    whole[at + 5 : at + 9] = struct.pack(">HH", height, width)
    return bytes(whole)

"""Uploads: what is kept of a picture, and what is refused with a reason."""

from __future__ import annotations

import hashlib
import io
import tracemalloc
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from photo_files import (
    CORNERS,
    SECRET_XMP,
    exif_of,
    file_of,
    jpeg_claiming,
    looks_like,
    png_claiming,
    quarters,
    webp_claiming,
)
from PIL import Image, ImageCms

from boughwright.errors import FileError
from boughwright.intake.photos import (
    KEPT_SIDE_PX,
    MAX_BYTES,
    MAX_PIXELS,
    clean,
    reread,
    thumbnail,
)

UPRIGHT = list(CORNERS)


def opened(data: bytes) -> Image.Image:
    picture = Image.open(io.BytesIO(data))
    picture.load()
    return picture


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_each_kind_becomes_a_jpeg_named_by_its_contents(kind: str) -> None:
    kept = clean(file_of(quarters(), kind))
    picture = opened(kept.data)
    assert (picture.format, picture.mode, picture.size) == ("JPEG", "RGB", (160, 120))
    assert (kept.width, kept.height) == (160, 120)
    assert looks_like(picture) == UPRIGHT
    assert kept.name == hashlib.sha256(kept.data).hexdigest()
    assert clean(file_of(quarters(), kind)) == kept


# How a picture must be stored for each orientation so that it shows upright, worked out from the
# standard's own table (Exif 2.32, tag 274: where row 0 and column 0 of the stored picture lie).
STORED = {
    1: [],
    2: [Image.Transpose.FLIP_LEFT_RIGHT],
    3: [Image.Transpose.ROTATE_180],
    4: [Image.Transpose.FLIP_TOP_BOTTOM],
    # 5: row 0 is the left side, column 0 the top: mirrored over the main diagonal.
    5: [Image.Transpose.TRANSPOSE],
    # 6: row 0 is the right side, column 0 the top: stored a quarter turn anticlockwise.
    6: [Image.Transpose.ROTATE_90],
    # 7: row 0 is the right side, column 0 the bottom: mirrored over the other diagonal.
    7: [Image.Transpose.TRANSVERSE],
    # 8: row 0 is the left side, column 0 the bottom: stored a quarter turn clockwise.
    8: [Image.Transpose.ROTATE_270],
}


@pytest.mark.parametrize("turn", STORED)
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_every_orientation_comes_out_upright(turn: int, kind: str) -> None:
    stored = quarters()
    for step in STORED[turn]:
        stored = stored.transpose(step)
    kept = clean(file_of(stored, kind, exif=exif_of(turn=turn)))
    assert (kept.width, kept.height) == (160, 120)
    assert looks_like(opened(kept.data)) == UPRIGHT
    assert opened(kept.data).getexif().get(0x0112) is None


@pytest.mark.parametrize("turn", [0, 9, 300])
def test_an_orientation_that_does_not_exist_turns_nothing(turn: int) -> None:
    kept = clean(file_of(quarters(), exif=exif_of(turn=turn)))
    assert looks_like(opened(kept.data)) == UPRIGHT


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_no_place_maker_owner_or_hidden_note_goes_with_it(kind: str) -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    options: dict[str, Any] = {
        "exif": exif_of(turn=1, taken="2026:06:09 08:30:00", gps=True, more=True)
    }
    options["icc_profile"] = profile
    if kind != "PNG":
        options["xmp"] = SECRET_XMP
    if kind == "JPEG":
        options["comment"] = b"SECRET-COMMENT"
    upload = file_of(quarters(), kind, **options)
    upload += b"SECRET-TAIL <script>alert(1)</script>" if kind == "JPEG" else b""
    assert b"SECRET-MAKER" in upload
    kept = clean(upload)
    for data in (kept.data, thumbnail(kept.data, 320), thumbnail(kept.data, 1200)):
        for secret in (
            b"SECRET",
            b"GPS",
            b"Exif",
            b"xmp",
            b"<x:",
            b"<script",
            b"ICC",
            b"EXIF",
            b"acsp",
        ):
            assert secret not in data, secret
        assert dict(opened(data).getexif()) == {}
    # Only the frame of a bare JPEG: no application segment but JFIF, no comment.
    assert not any(bytes([0xFF, code]) in kept.data[:600] for code in [*range(0xE1, 0xF0), 0xFE])
    assert kept.taken == date(2026, 6, 9)


@pytest.mark.parametrize(
    ("said", "day"),
    [
        ("2026:06:09 08:30:00", date(2026, 6, 9)),
        ("2026-06-09T08:30:00", date(2026, 6, 9)),
        ("2024:02:29", date(2024, 2, 29)),
        ("0000:00:00 00:00:00", None),
        ("1970:01:01 00:00:00", None),
        ("2026:13:41 99:99:99", None),
        ("    :  :     :  :  ", None),
        ("yesterday", None),
        ("", None),
        ("\x00\x00\x00\x00", None),
        ("２０２６:06:09 08:30:00".encode().decode("latin-1"), None),
    ],
)
def test_the_day_is_read_when_it_can_be_right(said: str, day: date | None) -> None:
    assert clean(file_of(quarters(), exif=exif_of(taken=said))).taken == day


def test_a_picture_without_a_camera_has_no_day() -> None:
    assert clean(file_of(quarters())).taken is None
    assert clean(file_of(quarters(), "PNG")).taken is None


def test_what_a_camera_says_may_be_rubbish() -> None:
    for rubbish in (
        b"Exif\x00\x00",
        b"Exif\x00\x00II*\x00\xff\xff\xff\xff",
        b"Exif\x00\x00" + b"\xff" * 80,
    ):
        kept = clean(file_of(quarters(), exif=rubbish))
        assert (kept.taken, looks_like(opened(kept.data))) == (None, UPRIGHT)


# --- kinds of colour -----------------------------------------------------------------------------


def test_four_inks_palettes_grey_and_glass_come_out_as_they_look() -> None:
    cases = [
        file_of(quarters().convert("CMYK")),
        file_of(quarters().convert("P", palette=Image.Palette.ADAPTIVE), "PNG"),
        file_of(quarters().convert("RGBA"), "PNG"),
        file_of(quarters().convert("RGBA"), "WEBP", lossless=True),
        file_of(quarters(), "PNG", interlace=1),
        file_of(quarters(), progressive=True),
    ]
    for upload in cases:
        assert looks_like(opened(clean(upload).data)) == UPRIGHT


def test_what_shows_through_becomes_paper() -> None:
    glass = Image.new("RGBA", (80, 80), (0, 0, 0, 0))
    marked = Image.new("P", (80, 80), 0)
    marked.putpalette([0, 0, 0, 255, 0, 0])
    for upload in (file_of(glass, "PNG"), file_of(marked, "PNG", transparency=0)):
        pixel = opened(clean(upload).data).getpixel((40, 40))
        assert isinstance(pixel, tuple)
        assert min(pixel) > 250


def test_sixteen_bit_grey_keeps_its_tones() -> None:
    # 0x4000 of 0xFFFF is a quarter of white: 64 of 255.
    deep = Image.new("I;16", (80, 80), 0x4000)
    pixel = opened(clean(file_of(deep, "PNG")).data).getpixel((40, 40))
    assert isinstance(pixel, tuple)
    assert all(abs(value - 64) <= 2 for value in pixel)


def test_colours_of_another_space_are_brought_to_the_common_one() -> None:
    # A profile whose red and blue are exchanged: what it calls red must be kept as blue.
    swapped = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    red, blue = swapped.index(b"rXYZ"), swapped.index(b"bXYZ")
    swapped[red : red + 4], swapped[blue : blue + 4] = b"bXYZ", b"rXYZ"
    upload = file_of(Image.new("RGB", (80, 80), (255, 0, 0)), "PNG", icc_profile=bytes(swapped))
    pixel = opened(clean(upload).data).getpixel((40, 40))
    assert isinstance(pixel, tuple)
    assert pixel[2] > 230
    assert pixel[0] < 40


def test_a_profile_that_does_not_fit_is_passed_over() -> None:
    for profile in (b"rubbish", b"\x00" * 200):
        kept = clean(file_of(quarters(), "PNG", icc_profile=profile))
        assert looks_like(opened(kept.data)) == UPRIGHT


# --- sizes ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_a_large_picture_is_kept_at_three_thousand(kind: str) -> None:
    kept = clean(file_of(quarters((4400, 3300)), kind))
    assert (kept.width, kept.height) == (KEPT_SIDE_PX, 2250)
    assert looks_like(opened(kept.data)) == UPRIGHT


def test_small_copies_keep_their_shape_and_never_grow() -> None:
    kept = clean(file_of(quarters((1600, 1200))))
    for side, size in ((320, (320, 240)), (1200, (1200, 900)), (5000, (1600, 1200))):
        small = opened(thumbnail(kept.data, side))
        assert (small.format, small.size) == ("WEBP", size)
        assert looks_like(small) == UPRIGHT


def test_a_kept_picture_is_read_again() -> None:
    kept = clean(file_of(quarters(), exif=exif_of(taken="2026:06:09 08:30:00")))
    again = reread(kept.data, kept.name)
    assert (again.width, again.height, again.name, again.taken) == (160, 120, kept.name, None)
    with pytest.raises(FileError, match="broken"):
        reread(b"rubbish", kept.name)
    with pytest.raises(FileError, match="broken"):
        thumbnail(kept.data[:400], 320)


# --- refused -------------------------------------------------------------------------------------


def refusal(upload: bytes) -> FileError:
    with pytest.raises(FileError) as caught:
        clean(upload)
    assert caught.value.todo
    assert caught.value.allowed or "empty" in caught.value.what
    return caught.value


@pytest.mark.parametrize(
    "upload",
    [
        b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
        b"<!doctype html><script>alert(1)</script>",
        b"%PDF-1.7",
        b"GIF89a" + bytes(40),
        b"II*\x00" + bytes(40),
        b"\x00",
        b"RIFF\x00\x00\x00\x00WAVEfmt ",
        b"8BPS" + bytes(60),
        b"%!PS-Adobe-3.0 EPSF-3.0\n",
        bytes(1000),
    ],
    ids=repr,
)
def test_what_is_no_photo_is_refused(upload: bytes) -> None:
    assert "not a photo" in str(refusal(upload))


def test_an_empty_file_is_refused() -> None:
    assert "empty" in str(refusal(b""))


@pytest.mark.parametrize("brand", [b"heic", b"heix", b"mif1", b"msf1", b"avif"])
def test_heic_is_refused_with_the_way_out(brand: bytes) -> None:
    told = str(refusal(b"\x00\x00\x00\x18ftyp" + brand + bytes(60)))
    assert "HEIC" in told
    assert "JPEG" in told


@pytest.mark.parametrize("make", [png_claiming, webp_claiming, jpeg_claiming])
def test_a_bomb_is_refused_before_room_is_made_for_it(make: Any) -> None:
    tracemalloc.start()
    try:
        told = refusal(make(16_000, 16_000))
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert "16000 by 16000 pixels" in told.what
    assert most < 5_000_000


def test_a_picture_far_larger_than_its_file_is_refused() -> None:
    # 7000 x 7000 = 49 million pixels, allowed by size alone; the file has about 200 bytes.
    assert MAX_PIXELS > 7000 * 7000
    assert "far more" in refusal(png_claiming(7000, 7000)).what
    assert "far more" in refusal(jpeg_claiming(7000, 7000)).what


def test_a_sharp_photo_of_the_same_size_is_no_bomb() -> None:
    noise = Image.effect_noise((2600, 2600), 60)
    assert clean(file_of(noise, quality=30)).width == 2600


@pytest.mark.parametrize("size", [(1, 1), (63, 200), (4000, 200)])
def test_pictures_too_small_or_too_long_are_refused(size: tuple[int, int]) -> None:
    assert f"{size[0]} by {size[1]} pixels" in refusal(file_of(Image.new("RGB", size), "PNG")).what


def test_a_file_too_large_is_refused_by_its_length_alone() -> None:
    class Endless(io.BytesIO):
        def seek(self, offset: int, whence: int = 0) -> int:
            return super().seek(offset, whence) if whence == 0 else MAX_BYTES + 1

        def read(self, size: int | None = -1) -> bytes:
            raise AssertionError("nothing of it may be read")

    with pytest.raises(FileError, match="40 MB"):
        clean(Endless())


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("share", [0.02, 0.3, 0.6, 0.9])
def test_a_picture_cut_short_is_refused(kind: str, share: float) -> None:
    noise = Image.effect_noise((300, 300), 50).convert("RGB")
    whole = file_of(noise, kind)
    assert "broken or cut short" in str(refusal(whole[: max(40, int(len(whole) * share))]))


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_a_picture_that_moves_is_refused(kind: str) -> None:
    frames = [quarters(), quarters().transpose(Image.Transpose.ROTATE_180)]
    upload = file_of(frames[0], kind, save_all=True, append_images=frames[1:], duration=200)
    assert "moves" in refusal(upload).what


@given(st.binary(max_size=200), st.sampled_from(["JPEG", "PNG", "WEBP"]), st.integers(0, 2**31))
def test_spoiled_files_are_kept_or_refused_and_nothing_else(
    noise: bytes, kind: str, seed: int
) -> None:
    whole = bytearray(file_of(quarters((96, 72)), kind))
    at = seed % len(whole)
    whole[at : at + len(noise)] = noise
    try:
        kept = clean(bytes(whole))
    except FileError:
        return
    assert opened(kept.data).format == "JPEG"

"""What is kept of a picture: its pixels, upright, and nothing that stood beside them."""

import io
import struct
import zlib
from random import Random
from typing import Literal

import pytest
from PIL import Image, ImageCms

from exchange_api.pictures import LARGEST_PIXELS, LONGEST_SIDE, Picture, cleaned
from libexchange.errors import InvalidInput
from tests.exchange_api.attachments.album import (
    GPS,
    SECRET,
    WIDE,
    opened,
    photo,
    screenshot,
    written,
)

MediaType = Literal["image/jpeg", "image/png"]
ENOUGH = 2**24


def kept(raw: bytes, media_type: MediaType) -> Picture:
    return cleaned(raw, media_type, largest=ENOUGH)


def refused(raw: bytes, media_type: MediaType, *, largest: int = ENOUGH) -> str:
    with pytest.raises(InvalidInput) as caught:
        cleaned(raw, media_type, largest=largest)
    (fault,) = caught.value.faults
    assert fault.allowed
    assert fault.remedy
    return fault.code


def segments(raw: bytes) -> list[int]:
    """The markers of a JPEG up to its scan."""
    at, found = 2, []
    while raw[at + 1] != 0xDA:
        found.append(raw[at + 1])
        at += 2 + int.from_bytes(raw[at + 2 : at + 4], "big")
    return found


def chunks(raw: bytes) -> list[bytes]:
    at, found = 8, []
    while at < len(raw):
        found.append(raw[at + 4 : at + 8])
        at += 12 + int.from_bytes(raw[at : at + 4], "big")
    return found


def test_case_88_nothing_beside_the_pixels_of_a_jpeg_is_kept() -> None:
    raw = photo()
    made = kept(raw, "image/jpeg").content

    assert opened(raw).getexif().get_ifd(GPS)[2] == (52.0, 30.0, 0.0)
    assert raw.count(SECRET.encode()) >= 4
    assert SECRET.encode() not in made
    assert not {0xE1, 0xE2, 0xED, 0xFE} & set(segments(made))
    assert {0xE1, 0xFE} <= set(segments(raw))
    assert made.endswith(b"\xff\xd9")
    assert not opened(made).getexif()


def test_case_88_nothing_beside_the_pixels_of_a_png_is_kept() -> None:
    raw = screenshot()
    made = kept(raw, "image/png").content

    assert {b"tEXt", b"zTXt", b"iTXt", b"eXIf", b"pHYs"} <= set(chunks(raw[: -len(SECRET)]))
    assert set(chunks(made)) == {b"IHDR", b"IDAT", b"IEND"}
    assert SECRET.encode() not in made


@pytest.mark.parametrize(
    ("orientation", "size", "red"),
    [(1, (64, 32), (5, 16)), (3, (64, 32), (58, 16)), (6, (32, 64), (16, 5)),
     (8, (32, 64), (16, 58)), (2, (64, 32), (58, 16))],
)  # fmt: skip
def test_a_picture_is_kept_upright(
    orientation: int, size: tuple[int, int], red: tuple[int, int]
) -> None:
    made = kept(photo(orientation), "image/jpeg")
    shown = opened(made.content)
    r, g, b = shown.getpixel(red)  # type: ignore[misc]  # three numbers, as it is RGB
    there = tuple(side - 1 - at for side, at in zip(size, red, strict=True))

    assert (made.width, made.height) == shown.size == size
    assert r > 200
    assert max(g, b) < 60
    assert min(shown.getpixel(there)) > 200  # type: ignore[arg-type]  # as above


def test_the_same_bytes_are_kept_as_the_same_bytes() -> None:
    assert kept(photo(), "image/jpeg") == kept(photo(), "image/jpeg")


def test_what_was_kept_is_kept_again_as_it_is() -> None:
    once = kept(screenshot(), "image/png")

    assert kept(once.content, "image/png") == once


def test_colours_are_kept_as_they_were_meant() -> None:
    odd = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB"))
    usual = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB"))
    red = Image.new("RGB", WIDE, (200, 30, 30))
    for profile in (odd.tobytes(), usual.tobytes(), b"no profile"):
        made = opened(kept(written(red, "PNG", icc_profile=profile), "image/png").content)
        assert "icc_profile" not in made.info
        assert made.getpixel((0, 0)) == (200, 30, 30)


def clear(mode: str) -> bytes:
    image = Image.new("P" if mode == "P" else mode, WIDE, 0)
    if mode == "P":
        image.putpalette([10, 20, 30, 40, 50, 60])
    return written(image, "PNG", transparency=(0, 0, 0) if mode == "RGB" else 0)


@pytest.mark.parametrize("mode", ["P", "RGB", "L"])
def test_what_is_clear_stays_clear(mode: str) -> None:
    made = opened(kept(clear(mode), "image/png").content)

    assert made.mode == "RGBA"
    assert made.getpixel((0, 0))[3] == 0  # type: ignore[index]  # four numbers, as it is RGBA


@pytest.mark.parametrize(
    ("mode", "name", "media_type", "as_mode"),
    [("L", "JPEG", "image/jpeg", "L"), ("CMYK", "JPEG", "image/jpeg", "RGB"),
     ("1", "PNG", "image/png", "L"), ("LA", "PNG", "image/png", "LA"),
     ("P", "PNG", "image/png", "RGB"), ("RGBA", "PNG", "image/png", "RGBA")],
)  # fmt: skip
def test_every_usual_kind_of_pixels_is_kept(
    mode: str, name: str, media_type: MediaType, as_mode: str
) -> None:
    made = kept(written(Image.new(mode, WIDE), name), media_type)

    assert (opened(made.content).mode, made.media_type) == (as_mode, media_type)


def test_sixteen_bits_are_refused() -> None:
    assert refused(written(Image.new("I;16", WIDE), "PNG"), "image/png") == "unusual-pixels"


def test_a_picture_that_moves_is_refused() -> None:
    frames = [Image.new("RGB", WIDE, colour) for colour in ("red", "blue")]
    raw = written(frames[0], "PNG", save_all=True, append_images=frames[1:], duration=100)

    assert refused(raw, "image/png") == "moving-picture"


def test_of_several_pictures_in_a_jpeg_the_first_is_kept() -> None:
    frames = [Image.new("RGB", WIDE, colour) for colour in ("red", "blue")]
    raw = written(frames[0], "MPO", save_all=True, append_images=frames[1:])
    made = opened(kept(raw, "image/jpeg").content)

    assert (made.format, made.getpixel((0, 0))) == ("JPEG", (254, 0, 0))


def test_a_picture_is_what_its_media_type_says() -> None:
    assert refused(photo(), "image/png") == "not-a-picture"
    assert refused(screenshot(), "image/jpeg") == "not-a-picture"
    assert refused(b"%PDF-1.7 invented", "image/jpeg") == "not-a-picture"
    assert refused(b"<svg/>", "image/png") == "not-a-picture"


def head(width: int, height: int) -> bytes:
    """The beginning of a PNG that claims to be so large; there is nothing to decode."""
    fields = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    first = struct.pack(">I", 13) + fields + struct.pack(">I", zlib.crc32(fields))
    data = b"IDAT" + zlib.compress(b"")
    return (b"\x89PNG\r\n\x1a\n" + first + struct.pack(">I", len(data) - 4) + data
            + struct.pack(">I", zlib.crc32(data)))  # fmt: skip


@pytest.mark.parametrize(
    ("width", "height", "code"),
    [
        (5000, LARGEST_PIXELS // 5000, "not-a-picture"),  # small enough, so it is decoded
        (5000, LARGEST_PIXELS // 5000 + 1, "too-many-pixels"),
        (LONGEST_SIDE, 1, "not-a-picture"),
        (LONGEST_SIDE + 1, 1, "too-many-pixels"),
        (1, LONGEST_SIDE + 1, "too-many-pixels"),
        (2**31 - 1, 2**31 - 1, "too-many-pixels"),
    ],
)
def test_case_95_a_picture_too_large_is_refused_by_its_head(
    width: int, height: int, code: str
) -> None:
    assert refused(head(width, height), "image/png") == code


def test_case_95_a_text_that_unfolds_is_refused() -> None:
    text = b"zTXtComment\0\0" + zlib.compress(b"a" * 2**27, 9)
    raw = written(Image.new("RGB", WIDE), "PNG")
    chunk = struct.pack(">I", len(text) - 4) + text + struct.pack(">I", zlib.crc32(text))

    assert refused(raw[:33] + chunk + raw[33:], "image/png") == "not-a-picture"


def test_a_picture_that_grows_beyond_the_limit_is_refused() -> None:
    raw = screenshot()
    size = len(kept(raw, "image/png").content)

    assert len(cleaned(raw, "image/png", largest=size).content) == size
    assert refused(raw, "image/png", largest=size - 1) == "too-large"


def test_a_picture_cut_short_is_refused() -> None:
    whole = written(Image.effect_noise((64, 64), 50), "JPEG")

    for length in range(0, len(whole) - 200, 97):
        assert refused(whole[:length], "image/jpeg") == "not-a-picture"


@pytest.mark.parametrize("media_type", ["image/jpeg", "image/png"])
@pytest.mark.filterwarnings("ignore::UserWarning")  # of damaged remarks, which are not kept
def test_a_damaged_picture_is_kept_or_refused(media_type: MediaType) -> None:
    chance = Random(11)  # noqa: S311 -- the same damage every time
    raw = photo() if media_type == "image/jpeg" else screenshot()
    for _ in range(300):
        damaged = bytearray(raw)
        for _ in range(chance.randint(1, 6)):
            damaged[chance.randrange(len(damaged))] = chance.randrange(256)
        try:
            made = kept(bytes(damaged), media_type)
        except InvalidInput:
            continue
        assert Image.open(io.BytesIO(made.content)).size == (made.width, made.height)

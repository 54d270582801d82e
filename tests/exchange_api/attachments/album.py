"""Invented pictures, and how they are sent."""

import io
from hashlib import sha256
from itertools import count
from random import Random
from typing import Any

import httpx
from PIL import Image, PngImagePlugin

_numbers = count()
_chance = Random(5)  # noqa: S311 -- the same picture every time
WIDE = (6, 4)
SECRET = "Invented Street 5"
GPS, ORIENTATION, DESCRIPTION = 0x8825, 0x0112, 0x010E


def digest(raw: bytes) -> str:
    return sha256(raw).hexdigest()


def address(raw: bytes) -> str:
    return f"/v1/attachments/{digest(raw)}"


def put(
    client: httpx.Client, raw: bytes, *, media_type: str = "image/png", **headers: str
) -> httpx.Response:
    return client.put(address(raw), content=raw, headers={"Content-Type": media_type} | headers)


def written(image: Image.Image, name: str, **more: Any) -> bytes:
    out = io.BytesIO()
    image.save(out, name, **more)
    return out.getvalue()


def opened(raw: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(raw))
    image.load()
    return image


def plain(colour: tuple[int, int, int], name: str) -> bytes:
    """A small picture of one colour."""
    return written(Image.new("RGB", WIDE, colour), name)


def picture() -> bytes:
    """A small PNG that was never sent before."""
    image = Image.new("RGB", WIDE, "white")
    image.putpixel((0, 0), tuple(next(_numbers).to_bytes(3, "big")))
    return written(image, "PNG", dpi=(96, 96))  # what is kept has other bytes, without this


def turned(orientation: int) -> Image.Exif:
    """What a telephone writes beside a picture: where, what and how it was held."""
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    exif[DESCRIPTION] = SECRET
    exif[GPS] = {1: "N", 2: (52.0, 30.0, 0.0), 3: "E", 4: (13.0, 24.0, 0.0), 29: SECRET}
    return exif


def photo(orientation: int = 1) -> bytes:
    """A JPEG with a red left half and everything beside it that should not be kept."""
    image = Image.new("RGB", (64, 32), "white")
    image.paste("red", (0, 0, 32, 32))
    return written(image, "JPEG", exif=turned(orientation), comment=SECRET.encode(),
                   xmp=f"<x:xmpmeta>{SECRET}</x:xmpmeta>".encode()) + SECRET.encode()  # fmt: skip


def screenshot() -> bytes:
    """A PNG with texts of every kind."""
    texts = PngImagePlugin.PngInfo()
    texts.add_text("Comment", SECRET)
    texts.add_text("Location", SECRET, zip=True)
    texts.add_itxt("XML:com.adobe.xmp", f"<x:xmpmeta>{SECRET}</x:xmpmeta>")
    image = Image.new("RGB", WIDE, "blue")
    return written(image, "PNG", pnginfo=texts, exif=turned(1), dpi=(96, 96)) + SECRET.encode()


def noise(width: int, height: int) -> bytes:
    """A PNG that hardly shrinks."""
    return written(
        Image.frombytes("RGB", (width, height), _chance.randbytes(width * height * 3)), "PNG"
    )

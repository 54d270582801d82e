"""Pictures as they are kept: decoded whole, turned upright and written anew.

Nothing but the pixels is taken over, so that no place, time, device name, remark, thumbnail or
anything behind the end of the picture is left. What cannot be decoded is refused, and what would
take too much memory before a pixel of it is.
"""

import io
from collections.abc import Callable
from contextlib import suppress
from typing import Literal, TypeAlias

from msgspec import Struct
from PIL import Image, ImageCms, ImageOps

from libexchange.errors import Fault, InvalidInput

MediaType: TypeAlias = Literal["image/jpeg", "image/png"]
LARGEST_PIXELS = 25_000_000
LONGEST_SIDE = 16_000
QUALITY = 92
"""Of a JPEG that is written anew: what it loses is not seen."""

Image.MAX_IMAGE_PIXELS = None  # told here by the size, before anything is decoded

_FORMATS: dict[MediaType, str] = {"image/jpeg": "JPEG", "image/png": "PNG"}
MEDIA_TYPES: tuple[MediaType, ...] = tuple(_FORMATS)
# what each kind of pixels is kept as
_GREY_OR_COLOUR = {"L": "L", "RGB": "RGB", "CMYK": "RGB", "YCbCr": "RGB"}
_MODES: dict[MediaType, dict[str, str]] = {
    "image/jpeg": _GREY_OR_COLOUR,
    "image/png": {"1": "L", "L": "L", "LA": "LA", "P": "RGB", "RGB": "RGB", "RGBA": "RGBA"},
}


class Picture(Struct, frozen=True, kw_only=True):
    """A picture that holds nothing but itself."""

    media_type: MediaType
    content: bytes
    width: int
    height: int


def cleaned(raw: bytes, media_type: MediaType, *, largest: int) -> Picture:
    """A picture of nothing but its pixels, upright and in the usual colour space (sRGB).

    largest: of the picture as it is kept [bytes]
    Raises: InvalidInput when it is no such picture, too large, moving or cut short
    """
    with _opened(raw, media_type) as found:
        _check(found, media_type)
        picture = _decoded(found, media_type)
    content = _written(picture, _FORMATS[media_type])
    if len(content) > largest:
        raise _refused("too-large", "it is too large once it is written anew", len(content),
                       f"at most {largest} bytes", "Send it smaller or as JPEG.")  # fmt: skip
    width, height = picture.size
    return Picture(media_type=media_type, content=content, width=width, height=height)


def _opened(raw: bytes, media_type: MediaType) -> Image.Image:
    name = _FORMATS[media_type]
    return _guarded(lambda: Image.open(io.BytesIO(raw), formats=[name]), media_type)


def _check(found: Image.Image, media_type: MediaType) -> None:
    """By its head alone."""
    width, height = found.size
    if width * height > LARGEST_PIXELS or max(width, height) > LONGEST_SIDE:
        allowed = f"at most {LARGEST_PIXELS} pixels and {LONGEST_SIDE} a side"
        size, remedy = f"{width} x {height}", "Send it smaller."
        raise _refused("too-many-pixels", "the picture is too large", size, allowed, remedy)
    # a JPEG may carry further pictures, such as one of depth; the first is what was seen
    if media_type == "image/png" and getattr(found, "n_frames", 1) > 1:
        raise _refused("moving-picture", "the picture moves", None, "one picture",
                       "Send one picture of it.")  # fmt: skip
    if found.mode not in _MODES[media_type]:
        raise _refused("unusual-pixels", "the pixels are of an unusual kind", found.mode,
                       "8 bits of grey or colour", "Save it as an ordinary picture.")  # fmt: skip


def _decoded(found: Image.Image, media_type: MediaType) -> Image.Image:
    def decode() -> Image.Image:
        found.load()
        upright = ImageOps.exif_transpose(found)
        mode = _MODES[media_type][found.mode]
        # one colour, or places of a palette, may stand for clear
        clear = "transparency" in upright.info and mode in ("L", "RGB")
        return _in_usual_colours(upright).convert("RGBA" if clear else mode)

    return _guarded(decode, media_type)


def _in_usual_colours(picture: Image.Image) -> Image.Image:
    """Colours as they are meant, since the profile that says so is not kept."""
    profile = picture.info.get("icc_profile")
    if not profile or picture.mode != "RGB":
        return picture
    with suppress(ImageCms.PyCMSError, OSError):  # what nobody can read is not followed
        given = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        usual = ImageCms.createProfile("sRGB")
        turned = ImageCms.profileToProfile(picture, given, usual)
        return turned or picture
    return picture


def _written(picture: Image.Image, name: str) -> bytes:
    picture.info = {}  # what is written besides the pixels is taken from here
    out = io.BytesIO()
    picture.save(out, name, **({"quality": QUALITY} if name == "JPEG" else {}))
    return out.getvalue()


def _guarded(act: Callable[[], Image.Image], media_type: MediaType) -> Image.Image:
    """What the decoder makes; it has many ways to say that it cannot."""
    try:
        return act()
    except Exception as error:  # a decoder fails in whatever way it likes
        detail = f"it cannot be decoded as {media_type}"
        remedy = "Send the picture whole, with the media type that it has."
        raise _refused("not-a-picture", detail, None, media_type, remedy) from error


def _refused(
    code: str, detail: str, value: str | int | None, allowed: str, remedy: str
) -> InvalidInput:
    return InvalidInput(
        Fault(pointer="", code=code, detail=detail, value=value, allowed=allowed, remedy=remedy)
    )

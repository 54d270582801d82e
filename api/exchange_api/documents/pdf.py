"""PDF from a template and a document's content: tagged, with its fonts inside, the same bytes for
the same content.

What people wrote reaches the renderer as data and is never part of its source.
"""

from collections.abc import Mapping
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from tempfile import TemporaryDirectory
from unicodedata import normalize

import msgspec
import typst

from exchange_api.documents.words import without_commitments

UNSHOWN = "\N{WHITE SQUARE}"
"""Stands for a letter that the fonts do not have, once one is in a document."""

SHARED = ("common.typ", "recorded.typ")

_SHOWN_RANGES = (
    (0x20, 0x7E), (0xA0, 0xAC), (0xAE, 0x17F), (0x391, 0x3A1), (0x3A3, 0x3A9), (0x3B1, 0x3C9),
    (0x401, 0x40C), (0x40E, 0x44F), (0x451, 0x45C), (0x45E, 0x45F), (0x2010, 0x2014),
    (0x2018, 0x201E), (0x2020, 0x2022), (0x2026, 0x2026), (0x2030, 0x2030), (0x2032, 0x2033),
    (0x20AC, 0x20AC), (0x2122, 0x2122), (0x2192, 0x2192), (0x2212, 0x2212), (0x2248, 0x2248),
    (0x2260, 0x2260), (0x2264, 0x2265), (0x25A1, 0x25A1),
)  # fmt: skip
"""What the text font surely has: Latin, Greek and Cyrillic letters and the usual signs."""


def make_pdf(
    template: str, content: msgspec.Struct, photos: Mapping[str, bytes] | None = None
) -> bytes:
    """The PDF that a template makes of a content; `photos` are files that the content names.

    The first look is with every letter as it was written. Where the fonts lack one, the renderer
    refuses, since nobody could read the document aloud; then what is not sure to be there is shown
    as a square, and the document says so.
    """
    data = without_commitments(msgspec.json.encode(content).decode())
    sources = {**_sources(template), **(photos or {})}
    try:
        return compiled(sources, template, data, squares=False)
    except typst.TypstError as error:
        if "could not be displayed" not in error.message:
            raise
        return compiled(sources, template, _certain(data), squares=True)


def compiled(sources: Mapping[str, bytes], main: str, data: str, *, squares: bool) -> bytes:
    """The PDF of a template among its sources.

    Raises: TypstError where a letter of the data is in no font
    """
    with TemporaryDirectory(prefix="exchange-pdf-") as name:
        folder = Path(name)
        for file, written in sources.items():
            (folder / file).write_bytes(written)
        return typst.compile(
            folder / main, root=folder, ignore_system_fonts=True, format="pdf",
            sys_inputs={"data": data, "squares": "yes" if squares else "no"},
            pdf_standards=["ua-1"],
        )  # fmt: skip


@lru_cache(maxsize=8)
def _sources(template: str) -> dict[str, bytes]:
    folder = files("exchange_api.documents").joinpath("templates")
    return {name: folder.joinpath(name).read_bytes() for name in (*SHARED, template)}


def _certain(data: str) -> str:
    """The content with a square for every letter that the fonts may lack."""
    return "".join(sign if is_surely_shown(sign) else UNSHOWN for sign in normalize("NFC", data))


def is_surely_shown(sign: str) -> bool:
    """Whether the text font has a letter.

    >>> is_surely_shown("ż"), is_surely_shown("車")
    (True, False)
    """
    return any(low <= ord(sign) <= high for low, high in _SHOWN_RANGES)

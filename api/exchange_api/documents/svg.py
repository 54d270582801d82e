"""Pictures as SVG text that stands alone: black on white, told apart by form, with words for those
who do not see it. HTML pages hold them as they are and the PDF maker draws the same text.
"""

from collections.abc import Iterable
from typing import TypeAlias
from xml.sax.saxutils import escape, quoteattr

from msgspec import Struct

Style: TypeAlias = dict[str, str | float]
"""Attributes that several elements share."""

FONT = "Libertinus Serif, Georgia, serif"
INK, SOFT, LINE, TINT = "#000000", "#444444", "#bbbbbb", "#e8e8e8"


class Picture(Struct, frozen=True, kw_only=True):
    """A drawing of `width` by `height`, in words (`alt`), and the sentence that stands below it."""

    svg: str
    alt: str
    caption: str
    width: float
    height: float


def picture(
    parts: Iterable[str], *, width: float, height: float, alt: str, caption: str
) -> Picture:
    """The picture that these elements make, from the back to the front.

    >>> picture([], width=10, height=5, alt="none", caption="").svg.endswith("</svg>")
    True
    """
    opened = element(
        "svg", xmlns="http://www.w3.org/2000/svg", viewBox=f"0 0 {width:g} {height:g}",
        role="img", aria_label=alt, font_family=FONT,
    ).removesuffix("/>")  # fmt: skip
    body = f"{opened}>{''.join(parts)}</svg>"
    return Picture(svg=body, alt=alt, caption=caption, width=width, height=height)


def element(tag: str, text: str | None = None, /, **attributes: str | float) -> str:
    """One element; `_` in a name becomes `-`, a final one is left out, values are escaped.

    >>> element("text", "a < b", x=1.25, text_anchor="end")
    '<text x="1.25" text-anchor="end">a &lt; b</text>'
    """
    told = "".join(
        f" {_name(name)}={quoteattr(_value(value))}" for name, value in attributes.items()
    )
    return f"<{tag}{told}/>" if text is None else f"<{tag}{told}>{escape(text)}</{tag}>"


def _name(name: str) -> str:
    return name if name == "viewBox" else name.removesuffix("_").replace("_", "-")


def _value(value: str | float) -> str:
    return value if isinstance(value, str) else f"{round(value, 2):g}"


def words(x: float, y: float, text: str, *, size: float = 11, **attributes: str | float) -> str:
    """Words whose baseline starts, or by `text_anchor` ends, at a place."""
    return element("text", text, x=x, y=y, font_size=size, **{"fill": INK, **attributes})


def rule(x1: float, y1: float, x2: float, y2: float, **attributes: str | float) -> str:
    """A straight line."""
    return element("line", x1=x1, y1=y1, x2=x2, y2=y2, **{"stroke": INK, **attributes})


def whisker(x: float, low: float, high: float, *, half: float = 6) -> str:
    """An upright line with a bar at either end, from one height to another."""
    return "".join(
        (
            rule(x, low, x, high, stroke_width=1.4),
            rule(x - half, low, x + half, low, stroke_width=1.4),
            rule(x - half, high, x + half, high, stroke_width=1.4),
        )
    )

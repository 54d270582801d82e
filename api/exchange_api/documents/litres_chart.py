"""Litres in and out as two columns with their uncertainty, all at 15 degC."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import cycle

from exchange_api.documents.moved import Side
from exchange_api.documents.svg import LINE, SOFT, Picture, element, picture, rule, whisker, words

WIDTH, HEIGHT = 400.0, 250.0
LEFT, TOP, BOTTOM = 44.0, 14.0, 26.0
COLUMN, FIRST, APART = 74.0, 70.0, 170.0
FILLS = ("#ffffff", "#d4d4d4", "#9a9a9a", "url(#lines)", "url(#dots)", "#6e6e6e")
STEPS_L = (0.5, 1, 2, 5, 10, 20, 50)
LEAST_HEIGHT = 11.0
"""So high must a part be for its words to stand beside it."""


def litres_chart(sides: Sequence[Side]) -> Picture | None:
    """The picture, None where nothing was measured."""
    most = max((side.litres + side.uncertainty_l for side in sides), default=0.0)
    if most <= 0:
        return None
    apart = next((step for step in STEPS_L if most / step <= 6), 200)
    top_l = apart * (most // apart + 1)
    drawn = [*_patterns(), *_grid(top_l, apart)]
    purposes = dict.fromkeys(part.name for side in sides for part in side.parts)
    fills = dict(zip(purposes, cycle(FILLS), strict=False))
    for n, side in enumerate(sides):
        drawn += _column(side, LEFT + FIRST + APART * n - COLUMN / 2, top_l, fills)
    return picture(
        drawn, width=WIDTH, height=HEIGHT, alt=_alt(sides),
        caption="Litres at 15 °C. The whisker shows where the sum lies with about 95 of 100 parts "
        "of certainty, from meters, temperatures and hoses.",
    )  # fmt: skip


def _y(litres: float, top_l: float) -> float:
    return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * litres / top_l


def _patterns() -> Iterator[str]:
    """Hatching, so that parts differ on paper without colour."""
    yield (
        '<defs><pattern id="lines" width="5" height="5" patternUnits="userSpaceOnUse">'
        '<rect width="5" height="5" fill="#ffffff"/>'
        '<path d="M0 5 5 0" stroke="#000000" stroke-width="0.9"/></pattern>'
        '<pattern id="dots" width="5" height="5" patternUnits="userSpaceOnUse">'
        '<rect width="5" height="5" fill="#ffffff"/><circle cx="2.5" cy="2.5" r="1"/></pattern>'
        "</defs>"
    )


def _grid(top_l: float, apart: float) -> Iterator[str]:
    for n in range(round(top_l / apart) + 1):
        y = _y(n * apart, top_l)
        yield rule(LEFT, y, WIDTH, y, stroke=LINE if n else "#000000", stroke_width=0.6)
        yield words(LEFT - 6, y + 4, f"{n * apart:g} L", text_anchor="end")


def _column(side: Side, x: float, top_l: float, fills: Mapping[str, str]) -> Iterator[str]:
    """One side; what serves one purpose is filled alike in both."""
    base, said = 0.0, HEIGHT
    for part in side.parts:
        low, high = _y(base, top_l), _y(base + part.litres, top_l)
        yield element(
            "rect", x=x, y=high, width=COLUMN, height=low - high, fill=fills[part.name],
            stroke="#000000", stroke_width=1,
        )  # fmt: skip
        said = min(said - LEAST_HEIGHT, (low + high) / 2 + 3)
        told = f"{part.litres:.2f} {part.name}"
        yield words(x + COLUMN + 5, said, told, size=9.5, stroke="#ffffff", stroke_width=3)
        yield words(x + COLUMN + 5, said, told, size=9.5)
        base += part.litres
    middle = x + COLUMN / 2
    if side.parts:
        low, high = base - side.uncertainty_l, base + side.uncertainty_l
        yield whisker(middle, _y(max(low, 0.0), top_l), _y(high, top_l))
    told = f"{side.name} {base:.2f} L"
    yield words(middle, HEIGHT - 8, told, size=12, text_anchor="middle", font_weight="bold")
    if not side.parts:
        yield words(middle, HEIGHT - BOTTOM - 8, "not measured", text_anchor="middle", fill=SOFT)


def _alt(sides: Sequence[Side]) -> str:
    told = []
    for side in sides:
        parts = ", ".join(f"{part.litres:.2f} L {part.name}" for part in side.parts)
        told.append(
            f"{side.name}: {side.litres:.2f} L, uncertain by {side.uncertainty_l:.2f} L"
            + (f", of it {parts}" if parts else "")
        )
    return "Litres at 15 °C in two columns. " + "; ".join(told) + "."

"""The fresh share reached, with its bounds, on a line from none to all."""

from collections.abc import Iterator
from typing import NamedTuple

from exchange_api.documents.svg import LINE, SOFT, TINT, Picture, element, picture, rule, words
from exchange_api.documents.words import of_hundred
from libexchange.record import JobRecord

WIDTH, HEIGHT = 720.0, 86.0
LEFT, RIGHT = 12.0, 24.0
TOP, BASE = 30.0, 56.0


class Shares(NamedTuple):
    """What is drawn, all from 0 to 1."""

    low: float
    expected: float
    high: float
    target: float | None


def shares_of(record: JobRecord) -> Shares | None:
    """The share that a record tells, None where it cannot be told."""
    share = record.fresh_share
    if share is None:
        return None
    return Shares(share.low, share.expected, share.high, record.plan.request.target_fresh_share)


def share_chart(record: JobRecord) -> Picture | None:
    """The picture, None where the share cannot be told."""
    shares = shares_of(record)
    if shares is None:
        return None
    told = f"About {of_hundred(shares.expected)} of 100 parts are fresh, between {_band(shares)}"
    asked = f"; asked for were {of_hundred(shares.target)}" if shares.target else ""
    return picture(
        _drawn(shares), width=WIDTH, height=HEIGHT,
        alt=f"Share of fresh fluid on a line from 0 to 100 parts. {told}{asked}.",
        caption="Calculated from typical values and the litres recorded, not measured on the "
        "vehicle. The bar spans what is likely, the upright line is what is expected.",
    )  # fmt: skip


def _band(shares: Shares) -> str:
    return f"{of_hundred(shares.low)} and {of_hundred(shares.high)}"


def _x(share: float) -> float:
    return LEFT + (WIDTH - LEFT - RIGHT) * share


def _drawn(shares: Shares) -> Iterator[str]:
    low, high, expected = _x(shares.low), _x(shares.high), _x(shares.expected)
    yield element("rect", x=LEFT, y=TOP, width=_x(1) - LEFT, height=BASE - TOP, fill="#ffffff",
                  stroke=LINE, stroke_width=0.8)  # fmt: skip
    yield element("rect", x=low, y=TOP, width=max(high - low, 1), height=BASE - TOP, fill=TINT,
                  stroke="#000000", stroke_width=1)  # fmt: skip
    yield rule(expected, TOP - 6, expected, BASE + 6, stroke_width=3)
    told = f"{of_hundred(shares.expected)} ({of_hundred(shares.low)} to {of_hundred(shares.high)})"
    yield words(expected, TOP - 11, told, size=13, text_anchor="middle", font_weight="bold")
    for n in range(0, 101, 20):
        yield rule(_x(n / 100), BASE, _x(n / 100), BASE + 4, stroke_width=0.8)
        yield words(_x(n / 100), BASE + 18, str(n), text_anchor="middle")
    if shares.target is not None:
        yield from _target(_x(shares.target))


def _target(x: float) -> Iterator[str]:
    yield rule(x, TOP, x, BASE, stroke_width=1.2, stroke_dasharray="4 3")
    yield words(x, BASE + 29, "asked for", size=10, text_anchor="middle", fill=SOFT)

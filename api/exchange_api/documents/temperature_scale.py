"""The axes of a picture of temperature over time: where a moment and a temperature lie."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from typing import NamedTuple

WIDTH, HEIGHT = 720.0, 268.0
LEFT, RIGHT, TOP, BOTTOM = 50.0, 70.0, 34.0, 44.0
STEP_C = 20
MINUTES_APART = (1, 2, 5, 10, 15, 30, 60, 120, 240, 480)
MOST_MARKS = 8
DAY_MIN = 1440


class Scale(NamedTuple):
    """What is shown from where to where."""

    began: datetime
    ended: datetime
    low_c: float
    high_c: float

    @property
    def seconds(self) -> float:
        """How long it is, above 0 [s]."""
        return (self.ended - self.began).total_seconds()

    def x(self, at: datetime) -> float:
        """Where a moment lies across."""
        part = (at - self.began).total_seconds() / self.seconds
        return LEFT + (WIDTH - LEFT - RIGHT) * part

    def y(self, celsius: float) -> float:
        """Where a temperature lies from the top."""
        part = (celsius - self.low_c) / (self.high_c - self.low_c)
        return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * part


def scale_of(moments: Sequence[datetime], temperatures_c: Sequence[float]) -> Scale:
    """The scale that holds all of these, its temperatures whole steps.

    moments: at least two that differ
    """
    low_c = STEP_C * (min(temperatures_c) // STEP_C)
    high_c = STEP_C * (max(temperatures_c) // STEP_C + 1)
    return Scale(began=min(moments), ended=max(moments), low_c=low_c, high_c=high_c)


def marks_across(scale: Scale) -> range:
    """The temperatures that have a line."""
    return range(int(scale.low_c), int(scale.high_c) + 1, STEP_C)


def marks_along(scale: Scale) -> Iterator[tuple[float, str]]:
    """Where the clock stands at a whole number of minutes, at most nine of them."""
    apart = minutes_apart(scale.seconds / 60)
    midnight = scale.began.replace(hour=0, minute=0, second=0, microsecond=0)
    passed = (scale.began - midnight).total_seconds() / 60
    at = midnight + timedelta(minutes=apart * -(-passed // apart))
    while at <= scale.ended:
        yield scale.x(at), f"{at:%H:%M}" if apart < DAY_MIN else f"{at:%d.%m.}"
        at += timedelta(minutes=apart)


def minutes_apart(minutes: float) -> int:
    """How far apart the marks of a span stand.

    >>> minutes_apart(60), minutes_apart(3000), minutes_apart(30_000)
    (10, 480, 4320)
    """
    for apart in MINUTES_APART:
        if minutes / apart <= MOST_MARKS:
            return apart
    days = -(-minutes // (DAY_MIN * MOST_MARKS))
    return DAY_MIN * int(days)

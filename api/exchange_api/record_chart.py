"""The temperatures of a job over time, ready to be drawn, with the level window behind them."""

from collections.abc import Sequence
from datetime import datetime
from typing import NamedTuple

from libexchange.catalogue import TemperatureWindow
from libexchange.job.events import LevelChecked, ReadingTaken
from libexchange.quantities import Temperature
from libexchange.record import JobRecord

WIDTH, HEIGHT = 720.0, 190.0
LEFT, RIGHT, BOTTOM = 44.0, 26.0, 26.0
STEP_C = 20


class Mark(NamedTuple):
    """A place on the picture with its words."""

    x: float
    y: float
    text: str


class Chart(NamedTuple):
    """A picture in its own pixels, the origin at the top left."""

    lines: list[str]
    looks: list[tuple[float, float]]
    band: tuple[float, float] | None
    across: list[Mark]
    along: list[Mark]


class _Scale(NamedTuple):
    began: datetime
    seconds: float
    low_c: float
    high_c: float

    def x(self, seconds: float) -> float:
        return round(LEFT + (WIDTH - LEFT - RIGHT) * seconds / self.seconds, 1)

    def place(self, at: datetime, temperature: Temperature) -> tuple[float, float]:
        return self.x((at - self.began).total_seconds()), self.y(temperature.c)

    def y(self, celsius: float) -> float:
        part = (celsius - self.low_c) / (self.high_c - self.low_c)
        return round((HEIGHT - BOTTOM) * (1 - part) + 6, 1)


def chart_of(record: JobRecord) -> Chart | None:
    """The picture, None with fewer than two temperatures at different times."""
    events = [one.event for one in record.events if one.event.event_id not in record.withdrawn]
    readings = [e for e in events if isinstance(e, ReadingTaken) and e.temperature is not None]
    looks = [e for e in events if isinstance(e, LevelChecked)]
    moments = [event.occurred_at for event in (*readings, *looks)]
    if len(readings) < 2 or min(moments) == max(moments):
        return None
    window = record.plan.offline_card.window if record.plan.offline_card else None
    scale = _scale(readings, window, min(moments), max(moments))
    return Chart(
        lines=_lines(scale, readings),
        looks=[scale.place(one.occurred_at, one.temperature) for one in looks],
        band=(scale.y(window.high.c), scale.y(window.low.c)) if window else None,
        across=_across(scale),
        along=_along(scale),
    )


def _lines(scale: _Scale, readings: Sequence[ReadingTaken]) -> list[str]:
    """The points of each source."""
    points: dict[str, list[str]] = {}
    for event in readings:
        if event.temperature is not None:
            x, y = scale.place(event.occurred_at, event.temperature)
            points.setdefault(event.source, []).append(f"{x},{y}")
    return [" ".join(own) for own in points.values()]


def _scale(
    readings: Sequence[ReadingTaken],
    window: TemperatureWindow | None,
    began: datetime,
    ended: datetime,
) -> _Scale:
    seen = [event.temperature.c for event in readings if event.temperature]
    seen += [window.low.c, window.high.c] if window else []
    low_c, high_c = STEP_C * (min(seen) // STEP_C), STEP_C * (max(seen) // STEP_C + 1)
    seconds = (ended - began).total_seconds()
    return _Scale(began=began, seconds=seconds, low_c=low_c, high_c=high_c)


def _across(scale: _Scale) -> list[Mark]:
    marks = range(int(scale.low_c), int(scale.high_c) + 1, STEP_C)
    return [Mark(LEFT, scale.y(celsius), f"{celsius} °C") for celsius in marks]


def _along(scale: _Scale) -> list[Mark]:
    """Four to nine marks, a whole number of minutes apart."""
    minutes = scale.seconds / 60
    apart = next((n for n in (1, 2, 5, 10, 15, 30, 60, 120) if minutes / n <= 9), 24 * 60)
    marks = range(0, min(int(minutes), 9 * apart) + 1, apart)
    return [Mark(scale.x(60.0 * n), HEIGHT - 4, f"{n} min") for n in marks]

"""The temperatures of a job over time, with the level window behind them and what was done."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from typing import NamedTuple, TypeAlias

from exchange_api.documents.history import in_force
from exchange_api.documents.svg import (
    LINE,
    SOFT,
    TINT,
    Picture,
    Style,
    element,
    picture,
    rule,
    words,
)
from exchange_api.documents.temperature_scale import (
    BOTTOM,
    HEIGHT,
    LEFT,
    RIGHT,
    TOP,
    WIDTH,
    Scale,
    marks_across,
    marks_along,
    scale_of,
)
from exchange_api.documents.thinning import thinned
from exchange_api.documents.words import spaced
from libexchange.catalogue import TemperatureWindow
from libexchange.job.course import Pause
from libexchange.job.events import JobEvent, LevelChecked, ReadingTaken, StepConfirmed
from libexchange.record import JobRecord

DASHES = ("none", "6 3", "1.5 2.5", "9 3 2 3", "12 4", "3 5")
"""How the line of each source is drawn, so that they differ without colour."""

SOURCE_NAMES = {
    "scan_tool": "scan tool", "scan_tool_typed": "typed in", "in_line": "in the line",
    "clamp_on": "clamp-on", "infrared": "infrared", "dashboard": "dashboard",
}  # fmt: skip
SOON = timedelta(minutes=10)
"""Between two readings further apart than this nobody knows what the temperature was."""

MOST_SIGNS = 9
SIGN_ROOM = 15.0


Seen: TypeAlias = list[tuple[datetime, float]]
"""Temperatures of one source, in order."""


class Sign(NamedTuple):
    """A moment with its number and what was done then."""

    number: int
    at: datetime
    text: str


def temperature_chart(record: JobRecord) -> Picture | None:
    """The picture, None with fewer than two temperatures at different times."""
    events = in_force(record)
    readings = [e for e in events if isinstance(e, ReadingTaken) and e.temperature is not None]
    looks = [e for e in events if isinstance(e, LevelChecked)]
    moments = [event.occurred_at for event in (*readings, *looks)]
    if len(readings) < 2 or min(moments) == max(moments):
        return None
    card = record.plan.offline_card
    window = card.window if card else None
    zone = moments[0].tzinfo
    seen = [e.temperature.c for e in readings if e.temperature] + [e.temperature.c for e in looks]
    edges = [window.low.c, window.high.c] if window else []
    scale = scale_of([at.astimezone(zone) for at in moments], seen + edges)
    done = _confirmed(record, events, scale)
    signs = signs_of(done, scale)
    lines = by_source(readings)
    return picture(
        [
            *_paused(scale, record.pauses), *_window(scale, window), *_grid(scale),
            *_lines(scale, lines), *_looks(scale, looks), *_signs(scale, signs), *_key(lines),
        ],
        width=WIDTH, height=HEIGHT, alt=_alt(scale, lines, looks, window),
        caption=_caption(signs, some_left=len(signs) < len(done)),
    )  # fmt: skip


def _confirmed(
    record: JobRecord, events: Iterable[JobEvent], scale: Scale
) -> list[tuple[datetime, str]]:
    """The steps that were confirmed while temperatures were read."""
    titles = {step.step_id: spaced(step.kind) for step in record.plan.steps}
    done = [e for e in events if isinstance(e, StepConfirmed) and e.step_id in titles]
    within = [e for e in done if scale.began <= e.occurred_at <= scale.ended]
    return [(e.occurred_at, titles[e.step_id]) for e in within]


def signs_of(done: Sequence[tuple[datetime, str]], scale: Scale) -> list[Sign]:
    """The moments of as many steps as there is room for, evenly chosen, numbered."""
    shown = done[:: -(-len(done) // MOST_SIGNS)] if done else []
    zone = scale.began.tzinfo
    return [Sign(n, at.astimezone(zone), text) for n, (at, text) in enumerate(shown, 1)]


def by_source(readings: Iterable[ReadingTaken]) -> dict[str, Seen]:
    """The temperatures of each source, in order."""
    lines: dict[str, Seen] = {}
    for event in readings:
        if event.temperature is not None:
            lines.setdefault(event.source, []).append((event.occurred_at, event.temperature.c))
    return lines


def _window(scale: Scale, window: TemperatureWindow | None) -> list[str]:
    if window is None:
        return []
    high, low, right = scale.y(window.high.c), scale.y(window.low.c), WIDTH - RIGHT
    edge: Style = {"stroke": SOFT, "stroke_width": 0.8, "stroke_dasharray": "3 2"}
    return [
        element("rect", x=LEFT, y=high, width=right - LEFT, height=low - high, fill=TINT),
        rule(LEFT, high, right, high, **edge),
        rule(LEFT, low, right, low, **edge),
        words(right + 8, (high + low) / 2 + 1, "window for", size=10, fill=SOFT),
        words(right + 8, (high + low) / 2 + 12, "the level", size=10, fill=SOFT),
    ]


def _grid(scale: Scale) -> list[str]:
    base = HEIGHT - BOTTOM
    drawn = []
    for celsius in marks_across(scale):
        y = scale.y(celsius)
        drawn.append(rule(LEFT, y, WIDTH - RIGHT, y, stroke=LINE, stroke_width=0.6))
        drawn.append(words(LEFT - 6, y + 4, f"{celsius} °C", text_anchor="end"))
    for x, text in marks_along(scale):
        drawn.append(rule(x, base, x, base + 4, stroke_width=0.8))
        drawn.append(words(x, base + 17, text, text_anchor="middle"))
    return [*drawn, rule(LEFT, base, WIDTH - RIGHT, base, stroke_width=0.8)]


def _lines(scale: Scale, lines: dict[str, Seen]) -> list[str]:
    drawn = []
    for (_, seen), dashes in zip(lines.items(), DASHES, strict=False):
        runs = list(runs_of(seen))
        for run in runs:
            drawn += _run(scale, run, dashes)
        for before, after in pairwise(runs):
            (at, celsius), (then, later) = before[-1], after[0]
            ends = scale.x(at), scale.y(celsius), scale.x(then), scale.y(later)
            drawn.append(rule(*ends, stroke=SOFT, stroke_width=0.6))
    return drawn


def runs_of(seen: Seen) -> Iterator[Seen]:
    """Temperatures in rows, in which one follows the other soon."""
    run: Seen = []
    for at, celsius in seen:
        if run and at - run[-1][0] > SOON:
            yield run
            run = []
        run.append((at, celsius))
    yield run


def _run(scale: Scale, run: Seen, dashes: str) -> list[str]:
    points = thinned((scale.x(at), scale.y(celsius)) for at, celsius in run)
    if len(points) == 1:
        return [element("circle", cx=x, cy=y, r=1.8) for x, y in points]
    told = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    style: Style = {"fill": "none", "stroke": "#000000", "stroke_width": 1.5}
    return [element("polyline", points=told, stroke_dasharray=dashes, **style)]


def _paused(scale: Scale, pauses: Iterable[Pause]) -> list[str]:
    """A grey field over each pause, from bottom to top."""
    drawn = []
    for pause in pauses:
        left = scale.x(max(pause.paused_at, scale.began))
        right = scale.x(min(pause.resumed_at or scale.ended, scale.ended))
        if right > left:
            sides = {"x": left, "y": TOP, "width": right - left, "height": HEIGHT - BOTTOM - TOP}
            drawn.append(element("rect", fill="#ececec", **sides))
            drawn.append(words((left + right) / 2, TOP + 11, "paused", size=10, fill=SOFT,
                               text_anchor="middle"))  # fmt: skip
    return drawn


def _looks(scale: Scale, looks: Sequence[LevelChecked]) -> list[str]:
    return [
        element(
            "circle", cx=scale.x(look.occurred_at), cy=scale.y(look.temperature.c), r=4.2,
            fill="#ffffff", stroke="#000000", stroke_width=1.8,
        )
        for look in looks
    ]  # fmt: skip


def _signs(scale: Scale, signs: Sequence[Sign]) -> list[str]:
    """A dotted line at each moment, which leads up to its number."""
    drawn, y = [], TOP - 20
    moments = [scale.x(sign.at) for sign in signs]
    for sign, x, at in zip(signs, moments, spread(moments), strict=True):
        dots: Style = {"stroke": SOFT, "stroke_width": 0.7, "stroke_dasharray": "1 2.5"}
        drawn.append(rule(x, TOP - 6, x, HEIGHT - BOTTOM, **dots))
        drawn.append(rule(at, y + 3, x, TOP - 6, stroke=SOFT, stroke_width=0.7))
        drawn.append(words(at, y, str(sign.number), size=10.5, text_anchor="middle",
                           font_weight="bold"))  # fmt: skip
    return drawn


def spread(places: Sequence[float]) -> list[float]:
    """Where numbers stand that belong to places, in order and with room for each.

    >>> spread([50.0, 51.0, 649.0, 650.0])
    [50.0, 65.0, 635.0, 650.0]
    """
    spread_out: list[float] = []
    for place in places:
        spread_out.append(max(place, spread_out[-1] + SIGN_ROOM) if spread_out else place)
    last = WIDTH - RIGHT
    for n in reversed(range(len(spread_out))):
        spread_out[n] = last = min(spread_out[n], last)
        last -= SIGN_ROOM
    return spread_out


def _key(lines: dict[str, Seen]) -> list[str]:
    """Each source with its kind of line, in a row below the clock."""
    drawn, y = [], HEIGHT - 8
    for n, (source, dashes) in enumerate(zip(lines, DASHES, strict=False)):
        x = LEFT + 100 * n
        drawn.append(rule(x, y - 4, x + 26, y - 4, stroke_width=1.5, stroke_dasharray=dashes))
        drawn.append(words(x + 31, y, SOURCE_NAMES[source], size=10))
    return drawn


def _alt(
    scale: Scale,
    lines: dict[str, Seen],
    looks: Sequence[LevelChecked],
    window: TemperatureWindow | None,
) -> str:
    parts = [f"{SOURCE_NAMES[source]}: {_course(seen)}" for source, seen in lines.items()]
    if window is not None:
        parts.append(f"window for the level {window.low.c:g} to {window.high.c:g} °C")
    parts += [f"look at the level at {look.temperature.c:.1f} °C" for look in looks[:20]]
    span = f"from {scale.began:%H:%M} to {scale.ended:%H:%M}"
    return f"Temperature of the fluid over time, {span}. " + "; ".join(parts) + "."


def _course(seen: Seen) -> str:
    low, high = min(c for _, c in seen), max(c for _, c in seen)
    ends = f"{seen[0][1]:.1f} °C at first, {seen[-1][1]:.1f} °C at last"
    return f"{ends}, between {low:.1f} and {high:.1f} °C"


def _caption(signs: Sequence[Sign], *, some_left: bool) -> str:
    told = "; ".join(f"{sign.number} {sign.text} {sign.at:%H:%M}" for sign in signs)
    steps = f" Steps confirmed{', not all of them shown' * some_left}: {told}." if told else ""
    return (
        "One line for each source of readings, straight between two of them, thin where they are "
        f"more than 10 min apart; circles are looks at the level.{steps}"
    )

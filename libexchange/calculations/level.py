"""Judge one look at the fluid level."""

from typing import Annotated, Any

from msgspec import Meta, Struct

from libexchange.calculations._faults import fault, out_of_range, raise_if_any, total_faults
from libexchange.catalogue import LevelMethod, TemperatureWindow
from libexchange.errors import Fault
from libexchange.level_verdict import (
    DipstickReading,
    LevelAnswer,
    LevelCheck,
    Observed,
    judge_level,
)
from libexchange.quantities import Temperature, Volume

EXAMPLE: dict[str, Any] = {
    "method": "overflow_plug",
    "total": {"value": 9.0, "unit": "L"},
    "window": {"low": {"value": 35, "unit": "Cel"}, "high": {"value": 45, "unit": "Cel"}},
    "temperature": {"value": 40, "unit": "Cel"},
    "observed": "nothing",
    "added": {"value": 0, "unit": "L"},
    "rounds": 0,
}


class LevelRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One look at the level: `observed` at an overflow plug, `reading` on a dipstick.

    total: 0.5 to 200 L    window: the maker's; null when it is not known
    added, rounds: corrections since the refill was complete; the refill is not one
    """

    method: LevelMethod
    total: Volume
    window: TemperatureWindow | None = None
    temperature: Temperature
    observed: Observed | None = None
    reading: DipstickReading | None = None
    added: Volume
    rounds: Annotated[int, Meta(ge=0, le=100)]


def calculate_level(request: LevelRequest) -> LevelAnswer:
    """The verdict of one look at the level, with the correction in litres.

    Raises: InvalidInput    Source: common practice.

    >>> import msgspec
    >>> answer = calculate_level(msgspec.convert(EXAMPLE, LevelRequest))
    >>> answer.verdict, answer.correction
    ('add', VolumeChange(value=0.3, unit='L'))
    """
    raise_if_any(total_faults(request.total) + _window_faults(request) + _look_faults(request))
    return judge_level(
        LevelCheck(
            method=request.method,
            total=request.total,
            window=request.window,
            temperature=request.temperature,
            observed=request.observed,
            reading=request.reading,
            added=request.added,
            rounds=request.rounds,
        )
    )


def _window_faults(request: LevelRequest) -> list[Fault]:
    window = request.window
    if window is None or window.low.c < window.high.c:
        return []
    return [
        fault(
            "/window/low",
            "window-reversed",
            "the lower edge is not below the upper edge",
            value=window.low,
            allowed=f"below {window.high.c:g} Cel",
            remedy="Give the lower edge as low and the upper edge as high.",
        )
    ]


def _look_faults(request: LevelRequest) -> list[Fault]:
    needed = "observed" if request.method == "overflow_plug" else "reading"
    if getattr(request, needed) is None:
        detail = f"the method {request.method} cannot be judged without {needed}"
        remedy = f"Give {needed}, or another method."
        return [fault(f"/{needed}", "missing", detail, allowed=f"{needed} present", remedy=remedy)]
    reading = request.reading
    if (
        reading is None
        or reading.between_marks is None
        or reading.between_marks.l <= request.total.l
    ):
        return []
    return [out_of_range("/reading/between_marks", reading.between_marks, "at most the total fill")]

"""Judge one look at the fluid level."""

from typing import Annotated, Any

from msgspec import Meta, Struct

from libexchange.calculations._faults import (
    fault,
    out_of_range,
    raise_if_any,
    temperature_faults,
    total_faults,
)
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

MOST_BETWEEN_MARKS_L = 20.0

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

    total: 0.5 to 500 L    window: the maker's; null when it is not known
    temperature: -50 to 150 Cel    reading.between_marks: at most 20 L and the total
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
    raise_if_any(
        [
            *total_faults(request.total),
            *temperature_faults(request.temperature),
            *_look_faults(request),
        ]
    )
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


def _look_faults(request: LevelRequest) -> list[Fault]:
    needed = "observed" if request.method == "overflow_plug" else "reading"
    if getattr(request, needed) is None:
        detail = f"the method {request.method} cannot be judged without {needed}"
        remedy = f"Give {needed}, or another method."
        return [
            fault(f"/{needed}", "missing-field", detail, allowed=f"{needed} present", remedy=remedy)
        ]
    between = request.reading.between_marks if request.reading else None
    largest_l = min(MOST_BETWEEN_MARKS_L, request.total.l)
    if between is None or between.l <= largest_l:
        return []
    return [out_of_range("/reading/between_marks", between, f"0 to {largest_l:g} L")]

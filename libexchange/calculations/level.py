"""Judge one look at the fluid level."""

from typing import Any

from libexchange.calculations._faults import (
    density_faults,
    fault,
    out_of_range,
    raise_if_any,
    temperature_faults,
    total_faults,
)
from libexchange.errors import Fault
from libexchange.level_records import LOOKS_BY, LevelAnswer, LevelCheck, looks_given
from libexchange.level_verdict import judge_level

MOST_REFILL_L = 1000.0
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


class LevelRequest(LevelCheck, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One look at the level; the overflow methods are judged by `observed`, a dipstick by
    `reading`, a sight tube or read-out by `reading` or `read_out`, a measured refill by `refill`.

    total: 0.5 to 500 L    window: the maker's; null when it is not known
    temperature: -50 to 150 Cel    reading.between_marks: above 0, at most 20 L and the total
    added, rounds: corrections since the refill was complete; the refill is not one
    outstanding: at most the total    refill: at most 1,000 L each
    method: how it is read    observed: what was seen at the overflow    reading: of a stick
    density_15: null is a typical one    rate: how fast the fluid warms, negative when it cools
    engine_running: while it was read    checked_with_engine_running: how the maker wants it
    smoke_seen, foam_seen, gears_cycled, selector_right, overflow_tube_fitted: as it was; null
        where nobody looked
    """


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
            *_amount_faults(request),
            *density_faults(request.density_15),
        ]
    )
    return judge_level(request)


def _look_faults(request: LevelRequest) -> list[Fault]:
    given, needed = looks_given(request, request.method), LOOKS_BY[request.method]
    if len(given) != 1:
        code = "exactly-one-of" if given else "missing-field"
        names = " or ".join(needed)
        detail = f"the method {request.method} is judged by {names}, exactly one"
        remedy = f"Give {names}, or another method."
        pointer, allowed = f"/{needed[0]}", f"{names} present"
        return [fault(pointer, code, detail, allowed=allowed, remedy=remedy)]
    return _band_faults(request)


def _band_faults(request: LevelRequest) -> list[Fault]:
    between = request.reading.between_marks if request.reading else None
    largest_l = min(MOST_BETWEEN_MARKS_L, request.total.l)
    if between is None or 0 < between.l <= largest_l:
        return []
    return [out_of_range("/reading/between_marks", between, f"above 0 to {largest_l:g} L")]


def _amount_faults(request: LevelRequest) -> list[Fault]:
    refill = request.refill
    amounts = {"/outstanding": (request.outstanding, request.total.l)}
    if refill is not None:
        amounts |= {
            "/refill/out_15": (refill.out_15, MOST_REFILL_L),
            "/refill/in_15": (refill.in_15, MOST_REFILL_L),
            "/refill/uncertainty": (refill.uncertainty, MOST_REFILL_L),
        }
    return [
        out_of_range(pointer, amount, f"0 to {most_l:g} L")
        for pointer, (amount, most_l) in amounts.items()
        if amount is not None and amount.l > most_l
    ]

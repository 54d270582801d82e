"""What a forecast of a warm-up has to say beside its numbers."""

from collections.abc import Iterable, Sequence

from libexchange import warmup_findings as kinds
from libexchange.calculations.warm_up_records import (
    DurationEstimate,
    TargetTime,
    TemperatureEstimate,
    WarmUpRequest,
)
from libexchange.findings import Finding
from libexchange.heat_quantities import HeatTransfer
from libexchange.reading_findings import SPIKES

HOTTEST_C = 110.0
"""Above this no work on the fluid begins (common practice) [degC]."""


def left_out(count: int) -> list[Finding]:
    """That readings were left out of the fit, where any were.

    >>> left_out(0)
    []
    """
    if not count:
        return []
    text = f"{count} of the readings are spikes or come before a jump; the fit leaves them out."
    return [SPIKES.at("#/readings", text, values={"left_out": count})]


def unreached(
    times: Sequence[TargetTime], request: WarmUpRequest, *, told: bool
) -> Iterable[Finding]:
    """Which targets are not met, surely or perhaps.

    told: whether the readings tell where the temperature settles
    """
    for index, time in enumerate(times):
        pointer, values = f"#/targets/{index}", {"target_c": time.target.c}
        text = f"{time.target.c:g} °C is not met from here on"
        meeting = _meeting_that_counts(time, told=told)
        if meeting is None or (meeting.expected is not None and meeting.high is None):
            yield kinds.MAY_NOT_GET_THERE.at(
                pointer, f"{text} in one of 20 cases or more.", values=values
            )
        elif meeting.expected is None:
            cools = time.target.c < request.start.c
            kind = kinds.WILL_NOT_COOL if cools else kinds.WILL_NOT_GET_THERE
            yield kind.at(pointer, f"{text}.", values=values)


def _meeting_that_counts(time: TargetTime, *, told: bool) -> DurationEstimate | None:
    """What tells whether a temperature is met, null where that is open.

    That the best curve does not meet it says little while others do, or while a straight line fits
    as well.
    """
    after = time.after_last_reading
    if after is None:
        return time.from_start
    if after.expected is not None or (told and after.low is None):
        return after
    return time.from_start if not told and time.from_start.expected is None else None


def too_hot(request: WarmUpRequest, settled: TemperatureEstimate) -> list[Finding]:
    """Whether it starts or is expected to settle above 110 degC."""
    limit = {"limit_c": HOTTEST_C}
    found = []
    if request.start.c > HOTTEST_C:
        text = f"It starts at {request.start.c:g} °C."
        values = {"temperature_c": request.start.c, **limit}
        found.append(kinds.HOT.at("#/start", text, values=values))
    if settled.expected.c > HOTTEST_C:
        text = f"It is expected to settle at {settled.expected.c:.0f} °C."
        values = {"temperature_c": settled.expected.c, **limit}
        found.append(kinds.HOT.at("#", text, values=values))
    return found


def assumed(request: WarmUpRequest) -> list[Finding]:
    """Which heat values were not given."""
    given = {
        "heat_capacity": request.heat_capacity,
        "power": request.power,
        "loss": request.loss,
        "exchanger": request.exchanger if request.coolant else HeatTransfer(0, "W/K"),
    }
    names = ", ".join(name.replace("_", " ") for name, value in given.items() if value is None)
    text = f"Typical of a car are: {names}."
    return [kinds.HEAT_ASSUMED.at("#", text)] if names else []

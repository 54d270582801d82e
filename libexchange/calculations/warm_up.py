"""Warming up and cooling down: the temperature after a time, and the time to a temperature."""

from collections.abc import Iterable, Sequence
from math import inf
from typing import Any

from libexchange import warmup
from libexchange import warmup_findings as kinds
from libexchange.calculations._faults import fault, out_of_range, raise_if_any, total_faults
from libexchange.calculations.warm_up_findings import assumed, left_out, too_hot, unreached
from libexchange.calculations.warm_up_records import (
    DurationEstimate,
    TargetTime,
    TemperatureEstimate,
    WarmUpAnswer,
    WarmUpFit,
    WarmUpRequest,
)
from libexchange.errors import Fault
from libexchange.findings import Finding
from libexchange.quantities import Duration, Temperature, Volume
from libexchange.reading_checks import checked
from libexchange.readings import SOURCES, Reading, temperature_samples
from libexchange.warmup import Approach, Range, low_middle_high
from libexchange.warmup_fit import LEAST_READINGS, Meeting, Moment, fit_approach, predict_meeting

__all__ = ["EXAMPLE", "WarmUpAnswer", "WarmUpRequest", "calculate_warm_up"]

LEAST_LOSS_W_PER_K, LEAST_CAPACITY_KJ_PER_K = 0.1, 0.1
LONGEST_S = 3.6e6
"""What takes longer counts as never, 1,000 h."""

EXAMPLE: dict[str, Any] = {
    "start": {"value": 20, "unit": "Cel"},
    "ambient": {"value": 20, "unit": "Cel"},
    "total": {"value": 9.0, "unit": "L"},
    "targets": [{"value": 40, "unit": "Cel"}, {"value": 88, "unit": "Cel"}],
    "after": {"value": 30, "unit": "min"},
}


def calculate_warm_up(request: WarmUpRequest) -> WarmUpAnswer:
    """The temperature of a unit over time, from what is known of it and from its readings.

    Raises: InvalidInput    Source: heat balance of one lump; what is typical is from memory.

    >>> import msgspec
    >>> answer = calculate_warm_up(msgspec.convert(EXAMPLE, WarmUpRequest))
    >>> [round(c.c) for c in (answer.settled.low, answer.settled.expected, answer.settled.high)]
    [47, 68, 99]
    >>> [finding.code for finding in answer.findings]
    ['heat-values-assumed', 'temperature-not-reached']
    """
    raise_if_any(_faults(request))
    approaches = _approaches(request)
    raise_if_any(_settled_faults(approaches))
    moments, few = _moments(request.readings)
    times = [_target_time(request, target, approaches, moments) for target in request.targets]
    fitted, untold = _fitted(moments)
    settled = _temperatures([approach.settled_c for approach in approaches])
    return WarmUpAnswer(
        settled=settled,
        time_constant=_durations([approach.time_constant_s for approach in approaches]),
        temperature_after=_after(request, approaches),
        times=times,
        fitted=fitted,
        findings=[
            *assumed(request),
            *unreached(times, request, told=fitted is not None),
            *too_hot(request, fitted.settled if fitted else settled),
            *few,
            *untold,
        ],
    )


def _approaches(request: WarmUpRequest) -> list[Approach]:
    exchanger = request.exchanger
    no_exchanger = (0.0, 0.0) if request.coolant is None else warmup.TYPICAL_EXCHANGER_W_PER_K
    capacity = request.heat_capacity
    total_l = request.total.l if request.total else 0.0
    return warmup.possible_approaches(
        heat_capacity_kj_per_k=_exactly(capacity.kj_per_k)
        if capacity
        else warmup.typical_heat_capacity_kj_per_k(total_l=total_l),
        power_kw=_exactly(request.power.kw) if request.power else warmup.TYPICAL_IDLE_POWER_KW,
        loss_w_per_k=_exactly(request.loss.w_per_k)
        if request.loss
        else warmup.TYPICAL_LOSS_W_PER_K,
        ambient_c=request.ambient.c,
        exchanger_w_per_k=_exactly(exchanger.w_per_k) if exchanger else no_exchanger,
        coolant_c=request.coolant.c if request.coolant else None,
    )


def _exactly(value: float) -> Range:
    return value, value


def _after(request: WarmUpRequest, approaches: Sequence[Approach]) -> TemperatureEstimate | None:
    after = request.after
    if after is None:
        return None
    return _temperatures(
        [
            warmup.temperature_after_c(approach=a, start_c=request.start.c, elapsed_s=after.s)
            for a in approaches
        ]
    )


def _target_time(
    request: WarmUpRequest,
    target: Temperature,
    approaches: Sequence[Approach],
    moments: Sequence[Moment],
) -> TargetTime:
    times = [
        warmup.seconds_to_c(approach=a, start_c=request.start.c, target_c=target.c)
        for a in approaches
    ]
    told = predict_meeting(moments, target_c=target.c) if moments else None
    return TargetTime(
        target=target,
        from_start=_durations([inf if seconds is None else seconds for seconds in times]),
        after_last_reading=None if told is None else _meeting(told),
    )


def _meeting(told: Meeting) -> DurationEstimate:
    return DurationEstimate(
        low=_duration(told.earliest_s),
        expected=_duration(told.expected_s),
        high=_duration(told.latest_s),
    )


def _fitted(moments: Sequence[Moment]) -> tuple[WarmUpFit | None, list[Finding]]:
    """The fit, where it tells and lies within what a temperature may be."""
    if not moments:
        return None, []
    fit = fit_approach(moments)
    settled, constant = fit.settled, fit.time_constant
    in_range = settled and Temperature.low <= settled.low and settled.high <= Temperature.high
    if settled is None or constant is None or not in_range:
        text = "They fit a straight line or a constant as well."
        return None, [kinds.CANNOT_TELL.at("#/readings", text, values={"noise_k": fit.noise_k})]
    levels = (Temperature(c, "Cel") for c in (settled.low, settled.expected, settled.high))
    low, expected, high = levels
    return WarmUpFit(
        settled=TemperatureEstimate(low=low, expected=expected, high=high),
        time_constant=DurationEstimate(
            low=_duration(constant.low),
            expected=_duration(constant.expected),
            high=_duration(constant.high),
        ),
    ), []


def _moments(readings: Sequence[Reading]) -> tuple[list[Moment], list[Finding]]:
    """The readings of the best source that has enough of them."""
    if not readings:
        return [], []
    at = max(reading.at for reading in readings)
    for source in SOURCES:
        samples = temperature_samples(readings, at=at, sources=(source,))
        found = checked(samples)
        moments = [Moment(sample.seconds, sample.value) for sample in found.recent]
        if len({moment.seconds for moment in moments}) >= LEAST_READINGS:
            return moments, left_out(len(samples) - len(moments))
    return [], [kinds.READINGS_FEW.at("#/readings", f"{len(readings)} readings were given.")]


def _temperatures(values_c: Sequence[float]) -> TemperatureEstimate:
    # a mean of two temperatures at the edge of the range may lie an ulp outside it
    kept = (min(max(c, Temperature.low), Temperature.high) for c in low_middle_high(values_c))
    low, expected, high = (Temperature(c, "Cel") for c in kept)
    return TemperatureEstimate(low=low, expected=expected, high=high)


def _durations(values_s: Sequence[float]) -> DurationEstimate:
    low, expected, high = map(_duration, low_middle_high(values_s))
    return DurationEstimate(low=low, expected=expected, high=high)


def _duration(seconds: float | None) -> Duration | None:
    return Duration(seconds, "s") if seconds is not None and seconds <= LONGEST_S else None


def _faults(request: WarmUpRequest) -> Iterable[Fault]:
    if request.heat_capacity is None and request.total is None:
        detail = "without heat_capacity the total fill has to tell it"
        remedy = "Give the total fill or the heat capacity."
        yield fault("/total", "missing-field", detail, allowed="a volume", remedy=remedy)
    if request.total:
        yield from _total_faults(request.total, known=request.heat_capacity is not None)
    if request.exchanger and request.coolant is None:
        detail = "a coolant exchanger needs the temperature of the coolant"
        remedy = "Give the temperature of the coolant, or leave the exchanger out."
        yield fault("/coolant", "missing-field", detail, allowed="a temperature", remedy=remedy)
    if request.loss and request.loss.w_per_k < LEAST_LOSS_W_PER_K:
        yield out_of_range("/loss", request.loss, "0.1 to 100,000 W/K")
    if request.heat_capacity and request.heat_capacity.kj_per_k < LEAST_CAPACITY_KJ_PER_K:
        yield out_of_range("/heat_capacity", request.heat_capacity, "0.1 to 100,000 kJ/K")


def _total_faults(total: Volume, *, known: bool) -> list[Fault]:
    """Without a heat capacity the total has to tell it, which it does for a smaller range."""
    low_l, high_l = warmup.TYPICAL_TOTAL_L
    if known or low_l <= total.l <= high_l:
        return total_faults(total)
    allowed = f"{low_l:g} to {high_l:g} L, or up to 500 L with heat_capacity"
    return [out_of_range("/total", total, allowed)]


def _settled_faults(approaches: Sequence[Approach]) -> Iterable[Fault]:
    highest_c = max(approach.settled_c for approach in approaches)
    if highest_c > Temperature.high + 1e-9:
        yield fault(
            "/power",
            "settles-out-of-range",
            f"it would settle at {highest_c:.6g} °C",
            allowed=f"what settles at {Temperature.high:g} °C or below",
            remedy="Check power, loss and their units.",
        )

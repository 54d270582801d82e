"""The level window: a temperature to be in, by the rule of the method that reads the level."""

from collections.abc import Sequence
from typing import Literal

from libexchange import gate_findings as kinds
from libexchange.catalogue import LevelMethod
from libexchange.gate_forecast import crossing, sooner
from libexchange.gate_outcome import Outcome, doubtful, missing, not_held, remarks_on, too_cold
from libexchange.reading_checks import LARGEST_RISE_K_PER_MIN, checked, trend
from libexchange.readings import (
    OWN_SENSOR,
    Line,
    Sample,
    fitted_line,
    median_now,
    of_best_source,
    trailing_run,
)

HOLD_S = 10.0
SOURCES = OWN_SENSOR
LEAST_SAMPLES = 3
TREND_S = 30.0
"""How long it takes to see that a temperature no longer falls, unless it clearly rises [s]."""

REARM_K = 3.0
FALLING_K_PER_MIN = -0.2
LOOK_BACK_S = (60.0, 120.0)
"""Where the last minute holds one reading alone, the minute before it tells of a fall [s]."""

LAST_DIGIT_K = 0.1
"""A fall of no more is no fall before half a minute has shown it [K] (common practice)."""

STEADY_K_PER_MIN = 1.0
"""Sticks, sight tubes and read-outs want less change than this over 2 min (common practice)."""

Standing = Literal["armed", "passed", "armed_again"]
TrendRule = Literal["rising", "steady", "none"]
TREND_RULES: dict[LevelMethod, TrendRule] = {
    "overflow_plug": "rising",
    "overflow_feed": "rising",
    "dipstick": "steady",
    "sight": "steady",
    "measured_refill": "none",
}
"""What each method wants of the temperature: `rising` means not falling by 0.2 K/min or more."""


def window(
    samples: Sequence[Sample],
    *,
    edges_c: tuple[float, float],
    hold_s: float,
    method: LevelMethod | None,
    expected_rate_k_per_min: float | None,
) -> Outcome:
    """Whether the level may be read now.

    It arms within the edges, passes above the upper one without tolerance, and arms again below
    the lower one, or 3 K below the upper one where it is seen that it no longer falls. An overflow
    stays shut on a temperature that falls, which before 30 s is more than 0.1 K down.

    samples: of `SOURCES`, the oldest first [degC]    edges_c: of the window, both included [degC]
    hold_s: how long it must hold [s]
    method: null is judged as an overflow plug, the strictest
    Source: common practice.

    >>> row = [Sample(float(n - 10), "scan_tool", 39.0) for n in range(11)]
    >>> window(row, edges_c=(35, 45), hold_s=10, method=None, expected_rate_k_per_min=None).state
    'open'
    """
    own = of_best_source(samples)
    if lacking := missing(own):
        return lacking
    seen = checked(own)
    if doubt := doubtful(seen, expected_rate_k_per_min=expected_rate_k_per_min):
        return doubt
    outcome = _judged(seen.recent, samples, *edges_c, hold_s, method)
    return outcome._replace(remarks=(*outcome.remarks, *remarks_on(seen)))


def _judged(
    recent: Sequence[Sample],
    samples: Sequence[Sample],
    low_c: float,
    high_c: float,
    hold_s: float,
    method: LevelMethod | None,
) -> Outcome:
    now, standing = recent[-1], _standing(_history(samples), low_c, high_c)
    if now.value > high_c or standing == "passed":
        text = f"It is at {now.value:.1f} °C after it was above {high_c:g} °C."
        values = {"temperature_c": now.value, "low_c": low_c, "high_c": high_c}
        passed = kinds.WINDOW_PASSED.at("#/high", text, values=values)
        return Outcome("passed", passed, sample=now)
    over = crossing(recent, high_c)
    if now.value < low_c:
        return too_cold(now, low_c, crossing(recent, low_c), hold_s)._replace(closes=over)
    outcome = (
        _against_trend(recent, method)
        or _unseen_trend(recent, method, standing)
        or _in_window(recent, low_c, high_c, hold_s)
    )
    return outcome._replace(closes=sooner(over, crossing(recent, low_c, rising=False)))


def _history(samples: Sequence[Sample]) -> list[Sample]:
    """The samples of all sources together, each source without its own spikes."""
    kept = (checked([s for s in samples if s.source == source]).kept for source in SOURCES)
    return sorted(sample for part in kept for sample in part)


def _standing(samples: Sequence[Sample], low_c: float, high_c: float) -> Standing:
    """Whether the top was passed, and whether the gate has armed again since."""
    standing: Standing = "armed"
    for sample in samples:
        if sample.value > high_c:
            standing = "passed"
        elif sample.value < low_c:
            standing = "armed"
        elif sample.value <= high_c - REARM_K and standing == "passed":
            standing = "armed_again"
    return standing


def _against_trend(recent: Sequence[Sample], method: LevelMethod | None) -> Outcome | None:
    rule = TREND_RULES[method or "overflow_plug"]
    line = _course(recent) if rule == "rising" else fitted_line(recent, least_s=60.0)
    rate = 60 * line.slope_per_s if line else 0.0
    text, values = f"It changes by {rate:.2f} K/min in the window.", {"k_per_min": rate}
    if rule == "rising" and rate < FALLING_K_PER_MIN:
        falling = kinds.FALLING.at("#/readings", text, values=values)
        return Outcome("closed", falling, sample=recent[-1])
    if rule == "steady" and abs(rate) > STEADY_K_PER_MIN:
        unsteady = kinds.NOT_STEADY.at("#/readings", text, values=values)
        return Outcome("closed", unsteady, sample=recent[-1])
    return None


def _course(recent: Sequence[Sample]) -> Line | None:
    """The trend; before half a minute tells one, a fall that the last digit does not explain."""
    if told := trend(recent):
        return told
    for span_s in LOOK_BACK_S:
        near = [s for s in recent if recent[-1].seconds - s.seconds <= span_s]
        if line := fitted_line(near, span_s=span_s, least_s=1.0):
            fall_k = line.slope_per_s * (near[0].seconds - near[-1].seconds)
            return line if fall_k > LAST_DIGIT_K else None
    return None


def _unseen_trend(
    recent: Sequence[Sample], method: LevelMethod | None, standing: Standing
) -> Outcome | None:
    """After a cool-down that ended within the window it has to be seen that it no longer falls."""
    rule, run = TREND_RULES[method or "overflow_plug"], recent[-LEAST_SAMPLES:]
    if standing != "armed_again" or rule != "rising" or trend(recent) is not None:
        return None
    if run[-1].value > run[0].value:
        return None
    return not_held([s for s in recent if run[-1].seconds - s.seconds < TREND_S], TREND_S)


def _in_window(recent: Sequence[Sample], low_c: float, high_c: float, hold_s: float) -> Outcome:
    run, now = trailing_run(recent, low=low_c, high=high_c), median_now(recent)
    held = len(run) >= LEAST_SAMPLES and run[-1].seconds - run[0].seconds >= hold_s
    if now.source == "scan_tool_typed" and not held:
        return _typed(now, low_c, high_c)
    if not held:
        return not_held(run, hold_s, least=LEAST_SAMPLES)
    return _open(now, low_c, high_c)


def _typed(now: Sample, low_c: float, high_c: float) -> Outcome:
    """One typed value is enough, as long as the fluid cannot have left the window since."""
    by_now_c = now.value + LARGEST_RISE_K_PER_MIN * now.age_s / 60
    if by_now_c <= high_c:
        return _open(now, low_c, high_c)
    text = f"It was {now.value:.1f} °C {now.age_s:.0f} s ago and may be {by_now_c:.1f} by now."
    values = {"temperature_c": now.value, "by_now_c": by_now_c, "high_c": high_c}
    finding = kinds.TYPED_NEAR_TOP.at("#/readings", text, values=values)
    return Outcome("unknown", finding, sample=now)


def _open(now: Sample, low_c: float, high_c: float) -> Outcome:
    text = f"It is at {now.value:.1f} °C, within {low_c:g} to {high_c:g} °C."
    return Outcome("open", text=text, sample=now)

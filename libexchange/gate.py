"""Gates: whether work may go on now, told from timestamped readings of temperature and flow.

A gate is asked for one moment; readings after it are ignored. The answer is the same for any order
of arrival and with exact duplicates.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from math import inf
from typing import Literal, NamedTuple

from msgspec import Struct

from libexchange import gate_findings as kinds
from libexchange.fields import Instant
from libexchange.findings import Finding, Kind
from libexchange.gate_findings import left_out
from libexchange.readings import (
    FRESH_S,
    MINIMUM_FLOW_L_PER_MIN,
    SOURCES,
    Line,
    Reading,
    Sample,
    Source,
    fitted_line,
    flow_samples,
    is_fresh,
    temperature_samples,
    trailing_run,
)

LEVEL_HOLD_S, FLOW_HOLD_S = 10.0, 20.0
LEVEL_SOURCES: tuple[Source, ...] = ("scan_tool", "scan_tool_typed")
LEAST_SAMPLES = 3
REARM_K = 3.0
FALLING_K_PER_S = -0.2 / 60
HORIZON_S = 7200.0
_SOURCE_REMARKS: dict[Source, Kind] = {"clamp_on": kinds.CLAMP_ON, "scan_tool_typed": kinds.TYPED}

GateKind = Literal["line_exchange", "level_window"]
GateState = Literal["closed", "open", "passed", "unknown"]


class GateAnswer(Struct, frozen=True, kw_only=True):
    """The state of a gate at one moment, why, and when it is expected to open and to close.

    `opens_at` and `closes_at` are null where nothing tells them or they lie more than 2 h ahead.
    """

    state: GateState
    reason: str
    opens_at: Instant | None
    closes_at: Instant | None
    findings: list[Finding]


class _Outcome(NamedTuple):
    state: GateState
    finding: Finding | None = None
    opens_s: float | None = None
    closes_s: float | None = None
    sample: Sample | None = None
    text: str = ""


_FLOWS = _Outcome("open", text="Fluid flows.")


def evaluate(
    *,
    kind: GateKind,
    low_c: float | None,
    high_c: float | None = None,
    hold_s: float | None = None,
    readings: Iterable[Reading],
    at: datetime,
) -> GateAnswer:
    """Whether a gate is open at a moment.

    kind: `line_exchange` needs `low_c` and a seen flow of 0.8 L/min, and closes when either is
    lost, or flow alone where `low_c` is null; `level_window` needs a temperature within `low_c` to
    `high_c` that does not fall faster than 0.2 K/min, passes above `high_c` and arms again below
    `low_c` or 3 K below `high_c`
    low_c, high_c: [degC]; a level window needs both
    hold_s: how long it must hold, 20 s of flow or 10 s and 3 readings in the window [s]
    at: the moment, with its offset from UTC    Raises: ValueError for a window without an edge
    Source: common practice.

    >>> from datetime import UTC
    >>> from libexchange.quantities import Temperature
    >>> at = datetime(2024, 5, 2, 9, 0, tzinfo=UTC)
    >>> seen = Reading(at=at, source="scan_tool_typed", temperature=Temperature(40, "Cel"))
    >>> evaluate(kind="level_window", low_c=35, high_c=45, readings=[seen], at=at).state
    'open'
    """
    known = {reading for reading in readings if reading.at <= at}
    if kind == "level_window":
        if low_c is None or high_c is None:
            raise ValueError("a level window needs both its edges")
        sources, hold_s = LEVEL_SOURCES, LEVEL_HOLD_S if hold_s is None else hold_s
        outcome = _window(temperature_samples(known, at=at, sources=sources), low_c, high_c, hold_s)
    else:
        sources, hold_s = SOURCES, FLOW_HOLD_S if hold_s is None else hold_s
        samples = temperature_samples(known, at=at)
        # a line whose flow does not wait for warmth is told by its flow alone
        heat = _FLOWS if low_c is None else _heat(samples, low_c, high_c, hold_s)
        outcome = _both(heat, _flow(flow_samples(known, at=at), hold_s))
    return _answer(outcome, left_out(known, sources=sources), at)


def _window(samples: Sequence[Sample], low_c: float, high_c: float, hold_s: float) -> _Outcome:
    if missing := _missing(samples):
        return missing
    now = samples[-1]
    rise = fitted_line(samples)
    values = {"temperature_c": now.value, "low_c": low_c, "high_c": high_c}
    if _has_passed(samples, low_c, high_c):
        text = f"It is at {now.value:.1f} Cel after it was above {high_c:g} Cel."
        return _Outcome("passed", kinds.WINDOW_PASSED.at("#/high", text, values=values))
    if now.value < low_c:
        return _too_cold(now, low_c, hold_s, rise)._replace(closes_s=_crossing_s(rise, high_c))
    return _in_window(samples, low_c, high_c, hold_s)._replace(closes_s=_crossing_s(rise, high_c))


def _in_window(samples: Sequence[Sample], low_c: float, high_c: float, hold_s: float) -> _Outcome:
    run = trailing_run(samples, low=low_c, high=high_c)
    trend = fitted_line(samples, span_s=60.0, least_s=30.0)
    if trend and trend.slope_per_s < FALLING_K_PER_S:
        rate = 60 * trend.slope_per_s
        text = f"It changes by {rate:.1f} K/min in the window."
        return _Outcome("closed", kinds.FALLING.at("#/readings", text, values={"k_per_min": rate}))
    if not any(map(is_fresh, run)):
        return _stale(run[-1])
    held = len(run) >= LEAST_SAMPLES and run[-1].seconds - run[0].seconds >= hold_s
    typed = [s for s in run if s.source == "scan_tool_typed" and is_fresh(s)]
    if not held and not typed:
        return _not_held(run, hold_s)
    sample = run[-1] if held else typed[-1]
    text = f"It is at {sample.value:.1f} Cel, within {low_c:g} to {high_c:g} Cel."
    return _Outcome("open", text=text, sample=sample)


def _has_passed(samples: Sequence[Sample], low_c: float, high_c: float) -> bool:
    """Whether the top was passed and the gate has not armed again since."""
    passed = False
    for sample in samples:
        if sample.value > high_c:
            passed = True
        elif sample.value < low_c or sample.value <= high_c - REARM_K:
            passed = False
    return passed


def _heat(samples: Sequence[Sample], low_c: float, high_c: float | None, hold_s: float) -> _Outcome:
    own = _of_best_source(samples)
    if missing := _missing(own):
        return missing
    now, rise = own[-1], fitted_line(own)
    if now.value < low_c:
        return _too_cold(now, low_c, hold_s, rise)
    if high_c is not None and now.value > high_c:
        values = {"temperature_c": now.value, "high_c": high_c}
        text = f"It is at {now.value:.1f} Cel, above {high_c:g} Cel."
        return _Outcome("closed", kinds.ABOVE_HIGH.at("#/high", text, values=values), sample=now)
    closes_s = _crossing_s(rise, low_c, rising=False)
    text = f"It is at {now.value:.1f} Cel and fluid flows."
    return _Outcome("open", text=text, closes_s=closes_s, sample=now)


def _flow(samples: Sequence[Sample], hold_s: float) -> _Outcome:
    own = _of_best_source(samples)
    if not own:
        text = "There is no reading of a flow."
        return _Outcome("unknown", kinds.FLOW_NOT_SEEN.at("#/readings", text))
    if missing := _missing(own):
        return missing
    if own[-1].value < MINIMUM_FLOW_L_PER_MIN:
        values = {"flow_l_per_min": own[-1].value, "least_l_per_min": MINIMUM_FLOW_L_PER_MIN}
        text = f"{own[-1].value:.2f} L/min, needed are {MINIMUM_FLOW_L_PER_MIN} L/min."
        return _Outcome("closed", kinds.FLOW_TOO_LOW.at("#/readings", text, values=values))
    run = trailing_run(own, low=MINIMUM_FLOW_L_PER_MIN, high=inf)
    held = run[-1].seconds - run[0].seconds >= hold_s
    return _Outcome("open") if held else _not_held(run, hold_s)


def _both(heat: _Outcome, flow: _Outcome) -> _Outcome:
    """One condition out of two: a closed one decides, then an unknown one."""
    for state in ("closed", "unknown"):
        for outcome in (heat, flow):
            if outcome.state == state:
                return outcome
    return heat


def _of_best_source(samples: Sequence[Sample]) -> list[Sample]:
    """The samples of the best source that is fresh, else of the one seen last; never a mixture."""
    fresh = {sample.source for sample in samples if is_fresh(sample)} or {
        sample.source for sample in samples[-1:]
    }
    best = min(fresh, key=SOURCES.index, default=None)
    return [sample for sample in samples if sample.source == best]


def _missing(samples: Sequence[Sample]) -> _Outcome | None:
    if not samples:
        text = "There is no reading to rely on."
        return _Outcome("unknown", kinds.READING_MISSING.at("#/readings", text))
    return None if any(map(is_fresh, samples)) else _stale(samples[-1])


def _stale(newest: Sample) -> _Outcome:
    age_s, limit_s = -newest.seconds, FRESH_S[newest.source]
    values = {"age_s": age_s, "limit_s": limit_s, "source": newest.source}
    text = f"The newest is {age_s:.0f} s old; at this gate it counts for {limit_s:.0f} s."
    return _Outcome("unknown", kinds.READING_STALE.at("#/readings", text, values=values))


def _too_cold(now: Sample, low_c: float, hold_s: float, rise: Line | None) -> _Outcome:
    warm_s = _crossing_s(rise, low_c)
    values = {"temperature_c": now.value, "low_c": low_c}
    text = f"It is at {now.value:.1f} Cel, needed are {low_c:g} Cel."
    finding = kinds.BELOW_LOW.at("#/low", text, values=values)
    return _Outcome("closed", finding, None if warm_s is None else warm_s + hold_s, sample=now)


def _not_held(run: Sequence[Sample], hold_s: float) -> _Outcome:
    held_s = run[-1].seconds - run[0].seconds
    values = {"held_s": held_s, "hold_s": hold_s, "readings": len(run)}
    text = f"{len(run)} readings over {held_s:.0f} s; it has to hold for {hold_s:.0f} s."
    finding = kinds.NOT_HELD.at("#/readings", text, values=values)
    return _Outcome("closed", finding, max(run[0].seconds + hold_s, 0.0), sample=run[-1])


def _crossing_s(line: Line | None, value: float, *, rising: bool = True) -> float | None:
    if line is None or (line.slope_per_s <= 0 if rising else line.slope_per_s >= 0):
        return None
    return max((value - line.value_now) / line.slope_per_s, 0.0)


def _answer(outcome: _Outcome, remarks: list[Finding], at: datetime) -> GateAnswer:
    found = [outcome.finding] if outcome.finding else []
    now = outcome.sample
    if now and now.source in _SOURCE_REMARKS:
        text = f"{now.value:.1f} Cel, {-now.seconds:.0f} s ago."
        found.append(_SOURCE_REMARKS[now.source].at("#/readings", text))
    return GateAnswer(
        state=outcome.state,
        reason=outcome.finding.message if outcome.finding else outcome.text,
        opens_at=_moment(at, outcome.opens_s),
        closes_at=_moment(at, outcome.closes_s),
        findings=found + remarks,
    )


def _moment(at: datetime, seconds: float | None) -> datetime | None:
    if seconds is None or seconds > HORIZON_S:
        return None
    try:
        return at + timedelta(seconds=seconds)
    except OverflowError:  # past the year 9999
        return None

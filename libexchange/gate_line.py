"""The gate of a line exchange: heat where the bypass needs it, seen flow, and a sane pressure.

It is a continuing condition: it closes again as soon as one of them is lost.
"""

from collections.abc import Sequence
from itertools import pairwise
from math import inf

from libexchange import gate_findings as kinds
from libexchange.catalogue import BypassPlace
from libexchange.findings import Finding, Severity
from libexchange.gate_forecast import Crossing, crossing, sooner
from libexchange.gate_heat import unless_overheated
from libexchange.gate_outcome import (
    GateState,
    Outcome,
    doubtful,
    missing,
    not_held,
    remarks_on,
    too_cold,
)
from libexchange.reading_checks import checked
from libexchange.readings import (
    MINIMUM_FLOW_L_PER_MIN,
    Sample,
    fitted_line,
    is_fresh,
    median_now,
    of_best_source,
    trailing_run,
)

HOLD_S = 20.0
SHUT_BELOW_K = 10.0
"""So far below the gate a bypass in case or line is taken as shut [K] (memory)."""

HIGH_BAR, STOP_BAR = 2.0, 3.0
"""Feed pressure to slow down at, and to stop at [bar] (memory)."""

NO_FLOW_L_PER_MIN, NO_FLOW_S = 0.3, 10.0
"""What a shut bypass lets through, and how long no more than that may flow once it should be open
before the engine goes off, for the returning line feeds the lubrication (memory)."""

SOON_S = 60.0
PULSES_WITHIN_S, PULSES_LEAST, PULSE_SHARE, PULSE_TURNS = 20.0, 5, 0.5, 3
"""Air shows as three turns and more within 20 s, wider than half of the mean flow (memory)."""

FLOWS_COLD: tuple[BypassPlace, ...] = ("none", "in_cooler")
"""Where no temperature has to be waited for: the line itself is never bypassed."""


def line(
    temperatures: Sequence[Sample],
    flows: Sequence[Sample],
    pressures: Sequence[Sample],
    *,
    low_c: float | None,
    high_c: float | None,
    hold_s: float,
    bypass: BypassPlace | None,
    expected_rate_k_per_min: float | None,
) -> Outcome:
    """Whether fluid may be exchanged through the line now.

    temperatures, flows, pressures: of sources that may gate, the oldest first
    low_c: where the bypass is open, margin included; null is told by the flow alone [degC]
    high_c: not to be hotter than this, wherever the bypass sits; null is 110 [degC]
    bypass: where it sits; null is judged as one in the case
    Source: common practice.

    >>> flow = [Sample(float(n - 20), "in_line", 2.0) for n in range(21)]
    >>> line([], flow, [], low_c=83, high_c=None, hold_s=20, bypass="none",
    ...      expected_rate_k_per_min=None).state
    'open'
    """
    cold = low_c is None or bypass in FLOWS_COLD
    if low_c is None or cold:
        heat = _any_heat(temperatures, high_c)
    else:
        heat = _heat(temperatures, low_c, high_c, hold_s, expected_rate_k_per_min)
    heat = unless_overheated(heat)
    flow, pressure = _flow(flows, hold_s, heat.state), _pressure(pressures, flows)
    outcome = _first_shut(pressure, heat, flow)
    return outcome._replace(
        closes=sooner(heat.closes, flow.closes) if outcome.state == "open" else Crossing(),
        remarks=(
            *heat.remarks,
            *flow.remarks,
            *pressure.remarks,
            *_not_needed(low_c, bypass),
            *_flows_cold(heat, flow, None if cold else low_c),
        ),
    )


def _first_shut(*parts: Outcome) -> Outcome:
    """One condition out of all: a closed one decides, then an unknown one, else the heat."""
    for state in ("closed", "unknown"):
        for part in parts:
            if part.state == state:
                return part
    return parts[1]


def _any_heat(samples: Sequence[Sample], high_c: float | None) -> Outcome:
    """A line that flows cold may not be too hot either, where its temperature is known."""
    own = of_best_source(samples)
    if missing(own):
        return Outcome("open", text="Fluid flows.")
    recent = checked(own).recent
    too_hot = _too_hot(median_now(recent), high_c)
    return too_hot or Outcome(
        "open",
        text="Fluid flows.",
        sample=recent[-1],
        closes=Crossing() if high_c is None else crossing(recent, high_c),
    )


def _too_hot(now: Sample, high_c: float | None) -> Outcome | None:
    if high_c is None or now.value <= high_c:
        return None
    values = {"temperature_c": now.value, "high_c": high_c}
    text = f"It is at {now.value:.1f} °C, above {high_c:g} °C."
    return Outcome("closed", kinds.ABOVE_HIGH.at("#/high", text, values=values), sample=now)


def _heat(
    samples: Sequence[Sample],
    low_c: float,
    high_c: float | None,
    hold_s: float,
    expected_rate_k_per_min: float | None,
) -> Outcome:
    own = of_best_source(samples)
    if lacking := missing(own):
        return lacking
    seen = checked(own)
    doubt = doubtful(seen, expected_rate_k_per_min=expected_rate_k_per_min, falls_fast=True)
    if doubt:
        return doubt
    outcome = _warm_enough(seen.recent, low_c, high_c, hold_s)
    return outcome._replace(remarks=(*outcome.remarks, *remarks_on(seen, falls_fast=True)))


def _warm_enough(
    recent: Sequence[Sample], low_c: float, high_c: float | None, hold_s: float
) -> Outcome:
    now = median_now(recent)
    if now.value < low_c:
        return too_cold(now, low_c, crossing(recent, low_c), hold_s)
    if too_hot := _too_hot(now, high_c):
        return too_hot
    text = f"It is at {now.value:.1f} °C and fluid flows."
    warmer = Crossing() if high_c is None else crossing(recent, high_c)
    closes = sooner(crossing(recent, low_c, rising=False), warmer)
    return Outcome("open", text=text, closes=closes, sample=now)


def _flow(samples: Sequence[Sample], hold_s: float, heat: GateState) -> Outcome:
    own = of_best_source(samples)
    if not own:
        text = "There is no reading of a flow."
        return Outcome("unknown", kinds.FLOW_NOT_SEEN.at("#/readings", text))
    if lacking := missing(own):
        return lacking
    if own[-1].value < MINIMUM_FLOW_L_PER_MIN:
        return _too_little(own, heat)
    if pulses := _pulses(own):
        return Outcome("unknown", pulses)
    run = trailing_run(own, low=MINIMUM_FLOW_L_PER_MIN, high=inf)
    if run[-1].seconds - run[0].seconds < hold_s:
        return not_held(run, hold_s)._replace(sample=None)
    return _flowing(own)


def _too_little(own: Sequence[Sample], heat: GateState) -> Outcome:
    """No flow at all for 10 s where the bypass should be open leaves the lubrication dry."""
    run = trailing_run(own, low=0.0, high=NO_FLOW_L_PER_MIN)
    none = heat == "open" and run and run[-1].seconds - run[0].seconds >= NO_FLOW_S
    values = {"flow_l_per_min": own[-1].value, "least_l_per_min": MINIMUM_FLOW_L_PER_MIN}
    text = f"{own[-1].value:.2f} L/min, needed are {MINIMUM_FLOW_L_PER_MIN} L/min."
    severity: Severity | None = "stop" if none else None
    found = kinds.FLOW_TOO_LOW.at("#/readings", text, values=values, severity=severity)
    return Outcome("closed", found)


def _flowing(own: Sequence[Sample]) -> Outcome:
    """Flow that is there; how long it lasts is told by the straight line of the last minute."""
    fall = fitted_line(own, span_s=60.0)
    if fall is None or fall.slope_per_s >= 0:
        return Outcome("open")
    lasts_s = max((MINIMUM_FLOW_L_PER_MIN - fall.value_now) / fall.slope_per_s, 0.0)
    if lasts_s > SOON_S:
        return Outcome("open", closes=Crossing(lasts_s))
    text = f"It falls below {MINIMUM_FLOW_L_PER_MIN} L/min within {lasts_s:.0f} s."
    found = kinds.FLOW_FALLING.at("#/readings", text, values={"lasts_s": lasts_s})
    return Outcome("open", closes=Crossing(lasts_s), remarks=(found,))


def _pulses(own: Sequence[Sample]) -> Finding | None:
    values = [s.value for s in own if own[-1].seconds - s.seconds <= PULSES_WITHIN_S]
    steps = [after - before for before, after in pairwise(values) if after != before]
    turns = sum(before * after < 0 for before, after in pairwise(steps))
    swing = max(values) - min(values)
    wide = swing > PULSE_SHARE * sum(values) / len(values)
    if len(values) < PULSES_LEAST or turns < PULSE_TURNS or not wide:
        return None
    text = f"It swings between {min(values):.1f} and {max(values):.1f} L/min."
    return kinds.FLOW_PULSES.at("#/readings", text, values={"swing_l_per_min": swing})


def _pressure(pressures: Sequence[Sample], flows: Sequence[Sample]) -> Outcome:
    """Open up to 2 bar, open with a remark below 3 bar while fluid flows, shut from there on."""
    bar = pressures[-1].value if pressures and is_fresh(pressures[-1]) else 0.0
    if bar <= HIGH_BAR:
        return Outcome("open")
    flowing = any(map(is_fresh, flows)) and flows[-1].value >= MINIMUM_FLOW_L_PER_MIN
    text, values = f"{bar:.1f} bar in the feed.", {"pressure_bar": bar}
    if not flowing:
        return Outcome("closed", kinds.PRESSURE_WITHOUT_FLOW.at("#/readings", text, values=values))
    if bar >= STOP_BAR:
        high = kinds.PRESSURE_HIGH.at("#/readings", text, values=values, severity="stop")
        return Outcome("closed", high)
    return Outcome("open", remarks=(kinds.PRESSURE_HIGH.at("#/readings", text, values=values),))


def _not_needed(low_c: float | None, bypass: BypassPlace | None) -> list[Finding]:
    if low_c is None or bypass not in FLOWS_COLD:
        return []
    text = f"The bypass is given as {bypass}; {low_c:g} °C was not waited for."
    return [kinds.HEAT_NOT_NEEDED.at("#/low", text, values={"low_c": low_c})]


def _flows_cold(heat: Outcome, flow: Outcome, low_c: float | None) -> list[Finding]:
    """Flow far below the opening temperature proves no open bypass, rather a wrong place."""
    now = heat.sample
    if low_c is None or now is None or now.value >= low_c - SHUT_BELOW_K or flow.state != "open":
        return []
    text = f"It is at {now.value:.1f} °C; the bypass opens near {low_c:g} °C."
    values = {"temperature_c": now.value, "low_c": low_c}
    return [kinds.FLOW_WHILE_SHUT.at("#/readings", text, values=values)]

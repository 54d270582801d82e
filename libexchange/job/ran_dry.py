"""An engine that ran on while nothing flowed through opened lines: the return feeds lubrication."""

from collections.abc import Iterator
from datetime import datetime
from typing import NamedTuple

from libexchange.findings import COMMON_PRACTICE, Finding, Kind
from libexchange.gate_line import FLOWS_COLD, HIGH_BAR, NO_FLOW_L_PER_MIN, NO_FLOW_S
from libexchange.job.events import ReadingTaken
from libexchange.job.history import History
from libexchange.job.open_now import LINES
from libexchange.plan.records import Gate, Plan
from libexchange.readings import LONGEST_GAP_S, SOURCES, Reading, blind_in_line, plausible

RAN_WITHOUT_FLOW = Kind(
    code="ran-without-flow",
    severity="stop",
    title="The engine ran on while nothing flowed through the opened lines",
    remedy="Leave it off: many units are lubricated by the line that returns. Find the cause and "
    "have somebody who may judge it look for metal and wear before it is run again.",
    source=COMMON_PRACTICE,
)
KINDS = (RAN_WITHOUT_FLOW,)
"""Every finding code of an engine that ran dry."""


class _Seen(NamedTuple):
    """A value and when it was read."""

    at: datetime
    value: float


def ran_dry(plan: Plan, history: History) -> list[Finding]:
    """The longest time that the engine ran without flow, where that is 10 s or more.

    Something has to show that fluid should flow: pressure in the feed, or an engine that is known
    to run in a unit warm enough for its bypass. Nothing is told from a gap of more than 30 s.
    Source: common practice; the figures from memory.

    >>> from libexchange.invented import routine_plan
    >>> from libexchange.job.history import history_of
    >>> plan = routine_plan()
    >>> ran_dry(plan, history_of([]))
    []
    """
    gate = next((step.gate for step in plan.steps if step.kind in LINES and step.gate), None)
    if gate is None:
        return []
    readings = sorted((one.reading for one in history.of(ReadingTaken)), key=lambda one: one.at)
    longest_s = max(_dry_runs_s(gate, readings), default=0.0)
    if longest_s < NO_FLOW_S:
        return []
    text = f"For {longest_s:.0f} s no more than {NO_FLOW_L_PER_MIN} L/min flowed."
    values = {"lasted_s": longest_s}
    return [RAN_WITHOUT_FLOW.at("#/line_exchange", text, values=values)]


def _dry_runs_s(gate: Gate, readings: list[Reading]) -> Iterator[float]:
    """How long nothing had flowed at each reading of a flow at which some should [s]."""
    heat = pressure = running = last = None
    began: datetime | None = None
    for reading in readings:
        heat, pressure = _heat(reading) or heat, _pressure(reading) or pressure
        if reading.engine_running is not None:
            running = _Seen(reading.at, float(reading.engine_running))
        if reading.engine_running is False:
            began = None
        if reading.flow is None:
            continue
        seen = [one if one and _recent(one, reading) else None for one in (heat, pressure, running)]
        dry = reading.flow.l_per_min <= NO_FLOW_L_PER_MIN and _should_flow(gate, *seen)
        gap = last is None or (reading.at - last).total_seconds() > LONGEST_GAP_S
        began = (reading.at if gap or began is None else began) if dry else None
        last = reading.at
        if began is not None:
            yield (reading.at - began).total_seconds()


def _should_flow(
    gate: Gate, heat: _Seen | None, pressure: _Seen | None, running: _Seen | None
) -> bool:
    if running is not None and not running.value:
        return False
    if pressure is not None and pressure.value > HIGH_BAR:
        return True
    cold = gate.low is None or gate.bypass in FLOWS_COLD
    warm = cold or (heat is not None and gate.low is not None and heat.value >= gate.low.c)
    return running is not None and warm


def _heat(reading: Reading) -> _Seen | None:
    if reading.temperature is None or reading.source not in SOURCES:
        return None
    if blind_in_line(reading) or not plausible(reading):
        return None
    return _Seen(reading.at, reading.temperature.c)


def _pressure(reading: Reading) -> _Seen | None:
    return _Seen(reading.at, reading.pressure.bar) if reading.pressure else None


def _recent(seen: _Seen, reading: Reading) -> bool:
    return (reading.at - seen.at).total_seconds() <= LONGEST_GAP_S

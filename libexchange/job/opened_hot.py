"""Openings at which the fluid was hot, judged when they were opened and by what came out."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from libexchange.findings import COMMON_PRACTICE, Finding, Kind, Severity, Value
from libexchange.gate_findings import TOO_HOT_TO_OPEN
from libexchange.gate_opening import BLOCK_C, HARD_C
from libexchange.job.events import (
    BenchChecked,
    Event,
    FluidMoved,
    PartFitted,
    ReadingTaken,
    SampleDrawn,
    StepConfirmed,
)
from libexchange.job.gates import gate_answer, hot_work_acknowledged
from libexchange.job.history import History
from libexchange.job.open_now import DRAINING
from libexchange.plan.records import Gate, Plan, Step
from libexchange.readings import of_best_source, temperature_samples

OPENED_HOT = Kind(
    code="opened-while-hot",
    severity="caution",
    title="Something was opened while the fluid was hotter than the plan allows",
    remedy="Say which data of the maker ask for it, and that protection was worn. Above 80 °C "
    "nothing is opened: let it cool.",
    source=COMMON_PRACTICE,
)
KINDS = (OPENED_HOT,)
"""Every finding code of hot openings."""

WORK: tuple[type[Event], ...] = (FluidMoved, StepConfirmed, PartFitted, SampleDrawn, BenchChecked)
"""What cannot be told of an opening before it is open."""

DRAINS_S, COOLS_S = 300.0, 1800.0
"""What came out was opened so long before it can be told, and what was read hot so long before
that had not cooled by itself [s] (memory)."""


def opened_at(step: Step, history: History) -> datetime | None:
    """When a step was begun, by the first that could not be told of it before."""
    own = (one for kind in WORK for one in history.of(kind) if one.step_id == step.step_id)
    return min((one.occurred_at for one in own), default=None)


def opened_hot(
    plan: Plan, history: History, step: Step, gate: Gate, at: datetime
) -> Iterator[Finding]:
    """How hot it was when a step was opened, where that was above what its gate allows.

    Nobody's word makes it cool: one that was given before leaves a caution up to 80 degC.
    """
    limit_c = gate.high.c if gate.high else BLOCK_C
    seen = [*_read_c(history, gate, at), *_came_out_c(history, step)]
    seen += _read_before_c(history, step, at)
    told_c = max((one for one in seen if one >= limit_c), default=None)
    if told_c is None:
        return
    allowed = hot_work_acknowledged(plan, gate, history=history, at=at) and told_c <= HARD_C
    severity: Severity = "caution" if allowed else "stop"
    text = f"{step.step_id} {step.title}: it was at {told_c:.1f} °C, {limit_c:g} °C are the limit."
    values: dict[str, Value] = {"step_id": step.step_id, "temperature_c": told_c}
    yield OPENED_HOT.at("#/confirmed_steps", text, values=values, severity=severity)


def _read_c(history: History, gate: Gate, at: datetime) -> Iterator[float]:
    """What was read before, where nobody's word would make it open."""
    readings = [one.reading for one in history.of(ReadingTaken) if one.occurred_at <= at]
    for found in gate_answer(gate, readings=readings, acknowledged={}, at=at).findings:
        read_c = found.values.get("temperature_c")
        if found.code == TOO_HOT_TO_OPEN.code and isinstance(read_c, float):
            yield read_c


def _read_before_c(history: History, step: Step, at: datetime) -> Iterator[float]:
    """What was read last before it was opened: litres are told once they are out, and cold."""
    if step.kind not in DRAINING:
        return
    opened = at - timedelta(seconds=DRAINS_S)
    readings = (one.reading for one in history.of(ReadingTaken))
    known = of_best_source(temperature_samples(readings, at=opened))
    if known and known[-1].age_s <= COOLS_S:
        yield known[-1].value


def _came_out_c(history: History, step: Step) -> Iterator[float]:
    for one in history.of(FluidMoved):
        if one.step_id == step.step_id and one.direction == "out" and one.temperature:
            yield one.temperature.c

"""What stands in the way of the next step: stops, the gate, cautions that nobody has answered."""

from collections.abc import Iterator
from itertools import chain
from typing import NamedTuple

from msgspec.structs import replace

from libexchange.findings import COMMON_PRACTICE, Finding, Kind, Severity, Value
from libexchange.gate_findings import FLOW_TOO_LOW
from libexchange.job.course_findings import answered
from libexchange.job.gates_now import GateNow
from libexchange.job.line_gate import GATE_LOST, GATE_NOT_KNOWN
from libexchange.job.line_now import LineNow
from libexchange.job.state import JobState
from libexchange.job.verdict import MISSING, line_findings, verdict
from libexchange.job.verdict_findings import (
    DRIVE_COMPLAINT,
    LEAK_FOUND,
    NOT_ACKNOWLEDGED,
    TELL_ONLY,
    WORK_NOT_FINISHED,
)
from libexchange.plan.records import Plan, Step

GATE_NOT_OPEN = Kind(
    code="gate-not-open",
    severity="caution",
    title="The gate of the next step is not open",
    remedy="See the gate's reason; read the temperature, wait or warm up as it says.",
    source=COMMON_PRACTICE,
)
LATER_LEFT_OUT = Kind(
    code="later-events-left-out",
    severity="note",
    title="Events that happened after the moment asked for are left out",
    remedy="Ask for a later moment, or without one to have all of them. Where the clock of a "
    "device runs ahead, set it by the Date of any answer.",
    source=COMMON_PRACTICE,
)
KINDS = (GATE_NOT_OPEN, LATER_LEFT_OUT)
"""Every finding code of what stands in the way."""


class WorkNow(NamedTuple):
    """Where the work stands; `step` is the next one, null where nothing is next."""

    plan: Plan
    state: JobState
    step: Step | None
    gates: tuple[GateNow, ...]
    line: LineNow | None


def blocking(now: WorkNow) -> Iterator[Finding]:
    """What stands in the way, the gravest first. Source: common practice."""
    yield from (finding for finding in now.plan.findings if finding.severity == "stop")
    yield from _unacknowledged(now.plan, now.state)
    yield from _stops_so_far(now.state)
    if now.step is None or now.step.kind == "test_drive":
        yield from _looked_at(now.plan, now.state)
    elif now.step.kind == "hand_over":
        yield from _against_hand_over(now.plan, now.state)
    shut = chain.from_iterable(_gate(now, n, gate) for n, gate in enumerate(now.gates))
    yield from sorted(shut, key=lambda finding: finding.severity != "stop")
    if now.step is not None:
        yield from _cautions(now.state)


def may_hand_over(plan: Plan, state: JobState) -> bool:
    """Whether no stop stands against handing the vehicle over."""
    against = (
        _unacknowledged(plan, state),
        _stops_so_far(state),
        _against_hand_over(plan, state),
    )
    return next(chain.from_iterable(against), None) is None


def left_out(plan: Plan, state: JobState, *, later: int, after_all: JobState) -> list[Finding]:
    """What is to be said of events after the moment; a stop where they bring one.

    later: how many, 1 or more    after_all: the state with them
    Source: common practice.
    """
    codes = sorted(_stop_codes(plan, after_all) - _stop_codes(plan, state))
    text = f"{later} event{'s' * (later != 1)} left out"
    text += f"; with all of them the work stops: {', '.join(codes)}" * bool(codes)
    values: dict[str, Value] = {"events": later, "codes": ", ".join(codes)}
    severity: Severity | None = "stop" if codes else None
    return [LATER_LEFT_OUT.at("#/as_of", f"{text}.", values=values, severity=severity)]


def _stop_codes(plan: Plan, state: JobState) -> set[str]:
    told = (f for f in verdict(plan, state).findings if f.severity == "stop")
    found = {finding.code for finding in told if finding.code not in MISSING}
    return found | {finding.code for finding in _stops_so_far(state)}


def _unacknowledged(plan: Plan, state: JobState) -> Iterator[Finding]:
    return (f for f in verdict(plan, state).findings if f.code == NOT_ACKNOWLEDGED.code)


def _stops_so_far(state: JobState) -> Iterator[Finding]:
    """What was found and nobody has answered for."""
    level = state.level.findings if state.level else ()
    found = [*state.findings, *level, *line_findings(state)]
    return (f for f in answered(found, state.overridden) if f.severity == "stop")


def _looked_at(plan: Plan, state: JobState) -> Iterator[Finding]:
    """A leak or a complaint; the level is set and looked at anew before anybody calls it dry."""
    seen = (LEAK_FOUND.code, DRIVE_COMPLAINT.code)
    return (f for f in verdict(plan, state).findings if f.code in seen and f.severity == "stop")


def _against_hand_over(plan: Plan, state: JobState) -> Iterator[Finding]:
    """The stop findings of the verdict, less what was told already and what follows anyway."""
    told = {WORK_NOT_FINISHED.code, NOT_ACKNOWLEDGED.code}
    told |= {finding.code for finding in _stops_so_far(state)}
    findings = verdict(plan, state).findings
    return (f for f in findings if f.severity == "stop" and f.code not in told)


def _cautions(state: JobState) -> Iterator[Finding]:
    """Cautions that arose in the job, until somebody has read them and says why it goes on."""
    level = state.level.findings if state.level else ()
    found = (f for f in (*state.findings, *level) if f.severity == "caution")
    read = {one.code for one in state.acknowledged} | TELL_ONLY
    return (f for f in found if f.code not in read)


def _gate(now: WorkNow, number: int, gate: GateNow) -> Iterator[Finding]:
    """What a gate says that has to be open now: its own stops, else that it is not open."""
    fed, is_next = _fed(now, gate), _has(now.step, gate)
    runs = fed is not None and fed.kind == "line_exchange" and not _through(now.line)
    due = runs or (is_next and fed is None)
    if not (due or fed or _connected(now, gate)):
        return
    own = [*_own_stops(gate, number, flows=due)]
    yield from own
    kind = _why_not(gate, runs=runs, due=due and not own)
    if kind is not None:
        pointer = "#/next_step/gate" if is_next else f"#/gates/{number}"
        values = {"gate_id": gate.gate_id, "state": gate.state}
        yield kind.at(pointer, f"{gate.gate_id} is {gate.state}: {gate.reason}", values=values)


def _why_not(gate: GateNow, *, runs: bool, due: bool) -> Kind | None:
    if gate.state == "open":
        return None
    if runs:
        return GATE_NOT_KNOWN if gate.state == "unknown" else GATE_LOST
    return GATE_NOT_OPEN if due else None


def _own_stops(gate: GateNow, number: int, *, flows: bool) -> Iterator[Finding]:
    """The gate's own stops, with their remedy; a flow that ceased counts only where one is due."""
    for finding in gate.findings:
        if finding.severity == "stop" and (flows or finding.code != FLOW_TOO_LOW.code):
            yield replace(finding, pointer=f"#/gates/{number}")


def _fed(now: WorkNow, gate: GateNow) -> Step | None:
    """The step in which fluid flows through the lines, where this is its gate.

    A batch is over when its litres are told, and an exchange once nothing of it is left.
    """
    feeding = now.state.standing.feeding
    fed = next((step for step in now.plan.steps if step.step_id == feeding), None)
    return fed if _has(fed, gate) else None


def _has(step: Step | None, gate: GateNow) -> bool:
    return step is not None and step.gate is not None and step.gate.gate_id == gate.gate_id


def _through(line: LineNow | None) -> bool:
    return line is not None and line.further != "as_planned"


def _connected(now: WorkNow, gate: GateNow) -> bool:
    """Whether the lines are open and a step of this line gate is still to come."""
    done = {step.step_id for step in now.state.confirmed_steps}
    left = any(_has(step, gate) and step.step_id not in done for step in now.plan.steps)
    return gate.continuing and left and "lines" in now.state.standing.opened

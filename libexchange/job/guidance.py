"""What to do next: a pure function of the plan, the events and the moment it is asked for."""

from collections.abc import Iterable, Iterator
from datetime import datetime

from msgspec import Struct
from msgspec.structs import replace

from libexchange.fields import Instant
from libexchange.findings import COMMON_PRACTICE, Finding, Kind
from libexchange.gate_outcome import GateState
from libexchange.job.course import Pause
from libexchange.job.doses import ContactNow, DoseNow, contact_now, doses_now
from libexchange.job.events import DeviceEvent
from libexchange.job.fluids import JobBalance, moves_of
from libexchange.job.fold import fold
from libexchange.job.gates import gate_at
from libexchange.job.history import history_of
from libexchange.job.line_gate import GATE_LOST
from libexchange.job.line_now import LineNow, line_now
from libexchange.job.pointers import pointing_into
from libexchange.job.standing import Standing
from libexchange.job.state import JobState
from libexchange.job.verdict import AFTER_THE_VERDICT, line_findings, steps_left, verdict
from libexchange.job.verdict_findings import NOT_ACKNOWLEDGED, WORK_NOT_FINISHED
from libexchange.job.view import pointed_part
from libexchange.plan.records import Gate, Plan, Step
from libexchange.quantities import VolumeChange

GATE_NOT_OPEN = Kind(
    code="gate-not-open",
    severity="caution",
    title="The gate of the next step is not open",
    remedy="See the gate's reason; read the temperature, wait or warm up as it says.",
    source=COMMON_PRACTICE,
)
JOB_CLOSED = Kind(
    code="job-closed",
    severity="note",
    title="The job is closed",
    remedy="Read its record. What is still to be done needs a new plan and a job of its own.",
    source=COMMON_PRACTICE,
)
KINDS = (GATE_NOT_OPEN, JOB_CLOSED)
"""Every finding code of guidance itself."""

_CLOSED = JOB_CLOSED.at("#/next_step", "The office closed the job; nothing is next.")


class GateNow(Struct, frozen=True, kw_only=True):
    """A gate of the plan at the moment asked for; unknown times are null.

    continuing: it has to stay open while its step goes on
    """

    gate_id: str
    state: GateState
    continuing: bool
    reason: str
    opens_at: Instant | None
    closes_at: Instant | None


class Guidance(Struct, frozen=True, kw_only=True):
    """What to do next, whether it may be done now, and what stands in the way.

    `next_step` is null when nothing is left and once the job is closed; after `work_finished` only
    the hand-over can be. An empty `blocking` means go on, unless `paused` says that the work rests.
    `contact` is null while no cleaner is in, `line_exchange` where the plan has none, `paused`
    while the work goes on. Once the work was ended nothing of the plan is next: `standing` says how
    to make the vehicle safe. All findings point into this document.
    """

    as_of: Instant
    next_step: Step | None
    gates: tuple[GateNow, ...]
    level_correction: VolumeChange | None
    balance: JobBalance | None
    line_exchange: LineNow | None
    doses: tuple[DoseNow, ...]
    contact: ContactNow | None
    standing: Standing
    paused: Pause | None
    blocking: tuple[Finding, ...]


def guidance(
    plan: Plan,
    device_events: Iterable[DeviceEvent],
    at: datetime,
    *,
    closed: bool = False,
) -> Guidance:
    """What a job needs next, judged by what had happened up to a moment.

    at: the moment, with its offset; later events are not looked at. Where a device's clock runs
    ahead, ask for the moment of its newest event.
    closed: by the office; then nothing is next at whatever moment, finished or not, since clocks
    in the bay may run behind
    Source: common practice.

    >>> from uuid import UUID
    >>> from libexchange import invented
    >>> from libexchange.plan.planning import make_plan
    >>> request = invented.routine_request()
    >>> plan = make_plan(request=request, transmission=invented.six_speed(),
    ...                  fluid=invented.red_fluid(), plan_id=UUID(int=1),
    ...                  created_at=request.requested_at)
    >>> guidance(plan, [], at=request.requested_at).next_step.kind
    'arrival_check'
    """
    known = [one for one in device_events if one.event.occurred_at <= at]
    now = _now(plan, known, at, closed=closed)
    return replace(
        now,
        balance=pointed_part(now, now.balance, "#/balance"),
        blocking=pointing_into(now, now.blocking),
    )


def _now(plan: Plan, known: list[DeviceEvent], at: datetime, *, closed: bool) -> Guidance:
    state, history = fold(plan, known), history_of(known)
    gates = tuple(_gates_now(plan, known, at))
    step = None if closed or state.ended else _next_step(plan, state)
    moves = moves_of(plan, plan.offline_card, history) if plan.offline_card else []
    return Guidance(
        as_of=at,
        next_step=step,
        gates=gates,
        level_correction=state.level.correction if state.level else None,
        balance=state.balance,
        line_exchange=line_now(plan, moves, state.fresh_share),
        doses=doses_now(plan, history, moves, step),
        contact=contact_now(plan, history, at=at),
        standing=state.standing,
        paused=state.pauses[-1] if state.progress == "paused" else None,
        blocking=(_CLOSED,) if closed else tuple(_blocking(plan, state, step, gates)),
    )


def _next_step(plan: Plan, state: JobState) -> Step | None:
    """The first step that is left; once the bay has finished only the hand-over can be."""
    left = steps_left(plan, state)
    if state.progress == "finished":
        left = [step for step in left if step.kind in AFTER_THE_VERDICT]
    return left[0] if left else None


def _gates_now(plan: Plan, known: Iterable[DeviceEvent], at: datetime) -> Iterator[GateNow]:
    """Every gate of the plan once, in the order of the steps."""
    history = history_of(known)
    gates: dict[str, Gate] = {step.gate.gate_id: step.gate for step in plan.steps if step.gate}
    for gate in gates.values():
        answer = gate_at(plan, gate, history=history, at=at)
        yield GateNow(
            gate_id=gate.gate_id,
            state=answer.state,
            continuing=gate.continuing,
            reason=answer.reason,
            opens_at=answer.opens_at,
            closes_at=answer.closes_at,
        )


def _blocking(
    plan: Plan, state: JobState, step: Step | None, gates: Iterable[GateNow]
) -> Iterator[Finding]:
    """What stands in the way of the next step, the gravest causes first."""
    yield from (finding for finding in plan.findings if finding.severity == "stop")
    yield from _unacknowledged(plan, state)
    if step is None:
        return
    yield from _stops_so_far(state)
    if step.kind == "hand_over":
        yield from _against_hand_over(plan, state)
    yield from _shut_gates(state, step, gates)


def _unacknowledged(plan: Plan, state: JobState) -> Iterator[Finding]:
    return (f for f in verdict(plan, state).findings if f.code == NOT_ACKNOWLEDGED.code)


def _stops_so_far(state: JobState) -> Iterator[Finding]:
    level = state.level.findings if state.level else ()
    found = (*state.findings, *level, *line_findings(state))
    return (finding for finding in found if finding.severity == "stop")


def _against_hand_over(plan: Plan, state: JobState) -> Iterator[Finding]:
    """The stop findings of the verdict, less what was told already and what follows anyway."""
    told = {WORK_NOT_FINISHED.code, NOT_ACKNOWLEDGED.code, *(f.code for f in _stops_so_far(state))}
    findings = verdict(plan, state).findings
    return (f for f in findings if f.severity == "stop" and f.code not in told)


def _shut_gates(state: JobState, step: Step, gates: Iterable[GateNow]) -> Iterator[Finding]:
    """The gate of the next step where it is not open, a lost one of the line as a stop."""
    for gate in gates:
        if step.gate and gate.gate_id == step.gate.gate_id and gate.state != "open":
            values = {"gate_id": gate.gate_id, "state": gate.state}
            text = f"{gate.gate_id} is {gate.state}: {gate.reason}"
            lost = step.gate.continuing and state.line_exchange is not None
            kind = GATE_LOST if lost else GATE_NOT_OPEN
            yield kind.at("#/next_step/gate", text, values=values)

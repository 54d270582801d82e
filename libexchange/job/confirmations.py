"""What speaks against how steps were confirmed: a gate that was not open, a plan not followed."""

from collections.abc import Iterator
from datetime import datetime

from libexchange.findings import COMMON_PRACTICE, Finding, Kind, Value
from libexchange.gate_findings import TOO_HOT_TO_OPEN
from libexchange.job.events import FluidMoved, LevelChecked, Started, StepConfirmed
from libexchange.job.gates import gate_at
from libexchange.job.history import History
from libexchange.job.open_now import LINES, SETS_LEVEL
from libexchange.job.opened_hot import opened_at, opened_hot
from libexchange.plan.records import Gate, Plan, Step

NOT_OPEN_WHEN_CONFIRMED = Kind(
    code="gate-not-open-when-confirmed",
    severity="caution",
    title="A step was confirmed while its gate was not known to be open",
    remedy="Say what the temperature was and who decided. Where the step was not done yet, "
    "withdraw the confirmation by a correction and confirm it again once the gate is open.",
    source=COMMON_PRACTICE,
)
STEP_NOT_IN_PLAN = Kind(
    code="event-step-not-in-plan",
    severity="caution",
    title="Events name a step that the plan does not have",
    remedy="Withdraw them by a correction and post them again with a step of this job's plan.",
    source=COMMON_PRACTICE,
)
CONFIRMED_WITHOUT_START = Kind(
    code="confirmed-without-start",
    severity="note",
    title="Steps were confirmed in a job that nobody started",
    remedy="Post started with the moment when the work began.",
    source=COMMON_PRACTICE,
)
KINDS = (NOT_OPEN_WHEN_CONFIRMED, STEP_NOT_IN_PLAN, CONFIRMED_WITHOUT_START)
"""Every finding code of confirmations."""


def confirmation_findings(plan: Plan, history: History) -> list[Finding]:
    """What the events of a job say against the confirmations in it.

    Source: common practice.

    >>> from libexchange.invented import routine_plan
    >>> from libexchange.job.history import history_of
    >>> plan = routine_plan()
    >>> confirmation_findings(plan, history_of([]))
    []
    """
    return [*_gates(plan, history), *_strangers(plan, history), *_not_started(history)]


def _gates(plan: Plan, history: History) -> Iterator[Finding]:
    """One finding for each gated step that went on without its gate.

    A level window is left to the looks at the level, which carry their own temperature.
    """
    confirmed: dict[str, datetime] = {}
    for event in history.of(StepConfirmed):
        confirmed.setdefault(event.step_id, event.occurred_at)
    for step in plan.steps:
        looked_at = step.kind in SETS_LEVEL and history.of(LevelChecked)
        at = _begun(step, history) or confirmed.get(step.step_id)
        if step.gate and at and not looked_at:
            yield from _gate(plan, history, step, step.gate, at)


def _begun(step: Step, history: History) -> datetime | None:
    """When it had to be open: at the first that shows a step begun, or fluid in the lines."""
    if step.gate and step.gate.kind == "opening":
        return opened_at(step, history)
    if step.kind not in LINES or not any(
        one.step_id == step.step_id for one in history.of(StepConfirmed)
    ):
        return None
    moved = (e.occurred_at for e in history.of(FluidMoved) if e.step_id == step.step_id)
    return min(moved, default=None)


def _gate(plan: Plan, history: History, step: Step, gate: Gate, at: datetime) -> Iterator[Finding]:
    answer = gate_at(plan, gate, history=history, at=at)
    too_hot = gate.kind == "opening" and answer.state == "closed"
    if gate.kind == "opening" and not too_hot:
        yield from opened_hot(plan, history, step, gate, at)
    if answer.state == "open":
        return
    values: dict[str, Value] = {
        "step_id": step.step_id, "gate_id": gate.gate_id, "state": answer.state,
    }  # fmt: skip
    for one in answer.findings:
        if too_hot and one.code == TOO_HOT_TO_OPEN.code:
            values["temperature_c"] = one.values["temperature_c"]
    yield NOT_OPEN_WHEN_CONFIRMED.at(
        "#/confirmed_steps",
        f"{step.step_id} {step.title}: {gate.gate_id} was {answer.state}. {answer.reason}",
        values=values,
        severity="stop" if too_hot else None,
    )


def _strangers(plan: Plan, history: History) -> Iterator[Finding]:
    """Steps that events other than confirmations name; those are a departure from the route."""
    known = {step.step_id for step in plan.steps}
    others = [event for event in history.in_force if not isinstance(event, StepConfirmed)]
    named = [event.step_id for event in others if event.step_id and event.step_id not in known]
    if named:
        text = f"Not in the plan: {', '.join(sorted(set(named)))}."
        yield STEP_NOT_IN_PLAN.at("#", text, values={"events": len(named)})


def _not_started(history: History) -> Iterator[Finding]:
    confirmed = len(history.of(StepConfirmed))
    if confirmed and not history.of(Started):
        text = f"{confirmed} confirmation{'s' * (confirmed > 1)} and no start."
        yield CONFIRMED_WITHOUT_START.at("#/started_at", text, values={"confirmed": confirmed})

"""What a line gate itself stops: the feed that was not stopped, and the state that still lasts."""

from collections.abc import Iterator

from msgspec.structs import replace

from libexchange.findings import Finding
from libexchange.gate_findings import FLOW_TOO_LOW
from libexchange.job.events import FluidMoved, ReadingTaken
from libexchange.job.gates import gate_at
from libexchange.job.history import History
from libexchange.job.open_now import LINES, OpenNow
from libexchange.plan.records import Gate, Plan


def fed_against_stop(plan: Plan, history: History) -> list[Finding]:
    """The stops of a line gate through which fluid was fed all the same, each once.

    A flow that has ceased stops nothing here: the litres before it are told after it.
    Source: common practice.

    >>> from uuid import UUID
    >>> from libexchange import invented
    >>> from libexchange.job.history import history_of
    >>> from libexchange.plan.planning import make_plan
    >>> request = invented.routine_request()
    >>> plan = make_plan(request=request, transmission=invented.six_speed(),
    ...                  fluid=invented.red_fluid(), plan_id=UUID(int=1),
    ...                  created_at=request.requested_at)
    >>> fed_against_stop(plan, history_of([]))
    []
    """
    gates = {step.step_id: step.gate for step in plan.steps if step.kind in LINES and step.gate}
    told: dict[str, Finding] = {}
    for event in history.of(FluidMoved):
        gate = gates.get(event.step_id or "")
        if gate is not None and event.direction == "in":
            for found in _stops(plan, gate, history, event):
                told.setdefault(found.code, replace(found, pointer="#/line_exchange"))
    return list(told.values())


def stop_lasts(plan: Plan, history: History, now: OpenNow) -> bool:
    """Whether a line gate said stop at the last reading, and the lines are still open.

    Source: common practice.
    """
    readings = history.of(ReadingTaken)
    if not readings or not ("lines" in now.open or now.feeding):
        return False
    gates = {
        step.gate.gate_id: step.gate for step in plan.steps if step.kind in LINES and step.gate
    }
    return any(any(_stops(plan, gate, history, readings[-1])) for gate in gates.values())


def _stops(
    plan: Plan, gate: Gate, history: History, event: FluidMoved | ReadingTaken
) -> Iterator[Finding]:
    for found in gate_at(plan, gate, history=history, at=event.occurred_at).findings:
        if found.severity == "stop" and found.code != FLOW_TOO_LOW.code:
            yield found

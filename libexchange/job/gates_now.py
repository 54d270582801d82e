"""Every gate of a plan at the moment that guidance is asked for."""

from datetime import datetime

from msgspec import Struct

from libexchange.fields import Instant
from libexchange.findings import Finding
from libexchange.gate_outcome import GateAnswer, GateState
from libexchange.job.gates import gate_at
from libexchange.job.history import History
from libexchange.plan.records import Gate, Plan

AHEAD_S = 10.0
"""So far may the newest event lie ahead before nobody knows how old a reading is [s]; as long as an
in-line reading counts (common practice)."""


class GateNow(Struct, frozen=True, kw_only=True):
    """A gate of the plan at the moment asked for; unknown times are null.

    continuing: it has to stay open while its step goes on
    findings: why it is not open and what to know beside it, pointing to this gate
    gate_id: of the plan    state: closed, open, passed or unknown    reason: in words
    opens_at, closes_at: forecast
    """

    gate_id: str
    state: GateState
    continuing: bool
    reason: str
    opens_at: Instant | None
    closes_at: Instant | None
    findings: tuple[Finding, ...]


def gates_now(
    plan: Plan, history: History, *, at: datetime, lead_s: float = 0.0
) -> tuple[GateNow, ...]:
    """Every gate of the plan once, in the order of the steps.

    lead_s: how far `at` lies ahead of the present, since a clock runs ahead; above 10 s no gate is
    known to be open [s]
    Source: common practice.

    >>> from libexchange.invented import routine_plan
    >>> from libexchange.job.history import history_of
    >>> plan = routine_plan()
    >>> {gate.state for gate in gates_now(plan, history_of([]), at=plan.request.requested_at)}
    {'unknown'}
    """
    gates: dict[str, Gate] = {step.gate.gate_id: step.gate for step in plan.steps if step.gate}
    told = ((gate, gate_at(plan, gate, history=history, at=at)) for gate in gates.values())
    return tuple(_gate_now(gate, answer, lead_s) for gate, answer in told)


def _gate_now(gate: Gate, answer: GateAnswer, lead_s: float) -> GateNow:
    state, reason, closes_at = answer.state, answer.reason, answer.closes_at
    if state == "open" and lead_s > AHEAD_S:
        state, closes_at = "unknown", None
        reason = (
            f"The newest event lies {lead_s:,.0f} s ahead of the clock here, so nobody knows how "
            f"old the readings are; set the clock of the device, or ask with its own moment."
        )
    return GateNow(
        gate_id=gate.gate_id,
        state=state,
        continuing=gate.continuing,
        reason=reason,
        opens_at=answer.opens_at,
        closes_at=closes_at,
        findings=tuple(answer.findings),
    )

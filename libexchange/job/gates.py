"""The gates of a plan at one moment of a job."""

from collections.abc import Mapping, Sequence
from datetime import datetime

from libexchange.catalogue import LevelMethod
from libexchange.gate import evaluate
from libexchange.gate_heat import STOP_C
from libexchange.gate_outcome import GateAnswer, Outcome, answer_of
from libexchange.job.doses import since_cleaner
from libexchange.job.events import CautionAcknowledged, ReadingTaken
from libexchange.job.history import History
from libexchange.plan.records import Gate, Plan
from libexchange.readings import Reading

HOT_FLUID = "hot-fluid"
"""The caution whose acknowledgement says that hot work is the maker's and protection is worn."""


def gate_answer(
    gate: Gate,
    *,
    readings: Sequence[Reading],
    acknowledged: Mapping[str, CautionAcknowledged],
    at: datetime,
    method: LevelMethod | None = None,
) -> GateAnswer:
    """Whether a gate of a plan is open at a moment.

    acknowledged: by code; `hot-fluid` opens an opening gate unless it was read above 110 degC
    method: of reading the level; null is judged as an overflow plug
    Source: common practice; the maker's own demand comes first.

    >>> from datetime import UTC
    >>> from libexchange.quantities import Temperature
    >>> gate = Gate(gate_id="gate-open", kind="opening", low=None, high=Temperature(60, "Cel"),
    ...             minimum_flow=None, hold=None, continuing=False, text="")
    >>> at = datetime(2026, 3, 4, 9, 0, tzinfo=UTC)
    >>> gate_answer(gate, readings=[], acknowledged={}, at=at).state
    'unknown'
    """
    hot = acknowledged.get(HOT_FLUID)
    if gate.kind == "opening" and hot is not None:
        return _hot_work(hot, readings, at)
    if gate.kind == "level_window" and (gate.low is None or gate.high is None):
        return answer_of(Outcome("unknown", text=gate.text), [], at)
    return evaluate(
        kind=gate.kind,
        low_c=gate.low.c if gate.low else None,
        high_c=gate.high.c if gate.high else None,
        hold_s=gate.hold.s if gate.hold else None,
        readings=readings,
        at=at,
        method=method,
    )


def _hot_work(hot: CautionAcknowledged, readings: Sequence[Reading], at: datetime) -> GateAnswer:
    answer = evaluate(
        kind="opening",
        low_c=None,
        readings=readings,
        at=at,
        maker_high_c=STOP_C,
        protection_confirmed=True,
    )
    text = f"Hot work was acknowledged by {hot.by}: {hot.reason}"
    return answer if answer.state == "closed" else answer_of(Outcome("open", text=text), [], at)


def gate_at(plan: Plan, gate: Gate, *, history: History, at: datetime) -> GateAnswer:
    """Whether a gate of a plan is open at a moment, by what had been seen and said up to then.

    history: of the job; what came after `at` is not looked at
    Source: common practice.

    >>> from uuid import UUID
    >>> from libexchange import invented
    >>> from libexchange.job.history import history_of
    >>> from libexchange.plan.planning import make_plan
    >>> request = invented.routine_request()
    >>> plan = make_plan(request=request, transmission=invented.six_speed(),
    ...                  fluid=invented.red_fluid(), plan_id=UUID(int=1),
    ...                  created_at=request.requested_at)
    >>> gate = next(step.gate for step in plan.steps if step.gate)
    >>> gate_at(plan, gate, history=history_of([]), at=request.requested_at).state
    'unknown'
    """
    if gate.kind == "contact_time":
        return _contact(plan, gate, history, at)
    said = (event for event in history.of(CautionAcknowledged) if event.occurred_at <= at)
    return gate_answer(
        gate,
        readings=[event.reading for event in history.of(ReadingTaken)],
        acknowledged={event.code: event for event in said},
        at=at,
        method=plan.offline_card.level_method if plan.offline_card else None,
    )


def _contact(plan: Plan, gate: Gate, history: History, at: datetime) -> GateAnswer:
    """Only what was seen since the cleaner went in counts."""
    readings = since_cleaner(plan, history, at=at)
    if readings is None:
        return answer_of(Outcome("closed", text="The cleaner is not in yet."), [], at)
    return gate_answer(gate, readings=readings, acknowledged={}, at=at)

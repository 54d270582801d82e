"""The gates of a plan at one moment of a job."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from math import inf, nextafter

from msgspec.structs import replace

from libexchange.catalogue import LevelMethod
from libexchange.gate import evaluate
from libexchange.gate_opening import HARD_C
from libexchange.gate_outcome import GateAnswer, Outcome, answer_of
from libexchange.job.doses import since_cleaner
from libexchange.job.events import CautionAcknowledged, ReadingTaken, StepConfirmed
from libexchange.job.history import History
from libexchange.plan.heat import slowest_warming_k_per_min
from libexchange.plan.records import Gate, Plan, Step
from libexchange.reading_checks import STUCK_EXPECTED_K, STUCK_S
from libexchange.readings import Reading, of_best_source, temperature_samples

HOT_FLUID = "hot-fluid"
"""The caution whose acknowledgement says that hot work is the maker's and protection is worn."""


def gate_answer(
    gate: Gate,
    *,
    readings: Sequence[Reading],
    acknowledged: Mapping[str, CautionAcknowledged],
    at: datetime,
    method: LevelMethod | None = None,
    checked_with_engine_running: bool = True,
    expected_rate_k_per_min: float | None = None,
) -> GateAnswer:
    """Whether a gate of a plan is open at a moment.

    acknowledged: by code; `hot-fluid` opens an opening gate up to 80 degC, by a fresh reading
    method: of reading the level; null is judged as an overflow plug
    checked_with_engine_running: how the maker wants the level read
    expected_rate_k_per_min: of a forecast, to know a sensor that stands still; null lets the
        readings tell [K/min]
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
        bypass=gate.bypass,
        checked_with_engine_running=checked_with_engine_running,
        expected_rate_k_per_min=expected_rate_k_per_min,
    )


def _hot_work(hot: CautionAcknowledged, readings: Sequence[Reading], at: datetime) -> GateAnswer:
    """A plan does not know the maker's own limit, but nobody's word opens above 80 degC or unread.

    The word stands for the protection, the reading for how hot it is.
    """
    up_to_c = nextafter(HARD_C, inf)
    answer = evaluate(kind="opening", low_c=None, high_c=up_to_c, readings=readings, at=at)
    if answer.state != "open":
        return answer
    text = f"{answer.reason} Hot work was acknowledged by {hot.by}: {hot.reason}"
    return replace(answer, reason=text)


def gate_at(plan: Plan, gate: Gate, *, history: History, at: datetime) -> GateAnswer:
    """Whether a gate of a plan is open at a moment, by what had been seen and said up to then.

    history: of the job; what came after `at` is not looked at
    Source: common practice.

    >>> from libexchange.invented import routine_plan
    >>> from libexchange.job.history import history_of
    >>> plan = routine_plan()
    >>> gate = next(step.gate for step in plan.steps if step.gate)
    >>> gate_at(plan, gate, history=history_of([]), at=plan.request.requested_at).state
    'unknown'
    """
    if gate.kind == "contact_time":
        return _contact(plan, gate, history, at)
    said = (event for event in history.of(CautionAcknowledged) if event.occurred_at <= at)
    meant = (one for one in said if one.code != HOT_FLUID or _means(plan, history, one, gate, at))
    readings = [event.reading for event in history.of(ReadingTaken) if event.occurred_at <= at]
    card = plan.offline_card
    return gate_answer(
        gate,
        readings=readings,
        acknowledged={event.code: event for event in meant},
        at=at,
        method=card.level_method if card else None,
        checked_with_engine_running=card is None or card.engine_running is not False,
        expected_rate_k_per_min=_warming_k_per_min(plan, gate, readings, at),
    )


def hot_work_acknowledged(plan: Plan, gate: Gate, *, history: History, at: datetime) -> bool:
    """Whether somebody had answered for hot work at an opening gate by a moment.

    Source: common practice.
    """
    said = (one for one in history.of(CautionAcknowledged) if one.occurred_at <= at)
    return any(one.code == HOT_FLUID and _means(plan, history, one, gate, at) for one in said)


def _means(
    plan: Plan, history: History, hot: CautionAcknowledged, gate: Gate, at: datetime
) -> bool:
    """Whether hot work was acknowledged for this gate: that of its step, else of the one then due.

    It lapses once that step is done: the next opening needs a word and a protection of its own.
    """
    step = _meant_step(plan, history, hot)
    if step is None or step.gate is None or step.gate.gate_id != gate.gate_id:
        return False
    done = (one for one in history.of(StepConfirmed) if one.step_id == step.step_id)
    return all(one.occurred_at >= at for one in done)


def _meant_step(plan: Plan, history: History, hot: CautionAcknowledged) -> Step | None:
    opening = [one for one in plan.steps if one.gate is not None and one.gate.kind == "opening"]
    if hot.step_id is not None:
        return next((step for step in opening if step.step_id == hot.step_id), None)
    confirmed = history.of(StepConfirmed)
    done = {one.step_id for one in confirmed if one.occurred_at <= hot.occurred_at}
    return next((step for step in opening if step.step_id not in done), None)


def _warming_k_per_min(
    plan: Plan, gate: Gate, readings: Sequence[Reading], at: datetime
) -> float | None:
    """What the plan's forecast wants of a cold unit that warms up to its line gate.

    Only where even a slow typical car gains enough to tell a sensor that stands still; beyond
    that, and with the engine off, the readings know this unit better than what is typical.
    """
    card, warms_up = plan.offline_card, any(wait.step == "warm_up" for wait in plan.waits)
    seen = of_best_source(temperature_samples(readings, at=at))
    if gate.kind != "line_exchange" or gate.low is None or card is None or not warms_up:
        return None
    if not seen or seen[-1].value >= gate.low.c:
        return None
    recent = (one for one in readings if (at - one.at).total_seconds() <= STUCK_S)
    if any(one.engine_running is False for one in recent):
        return None
    rate = slowest_warming_k_per_min(total_l=card.total.l, at_c=seen[-1].value)
    enough = rate is not None and rate / 60 * STUCK_S > STUCK_EXPECTED_K
    return rate if enough else None


def _contact(plan: Plan, gate: Gate, history: History, at: datetime) -> GateAnswer:
    """Only what was seen since the cleaner went in counts."""
    readings = since_cleaner(plan, history, at=at)
    if readings is None:
        return answer_of(Outcome("closed", text="The cleaner is not in yet."), [], at)
    return gate_answer(gate, readings=readings, acknowledged={}, at=at)

"""The additives of a job: which dose is due, what has gone in, and how long a cleaner has acted."""

from collections.abc import Sequence
from datetime import datetime
from math import fsum
from typing import Literal

from msgspec import Struct

from libexchange.contact import LONGEST_GAP_S, ContactState, contact
from libexchange.gate_contact import ContactSeen, contact_seen
from libexchange.gate_trust import trusted
from libexchange.job.events import FluidMoved, ReadingTaken, StepConfirmed
from libexchange.job.fluids import Move
from libexchange.job.history import History
from libexchange.plan.card_records import PlannedDose
from libexchange.plan.records import Plan, Step, StepKind
from libexchange.quantities import Duration, Volume
from libexchange.readings import SOURCES, Reading

STEP_OF: dict[str, StepKind] = {"cleaner": "dose_cleaner", "conditioner": "dose_conditioner"}
GIVEN_PART = 0.95
"""From this part of a dose on it counts as given [-] (common practice)."""


DoseState = Literal["not_due", "due", "given", "given_in_part", "confirmed_without_amount"]


class DoseNow(Struct, frozen=True, kw_only=True):
    """A planned dose at the moment asked for; `given_15` is what has gone in, at 15 degC.

    `due` is that of the next step, `given` one that has gone in by its litres. Where its step was
    confirmed and they do not show it, it is `given_in_part`, or `confirmed_without_amount`.

    additive_id, name: of the additive    step_id: of its step    dose: as planned
    """

    additive_id: str
    name: str
    step_id: str
    dose: Volume
    given_15: Volume
    state: DoseState


class ContactNow(Struct, frozen=True, kw_only=True):
    """The timer of a cleaner, which runs only while the engine does and the fluid is warm.

    `state` is `unknown` where its gate has no reading to go by: none of its sources, none of the
    last 60 s, or sources that contradict one another; too long stays too long. `counted` is what
    was seen to act. `out_within` is what is left, by the clock, until it must be out again; null
    where nothing was seen.

    needed: by the additive or as usual    pauses: how often it stood still
    """

    counted: Duration
    needed: Duration
    state: ContactState | Literal["unknown"]
    pauses: int
    out_within: Duration | None


def doses_now(
    plan: Plan, history: History, moves: Sequence[Move], next_step: Step | None
) -> tuple[DoseNow, ...]:
    """Every planned dose, in the order of the steps; `next_step` says which is due.

    Source: common practice.
    """
    planned = plan.offline_card.doses if plan.offline_card else ()
    return tuple(
        _dose_now(dose, step, history, moves, next_step)
        for step in plan.steps
        for dose in planned
        if step.kind == STEP_OF[dose.kind]
    )


def _dose_now(
    dose: PlannedDose, step: Step, history: History, moves: Sequence[Move], next_step: Step | None
) -> DoseNow:
    given_l = fsum(
        move.litres
        for move in moves
        if move.entry.direction == "additive" and move.step == step.kind
    )
    confirmed = any(event.step_id == step.step_id for event in history.of(StepConfirmed))
    state: DoseState = "not_due"
    if given_l >= GIVEN_PART * dose.dose.l:
        state = "given"
    elif confirmed:
        state = "given_in_part" if given_l > 0 else "confirmed_without_amount"
    elif next_step is not None and next_step.step_id == step.step_id:
        state = "due"
    return DoseNow(
        additive_id=dose.additive_id,
        name=dose.name,
        step_id=step.step_id,
        dose=dose.dose,
        given_15=Volume(given_l, "L"),
        state=state,
    )


def cleaner_in_at(plan: Plan, history: History, *, at: datetime) -> datetime | None:
    """When the cleaner went in, by the first that tells it up to a moment; None before that."""
    steps = {step.step_id for step in plan.steps if step.kind == "dose_cleaner"}
    told = [
        event.occurred_at
        for event in history.in_force
        if event.step_id in steps
        and event.occurred_at <= at
        and (isinstance(event, StepConfirmed) or _is_additive(event))
    ]
    return min(told, default=None)


def _is_additive(event: object) -> bool:
    return isinstance(event, FluidMoved) and event.direction == "additive"


def since_cleaner(plan: Plan, history: History, *, at: datetime) -> list[Reading] | None:
    """The readings since the cleaner went in; None before that."""
    since = cleaner_in_at(plan, history, at=at)
    if since is None:
        return None
    readings = (event.reading for event in history.of(ReadingTaken))
    return [reading for reading in readings if since <= reading.at <= at]


def contact_now(plan: Plan, history: History, *, at: datetime) -> ContactNow | None:
    """How long the cleaner has acted; null where none is planned or none is in, or it is out.

    Source: common practice.
    """
    gate = next((s.gate for s in plan.steps if s.kind == "cleaner_contact"), None)
    readings = since_cleaner(plan, history, at=at)
    if gate is None or gate.hold is None or gate.low is None or readings is None:
        return None
    out_at = _opened_at(plan, history, at=at)
    seen = _seen(readings, at=out_at)
    told = contact(
        seen.readings,
        needed_s=gate.hold.s,
        operating_c=gate.low.c,
        until=out_at,
        others=seen.others,
    )
    fresh = seen.newest is not None and seen.newest.age_s <= LONGEST_GAP_S
    known = fresh or told.state == "too_long"
    return ContactNow(
        counted=_minutes(told.counted_s),
        needed=gate.hold,
        state=told.state if known else "unknown",
        pauses=told.pauses,
        out_within=_minutes(told.left_s) if seen.newest else None,
    )


def _opened_at(plan: Plan, history: History, *, at: datetime) -> datetime:
    """When the pan came off, which ends the contact; the moment asked for until then."""
    steps = {step.step_id for step in plan.steps if step.kind == "pan_and_filter"}
    opened = [
        event.occurred_at
        for event in history.in_force
        if event.step_id in steps and event.occurred_at <= at
    ]
    return min(opened, default=at)


def _seen(readings: Sequence[Reading], *, at: datetime) -> ContactSeen:
    """What its gate goes by: the best of the sources that nothing contradicts."""
    known = {reading for reading in readings if reading.at <= at}
    believed = trusted(known, at=at, sources=SOURCES)
    return contact_seen((one for one in known if one.source in believed.sources), at=at)


def _minutes(seconds: float) -> Duration:
    return Duration(round(seconds / 60, 2), "min")

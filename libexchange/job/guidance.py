"""What to do next: a pure function of the plan, the events and the moment it is asked for."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from libexchange.fields import Instant
from libexchange.findings import COMMON_PRACTICE, Finding, Kind
from libexchange.job.blocking import WorkNow, blocking, left_out, may_hand_over
from libexchange.job.course import Pause
from libexchange.job.doses import ContactNow, DoseNow, contact_now, doses_now
from libexchange.job.events import DeviceEvent
from libexchange.job.fluids import JobBalance, Move, moves_of
from libexchange.job.fold import fold
from libexchange.job.gates_now import GateNow, gates_now
from libexchange.job.history import History, history_of
from libexchange.job.level_now import LevelNow, level_now
from libexchange.job.line_now import LineNow, line_now
from libexchange.job.looks import settled
from libexchange.job.pointers import pointing_into
from libexchange.job.rounded import rounded
from libexchange.job.standing import Standing
from libexchange.job.state import JobState
from libexchange.job.verdict import AFTER_THE_VERDICT, steps_left
from libexchange.job.view import pointed_part
from libexchange.plan.records import Plan, Step

JOB_CLOSED = Kind(
    code="job-closed",
    severity="note",
    title="The job is closed",
    remedy="Read its record. What is still to be done needs a new plan and a job of its own.",
    source=COMMON_PRACTICE,
)
KINDS = (JOB_CLOSED,)
"""Every finding code of guidance itself."""

_CLOSED = JOB_CLOSED.at("#/next_step", "The office closed the job; nothing is next.")


class Guidance(Struct, frozen=True, kw_only=True):
    """What to do next, whether it may be done now, and what stands in the way.

    All findings point into this document.

    as_of: the moment judged by
    next_step: null when nothing is left and once the job is closed or was ended; after
        `work_finished` only the hand-over can be, and one that was confirmed does not count while
        stops stand
    gates: of the plan, each at this moment
    level_correction: what to do at the level now, less what was done since the last look, null
        where nothing is
    balance: running, null while no litres are told    line_exchange: null where the plan has none
    doses: that the plan has, and what of them is in    contact: null while no cleaner is in
    standing: whether it may run or drive, and how to make it safe
    paused: null while the work goes on
    blocking: empty means go on, unless `paused` says that the work rests; cautions that arose in
        the job stand in it until they are acknowledged by their code, and a note on events that
        were left out bars nothing
    """

    as_of: Instant
    next_step: Step | None
    gates: tuple[GateNow, ...]
    level_correction: LevelNow | None
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
    present: bool = False,
) -> Guidance:
    """What a job needs next, judged by what had happened up to a moment.

    at: the moment, with its offset; later events are left out, which a finding tells, as a stop
    where they bring one. Where a device's clock runs ahead, ask for the moment of its newest event.
    closed: by the office; then nothing is next at whatever moment, finished or not, since clocks
    in the bay may run behind
    present: `at` is now, so that what lies ahead of it has happened too, by a clock that runs
    ahead; judged at the newest event then, and where that is more than 10 s ahead no gate is known
    to be open, for nobody knows how old its readings are
    Source: common practice.

    >>> from libexchange.invented import routine_plan
    >>> plan = routine_plan()
    >>> guidance(plan, [], at=plan.request.requested_at).next_step.kind
    'arrival_check'
    """
    everything = history_of(device_events)
    asked = _asked(everything, at, closed=closed, present=present)
    state = fold(plan, asked.known)
    now = _now(plan, history_of(asked.known), state, asked)
    if asked.later and not closed:
        after_all = fold(plan, everything.events)
        told = left_out(plan, state, later=asked.later, after_all=after_all)
        now = replace(now, blocking=(*told, *now.blocking))
    return _pointed(now)


class _Asked(NamedTuple):
    """The moment judged by, how far it lies ahead of the present, and what is known by then.

    later: how many of the others count
    """

    at: datetime
    lead_s: float
    known: Sequence[DeviceEvent]
    later: int
    closed: bool


def _asked(everything: History, at: datetime, *, closed: bool, present: bool) -> _Asked:
    """What was withdrawn neither moves the moment nor is missed; its time may be the slip."""
    counted = [one for one in everything.events if one.event.event_id not in everything.withdrawn]
    if present:
        newest = max((one.event.occurred_at for one in counted), default=at)
        moment = max(at, newest)
        lead_s = (moment - at).total_seconds()
        return _Asked(moment, lead_s, everything.events, later=0, closed=closed)
    known = [one for one in everything.events if one.event.occurred_at <= at]
    later = sum(one.event.occurred_at > at for one in counted)
    return _Asked(at, 0.0, known, later=later, closed=closed)


def _now(plan: Plan, history: History, state: JobState, asked: _Asked) -> Guidance:
    gates = gates_now(plan, history, at=asked.at, lead_s=asked.lead_s)
    step = None if asked.closed or state.ended else _next_step(plan, state)
    moves = moves_of(plan, plan.offline_card, history) if plan.offline_card else []
    line = line_now(plan, moves, state.fresh_share)
    work = WorkNow(plan, state, step, gates, line)
    return Guidance(
        as_of=asked.at,
        next_step=step,
        gates=gates,
        level_correction=_level_now(plan, history, state, moves),
        balance=state.balance,
        line_exchange=line,
        doses=doses_now(plan, history, moves, step),
        contact=contact_now(plan, history, at=asked.at),
        standing=state.standing,
        paused=state.pauses[-1] if state.progress == "paused" else None,
        blocking=(_CLOSED,) if asked.closed else tuple(blocking(work)),
    )


def _level_now(
    plan: Plan, history: History, state: JobState, moves: Sequence[Move]
) -> LevelNow | None:
    card = plan.offline_card
    left = settled(plan, card, history, moves) if card else []
    return level_now(card, history, state.level, left)


def _next_step(plan: Plan, state: JobState) -> Step | None:
    """The first step that is left; once the bay has finished only the hand-over can be.

    Nobody has handed over well while something speaks against it.
    """
    left = steps_left(plan, state)
    if state.progress == "finished":
        left = [step for step in left if step.kind in AFTER_THE_VERDICT]
    if not left and not may_hand_over(plan, state):
        left = [step for step in plan.steps if step.kind in AFTER_THE_VERDICT]
    return left[0] if left else None


def _pointed(now: Guidance) -> Guidance:
    """All findings pointing into the document."""
    gates = tuple(
        replace(gate, findings=pointing_into(now, gate.findings, under=f"#/gates/{number}"))
        for number, gate in enumerate(now.gates)
    )
    return replace(
        now,
        gates=gates,
        balance=pointed_part(now, now.balance, "#/balance"),
        level_correction=rounded(now.level_correction),
        line_exchange=rounded(now.line_exchange),
        doses=tuple(map(rounded, now.doses)),
        blocking=pointing_into(now, now.blocking),
    )

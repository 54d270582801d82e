"""From the events of a job to its state: a pure fold that knows no clock and no arrival order."""

from collections.abc import Iterable
from typing import NamedTuple

from msgspec.structs import replace

from libexchange.findings import Finding
from libexchange.job.answered_for import answered_for
from libexchange.job.confirmations import confirmation_findings
from libexchange.job.course import ended, found_later, overridden, pauses_of, secured
from libexchange.job.course_findings import CourseFacts, course_findings
from libexchange.job.custody import custody_events, custody_of
from libexchange.job.dose_told import dose_findings
from libexchange.job.events import (
    Arrived,
    CautionAcknowledged,
    ConsentGiven,
    DeviceEvent,
    FluidOpened,
    LateFinding,
    LegalHold,
    Note,
    ReadingTaken,
    Started,
    StepConfirmed,
    WorkFinished,
)
from libexchange.job.evidence import evidence_of
from libexchange.job.evidence_rules import evidence_findings
from libexchange.job.fluids import (
    JobBalance,
    LineLitres,
    Move,
    balance_of,
    line_litres,
    moves_of,
    unbelievable,
)
from libexchange.job.history import (
    History,
    history_after,
    history_of,
    late_findings,
    open_late_events,
)
from libexchange.job.laboratory_told import laboratory_findings
from libexchange.job.late_told import later_findings
from libexchange.job.level_doubts import level_doubts
from libexchange.job.line_gate import Fed, fed_through, gate_lost
from libexchange.job.line_stops import fed_against_stop, stop_lasts
from libexchange.job.looks import SETTLED, LevelState, level_state, settled
from libexchange.job.open_now import open_now
from libexchange.job.opened import opened_findings
from libexchange.job.order import order_findings
from libexchange.job.ran_dry import ran_dry
from libexchange.job.share import ReachedShare, reached_share, untold
from libexchange.job.standing import StandingFacts, standing, told_in
from libexchange.job.state import Acknowledged, ConfirmedStep, JobState, OpenedFluid, Progress
from libexchange.job.taken_back import taken_back, with_all
from libexchange.job.verdict import found
from libexchange.job.verdict_findings import LEAK_FOUND
from libexchange.plan.card_records import OfflineCard
from libexchange.plan.records import Plan
from libexchange.reading_findings import IMPLAUSIBLE
from libexchange.readings import Reading, Source, plausible


def fold(
    plan: Plan, device_events: Iterable[DeviceEvent], late_events: Iterable[DeviceEvent] = ()
) -> JobState:
    """The state of a job: the same for any order, repetition and batching of its events.

    plan: the plan that the job works from    device_events: those posted before the close
    late_events: those posted after it; they add a finding until a correction deals with them
    Source: common practice.

    >>> from libexchange.invented import routine_plan
    >>> plan = routine_plan()
    >>> fold(plan, []).progress
    'planned'
    """
    history = history_of(device_events)
    state = _answered(plan, history, _as_told(plan, history, tuple(late_events)))
    if not history.withdrawn:
        return state
    first = _as_told(plan, history_of(with_all(history)), ())
    told = taken_back(history, before=_stops(first), now=_stops(state))
    return replace(state, findings=(*state.findings, *told))


def _answered(plan: Plan, history: History, state: JobState) -> JobState:
    """The state with the overrides as far as they count."""

    def then(events: list[DeviceEvent]) -> list[Finding]:
        return found(plan, _as_told(plan, history_of(events), ()))

    told = answered_for(state.overridden, history, now=found(plan, state), then=then)
    return replace(state, overridden=told)


def _stops(state: JobState) -> list[str]:
    leak = (LEAK_FOUND.code,) if state.leak_check == "leak" else ()
    return [*leak, *(one.code for one in state.findings if one.severity == "stop")]


def _as_told(plan: Plan, history: History, late_events: tuple[DeviceEvent, ...]) -> JobState:
    opened = history.of(FluidOpened)
    after_close = history_after(history, late_events)
    late = open_late_events(on_time=history.events, late=late_events)
    evidence = evidence_of(plan, history)
    custody = custody_of(
        custody_events(history, after_close), finished=progress_of(history) == "finished"
    )
    card, fed = plan.offline_card, fed_through(plan, history)
    liquid = _liquid(plan, card, history, fed) if card else NOTHING_MOVED
    against = (
        *opened_findings(plan, history),
        *evidence_findings(plan, history, evidence),
        *laboratory_findings(plan, evidence.bench, on_time=history, late=after_close),
    )
    course = _course(plan, history, liquid, (*against, *liquid.findings))
    return JobState(
        progress=progress_of(history),
        started_at=min((e.occurred_at for e in history.of(Started)), default=None),
        finished_at=max((e.occurred_at for e in history.of(WorkFinished)), default=None),
        confirmed_steps=_confirmed(plan, history),
        withdrawn=history.withdrawn,
        open_late_events=late,
        readings=_latest_readings(history),
        balance=liquid.balance,
        line_exchange=liquid.line,
        level=liquid.level,
        fresh_share=liquid.share,
        leak_check=course.checked.leak_check,
        test_drive=course.checked.test_drive,
        **evidence._asdict(),
        samples=custody.samples,
        legal_hold=custody.legal_hold,
        standing=course.standing,
        pauses=pauses_of(history),
        ended=course.ended,
        made_safe=course.secured,
        overridden=overridden(history),
        found_later=found_later((history, after_close)),
        acknowledged=_acknowledged(history),
        fluids_opened=_opened(opened),
        findings=(
            *history.findings,
            *after_close.findings,
            *liquid.findings,
            *_implausible(history),
            *confirmation_findings(plan, history),
            *fed_against_stop(fed),
            *ran_dry(plan, history),
            *order_findings(course.checked),
            *against,
            *course_findings(course),
            *custody.findings,
            *later_findings(on_time=history, late=after_close),
            *late_findings(late),
        ),
    )


def _course(
    plan: Plan, history: History, liquid: "_Liquid", against: tuple[Finding, ...]
) -> CourseFacts:
    """Where the vehicle stands and how the job went so far."""
    now, end = open_now(plan, history), ended(history)
    safe = secured(history, now.made_safe)
    facts = StandingFacts(
        plan=plan,
        now=now,
        moves=liquid.moves,
        level=liquid.level,
        leak_check=now.checked.leak_check,
        driven=now.checked.test_drive is not None,
        line_stopped=stop_lasts(plan, history, now),
        left_safe=end is not None and safe is not None,
        findings=against,
    )
    return CourseFacts(
        ended=end,
        secured=safe,
        last_pause=next(reversed(pauses_of(history)), None),
        standing=standing(facts),
        told_in=told_in(facts),
        checked=now.checked,
        work_done=tuple(sorted(now.done)),
        finished=bool(history.of(WorkFinished)),
    )


class _Liquid(NamedTuple):
    """What follows from the fluid moved and the looks at the level."""

    balance: JobBalance | None = None
    line: LineLitres | None = None
    level: LevelState | None = None
    share: ReachedShare | None = None
    moves: tuple[Move, ...] = ()
    findings: tuple[Finding, ...] = ()


NOTHING_MOVED = _Liquid()


def _liquid(plan: Plan, card: OfflineCard, history: History, fed: list[Fed]) -> _Liquid:
    moves = settled(plan, card, history, moves_of(plan, card, history))
    if wrong := unbelievable(card, moves):
        return _Liquid(findings=tuple(wrong), moves=tuple(moves))
    level = level_state(plan, card, history, moves)
    is_set = level is not None and level.standing in SETTLED
    share = reached_share(plan, card, moves)
    return _Liquid(
        balance=balance_of(card, moves, settled=is_set) if moves else None,
        line=line_litres(card, moves),
        level=level,
        share=share,
        moves=tuple(moves),
        findings=(
            *untold(share, moves),
            *level_doubts(plan, history, moves),
            *gate_lost(fed, moves),
            *dose_findings(plan, card, history, moves),
        ),
    )


def progress_of(history: History) -> Progress:
    """How far the bay is; quicker to tell than all the rest.

    >>> progress_of(history_of([]))
    'planned'
    """
    end, pauses = ended(history), pauses_of(history)
    if end is not None:
        return end.kind
    if history.of(WorkFinished):
        return "finished"
    if pauses and pauses[-1].resumed_at is None:
        return "paused"
    idle = (Note, CautionAcknowledged, Arrived, ConsentGiven, LegalHold, LateFinding)
    return "running" if any(not isinstance(e, idle) for e in history.in_force) else "planned"


def _confirmed(plan: Plan, history: History) -> tuple[ConfirmedStep, ...]:
    """Each confirmed step once, in the order of the first confirmation."""
    known = {step.step_id for step in plan.steps}
    last = {event.step_id: event.occurred_at for event in history.of(StepConfirmed)}
    return tuple(
        ConfirmedStep(step_id=step_id, confirmed_at=at, in_plan=step_id in known)
        for step_id, at in last.items()
    )


def _latest_readings(history: History) -> tuple[Reading, ...]:
    latest: dict[Source, Reading] = {e.source: e.reading for e in history.of(ReadingTaken)}
    return tuple(latest[source] for source in sorted(latest))


def _implausible(history: History) -> list[Finding]:
    """Readings that no fluid has; they open no gate."""
    readings = [event.reading for event in history.of(ReadingTaken)]
    odd = [one.temperature.c for one in readings if one.temperature and not plausible(one)]
    if not odd:
        return []
    worst_c = max(odd, key=abs)
    text = f"{len(odd)} of {len(readings)} readings, such as {worst_c:g} °C."
    values = {"readings": len(odd), "temperature_c": worst_c}
    return [IMPLAUSIBLE.at("#/readings", text, values=values)]


def _acknowledged(history: History) -> tuple[Acknowledged, ...]:
    """The latest acknowledgement of each caution, by code."""
    latest = {event.code: event for event in history.of(CautionAcknowledged)}
    return tuple(
        Acknowledged(
            code=code,
            by=event.by,
            reason=event.reason,
            qualification=event.qualification,
            acknowledged_at=event.occurred_at,
        )
        for code, event in sorted(latest.items())
    )


def _opened(opened: Iterable[FluidOpened]) -> tuple[OpenedFluid, ...]:
    return tuple(
        OpenedFluid(
            fluid_id=event.fluid_id,
            fluid_kind=event.fluid_kind,
            lot=event.lot,
            opened_at=event.occurred_at,
        )
        for event in opened
    )

"""The record of a closed job: what was planned, what happened, what was judged, and its digests.

Every event is chained to the one before it, so that one that was changed, removed, added or moved
shows. What was calculated is said to be calculated.
"""

from collections.abc import Iterable
from hashlib import sha256
from typing import Literal
from uuid import UUID

from msgspec import Struct
from msgspec.structs import replace

from libexchange.canonical import canonical_json, digest
from libexchange.findings import Finding
from libexchange.job.events import DeviceEvent, JobEvent
from libexchange.job.fluids import JobBalance
from libexchange.job.fold import fold
from libexchange.job.history import in_fold_order
from libexchange.job.looks import LevelState
from libexchange.job.pointers import pointing_into
from libexchange.job.share import ReachedShare
from libexchange.job.state import Acknowledged, JobState, OpenedFluid
from libexchange.job.verdict import steps_left
from libexchange.job.view import Closing, pointed_part
from libexchange.plan.records import Plan


class ChainedEvent(Struct, frozen=True, kw_only=True):
    """An event in its order.

    `digest` is the SHA-256 over the digest before it, as text, followed by the canonical form of
    device id and event; the digest before the first event is that of the plan.
    """

    device_id: str
    event: JobEvent
    digest: str


class NotDone(Struct, frozen=True, kw_only=True):
    """A step of the plan that was neither confirmed nor proved by its own event."""

    step_id: str
    title: str


class CautionGiven(Struct, frozen=True, kw_only=True):
    """A caution of the plan and the steps it stood at."""

    code: str
    text: str
    step_ids: tuple[str, ...]


class JobRecord(Struct, frozen=True, kw_only=True):
    """What is kept, shown and printed of a closed job.

    `events` are those from before the close, `late_events` came after it and changed no verdict;
    `chain_head` is the digest of the last event and stays as it is when late events come.
    `fresh_share` is calculated, not measured; `findings` are those of the state now.
    `digest` is the SHA-256 of the record without it, in the canonical form of RFC 8785.
    """

    record_version: Literal[1]
    job_id: UUID
    plan: Plan
    closing: Closing
    events: tuple[ChainedEvent, ...]
    late_events: tuple[DeviceEvent, ...]
    withdrawn: tuple[UUID, ...]
    chain_head: str
    balance: JobBalance | None
    level: LevelState | None
    fresh_share: ReachedShare | None
    fluids_opened: tuple[OpenedFluid, ...]
    leak_check: Literal["dry", "leak"] | None
    test_drive: Literal["ok", "complaint"] | None
    not_done: tuple[NotDone, ...]
    cautions_given: tuple[CautionGiven, ...]
    acknowledged: tuple[Acknowledged, ...]
    findings: tuple[Finding, ...]
    digest: str


def make_record(
    *,
    job_id: UUID,
    plan: Plan,
    device_events: Iterable[DeviceEvent],
    late_events: Iterable[DeviceEvent],
    closing: Closing,
) -> JobRecord:
    """The record of a closed job, the same for any order in which its events arrived.

    device_events: those from before the close    late_events: those after it
    Returns: the record with its digests    Source: digests by RFC 8785 and FIPS 180-4.

    >>> from libexchange import invented
    >>> from libexchange.plan.planning import make_plan
    >>> request = invented.routine_request()
    >>> plan = make_plan(request=request, transmission=invented.six_speed(),
    ...                  fluid=invented.red_fluid(), plan_id=UUID(int=1),
    ...                  created_at=request.requested_at)
    >>> closing = Closing(verdict="incomplete", findings=(), closed_at=request.requested_at,
    ...                   closed_by="invented key", workshop="invented workshop")
    >>> record = make_record(job_id=UUID(int=2), plan=plan, device_events=[], late_events=[],
    ...                      closing=closing)
    >>> record.not_done[0].step_id, record.chain_head == plan.digest
    ('step-01', True)
    """
    events, late = in_fold_order(device_events), in_fold_order(late_events)
    state = fold(plan, events, late)
    record = _assemble(job_id, plan, state, chained(plan.digest, events), late, closing)
    record = _pointed(record)
    return replace(record, digest=digest(record, without=("digest",)))


def _pointed(record: JobRecord) -> JobRecord:
    """The record with what was found in the job pointing into it."""
    closing = record.closing
    return replace(
        record,
        closing=replace(closing, findings=pointing_into(record, closing.findings)),
        balance=pointed_part(record, record.balance, "#/balance"),
        level=pointed_part(record, record.level, "#/level"),
        findings=pointing_into(record, record.findings),
    )


def chained(first: str, events: Iterable[DeviceEvent]) -> tuple[ChainedEvent, ...]:
    """Events in their order, each with the digest that ties it to the one before.

    first: the digest before the first event

    >>> chained("", [])
    ()
    """
    before, chain = first, []
    for one in in_fold_order(events):
        before = sha256(before.encode() + canonical_json(one)).hexdigest()
        chain.append(ChainedEvent(device_id=one.device_id, event=one.event, digest=before))
    return tuple(chain)


def _assemble(
    job_id: UUID,
    plan: Plan,
    state: JobState,
    chain: tuple[ChainedEvent, ...],
    late: tuple[DeviceEvent, ...],
    closing: Closing,
) -> JobRecord:
    left = steps_left(plan, state)
    return JobRecord(
        record_version=1,
        job_id=job_id,
        plan=plan,
        closing=closing,
        events=chain,
        late_events=late,
        withdrawn=state.withdrawn,
        chain_head=chain[-1].digest if chain else plan.digest,
        balance=state.balance,
        level=state.level,
        fresh_share=state.fresh_share,
        fluids_opened=state.fluids_opened,
        leak_check=state.leak_check,
        test_drive=state.test_drive,
        not_done=tuple(NotDone(step_id=step.step_id, title=step.title) for step in left),
        cautions_given=_cautions_given(plan),
        acknowledged=state.acknowledged,
        findings=state.findings,
        digest="",
    )


def _cautions_given(plan: Plan) -> tuple[CautionGiven, ...]:
    """Every caution of the plan's steps once, with the steps it stood at."""
    texts: dict[str, str] = {}
    steps: dict[str, list[str]] = {}
    for step in plan.steps:
        for caution in step.cautions:
            texts.setdefault(caution.code, caution.text)
            steps.setdefault(caution.code, []).append(step.step_id)
    return tuple(
        CautionGiven(code=code, text=text, step_ids=tuple(steps[code]))
        for code, text in texts.items()
    )

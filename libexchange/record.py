"""The record of a closed job: what was planned, what happened, what was judged, and its digests.

Every event is chained to the one before it, so that one that was changed, removed, added or moved
shows. All digests are of the concealed record, in which salted commitments stand for personal
texts. What was calculated is said to be calculated.
"""

from collections.abc import Iterable
from typing import Literal
from uuid import UUID

from msgspec import Struct, convert
from msgspec.structs import replace

from libexchange.canonical import digest
from libexchange.findings import Finding
from libexchange.job.course import Ended, FoundLater, Overridden, Pause, Secured
from libexchange.job.custody_records import LegalHoldState, RetainedSample
from libexchange.job.events import DeviceEvent, JobEvent
from libexchange.job.evidence import (
    Arrival,
    BenchState,
    Consent,
    DriveResult,
    FaultCodes,
    FittedPart,
    JobPhoto,
    SecondLook,
    UsedTool,
)
from libexchange.job.fluids import JobBalance
from libexchange.job.fold import fold
from libexchange.job.history import in_fold_order
from libexchange.job.looks import LevelState
from libexchange.job.pointers import pointing_into
from libexchange.job.rounded import rounded
from libexchange.job.share import ReachedShare
from libexchange.job.standing import Standing
from libexchange.job.state import Acknowledged, JobState, OpenedFluid
from libexchange.job.verdict import steps_left
from libexchange.job.view import Closing, pointed_part
from libexchange.personal import Concealed, PersonalPlaces, conceal, conceal_at, erased_at, plain_of
from libexchange.plan.records import Plan
from libexchange.sealing import Tie, parts_of, record_digest, ties


class ChainedEvent(Struct, frozen=True, kw_only=True):
    """An event in its order, from number 1 on.

    `content_digest` is the SHA-256 of device id and concealed event in canonical form; `digest`
    that of number, `previous` and `content_digest`, joined by line feeds. The `previous` of the
    first event is the digest of the concealed plan, that of the first late one the `chain_head`.
    """

    number: int
    device_id: str
    event: JobEvent
    previous: str
    content_digest: str
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
    `personal` says where personal texts stand, with their salts. In the concealed record they are
    replaced by commitments and `personal` is left out; `parts` holds the digest of each of its
    members but the chains, and `digest` is the SHA-256 of it without `digest`, in the canonical
    form of RFC 8785.
    """

    record_version: Literal[1]
    job_id: UUID
    plan: Plan
    closing: Closing
    events: tuple[ChainedEvent, ...]
    event_count: int
    chain_head: str
    late_events: tuple[ChainedEvent, ...]
    late_event_count: int
    late_chain_head: str
    withdrawn: tuple[UUID, ...]
    balance: JobBalance | None
    level: LevelState | None
    fresh_share: ReachedShare | None
    fluids_opened: tuple[OpenedFluid, ...]
    leak_check: Literal["dry", "leak"] | None
    drive_before: DriveResult | None
    test_drive: DriveResult | None
    arrival: Arrival | None
    fault_codes: FaultCodes
    bench: BenchState | None
    photos: tuple[JobPhoto, ...]
    parts_fitted: tuple[FittedPart, ...]
    tools: tuple[UsedTool, ...]
    consents: tuple[Consent, ...]
    second_checks: tuple[SecondLook, ...]
    samples: tuple[RetainedSample, ...]
    legal_hold: LegalHoldState | None
    standing: Standing
    pauses: tuple[Pause, ...]
    ended: Ended | None
    made_safe: Secured | None
    overridden: tuple[Overridden, ...]
    found_later: tuple[FoundLater, ...]
    not_done: tuple[NotDone, ...]
    cautions_given: tuple[CautionGiven, ...]
    acknowledged: tuple[Acknowledged, ...]
    findings: tuple[Finding, ...]
    parts: dict[str, str]
    digest: str
    personal: tuple[PersonalPlaces, ...]


_OF_STATE = tuple(
    name for name in JobRecord.__struct_fields__ if name in JobState.__struct_fields__
)
"""What a record holds as the state has it."""


def make_record(
    *,
    job_id: UUID,
    plan: Plan,
    device_events: Iterable[DeviceEvent],
    late_events: Iterable[DeviceEvent],
    closing: Closing,
    salt: bytes,
) -> JobRecord:
    """The record of a closed job, the same for any order in which its events arrived.

    device_events: those from before the close    late_events: those after it
    salt: 32 random bytes that the job keeps, from which the salts of its personal texts follow
    Returns: the record with its digests    Raises: OutOfRange for a salt of another length
    Source: digests by RFC 8785 and FIPS 180-4.

    >>> from libexchange import invented
    >>> from libexchange.plan.planning import make_plan
    >>> request = invented.routine_request()
    >>> plan = make_plan(request=request, transmission=invented.six_speed(),
    ...                  fluid=invented.red_fluid(), plan_id=UUID(int=1),
    ...                  created_at=request.requested_at)
    >>> closing = Closing(verdict="incomplete", findings=(), closed_at=request.requested_at,
    ...                   closed_by="invented key", workshop="invented workshop")
    >>> record = make_record(job_id=UUID(int=2), plan=plan, device_events=[], late_events=[],
    ...                      closing=closing, salt=bytes(32))
    >>> record.not_done[0].step_id, record.chain_head == record.parts["plan"]
    ('step-01', True)
    """
    events, late = in_fold_order(device_events), in_fold_order(late_events)
    state = fold(plan, events, late)
    record = _assemble(job_id, plan, state, _untied(events), _untied(late), closing)
    return _sealed(_pointed(record), salt)


def concealed_record(record: JobRecord) -> Concealed:
    """What of a record is digested and signed, with commitments for its personal texts.

    Raises: InvalidInput where `personal` does not go with the texts of the record

    >>> from libexchange.invented import closed_record
    >>> list(concealed_record(closed_record()).form["closing"]["closed_by"])
    ['commitment']
    """
    plain = plain_of(record)
    del plain["personal"]
    return conceal_at(plain, record.personal)


def erased_record(record: JobRecord) -> JobRecord:
    """The record without its personal texts, whose digests and signatures stay as they are.

    Raises: InvalidInput where `personal` does not go with the texts of the record

    >>> from libexchange.invented import closed_record
    >>> before, after = closed_record(), erased_record(closed_record())
    >>> before.closing.closed_by, after.closing.closed_by[:7]
    ('invented key', '[erased')
    >>> concealed_record(after).form == concealed_record(before).form
    True
    """
    plain = erased_at(concealed_record(record).form, record.personal)
    plain["personal"] = [replace(one, salt=None) for one in record.personal]
    return convert(plain, type=JobRecord)


def _sealed(record: JobRecord, salt: bytes) -> JobRecord:
    """The record with its ties, its digests and where its personal texts stand."""
    form, personal, _ = conceal(record, salt=salt)
    start = digest(form["plan"])
    on_time = ties(start, form["events"])
    head = on_time[-1].digest if on_time else start
    late = ties(head, form["late_events"])
    record = replace(
        record,
        events=_tied(record.events, on_time),
        chain_head=head,
        late_events=_tied(record.late_events, late),
        late_chain_head=late[-1].digest if late else head,
        personal=personal,
    )
    form = concealed_record(record).form
    form["parts"] = parts_of(form)
    return replace(record, parts=form["parts"], digest=record_digest(form))


def _untied(events: tuple[DeviceEvent, ...]) -> tuple[ChainedEvent, ...]:
    return tuple(
        ChainedEvent(
            number=0, device_id=one.device_id, event=one.event,
            previous="", content_digest="", digest="",
        )
        for one in events
    )  # fmt: skip


def _tied(events: tuple[ChainedEvent, ...], by: list[Tie]) -> tuple[ChainedEvent, ...]:
    return tuple(
        replace(
            event,
            number=tie.number,
            previous=tie.previous,
            content_digest=tie.content_digest,
            digest=tie.digest,
        )
        for event, tie in zip(events, by, strict=True)
    )


def _pointed(record: JobRecord) -> JobRecord:
    """The record with what was found in the job pointing into it."""
    return replace(
        record,
        closing=replace(record.closing, findings=pointing_into(record, record.closing.findings)),
        balance=pointed_part(record, record.balance, "#/balance"),
        level=pointed_part(record, record.level, "#/level"),
        fresh_share=rounded(record.fresh_share),
        findings=pointing_into(record, record.findings),
    )


def _assemble(
    job_id: UUID,
    plan: Plan,
    state: JobState,
    events: tuple[ChainedEvent, ...],
    late: tuple[ChainedEvent, ...],
    closing: Closing,
) -> JobRecord:
    left = steps_left(plan, state)
    return JobRecord(
        record_version=1,
        job_id=job_id,
        plan=plan,
        closing=closing,
        events=events,
        event_count=len(events),
        chain_head="",
        late_events=late,
        late_event_count=len(late),
        late_chain_head="",
        not_done=tuple(NotDone(step_id=step.step_id, title=step.title) for step in left),
        cautions_given=_cautions_given(plan),
        parts={},
        digest="",
        personal=(),
        **{name: getattr(state, name) for name in _OF_STATE},
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

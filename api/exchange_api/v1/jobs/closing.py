"""A job as it is shown, closed and recorded."""

from datetime import datetime
from uuid import UUID

import msgspec
from msgspec.structs import replace

from exchange_api.keys import Principal
from exchange_api.outside import as_stamp
from exchange_api.problems import Problem, parameter_fault
from exchange_api.storage.units import Connection
from exchange_api.v1.jobs import store
from exchange_api.v1.jobs.reopening import Reopening, keep_aside
from libexchange.findings import Finding
from libexchange.job.clocks import (
    arrival_findings,
    count_findings,
    offset_findings,
    span_findings,
)
from libexchange.job.events import DeviceEvent
from libexchange.job.fold import fold, progress_of
from libexchange.job.history import clock_offset_s, history_of, sequence_gaps
from libexchange.job.state import JobState
from libexchange.job.verdict import verdict
from libexchange.job.view import Closing, JobView, pointed, status_of
from libexchange.record import JobRecord, make_record


def tag(row: store.JobRow) -> str:
    """The entity tag of a job: its version, which every change moves on."""
    return f'"{row.job_id}.{row.version}"'


def on_time(loaded: store.LoadedJob) -> list[DeviceEvent]:
    """The events from before the close."""
    return [one.event for one in loaded.events if not one.late]


def late(loaded: store.LoadedJob) -> list[DeviceEvent]:
    """The events from after the close."""
    return [one.event for one in loaded.events if one.late]


def counts(loaded: store.LoadedJob) -> list[tuple[str, int]]:
    """The device and number of every event."""
    return [(one.event.device_id, one.event.event.sequence) for one in loaded.events]


def state_of(loaded: store.LoadedJob) -> JobState:
    """What everything that was posted comes to."""
    return fold(loaded.plan, on_time(loaded), late(loaded))


def view(loaded: store.LoadedJob) -> JobView:
    """A job with everything that stands beside its folded state."""
    closing = _closing(loaded.row)
    state = state_of(loaded)
    offsets_s = _offsets_s(loaded)
    shown = JobView(
        job_id=UUID(loaded.row.job_id),
        plan_id=UUID(loaded.row.plan_id),
        status=status_of(state, closing),
        state=state,
        closing=closing,
        earlier_closings=loaded.earlier_closings,
        record_digest=loaded.record_digest,
        related=loaded.related,
        gaps=sequence_gaps(counts(loaded)),
        clock_offset_s=offsets_s,
        app_versions={contact.device_id: contact.app_version for contact in loaded.devices},
        findings=_beside(loaded, state, offsets_s),
    )
    return pointed(shown)


def _offsets_s(loaded: store.LoadedJob) -> dict[str, float]:
    return {
        contact.device_id: clock_offset_s(
            sent_at=datetime.fromisoformat(contact.sent_at),
            received_at=datetime.fromisoformat(contact.received_at),
        )
        for contact in loaded.devices
    }


def _beside(
    loaded: store.LoadedJob, state: JobState, offsets_s: dict[str, float]
) -> tuple[Finding, ...]:
    """What the counts and clocks of the devices tell."""
    leads = (one.event.event.occurred_at - one.received_at for one in loaded.events)
    events = (one.event for one in loaded.events)
    return (
        *arrival_findings(lead.total_seconds() for lead in leads),
        *offset_findings(offsets_s),
        *count_findings(events, withdrawn=frozenset(state.withdrawn)),
        *span_findings(started_at=state.started_at, finished_at=state.finished_at),
    )


def closing_of(loaded: store.LoadedJob, holder: Principal, *, now: datetime) -> Closing:
    """The verdict on a job as it stands. Raises: Problem 409 when it is closed already."""
    if loaded.row.closed_at is not None:
        raise _state_conflict(loaded, "is closed already", "an open job", "Read its record.")
    judged = verdict(loaded.plan, state_of(loaded))
    return Closing(
        verdict=judged.verdict,
        findings=judged.findings,
        closed_at=now,
        closed_by=holder.key_id,
        workshop=holder.workshop,
    )


def reopen(
    connection: Connection,
    *,
    workshop_id: str,
    loaded: store.LoadedJob,
    wanted: Reopening,
    now: datetime,
) -> store.JobRow:
    """A job after it was opened again. Raises: Problem 409 while it is open."""
    row, closing = loaded.row, _closing(loaded.row)
    if closing is None:
        raise _state_conflict(loaded, "is still open", "a closed job", "Go on with it as it is.")
    keep_aside(
        connection,
        workshop_id=workshop_id,
        job_id=row.job_id,
        version=row.version + 1,
        closing=closing,
        wanted=wanted,
        now=now,
    )
    state = progress_of(history_of(one.event for one in loaded.events))
    opened = replace(row, closed_at=None, closing=None)
    return store.touch(
        connection, workshop_id=workshop_id, row=opened, state=state, now=as_stamp(now)
    )


def record(loaded: store.LoadedJob) -> JobRecord:
    """The record of a closed job. Raises: Problem 409 while it is open."""
    closing = _closing(loaded.row)
    if closing is None:
        raise _state_conflict(loaded, "is still open", "a closed job", "Close the job first.")
    return make_record(
        job_id=UUID(loaded.row.job_id),
        plan=loaded.plan,
        device_events=on_time(loaded),
        late_events=late(loaded),
        closing=closing,
        salt=loaded.salt,
    )


def _state_conflict(loaded: store.LoadedJob, standing: str, allowed: str, remedy: str) -> Problem:
    error = parameter_fault(
        "path", "job_id", code="conflict", detail=f"the job {standing}", value=loaded.row.job_id,
        allowed=allowed, remedy=remedy,
    )  # fmt: skip
    return Problem("conflict", f"The job {standing}.", errors=[error])


def _closing(row: store.JobRow) -> Closing | None:
    return msgspec.json.decode(row.closing, type=Closing) if row.closing is not None else None

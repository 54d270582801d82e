"""What the job operations take and answer, where it is not a record of the library."""

from typing import Annotated, Literal
from uuid import UUID

from msgspec import Meta, Struct

from exchange_api.paging import Cursor, Limit
from exchange_api.problems import ProblemError
from exchange_api.v1.jobs.listing import JobSummary
from libexchange.fields import Instant
from libexchange.job.events import LARGEST_BATCH, DeviceEvent, DeviceId, JobEvent
from libexchange.job.history import SequenceGap

Outcome = Literal["stored", "already_stored", "stored_late", "conflict", "refused"]
"""What became of one event of a batch."""


class JobStart(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A job is started on a plan."""

    plan_id: UUID


class JobQuery(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which jobs to list."""

    state: Literal["planned", "running", "finished", "closed"] | None = None
    plan_id: UUID | None = None
    updated_since: Instant | None = None
    cursor: Cursor | None = None
    limit: Limit = 50


class JobPage(Struct, frozen=True, kw_only=True):
    """A page of jobs, the longest unchanged first."""

    items: list[JobSummary]
    next_cursor: str | None


class EventPost(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What a device sends at once; each event stands for itself, so a bad one is refused alone."""

    device_id: DeviceId
    sent_at: Instant
    events: Annotated[list[JobEvent], Meta(max_length=LARGEST_BATCH)]


class EventOutcome(Struct, frozen=True, kw_only=True):
    """What became of one event; `event_id` is null where none could be read."""

    event_id: str | None
    outcome: Outcome
    errors: list[ProblemError]


class EventOutcomes(Struct, frozen=True, kw_only=True):
    """What became of each event, in the order sent, and what is missing of each device's count."""

    items: list[EventOutcome]
    gaps: tuple[SequenceGap, ...]


class PostedEvent(Struct, frozen=True, kw_only=True):
    """An event as it is kept: `received_at` is our clock, `delay_s` from doing to receiving."""

    event: DeviceEvent
    received_at: Instant
    delay_s: float
    late: bool


class EventList(Struct, frozen=True, kw_only=True):
    """Every event of a job in the order of the fold."""

    items: list[PostedEvent]


class GuidanceQuery(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The moment to judge by, the present one when it is left out."""

    at: Instant | None = None

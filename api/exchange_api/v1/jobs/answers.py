"""What the job operations take and answer, where it is not a record of the library."""

from typing import Annotated, Literal
from uuid import UUID

from msgspec import Meta, Struct, field

from exchange_api.documents.forms import Reader
from exchange_api.paging import Cursor, Limit
from exchange_api.problems import ProblemError
from exchange_api.v1.jobs.listing import JobSummary
from exchange_api.v1.jobs.relations import LARGEST, RelatedTo
from libexchange.fields import Digest, Instant
from libexchange.findings import Finding
from libexchange.job.events import LARGEST_BATCH, AppVersion, DeviceEvent, DeviceId, JobEvent
from libexchange.job.history import SequenceGap
from libexchange.job.view import Closing

Outcome = Literal["stored", "already_stored", "stored_late", "conflict", "refused"]
"""What became of one event of a batch."""


class JobStart(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A job is started on a plan; `related` names earlier jobs that it belongs to, each once.

    plan_id: the plan that is worked    related: earlier jobs that it belongs to, each once
    """

    plan_id: UUID
    related: Annotated[tuple[RelatedTo, ...], Meta(max_length=LARGEST)] = ()


class JobQuery(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which jobs to list."""

    state: (
        Literal["planned", "running", "paused", "finished", "aborted", "voided", "closed"] | None
    ) = None
    plan_id: UUID | None = None
    updated_since: Instant | None = None
    cursor: Cursor | None = None
    limit: Limit = 50


class JobPage(Struct, frozen=True, kw_only=True):
    """A page of jobs, the longest unchanged first.

    items: what is on this page    next_cursor: asks for the next page; null on the last
    """

    items: list[JobSummary]
    next_cursor: str | None


class EventPost(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What a device sends at once; each event stands for itself, so a bad one is refused alone.

    device_id: the name that the device gives itself    sent_at: by the clock of the device
    events: each decoded by itself
    app_version: of the program that recorded them
    """

    device_id: DeviceId
    sent_at: Instant
    app_version: AppVersion | None = None
    events: Annotated[list[JobEvent], Meta(max_length=LARGEST_BATCH)]


class EventOutcome(Struct, frozen=True, kw_only=True):
    """What became of one event; `event_id` is null where none could be read."""

    event_id: str | None
    outcome: Outcome
    errors: list[ProblemError]


class EventOutcomes(Struct, frozen=True, kw_only=True):
    """What became of each event, in the order sent, and what is missing of each device's count.

    missing_photos: pictures that events of the job name and whose file was not sent yet
    findings: what speaks against the pictures that this post names; pointing into this document
    """

    items: list[EventOutcome]
    gaps: tuple[SequenceGap, ...]
    missing_photos: list[Digest]
    findings: list[Finding]


class PostedEvent(Struct, frozen=True, kw_only=True):
    """An event as it is kept: `received_at` is our clock, `delay_s` from doing to receiving.

    delay_s: negative where the clock of the device runs ahead
    posted_by: the API key that it came with, null where that was not kept yet; with it a reader
    tells whether a check came by a second login
    """

    event: DeviceEvent
    received_at: Instant
    delay_s: float
    late: bool
    posted_by: str | None


class EventList(Struct, frozen=True, kw_only=True):
    """Every event of a job in the order of the fold.

    missing_photos: pictures that they name and whose file was not sent yet
    findings: what speaks against the pictures that they name; pointing into this document
    """

    items: list[PostedEvent]
    missing_photos: list[Digest]
    findings: list[Finding]


class GuidanceQuery(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The moment to judge by; later events are left out, and a finding says so.

    Without it: the present one, or that of the newest event where a device's clock runs ahead.
    """

    at: Instant | None = None


class SignedClosing(Closing, frozen=True, kw_only=True):
    """A closing, and the digest of the record that was signed with it: hand it to the customer."""

    record_digest: Digest


class RecordQuery(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Whom a page or PDF is for; the record for programs is one and the same for both.

    `closing` names the close whose signed record is wanted, 1 for the first; left out it is the
    one that counts.
    """

    reader: Reader = field(name="for", default="workshop")
    closing: Annotated[int, Meta(ge=1, le=2**31 - 1)] | None = None

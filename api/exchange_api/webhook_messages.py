"""What webhooks say: which messages there are, and the body of each.

Bodies are thin: ids and codes, no names, no readings; who wants to know more reads it with a key.
`sequence` counts the messages of one endpoint without gaps, so it tells their order and whether
one is missing; they may arrive in another order, and more than once with the same `webhook-id`.
"""

from typing import Literal, TypeAlias, get_args
from uuid import UUID, uuid5

from msgspec import Struct

from libexchange.fields import Instant

EventType = Literal[
    "plan.created", "job.started", "job.needs_attention", "job.closed", "record.available"
]
"""What an endpoint can ask for."""
MessageType = Literal[EventType, "endpoint.test"]
EVENT_TYPES: tuple[EventType, ...] = get_args(EventType)

_IDS = UUID("5b0e7a52-9d0b-4c43-8a35-3a8a8c3f2f0e")  # invented; what ids of messages are derived in


class PlanTold(Struct, frozen=True, kw_only=True):
    """Which plan."""

    plan_id: str


class JobTold(Struct, frozen=True, kw_only=True):
    """Which job, and the plan that it works from."""

    job_id: str
    plan_id: str


class AttentionTold(Struct, frozen=True, kw_only=True):
    """Which job, and why it should be looked at.

    `reasons` are codes of stop findings that a post newly brought, `paused`, `aborted`, and
    `late-event-open` for an event after the close that nothing has dealt with yet.
    """

    job_id: str
    plan_id: str
    reasons: list[str]


class EndpointTold(Struct, frozen=True, kw_only=True):
    """Which endpoint."""

    endpoint_id: str


Data: TypeAlias = PlanTold | JobTold | AttentionTold | EndpointTold


class _Message(Struct, frozen=True, kw_only=True, tag_field="type", tag="message"):
    timestamp: Instant
    sequence: int


class PlanCreated(_Message, frozen=True, kw_only=True, tag="plan.created"):
    """A plan was made and kept."""

    data: PlanTold


class JobStarted(_Message, frozen=True, kw_only=True, tag="job.started"):
    """A job was started on a plan."""

    data: JobTold


class JobNeedsAttention(_Message, frozen=True, kw_only=True, tag="job.needs_attention"):
    """A post brought something that somebody should look at."""

    data: AttentionTold


class JobClosed(_Message, frozen=True, kw_only=True, tag="job.closed"):
    """A job was closed."""

    data: JobTold


class RecordAvailable(_Message, frozen=True, kw_only=True, tag="record.available"):
    """The record of a closed job can be read."""

    data: JobTold


class EndpointTest(_Message, frozen=True, kw_only=True, tag="endpoint.test"):
    """A test that was asked for; nothing has happened."""

    data: EndpointTold


Message: TypeAlias = (
    PlanCreated | JobStarted | JobNeedsAttention | JobClosed | RecordAvailable | EndpointTest
)
"""The body of a webhook."""


class News(Struct, frozen=True, kw_only=True):
    """Something that happened in a workshop.

    at: when, as it is kept    message_id: the same for the same happening, so no chance is needed
    """

    workshop_id: str
    type: MessageType
    at: str
    message_id: str
    data: Data


def plan_created(*, workshop_id: str, plan_id: str, at: str) -> News:
    """A plan was made."""
    return _news(workshop_id, "plan.created", at, plan_id, PlanTold(plan_id=plan_id))


def job_started(*, workshop_id: str, job_id: str, plan_id: str, at: str) -> News:
    """A job was started."""
    told = JobTold(job_id=job_id, plan_id=plan_id)
    return _news(workshop_id, "job.started", at, job_id, told)


def job_closed(*, workshop_id: str, job_id: str, plan_id: str, version: int, at: str) -> News:
    """A job was closed, which made it this version."""
    told = JobTold(job_id=job_id, plan_id=plan_id)
    return _news(workshop_id, "job.closed", at, f"{job_id}.{version}", told)


def record_available(*, workshop_id: str, job_id: str, plan_id: str, version: int, at: str) -> News:
    """The record of a job as it was closed in this version can be read."""
    told = JobTold(job_id=job_id, plan_id=plan_id)
    return _news(workshop_id, "record.available", at, f"{job_id}.{version}", told)


def job_needs_attention(
    *, workshop_id: str, job_id: str, plan_id: str, version: int, at: str, reasons: list[str]
) -> News:
    """A post, which made the job this version, brought something to look at."""
    told = AttentionTold(job_id=job_id, plan_id=plan_id, reasons=reasons)
    return _news(workshop_id, "job.needs_attention", at, f"{job_id}.{version}", told)


def _news(workshop_id: str, kind: EventType, at: str, about: str, data: Data) -> News:
    message_id = str(uuid5(_IDS, f"{workshop_id}/{kind}/{about}"))
    return News(workshop_id=workshop_id, type=kind, at=at, message_id=message_id, data=data)

"""A job as it is shown: what its events fold to, with what stands beside the fold."""

from typing import Literal
from uuid import UUID

from msgspec import Struct

from libexchange.fields import Instant
from libexchange.findings import Finding
from libexchange.job.history import SequenceGap
from libexchange.job.state import JobState, Progress
from libexchange.job.verdict import JobVerdict


class Closing(Struct, frozen=True, kw_only=True):
    """The act of closing a job: the verdict as it stood then, with its findings.

    `closed_by` names the key or person that closed it, `workshop` where.
    """

    verdict: JobVerdict
    findings: tuple[Finding, ...]
    closed_at: Instant
    closed_by: str
    workshop: str


class JobView(Struct, frozen=True, kw_only=True):
    """A job at one moment.

    `status` is the progress of the bay until the office closes the job. `gaps` and
    `clock_offset_s`, the latest of each device, are told beside the state and never used in it.
    """

    job_id: UUID
    plan_id: UUID
    status: Progress | Literal["closed"]
    state: JobState
    closing: Closing | None
    gaps: tuple[SequenceGap, ...]
    clock_offset_s: dict[str, float]


def status_of(state: JobState, closing: Closing | None) -> Progress | Literal["closed"]:
    """Where a job stands: closed once it was closed, otherwise as far as the bay is."""
    return state.progress if closing is None else "closed"

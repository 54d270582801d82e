"""A job as it is shown: what its events fold to, with what stands beside the fold."""

from typing import Literal, TypeVar
from uuid import UUID

from msgspec import Struct
from msgspec.structs import replace

from libexchange.fields import Digest, Instant, Person, PersonalText
from libexchange.findings import Finding
from libexchange.job.fluids import JobBalance, LineLitres
from libexchange.job.history import SequenceGap
from libexchange.job.looks import LevelState
from libexchange.job.pointers import pointing_into
from libexchange.job.rounded import rounded
from libexchange.job.state import JobState, Progress
from libexchange.job.verdict import JobVerdict

Part = TypeVar("Part", LevelState | None, JobBalance | None, LineLitres | None)


class Closing(Struct, frozen=True, kw_only=True):
    """The act of closing a job: the verdict as it stood then, with its findings.

    verdict: by the findings alone    findings: they point into the record of the job
    closed_at: when    closed_by: the key or person that closed it    workshop: where
    """

    verdict: JobVerdict
    findings: tuple[Finding, ...]
    closed_at: Instant
    closed_by: Person
    workshop: str


class EarlierClosing(Struct, frozen=True, kw_only=True):
    """A closing that no longer counts, since the job was reopened: by whom, when and why.

    closing: as it stood    reopened_at: when    by: who decided it    reason: why
    """

    closing: Closing
    reopened_at: Instant
    by: Person
    reason: PersonalText


Relation = Literal["comeback", "recheck", "warranty"]
"""Why a job belongs to an earlier one: a complaint came back, a look again, a claim."""


class RelatedJob(Struct, frozen=True, kw_only=True):
    """Another job that belongs to this one.

    direction: `to` where this job names the other, the earlier one; `from` where it is named
    job_id: the other    relation: why
    """

    job_id: UUID
    relation: Relation
    direction: Literal["to", "from"]


class JobView(Struct, frozen=True, kw_only=True):
    """A job at one moment.

    All findings point into this document.

    job_id: as the client made it    plan_id: what it works from
    status: progress of the bay until the office closes the job    state: what the events tell
    closing: null while the job is open    earlier_closings: oldest first; no longer count, since
        the job was reopened after each
    record_digest: of the record as it was signed at the close, null while the job is open
    related: jobs that this one names and that name it
    gaps: numbers of a device that never came, told beside the state and never used in it
    clock_offset_s: of each device, positive where its clock is ahead, the latest; never used either
    app_versions: that each device last told, null where it told none
    findings: on how events arrived
    """

    job_id: UUID
    plan_id: UUID
    status: Progress | Literal["closed"]
    state: JobState
    closing: Closing | None
    earlier_closings: tuple[EarlierClosing, ...]
    record_digest: Digest | None
    related: tuple[RelatedJob, ...]
    gaps: tuple[SequenceGap, ...]
    clock_offset_s: dict[str, float]
    app_versions: dict[str, str | None]
    findings: tuple[Finding, ...]


def status_of(state: JobState, closing: Closing | None) -> Progress | Literal["closed"]:
    """Where a job stands: closed once it was closed, otherwise as far as the bay is."""
    return state.progress if closing is None else "closed"


def pointed(view: JobView) -> JobView:
    """The view with all its findings pointing into it.

    What they point to in the state stands under `/state` here.
    """
    return replace(
        view,
        state=pointed_state(view, view.state, "#/state"),
        closing=view.closing and _pointed_closing(view, view.closing),
        earlier_closings=tuple(
            replace(earlier, closing=_pointed_closing(view, earlier.closing))
            for earlier in view.earlier_closings
        ),
    )


def _pointed_closing(view: JobView, closing: Closing) -> Closing:
    return replace(closing, findings=pointing_into(view, closing.findings, under="#/state"))


def pointed_state(document: object, state: JobState, under: str) -> JobState:
    """The state, rounded, with its findings pointing into a document it stands in at `under`."""
    return replace(
        state,
        findings=pointing_into(document, state.findings, under=under),
        level=pointed_part(document, state.level, f"{under}/level"),
        balance=pointed_part(document, state.balance, f"{under}/balance"),
        line_exchange=pointed_part(document, state.line_exchange, under),
        fresh_share=rounded(state.fresh_share),
    )


def pointed_part(document: object, part: Part, at: str) -> Part:
    """A part, rounded, with its findings pointing into the document; null stays null."""
    if part is None:
        return part
    return replace(rounded(part), findings=pointing_into(document, part.findings, under=at))

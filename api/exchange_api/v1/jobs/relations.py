"""Which jobs belong together: a comeback, a recheck or a warranty claim names the job before."""

from collections.abc import Sequence
from uuid import UUID

from msgspec import Struct
from sqlalchemy import bindparam, insert, select

from exchange_api.problems import Problem
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import JOB_RELATIONS, JOBS
from exchange_api.storage.units import Connection
from libexchange.errors import Fault
from libexchange.job.view import RelatedJob, Relation

LARGEST = 20


class RelatedTo(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An earlier job that a new one belongs to, and how.

    job_id: the earlier job    relation: how the new one belongs to it
    """

    job_id: UUID
    relation: Relation


_OF_WORKSHOP = JOB_RELATIONS.c.workshop_id == bindparam("workshop_id")
_ADD = Statement(insert(JOB_RELATIONS))
_TO = Statement(
    select(JOB_RELATIONS.c.related_job_id, JOB_RELATIONS.c.relation)
    .where(_OF_WORKSHOP, JOB_RELATIONS.c.job_id == bindparam("job_id"))
    .order_by(JOB_RELATIONS.c.related_job_id)
)
_FROM = Statement(
    select(JOB_RELATIONS.c.job_id, JOB_RELATIONS.c.relation)
    .where(_OF_WORKSHOP, JOB_RELATIONS.c.related_job_id == bindparam("job_id"))
    .order_by(JOB_RELATIONS.c.job_id)
)
_IS_THERE = Statement(
    select(JOBS.c.job_id).where(
        JOBS.c.workshop_id == bindparam("workshop_id"), JOBS.c.job_id == bindparam("job_id")
    )
)


def related_jobs(connection: Connection, workshop_id: str, job_id: str) -> tuple[RelatedJob, ...]:
    """The jobs that a job names, then those that name it."""
    keyed = {"workshop_id": workshop_id, "job_id": job_id}
    return (
        *(RelatedJob(job_id=UUID(other), relation=relation, direction="to")
          for other, relation in connection.execute(_TO, keyed)),
        *(RelatedJob(job_id=UUID(other), relation=relation, direction="from")
          for other, relation in connection.execute(_FROM, keyed)),
    )  # fmt: skip


def add(
    connection: Connection, *, workshop_id: str, job_id: str, related: Sequence[RelatedTo]
) -> None:
    """Keep what a new job belongs to. Raises: Problem 404 when one of the jobs is not there."""
    unknown = [
        _unknown(number, one)
        for number, one in enumerate(related)
        if not connection.execute(
            _IS_THERE, {"workshop_id": workshop_id, "job_id": str(one.job_id)}
        )
    ]
    if unknown:
        raise Problem("not-found", "A related job is not there.", errors=unknown)
    keyed = {"workshop_id": workshop_id, "job_id": job_id}
    for one in related:
        named = {"related_job_id": str(one.job_id), "relation": one.relation}
        connection.execute(_ADD, keyed | named)


def check_kept(
    connection: Connection, *, workshop_id: str, job_id: str, related: Sequence[RelatedTo]
) -> None:
    """Raises: Problem 409 unless the job was kept with just these related jobs."""
    keyed = {"workshop_id": workshop_id, "job_id": job_id}
    kept = {(other, relation) for other, relation in connection.execute(_TO, keyed)}
    if kept != {(str(one.job_id), one.relation) for one in related}:
        raise Problem("conflict", _OTHERS, errors=[_differs(sorted(kept))])


def check_given(job_id: str, related: Sequence[RelatedTo]) -> None:
    """Raises: Problem 422 when a job is to belong to itself, or to another one twice."""
    named = [str(one.job_id) for one in related]
    faults = [
        _wrong(number, other, own=other == job_id)
        for number, other in enumerate(named)
        if other == job_id or other in named[:number]
    ]
    if faults:
        raise Problem("invalid-body", "The related jobs cannot be so.", errors=faults)


_OTHERS = "A job of this id belongs to other jobs."


def _unknown(number: int, one: RelatedTo) -> Fault:
    return Fault(
        pointer=f"/related/{number}/job_id",
        code="unknown-id",
        detail="this workshop has no such job",
        value=str(one.job_id),
        allowed="a job of this workshop",
        remedy="Look the earlier job up in the list, or leave it out.",
    )


def _differs(kept: list[tuple[str, str]]) -> Fault:
    named = ", ".join(f"{relation} of {job_id}" for job_id, relation in kept) or "no other job"
    return Fault(
        pointer="/related",
        code="conflict",
        detail="the job was started with other related jobs",
        allowed=named,
        remedy="Read the job; start another one under a fresh id where it is another.",
    )


def _wrong(number: int, job_id: str, *, own: bool) -> Fault:
    return Fault(
        pointer=f"/related/{number}/job_id",
        code="own-id" if own else "named-twice",
        detail="a job does not belong to itself" if own else "the job is named before",
        value=job_id,
        allowed="other jobs, each once",
        remedy="Leave it out.",
    )

"""Erasing personal data over HTTP."""

from typing import Annotated

from litestar import Response, post
from msgspec import Meta, Struct
from sqlalchemy import insert

from exchange_api.audit import Trace, digest_of
from exchange_api.bodies import body
from exchange_api.changing import change
from exchange_api.conditional import check_if_match
from exchange_api.operations import Answer, Operation, operation
from exchange_api.problems import Problem, parameter_fault
from exchange_api.security import principal
from exchange_api.serving import Request, answer, path_uuid, service
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import JOB_ERASURES
from exchange_api.storage.units import Connection
from exchange_api.v1.jobs import store
from exchange_api.v1.jobs.closing import tag
from exchange_api.v1.jobs.erasure import Erased, erase_job
from exchange_api.v1.jobs.legal_hold import standing
from libexchange.fields import TOLD_PATTERN


class ErasureRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Why the personal data of a job are erased; the reason stays, so it names nobody.

    reason: why; it names nobody
    """

    reason: Annotated[str, Meta(min_length=1, max_length=200, pattern=TOLD_PATTERN)]


class Erasure(Struct, frozen=True, kw_only=True):
    """An erasure that was done.

    plan_kept_for: other jobs of the same plan; the plan by itself keeps its texts until they are
    erased too
    """

    job_id: str
    erased_at: str
    reason: str
    plan_kept_for: tuple[str, ...]


ERASE = Operation(
    operation_id="erasePersonalData",
    summary="Erase the personal data of a closed job",
    description="Needs `If-Match` with the ETag of the job. Names, reasons, remarks, the vehicle's "
    "reference and its VIN are replaced for good by commitments in the plan, the events, the "
    "closings and the signed records. Chain, digests and signatures still verify. Doing it again "
    "is harmless. Photos stay, and so do backups and what was handed over before.",
    tag="jobs",
    scope="jobs:write",
    body=ErasureRequest,
    headers=("If-Match",),
    problems=("conflict",),
    changes=True,
    examples={"the claim period is over": {"reason": "the claim period is over"}},
    answers={200: Answer(description="It is done.", content=Erasure, headers=("ETag",))},
)
_ADD = Statement(insert(JOB_ERASURES))


@post("/v1/jobs/{job_id:str}/erase-personal-data", **operation(ERASE))
async def erase_personal_data(request: Request) -> Response[bytes]:
    """Erase the personal texts of a closed job."""
    job_id, workshop_id = path_uuid(request, "job_id"), principal(request).workshop_id
    wanted, running = await body(request, ErasureRequest), service(request)
    now, new_salt = running.outside.stamp(), running.outside.new_secret()

    def unit(connection: Connection) -> tuple[store.JobRow, store.JobRow, Erased]:
        loaded = store.load(connection, workshop_id, job_id)
        check_if_match(request, tag(loaded.row))
        _check_may(loaded)
        erased = erase_job(connection, loaded, workshop_id=workshop_id, new_salt=new_salt)
        row, keyed = loaded.row, {"workshop_id": workshop_id, "job_id": job_id}
        connection.execute(_ADD, keyed | {"erased_at": now, "reason": wanted.reason})
        store.touch(connection, workshop_id=workshop_id, row=row, state=row.state, now=now)
        return row, store.job(connection, **keyed), erased

    _, row, erased = await change(request, unit, lambda done: _trace(done[0], done[1]))
    told = Erasure(
        job_id=job_id, erased_at=now, reason=wanted.reason, plan_kept_for=erased.plan_kept_for
    )
    return answer(told, headers={"ETag": tag(row)})


HANDLERS = (erase_personal_data,)


def _check_may(loaded: store.LoadedJob) -> None:
    if loaded.row.closed_at is None:
        raise _conflict(loaded, "is still open", "Close the job first.")
    hold = standing(loaded)
    if hold.held:
        since = hold.since.isoformat() if hold.since else "before"
        remedy = "Ask whoever set the legal hold; erase once it is lifted."
        raise _conflict(loaded, f"is under a legal hold since {since}", remedy)


def _conflict(loaded: store.LoadedJob, standing: str, remedy: str) -> Problem:
    error = parameter_fault(
        "path", "job_id", code="conflict", detail=f"the job {standing}", value=loaded.row.job_id,
        allowed="a closed job that no legal hold stands on", remedy=remedy,
    )  # fmt: skip
    return Problem("conflict", f"The job {standing}.", errors=[error])


def _trace(before: store.JobRow, after: store.JobRow) -> Trace:
    target = f"jobs/{after.job_id}"
    return Trace(target=target, before=digest_of(before), after=digest_of(after))

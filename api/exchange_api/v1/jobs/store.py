"""How jobs are kept: on which plan, in which state, and how they were closed."""

from collections.abc import Sequence
from typing import Any

import msgspec
from msgspec import Struct
from sqlalchemy import bindparam, select, update
from sqlalchemy.dialects.postgresql import insert

from exchange_api.problems import Problem
from exchange_api.records_store import signed_digest
from exchange_api.serving import nothing_at
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import JOB_DEVICES, JOBS, PLANS
from exchange_api.storage.units import Connection, Row, Unit
from exchange_api.v1.jobs import relations
from exchange_api.v1.jobs.event_store import KeptEvent, events
from exchange_api.v1.jobs.relations import RelatedTo, related_jobs
from exchange_api.v1.jobs.reopening import earlier_closings
from exchange_api.webhook_messages import job_closed, job_started, record_available
from exchange_api.webhook_queue import announce
from libexchange.errors import Fault
from libexchange.job.view import EarlierClosing, RelatedJob
from libexchange.plan.records import Plan


class JobRow(Struct, frozen=True, kw_only=True):
    """A job as it is kept; `closing` are the bytes that closing answered."""

    job_id: str
    plan_id: str
    created_at: str
    updated_at: str
    state: str
    version: int
    closed_at: str | None
    closing: bytes | None


class DeviceContact(Struct, frozen=True):
    """When a device last sent something, by its own clock and by ours, and with which program."""

    device_id: str
    sent_at: str
    received_at: str
    app_version: str | None = None


class LoadedJob(Struct, frozen=True, kw_only=True):
    """A job with its plan and everything that was posted.

    record_digest: of the record that was signed when it was closed; None while it is open
    """

    row: JobRow
    plan: Plan
    events: list[KeptEvent]
    devices: list[DeviceContact]
    related: tuple[RelatedJob, ...]
    earlier_closings: tuple[EarlierClosing, ...]
    salt: bytes
    record_digest: str | None

    @property
    def closing_number(self) -> int:
        """The number of the close that counts, or of the next one while the job is open."""
        return len(self.earlier_closings) + 1


_COLUMNS = JobRow.__struct_fields__
_plan_decoder = msgspec.json.Decoder(Plan)

_JOB = Statement(
    select(*(JOBS.c[name] for name in _COLUMNS), JOBS.c.salt, JOBS.c.erased_plan).where(
        JOBS.c.workshop_id == bindparam("workshop_id"), JOBS.c.job_id == bindparam("job_id")
    )
)
_PLAN = Statement(
    select(PLANS.c.feasible, PLANS.c.document).where(
        PLANS.c.workshop_id == bindparam("workshop_id"), PLANS.c.plan_id == bindparam("plan_id")
    )
)
_ADD_JOB = Statement(
    insert(JOBS)
    .values({column.name: bindparam(column.name) for column in JOBS.columns})
    .on_conflict_do_nothing()
    .returning(JOBS.c.job_id)
)
_DEVICES = Statement(
    select(*(JOB_DEVICES.c[name] for name in DeviceContact.__struct_fields__))
    .where(
        JOB_DEVICES.c.workshop_id == bindparam("workshop_id"),
        JOB_DEVICES.c.job_id == bindparam("job_id"),
    )
    .order_by(JOB_DEVICES.c.device_id)
)
_NEW_CONTACT = insert(JOB_DEVICES).values(
    {column.name: bindparam(column.name) for column in JOB_DEVICES.columns}
)
_CONTACT = Statement(
    _NEW_CONTACT.on_conflict_do_update(
        index_elements=["workshop_id", "job_id", "device_id"],
        set_={n: _NEW_CONTACT.excluded[n] for n in ("sent_at", "received_at", "app_version")},
    )
)
_TOUCH = Statement(
    update(JOBS)
    .where(JOBS.c.workshop_id == bindparam("of_workshop"), JOBS.c.job_id == bindparam("of_job"))
    .values({name: bindparam(name) for name in ("updated_at", "state", "version")})
)
_CLOSE = Statement(
    update(JOBS)
    .where(JOBS.c.workshop_id == bindparam("of_workshop"), JOBS.c.job_id == bindparam("of_job"))
    .values({n: bindparam(n) for n in ("updated_at", "state", "version", "closed_at", "closing")})
)


def start(
    *,
    workshop_id: str,
    job_id: str,
    plan_id: str,
    related: Sequence[RelatedTo],
    salt: bytes,
    now: str,
) -> Unit[tuple[JobRow, bool]]:
    """Keep a job on a plan, with the jobs that it belongs to; whether it is new.

    salt: 32 random bytes, of which those of its personal texts are made

    The jobs that it names are shown with it from then on, so they get a new version too.
    Raises: Problem when the plan bars it, or a job of this id works from another plan or differs
    in what it belongs to.
    """
    keyed = {"workshop_id": workshop_id, "job_id": job_id}

    def unit(connection: Connection) -> tuple[JobRow, bool]:
        _check_plan(connection, workshop_id, plan_id)
        if not connection.execute(_ADD_JOB, _new(**keyed, plan_id=plan_id, salt=salt, now=now)):
            row = job(connection, **keyed)
            if row.plan_id != plan_id:
                detail = "A job of this id works from another plan."
                raise _refused(plan_id, "conflict", detail, row.plan_id)
            relations.check_kept(connection, **keyed, related=related)
            return row, False
        announce(connection, job_started(**keyed, plan_id=plan_id, at=now))
        relations.add(connection, **keyed, related=related)
        for other in related:
            named = job(connection, workshop_id, str(other.job_id))
            touch(connection, workshop_id=workshop_id, row=named, state=named.state, now=now)
        return job(connection, **keyed), True

    return unit


def _new(*, workshop_id: str, job_id: str, plan_id: str, salt: bytes, now: str) -> dict[str, Any]:
    return {
        "workshop_id": workshop_id,
        "job_id": job_id,
        "plan_id": plan_id,
        "created_at": now,
        "updated_at": now,
        "state": "planned",
        "version": 1,
        "closed_at": None,
        "closing": None,
        "salt": salt,
        "erased_plan": None,
    }


def _check_plan(connection: Connection, workshop_id: str, plan_id: str) -> None:
    rows = connection.execute(_PLAN, {"workshop_id": workshop_id, "plan_id": plan_id})
    if not rows:
        raise _refused(plan_id, "not-found", "There is no such plan_id.", "a plan of this workshop")
    if not rows[0][0]:
        detail = "A stop finding of the plan bars the work: it is not feasible."
        raise _refused(plan_id, "conflict", detail, "a plan with feasible: true")


def _refused(plan_id: str, slug: str, detail: str, allowed: str) -> Problem:
    """Why no job is started on a plan."""
    fault = Fault(
        pointer="/plan_id",
        code={"not-found": "unknown-id"}.get(slug, slug),
        detail=detail,
        value=plan_id,
        allowed=allowed,
        remedy="Read the plan and its findings; make a new plan or choose another job_id.",
    )
    return Problem(slug, detail, errors=[fault])


def job(connection: Connection, workshop_id: str, job_id: str) -> JobRow:
    """A job of a workshop. Raises: Problem 404."""
    return _job_row(_row(connection, workshop_id, job_id)[:-2])


def _row(connection: Connection, workshop_id: str, job_id: str) -> Row:
    rows = connection.execute(_JOB, {"workshop_id": workshop_id, "job_id": job_id})
    if not rows:
        raise nothing_at("job_id", job_id)
    return rows[0]


def load(connection: Connection, workshop_id: str, job_id: str) -> LoadedJob:
    """A job with its plan and its events in the order of the fold. Raises: Problem 404."""
    *columns, salt, erased_plan = _row(connection, workshop_id, job_id)
    row, keyed = _job_row(columns), {"workshop_id": workshop_id, "job_id": job_id}
    of_plan = {"workshop_id": workshop_id, "plan_id": row.plan_id}
    plans, earlier = connection.execute(_PLAN, of_plan), earlier_closings(connection, **keyed)
    is_closed = row.closed_at is not None
    return LoadedJob(
        row=row,
        plan=_plan_decoder.decode(erased_plan or plans[0][1]),
        events=events(connection, workshop_id, job_id),
        devices=[DeviceContact(*contact) for contact in connection.execute(_DEVICES, keyed)],
        related=related_jobs(connection, workshop_id, job_id),
        earlier_closings=earlier,
        salt=bytes(salt),
        record_digest=signed_digest(connection, **keyed, number=len(earlier) + 1)
        if is_closed
        else None,
    )


def note_contact(
    connection: Connection, *, workshop_id: str, job_id: str, contact: DeviceContact
) -> None:
    """Remember the clocks of a device at its latest post that brought something new."""
    named = {name: getattr(contact, name) for name in DeviceContact.__struct_fields__}
    connection.execute(_CONTACT, {"workshop_id": workshop_id, "job_id": job_id, **named})


def touch(connection: Connection, *, workshop_id: str, row: JobRow, state: str, now: str) -> JobRow:
    """A job after its events have changed: the next version."""
    changed = {"updated_at": max(now, row.updated_at), "state": state, "version": row.version + 1}
    connection.execute(_TOUCH, {"of_workshop": workshop_id, "of_job": row.job_id, **changed})
    return msgspec.structs.replace(row, **changed)


def close(
    connection: Connection, *, workshop_id: str, row: JobRow, closing: bytes, now: str
) -> JobRow:
    """A job after it was closed."""
    changed: dict[str, Any] = {
        "updated_at": max(now, row.updated_at),
        "state": "closed",
        "version": row.version + 1,
        "closed_at": now,
        "closing": closing,
    }
    connection.execute(_CLOSE, {"of_workshop": workshop_id, "of_job": row.job_id, **changed})
    closed = msgspec.structs.replace(row, **changed)
    named: dict[str, Any] = {"workshop_id": workshop_id, "job_id": row.job_id, "at": now}
    for news in (job_closed, record_available):
        announce(connection, news(**named, plan_id=row.plan_id, version=closed.version))
    return closed


def _job_row(row: Sequence[Any]) -> JobRow:
    named = dict(zip(_COLUMNS, row, strict=True))
    if named["closing"] is not None:
        named["closing"] = bytes(named["closing"])
    return JobRow(**named)

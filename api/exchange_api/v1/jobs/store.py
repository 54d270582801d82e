"""How jobs and their events are kept: events are only ever added, whatever the phone sends."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any, Literal

import msgspec
from msgspec import Struct
from sqlalchemy import bindparam, select, update
from sqlalchemy.dialects.postgresql import insert

from exchange_api.problems import Problem
from exchange_api.serving import nothing_at
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import JOB_DEVICES, JOB_EVENTS, JOBS, PLANS
from exchange_api.storage.units import Connection, Unit
from libexchange.errors import Fault
from libexchange.job.events import DeviceEvent
from libexchange.plan.records import Plan

Kept = Literal["stored", "already_stored", "stored_late", "conflict"]
"""What became of an event that could be decoded."""


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


class NewEvent(Struct, frozen=True, kw_only=True):
    """An event that was decoded, ready to be kept."""

    event: DeviceEvent
    occurred_at: str
    sha256: str
    document: bytes


class KeptEvent(Struct, frozen=True, kw_only=True):
    """An event with what the service knows of it: when it came, and whether after closing."""

    event: DeviceEvent
    received_at: datetime
    late: bool


class DeviceContact(Struct, frozen=True):
    """When a device last sent something, by its own clock and by ours."""

    device_id: str
    sent_at: str
    received_at: str


class LoadedJob(Struct, frozen=True, kw_only=True):
    """A job with its plan and everything that was posted."""

    row: JobRow
    plan: Plan
    events: list[KeptEvent]
    devices: list[DeviceContact]


_COLUMNS = JobRow.__struct_fields__
_event_decoder = msgspec.json.Decoder(DeviceEvent)
_plan_decoder = msgspec.json.Decoder(Plan)

_JOB = Statement(
    select(*(JOBS.c[name] for name in _COLUMNS)).where(
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
_ADD_EVENT = Statement(
    insert(JOB_EVENTS)
    .values({column.name: bindparam(column.name) for column in JOB_EVENTS.columns})
    .on_conflict_do_nothing()
    .returning(JOB_EVENTS.c.event_id)
)
_OF_JOB = (
    JOB_EVENTS.c.workshop_id == bindparam("workshop_id"),
    JOB_EVENTS.c.job_id == bindparam("job_id"),
)
_SHA256 = Statement(
    select(JOB_EVENTS.c.sha256, JOB_EVENTS.c.late).where(
        *_OF_JOB, JOB_EVENTS.c.event_id == bindparam("event_id")
    )
)
_EVENTS = Statement(
    select(JOB_EVENTS.c.document, JOB_EVENTS.c.received_at, JOB_EVENTS.c.late)
    .where(*_OF_JOB)
    .order_by(
        JOB_EVENTS.c.occurred_at,
        JOB_EVENTS.c.device_id,
        JOB_EVENTS.c.sequence,
        JOB_EVENTS.c.event_id,
    )
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
        set_={name: _NEW_CONTACT.excluded[name] for name in ("sent_at", "received_at")},
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


def start(*, workshop_id: str, job_id: str, plan_id: str, now: str) -> Unit[tuple[JobRow, bool]]:
    """Keep a job on a plan; whether it is new. Raises: Problem when the plan bars it."""

    def unit(connection: Connection) -> tuple[JobRow, bool]:
        _check_plan(connection, workshop_id, plan_id)
        new = {
            "workshop_id": workshop_id,
            "job_id": job_id,
            "plan_id": plan_id,
            "created_at": now,
            "updated_at": now,
            "state": "planned",
            "version": 1,
            "closed_at": None,
            "closing": None,
        }
        added = bool(connection.execute(_ADD_JOB, new))
        row = job(connection, workshop_id, job_id)
        if row.plan_id != plan_id:
            raise _refused(
                plan_id, "conflict", "A job of this id works from another plan.", row.plan_id
            )
        return row, added

    return unit


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
    rows = connection.execute(_JOB, {"workshop_id": workshop_id, "job_id": job_id})
    if not rows:
        raise nothing_at("job_id", job_id)
    return _job_row(rows[0])


def load(connection: Connection, workshop_id: str, job_id: str) -> LoadedJob:
    """A job with its plan and its events in the order of the fold. Raises: Problem 404."""
    row = job(connection, workshop_id, job_id)
    plans = connection.execute(_PLAN, {"workshop_id": workshop_id, "plan_id": row.plan_id})
    return LoadedJob(
        row=row,
        plan=_plan_decoder.decode(plans[0][1]),
        events=events(connection, workshop_id, job_id),
        devices=[
            DeviceContact(*contact)
            for contact in connection.execute(
                _DEVICES, {"workshop_id": workshop_id, "job_id": job_id}
            )
        ],
    )


def note_contact(
    connection: Connection, *, workshop_id: str, job_id: str, contact: DeviceContact
) -> None:
    """Remember the clocks of a device at its latest post that brought something new."""
    named = {name: getattr(contact, name) for name in DeviceContact.__struct_fields__}
    connection.execute(_CONTACT, {"workshop_id": workshop_id, "job_id": job_id, **named})


def events(connection: Connection, workshop_id: str, job_id: str) -> list[KeptEvent]:
    """Every event of a job in the order of the fold."""
    rows = connection.execute(_EVENTS, {"workshop_id": workshop_id, "job_id": job_id})
    return [
        KeptEvent(
            event=_event_decoder.decode(document),
            received_at=datetime.fromisoformat(received_at),
            late=bool(late),
        )
        for document, received_at, late in rows
    ]


def add_events(
    connection: Connection, *, workshop_id: str, row: JobRow, new: Sequence[NewEvent], now: str
) -> list[Kept]:
    """Add what is new; the outcome of each event in the order given."""
    late = row.closed_at is not None
    keyed = {"workshop_id": workshop_id, "job_id": row.job_id}
    return [_add_event(connection, keyed, one, now=now, late=late) for one in new]


def _add_event(
    connection: Connection, keyed: dict[str, str], new: NewEvent, *, now: str, late: bool
) -> Kept:
    event_id = str(new.event.event.event_id)
    columns = {
        **keyed,
        "event_id": event_id,
        "device_id": new.event.device_id,
        "sequence": new.event.event.sequence,
        "occurred_at": new.occurred_at,
        "received_at": now,
        "late": int(late),
        "sha256": new.sha256,
        "document": new.document,
    }
    if connection.execute(_ADD_EVENT, columns):
        return "stored_late" if late else "stored"
    ((sha256, _),) = connection.execute(_SHA256, {**keyed, "event_id": event_id})
    return "already_stored" if sha256 == new.sha256 else "conflict"


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
    return msgspec.structs.replace(row, **changed)


def _job_row(row: Sequence[Any]) -> JobRow:
    named = dict(zip(_COLUMNS, row, strict=True))
    if named["closing"] is not None:
        named["closing"] = bytes(named["closing"])
    return JobRow(**named)

"""How events are kept: only ever added, whatever the phone sends and however often."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any, Literal, TypeAlias

import msgspec
from msgspec import Struct
from sqlalchemy import bindparam, select
from sqlalchemy.dialects.postgresql import insert

from exchange_api.outside import as_stamp
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import JOB_EVENTS
from exchange_api.storage.units import Connection
from libexchange.canonical import digest
from libexchange.job.events import DeviceEvent, JobEvent
from libexchange.personal import conceal

Kept: TypeAlias = Literal["stored", "already_stored", "stored_late", "conflict", "of_another_job"]
"""What became of an event that could be decoded."""

ERASED = "erased"
"""Stands in place of a digest that would lead back to what was erased."""

_OfJobs: TypeAlias = dict[str, tuple[str, bytes]]
"""What is kept under one id, by job: its digest and its document."""


class NewEvent(Struct, frozen=True, kw_only=True):
    """An event that was decoded, ready to be kept.

    sha256: of the event alone, for it is the same whatever device sends it
    posted_by: the key that it came with
    """

    event: DeviceEvent
    event_id: str
    occurred_at: str
    sha256: str
    document: bytes
    posted_by: str


def new_event(one: DeviceEvent, *, posted_by: str) -> NewEvent:
    """An event ready to be kept; `posted_by` is the key that it came with."""
    return NewEvent(
        event=one,
        event_id=str(one.event.event_id),
        occurred_at=as_stamp(one.event.occurred_at),
        sha256=digest(one.event),
        document=msgspec.json.encode(one),
        posted_by=posted_by,
    )


class KeptEvent(Struct, frozen=True, kw_only=True):
    """An event with what the service knows of it: when it came, by which key, and whether late."""

    event: DeviceEvent
    received_at: datetime
    late: bool
    posted_by: str


_decoder = msgspec.json.Decoder(DeviceEvent)

_OF_WORKSHOP = JOB_EVENTS.c.workshop_id == bindparam("workshop_id")
_OF_JOB = (_OF_WORKSHOP, JOB_EVENTS.c.job_id == bindparam("job_id"))
_OF_ID = (_OF_WORKSHOP, JOB_EVENTS.c.event_id == bindparam("event_id"))
_KEPT = Statement(
    select(JOB_EVENTS.c.job_id, JOB_EVENTS.c.sha256, JOB_EVENTS.c.document).where(*_OF_ID)
)
_COLUMNS = tuple(JOB_EVENTS.columns)
_AT_A_TIME = 50
"""So many events are added by one statement; those that are over by one each."""
# does nothing on a conflict, which PostgreSQL refuses beside a twin, so that the unit runs again
_ADD = Statement(
    insert(JOB_EVENTS)
    .values({column.name: bindparam(column.name) for column in _COLUMNS})
    .on_conflict_do_nothing()
)
_SHARED = ("workshop_id", "job_id", "received_at", "late")
"""What all events of a post have in common."""
_ADD_MANY = Statement(
    insert(JOB_EVENTS)
    .values(
        [
            {c.name: bindparam(c.name if c.name in _SHARED else f"{c.name}_{n}") for c in _COLUMNS}
            for n in range(_AT_A_TIME)
        ]
    )
    .on_conflict_do_nothing()
)
_COUNTED = Statement(select(JOB_EVENTS.c.device_id, JOB_EVENTS.c.sequence).where(*_OF_JOB))
_EVENTS = Statement(
    select(*(JOB_EVENTS.c[n] for n in ("document", "received_at", "late", "posted_by")))
    .where(*_OF_JOB)
    .order_by(
        JOB_EVENTS.c.occurred_at,
        JOB_EVENTS.c.device_id,
        JOB_EVENTS.c.sequence,
        JOB_EVENTS.c.event_id,
    )
)


def events(connection: Connection, workshop_id: str, job_id: str) -> list[KeptEvent]:
    """Every event of a job in the order of the fold."""
    rows = connection.execute(_EVENTS, {"workshop_id": workshop_id, "job_id": job_id})
    return [
        KeptEvent(
            event=_decoder.decode(document),
            received_at=datetime.fromisoformat(received_at),
            late=bool(late),
            posted_by=posted_by,
        )
        for document, received_at, late, posted_by in rows
    ]


def counted(connection: Connection, workshop_id: str, job_id: str) -> list[tuple[str, int]]:
    """The device and number of every event of a job."""
    rows = connection.execute(_COUNTED, {"workshop_id": workshop_id, "job_id": job_id})
    return [(device_id, sequence) for device_id, sequence in rows]


def add_events(
    connection: Connection,
    *,
    workshop_id: str,
    job_id: str,
    late: bool,
    new: Sequence[NewEvent],
    now: str,
) -> list[Kept]:
    """Add what is new; the outcome of each event in the order given."""
    known = {one.event_id: _known(connection, workshop_id, one.event_id) for one in new}
    outcomes: list[Kept] = []
    rows: list[dict[str, Any]] = []
    for one in new:
        if known[one.event_id]:
            outcomes.append(_standing(job_id, known[one.event_id], one))
            continue
        known[one.event_id] = {job_id: (one.sha256, one.document)}
        rows.append(_row(one))
        outcomes.append("stored_late" if late else "stored")
    shared = {"workshop_id": workshop_id, "job_id": job_id, "received_at": now, "late": int(late)}
    _add(connection, rows, shared)
    return outcomes


def _row(new: NewEvent) -> dict[str, Any]:
    """What an event does not share with the others of its post."""
    return {
        "event_id": new.event_id,
        "device_id": new.event.device_id,
        "sequence": new.event.event.sequence,
        "occurred_at": new.occurred_at,
        "sha256": new.sha256,
        "document": new.document,
        "posted_by": new.posted_by,
    }


def _known(connection: Connection, workshop_id: str, event_id: str) -> _OfJobs:
    """What the workshop keeps under an id, by the job that it belongs to."""
    rows = connection.execute(_KEPT, {"workshop_id": workshop_id, "event_id": event_id})
    return {of_job: (sha256, document) for of_job, sha256, document in rows}


def _add(connection: Connection, rows: list[dict[str, Any]], shared: dict[str, Any]) -> None:
    """Many by one statement, which saves the way to the database and back."""
    whole = len(rows) - len(rows) % _AT_A_TIME
    for start in range(0, whole, _AT_A_TIME):
        batch = enumerate(rows[start : start + _AT_A_TIME])
        named = {f"{name}_{n}": value for n, row in batch for name, value in row.items()}
        connection.execute(_ADD_MANY, shared | named)
    connection.execute_many(_ADD, (shared | row for row in rows[whole:]))


def _standing(job_id: str, kept: _OfJobs, new: NewEvent) -> Kept:
    """How an event stands whose id the workshop keeps already, under this job or another."""
    if job_id not in kept:
        return "of_another_job"
    return "already_stored" if _is_same(*kept[job_id], new) else "conflict"


def _is_same(sha256: str, document: bytes, new: NewEvent) -> bool:
    """Whether a kept event says what the new one says, whatever device has sent either.

    What was kept before a field came in has another digest, and so has what was kept while the
    digest was over the device too; but they decode to the same event. Of what was erased, only
    that it is the same but for its personal texts can be told.
    """
    if sha256 == new.sha256:
        return True
    kept, sent = _decoder.decode(document).event, new.event.event
    if sha256 == ERASED:
        return bool(_shape(kept) == _shape(sent))
    return digest(kept) == new.sha256


def _shape(event: JobEvent) -> Any:
    """What an event says beside its personal texts."""
    return _without_commitments(conceal(event, salt=bytes(32)).form)


def _without_commitments(value: Any) -> Any:
    if isinstance(value, dict):
        if value.keys() == {"commitment"}:
            return None
        return {name: _without_commitments(part) for name, part in value.items()}
    return [_without_commitments(part) for part in value] if isinstance(value, list) else value

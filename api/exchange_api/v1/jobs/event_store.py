"""How events are kept: only ever added, whatever the phone sends and however often."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any, Literal, TypeAlias

import msgspec
from msgspec import Struct
from sqlalchemy import bindparam, select
from sqlalchemy.dialects.postgresql import insert

from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import JOB_EVENTS
from exchange_api.storage.units import Connection, Row
from libexchange.canonical import digest
from libexchange.job.events import DeviceEvent
from libexchange.personal import conceal

Kept: TypeAlias = Literal["stored", "already_stored", "stored_late", "conflict", "of_another_job"]
"""What became of an event that could be decoded."""

ERASED = "erased"
"""Stands in place of a digest that would lead back to what was erased."""


class NewEvent(Struct, frozen=True, kw_only=True):
    """An event that was decoded, ready to be kept; `posted_by` is the key that it came with."""

    event: DeviceEvent
    occurred_at: str
    sha256: str
    document: bytes
    posted_by: str


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
_ADD = Statement(
    insert(JOB_EVENTS)
    .values({column.name: bindparam(column.name) for column in JOB_EVENTS.columns})
    .on_conflict_do_nothing()  # which PostgreSQL refuses beside a twin, so that the unit runs again
)
_KEPT = Statement(
    select(JOB_EVENTS.c.job_id, JOB_EVENTS.c.sha256, JOB_EVENTS.c.document).where(*_OF_ID)
)
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
    keyed = {"workshop_id": workshop_id, "job_id": job_id}
    return [_add(connection, keyed, one, now=now, late=late) for one in new]


def _add(
    connection: Connection, keyed: dict[str, str], new: NewEvent, *, now: str, late: bool
) -> Kept:
    event_id = str(new.event.event.event_id)
    of_id = {"workshop_id": keyed["workshop_id"], "event_id": event_id}
    if kept := connection.execute(_KEPT, of_id):
        return _standing(keyed["job_id"], kept, new)
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
        "posted_by": new.posted_by,
    }
    connection.execute(_ADD, columns)
    return "stored_late" if late else "stored"


def _standing(job_id: str, kept: list[Row], new: NewEvent) -> Kept:
    """How an event stands whose id the workshop keeps already, under this job or another."""
    own = {of_job: (sha256, document) for of_job, sha256, document in kept}
    if job_id not in own:
        return "of_another_job"
    return "already_stored" if _is_same(*own[job_id], new) else "conflict"


def _is_same(sha256: str, document: bytes, new: NewEvent) -> bool:
    """Whether a kept event says what the new one says.

    What was kept before a field came in has another digest, but decodes to the same event. Of what
    was erased, only that it is the same but for its personal texts can be told.
    """
    if sha256 == ERASED:
        return bool(_shape(_decoder.decode(document)) == _shape(new.event))
    return sha256 == new.sha256 or digest(_decoder.decode(document)) == new.sha256


def _shape(event: DeviceEvent) -> Any:
    """What an event says beside its personal texts."""
    return _without_commitments(conceal(event, salt=bytes(32)).form)


def _without_commitments(value: Any) -> Any:
    if isinstance(value, dict):
        if value.keys() == {"commitment"}:
            return None
        return {name: _without_commitments(part) for name, part in value.items()}
    return [_without_commitments(part) for part in value] if isinstance(value, list) else value

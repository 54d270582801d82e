"""Reopening a closed job: its closing is kept beside, what came late becomes ordinary."""

from datetime import datetime

import msgspec
from msgspec import Struct
from sqlalchemy import bindparam, insert, select, update

from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import JOB_EVENTS, JOB_REOPENINGS, JOBS
from exchange_api.storage.units import Connection
from libexchange.fields import Person, Reason
from libexchange.job.view import Closing, EarlierClosing


class Reopening(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Why a job is opened again, and who decided it.

    by: who decided it    reason: why
    """

    by: Person
    reason: Reason


_decoder = msgspec.json.Decoder(EarlierClosing)
_EARLIER = Statement(
    select(JOB_REOPENINGS.c.document)
    .where(
        JOB_REOPENINGS.c.workshop_id == bindparam("workshop_id"),
        JOB_REOPENINGS.c.job_id == bindparam("job_id"),
    )
    .order_by(JOB_REOPENINGS.c.version)
)
_KEEP = Statement(insert(JOB_REOPENINGS))
_IN_TIME = Statement(
    update(JOB_EVENTS)
    .where(
        JOB_EVENTS.c.workshop_id == bindparam("of_workshop"),
        JOB_EVENTS.c.job_id == bindparam("of_job"),
        JOB_EVENTS.c.late == 1,
    )
    .values(late=0)
)
_REOPEN = Statement(
    update(JOBS)
    .where(JOBS.c.workshop_id == bindparam("of_workshop"), JOBS.c.job_id == bindparam("of_job"))
    .values(closed_at=None, closing=None)
)


def earlier_closings(
    connection: Connection, workshop_id: str, job_id: str
) -> tuple[EarlierClosing, ...]:
    """The closings of a job that no longer count, the oldest first."""
    rows = connection.execute(_EARLIER, {"workshop_id": workshop_id, "job_id": job_id})
    return tuple(_decoder.decode(document) for (document,) in rows)


def keep_aside(
    connection: Connection,
    *,
    workshop_id: str,
    job_id: str,
    version: int,
    closing: Closing,
    wanted: Reopening,
    now: datetime,
) -> None:
    """Keep the closing among the earlier ones and open the job; `version` is the one it gets."""
    earlier = EarlierClosing(closing=closing, reopened_at=now, by=wanted.by, reason=wanted.reason)
    keyed = {"workshop_id": workshop_id, "job_id": job_id}
    document = msgspec.json.encode(earlier)
    connection.execute(_KEEP, keyed | {"version": version, "document": document})
    of_job = {"of_workshop": workshop_id, "of_job": job_id}
    connection.execute(_IN_TIME, of_job)
    connection.execute(_REOPEN, of_job)

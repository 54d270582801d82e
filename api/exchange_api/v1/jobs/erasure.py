"""Erasing personal texts of a closed job, so that its chain, digests and signatures still hold.

Each text gives way to one that carries its commitment, in the plan, the events, the closings and
the signed records; the salt they were made with is replaced, so that nothing leads back to them.
"""

from typing import Any

import msgspec
from msgspec import Struct
from sqlalchemy import bindparam, select, update

from exchange_api.conditional import etag
from exchange_api.records_store import drop_disclosures
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import IDEMPOTENCY, JOB_EVENTS, JOB_REOPENINGS, JOBS, PLANS
from exchange_api.storage.units import Connection
from exchange_api.v1.jobs import store
from exchange_api.v1.jobs.event_store import ERASED
from libexchange.job.view import Closing, EarlierClosing
from libexchange.personal import erase

_OF_JOB = (
    JOBS.c.workshop_id == bindparam("of_workshop"),
    JOBS.c.job_id == bindparam("of_job"),
)
_JOB = Statement(
    update(JOBS)
    .where(*_OF_JOB)
    .values({name: bindparam(name) for name in ("closing", "salt", "erased_plan")})
)
_EVENT = Statement(
    update(JOB_EVENTS)
    .where(
        JOB_EVENTS.c.workshop_id == bindparam("of_workshop"),
        JOB_EVENTS.c.job_id == bindparam("of_job"),
        JOB_EVENTS.c.event_id == bindparam("of_event"),
    )
    .values(document=bindparam("document"), sha256=ERASED)
)
_REOPENINGS = Statement(
    select(JOB_REOPENINGS.c.version, JOB_REOPENINGS.c.document).where(
        JOB_REOPENINGS.c.workshop_id == bindparam("workshop_id"),
        JOB_REOPENINGS.c.job_id == bindparam("job_id"),
    )
)
_REOPENING = Statement(
    update(JOB_REOPENINGS)
    .where(
        JOB_REOPENINGS.c.workshop_id == bindparam("of_workshop"),
        JOB_REOPENINGS.c.job_id == bindparam("of_job"),
        JOB_REOPENINGS.c.version == bindparam("of_version"),
    )
    .values(document=bindparam("document"))
)
_WAITING = Statement(
    select(JOBS.c.job_id).where(
        JOBS.c.workshop_id == bindparam("workshop_id"),
        JOBS.c.plan_id == bindparam("plan_id"),
        JOBS.c.erased_plan.is_(None),
    )
)
_PLAN = Statement(
    update(PLANS)
    .where(PLANS.c.workshop_id == bindparam("of_workshop"), PLANS.c.plan_id == bindparam("of_plan"))
    .values(document=bindparam("document"), etag=bindparam("tag"))
)
_REQUEST = Statement(
    update(IDEMPOTENCY)
    .where(
        IDEMPOTENCY.c.workshop_id == bindparam("of_workshop"),
        IDEMPOTENCY.c.target == bindparam("of_plan"),
    )
    .values(request_sha256=ERASED)
)


class Erased(Struct, frozen=True, kw_only=True):
    """What an erasure left: other jobs of the same plan, which keep its texts until their own."""

    plan_kept_for: tuple[str, ...]


def erase_job(
    connection: Connection, loaded: store.LoadedJob, *, workshop_id: str, new_salt: bytes
) -> Erased:
    """Erase every personal text of a job.

    new_salt: 32 random bytes, for what may still come
    """
    keyed = {"of_workshop": workshop_id, "of_job": loaded.row.job_id}
    plan = msgspec.json.encode(erase(loaded.plan, salt=loaded.salt))
    columns = {
        "closing": _closing(loaded),
        "salt": new_salt,
        "erased_plan": plan,
    }
    connection.execute(_JOB, keyed | columns)
    _erase_events(connection, loaded, keyed)
    _erase_reopenings(connection, loaded, keyed)
    drop_disclosures(connection, workshop_id=workshop_id, job_id=loaded.row.job_id)
    return _erase_plan(connection, loaded.row.plan_id, plan, workshop_id=workshop_id)


def _closing(loaded: store.LoadedJob) -> bytes | None:
    kept = loaded.row.closing
    if kept is None:
        return None
    return msgspec.json.encode(erase(msgspec.json.decode(kept, type=Closing), salt=loaded.salt))


def _erase_events(connection: Connection, loaded: store.LoadedJob, keyed: dict[str, str]) -> None:
    for one in loaded.events:
        columns: dict[str, Any] = {
            "of_event": str(one.event.event.event_id),
            "document": msgspec.json.encode(erase(one.event, salt=loaded.salt)),
        }
        connection.execute(_EVENT, keyed | columns)


def _erase_reopenings(
    connection: Connection, loaded: store.LoadedJob, keyed: dict[str, str]
) -> None:
    of_job = {"workshop_id": keyed["of_workshop"], "job_id": keyed["of_job"]}
    for version, document in connection.execute(_REOPENINGS, of_job):
        earlier = msgspec.json.decode(document, type=EarlierClosing)
        columns: dict[str, Any] = {
            "of_version": version,
            "document": msgspec.json.encode(erase(earlier, salt=loaded.salt)),
        }
        connection.execute(_REOPENING, keyed | columns)


def _erase_plan(connection: Connection, plan_id: str, plan: bytes, *, workshop_id: str) -> Erased:
    """Erase the plan itself once no job needs its texts any more."""
    waiting = connection.execute(_WAITING, {"workshop_id": workshop_id, "plan_id": plan_id})
    if not waiting:
        of_plan = {"of_workshop": workshop_id, "of_plan": plan_id}
        connection.execute(_PLAN, {**of_plan, "document": plan, "tag": etag(plan)})
        connection.execute(_REQUEST, of_plan)
    return Erased(plan_kept_for=tuple(sorted(job_id for (job_id,) in waiting)))

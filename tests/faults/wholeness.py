"""What no crash may leave behind, asked of the tables themselves."""

from datetime import datetime

import msgspec
from sqlalchemy import select

from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import IDEMPOTENCY, JOB_EVENTS, JOBS, PLANS
from exchange_api.storage.units import Connection
from libexchange.canonical import digest
from libexchange.job.events import DeviceEvent
from libexchange.job.fold import fold
from libexchange.plan.records import Plan

PLAN_OF_KEY = Statement(
    select(IDEMPOTENCY.c.target, PLANS.c.plan_id).join_from(
        IDEMPOTENCY, PLANS, IDEMPOTENCY.c.target == PLANS.c.plan_id, full=True
    )
)
DOCUMENTS = Statement(select(PLANS.c.plan_id, PLANS.c.document))
JOB_ROWS = Statement(
    select(JOBS.c.job_id, JOBS.c.plan_id, JOBS.c.state, JOBS.c.closed_at, JOBS.c.closing)
)
EVENTS = Statement(
    select(JOB_EVENTS.c.job_id, JOB_EVENTS.c.sha256, JOB_EVENTS.c.document).order_by(
        JOB_EVENTS.c.occurred_at,
        JOB_EVENTS.c.device_id,
        JOB_EVENTS.c.sequence,
        JOB_EVENTS.c.event_id,
    )
)


def half_written(connection: Connection) -> list[str]:
    """A unit: everything that is kept in part only."""
    faults = [
        f"key without plan or plan without key: {target} {plan_id}"
        for target, plan_id in connection.execute(PLAN_OF_KEY)
        if target != plan_id
    ]
    plans = _plans(connection, faults)
    events = _events(connection, faults)
    for job_id, plan_id, state, closed_at, closing in connection.execute(JOB_ROWS):
        folded = fold(plans[plan_id], events.get(job_id, [])).progress
        if state != (folded if closed_at is None else "closed"):
            faults.append(f"job {job_id} is {state}, its events say {folded}")
        if (closed_at is None) != (closing is None) or (closed_at and not _is_moment(closed_at)):
            faults.append(f"job {job_id} is half closed")
    return faults


def _plans(connection: Connection, faults: list[str]) -> dict[str, Plan]:
    plans = {}
    for plan_id, document in connection.execute(DOCUMENTS):
        plan = plans[plan_id] = msgspec.json.decode(document, type=Plan)
        if plan.digest != digest(plan, without=("digest",)):
            faults.append(f"plan {plan_id} is not what its digest says")
    return plans


def _events(connection: Connection, faults: list[str]) -> dict[str, list[DeviceEvent]]:
    events: dict[str, list[DeviceEvent]] = {}
    for job_id, sha256, document in connection.execute(EVENTS):
        event = msgspec.json.decode(document, type=DeviceEvent)
        if digest(event.event) != sha256:
            faults.append(f"an event of job {job_id} is not what its digest says")
        events.setdefault(job_id, []).append(event)
    return events


def _is_moment(text: str) -> bool:
    return datetime.fromisoformat(text).tzinfo is not None

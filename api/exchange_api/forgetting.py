"""Idempotency-Keys are kept 90 days and may be forgotten then; plans, jobs and events never are."""

from datetime import timedelta

from sqlalchemy import bindparam, delete, select, tuple_

from exchange_api.outside import Outside, as_stamp
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import IDEMPOTENCY
from exchange_api.storage.units import Connection, Database, Unit

KEPT = timedelta(days=90)
KEYS_PER_UNIT = 1000

_KEY = tuple_(IDEMPOTENCY.c.workshop_id, IDEMPOTENCY.c.operation, IDEMPOTENCY.c.key)
_OLD = (
    select(IDEMPOTENCY.c.workshop_id, IDEMPOTENCY.c.operation, IDEMPOTENCY.c.key)
    .where(IDEMPOTENCY.c.created_at < bindparam("before"))
    .limit(KEYS_PER_UNIT)
)
_FORGET = Statement(delete(IDEMPOTENCY).where(_KEY.in_(_OLD)).returning(IDEMPOTENCY.c.key))


async def forget_old_keys(database: Database, outside: Outside) -> int:
    """Forget every Idempotency-Key that is older than it must be kept; how many those were."""
    unit = _forget_some(before=as_stamp(outside.now() - KEPT))
    total = 0
    while forgotten := await database.write(unit):
        total += forgotten
    return total


def _forget_some(*, before: str) -> Unit[int]:
    def unit(connection: Connection) -> int:
        return len(connection.execute(_FORGET, {"before": before}))

    return unit

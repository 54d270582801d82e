"""Deliveries of webhooks are kept 30 days, those that still wait for as long as they wait."""

from datetime import timedelta

from sqlalchemy import bindparam, delete, select

from exchange_api.outside import Outside, as_stamp
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import WEBHOOK_ATTEMPTS, WEBHOOK_DELIVERIES
from exchange_api.storage.units import Connection, Database, Unit

KEPT = timedelta(days=30)
DELIVERIES_PER_UNIT = 500

_FIND = Statement(
    select(WEBHOOK_DELIVERIES.c.endpoint_id, WEBHOOK_DELIVERIES.c.delivery_id)
    .where(
        WEBHOOK_DELIVERIES.c.created_at < bindparam("before"),
        WEBHOOK_DELIVERIES.c.state != "waiting",
    )
    .order_by(WEBHOOK_DELIVERIES.c.created_at)
    .limit(DELIVERIES_PER_UNIT)
)
_FORGET_ATTEMPTS = Statement(
    delete(WEBHOOK_ATTEMPTS).where(
        WEBHOOK_ATTEMPTS.c.endpoint_id == bindparam("of_endpoint"),
        WEBHOOK_ATTEMPTS.c.delivery_id == bindparam("of_delivery"),
    )
)
_FORGET = Statement(
    delete(WEBHOOK_DELIVERIES).where(
        WEBHOOK_DELIVERIES.c.endpoint_id == bindparam("of_endpoint"),
        WEBHOOK_DELIVERIES.c.delivery_id == bindparam("of_delivery"),
    )
)


async def forget_old_deliveries(database: Database, outside: Outside) -> int:
    """Forget every delivery that is older than it must be kept; how many those were."""
    unit = _forget_some(before=as_stamp(outside.now() - KEPT))
    total = 0
    while forgotten := await database.write(unit):
        total += forgotten
    return total


def _forget_some(*, before: str) -> Unit[int]:
    def unit(connection: Connection) -> int:
        rows = connection.execute(_FIND, {"before": before})
        keys = [{"of_endpoint": one, "of_delivery": other} for one, other in rows]
        connection.execute_many(_FORGET_ATTEMPTS, keys)
        connection.execute_many(_FORGET, keys)
        return len(keys)

    return unit

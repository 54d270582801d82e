"""What the service does by itself while it runs: it seals the audit log and drops what is old."""

import asyncio

from exchange_api import rates
from exchange_api.audit import seal_if_free
from exchange_api.audit_chain import seal_all
from exchange_api.forgetting import forget_old_keys
from exchange_api.serving import Service
from exchange_api.webhook_forgetting import forget_old_deliveries

EVERY_S = 1.0
FORGET_EVERY_S = 600


async def until(stop: asyncio.Event, running: Service) -> None:
    """Work until told to stop; what fails is told and tried again."""
    forgotten_at = 0.0
    while not await _is_told(stop):
        now_s = int(running.outside.now().timestamp())
        try:
            await seal_all(running.database, running.log, seal=seal_if_free)
            if abs(now_s - forgotten_at) >= FORGET_EVERY_S:
                await running.database.write(rates.forget(now_s=now_s))
                await forget_old_keys(running.database, running.outside)
                await forget_old_deliveries(running.database, running.outside)
                forgotten_at = now_s
        except Exception as error:  # noqa: BLE001 -- whatever it was, the log must still be sealed
            running.log.error("upkeep-failed", exception=error)  # noqa: TRY400 -- our own log


async def _is_told(stop: asyncio.Event) -> bool:
    try:
        await asyncio.wait_for(stop.wait(), EVERY_S)
    except TimeoutError:
        return False
    return True

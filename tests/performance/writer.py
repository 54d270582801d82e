"""The writer alone: the unit that keeps a plan, from many callers that wait, without HTTP."""

import asyncio
from time import perf_counter, process_time
from uuid import uuid4

import uvloop
from msgspec.structs import replace

from exchange_api.audit import digest_of
from exchange_api.storage.database import database_at
from exchange_api.storage.units import Database
from tests.performance.figures import Sample
from tests.performance.stock import Stock


def writes(stock: Stock, *, callers: int, seconds: float) -> Sample:
    """Plans that the service's own `Database.write` keeps, each with its key and its audit row."""
    with asyncio.Runner(loop_factory=uvloop.new_event_loop) as runner:
        return runner.run(_writes(stock, callers=callers, seconds=seconds))


async def _writes(stock: Stock, *, callers: int, seconds: float) -> Sample:
    database = database_at(stock.url)
    await database.open()
    try:
        began, worked_s = perf_counter(), process_time()
        calling = (_call(stock, database, number, began + seconds) for number in range(callers))
        latencies_s = [latency for told in await asyncio.gather(*calling) for latency in told]
        return Sample(
            elapsed_s=perf_counter() - began,
            latencies_s=latencies_s,
            client_s=process_time() - worked_s,
        )
    finally:
        await database.close()


async def _call(stock: Stock, database: Database, number: int, until: float) -> list[float]:
    latencies_s = []
    owner, template = stock.customer(number), stock.templates[number % len(stock.templates)]
    sha256 = digest_of(template.document)
    while (asked_at := perf_counter()) < until:
        new = replace(
            template, workshop_id=owner.workshop_id, key=str(uuid4()),
            plan_id=stock.outside.new_id(), created_at=stock.outside.stamp(),
        )  # fmt: skip
        await database.write(stock.keeping(new, sha256))
        latencies_s.append(perf_counter() - asked_at)
    return latencies_s

"""Processes that seal one audit log do not get in one another's way."""

import asyncio
import io
import json

import psycopg
import pytest

from exchange_api import audit, audit_chain
from exchange_api.audit import SEALED_AT_ONCE, Head
from exchange_api.logs import Log
from exchange_api.outside import real_outside
from exchange_api.storage.database import database_at
from exchange_api.storage.migrate import migrate
from exchange_api.storage.units import Connection, Database
from tests.exchange_api.audit_rows import added
from tests.exchange_api.postgresql_server import Server
from tests.exchange_api.test_databases import using

SEALING = "SELECT version_num FROM alembic_version FOR UPDATE"


@pytest.fixture
def tables(postgresql: Server) -> str:
    made = postgresql.database()
    migrate(made)
    return made


async def filled(database: Database, rows: int) -> None:
    await asyncio.gather(*(database.write(added(target=str(n))) for n in range(rows)))


def test_one_that_need_not_wait_leaves_sealing_to_the_other(tables: str) -> None:
    async def work(database: Database) -> tuple[list[Head], list[Head]]:
        await filled(database, 3)
        with psycopg.connect(tables) as other:
            other.execute(SEALING)
            left = await database.write(audit.seal_if_free)
        return left, await database.write(audit.seal_if_free)

    left, sealed = using(tables, work)

    assert left == []
    assert [head.sequence for head in sealed] == [1, 2, 3]


def test_one_that_reads_the_log_waits_for_the_other(tables: str) -> None:
    async def work(database: Database) -> tuple[bool, list[Head]]:
        await filled(database, 3)
        with psycopg.connect(tables) as other:
            other.execute(SEALING)
            sealing = asyncio.create_task(database.write(audit.seal))
            await asyncio.sleep(0.3)
            was_done = sealing.done()
        return was_done, await sealing

    was_done, sealed = using(tables, work)

    assert not was_done
    assert [head.sequence for head in sealed] == [1, 2, 3]


def test_two_that_seal_at_once_hardly_ever_race(tables: str) -> None:
    runs = 0

    def counted(connection: Connection) -> list[Head]:
        nonlocal runs
        runs += 1
        return audit.seal_if_free(connection)

    async def sealed(database: Database) -> int:
        asked = 1
        while bool(await database.write(counted)) or await database.read(audit_chain.is_waiting):
            asked += 1
            await asyncio.sleep(0.01)
        return asked

    async def work(database: Database) -> tuple[int, list[Head]]:
        await filled(database, 1200)
        other = database_at(tables)
        await other.open()
        try:
            asked = await asyncio.gather(sealed(database), sealed(other))
        finally:
            await other.close()
        return sum(asked), (await audit_chain.verify(database)).heads

    asked, heads = using(tables, work)

    lost = runs - asked  # it would be one for each batch; a look just before the other ends can be
    assert lost <= 2
    assert [head.sequence for head in heads] == [1200]


@pytest.mark.parametrize(
    ("rows", "batches"),
    [(0, 0), (1, 1), (SEALED_AT_ONCE - 1, 1), (SEALED_AT_ONCE, 2), (SEALED_AT_ONCE + 1, 2)],
)
def test_sealing_ends_with_the_first_batch_that_is_not_full(
    url: str, rows: int, batches: int
) -> None:
    """Rows come meanwhile: under load it would not end before all is sealed."""
    runs, log = 0, io.BytesIO()

    def seal(connection: Connection) -> list[Head]:
        nonlocal runs
        runs += 1
        heads = audit.seal(connection)
        added(target="meanwhile")(connection)
        return heads

    async def work(database: Database) -> None:
        await filled(database, rows)
        await audit_chain.seal_all(database, Log(now=real_outside().now, stream=log), seal=seal)

    migrate(url)
    using(url, work)
    told = [json.loads(line)["sequence"] for line in log.getvalue().splitlines()]

    assert runs == batches
    assert told[-1:] == ([rows + batches - 1] if rows else [])
    assert len(told) <= batches

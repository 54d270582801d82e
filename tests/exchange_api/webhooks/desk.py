"""The queue of one workshop over a database, with a clock that is set by hand and no service."""

import asyncio
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime, timedelta
from typing import Any

from msgspec.structs import replace
from sqlalchemy import insert, select

from exchange_api.app import create_app
from exchange_api.outside import real_outside
from exchange_api.serving import Service
from exchange_api.settings import Settings
from exchange_api.storage.migrate import migrate
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import (
    WEBHOOK_ATTEMPTS,
    WEBHOOK_DELIVERIES,
    WEBHOOK_ENDPOINTS,
    WORKSHOPS,
)
from exchange_api.storage.units import Connection, T, Unit
from exchange_api.v1.webhook_endpoints import store
from exchange_api.webhook_client import client
from exchange_api.webhook_messages import News, plan_created
from exchange_api.webhook_queue import announce
from exchange_api.webhook_rows import EndpointRow
from exchange_api.webhook_sending import Sender
from exchange_api.webhook_signing import secret_text

SECRET = secret_text(b"invented secret of thirty-two by")
NO_CHANCE = bytes(32)

_ADD_WORKSHOP = Statement(insert(WORKSHOPS))
_TABLES = {
    "endpoints": WEBHOOK_ENDPOINTS,
    "deliveries": WEBHOOK_DELIVERIES,
    "attempts": WEBHOOK_ATTEMPTS,
}
_ALL = {
    name: Statement(select(table).order_by(*table.primary_key.columns))
    for name, table in _TABLES.items()
}


class Desk:
    """A workshop that tells its news, and what sends them."""

    def __init__(self, running: Service, forward: Callable[[timedelta], None]) -> None:
        self.running = running
        self.forward = forward
        self.sender = self.another_sender()

    def another_sender(self, seconds: float = 5) -> Sender:
        """A sender of another process."""
        here = client(in_house=frozenset({"127.0.0.1"}), seconds=seconds)
        return Sender(self.running, here)

    async def write(self, unit: Unit[T]) -> T:
        return await self.running.database.write(unit)

    async def endpoint(self, url: str, *, number: int = 1, **changes: Any) -> str:
        """A new endpoint that asks for plans."""
        now, endpoint_id = self.running.outside.stamp(), f"endpoint-{number}"
        row = EndpointRow(
            endpoint_id=endpoint_id,
            workshop_id="workshop",
            url=url,
            events=("plan.created", "job.needs_attention"),
            enabled=True,
            disabled_reason=None,
            disabled_at=None,
            created_at=now,
            updated_at=now,
            version=1,
            old_secret_until=None,
        )
        await self.write(store.add(replace(row, **changes), secret=SECRET))
        return endpoint_id

    def news(self, number: int = 1) -> News:
        """A plan was made."""
        now = self.running.outside.stamp()
        return plan_created(workshop_id="workshop", plan_id=f"plan-{number}", at=now)

    async def tell(self, number: int = 1) -> str:
        """Tell that a plan was made; the id of the message."""
        news = self.news(number)
        await self.write(lambda connection: announce(connection, news))
        return news.message_id

    async def send(self) -> None:
        """Send what is due."""
        await self.sender.begin()
        await self.sender.idle()

    async def kept(self, table: str) -> list[dict[str, Any]]:
        """The rows of a table."""
        columns = _TABLES[table].columns.keys()
        rows = await self.write(lambda connection: connection.execute(_ALL[table]))
        return [dict(zip(columns, row, strict=True)) for row in rows]

    async def one(self, table: str) -> dict[str, Any]:
        """The only row of a table."""
        (row,) = await self.kept(table)
        return row


def at_desk(url: str, work: Callable[[Desk], Awaitable[T]], **settings: Any) -> T:
    """Work at a desk over a new database."""
    clock = [datetime(2026, 3, 2, 8, tzinfo=UTC)]

    def forward(by: timedelta) -> None:
        clock[0] += by

    async def run() -> T:
        outside = replace(real_outside(), now=lambda: clock[0], new_secret=lambda: NO_CHANCE)
        running = create_app(Settings(database=url, **settings), outside=outside).service
        await running.database.open()
        try:
            await running.database.write(_workshop)
            return await work(Desk(running, forward))
        finally:
            await running.database.close()

    migrate(url)
    return asyncio.run(run())


def _workshop(connection: Connection) -> None:
    named = {"workshop_id": "workshop", "name": "Invented", "region": "", "created_at": ""}
    connection.execute(_ADD_WORKSHOP, named)

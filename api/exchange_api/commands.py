"""What the subcommands do."""

import argparse
import asyncio
import sys
from collections.abc import Awaitable, Callable
from pathlib import Path

from exchange_api.app import contract_bytes, create_app
from exchange_api.findings_page import findings_page
from exchange_api.forgetting import forget_old_keys
from exchange_api.outside import real_outside
from exchange_api.server import run
from exchange_api.settings import Settings
from exchange_api.storage.database import database_at
from exchange_api.storage.migrate import migrate
from exchange_api.storage.units import Database, T


def serve(settings: Settings, _arguments: argparse.Namespace) -> int:
    """Run the service until it is told to stop."""
    migrate(settings.database)  # a database that is away is told before anything listens
    return run(create_app(settings), settings)


def migrate_database(settings: Settings, _arguments: argparse.Namespace) -> int:
    """Bring the database to the newest tables."""
    migrate(settings.database)
    print(f"{settings.shown_database} has the newest tables.")
    return 0


def purge(settings: Settings, _arguments: argparse.Namespace) -> int:
    """Forget Idempotency-Keys that need not be kept any longer."""
    migrate(settings.database)
    forgotten = asyncio.run(
        _with_database(settings, lambda database: forget_old_keys(database, real_outside()))
    )
    print(f"{forgotten} keys forgotten.")
    return 0


async def _with_database(settings: Settings, work: Callable[[Database], Awaitable[T]]) -> T:
    database = database_at(settings.database)
    await database.open()
    try:
        return await work(database)
    finally:
        await database.close()


def write_contract(_settings: Settings, arguments: argparse.Namespace) -> int:
    """Write the contract to a file or to stdout, and the page of findings where wanted."""
    if arguments.findings is not None:
        Path(arguments.findings).write_text(findings_page(), encoding="utf-8")
    if arguments.out is None:
        sys.stdout.buffer.write(contract_bytes())
    else:
        Path(arguments.out).write_bytes(contract_bytes())
    return 0

"""What the subcommands do."""

import argparse
import asyncio
import sys
from collections.abc import Awaitable, Callable
from pathlib import Path

from exchange_api.app import contract_bytes, create_app
from exchange_api.findings_page import findings_page
from exchange_api.forgetting import forget_old_keys
from exchange_api.keys import keep_key, new_key
from exchange_api.outside import real_outside
from exchange_api.scopes import ALLOWED_SCOPES, parse_scopes
from exchange_api.server import run
from exchange_api.settings import Settings
from exchange_api.storage.database import database_at
from exchange_api.storage.migrate import migrate
from exchange_api.storage.units import Database, T
from libexchange.errors import Fault, InvalidInput


def serve(settings: Settings, _arguments: argparse.Namespace) -> int:
    """Run the service until it is told to stop."""
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


def create_key(settings: Settings, arguments: argparse.Namespace) -> int:
    """Make a key, for a new workshop if need be; the key alone is the last line."""
    scopes = _scopes(arguments.scopes)
    outside = real_outside()
    key = new_key(outside)
    keep = keep_key(
        key,
        workshop=arguments.workshop,
        region=arguments.region,
        scopes=scopes,
        workshop_id=outside.new_id(),
    )
    migrate(settings.database)
    asyncio.run(_with_database(settings, lambda database: database.write(keep)))
    print(f"A key for {arguments.workshop}, shown only now:\n{key.text}")
    return 0


def _scopes(text: str) -> frozenset[str]:
    try:
        return parse_scopes(text)
    except ValueError as error:
        raise InvalidInput(_unknown_scope(str(error))) from None


def _unknown_scope(detail: str) -> Fault:
    return Fault(
        pointer="--scopes",
        code="unknown-scope",
        detail=detail,
        allowed=ALLOWED_SCOPES,
        remedy="Name scopes of the list, joined by commas.",
    )


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

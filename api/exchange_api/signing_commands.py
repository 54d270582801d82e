"""`exchange-api signing-keys`: list, rotate and retire the keys that sign records."""

import argparse
import asyncio

from exchange_api.audit import COMMAND_LINE, INSTALLATION, Entry, entry
from exchange_api.outside import Outside, real_outside
from exchange_api.settings import Settings
from exchange_api.signing import SigningKey, retired, rotated, signing_keys, spare_key
from exchange_api.storage.database import database_at
from exchange_api.storage.migrate import migrate
from exchange_api.storage.units import Database
from libexchange.errors import Fault, InvalidInput

_ROTATE, _RETIRE = "signing-keys rotate", "signing-keys retire"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What the subcommand takes."""
    parser.add_argument("action", choices=["list", "rotate", "retire"])
    parser.add_argument("--kid", help="retire: the key, as list shows it")


def run(settings: Settings, arguments: argparse.Namespace) -> int:
    """The subcommand."""
    migrate(settings.database)
    return asyncio.run(_run(settings, arguments))


async def _run(settings: Settings, arguments: argparse.Namespace) -> int:
    database = database_at(settings.database)
    await database.open()
    try:
        match arguments.action:
            case "list":
                return _list(await database.read(signing_keys))
            case "rotate":
                return await _rotate(database, real_outside())
        return await _retire(database, real_outside(), arguments.kid)
    finally:
        await database.close()


def _list(keys: list[SigningKey]) -> int:
    """Show every key, the oldest first; no private halves."""
    for key in keys:
        print(f"{key.kid}  made {key.created_at}  retired {key.retired_at or 'no'}")
    return 0


async def _rotate(database: Database, outside: Outside) -> int:
    """Make a key that signs from now on, and retire the others."""
    known = await database.read(signing_keys)
    retiring = tuple(_entry(outside, _ROTATE) for _ in known)
    spare = spare_key(outside, actor=COMMAND_LINE, operation=_ROTATE)
    made = await database.write(rotated(spare, retiring))
    print(f"{made.kid} signs from now on.")
    return 0


async def _retire(database: Database, outside: Outside, kid: str | None) -> int:
    """Drop the private half of a key; its public half stays."""
    if kid is None or not await database.write(retired(kid, _entry(outside, _RETIRE))):
        raise InvalidInput(_unknown(kid))
    print(f"{kid} signs no more. The next close makes a new key if there is none.")
    return 0


def _entry(outside: Outside, operation: str) -> Entry:
    return entry(outside, actor=COMMAND_LINE, operation=operation, owner=INSTALLATION)


def _unknown(kid: str | None) -> Fault:
    return Fault(
        pointer="--kid",
        code="unknown-id",
        detail=f"there is no key {kid} that signs" if kid else "retire needs it",
        allowed="the thumbprint of a key that is not retired, as signing-keys list shows it",
        remedy="List the keys.",
    )

"""`exchange-api keys`: make, list and revoke the keys of a workshop, on the machine itself."""

import argparse
import asyncio
from collections.abc import Awaitable, Callable
from uuid import UUID

from sqlalchemy import bindparam, select

from exchange_api.audit import COMMAND_LINE, Trace, digest_of, entry, recorded
from exchange_api.keys import KeyFacts, keep_key, new_key, new_key_trace, prefix, revoke, row_facts
from exchange_api.outside import Outside, real_outside
from exchange_api.scopes import ALLOWED_SCOPES, parse_scopes
from exchange_api.settings import Settings
from exchange_api.storage.database import database_at
from exchange_api.storage.migrate import migrate
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import API_KEYS, WORKSHOPS
from exchange_api.storage.units import Connection, Database, T, Unit
from libexchange.errors import Fault, InvalidInput

_LIST = Statement(
    select(
        *(API_KEYS.c[name] for name in KeyFacts.__struct_fields__),
        API_KEYS.c.last_used_at,
    )
    .join_from(API_KEYS, WORKSHOPS)
    .where(WORKSHOPS.c.name == bindparam("workshop"))
    .order_by(API_KEYS.c.created_at, API_KEYS.c.key_id)
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What the subcommand takes."""
    parser.add_argument("action", choices=["create", "list", "revoke"])
    parser.add_argument("--workshop", help="its name; create makes one that is new")
    parser.add_argument(
        "--region", default="", help="create: region of a new workshop, for exports"
    )
    parser.add_argument("--scopes", help="create: comma-separated, or * for all")
    parser.add_argument("--key-id", help="revoke: the key, as list shows it")


def run(settings: Settings, arguments: argparse.Namespace) -> int:
    """The subcommand."""
    needed = {"create": ("workshop", "scopes"), "list": ("workshop",), "revoke": ("key_id",)}
    missing = [name for name in needed[arguments.action] if getattr(arguments, name) is None]
    if missing:
        raise InvalidInput(*(_missing(arguments.action, name) for name in missing))
    return {"create": _create, "list": _list, "revoke": _revoke}[arguments.action](
        settings, arguments
    )


def _create(settings: Settings, arguments: argparse.Namespace) -> int:
    """Make a key, for a new workshop if need be; the key alone is the last line."""
    scopes, outside = _scopes(arguments.scopes), real_outside()
    key = new_key(outside)
    keep = keep_key(
        key,
        workshop=arguments.workshop,
        region=arguments.region,
        scopes=scopes,
        workshop_id=outside.new_id(),
    )
    about = entry(outside, actor=COMMAND_LINE, operation="keys create", owner="")
    migrate(settings.database)
    unit = recorded(keep, about, new_key_trace(key, scopes))
    asyncio.run(_using(settings.database, lambda database: database.write(unit)))
    print(f"A key for {arguments.workshop}, shown only now:\n{key.text}")
    return 0


def _list(settings: Settings, arguments: argparse.Namespace) -> int:
    """Show every key of a workshop, the oldest first; no secrets."""
    migrate(settings.database)
    params = {"workshop": arguments.workshop}
    rows = asyncio.run(
        _using(
            settings.database,
            lambda database: database.read(lambda connection: connection.execute(_LIST, params)),
        )
    )
    for row in rows:
        facts = row_facts(row[:-1])
        print(
            f"{facts.key_id}  {prefix(facts.key_id)}  {facts.name or '-'}  "
            f"made {facts.created_at}  expires {facts.expires_at or 'never'}  "
            f"used {row[-1] or 'never'}  "
            f"revoked {facts.revoked_at or 'no'}  {','.join(facts.scopes)}"
        )
    return 0


def _revoke(settings: Settings, arguments: argparse.Namespace) -> int:
    """Bar a key from the next request on; once more changes nothing."""
    try:
        key_id = str(UUID(arguments.key_id))
    except ValueError:
        raise InvalidInput(_unknown(arguments.key_id)) from None
    migrate(settings.database)
    unit = _revoking(real_outside(), key_id)
    if not asyncio.run(_using(settings.database, lambda database: database.write(unit))):
        raise InvalidInput(_unknown(key_id))
    print(f"{key_id} is revoked.")
    return 0


_OWNER = Statement(
    select(
        API_KEYS.c.workshop_id, *(API_KEYS.c[name] for name in KeyFacts.__struct_fields__)
    ).where(API_KEYS.c.key_id == bindparam("key_id"))
)


def _revoking(outside: Outside, key_id: str) -> Unit[bool]:
    about = entry(outside, actor=COMMAND_LINE, operation="keys revoke", owner="")

    def unit(connection: Connection) -> bool:
        rows = connection.execute(_OWNER, {"key_id": key_id})
        if rows and (before := row_facts(rows[0][1:])).revoked_at is None:
            trace = Trace(
                target=f"api-keys/{key_id}",
                before=digest_of(before),
                after=digest_of(revoke(connection, before, now=about.at)),
                owner=rows[0][0],
            )
            recorded(lambda _: None, about, lambda _: trace)(connection)
        return bool(rows)

    return unit


async def _using(url: str, work: Callable[[Database], Awaitable[T]]) -> T:
    database = database_at(url)
    await database.open()
    try:
        return await work(database)
    finally:
        await database.close()


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


def _missing(action: str, name: str) -> Fault:
    flag = f"--{name.replace('_', '-')}"
    return Fault(
        pointer=flag,
        code="missing-field",
        detail=f"keys {action} needs it",
        allowed="a value",
        remedy=f"Give {flag}.",
    )


def _unknown(key_id: str) -> Fault:
    return Fault(
        pointer="--key-id",
        code="unknown-id",
        detail=f"there is no key {key_id}",
        allowed="the id of a key, as keys list shows it",
        remedy="List the keys of the workshop.",
    )

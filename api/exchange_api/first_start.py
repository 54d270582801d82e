"""The very first start: an empty database gets its administrator and one key, shown once."""

from collections.abc import Callable

from exchange_api.keys import keep_key, new_key, unless_any_key
from exchange_api.outside import Outside
from exchange_api.scopes import ADMINISTRATOR, SCOPES
from exchange_api.storage.units import Database

WORKSHOP = "Administration"


async def run(database: Database, outside: Outside, *, announce: Callable[[str], None]) -> None:
    """Make the administrator's key while no key is kept, and announce it."""
    key = new_key(outside)
    keep = keep_key(
        key,
        workshop=WORKSHOP,
        region="",
        scopes=frozenset({*SCOPES, ADMINISTRATOR}),
        workshop_id=outside.new_id(),
    )
    if await database.write(unless_any_key(keep)):
        announce(f"The administrator's API key, shown only now:\n{key.text}")

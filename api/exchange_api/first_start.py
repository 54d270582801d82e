"""The very first start: an empty database gets its administrator and one key, shown once."""

from collections.abc import Callable

from exchange_api.audit import INSTALLATION, entry, recorded
from exchange_api.keys import keep_key, new_key, new_key_trace, unless_any_key
from exchange_api.outside import Outside
from exchange_api.scopes import ADMINISTRATOR, SCOPES
from exchange_api.storage.units import Database

WORKSHOP = "Administration"


async def run(database: Database, outside: Outside, *, announce: Callable[[str], None]) -> None:
    """Make the administrator's key while no key is kept, and announce it."""
    key = new_key(outside)
    scopes = frozenset({*SCOPES, ADMINISTRATOR})
    keep = keep_key(key, workshop=WORKSHOP, region="", scopes=scopes, workshop_id=outside.new_id())
    about = entry(outside, actor="first start", operation="first-start", owner=INSTALLATION)
    if await database.write(unless_any_key(recorded(keep, about, new_key_trace(key, scopes)))):
        announce(f"The administrator's API key, shown only now:\n{key.text}")

"""API keys: how they are written, made, kept and checked.

`lxk_<id>_<secret>_<checksum>`: 32, 64 and 8 hexadecimal digits. The checksum tells a typing error
without asking the database; of the secret only its SHA-256 is kept.
"""

import hmac
import re
import zlib
from hashlib import sha256
from uuid import UUID

from msgspec import Struct
from sqlalchemy import bindparam, insert, select, update

from exchange_api.outside import Outside
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import API_KEYS, WORKSHOPS
from exchange_api.storage.units import Connection, Unit

_FORM = re.compile(r"lxk_([0-9a-f]{32})_([0-9a-f]{64})_([0-9a-f]{8})")
_NO_DIGEST = "0" * 64


class Principal(Struct, frozen=True, kw_only=True):
    """Who asks: a key of a workshop, and what it allows."""

    workshop_id: str
    workshop: str
    region: str
    key_id: str
    scopes: frozenset[str]
    administrator: bool


class NewKey(Struct, frozen=True, kw_only=True):
    """A key that is about to be kept. `text` is the only place where its secret stands."""

    key_id: str
    text: str
    secret_sha256: str
    created_at: str


class Parts(Struct, frozen=True):
    """What a well-formed key says."""

    key_id: str
    secret_sha256: str


def new_key(outside: Outside) -> NewKey:
    """A fresh key with a 256-bit secret."""
    key_id, secret = outside.new_id(), outside.new_secret().hex()
    body = f"lxk_{UUID(key_id).hex}_{secret}"
    return NewKey(
        key_id=key_id,
        text=f"{body}_{_checksum(body)}",
        secret_sha256=_digest(secret),
        created_at=outside.stamp(),
    )


def read_key(text: str) -> Parts | None:
    """The parts of a key, None when it is mistyped.

    >>> read_key("lxk_123") is None
    True
    """
    match = _FORM.fullmatch(text)
    if match is None or _checksum(text.rpartition("_")[0]) != match[3]:
        return None
    return Parts(str(UUID(match[1])), _digest(match[2]))


def _checksum(body: str) -> str:
    return f"{zlib.crc32(body.encode()):08x}"


def _digest(secret: str) -> str:
    return sha256(secret.encode()).hexdigest()


_FIND = Statement(
    select(
        API_KEYS.c.workshop_id,
        WORKSHOPS.c.name,
        WORKSHOPS.c.region,
        API_KEYS.c.scopes,
        API_KEYS.c.secret_sha256,
        API_KEYS.c.expires_at,
        API_KEYS.c.revoked_at,
        API_KEYS.c.last_used_at,
    )
    .join_from(API_KEYS, WORKSHOPS)
    .where(API_KEYS.c.key_id == bindparam("key_id"))
)
_TOUCH = Statement(
    update(API_KEYS)
    .where(API_KEYS.c.key_id == bindparam("of_key"))
    .values(last_used_at=bindparam("now"))
)
_ADD_KEY = Statement(insert(API_KEYS))
_ADD_WORKSHOP = Statement(insert(WORKSHOPS))
_WORKSHOP_NAMED = Statement(
    select(WORKSHOPS.c.workshop_id)
    .where(WORKSHOPS.c.name == bindparam("name"))
    .order_by(WORKSHOPS.c.created_at)
    .limit(1)
)
_ANY_KEY = Statement(select(API_KEYS.c.key_id).limit(1))


class Found(Struct, frozen=True):
    """A valid key's holder, and when the key was last seen."""

    principal: Principal
    last_used_at: str | None


def find(parts: Parts, *, now: str) -> Unit[Found | None]:
    """A unit: who holds the key; None when it is unknown, wrong, expired or revoked."""

    def unit(connection: Connection) -> Found | None:
        rows = connection.execute(_FIND, {"key_id": parts.key_id})
        kept = rows[0][4] if rows else _NO_DIGEST
        if not hmac.compare_digest(kept, parts.secret_sha256):
            return None
        workshop_id, name, region, scopes, _, expires_at, revoked_at, last_used_at = rows[0]
        if revoked_at is not None or (expires_at is not None and expires_at <= now):
            return None
        words = frozenset(scopes.split())
        principal = Principal(
            workshop_id=workshop_id,
            workshop=name,
            region=region,
            key_id=parts.key_id,
            scopes=words,
            administrator="administrator" in words,
        )
        return Found(principal, last_used_at)

    return unit


def touch(*, key_id: str, now: str) -> Unit[None]:
    """A unit: note that a key was used."""

    def unit(connection: Connection) -> None:
        connection.execute(_TOUCH, {"of_key": key_id, "now": now})

    return unit


def keep_key(
    key: NewKey, *, workshop: str, region: str, scopes: frozenset[str], workshop_id: str
) -> Unit[None]:
    """A unit: keep a key for the workshop of this name, which is made when there is none.

    workshop_id: the id of the workshop if it must be made
    """

    def unit(connection: Connection) -> None:
        _keep(connection, key, _workshop(connection), scopes)

    def _workshop(connection: Connection) -> str:
        rows = connection.execute(_WORKSHOP_NAMED, {"name": workshop})
        if rows:
            return str(rows[0][0])
        params = {"workshop_id": workshop_id, "name": workshop, "region": region}
        connection.execute(_ADD_WORKSHOP, {**params, "created_at": key.created_at})
        return workshop_id

    return unit


def _keep(connection: Connection, key: NewKey, workshop_id: str, scopes: frozenset[str]) -> None:
    connection.execute(
        _ADD_KEY,
        {
            "key_id": key.key_id,
            "workshop_id": workshop_id,
            "secret_sha256": key.secret_sha256,
            "scopes": " ".join(sorted(scopes)),
            "created_at": key.created_at,
            "expires_at": None,
            "revoked_at": None,
            "last_used_at": None,
        },
    )


def unless_any_key(unit: Unit[None]) -> Unit[bool]:
    """A unit that runs another one only while no key is kept at all; whether it did."""

    def first(connection: Connection) -> bool:
        if connection.execute(_ANY_KEY):
            return False
        unit(connection)
        return True

    return first

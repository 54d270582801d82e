"""API keys: how they are written, made, kept and checked.

`lxk_<id>_<secret>_<checksum>`: 32, 64 and 8 hexadecimal digits. The checksum tells a typing error
without asking the database; of the secret only its SHA-256 is kept.
"""

import hmac
import re
import zlib
from collections.abc import Callable
from hashlib import sha256
from typing import Any
from uuid import UUID

from msgspec import Struct
from msgspec.structs import replace
from sqlalchemy import bindparam, insert, select, update

from exchange_api.audit import Trace, digest_of
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
    name: str = ""
    expires_at: str | None = None


class KeyFacts(Struct, frozen=True, kw_only=True):
    """What is kept of a key and may be told: all but the secret's digest and the last use."""

    key_id: str
    name: str
    scopes: list[str]
    created_at: str
    expires_at: str | None
    revoked_at: str | None


class Parts(Struct, frozen=True):
    """What a well-formed key says."""

    key_id: str
    secret_sha256: str


def new_key(outside: Outside, *, name: str = "", expires_at: str | None = None) -> NewKey:
    """A fresh key with a 256-bit secret.

    name: what it is for, empty for nothing in particular    expires_at: a stamp, None for never
    """
    key_id, secret = outside.new_id(), outside.new_secret().hex()
    body = f"{prefix(key_id)}_{secret}"
    return NewKey(
        key_id=key_id,
        text=f"{body}_{_checksum(body)}",
        secret_sha256=_digest(secret),
        created_at=outside.stamp(),
        name=name,
        expires_at=expires_at,
    )


def prefix(key_id: str) -> str:
    """The beginning of a key, which names it and is no secret."""
    return f"lxk_{UUID(key_id).hex}"


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
_REVOKE = Statement(
    update(API_KEYS)
    .where(API_KEYS.c.key_id == bindparam("of_key"))
    .values(revoked_at=bindparam("now"))
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
) -> Unit[str]:
    """A unit: keep a key for the workshop of this name, made if need be; its id.

    workshop_id: the id of the workshop if it must be made
    """

    def unit(connection: Connection) -> str:
        owner = _workshop(connection)
        keep_in(connection, key, owner, scopes)
        return owner

    def _workshop(connection: Connection) -> str:
        rows = connection.execute(_WORKSHOP_NAMED, {"name": workshop})
        if rows:
            return str(rows[0][0])
        params = {"workshop_id": workshop_id, "name": workshop, "region": region}
        connection.execute(_ADD_WORKSHOP, {**params, "created_at": key.created_at})
        return workshop_id

    return unit


def keep_in(connection: Connection, key: NewKey, workshop_id: str, scopes: frozenset[str]) -> None:
    """Keep a key for a workshop that is there."""
    connection.execute(
        _ADD_KEY,
        {
            "key_id": key.key_id,
            "workshop_id": workshop_id,
            "secret_sha256": key.secret_sha256,
            "scopes": " ".join(sorted(scopes)),
            "created_at": key.created_at,
            "expires_at": key.expires_at,
            "revoked_at": None,
            "last_used_at": None,
            "name": key.name,
        },
    )


def new_key_trace(key: NewKey, scopes: frozenset[str]) -> Callable[[str], Trace]:
    """What making a key leaves in the audit log of the workshop that it was made in."""
    facts = KeyFacts(
        key_id=key.key_id,
        name=key.name,
        scopes=sorted(scopes),
        created_at=key.created_at,
        expires_at=key.expires_at,
        revoked_at=None,
    )
    return lambda owner: Trace(target=f"api-keys/{key.key_id}", after=digest_of(facts), owner=owner)


def row_facts(row: tuple[Any, ...]) -> KeyFacts:
    """The facts in a row of their columns."""
    named = dict(zip(KeyFacts.__struct_fields__, row, strict=True))
    return KeyFacts(**named | {"scopes": named["scopes"].split()})


def revoke(connection: Connection, facts: KeyFacts, *, now: str) -> KeyFacts:
    """A key after it was revoked; one that was already stays as it is."""
    if facts.revoked_at is not None:
        return facts
    connection.execute(_REVOKE, {"of_key": facts.key_id, "now": now})
    return replace(facts, revoked_at=now)


def unless_any_key(unit: Unit[Any]) -> Unit[bool]:
    """A unit that runs another one only while no key is kept at all; whether it did."""

    def first(connection: Connection) -> bool:
        if connection.execute(_ANY_KEY):
            return False
        unit(connection)
        return True

    return first

"""The keys that sign records: one signs, all public halves are kept for ever.

A key is made when it is first needed. Its private half is 32 bytes of seed in the database, gone
once the key is retired; records that it signed are verified with the public half, which stays.
"""

from typing import Any

import msgspec
from msgspec import Struct
from sqlalchemy import bindparam, insert, select, update

from exchange_api import audit
from exchange_api.audit import INSTALLATION, Entry, Trace, digest_of
from exchange_api.outside import Outside
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import SIGNING_KEYS
from exchange_api.storage.units import Connection, Unit
from libexchange.signature import public_jwk


class SigningKey(Struct, frozen=True):
    """A key as it may be shown: by its thumbprint, without its private half."""

    kid: str
    created_at: str
    retired_at: str | None


class SpareKey(Struct, frozen=True, kw_only=True):
    """A key that is kept only where one is needed, and who needs it."""

    seed: bytes
    about: Entry

    def __repr__(self) -> str:
        return f"SpareKey({self.about.audit_id})"  # what signs is shown to nobody


_FACTS = tuple(SIGNING_KEYS.c[name] for name in SigningKey.__struct_fields__)
_IN_ORDER = (SIGNING_KEYS.c.created_at, SIGNING_KEYS.c.kid)
_ADD = Statement(insert(SIGNING_KEYS))
_ALL = Statement(select(*_FACTS).order_by(*_IN_ORDER))
_PUBLIC = Statement(select(SIGNING_KEYS.c.public_jwk).order_by(*_IN_ORDER))
_SIGNING = Statement(
    select(SIGNING_KEYS.c.private_key)
    .where(SIGNING_KEYS.c.retired_at.is_(None), SIGNING_KEYS.c.private_key.is_not(None))
    .order_by(*(column.desc() for column in _IN_ORDER))
    .limit(1)
)
_RETIRE = Statement(
    update(SIGNING_KEYS)
    .where(SIGNING_KEYS.c.kid == bindparam("of_kid"), SIGNING_KEYS.c.retired_at.is_(None))
    .values(retired_at=bindparam("now"), private_key=None)
    .returning(*_FACTS)
)


def spare_key(outside: Outside, *, actor: str, operation: str) -> SpareKey:
    """A new key, for a unit that may need one."""
    about = audit.entry(outside, actor=actor, operation=operation, owner=INSTALLATION)
    return SpareKey(seed=outside.new_secret(), about=about)


def signing_key(connection: Connection, spare: SpareKey) -> bytes:
    """The seed of the key that signs, 32 bytes; the spare one where there is none."""
    rows = connection.execute(_SIGNING)
    if rows:
        return bytes(rows[0][0])
    keep(connection, spare)
    return spare.seed


def keep(connection: Connection, spare: SpareKey) -> SigningKey:
    """Keep a key, which signs from now on, with its row in the audit log."""
    jwk = public_jwk(spare.seed)
    made = SigningKey(kid=jwk["kid"], created_at=spare.about.at, retired_at=None)
    columns: dict[str, Any] = {
        "kid": made.kid,
        "created_at": made.created_at,
        "retired_at": None,
        "public_jwk": msgspec.json.encode(jwk),
        "private_key": spare.seed,
    }
    connection.execute(_ADD, columns)
    _note(connection, spare.about, Trace(target=_target(made), after=digest_of(made)))
    return made


def rotated(spare: SpareKey, retiring: tuple[Entry, ...]) -> Unit[SigningKey]:
    """A unit: the spare key signs from now on, and every other one is retired.

    retiring: an entry for each key that may be retired; those beyond them stay
    """

    def unit(connection: Connection) -> SigningKey:
        live = [one for one in signing_keys(connection) if one.retired_at is None]
        for key, about in zip(live, retiring, strict=False):
            retired(key.kid, about)(connection)
        return keep(connection, spare)

    return unit


def retired(kid: str, about: Entry) -> Unit[bool]:
    """A unit: drop the private half of a key, which signs no more; whether it was one that did."""

    def unit(connection: Connection) -> bool:
        rows = connection.execute(_RETIRE, {"of_kid": kid, "now": about.at})
        if not rows:
            return False
        after = SigningKey(*rows[0])
        before = msgspec.structs.replace(after, retired_at=None)
        trace = Trace(target=_target(after), before=digest_of(before), after=digest_of(after))
        _note(connection, about, trace)
        return True

    return unit


def signing_keys(connection: Connection) -> list[SigningKey]:
    """A unit: every key that ever was, the oldest first."""
    return [SigningKey(*row) for row in connection.execute(_ALL)]


def public_keys(connection: Connection) -> bytes:
    """A unit: the public halves of all of them as a JSON Web Key Set (RFC 7517)."""
    keys = [msgspec.Raw(bytes(jwk)) for (jwk,) in connection.execute(_PUBLIC)]
    return msgspec.json.encode({"keys": keys})


def _note(connection: Connection, about: Entry, trace: Trace) -> None:
    audit.recorded(lambda _: None, about, lambda _: trace)(connection)


def _target(key: SigningKey) -> str:
    return f"signing-keys/{key.kid}"

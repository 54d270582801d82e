"""What is asked and answered about keys."""

from datetime import datetime
from typing import Annotated

from msgspec import Meta, Struct

from exchange_api.keys import prefix
from exchange_api.paging import Cursor, Limit
from exchange_api.scopes import KeyScope
from exchange_api.v1.api_keys import store
from libexchange.errors import Fault, InvalidInput
from libexchange.fields import Text

_MOST_SCOPES = 20


class ApiKeyQuery(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which page of keys."""

    cursor: Cursor | None = None
    limit: Limit = 50


class ApiKeyRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A key to be made: what it is for, what it allows, and when it ends, never if left out.

    name: what it is for    scopes: what it allows    expires_at: when it ends; null is never
    """

    name: Text
    scopes: Annotated[
        list[KeyScope],
        Meta(min_length=1, max_length=_MOST_SCOPES, extra_json_schema={"uniqueItems": True}),
    ]
    expires_at: Annotated[datetime, Meta(tz=True)] | None = None

    def __post_init__(self) -> None:
        if len(set(self.scopes)) != len(self.scopes):
            raise InvalidInput(_named_twice(self.scopes))


class ApiKey(Struct, frozen=True, kw_only=True):
    """A key without its secret. `prefix` is how its text begins; `last_used_at` is to the hour.

    key_id: its id    name: two live keys may have the same, to rotate by    scopes: what it allows
    created_at: when    expires_at: null where it never does    revoked_at: null while it is live
    """

    key_id: str
    prefix: str
    name: str
    scopes: list[KeyScope]
    created_at: str
    expires_at: str | None
    revoked_at: str | None
    last_used_at: str | None


class NewApiKey(Struct, frozen=True, kw_only=True):
    """A new key; `text` is what to send as bearer, and is never shown again."""

    api_key: ApiKey
    text: str


class ApiKeyPage(Struct, frozen=True, kw_only=True):
    """A page of keys, the newest first.

    items: what is on this page    next_cursor: asks for the next page; null on the last
    """

    items: list[ApiKey]
    next_cursor: str | None


def view(row: store.KeyRow) -> ApiKey:
    """A key as it is answered."""
    facts = row.facts
    return ApiKey(
        key_id=facts.key_id,
        prefix=prefix(facts.key_id),
        name=facts.name,
        scopes=facts.scopes,  # type: ignore[arg-type]  # only known scopes are ever kept
        created_at=facts.created_at,
        expires_at=facts.expires_at,
        revoked_at=facts.revoked_at,
        last_used_at=row.last_used_at,
    )


def tag(row: store.KeyRow) -> str:
    """The entity tag of a key: revoking is all that changes it, use does not count."""
    version = 1 if row.facts.revoked_at is None else 2
    return f'"{row.facts.key_id}.{version}"'


def _named_twice(scopes: list[KeyScope]) -> Fault:
    return Fault(
        pointer="/scopes",
        code="named-twice",
        detail="a scope is named twice",
        value=list(scopes),
        allowed="each scope once",
        remedy="Name each scope once.",
    )

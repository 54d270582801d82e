"""How the keys of a workshop are listed, made and revoked."""

from typing import Any

from msgspec import Struct
from sqlalchemy import Select, and_, bindparam, func, or_, select

from exchange_api.keys import KeyFacts, NewKey, keep_in, row_facts
from exchange_api.problems import Problem
from exchange_api.serving import nothing_at
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import API_KEYS
from exchange_api.storage.units import Connection, Unit
from libexchange.errors import Fault

LIVE_OF_ONE_NAME = 2
"""The old key and its successor; the old one is revoked before there can be a third."""


class KeyRow(Struct, frozen=True, kw_only=True):
    """A key as it is listed."""

    facts: KeyFacts
    last_used_at: str | None


_COLUMNS = tuple(API_KEYS.c[name] for name in (*KeyFacts.__struct_fields__, "last_used_at"))
_ONE = Statement(
    select(*_COLUMNS).where(
        API_KEYS.c.workshop_id == bindparam("workshop_id"), API_KEYS.c.key_id == bindparam("key_id")
    )
)
_LIVE = Statement(
    select(func.count()).where(
        API_KEYS.c.workshop_id == bindparam("workshop_id"),
        API_KEYS.c.name == bindparam("name"),
        API_KEYS.c.revoked_at.is_(None),
        or_(API_KEYS.c.expires_at.is_(None), API_KEYS.c.expires_at > bindparam("now")),
    )
)


def _page_statement(*, is_first: bool) -> Statement:
    wanted: Select[Any] = select(*_COLUMNS).where(
        API_KEYS.c.workshop_id == bindparam("workshop_id")
    )
    if not is_first:
        wanted = wanted.where(
            or_(
                API_KEYS.c.created_at < bindparam("created_at"),
                and_(
                    API_KEYS.c.created_at == bindparam("created_at"),
                    API_KEYS.c.key_id < bindparam("key_id"),
                ),
            )
        )
    newest_first = wanted.order_by(API_KEYS.c.created_at.desc(), API_KEYS.c.key_id.desc())
    return Statement(newest_first.limit(bindparam("rows")))


_PAGES = {is_first: _page_statement(is_first=is_first) for is_first in (True, False)}


def page(*, workshop_id: str, after: tuple[str, ...] | None, limit: int) -> Unit[list[KeyRow]]:
    """A unit: the newest keys of a workshop, one more than the page holds."""
    params: dict[str, str | int] = {"workshop_id": workshop_id, "rows": limit + 1}
    if after is not None:
        params["created_at"], params["key_id"] = after
    statement = _PAGES[after is None]
    return lambda connection: [_row(row) for row in connection.execute(statement, params)]


def one(*, workshop_id: str, key_id: str) -> Unit[KeyRow]:
    """A unit: a key of a workshop. Raises: Problem 404."""

    def unit(connection: Connection) -> KeyRow:
        rows = connection.execute(_ONE, {"workshop_id": workshop_id, "key_id": key_id})
        if not rows:
            raise nothing_at("key_id", key_id)
        return _row(rows[0])

    return unit


def create(*, workshop_id: str, key: NewKey, scopes: frozenset[str]) -> Unit[KeyRow]:
    """A unit: keep a key. Raises: Problem 409 when two of its name are live already."""

    def unit(connection: Connection) -> KeyRow:
        named = {"workshop_id": workshop_id, "name": key.name, "now": key.created_at}
        if connection.execute(_LIVE, named)[0][0] >= LIVE_OF_ONE_NAME:
            raise _too_many(key.name)
        keep_in(connection, key, workshop_id, scopes)
        return one(workshop_id=workshop_id, key_id=key.key_id)(connection)

    return unit


def _row(row: tuple[Any, ...]) -> KeyRow:
    return KeyRow(facts=row_facts(row[:-1]), last_used_at=row[-1])


def _too_many(name: str) -> Problem:
    fault = Fault(
        pointer="/name",
        code="too-many-live-keys",
        detail=f"{LIVE_OF_ONE_NAME} live keys have this name",
        value=name,
        allowed=f"at most {LIVE_OF_ONE_NAME} live keys of one name: the old one and its successor",
        remedy="Revoke the old key once its successor is in use, or choose another name.",
    )
    return Problem("conflict", "Two live keys have this name already.", errors=[fault])

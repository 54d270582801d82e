"""Audit rows put in place for tests, and what only the owner of a database could do to them."""

from functools import partial
from typing import Any

from sqlalchemy import text

from exchange_api import audit
from exchange_api.audit import Trace
from exchange_api.outside import Outside, real_outside
from exchange_api.storage.statements import Statement
from exchange_api.storage.units import Connection, Unit

SQLITE_TRIGGERS = ("audit_events_stay", "audit_events_sealed_once", "audit_events_not_replaced")


def nothing(_connection: Connection) -> None:
    return


def left(trace: Trace, _value: object) -> Trace:
    return trace


def added(*, owner: str = "a", target: str = "t", outside: Outside | None = None) -> Unit[None]:
    """A unit: one more row, not sealed yet."""
    about = audit.entry(outside or real_outside(), actor="key 1", operation="o", owner=owner)
    return audit.recorded(nothing, about, partial(left, Trace(target=target)))


def sql(words: str) -> Unit[list[Any]]:
    """A unit: one statement as it stands."""
    statement = Statement(text(words))
    return lambda connection: connection.execute(statement)


def unguarded(url: str) -> list[Unit[list[Any]]]:
    """Units: take away what keeps audit rows from being altered, as the owner of tables can."""
    if url.startswith("sqlite"):
        return [sql(f"DROP TRIGGER {name}") for name in SQLITE_TRIGGERS]
    return [sql("ALTER TABLE audit_events DISABLE TRIGGER USER")]

"""The audit log: who changed what, kept in the transaction of the change and then chained.

A row is added by the very unit of work that makes the change, so neither is there without the
other. Within about a second rows are sealed: each gets the next number of its workshop and a digest
over itself and the digest before it. Sealing apart from the change keeps writers of one workshop
from waiting for one another. Whoever alters, removes or inserts a sealed row breaks every digest
from there on; the newest digests also stand in the service's log, so a cut end shows too.
Triggers let nobody but the owner of the tables do that: rows are only added, and sealed once.
"""

from collections.abc import Callable, Sequence
from hashlib import sha256
from typing import Any, TypeVar

import msgspec
from msgspec import Struct
from sqlalchemy import Select, bindparam, column, insert, select, table, update

from exchange_api.outside import Outside
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import AUDIT_EVENTS
from exchange_api.storage.units import Connection, Unit

T = TypeVar("T")

COMMAND_LINE = "command line"
"""The actor of what is done on the machine itself."""
INSTALLATION = ""
"""The owner of the log of what belongs to the whole installation."""
SEALED_AT_ONCE = 200


class Trace(Struct, frozen=True, kw_only=True):
    """What a unit changed: the thing, and the digests of it before and after, null where it is not.

    owner: whose log it belongs into, None for the entry's own
    """

    target: str
    before: str | None = None
    after: str | None = None
    owner: str | None = None


class Entry(Struct, frozen=True, kw_only=True):
    """Who is about to change something, and in whose log that is kept."""

    audit_id: str
    owner: str
    at: str
    actor: str
    operation: str
    request_id: str | None


class Sealed(Struct, frozen=True, kw_only=True):
    """A row of the log as it is kept; `chain_sha256` covers the rest and the row before."""

    audit_id: str
    workshop_id: str
    at: str
    actor: str
    operation: str
    target: str
    before_sha256: str | None
    after_sha256: str | None
    request_id: str | None
    sequence: int
    chain_sha256: str


class Head(Struct, frozen=True, kw_only=True):
    """The newest sealed row of a log: how many there are, and the digest that covers them all."""

    workshop_id: str
    sequence: int
    chain_sha256: str


_ADD = Statement(insert(AUDIT_EVENTS))
_COLUMNS = tuple(AUDIT_EVENTS.c[name] for name in Sealed.__struct_fields__)
_NOT_SEALED = Statement(
    select(*_COLUMNS[:-2])
    .where(AUDIT_EVENTS.c.sequence.is_(None))
    .order_by(AUDIT_EVENTS.c.audit_id)
    .limit(bindparam("rows"))
)
_HEAD = Statement(
    select(AUDIT_EVENTS.c.sequence, AUDIT_EVENTS.c.chain_sha256)
    .where(
        AUDIT_EVENTS.c.workshop_id == bindparam("workshop_id"), AUDIT_EVENTS.c.sequence.is_not(None)
    )
    .order_by(AUDIT_EVENTS.c.sequence.desc())
    .limit(1)
)
_SEAL = Statement(
    update(AUDIT_EVENTS)
    .where(AUDIT_EVENTS.c.audit_id == bindparam("of_event"), AUDIT_EVENTS.c.sequence.is_(None))
    .values(sequence=bindparam("number"), chain_sha256=bindparam("chain"))
)
# the one row that every database has: PostgreSQL lets one at a time have it, SQLite has one writer
_ONE_ROW: Select[Any] = select(column("version_num")).select_from(table("alembic_version"))
_TURN = Statement(_ONE_ROW.with_for_update())
_TURN_IF_FREE = Statement(_ONE_ROW.with_for_update(skip_locked=True))


def digest_of(document: bytes | Struct) -> str:
    """The digest of a kept document, or of the row that stands for a thing."""
    raw = document if isinstance(document, bytes) else msgspec.json.encode(document)
    return sha256(raw).hexdigest()


def entry(
    outside: Outside, *, actor: str, operation: str, owner: str, request_id: str | None = None
) -> Entry:
    """An entry with an id and a time of its own."""
    return Entry(
        audit_id=outside.new_id(),
        owner=owner,
        at=outside.stamp(),
        actor=actor,
        operation=operation,
        request_id=request_id,
    )


def recorded(unit: Unit[T], about: Entry, trace: Callable[[T], Trace | None]) -> Unit[T]:
    """A unit that also keeps what the other one changed; nothing when it changed nothing."""

    def both(connection: Connection) -> T:
        value = unit(connection)
        if (left := trace(value)) is not None:
            connection.execute(_ADD, _row(about, left))
        return value

    return both


def _row(about: Entry, left: Trace) -> dict[str, Any]:
    return {
        "audit_id": about.audit_id,
        "workshop_id": about.owner if left.owner is None else left.owner,
        "at": about.at,
        "actor": about.actor,
        "operation": about.operation,
        "target": left.target,
        "before_sha256": left.before,
        "after_sha256": left.after,
        "request_id": about.request_id,
        "sequence": None,
        "chain_sha256": None,
    }


def seal(connection: Connection) -> list[Head]:
    """A unit: chain the oldest rows that are not yet, at most SEALED_AT_ONCE; the head after each.

    Waits while another process does so.
    """
    connection.execute(_TURN)
    return _seal(connection)


def seal_if_free(connection: Connection) -> list[Head]:
    """A unit: as `seal`, but none as well while another process does so."""
    return _seal(connection) if connection.execute(_TURN_IF_FREE) else []


def _seal(connection: Connection) -> list[Head]:
    newest: dict[str, Head] = {}
    heads = []
    for row in connection.execute(_NOT_SEALED, {"rows": SEALED_AT_ONCE}):
        owner = row[1]
        last = newest.get(owner) or _head(connection, owner)
        number = last.sequence + 1
        chain = link(last.chain_sha256, row, number)
        connection.execute(_SEAL, {"of_event": row[0], "number": number, "chain": chain})
        newest[owner] = Head(workshop_id=owner, sequence=number, chain_sha256=chain)
        heads.append(newest[owner])
    return heads


def _head(connection: Connection, workshop_id: str) -> Head:
    rows = connection.execute(_HEAD, {"workshop_id": workshop_id})
    sequence, chain = rows[0] if rows else (0, "")
    return Head(workshop_id=workshop_id, sequence=sequence, chain_sha256=chain)


def link(before: str, facts: Sequence[Any], number: int) -> str:
    """The digest of a row: over the digest before it, its number and its facts, as JSON.

    >>> link("", ["a"], 1)[:8]
    '21621df8'
    """
    return sha256(msgspec.json.encode([before, number, *facts])).hexdigest()

"""Sealing the audit log while the service runs, and looking whether it is whole."""

import argparse
import asyncio

from msgspec import Struct
from sqlalchemy import bindparam, select, tuple_

from exchange_api import audit
from exchange_api.audit import Head, Sealed
from exchange_api.backups import check_newest
from exchange_api.logs import Log
from exchange_api.settings import Settings
from exchange_api.storage.database import database_at
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import AUDIT_EVENTS
from exchange_api.storage.units import Connection, Database, Unit

ROWS_AT_ONCE = 1000

_COLUMNS = tuple(AUDIT_EVENTS.c[name] for name in Sealed.__struct_fields__)
_AFTER = Statement(
    select(*_COLUMNS)
    .where(
        AUDIT_EVENTS.c.sequence.is_not(None),
        # compared as a row, for PostgreSQL starts in the middle of an index only then
        tuple_(AUDIT_EVENTS.c.workshop_id, AUDIT_EVENTS.c.sequence)
        > tuple_(bindparam("workshop_id"), bindparam("sequence")),
    )
    .order_by(AUDIT_EVENTS.c.workshop_id, AUDIT_EVENTS.c.sequence)
    .limit(bindparam("rows"))
)


class Broken(Struct, frozen=True, kw_only=True):
    """Where a log stops being what was sealed: the number that should have come, and why."""

    workshop_id: str
    sequence: int
    reason: str


class Report(Struct, frozen=True, kw_only=True):
    """The heads of the logs that are whole, and where the others break."""

    heads: list[Head]
    broken: list[Broken]


async def seal_all(database: Database, log: Log, *, seal: Unit[list[Head]] = audit.seal) -> None:
    """Seal whatever is not sealed yet. Raises: StorageUnavailable."""
    may_wait = await database.read(is_waiting)
    while may_wait:  # what comes meanwhile is for the next time, or this would not end under load
        heads = await database.write(seal)
        for head in {one.workshop_id: one for one in heads}.values():
            log.info(
                "audit-sealed",
                workshop_id=head.workshop_id,
                sequence=head.sequence,
                chain_sha256=head.chain_sha256,
            )
        may_wait = len(heads) == audit.SEALED_AT_ONCE


_WAITING = Statement(
    select(AUDIT_EVENTS.c.audit_id).where(AUDIT_EVENTS.c.sequence.is_(None)).limit(1)
)


def is_waiting(connection: Connection) -> bool:
    """A unit: is there a row that is not sealed?"""
    return bool(connection.execute(_WAITING))


async def verify(database: Database) -> Report:
    """Compute every chain anew. Raises: StorageUnavailable."""
    last = Head(workshop_id="", sequence=0, chain_sha256="")
    heads: dict[str, Head] = {}
    broken: dict[str, Broken] = {}
    while rows := await _rows_after(database, last):
        for row in rows:
            last = Head(
                workshop_id=row.workshop_id, sequence=row.sequence, chain_sha256=row.chain_sha256
            )
            if row.workshop_id in broken:
                continue
            before = heads.get(row.workshop_id) or Head(
                workshop_id=row.workshop_id, sequence=0, chain_sha256=""
            )
            if reason := _fault(row, before):
                broken[row.workshop_id] = Broken(
                    workshop_id=row.workshop_id, sequence=before.sequence + 1, reason=reason
                )
            heads[row.workshop_id] = last
    whole = [head for owner, head in heads.items() if owner not in broken]
    return Report(heads=whole, broken=list(broken.values()))


async def _rows_after(database: Database, last: Head) -> list[Sealed]:
    params = {"workshop_id": last.workshop_id, "sequence": last.sequence, "rows": ROWS_AT_ONCE}
    rows = await database.read(lambda connection: connection.execute(_AFTER, params))
    names = Sealed.__struct_fields__
    return [Sealed(**dict(zip(names, row, strict=True))) for row in rows]


def _fault(row: Sealed, before: Head) -> str | None:
    if row.sequence != before.sequence + 1:
        return "a row is missing"
    facts = [getattr(row, name) for name in Sealed.__struct_fields__[:-2]]
    if audit.link(before.chain_sha256, facts, row.sequence) != row.chain_sha256:
        return "the row or one before it was altered"
    return None


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What the subcommand takes."""
    parser.add_argument("action", choices=["verify"])


def run(settings: Settings, _arguments: argparse.Namespace) -> int:
    """The subcommand: seal what waits, compute the chains anew and print heads; 1 when one breaks.

    A log whose end was cut is whole up to there: compare the heads with those noted before, or with
    the last `audit-sealed` lines of the service's log.
    """
    check_newest(settings.database, "--database")
    report = asyncio.run(_verify(settings))
    for head in report.heads:
        print(f"whole   {head.workshop_id or '(installation)':<36} {head.sequence:>8} "
              f"{head.chain_sha256}")  # fmt: skip
    for one in report.broken:
        print(f"broken  {one.workshop_id or '(installation)':<36} {one.sequence:>8} {one.reason}")
    return 1 if report.broken else 0


async def _verify(settings: Settings) -> Report:
    database = database_at(settings.database)
    await database.open()
    try:
        while await database.write(audit.seal):
            pass
        return await verify(database)
    finally:
        await database.close()

"""Catalogue entries from a file of lines: good lines are kept, bad ones told with all their faults.

A line is `{"transmission": {..}}`, `{"fluid": {..}}` or `{"additive": {..}}`. The same file
again changes nothing.
"""

import argparse
import asyncio
import sys
from collections import Counter
from collections.abc import Iterable, Iterator
from itertools import islice
from pathlib import Path
from typing import BinaryIO, Literal

from msgspec import Struct

from exchange_api import catalogue_store as store
from exchange_api.audit import COMMAND_LINE, entry, recorded
from exchange_api.bodies import decode
from exchange_api.catalogue_records import KINDS, CatalogueRecord, EntryKind
from exchange_api.outside import Outside, real_outside
from exchange_api.problems import Problem, ProblemError
from exchange_api.settings import Settings
from exchange_api.storage.database import database_at
from exchange_api.storage.migrate import migrate
from exchange_api.storage.units import Connection, Database, Unit
from libexchange.catalogue import Additive, FluidProduct, TransmissionProfile
from libexchange.errors import Fault, InvalidInput

LINES_PER_UNIT = 100  # about 20 ms on SQLite, so that others are not kept waiting

Outcome = Literal["created", "changed", "unchanged"]


class CatalogueLine(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One line of a catalogue file; exactly one of the three."""

    transmission: TransmissionProfile | None = None
    fluid: FluidProduct | None = None
    additive: Additive | None = None


class RefusedLine(Struct, frozen=True, kw_only=True):
    """A line that was not kept, counted from 1, and what is wrong with it."""

    line: int
    detail: str
    errors: list[ProblemError]


class ImportReport(Struct, frozen=True, kw_only=True):
    """What came of a file."""

    created: int
    changed: int
    unchanged: int
    refused: list[RefusedLine]


async def import_catalogue(
    database: Database,
    outside: Outside,
    lines: Iterable[bytes],
    *,
    owner: str = store.INSTALLATION,
) -> ImportReport:
    """Keep every good line as an entry of the owner, some lines at a time; blank ones are skipped.

    Raises: StorageUnavailable; what was kept until then stays, and the file can be given again.
    """
    outcomes: Counter[Outcome] = Counter()
    refused: list[RefusedLine] = []
    numbered = ((number, line) for number, line in enumerate(lines, 1) if line.strip())
    while batch := list(islice(numbered, LINES_PER_UNIT)):
        good = list(_good(batch, refused))
        outcomes.update(await database.write(_keep_all(good, owner=owner, outside=outside)))
    return ImportReport(
        created=outcomes["created"],
        changed=outcomes["changed"],
        unchanged=outcomes["unchanged"],
        refused=refused,
    )


def _good(
    batch: list[tuple[int, bytes]], refused: list[RefusedLine]
) -> Iterator[tuple[EntryKind, CatalogueRecord]]:
    for number, raw in batch:
        try:
            yield _entry(decode(raw, CatalogueLine))
        except Problem as problem:
            told = RefusedLine(line=number, detail=problem.detail, errors=problem.errors)
            refused.append(told)


def _entry(line: CatalogueLine) -> tuple[EntryKind, CatalogueRecord]:
    given = [(kind, record) for kind in KINDS if (record := getattr(line, kind.name)) is not None]
    if len(given) == 1:
        return given[0]
    raise Problem(
        "invalid-body",
        "The line has one fault.",
        errors=[
            Fault(
                pointer="",
                code="exactly-one-of",
                detail="it holds several or none",
                allowed="exactly one of transmission, fluid and additive",
                remedy="Give each entry a line of its own.",
            )
        ],
    )


def _keep_all(
    entries: list[tuple[EntryKind, CatalogueRecord]], *, owner: str, outside: Outside
) -> Unit[list[Outcome]]:
    units = [_keep(kind, record, owner=owner, outside=outside) for kind, record in entries]

    def unit(connection: Connection) -> list[Outcome]:
        return [_outcome(keep(connection), owner) for keep in units]

    return unit


def _keep(
    kind: EntryKind, record: CatalogueRecord, *, owner: str, outside: Outside
) -> Unit[store.Change]:
    about = entry(outside, actor=COMMAND_LINE, operation="import", owner=owner)
    unit = store.keep(kind, record, owner=owner, now=outside.now())
    return recorded(unit, about, lambda made: store.trace(kind, made))


def _outcome(change: store.Change, owner: str) -> Outcome:
    if not change.changed:
        return "unchanged"
    return "changed" if change.seen is not None and change.seen.owner == owner else "created"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What the subcommand takes."""
    parser.add_argument("file", metavar="FILE", help="entries of the catalogue, one JSON a line")


def run(settings: Settings, arguments: argparse.Namespace) -> int:
    """The subcommand: import a file for the whole installation; 1 when a line was refused."""
    try:
        with Path(arguments.file).open("rb") as lines:
            migrate(settings.database)
            report = asyncio.run(_import_into(settings, lines))
    except OSError as error:
        raise InvalidInput(_unreadable(arguments.file, error)) from None
    for refused in report.refused:
        print(_told(refused), file=sys.stderr)
    print(
        f"{report.created} created, {report.changed} changed, {report.unchanged} unchanged, "
        f"{len(report.refused)} refused."
    )
    return 1 if report.refused else 0


async def _import_into(settings: Settings, lines: BinaryIO) -> ImportReport:
    database = database_at(settings.database)
    await database.open()
    try:
        return await import_catalogue(database, real_outside(), lines)
    finally:
        await database.close()


def _unreadable(name: str, error: OSError) -> Fault:
    return Fault(
        pointer="FILE",
        code="unreadable",
        detail=f"{name}: {error.strerror}",
        allowed="a file that can be read",
        remedy="Correct the name or its permissions.",
    )


def _told(refused: RefusedLine) -> str:
    faults = [
        f"\n  {error.pointer}: {error.detail}; allowed: {error.allowed}" for error in refused.errors
    ]
    return f"line {refused.line}: {refused.detail}{''.join(faults)}"

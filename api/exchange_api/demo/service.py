"""A service of its own for the demonstration: loopback, SQLite in a folder, its own process."""

import asyncio
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from msgspec import Struct

from exchange_api.catalogue_import import ImportReport, import_catalogue
from exchange_api.keys import keep_key, new_key
from exchange_api.outside import Outside
from exchange_api.scopes import SCOPES
from exchange_api.storage.database import database_at
from exchange_api.storage.migrate import migrate

STOP_WITHIN_S = 20


class Prepared(Struct, frozen=True, kw_only=True):
    """A database with a catalogue and keys; `keys` by workshop name."""

    database: str
    report: ImportReport
    keys: dict[str, str]


def prepare(folder: Path, catalogue: Path, workshops: dict[str, str], outside: Outside) -> Prepared:
    """Fill a fresh database: tables, the catalogue, a workshop and its key for each name."""
    database = f"sqlite:///{folder / 'exchange.db'}"
    migrate(database)
    lines = catalogue.read_bytes().splitlines()
    report, keys = asyncio.run(_fill(database, lines, workshops, outside))
    return Prepared(database=database, report=report, keys=keys)


async def _fill(
    url: str, lines: list[bytes], workshops: dict[str, str], outside: Outside
) -> tuple[ImportReport, dict[str, str]]:
    database = database_at(url)
    await database.open()
    try:
        report = await import_catalogue(database, outside, lines)
        keys = {}
        for name, region in workshops.items():
            key = new_key(outside)
            keys[name] = key.text
            await database.write(
                keep_key(
                    key,
                    workshop=name,
                    region=region,
                    scopes=frozenset(SCOPES),
                    workshop_id=outside.new_id(),
                )
            )
        return report, keys
    finally:
        await database.close()


@contextmanager
def running(database: str) -> Iterator[str]:
    """The service in a process of its own; its address."""
    command = [sys.executable, "-m", "exchange_api.cli", "serve", "--port", "0"]
    command += ["--host", "127.0.0.1", "--database", database, "--log-level", "error"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:  # noqa: S603 -- our own command
        try:
            yield _address(process)
        finally:
            process.terminate()
            process.wait(STOP_WITHIN_S)


def _address(process: "subprocess.Popen[str]") -> str:
    assert process.stdout is not None  # noqa: S101 -- it was opened as a pipe
    for line in process.stdout:
        if "listens on " in line:
            return line.rpartition(" ")[2].strip()
    raise RuntimeError("the service did not start")

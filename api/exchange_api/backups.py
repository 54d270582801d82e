"""The subcommands that carry whole databases: backup, restore and move."""

import argparse
import asyncio
import tempfile
from pathlib import Path
from typing import Any

from sqlalchemy.engine import make_url

from exchange_api.outside import real_outside
from exchange_api.settings import Settings, without_password
from exchange_api.storage import portable
from exchange_api.storage.database import database_at
from exchange_api.storage.migrate import migrate, newest_revision, revision_of, revisions
from exchange_api.storage.units import Database, T, Unit
from libexchange.errors import Fault, InvalidInput


def add_backup_arguments(parser: argparse.ArgumentParser) -> None:
    """What `backup` takes."""
    parser.add_argument("--to", required=True, metavar="FILE", help="a file for its owner alone")


def add_restore_arguments(parser: argparse.ArgumentParser) -> None:
    """What `restore` takes."""
    parser.add_argument("--from", required=True, metavar="FILE", dest="file", help="a backup")


def add_move_arguments(parser: argparse.ArgumentParser) -> None:
    """What `move` takes."""
    parser.add_argument("--from", required=True, metavar="URL", dest="source", help="database URL")
    parser.add_argument("--to", required=True, metavar="URL", dest="target", help="an empty one")


def backup(settings: Settings, arguments: argparse.Namespace) -> int:
    """Write one snapshot of a database, in use or not, to a file."""
    sums = _save(settings.database, Path(arguments.to), "--database")
    _print(f"{settings.shown_database} as it was when this began is in {arguments.to}.", sums)
    return 0


def restore(settings: Settings, arguments: argparse.Namespace) -> int:
    """Fill an empty database from a file."""
    sums = _load(settings.database, Path(arguments.file), "--database")
    _print(f"{settings.shown_database} holds what {arguments.file} held.", sums)
    return 0


def move(_settings: Settings, arguments: argparse.Namespace) -> int:
    """Fill an empty database from another one that nobody uses meanwhile."""
    source, target = _checked("--from", arguments.source), _checked("--to", arguments.target)
    with tempfile.TemporaryDirectory() as folder:
        _save(source, Path(folder) / "moved", "--from")
        sums = _load(target, Path(folder) / "moved", "--to")
    if _run(source, portable.sums, write=False) != sums:
        raise InvalidInput(_refused("--from", "it was written to while it was moved",
            "a database that no service uses",
            "Stop the service and move it again, to a new database."))  # fmt: skip
    _print(f"{without_password(target)} holds what {without_password(source)} holds.", sums)
    return 0


def check_newest(url: str, flag: str) -> str:
    """The revision of a database that is there and has the newest tables; InvalidInput if not."""
    _check_is_there(url, flag)
    revision = revision_of(url)
    if revision is None or revision != newest_revision():
        raise InvalidInput(_refused(flag, f"its tables are of revision {revision}",
            f"revision {newest_revision()}", "Run exchange-api migrate on it first."))  # fmt: skip
    return revision


def _save(url: str, file: Path, flag: str) -> list[portable.Sum]:
    revision = check_newest(url, flag)
    unit = portable.save(file, revision=revision, made_at=real_outside().stamp())
    try:
        return _run(url, unit, write=False)
    except OSError as error:
        raise InvalidInput(_refused("--to", f"{file}: {error.strerror}", "a file that can be "
            "written", "Choose another place.")) from None  # fmt: skip


def _load(url: str, file: Path, flag: str) -> list[portable.Sum]:
    try:
        revision = portable.read_header(file).revision
        _check_revision(revision)
        migrate(url, to=revision)
        sums = _run(url, portable.load(file), write=True)
    except (OSError, portable.NotWhole) as error:
        raise InvalidInput(_refused("--from", f"{file}: {error}", "a whole backup",
            "Take another one; nothing was kept.")) from None  # fmt: skip
    except portable.NotEmpty as error:
        raise InvalidInput(_refused(flag, str(error), "an empty database",
            "Name a new one; nothing was kept.")) from None  # fmt: skip
    migrate(url)
    return sums


def _check_revision(revision: str) -> None:
    if revision not in revisions():
        raise InvalidInput(_refused("--from", f"it has tables of revision {revision}",
            f"up to revision {newest_revision()}",
            "Use the version that made it, or a later one."))  # fmt: skip


def _check_is_there(url: str, flag: str) -> None:
    parsed = make_url(url)
    if parsed.drivername == "sqlite" and not Path(str(parsed.database)).exists():
        raise InvalidInput(_refused(flag, f"there is no file {parsed.database}",
            "a database that is there", "Correct the name."))  # fmt: skip


def _checked(flag: str, url: str) -> str:
    try:
        database_at(url)
    except ValueError as error:
        raise InvalidInput(_refused(flag, str(error), "a database URL", "Correct it.")) from None
    return url


def _refused(flag: str, detail: str, allowed: str, remedy: str) -> Fault:
    return Fault(pointer=flag, code="refused", detail=detail, allowed=allowed, remedy=remedy)


def _run(url: str, unit: Unit[T], *, write: bool) -> T:
    async def run(database: Database) -> Any:
        await database.open()
        try:
            return await (database.write(unit) if write else database.read(unit))
        finally:
            await database.close()

    result: T = asyncio.run(run(database_at(url)))
    return result


def _print(sentence: str, sums: list[portable.Sum]) -> None:
    for one in sums:
        print(f"{one.table:<20} {one.count:>10} rows  sha256 {one.sha256}")
    print(sentence)

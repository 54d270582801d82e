"""Bringing a database to the newest revision of the tables, and asking which one it is at."""

from typing import Any

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from alembic.util import CommandError
from sqlalchemy import column, create_engine, event, select, table
from sqlalchemy.engine import Engine
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import NullPool

from exchange_api.storage.statements import Statement
from exchange_api.storage.units import Connection, StorageUnavailable

_WHOLE_FOR_ONE = {
    "postgresql": "SELECT pg_advisory_xact_lock(7229514371)",  # a number of our own
    "sqlite": "BEGIN IMMEDIATE",
}

_CURRENT = Statement(select(column("version_num")).select_from(table("alembic_version")))


def migrate(url: str, *, to: str = "head") -> None:
    """Bring the tables to a revision, in one transaction; does nothing when they are there already.

    Processes that start together wait for one another.
    Raises: StorageUnavailable, also for a file that is no database, for what the user may not
    change and for tables of a later version.
    """
    engine = create_engine(url, poolclass=NullPool)
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _leave_transactions_to_us)
    try:
        _upgrade(engine, to)
    except DBAPIError as error:
        raise StorageUnavailable(_first_line(error.orig)) from error
    except CommandError as error:
        raise StorageUnavailable(f"its tables are not ours or later ones: {error}") from error


def _first_line(error: BaseException | None) -> str:
    return str(error).partition("\n")[0]


def _upgrade(engine: Engine, to: str) -> None:
    with engine.connect() as connection:
        connection.exec_driver_sql(_WHOLE_FOR_ONE[engine.dialect.name])
        config = _config()
        config.attributes["connection"] = connection
        command.upgrade(config, to)
        connection.commit()


def _leave_transactions_to_us(raw: Any, _record: Any) -> None:
    """Keep the driver from committing before each change of a table."""
    raw.isolation_level = None


def revision_of(url: str) -> str | None:
    """The revision that a database is at, None without any tables. Raises: StorageUnavailable."""
    try:
        with create_engine(url, poolclass=NullPool).connect() as connection:
            return MigrationContext.configure(connection).get_current_revision()
    except DBAPIError as error:
        raise StorageUnavailable(_first_line(error.orig)) from error


def revisions() -> list[str]:
    """Every revision, the first one first."""
    script = ScriptDirectory.from_config(_config())
    return [one.revision for one in reversed(list(script.walk_revisions()))]


def newest_revision() -> str | None:
    """The revision that this version of the program needs."""
    return ScriptDirectory.from_config(_config()).get_current_head()


def current_revision(connection: Connection) -> str | None:
    """A unit of work: the revision that the database is at."""
    rows = connection.execute(_CURRENT)
    return rows[0][0] if rows else None


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", "exchange_api.storage:migrations")
    return config

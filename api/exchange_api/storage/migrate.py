"""Bringing a database to the newest revision of the tables, and asking which one it is at."""

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import column, create_engine, select, table
from sqlalchemy.pool import NullPool

from exchange_api.storage.statements import Statement
from exchange_api.storage.units import Connection

_CURRENT = Statement(select(column("version_num")).select_from(table("alembic_version")))


def migrate(url: str) -> None:
    """Bring the tables to the newest revision; does nothing when they are there already."""
    engine = create_engine(url, poolclass=NullPool)
    with engine.connect() as connection:
        config = _config()
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
        connection.commit()


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

"""Opening the database that a URL names."""

from collections.abc import Callable
from pathlib import Path

from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from exchange_api.storage.postgresql import PostgresqlDatabase
from exchange_api.storage.sqlite import SqliteDatabase
from exchange_api.storage.units import Database

_IN_MEMORY = frozenset({None, "", ":memory:"})


def _sqlite(_: str, url: URL) -> Database:
    if url.database in _IN_MEMORY:
        raise ValueError("a file is needed: sqlite:///NAME.db")
    return SqliteDatabase(Path(str(url.database)))


def _postgresql(text: str, url: URL) -> Database:
    if not url.database:
        raise ValueError("a database is needed: postgresql://USER@HOST/NAME")
    return PostgresqlDatabase(text)


_BACKENDS: dict[str, Callable[[str, URL], Database]] = {
    "sqlite": _sqlite,
    "postgresql": _postgresql,
}


def database_at(url: str) -> Database:
    """The database a URL names, not yet opened.

    Raises: ValueError for a URL that is malformed, of a kind we do not speak or without a file.

    >>> database_at("sqlite://")
    Traceback (most recent call last):
    ValueError: a file is needed: sqlite:///NAME.db
    """
    try:
        parsed = make_url(url)
    except (ArgumentError, ValueError):  # the latter quotes the URL, and so perhaps a password
        raise ValueError("not a database URL: sqlite:///NAME.db is one") from None
    if parsed.drivername not in _BACKENDS:
        raise ValueError(f"{parsed.drivername!r} is unknown, allowed is {', '.join(_BACKENDS)}")
    return _BACKENDS[parsed.drivername](url, parsed)

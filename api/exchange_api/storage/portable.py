r"""A database as one file that any other can be filled from: gzip, one JSON value a line.

The first line names the revision of the tables. For each table follow a line with its name and
columns, its rows in the order of the key as arrays (bytes in base64), and a line with their count
and the SHA-256 of their lines. The last line says that the file is whole.

Backup, restore and moving to another kind of database all use it. Both directions are one unit of
work, longer than any of the service: over one snapshot, and kept as a whole or not at all.
"""

import gzip
import os
import zlib
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path
from typing import Any, Literal

import msgspec
from msgspec import Struct
from sqlalchemy import (
    BigInteger,
    Float,
    Integer,
    LargeBinary,
    Table,
    Text,
    bindparam,
    insert,
    select,
    tuple_,
)
from sqlalchemy import column as plain_column
from sqlalchemy import table as plain_table
from sqlalchemy.types import TypeEngine

from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import METADATA
from exchange_api.storage.units import Connection, Row, T, Unit

FORMAT = "exchange-api database, version 1"
ROWS_AT_A_TIME = 200

_Kind = Literal["text", "integer", "real", "bytes"]
_TYPES: dict[_Kind, tuple[type[TypeEngine[Any]], Any]] = {
    "text": (Text, str | None),
    "integer": (BigInteger, int | None),
    "real": (Float, float | None),
    "bytes": (LargeBinary, bytes | None),
}
_encode = msgspec.json.Encoder().encode


class NotWhole(ValueError):
    """The file is damaged, cut short, or no database file at all."""


class NotEmpty(ValueError):
    """The database to fill holds rows already."""


class Header(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The first line: the revision of the tables, and when the file was made."""

    format: str
    revision: str
    made_at: str


class Columns(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A table as it stands in the file."""

    table: str
    columns: dict[str, _Kind]
    key: list[str]


class Sum(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How many rows a table has, and the SHA-256 of their lines."""

    table: str
    count: int
    sha256: str


class _End(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    tables: int


def save(path: Path, *, revision: str, made_at: str) -> Unit[list[Sum]]:
    """A unit: write all that one snapshot holds to a new file that only its owner may read."""

    def unit(connection: Connection) -> list[Sum]:
        with _written(path) as out:
            out.write(_line(Header(format=FORMAT, revision=revision, made_at=made_at)))
            sums = [_save_table(connection, described, out) for described in tables()]
            out.write(_line(_End(tables=len(sums))))
        return sums

    return unit


def sums(connection: Connection) -> list[Sum]:
    """A unit: count and digest of every table."""
    return [_sum(described, _rows(connection, described)) for described in tables()]


def read_header(path: Path) -> Header:
    """The first line of a file. Raises: NotWhole, OSError."""
    with _lines(path) as lines:
        return _header(lines)


def load(path: Path) -> Unit[list[Sum]]:
    """A unit: fill empty tables from a file and read them back.

    Raises: NotEmpty, NotWhole when the file or what was read back is not what was saved
    """

    def unit(connection: Connection) -> list[Sum]:
        with _lines(path) as lines:
            _header(lines)
            return list(_load_tables(connection, lines))

    return unit


def tables() -> list[Columns]:
    """Every table of the newest revision, those that others refer to first."""
    return [_described(table) for table in METADATA.sorted_tables]


def _described(table: Table) -> Columns:
    return Columns(
        table=str(table.name),
        columns={str(column.name): _kind(column.type) for column in table.columns},
        key=[str(column.name) for column in table.primary_key.columns],
    )


def _kind(type_: TypeEngine[Any]) -> _Kind:
    parents = {"integer": Integer, "real": Float, "bytes": LargeBinary, "text": Text}
    return next(kind for kind in _TYPES if isinstance(type_, parents[kind]))


def _save_table(connection: Connection, described: Columns, out: gzip.GzipFile) -> Sum:
    out.write(_line(described))
    rows = _rows(connection, described)
    told = _sum(described, rows, out.write)
    out.write(_line(told))
    return told


def _sum(
    described: Columns, rows: Iterable[Row], also: Callable[[bytes], object] = lambda _: None
) -> Sum:
    digest, count = sha256(), 0
    for row in rows:
        line = _line(row)
        digest.update(line)
        also(line)
        count += 1
    return Sum(table=described.table, count=count, sha256=digest.hexdigest())


def _rows(connection: Connection, described: Columns) -> Iterator[Row]:
    """The rows in the order of the key, a few at a time."""
    places = [list(described.columns).index(name) for name in described.key]
    first, after = _page(described, after=False), _page(described, after=True)
    rows = connection.execute(first)
    while rows:
        yield from rows
        last = {
            f"after_{name}": rows[-1][at] for name, at in zip(described.key, places, strict=True)
        }
        rows = connection.execute(after, last)


def _page(described: Columns, *, after: bool) -> Statement:
    table = _table(described)
    key = [table.c[name] for name in described.key]
    statement = select(*table.c).order_by(*key).limit(ROWS_AT_A_TIME)
    if after:
        last = [bindparam(f"after_{name}", type_=table.c[name].type) for name in described.key]
        statement = statement.where(tuple_(*key) > tuple_(*last))
    return Statement(statement)


def _table(described: Columns) -> Any:
    columns = (plain_column(name, _TYPES[kind][0]()) for name, kind in described.columns.items())
    return plain_table(described.table, *columns)


def _load_tables(connection: Connection, lines: Iterator[bytes]) -> Iterator[Sum]:
    count = 0
    while not (line := next(lines, b"")).startswith(b'{"tables"'):
        yield _load_table(connection, _decoded(line, Columns), lines)
        count += 1
    if _decoded(line, _End).tables != count or next(lines, None) is not None:
        raise NotWhole("the file is cut short")


def _load_table(connection: Connection, described: Columns, lines: Iterator[bytes]) -> Sum:
    if connection.execute(_page(described, after=False)):
        raise NotEmpty(f"the table {described.table} holds rows already")
    end: list[Sum] = []
    given = _given(described, lines, end)
    connection.execute_many(Statement(insert(_table(described))), given)
    kept = _sum(described, _rows(connection, described))
    if end != [kept]:
        raise NotWhole(f"the table {described.table} is not what was saved")
    return kept


def _given(described: Columns, lines: Iterator[bytes], end: list[Sum]) -> Iterator[dict[str, Any]]:
    """The rows of a table; the line after them is put into `end`."""
    types = tuple(_TYPES[kind][1] for kind in described.columns.values())
    decoder = msgspec.json.Decoder(tuple[types])  # type: ignore[valid-type]  # the file says them
    for line in lines:
        if line.startswith(b"{"):
            end.append(_decoded(line, Sum))
            return
        row: Row = _decoded_by(decoder.decode, line)
        yield dict(zip(described.columns, row, strict=True))


def _header(lines: Iterator[bytes]) -> Header:
    header = _decoded(next(lines, b""), Header)
    if header.format != FORMAT:
        raise NotWhole(f"it says {header.format!r} where {FORMAT!r} should stand")
    return header


def _decoded(line: bytes, kind: type[T]) -> T:
    return _decoded_by(msgspec.json.Decoder(kind).decode, line)


def _decoded_by(decode: Callable[[bytes], T], line: bytes) -> T:
    try:
        return decode(line)
    except (msgspec.DecodeError, UnicodeDecodeError):
        raise NotWhole("a line of the file is damaged") from None


def _line(value: Any) -> bytes:
    return _encode(value) + b"\n"


@contextmanager
def _lines(path: Path) -> Iterator[Iterator[bytes]]:
    with gzip.open(path) as file:
        try:
            yield iter(file)
        except (EOFError, gzip.BadGzipFile, zlib.error):
            raise NotWhole("the file is damaged or cut short") from None


@contextmanager
def _written(path: Path) -> Iterator[gzip.GzipFile]:
    """A file that has its name only once it is whole and on disk."""
    part = path.with_name(path.name + ".part")
    descriptor = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    try:
        with open(descriptor, "wb") as raw:  # noqa: PTH123 -- a descriptor has no path
            with gzip.GzipFile(fileobj=raw, mode="wb", compresslevel=1, mtime=0) as out:
                yield out
            raw.flush()
            os.fsync(raw.fileno())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)

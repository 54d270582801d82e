"""One connection to a PostgreSQL server: prepared statements and transactions, nothing else.

It speaks through the driver's own binding of libpq, because a cursor costs more than the statement.
"""

from collections.abc import Iterable, Mapping
from typing import Any

import psycopg
from psycopg import errors, pq
from psycopg.adapt import Transformer
from psycopg.pq.abc import PGresult
from sqlalchemy.dialects import postgresql
from sqlalchemy.engine import Dialect

from exchange_api.storage.statements import Statement
from exchange_api.storage.units import Row, StorageUnavailable

DIALECT: Dialect = postgresql.dialect(paramstyle="numeric_dollar")  # type: ignore[no-untyped-call]  # SQLAlchemy leaves it untyped


# no code is the driver's own word that the connection is gone; then: shutting down, crashed
_LOST = frozenset({None, b"57P01", b"57P02"})


class CannotConnect(StorageUnavailable):
    """The server takes no connection just now."""


class Interrupted(Exception):
    """The connection was lost before COMMIT was sent, so nothing of the unit is kept."""


class Link:
    """The connection that a unit sees.

    Raises: CannotConnect
    """

    def __init__(self, conninfo: str) -> None:
        try:
            # by way of the driver's connection, which lets other threads run while it waits
            self._connection = psycopg.connect(conninfo, autocommit=True)
        except psycopg.OperationalError as error:
            raise CannotConnect(str(error)) from None
        self._raw = self._connection.pgconn
        self._names: dict[str, bytes] = {}
        self._loading = Transformer()

    def execute(
        self, statement: Statement, params: Mapping[str, Any] | None = None, /
    ) -> list[Row]:
        """Run one statement and fetch all it gives."""
        compiled = statement.compiled(DIALECT)
        bound = compiled.bind(params)
        given = [_sent(bound[name]) for name in compiled.order]
        name = self._names.get(compiled.text) or self._prepare(compiled.text)
        values: list[Any] = [value for value, _ in given]
        formats = [form for _, form in given]
        return self._rows(self._raw.exec_prepared(name, values, formats, pq.Format.BINARY))

    def execute_many(self, statement: Statement, rows: Iterable[Mapping[str, Any]], /) -> None:
        """Run one statement for each set of parameters."""
        for row in rows:
            self.execute(statement, row)

    def begin(self, how: bytes) -> None:
        """Begin a transaction."""
        self._command(how)

    def commit(self) -> None:
        """Commit; returns only when the server said that it did.

        Raises: psycopg.Error, StorageUnavailable when the connection was lost over it.
        """
        try:
            tag = self._command(b"COMMIT")
        except Interrupted:
            detail = "the connection was lost at COMMIT: it may be kept or not"
            raise StorageUnavailable(detail) from None
        if tag != b"COMMIT":  # a failed transaction answers ROLLBACK, which is no error
            raise StorageUnavailable("the transaction had failed before COMMIT")

    def roll_back(self) -> None:
        """Undo the transaction."""
        self._command(b"ROLLBACK")

    def close(self) -> None:
        """Let the connection go, and whatever it had begun."""
        self._connection.close()

    def _prepare(self, text: str) -> bytes:
        name = b"s%d" % len(self._names)
        self._checked(self._raw.prepare(name, text.encode()))
        self._names[text] = name
        return name

    def _command(self, text: bytes) -> bytes | None:
        return self._checked(self._raw.exec_(text)).command_status

    def _rows(self, result: PGresult) -> list[Row]:
        if self._checked(result).status != pq.ExecStatus.TUPLES_OK:
            return []
        self._loading.set_pgresult(result, format=pq.Format.BINARY)
        return self._loading.load_rows(0, result.ntuples, tuple)

    def _checked(self, result: PGresult) -> PGresult:
        if result.status != pq.ExecStatus.FATAL_ERROR:
            return result
        if result.error_field(pq.DiagnosticField.SQLSTATE) in _LOST:
            raise Interrupted(result.error_message.decode(errors="replace"))
        raise errors.error_from_result(result)


def _sent(value: Any) -> tuple[bytes | None, int]:
    """A parameter as it is sent; text in binary form too, which alone carries its length."""
    match value:
        case str():
            return value.encode(), pq.Format.BINARY
        case bytes() | None:
            return value, pq.Format.BINARY
    return str(+value).encode(), pq.Format.TEXT

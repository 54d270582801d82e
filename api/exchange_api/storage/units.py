"""What a unit of work may ask of a connection, and what a database offers to its callers."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any, Protocol, TypeAlias, TypeVar, runtime_checkable

from exchange_api.storage.statements import Statement

T = TypeVar("T")

Row: TypeAlias = tuple[Any, ...]


class StorageUnavailable(Exception):
    """Nothing was acknowledged; the same request may succeed a little later."""


class Connection(Protocol):
    """One transaction's view of the tables."""

    def execute(
        self, statement: Statement, params: Mapping[str, Any] | None = None, /
    ) -> list[Row]:
        """Run one statement; the rows it selects or returns, else an empty list."""

    def execute_many(self, statement: Statement, rows: Iterable[Mapping[str, Any]], /) -> None:
        """Run one statement once for each set of parameters."""


Unit: TypeAlias = Callable[[Connection], T]
"""A plain function over a connection. It may run again, so it has no effect outside of it, makes
no ids or times of its own, and takes less than 50 ms."""


@runtime_checkable
class Database(Protocol):
    """Keeps what the service keeps; `write` answers only when the unit's work is on disk."""

    async def open(self) -> None:
        """Take connections; the running event loop is the one that will be answered."""

    async def close(self) -> None:
        """Finish every unit that was handed in, then let the connections go."""

    async def write(self, unit: Unit[T], /) -> T:
        """Run a unit that changes rows; its exception undoes its own work alone.

        Units have the effect that they would have one after the other, in some order.

        Raises: StorageUnavailable, or whatever the unit raises.
        """

    async def read(self, unit: Unit[T], /) -> T:
        """Run a unit over one consistent view that it cannot change.

        Raises: StorageUnavailable, or whatever the unit raises.
        """

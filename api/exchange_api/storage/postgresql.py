"""PostgreSQL: threads with a connection each; every unit runs in a transaction of its own.

Writes are SERIALIZABLE, so a unit means the same here as behind SQLite's single writer: the server
refuses what no order of the units could have given, and the unit is run again.
"""

from collections.abc import Callable
from contextlib import nullcontext, suppress
from functools import partial
from threading import Lock
from typing import Any, TypeVar

import psycopg
from psycopg import errors
from psycopg.conninfo import conninfo_to_dict, make_conninfo

from exchange_api.storage.postgresql_link import CannotConnect, Interrupted, Link
from exchange_api.storage.units import StorageUnavailable, Unit
from exchange_api.storage.waiting import Outcome, Queue

T = TypeVar("T")

WRITERS = 16
READERS = 4
MOST_RUNS = 50
LARGEST_REFUSAL = 256

SESSION = (
    "-c synchronous_commit=on "  # acknowledged means on disk, whatever the server's default is
    "-c statement_timeout=5s -c lock_timeout=5s -c idle_in_transaction_session_timeout=10s"
)
CONNECTION: dict[str, Any] = {
    "application_name": "exchange-api",
    "client_encoding": "utf8",
    "connect_timeout": 3,
    "tcp_user_timeout": 10_000,
}
BEGIN_WRITE = b"BEGIN ISOLATION LEVEL SERIALIZABLE"
BEGIN_READ = b"BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"

_RUN_AGAIN = (
    Interrupted,
    errors.DeadlockDetected,
    errors.SerializationFailure,
    errors.UniqueViolation,  # the server may tell a lost race so; a true one comes again
)
_OUT_OF_REACH = (
    Interrupted,
    errors.DataCorrupted,
    errors.IndexCorrupted,
    errors.InternalError_,  # a quota that is used up comes as this
    errors.ReadOnlySqlTransaction,
    psycopg.OperationalError,
)


class PostgresqlDatabase:
    """A database on a server; connections are made when they are first needed, and again."""

    def __init__(self, url: str) -> None:
        self._conninfo = conninfo(url)
        self._writes = Queue()
        self._reads = Queue()

    async def open(self) -> None:
        """Start the threads."""
        one_at_a_time = Lock()
        self._writes.open(self._workers(self._writes, WRITERS, BEGIN_WRITE, one_at_a_time))
        self._reads.open(self._workers(self._reads, READERS, BEGIN_READ, one_at_a_time))

    async def close(self) -> None:
        """Finish what waits and leave the server."""
        await self._reads.close()
        await self._writes.close()

    async def write(self, unit: Unit[T], /) -> T:
        """Run a unit in its own transaction; answers when the server has it on disk."""
        return await self._writes.run(unit)

    async def read(self, unit: Unit[T], /) -> T:
        """Run a unit over one snapshot."""
        return await self._reads.run(unit)

    def _workers(
        self, queue: Queue, count: int, begin: bytes, one_at_a_time: Lock
    ) -> list[Callable[[], None]]:
        sessions = [Session(self._conninfo, begin, one_at_a_time) for _ in range(count)]
        return [partial(_serve, queue, session) for session in sessions]


def conninfo(url: str) -> str:
    """What the driver is told for a URL. Raises: ValueError when it means nothing to it.

    >>> conninfo("postgresql://shop@db/exchange?colour=red")
    Traceback (most recent call last):
    ValueError: the driver does not understand this URL
    """
    try:
        told = conninfo_to_dict(url)
    except psycopg.Error:
        raise ValueError("the driver does not understand this URL") from None
    options = f"{SESSION} {told.get('options') or ''}"  # what comes later wins
    return make_conninfo("", **CONNECTION | told | {"options": options})


class Session:
    """What one thread works with: a connection, replaced when it is lost.

    one_at_a_time: held by units that run again, so that they do not refuse one another for ever
    """

    def __init__(self, conninfo: str, begin: bytes, one_at_a_time: Lock) -> None:
        self._conninfo = conninfo
        self._begin = begin
        self._one_at_a_time = one_at_a_time
        self._link: Link | None = None

    def run(self, unit: Unit[Any]) -> Outcome:
        """What comes of a unit, run as often as its race with others needs.

        While a unit runs again new ones wait, or they could outrun it for ever.
        """
        with self._one_at_a_time if self._one_at_a_time.locked() else nullcontext():
            outcome = self._run_once(unit)
        for _ in range(MOST_RUNS - 1):
            if not isinstance(outcome.error, _RUN_AGAIN):
                break
            with self._one_at_a_time:
                outcome = self._run_once(unit)
        return _seen_by_caller(outcome)

    def close(self) -> None:
        """Leave the server."""
        if self._link is not None:
            self._link.close()
        self._link = None

    def _run_once(self, unit: Unit[Any]) -> Outcome:
        try:
            return Outcome(value=self._transact(unit))
        except BaseException as error:  # noqa: BLE001 -- the thread must live; the caller gets it
            self._recover(error)
            return Outcome(error=error)

    def _transact(self, unit: Unit[Any]) -> Any:
        self._link = link = self._link or Link(self._conninfo)
        link.begin(self._begin)
        value = unit(link)
        link.commit()
        return value

    def _recover(self, error: BaseException) -> None:
        """After a failure of the storage the connection is not trusted any more."""
        if self._link is None:
            return
        if not isinstance(error, (*_OUT_OF_REACH, StorageUnavailable)) or _is_lost_race(error):
            with suppress(Interrupted, psycopg.Error):
                self._link.roll_back()
                return
        self.close()


def _is_lost_race(error: BaseException) -> bool:
    return isinstance(error, _RUN_AGAIN) and not isinstance(error, Interrupted)


def _seen_by_caller(outcome: Outcome) -> Outcome:
    error = outcome.error
    if not isinstance(error, _OUT_OF_REACH):
        return outcome
    return Outcome(error=StorageUnavailable(str(error)).with_traceback(error.__traceback__))


def _serve(queue: Queue, session: Session) -> None:
    while (job := queue.take()) is not None:
        outcome = session.run(job.unit)
        refused = [job]
        if isinstance(outcome.error, CannotConnect):  # whoever waits already would wait in vain
            refused += queue.take_waiting(LARGEST_REFUSAL)
        queue.answer([(one, outcome) for one in refused])
    session.close()

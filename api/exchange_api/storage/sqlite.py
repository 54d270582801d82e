"""SQLite: one writer thread commits waiting units together; readers have their own connections."""

import sqlite3
from collections.abc import Iterable, Mapping
from functools import partial
from pathlib import Path
from time import monotonic, sleep
from typing import Any, TypeVar

from sqlalchemy.dialects import sqlite

from exchange_api.storage.statements import Statement
from exchange_api.storage.units import Row, StorageUnavailable, Unit
from exchange_api.storage.waiting import Job, Outcome, Queue

T = TypeVar("T")

DIALECT = sqlite.dialect(paramstyle="named")
BUSY_TIMEOUT_MS = 5000
READERS = 4
LARGEST_GROUP = 256

_WAIT_FOR_OTHERS = f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}"

_OUT_OF_REACH = frozenset(
    {
        sqlite3.SQLITE_BUSY,
        sqlite3.SQLITE_CANTOPEN,
        sqlite3.SQLITE_CORRUPT,
        sqlite3.SQLITE_FULL,
        sqlite3.SQLITE_INTERRUPT,
        sqlite3.SQLITE_IOERR,
        sqlite3.SQLITE_LOCKED,
        sqlite3.SQLITE_NOMEM,
        sqlite3.SQLITE_NOTADB,
        sqlite3.SQLITE_PROTOCOL,
        sqlite3.SQLITE_READONLY,
    }
)


class SqliteConnection:
    """The connection that a unit sees."""

    def __init__(self, raw: sqlite3.Connection) -> None:
        self._raw = raw

    def execute(
        self, statement: Statement, params: Mapping[str, Any] | None = None, /
    ) -> list[Row]:
        """Run one statement and fetch all it gives."""
        compiled = statement.compiled(DIALECT)
        return self._raw.execute(compiled.text, compiled.bind(params)).fetchall()

    def execute_many(self, statement: Statement, rows: Iterable[Mapping[str, Any]], /) -> None:
        """Run one statement for each set of parameters."""
        compiled = statement.compiled(DIALECT)
        self._raw.executemany(compiled.text, (compiled.bind(row) for row in rows))


class _TransactionLost(Exception):
    """SQLite rolled the whole transaction back while this job ran."""

    def __init__(self, job: Job[Any]) -> None:
        super().__init__()
        self.job = job


class _Place:
    """Where the open file lay; one that is moved or removed would still take what nobody finds."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._file = self._found()

    def check(self) -> None:
        """Raises: StorageUnavailable unless the file that was opened lies there."""
        if self._found() != self._file:
            raise StorageUnavailable("another file lies where the database was")

    def _found(self) -> tuple[int, int]:
        try:
            found = self._path.stat()
        except OSError as error:
            raise StorageUnavailable(f"the database file is gone: {error.strerror}") from None
        return found.st_dev, found.st_ino


class SqliteDatabase:
    """A database file in WAL mode, synced to disk at every commit."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._writes = Queue()
        self._reads = Queue()

    async def open(self) -> None:
        """Connect, switch to WAL and start the threads."""
        writer = connect(self._path)
        readers = [connect(self._path, read_only=True) for _ in range(READERS)]
        place = _Place(self._path)
        self._writes.open([partial(self._serve_writes, writer, place)])
        self._reads.open([partial(self._serve_reads, reader, place) for reader in readers])

    async def close(self) -> None:
        """Finish what waits, readers first so that the writer can fold the log into the file."""
        await self._reads.close()
        await self._writes.close()

    async def write(self, unit: Unit[T], /) -> T:
        """Run a unit in the next group; answers when the group is on disk."""
        return await self._writes.run(unit)

    async def read(self, unit: Unit[T], /) -> T:
        """Run a unit on the next free reader."""
        return await self._reads.run(unit)

    def _serve_writes(self, raw: sqlite3.Connection, place: _Place) -> None:
        while (first := self._writes.take()) is not None:
            group = [first, *self._writes.take_waiting(LARGEST_GROUP - 1)]
            outcomes = _refused(place, group) or commit_group(raw, group)
            self._writes.answer(list(zip(group, outcomes, strict=True)))
        raw.close()

    def _serve_reads(self, raw: sqlite3.Connection, place: _Place) -> None:
        while (job := self._reads.take()) is not None:
            (outcome,) = _refused(place, [job]) or [_read(raw, job)]
            self._reads.answer([(job, outcome)])
        raw.close()


def connect(path: Path, *, read_only: bool = False) -> sqlite3.Connection:
    """A connection with the settings that durability and foreign keys need.

    Raises: StorageUnavailable
    """
    mode = "ro" if read_only else "rwc"
    try:
        raw = sqlite3.connect(
            f"{path.absolute().as_uri()}?mode={mode}",
            uri=True,
            isolation_level=None,
            check_same_thread=False,  # opened here, then used by one thread alone
            cached_statements=256,
        )
        raw.execute(_WAIT_FOR_OTHERS)
        if not read_only:
            _switch_to_wal(raw)
            raw.execute("PRAGMA synchronous = FULL")
            raw.execute("PRAGMA foreign_keys = ON")
    except sqlite3.Error as error:
        raise _seen_by_caller(error) from None
    return raw


def _switch_to_wal(raw: sqlite3.Connection) -> None:
    """Unlike every other statement this one does not wait by itself while another process works."""
    end = monotonic() + BUSY_TIMEOUT_MS / 1000
    while True:
        try:
            raw.execute("PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode != sqlite3.SQLITE_BUSY or monotonic() > end:
                raise
            sleep(0.01)
        else:
            return


def _refused(place: _Place, group: list[Job[Any]]) -> list[Outcome]:
    """What comes of each job while the file is not in its place, nothing while it is."""
    try:
        place.check()
    except StorageUnavailable as error:
        return [Outcome(error=error)] * len(group)
    return []


def commit_group(raw: sqlite3.Connection, group: list[Job[Any]]) -> list[Outcome]:
    """Run every job in a savepoint and commit once; what came of each, in order.

    When the transaction is lost nobody of the group is acknowledged: all but the job that lost it
    are run once more, each in a transaction of its own.
    """
    try:
        raw.execute("BEGIN IMMEDIATE")
    except sqlite3.Error as error:
        return [Outcome(error=_seen_by_caller(error))] * len(group)
    try:
        return _run_and_commit(raw, group)
    except _TransactionLost as lost:
        return [_once_more(raw, job, is_culprit=job is lost.job) for job in group]
    except sqlite3.Error:
        _roll_back(raw)
        return [_once_more(raw, job, is_culprit=False) for job in group]


def _run_and_commit(raw: sqlite3.Connection, group: list[Job[Any]]) -> list[Outcome]:
    outcomes = [_in_savepoint(raw, job) for job in group]
    raw.execute("COMMIT")
    return outcomes


def _in_savepoint(raw: sqlite3.Connection, job: Job[Any]) -> Outcome:
    raw.execute("SAVEPOINT unit")
    outcome = _outcome(raw, job)
    if not raw.in_transaction:
        raise _TransactionLost(job) from outcome.error
    if outcome.error is not None:
        raw.execute("ROLLBACK TO unit")
    raw.execute("RELEASE unit")
    return outcome


def _once_more(raw: sqlite3.Connection, job: Job[Any], *, is_culprit: bool) -> Outcome:
    if is_culprit:
        return Outcome(error=StorageUnavailable("the storage gave up in the middle"))
    try:
        raw.execute("BEGIN IMMEDIATE")
        return _run_and_commit(raw, [job])[0]
    except (sqlite3.Error, _TransactionLost) as error:
        _roll_back(raw)
        return Outcome(error=StorageUnavailable(str(error)))


def _read(raw: sqlite3.Connection, job: Job[Any]) -> Outcome:
    try:
        raw.execute("BEGIN")
    except sqlite3.Error as error:
        return Outcome(error=_seen_by_caller(error))
    outcome = _outcome(raw, job)
    _roll_back(raw)
    return outcome


def _outcome(raw: sqlite3.Connection, job: Job[Any]) -> Outcome:
    try:
        return Outcome(value=job.unit(SqliteConnection(raw)))
    except BaseException as error:  # noqa: BLE001 -- the thread must live; the caller gets it
        return Outcome(error=_seen_by_caller(error))


def _roll_back(raw: sqlite3.Connection) -> None:
    if raw.in_transaction:
        raw.execute("ROLLBACK")


def _seen_by_caller(error: BaseException) -> BaseException:
    code = getattr(error, "sqlite_errorcode", None)
    if code is not None and code & 0xFF in _OUT_OF_REACH:
        return StorageUnavailable(str(error)).with_traceback(error.__traceback__)
    return error

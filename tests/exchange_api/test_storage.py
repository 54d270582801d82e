"""What SQLite alone does: units that wait are committed together and undone alone."""

import asyncio
import sqlite3
from asyncio import AbstractEventLoop
from collections.abc import Iterator
from pathlib import Path
from threading import Timer
from typing import Any

import pytest
from sqlalchemy import bindparam, insert, select
from sqlalchemy.dialects import postgresql
from sqlalchemy.dialects.postgresql import insert as upsert
from sqlalchemy.engine import Dialect

from exchange_api.storage.database import database_at
from exchange_api.storage.migrate import migrate
from exchange_api.storage.sqlite import (
    DIALECT,
    SqliteConnection,
    commit_group,
    connect,
)
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import WORKSHOPS
from exchange_api.storage.units import Connection, StorageUnavailable, Unit
from exchange_api.storage.waiting import Job

ADD = Statement(insert(WORKSHOPS))
NAMES = Statement(select(WORKSHOPS.c.name).order_by(WORKSHOPS.c.name))


def add(name: str) -> Unit[str]:
    def unit(connection: Connection) -> str:
        row = {"workshop_id": name, "name": name, "region": "", "created_at": ""}
        connection.execute(ADD, row)
        return name

    return unit


def names(connection: Connection) -> list[str]:
    return [row[0] for row in connection.execute(NAMES)]


def failing(connection: Connection) -> str:
    add("half")(connection)
    raise LookupError("the unit's own failure")


def losing(connection: Connection) -> str:
    """What a full disk does: SQLite rolls the whole transaction back under the unit."""
    add("lost")(connection)
    assert isinstance(connection, SqliteConnection)
    connection._raw.execute("ROLLBACK")
    raise sqlite3.OperationalError("database or disk is full")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    migrate(f"sqlite:///{tmp_path}/kept.db")
    return tmp_path / "kept.db"


@pytest.fixture
def raw(path: Path) -> Iterator[sqlite3.Connection]:
    connection = connect(path)
    yield connection
    connection.close()


@pytest.fixture
def loop() -> Iterator[AbstractEventLoop]:
    loop = asyncio.new_event_loop()
    yield loop
    loop.close()


def group(loop: AbstractEventLoop, *units: Unit[str]) -> list[Job[Any]]:
    return [Job(unit, loop.create_future()) for unit in units]


def kept(path: Path) -> list[str]:
    connection = connect(path, read_only=True)
    try:
        return names(SqliteConnection(connection))
    finally:
        connection.close()


def with_database(path: Path, *units: Unit[Any]) -> list[Any]:
    async def run() -> list[Any]:
        database = database_at(f"sqlite:///{path}")
        await database.open()
        try:
            waiting = (database.write(unit) for unit in units)
            return await asyncio.gather(*waiting, return_exceptions=True)
        finally:
            await database.close()

    return asyncio.run(run())


def test_waiting_units_are_committed_once_and_together(
    path: Path, raw: sqlite3.Connection, loop: AbstractEventLoop
) -> None:
    told: list[str] = []
    raw.set_trace_callback(told.append)

    outcomes = commit_group(raw, group(loop, add("a"), add("b"), add("c")))

    assert [outcome.value for outcome in outcomes] == ["a", "b", "c"]
    assert told.count("COMMIT") == 1
    assert kept(path) == ["a", "b", "c"]


def test_a_failing_unit_is_undone_alone(
    path: Path, raw: sqlite3.Connection, loop: AbstractEventLoop
) -> None:
    outcomes = commit_group(raw, group(loop, add("a"), failing, add("b")))

    assert [type(outcome.error) for outcome in outcomes] == [type(None), LookupError, type(None)]
    assert kept(path) == ["a", "b"]


def test_a_lost_transaction_acknowledges_nobody_and_runs_the_others_again(
    path: Path, raw: sqlite3.Connection, loop: AbstractEventLoop
) -> None:
    runs: list[str] = []

    def counted(connection: Connection) -> str:
        runs.append("run")
        return add("a")(connection)

    outcomes = commit_group(raw, group(loop, counted, losing, add("b")))

    assert [outcome.value for outcome in outcomes] == ["a", None, "b"]
    assert isinstance(outcomes[1].error, StorageUnavailable)
    assert runs == ["run", "run"]
    assert kept(path) == ["a", "b"]


def test_a_failing_commit_acknowledges_nobody(
    path: Path, raw: sqlite3.Connection, loop: AbstractEventLoop
) -> None:
    def breaks_at_commit(connection: Connection) -> str:
        assert isinstance(connection, SqliteConnection)
        connection._raw.execute("PRAGMA defer_foreign_keys = ON")
        connection._raw.execute("INSERT INTO release_rows VALUES ('none', 1, x'')")
        return "never kept"

    outcomes = commit_group(raw, group(loop, add("a"), breaks_at_commit, add("b")))

    assert [outcome.value for outcome in outcomes] == ["a", None, "b"]
    assert isinstance(outcomes[1].error, StorageUnavailable)
    assert kept(path) == ["a", "b"]


def test_a_full_disk_keeps_nothing_and_says_so(path: Path) -> None:
    def fills(connection: Connection) -> str:
        assert isinstance(connection, SqliteConnection)
        connection._raw.execute("PRAGMA max_page_count = 1")
        return add("x" * 1_000_000)(connection)

    (outcome,) = with_database(path, fills)

    assert isinstance(outcome, StorageUnavailable)
    assert kept(path) == []


def test_a_database_locked_by_another_is_unavailable(
    path: Path, raw: sqlite3.Connection, loop: AbstractEventLoop
) -> None:
    raw.execute("PRAGMA busy_timeout = 10")
    other = connect(path)
    other.execute("BEGIN IMMEDIATE")

    outcomes = commit_group(raw, group(loop, add("a"), add("b")))
    other.close()

    assert all(isinstance(outcome.error, StorageUnavailable) for outcome in outcomes)


def test_durability_is_not_switched_off(raw: sqlite3.Connection) -> None:
    settings = {name: raw.execute(f"PRAGMA {name}").fetchone()[0] for name in (
        "journal_mode", "synchronous", "foreign_keys")}  # fmt: skip

    assert settings == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1}


def test_one_upsert_serves_both_dialects() -> None:
    core = upsert(WORKSHOPS).on_conflict_do_nothing().returning(WORKSHOPS.c.workshop_id)
    dialects: list[Dialect] = [DIALECT, postgresql.dialect()]  # type: ignore[no-untyped-call]  # SQLAlchemy leaves it untyped
    texts = [Statement(core).compiled(dialect).text for dialect in dialects]

    assert all("ON CONFLICT DO NOTHING RETURNING" in text for text in texts)


@pytest.mark.parametrize("url", ["", "nonsense", "sqlite://", "mysql://a/b", "sqlite:///:memory:"])
def test_a_url_that_cannot_be_opened_is_refused(url: str) -> None:
    with pytest.raises(ValueError, match="sqlite"):
        database_at(url)


def test_own_parameters_of_a_statement_need_not_be_given(raw: sqlite3.Connection) -> None:
    statement = Statement(
        select(WORKSHOPS.c.name).where(WORKSHOPS.c.name > "a").limit(bindparam("most"))
    )

    assert SqliteConnection(raw).execute(statement, {"most": 1}) == []


def test_many_that_open_a_new_file_together_wait_for_one_another(tmp_path: Path) -> None:
    """Switching to WAL is the one statement that SQLite lets fail at once."""
    path = tmp_path / "new.db"
    migrate(f"sqlite:///{path}")
    other = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
    other.execute("BEGIN IMMEDIATE")
    letting_go = Timer(0.3, other.close)
    letting_go.start()

    raw = connect(path)
    letting_go.join()

    assert raw.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    raw.close()

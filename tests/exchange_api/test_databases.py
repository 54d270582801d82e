"""What every database promises to a unit of work, on each kind alike."""

import asyncio
from collections.abc import Awaitable, Callable
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import bindparam, create_engine, insert, select, update
from sqlalchemy.dialects.postgresql import insert as insert_if_new

from exchange_api.storage.database import database_at
from exchange_api.storage.migrate import current_revision, migrate, newest_revision, revisions
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import METADATA, RELEASES, WORKSHOPS
from exchange_api.storage.units import Connection, Database, StorageUnavailable, T, Unit

ADD = Statement(insert(WORKSHOPS))
ADD_IF_NEW = Statement(
    insert_if_new(WORKSHOPS)
    .values({column.name: bindparam(column.name) for column in WORKSHOPS.columns})
    .on_conflict_do_nothing()
    .returning(WORKSHOPS.c.region)
)
NAMES = Statement(select(WORKSHOPS.c.name).order_by(WORKSHOPS.c.name))
ADD_RELEASE = Statement(insert(RELEASES))
READ_RELEASE = Statement(select(RELEASES))
COUNTED = Statement(select(RELEASES.c.rows))
COUNT = Statement(update(RELEASES).values(rows=bindparam("counted")))


def add(name: str) -> Unit[str]:
    def unit(connection: Connection) -> str:
        connection.execute(ADD, {"workshop_id": name, "name": name, "region": "", "created_at": ""})
        return name

    return unit


def names(connection: Connection) -> list[str]:
    return [row[0] for row in connection.execute(NAMES)]


def failing(connection: Connection) -> str:
    add("half")(connection)
    raise LookupError("the unit's own failure")


def release(**changed: Any) -> dict[str, Any]:
    row = {"release": "r", "created_at": "", "k": 0, "rows": 0, "suppressed": 0, "trailer": b""}
    return row | changed


@pytest.fixture
def tables(url: str) -> str:
    """The URL of a database with tables."""
    migrate(url)
    return url


def using(url: str, work: Callable[[Database], Awaitable[T]]) -> T:
    """Work over an open database."""

    async def run() -> T:
        database = database_at(url)
        await database.open()
        try:
            return await work(database)
        finally:
            await database.close()

    return asyncio.run(run())


def written(url: str, *units: Unit[Any]) -> list[Any]:
    """What came of units that were handed in at the same time."""
    return using(
        url,
        lambda database: asyncio.gather(*map(database.write, units), return_exceptions=True),
    )


def test_it_is_a_database(url: str) -> None:
    assert isinstance(database_at(url), Database)


def test_the_migrated_tables_are_the_described_tables(tables: str) -> None:
    engine = create_engine(tables)
    with engine.connect() as connection:
        differences = compare_metadata(MigrationContext.configure(connection), METADATA)
    engine.dispose()

    assert differences == []


@pytest.mark.parametrize("revision", ["base", *revisions()])
def test_every_revision_can_be_brought_to_the_newest(url: str, revision: str) -> None:
    migrate(url, to=revision) if revision != "base" else None
    migrate(url)
    migrate(url)

    assert using(url, lambda database: database.read(current_revision)) == newest_revision()


def test_processes_that_start_together_wait_for_one_another(url: str) -> None:
    async def together() -> None:
        await asyncio.gather(*(asyncio.to_thread(migrate, url) for _ in range(4)))

    asyncio.run(together())

    assert using(url, lambda database: database.read(current_revision)) == newest_revision()


def test_a_migration_that_fails_leaves_nothing(url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(_connection: Any, *_told: Any) -> None:
        raise LookupError("in the middle")

    with monkeypatch.context() as patch:
        patch.setattr("alembic.operations.Operations.create_index", fails)
        with pytest.raises(LookupError):
            migrate(url)
    migrate(url)

    assert using(url, lambda database: database.read(current_revision)) == newest_revision()


def test_units_are_kept_and_a_failing_one_is_undone_alone(tables: str) -> None:
    outcomes = written(tables, add("a"), failing, add("b"), failing)

    assert [type(one) for one in outcomes] == [str, LookupError, str, LookupError]
    assert using(tables, lambda database: database.read(names)) == ["a", "b"]


def test_readers_cannot_write(tables: str) -> None:
    with pytest.raises(StorageUnavailable):
        using(tables, lambda database: database.read(add("b")))

    assert using(tables, lambda database: database.read(names)) == []


def test_closing_finishes_what_was_handed_in(tables: str) -> None:
    async def run() -> list[str]:
        database = database_at(tables)
        await database.open()
        writing = [asyncio.ensure_future(database.write(add(f"{n:03}"))) for n in range(300)]
        await asyncio.sleep(0)
        await database.close()
        return await asyncio.gather(*writing)

    assert asyncio.run(run()) == using(tables, lambda database: database.read(names))


def test_a_closed_database_is_unavailable(tables: str) -> None:
    async def run() -> None:
        database = database_at(tables)
        await database.open()
        await database.close()
        await database.write(add("a"))

    with pytest.raises(StorageUnavailable):
        asyncio.run(run())


def test_units_mean_what_they_would_one_after_the_other(tables: str) -> None:
    """Each reads a count and writes one more: without a serial order some would be lost."""

    def one_more(connection: Connection) -> None:
        ((counted,),) = connection.execute(COUNTED)
        connection.execute(COUNT, {"counted": counted + 1})

    written(tables, lambda connection: connection.execute(ADD_RELEASE, release()))
    outcomes = written(tables, *[one_more] * 200)

    assert set(outcomes) == {None}
    assert using(tables, lambda database: database.read(lambda c: c.execute(COUNTED))) == [(200,)]


def test_what_nobody_has_read_yet_is_added_once(tables: str) -> None:
    """Each looks whether there is any row and adds its own if not: rows that do not meet."""

    def unless_any(name: str) -> Unit[bool]:
        def unit(connection: Connection) -> bool:
            if names(connection):
                return False
            add(name)(connection)
            return True

        return unit

    outcomes = written(tables, *(unless_any(f"{number}") for number in range(50)))

    assert sorted(outcomes) == [False] * 49 + [True]
    assert len(using(tables, lambda database: database.read(names))) == 1


def test_one_of_many_wins_a_key(tables: str) -> None:
    def claim(mine: str) -> Unit[bool]:
        row = {"workshop_id": "one", "name": mine, "region": mine, "created_at": ""}
        return lambda connection: bool(connection.execute(ADD_IF_NEW, row))

    outcomes = written(tables, *(claim(f"{number}") for number in range(64)))

    assert sorted(outcomes) == [False] * 63 + [True]


def test_what_is_there_already_is_the_units_own_error(tables: str, backend: str) -> None:
    first, second = written(tables, add("a"), add("a"))
    third = written(tables, add("b"))

    failed = next(one for one in (first, second) if isinstance(one, Exception))
    assert not isinstance(failed, StorageUnavailable)
    assert type(failed).__name__ in {"IntegrityError", "UniqueViolation"}, backend
    assert third == ["b"]


def test_an_error_that_a_unit_hides_is_not_acknowledged_as_kept(tables: str) -> None:
    def hides(connection: Connection) -> str:
        add("b")(connection)
        try:
            add("a")(connection)
        except Exception:  # noqa: BLE001 -- that is the fault under test
            return "hidden"
        return "added"

    written(tables, add("a"))
    (outcome,) = written(tables, hides)
    kept = using(tables, lambda database: database.read(names))

    assert isinstance(outcome, StorageUnavailable) == (kept == ["a"])


@pytest.mark.parametrize(
    "row",
    [
        release(k=2**63 - 1, rows=-(2**63), trailer=bytes(range(256))),
        release(created_at="Grün ölig \U0001f697 'quoted' %s $1 :x \\", trailer=b""),
        release(created_at="", trailer=b"x" * 1_000_000),
    ],
)
def test_values_come_back_as_they_were_given(tables: str, row: dict[str, Any]) -> None:
    written(tables, lambda connection: connection.execute_many(ADD_RELEASE, [row]))
    (kept,) = using(tables, lambda database: database.read(lambda c: c.execute(READ_RELEASE)))

    assert dict(zip(row, kept, strict=True)) == row
    assert [type(value) for value in kept] == [type(value) for value in row.values()]


def test_text_sorts_by_its_bytes(tables: str) -> None:
    given = ["b", "a-b", "ab", "a b", "B", "ä", "a_b", "A", "a", "Z", "é", "0"]
    written(tables, *map(add, given))

    assert using(tables, lambda database: database.read(names)) == sorted(given, key=str.encode)


def test_a_statement_refuses_missing_and_unknown_parameters(tables: str) -> None:
    missing, unknown = written(
        tables,
        lambda connection: connection.execute(ADD, {"workshop_id": "a"}),
        lambda connection: connection.execute(NAMES, {"typo": 1}),
    )

    assert isinstance(missing, KeyError)
    assert isinstance(unknown, KeyError)

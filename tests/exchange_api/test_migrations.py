"""What an earlier version kept is there, unchanged, after the newest revision has come."""

from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import (
    Engine,
    LargeBinary,
    MetaData,
    Table,
    Text,
    create_engine,
    insert,
    select,
    text,
)
from sqlalchemy.exc import IntegrityError

from exchange_api.cli import main
from exchange_api.storage.migrate import migrate, revisions
from tests.exchange_api.postgresql_server import Server

Kept = dict[str, list[tuple[Any, ...]]]


def tables(engine: Engine) -> list[Table]:
    found = MetaData()
    found.reflect(engine)
    return [table for table in found.sorted_tables if table.name != "alembic_version"]


def invented(table: Table) -> dict[str, Any]:
    """A row; the same values everywhere, so that every reference leads to one."""
    return {column.name: _value(column.type) for column in table.columns}


def _value(kind: Any) -> Any:
    if isinstance(kind, LargeBinary):
        return b"\x00\xffinvented"
    return "invented ölig" if isinstance(kind, Text) else 7


def fill(url: str) -> Kept:
    engine = create_engine(url)
    with engine.begin() as connection:
        for table in tables(engine):
            connection.execute(insert(table), invented(table))
    kept = read(url, {table.name: list(table.columns.keys()) for table in tables(engine)})
    engine.dispose()
    return kept


def read(url: str, columns: dict[str, list[str]]) -> Kept:
    """The rows of tables, of those columns alone."""
    engine = create_engine(url)
    with engine.connect() as connection:
        kept = {
            table.name: [
                tuple(row)
                for row in connection.execute(select(*(table.c[n] for n in columns[table.name])))
            ]
            for table in tables(engine)
            if table.name in columns
        }
    engine.dispose()
    return kept


def columns_of(url: str) -> dict[str, list[str]]:
    engine = create_engine(url)
    told = {table.name: list(table.columns.keys()) for table in tables(engine)}
    engine.dispose()
    return told


@pytest.mark.parametrize("revision", revisions())
def test_rows_of_every_earlier_revision_are_kept(url: str, revision: str) -> None:
    migrate(url, to=revision)
    columns, before = columns_of(url), fill(url)

    assert main(["migrate", "--database", url], environ={}) == 0
    assert all(len(rows) == 1 for rows in before.values())
    assert read(url, columns) == before


@pytest.mark.parametrize("revision", revisions())
def test_audit_rows_of_every_earlier_revision_are_guarded(url: str, revision: str) -> None:
    migrate(url, to=revision)
    fill(url)
    migrate(url)
    engine = create_engine(url)
    (log,) = (table for table in tables(engine) if table.name == "audit_events")
    with engine.begin() as connection:
        if not connection.execute(select(log)).all():  # the revision had no such table
            connection.execute(insert(log), invented(log))

    for statement in (log.delete(), log.update().values(actor="somebody else")):
        with pytest.raises(IntegrityError, match="only added"), engine.begin() as connection:
            connection.execute(statement)
    engine.dispose()


def told(url: str, capsys: pytest.CaptureFixture[str]) -> str:
    """What `migrate` says of a database that it cannot bring to the newest tables, in one line."""
    code = main(["migrate", "--database", url], environ={})
    (line,) = capsys.readouterr().err.splitlines()

    assert code == 1
    return line.removeprefix("The database does not answer: ")


def test_tables_of_a_later_version_are_left_alone(
    url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    migrate(url)
    engine = create_engine(url)
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    engine.dispose()

    assert told(url, capsys).startswith("its tables are not ours or later ones: ")


def test_a_file_that_is_no_database_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "a.db").write_text("an invented letter\n" * 100, encoding="utf-8")

    assert told(f"sqlite:///{tmp_path}/a.db", capsys) == "file is not a database"


def test_a_user_who_may_not_make_tables_is_told(
    postgresql: Server, capsys: pytest.CaptureFixture[str]
) -> None:
    url = postgresql.database()
    postgresql.admin("CREATE ROLE visitor LOGIN")
    try:
        told_visitor = told(url.replace("//exchange@", "//visitor@"), capsys)
    finally:
        postgresql.admin("DROP ROLE visitor")

    assert told_visitor == "permission denied for schema public"

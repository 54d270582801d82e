"""The database itself keeps audit rows: added, sealed once, and never altered or removed."""

import io
import sqlite3
from collections.abc import Callable
from pathlib import Path
from time import monotonic, sleep
from typing import Any

import pytest

from exchange_api import audit
from exchange_api.storage.migrate import migrate
from tests.exchange_api.audit_rows import added, sql, unguarded
from tests.exchange_api.bay_desk import ask
from tests.exchange_api.running import running
from tests.exchange_api.test_databases import using, written

EVERYTHING = "SELECT * FROM audit_events ORDER BY audit_id"
REFUSED = "audit rows are only added, and sealed once"
TAKEN = "UPDATE audit_events SET sequence = 9, chain_sha256 = 'forged'"
FACTS = (
    "workshop_id", "at", "actor", "operation", "target", "before_sha256", "after_sha256",
    "request_id", "audit_id",
)  # fmt: skip


@pytest.fixture
def log(url: str) -> str:
    """The URL of a database with a sealed row and one that waits for its seal."""
    migrate(url)
    written(url, added())
    written(url, audit.seal)
    written(url, added())
    return url


def rows(url: str) -> list[Any]:
    return using(url, lambda database: database.read(sql(EVERYTHING)))


def check_refused(url: str, words: str) -> None:
    before = rows(url)
    (outcome,) = written(url, sql(words))

    assert type(outcome).__name__ in {"IntegrityError", "RestrictViolation"}, repr(outcome)
    assert REFUSED in str(outcome)
    assert rows(url) == before


@pytest.mark.parametrize("which", ["IS NULL", "IS NOT NULL"], ids=["waiting", "sealed"])
def test_a_row_cannot_be_removed(log: str, which: str) -> None:
    check_refused(log, f"DELETE FROM audit_events WHERE sequence {which}")  # noqa: S608 -- our own words


@pytest.mark.parametrize("which", ["IS NULL", "IS NOT NULL"], ids=["waiting", "sealed"])
@pytest.mark.parametrize("name", FACTS)
def test_no_fact_of_a_row_can_be_altered(log: str, which: str, name: str) -> None:
    check_refused(log, f"UPDATE audit_events SET {name} = 'z' WHERE sequence {which}")  # noqa: S608 -- our own words


@pytest.mark.parametrize("name", FACTS)
def test_no_fact_can_be_altered_while_it_is_sealed(log: str, name: str) -> None:
    check_refused(log, f"{TAKEN}, {name} = 'z' WHERE sequence IS NULL")


@pytest.mark.parametrize(
    "words",
    [
        f"{TAKEN} WHERE sequence IS NOT NULL",
        "UPDATE audit_events SET sequence = NULL, chain_sha256 = NULL WHERE sequence IS NOT NULL",
        "UPDATE audit_events SET chain_sha256 = 'forged' WHERE sequence IS NOT NULL",
        "UPDATE audit_events SET sequence = 9 WHERE sequence IS NULL",
        "UPDATE audit_events SET chain_sha256 = 'forged' WHERE sequence IS NULL",
    ],
    ids=["again", "undone", "another digest", "number alone", "digest alone"],
)
def test_a_seal_is_set_once_and_whole(log: str, words: str) -> None:
    check_refused(log, words)


def test_a_table_cannot_be_emptied_at_once(log: str, backend: str) -> None:
    check_refused(
        log, "DELETE FROM audit_events" if backend == "sqlite" else "TRUNCATE audit_events"
    )


REPLACING = {
    "id": """
        REPLACE INTO audit_events SELECT audit_id, workshop_id, at, 'forged', operation, target,
        NULL, NULL, NULL, sequence, chain_sha256 FROM audit_events
    """,
    "number": """
        INSERT OR REPLACE INTO audit_events SELECT 'new', workshop_id, at, 'forged', operation,
        target, NULL, NULL, NULL, sequence, chain_sha256 FROM audit_events LIMIT 1
    """,
    "place": """
        INSERT OR REPLACE INTO audit_events (rowid, audit_id, workshop_id, at, actor, operation,
        target) SELECT rowid, 'new', 'b', at, 'forged', operation, target FROM audit_events
    """,
    "sealing": """
        UPDATE OR REPLACE audit_events SET sequence = 1, chain_sha256 = 'x' WHERE sequence IS NULL
    """,
    "moving": """
        UPDATE OR REPLACE audit_events SET sequence = 2, chain_sha256 = 'x', rowid = 1
        WHERE sequence IS NULL
    """,
}


@pytest.mark.parametrize("words", REPLACING.values(), ids=REPLACING)
def test_no_row_can_be_put_in_the_place_of_another(tmp_path: Path, words: str) -> None:
    """What SQLite does for REPLACE: it removes the row in the way, and calls that no DELETE."""
    url = f"sqlite:///{tmp_path}/a.db"
    migrate(url)
    written(url, added())
    written(url, audit.seal)
    written(url, added())

    check_refused(url, words)


def test_a_unit_that_tries_is_undone_as_a_whole(log: str) -> None:
    def tries(connection: Any) -> None:
        added(target="hidden")(connection)
        sql("DELETE FROM audit_events")(connection)

    before = rows(log)
    (outcome,) = written(log, tries)

    assert isinstance(outcome, Exception)
    assert rows(log) == before


def test_rows_are_added_and_sealed_as_ever(log: str) -> None:
    written(log, added(owner="b"), added())
    heads = using(log, lambda database: database.write(audit.seal))

    assert sorted((head.workshop_id, head.sequence) for head in heads) == [
        ("a", 2), ("a", 3), ("b", 1)
    ]  # fmt: skip


def test_only_who_takes_the_guards_away_can_alter_a_row(log: str) -> None:
    outcomes = written(log, *unguarded(log))
    (altered,) = written(log, sql("UPDATE audit_events SET actor = 'forged'"))

    assert [one for one in [*outcomes, altered] if isinstance(one, BaseException)] == []
    assert {one[3] for one in rows(log)} == {"forged"}


def test_a_seal_that_fails_is_told_and_made_later(tmp_path: Path) -> None:
    """Here somebody has broken the table; the service runs on and seals once it is mended."""
    file, log = tmp_path / "exchange.db", io.BytesIO()
    with running(tmp_path, log=log) as app, app.client_of("A") as client:
        with sqlite3.connect(file) as raw:
            raw.execute("ALTER TABLE audit_events RENAME COLUMN sequence TO number")
        raw.close()
        until(lambda: b'"upkeep-failed"' in log.getvalue())
        is_live = client.get("/health/live").is_success
        with sqlite3.connect(file) as raw:
            raw.execute("ALTER TABLE audit_events RENAME COLUMN number TO sequence")
        raw.close()
        ask(client)
        until(lambda: log.getvalue().count(b'"audit-sealed"') > 0)

    assert is_live


def until(happens: Callable[[], bool]) -> None:
    end = monotonic() + 15
    while not happens() and monotonic() < end:
        sleep(0.05)
    assert happens()

"""Full, read-only, locked: 503 with Retry-After, nothing half kept, and recovery by itself."""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from time import sleep
from typing import Any

import httpx
import psycopg
import pytest

from exchange_api.storage.migrate import migrate
from exchange_api.storage.sqlite import SqliteConnection, connect
from exchange_api.storage.units import Connection
from tests.exchange_api.bay_desk import ask
from tests.exchange_api.postgresql_server import Server
from tests.exchange_api.running import Running, running
from tests.exchange_api.test_databases import using
from tests.faults.answers import check_recovers, check_unavailable, until_unavailable
from tests.faults.conftest import OnDisk
from tests.faults.permissions import run_bound
from tests.faults.wholeness import half_written


def test_a_full_disk_is_unavailable_until_there_is_space(on_disk: OnDisk) -> None:
    client = on_disk.client
    assert ask(client).status_code == 201
    on_disk.disk.fill()
    kept, refused = until_unavailable(client)
    read, live = client.get("/v1/plans"), client.get("/health/live")
    on_disk.disk.free()
    check_recovers(client, kept=1 + kept, refused=refused)

    assert (read.status_code, live.status_code) == (200, 200)
    assert using(on_disk.database, lambda database: database.read(half_written)) == []


@pytest.fixture
def read_only(
    request: pytest.FixtureRequest, backend: str, service: Running, url: str
) -> Callable[[bool], Any]:
    """Makes the database of the service read-only under it, or lets it write again."""
    if backend == "sqlite":
        raw = service.write(writer)
        return lambda yes: raw.execute(f"PRAGMA query_only = {int(yes)}")
    server: Server = request.getfixturevalue("postgresql")
    return lambda yes: server.make_read_only(url, yes)


def writer(connection: Connection) -> Any:
    """A unit: the connection that the service writes through, to change its settings."""
    assert isinstance(connection, SqliteConnection)
    return connection._raw


def test_a_read_only_database_answers_reads_and_takes_nothing(
    client: httpx.Client, read_only: Callable[[bool], Any]
) -> None:
    made = ask(client)
    read_only(True)
    refused, read = ask(client, key="refused"), client.get(made.headers["location"])
    ready = client.get("/health/ready")
    read_only(False)

    check_unavailable(refused)
    assert (read.status_code, read.content) == (200, made.content)
    assert ready.status_code == 200
    check_recovers(client, kept=1, refused="refused")


def test_a_read_only_file_is_told_at_the_start(tmp_path: Path) -> None:
    folder = tmp_path / "database"
    folder.mkdir()
    file = folder / "exchange.db"
    database = f"sqlite:///{file}"
    migrate(database)
    file.chmod(0o444)
    folder.chmod(0o555)
    told = ["keys", "create", "--workshop", "X", "--scopes", "*", "--database", database]
    code = run_bound(told, tmp_path / "log")
    file.chmod(0o600)
    folder.chmod(0o700)

    assert code == 1
    assert "The database does not answer: " in (tmp_path / "log").read_text(encoding="utf-8")
    assert run_bound(told, tmp_path / "log") == 0


@contextmanager
def locked(url: str) -> Iterator[None]:
    """Somebody else holds the tables and does not let go."""
    if url.startswith("sqlite"):
        other = connect(Path(url.removeprefix("sqlite:///")))
        other.execute("BEGIN IMMEDIATE")
        try:
            yield
        finally:
            other.close()
        return
    with psycopg.connect(url) as held:
        held.execute("LOCK TABLE plans, jobs, idempotency IN EXCLUSIVE MODE")
        yield


def test_a_locked_database_is_unavailable_until_it_is_let_go(url: str) -> None:
    patient = url if url.startswith("sqlite") else url + "&options=-c%20lock_timeout%3D300ms"
    with running(patient) as app, app.client_of("Locked", timeout=30) as client:
        if url.startswith("sqlite"):
            app.write(writer).execute("PRAGMA busy_timeout = 300")
        made = ask(client)
        with locked(url):
            refused, read = ask(client, key="refused"), client.get(made.headers["location"])
        check_unavailable(refused)
        assert (read.status_code, read.content) == (200, made.content)
        check_recovers(client, kept=1, refused="refused")


def test_a_short_lock_is_waited_for(client: httpx.Client, url: str) -> None:
    with ThreadPoolExecutor() as pool:
        with locked(url):
            waiting = pool.submit(ask, client)
            sleep(0.5)
            has_waited = not waiting.done()
        answered = waiting.result()

    assert has_waited
    assert answered.status_code == 201

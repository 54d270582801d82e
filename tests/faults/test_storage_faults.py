"""Full, read-only, locked: 503 with Retry-After, nothing half kept, and recovery by itself."""

import resource
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from time import sleep
from typing import Any

import httpx
import psycopg
import pytest

from exchange_api.cli import main
from exchange_api.storage.migrate import migrate
from exchange_api.storage.sqlite import SqliteConnection, connect
from exchange_api.storage.units import Connection
from tests.exchange_api.bay_desk import ask
from tests.exchange_api.postgresql_server import Server
from tests.exchange_api.running import Running, running
from tests.exchange_api.test_databases import using
from tests.faults.answers import check_recovers, check_unavailable, until_unavailable
from tests.faults.campaign import made_key
from tests.faults.conftest import SmallDisk
from tests.faults.serving import serving
from tests.faults.wholeness import half_written


@pytest.fixture
def on_small_disk(
    request: pytest.FixtureRequest, backend: str, small_disk: SmallDisk
) -> Iterator[str]:
    """The URL of a database that lies on the small disk."""
    if backend == "sqlite":
        yield f"sqlite:///{small_disk.folder}/exchange.db"
        return
    server: Server = request.getfixturevalue("postgresql")
    with server.tablespace(small_disk.folder) as url:
        yield url


def test_a_full_disk_is_unavailable_until_there_is_space(
    on_small_disk: str, small_disk: SmallDisk
) -> None:
    with running(on_small_disk, disk_reserve=0) as app, app.client_of("Full", timeout=30) as client:
        assert ask(client).status_code == 201
        small_disk.fill()
        kept, refused = until_unavailable(client)
        read = client.get("/v1/plans")
        small_disk.free()
        check_recovers(client, kept=1 + kept, refused=refused)

    assert read.status_code == 200
    assert using(on_small_disk, lambda database: database.read(half_written)) == []


def test_a_file_that_may_not_grow_is_unavailable_until_it_may(tmp_path: Path) -> None:
    """As on a full disk, but for one process, which anyone may set up."""
    database = f"sqlite:///{tmp_path}/exchange.db"
    key = made_key(database)
    with serving(database, tmp_path) as served, speaking(served.url, key) as client:
        assert ask(client).status_code == 201
        limit = (tmp_path / "exchange.db-wal").stat().st_size + 200_000
        resource.prlimit(served.pid, resource.RLIMIT_FSIZE, (limit, resource.RLIM_INFINITY))
        kept, refused = until_unavailable(client)
        resource.prlimit(served.pid, resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY,) * 2)
        check_recovers(client, kept=1 + kept, refused=refused)

    assert using(database, lambda database: database.read(half_written)) == []


@contextmanager
def speaking(url: str, key: str) -> Iterator[httpx.Client]:
    headers = {"Authorization": f"Bearer {key}"}
    with httpx.Client(base_url=url, headers=headers, timeout=30) as client:
        yield client


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


def test_a_read_only_disk_is_told_at_the_start(
    small_disk: SmallDisk, capsys: pytest.CaptureFixture[str]
) -> None:
    database = f"sqlite:///{small_disk.folder}/exchange.db"
    migrate(database)
    small_disk.read_only(yes=True)
    told = ["keys", "create", "--workshop", "X", "--scopes", "*", "--database", database]
    code = main(told, environ={})
    small_disk.read_only(yes=False)

    assert code == 1
    assert "The database does not answer: " in capsys.readouterr().err
    assert main(told, environ={}) == 0


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

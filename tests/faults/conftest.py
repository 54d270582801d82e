"""A service of its own for each fault, on each kind of database."""

import io
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import httpx
import pytest
from msgspec import Struct

from tests.exchange_api.postgresql_server import Server, server
from tests.exchange_api.running import Running, running
from tests.faults.campaign import made_key
from tests.faults.disks import MEANS, Disk, FileQuota, SmallDisk, mounted
from tests.faults.serving import serving, speaking


@pytest.fixture
def log() -> io.BytesIO:
    """What the service says of itself."""
    return io.BytesIO()


@pytest.fixture
def service(url: str, log: io.BytesIO) -> Iterator[Running]:
    with running(url, log=log) as app:
        yield app


@pytest.fixture
def client(service: Running) -> Iterator[httpx.Client]:
    with service.client_of("Faults", timeout=30) as client:
        yield client


class OnDisk(Struct, frozen=True):
    """A client of a service whose database lies on a disk that can be full."""

    database: str
    client: httpx.Client
    disk: Disk


@pytest.fixture(params=MEANS)
def on_disk(request: pytest.FixtureRequest, backend: str, tmp_path: Path) -> Iterator[OnDisk]:
    with ExitStack() as stack:
        small = stack.enter_context(mounted()) if request.param == "mount" else None
        postgresql = None
        if backend == "postgresql":  # its log of changes in files that are smaller than the quota
            postgresql = stack.enter_context(server(None, "--wal-segsize=1"))
        folder = small.folder if small else tmp_path
        database = stack.enter_context(_database(postgresql, small, folder))
        key = made_key(database)
        served = stack.enter_context(serving(database, tmp_path, EXCHANGE_API_DISK_RESERVE="0"))
        quota = FileQuota(postgresql.processes if postgresql else lambda: [served.pid])
        client = stack.enter_context(speaking(served, key))
        yield OnDisk(database, client, small or quota)


@contextmanager
def _database(postgresql: Server | None, small: SmallDisk | None, folder: Path) -> Iterator[str]:
    if postgresql is None:
        yield f"sqlite:///{folder}/exchange.db"
    elif small is None:
        yield postgresql.database()
    else:
        with postgresql.tablespace(folder) as database:
            yield database

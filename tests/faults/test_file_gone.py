"""An SQLite file moves away under the service and comes back: no 2xx for what nobody would find."""

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from time import sleep

import httpx
import pytest

from tests.exchange_api.bay_desk import ask
from tests.exchange_api.running import Running, running
from tests.exchange_api.test_databases import using
from tests.faults.answers import check_recovers, check_unavailable
from tests.faults.wholeness import half_written

GONE_S = 2.0


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "data"
    made.mkdir()
    return made


@pytest.fixture
def service(folder: Path) -> Iterator[Running]:
    with running(folder) as app:
        yield app


@contextmanager
def without_file(folder: Path) -> Iterator[None]:
    file = folder / "exchange.db"
    file.rename(folder / "aside")
    yield
    (folder / "aside").rename(file)


@contextmanager
def without_folder(folder: Path) -> Iterator[None]:
    """As when the file system that it lies on is taken off."""
    folder.rename(folder.with_name("aside"))
    yield
    folder.with_name("aside").rename(folder)


@contextmanager
def with_another(folder: Path) -> Iterator[None]:
    with without_file(folder):
        (folder / "exchange.db").write_bytes(b"")
        yield
        (folder / "exchange.db").unlink()


@pytest.mark.parametrize("gone", [without_file, without_folder, with_another])
def test_while_the_file_is_gone_the_answer_is_503_and_then_as_before(
    client: httpx.Client, folder: Path, gone: Callable[[Path], AbstractContextManager[None]]
) -> None:
    made = ask(client)
    with gone(folder):
        refused = [ask(client, key="refused"), client.get(made.headers["location"])]
        ready, live = client.get("/health/ready"), client.get("/health/live")
        sleep(GONE_S)
        refused.append(ask(client, key="refused"))

    for answered in [*refused, ready]:
        check_unavailable(answered)
    assert live.status_code == 200
    check_recovers(client, kept=1, refused="refused")
    assert client.get(made.headers["location"]).content == made.content
    url = f"sqlite:///{folder}/exchange.db"
    assert using(url, lambda database: database.read(half_written)) == []

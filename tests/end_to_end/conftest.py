"""A service in a process of its own, with the invented catalogue and keys of three workshops."""

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest
from msgspec import Struct

from exchange_api.demo.run import CATALOGUE
from exchange_api.demo.service import prepare, running
from exchange_api.outside import real_outside

EXAMPLES = Path(__file__).parents[2] / "examples"
WORKSHOPS = {"Invented workshop Alder": "north", "Invented workshop Birch": "south",
             "Invented data team": ""}  # fmt: skip


class Served(Struct, frozen=True, kw_only=True):
    """The address of a running service and the keys of its workshops."""

    url: str
    keys: dict[str, str]

    @contextmanager
    def client(self, workshop: str) -> Iterator[httpx.Client]:
        headers = {"Authorization": f"Bearer {self.keys[workshop]}"}
        with httpx.Client(base_url=self.url, headers=headers, timeout=30) as client:
            yield client

    def run(self, example: str, workshop: str, *arguments: str) -> str:
        """What an example prints when it is run as its reader would run it."""
        command = [sys.executable, str(EXAMPLES / example), self.url, self.keys[workshop]]
        done = subprocess.run(  # noqa: S603 -- our own programs
            [*command, *arguments], capture_output=True, text=True, timeout=60, check=False
        )
        assert done.returncode == 0, done.stderr
        return done.stdout


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    prepared = prepare(tmp_path_factory.mktemp("served"), CATALOGUE, WORKSHOPS, real_outside())
    with running(prepared.database) as address:
        yield Served(url=address, keys=prepared.keys)


@pytest.fixture
def dealer(served: Served) -> Iterator[httpx.Client]:
    with served.client("Invented workshop Alder") as client:
        yield client


@pytest.fixture
def neighbour(served: Served) -> Iterator[httpx.Client]:
    with served.client("Invented workshop Birch") as client:
        yield client


@pytest.fixture
def data_team(served: Served) -> Iterator[httpx.Client]:
    with served.client("Invented data team") as client:
        yield client

"""What all tests share: a profile for properties, and databases.

What asks for `url` or `app` runs once on each kind of database.
"""

from collections.abc import Callable, Iterator

import pytest
from hypothesis import settings

from tests.exchange_api.postgresql_server import Server, server

# the same examples every time, and no stop-watch: a busy machine must not fail a property
settings.register_profile("project", deadline=None, derandomize=True)
settings.load_profile("project")


@pytest.fixture(scope="session")
def postgresql() -> Iterator[Server]:
    """A PostgreSQL server that ends with the tests."""
    with server() as running:
        yield running


@pytest.fixture(scope="session", params=["sqlite", "postgresql"])
def backend(request: pytest.FixtureRequest) -> str:
    """The kind of database that a test runs on."""
    return str(request.param)


@pytest.fixture(scope="session")
def new_url(
    backend: str, request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Callable[[], str]:
    """Makes databases of that kind, empty and without tables; gives their URLs."""
    if backend == "postgresql":
        made: Server = request.getfixturevalue("postgresql")
        return made.database
    return lambda: f"sqlite:///{tmp_path_factory.mktemp('database')}/exchange.db"


@pytest.fixture
def url(new_url: Callable[[], str]) -> str:
    """The URL of an empty database."""
    return new_url()

"""One running service a database for all tests; each test has workshops of its own in it."""

from collections.abc import Callable, Iterator
from uuid import uuid4

import httpx
import pytest

from tests.exchange_api.running import Running, running


@pytest.fixture(scope="session")
def app(new_url: Callable[[], str]) -> Iterator[Running]:
    """The service on a real socket, once on each kind of database."""
    with running(new_url()) as service:
        yield service


@pytest.fixture
def client(app: Running) -> Iterator[httpx.Client]:
    """A client of a new workshop, with every scope."""
    with app.client_of(f"Workshop {uuid4()}") as client:
        yield client


@pytest.fixture
def other_client(app: Running) -> Iterator[httpx.Client]:
    """A client of another new workshop, with every scope."""
    with app.client_of(f"Workshop {uuid4()}") as client:
        yield client


@pytest.fixture
def administrator(app: Running) -> Iterator[httpx.Client]:
    """A client of the installation's administrator."""
    with app.client_of("Administration", scopes="administrator") as client:
        yield client


@pytest.fixture
def stranger(app: Running) -> Iterator[httpx.Client]:
    """A client without a key."""
    with app.client() as client:
        yield client

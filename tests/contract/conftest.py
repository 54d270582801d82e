"""One running service for the whole contract, with a key of a workshop of its own."""

import json
from collections.abc import Iterator
from typing import Any

import httpx
import pytest

from exchange_api.app import contract_bytes
from tests.exchange_api.running import Running, running


@pytest.fixture(scope="session")
def app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """The service on a real socket."""
    with running(tmp_path_factory.mktemp("contract")) as service:
        yield service


@pytest.fixture(scope="session")
def client(app: Running) -> Iterator[httpx.Client]:
    """A client with every scope."""
    with app.client_of("Contract") as client:
        yield client


@pytest.fixture(scope="session")
def stranger(app: Running) -> Iterator[httpx.Client]:
    """A client without a key."""
    with app.client() as client:
        yield client


@pytest.fixture(scope="session")
def document() -> dict[str, Any]:
    """The contract, generated."""
    made: dict[str, Any] = json.loads(contract_bytes())
    return made

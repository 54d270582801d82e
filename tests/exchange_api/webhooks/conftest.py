"""A receiver for each test, and a service by a clock that is set by hand."""

from collections.abc import Iterator

import pytest
from msgspec.structs import replace

from exchange_api.outside import real_outside
from tests.exchange_api.running import Running, running
from tests.exchange_api.webhooks.asking import Clock
from tests.exchange_api.webhooks.receiver import Receiver, receiver


@pytest.fixture
def office() -> Iterator[Receiver]:
    """A receiver that answers as it is told."""
    with receiver() as told:
        yield told


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def ahead(url: str, clock: Clock) -> Iterator[Running]:
    """A service by that clock."""
    with running(url, outside=replace(real_outside(), now=clock.now)) as app:
        yield app

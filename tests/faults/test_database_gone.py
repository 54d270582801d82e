"""PostgreSQL stops under the service and comes back: nothing acknowledged is lost, no restart."""

import io
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from time import monotonic, sleep

import httpx
import pytest

from tests.exchange_api.bay_desk import ask
from tests.exchange_api.postgresql_server import Server, server
from tests.exchange_api.running import Running, running
from tests.faults.answers import check_recovers, check_unavailable

GONE_S = 2.0
LONG_GONE_S = 30.0


@pytest.fixture(scope="module")
def crashing() -> Iterator[Server]:
    """A server that the tests may stop, since nobody else uses it."""
    with server() as running:
        yield running


@pytest.fixture
def service(crashing: Server, log: io.BytesIO) -> Iterator[Running]:
    with running(crashing.database(), log=log) as app:
        yield app


def test_while_it_is_gone_the_answer_is_503_and_soon(
    client: httpx.Client, crashing: Server
) -> None:
    made = ask(client)
    crashing.stop("immediate")
    began = monotonic()
    refused = [ask(client, key="refused"), client.get(made.headers["location"])]
    ready, live = client.get("/health/ready"), client.get("/health/live")
    took = monotonic() - began
    sleep(GONE_S)
    crashing.start()

    for answered in [*refused, ready]:
        check_unavailable(answered)
    assert live.status_code == 200
    assert took < 2
    check_recovers(client, kept=1, refused="refused")
    assert client.get(made.headers["location"]).content == made.content


def test_half_a_minute_without_it_ends_by_itself(
    client: httpx.Client, crashing: Server, log: io.BytesIO
) -> None:
    """All the while every answer is 503 and soon, and nothing that was refused is kept."""
    made = ask(client)
    crashing.stop("immediate")
    end, refused, asked = monotonic() + LONG_GONE_S, list[httpx.Response](), 0
    while monotonic() < end:
        asked += 1
        refused += [
            ask(client, key=f"refused-{asked}"),
            client.get(made.headers["location"]),
            client.get("/health/ready"),
        ]
        assert client.get("/health/live").status_code == 200
        sleep(0.25)
    crashing.start()

    assert asked > LONG_GONE_S  # it never hung
    for answered in refused:
        check_unavailable(answered)
        assert answered.elapsed.total_seconds() < 5
    check_recovers(client, kept=1, refused="refused-1")
    assert client.get(made.headers["location"]).content == made.content
    assert ask(client).status_code == 201
    assert {row["operation"] for row in client.get("/v1/audit-log").json()["items"]} == {
        "createPlan"
    }
    assert log.getvalue().count(b'"event":"upkeep-failed"') >= 2  # it tried, and went on


@pytest.mark.parametrize("mode", ["immediate", "fast"])
def test_what_was_acknowledged_under_load_outlives_the_crash(
    client: httpx.Client, crashing: Server, mode: str
) -> None:
    """`immediate` leaves the files as a crash does; each request is sent until it is answered."""

    def until_kept(number: int) -> tuple[int, httpx.Response]:
        refusals = 0
        while (answered := ask(client, key=f"{mode}-{number}")).status_code != 201:
            check_unavailable(answered)
            refusals += 1
            sleep(0.05)
        return refusals, answered

    with ThreadPoolExecutor(8) as pool:
        waiting = [pool.submit(until_kept, number) for number in range(150)]
        while not any(one.done() for one in waiting):
            sleep(0.01)
        crashing.stop(mode)
        sleep(GONE_S / 4)
        crashing.start()
        outcomes = [one.result() for one in waiting]

    assert sum(refusals for refusals, _ in outcomes) > 0
    for _, answered in outcomes:
        assert client.get(answered.headers["location"]).content == answered.content
    assert len(client.get("/v1/plans", params={"limit": 200}).json()["items"]) == 150


def test_a_crash_between_two_requests_is_not_seen(client: httpx.Client, crashing: Server) -> None:
    first = ask(client)
    crashing.stop("immediate")
    crashing.start()

    assert [client.get(first.headers["location"]).status_code, ask(client).status_code] == [
        200,
        201,
    ]


def test_the_log_says_what_failed_and_no_secret(
    client: httpx.Client, crashing: Server, log: io.BytesIO
) -> None:
    crashing.stop("immediate")
    check_unavailable(ask(client))
    crashing.start()

    told = log.getvalue().decode()
    assert '"event":"failure"' in told
    assert "CannotConnect" in told or "StorageUnavailable" in told
    assert client.headers["authorization"].removeprefix("Bearer ") not in told

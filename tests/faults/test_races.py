"""Many at once, in one process and across two over one database: one plan, one close, one key."""

from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from pathlib import Path

import httpx
import pytest

from tests.exchange_api.bay_desk import ask, items, outcomes, plans_kept, send, started, worked
from tests.exchange_api.test_databases import using
from tests.faults.campaign import made_key
from tests.faults.serving import Served, serving
from tests.faults.wholeness import half_written


@pytest.fixture
def clients(url: str, tmp_path: Path) -> Iterator[list[httpx.Client]]:
    """Clients of one workshop, one to each of two processes over the same database."""
    key = made_key(url)
    with ExitStack() as stack:
        served = [stack.enter_context(serving(url, tmp_path)) for _ in range(2)]
        headers = {"Authorization": f"Bearer {key}"}
        yield [
            stack.enter_context(httpx.Client(base_url=one.url, headers=headers, timeout=60))
            for one in served
        ]
        assert [one.failures() for one in served] == [[], []]
    assert using(url, lambda database: database.read(half_written)) == []


def test_sixty_four_posts_with_one_key_make_one_plan(client: httpx.Client) -> None:
    with ThreadPoolExecutor(64) as pool:
        answers = list(pool.map(lambda _: ask(client, key="one"), range(64)))

    assert {answered.status_code for answered in answers} == {201}
    assert len({(answered.content, answered.headers["etag"]) for answered in answers}) == 1
    assert plans_kept(client) == 1


def test_sixty_four_posts_over_two_processes_make_one_plan(clients: list[httpx.Client]) -> None:
    for key in ("first", "second", "third"):
        with ThreadPoolExecutor(64) as pool:
            answers = list(pool.map(lambda n, key=key: ask(clients[n % 2], key=key), range(64)))

        assert {answered.status_code for answered in answers} == {201}
        assert len({(answered.content, answered.headers["etag"]) for answered in answers}) == 1
    assert [plans_kept(client) for client in clients] == [3, 3]


def test_of_many_requests_under_one_key_one_wins(clients: list[httpx.Client]) -> None:
    def post(number: int) -> httpx.Response:
        return ask(clients[number % 2], key="one", vehicle={"reference": f"CAR-{number % 4}"})

    with ThreadPoolExecutor(32) as pool:
        answers = list(pool.map(post, range(32)))

    statuses = Counter(answered.status_code for answered in answers)
    assert statuses == {201: 8, 422: 24}
    assert len({answered.content for answered in answers if answered.status_code == 201}) == 1
    assert plans_kept(clients[0]) == 1


def test_of_two_closes_one_wins(clients: list[httpx.Client]) -> None:
    for _ in range(5):
        path, _ = worked(clients[0])
        tag = clients[0].get(path).headers["etag"]

        def close(number: int, path: str = path, tag: str = tag) -> httpx.Response:
            return clients[number % 2].post(f"{path}/close", headers={"If-Match": tag})

        with ThreadPoolExecutor(8) as pool:
            answers = list(pool.map(close, range(8)))

        won = [answered for answered in answers if answered.status_code == 200]
        assert len(won) == 1
        assert {answered.status_code for answered in answers} == {200, 412}
        assert clients[1].get(path).headers["etag"] == won[0].headers["etag"]


def test_a_job_that_is_posted_twice_at_once_is_kept_once(clients: list[httpx.Client]) -> None:
    path, bay = started(clients[0])
    sent = items(bay.whole_job().events)

    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(lambda n: outcomes(send(clients[n % 2], path, sent)), range(8)))

    stored = Counter(outcome for told in answers for outcome in told)
    assert stored == {"stored": len(sent), "already_stored": 7 * len(sent)}
    assert len(clients[1].get(f"{path}/events").json()["items"]) == len(sent)


def test_processes_that_start_together_make_one_administrator(url: str, tmp_path: Path) -> None:
    """The database is new: they also make its tables."""
    served = [Served(url, tmp_path / f"log-{number}") for number in range(3)]
    try:
        for one in served:
            one.wait_until_ready()
    finally:
        for one in served:
            one.kill()

    told = "".join(one.log.read_text() for one in served)
    assert told.count("administrator's API key") == 1

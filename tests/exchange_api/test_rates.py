"""Rate limits: per key and address, over processes, at a stated bound."""

import asyncio
from collections.abc import Awaitable, Callable
from contextlib import AsyncExitStack
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
import pytest

from exchange_api import rates
from exchange_api.outside import Outside, real_outside
from exchange_api.rates import SHARES, WINDOW_S, Limiter, address_of
from exchange_api.storage.database import database_at
from exchange_api.storage.migrate import migrate
from exchange_api.storage.units import Database, StorageUnavailable, T, Unit
from tests.exchange_api.bay_desk import problem
from tests.exchange_api.running import running

LIMIT = 200
SHARE = LIMIT // SHARES


class Clock:
    """A clock that stands until it is told."""

    def __init__(self) -> None:
        self.now = datetime(2026, 3, 1, 12, 0, 30, tzinfo=UTC)

    def outside(self) -> Outside:
        real = real_outside()
        return Outside(now=lambda: self.now, new_id=real.new_id, new_secret=real.new_secret)


class Away:
    """A database that does not answer."""

    async def open(self) -> None:
        """Nothing to open."""

    async def close(self) -> None:
        """Nothing to close."""

    async def write(self, _unit: Unit[T], /) -> T:
        raise StorageUnavailable("away")

    async def read(self, _unit: Unit[T], /) -> T:
        raise StorageUnavailable("away")


def with_limiters(
    url: str, count: int, work: Callable[[list[Limiter], Clock], Awaitable[T]], limit: int = LIMIT
) -> T:
    """Work with the limiters of so many processes, each with its own connections."""

    async def run() -> T:
        clock, databases = Clock(), [database_at(url) for _ in range(count)]
        async with AsyncExitStack() as stack:
            for database in databases:
                await database.open()
                stack.push_async_callback(database.close)
            made = [
                Limiter("key", limit, database=one, outside=clock.outside()) for one in databases
            ]
            return await work(made, clock)

    migrate(url)
    return asyncio.run(run())


async def admitted(limiter: Limiter, times: int, name: str = "k") -> int:
    """How many of so many requests at once pass."""
    standings = await asyncio.gather(*(limiter.admit(name) for _ in range(times)))
    return sum(standing is not None and standing.is_admitted for standing in standings)


def test_one_process_keeps_the_limit_exactly(url: str) -> None:
    async def work(made: list[Limiter], _clock: Clock) -> int:
        return await admitted(made[0], LIMIT * 3)

    assert with_limiters(url, 1, work) == LIMIT


@pytest.mark.parametrize("processes", [2, 4])
def test_processes_together_keep_the_stated_bound(url: str, processes: int) -> None:
    async def work(made: list[Limiter], _clock: Clock) -> int:
        return sum(await asyncio.gather(*(admitted(one, LIMIT) for one in made)))

    passed = with_limiters(url, processes, work)

    slack = (processes - 1) * SHARE
    assert LIMIT - slack <= passed <= LIMIT + slack


def test_what_one_process_has_used_is_gone_for_the_other(url: str) -> None:
    async def work(made: list[Limiter], _clock: Clock) -> tuple[int, int]:
        return await admitted(made[0], LIMIT), await admitted(made[1], LIMIT)

    first, second = with_limiters(url, 2, work)

    assert first == LIMIT
    assert second <= SHARE


def test_the_next_window_begins_anew_and_old_ones_are_forgotten(url: str) -> None:
    async def work(made: list[Limiter], clock: Clock) -> tuple[int, int]:
        await admitted(made[0], LIMIT * 2)
        clock.now += timedelta(seconds=29)
        still = await admitted(made[0], 1)
        clock.now += timedelta(seconds=1)
        return still, await admitted(made[0], LIMIT * 2)

    assert with_limiters(url, 1, work) == (0, LIMIT)


def test_callers_do_not_use_up_one_another(url: str) -> None:
    async def work(made: list[Limiter], _clock: Clock) -> int:
        await admitted(made[0], LIMIT * 2, "greedy")
        return await admitted(made[0], LIMIT, "modest")

    assert with_limiters(url, 1, work) == LIMIT


def test_without_the_database_each_process_goes_by_the_limit_alone() -> None:
    away: Database = Away()
    limiter = Limiter("key", LIMIT, database=away, outside=Clock().outside())

    assert asyncio.run(admitted(limiter, LIMIT * 3)) == LIMIT


def test_memory_is_bounded_whatever_number_of_callers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rates, "MOST_SUBJECTS", 100)
    limiter = Limiter("address", LIMIT, database=Away(), outside=Clock().outside())

    async def many() -> int:
        for number in range(1000):
            await limiter.admit(str(number))
        return len(limiter._subjects)

    assert asyncio.run(many()) == 101


def test_most_requests_cost_no_write(url: str) -> None:
    writes = 0

    async def work(made: list[Limiter], _clock: Clock) -> None:
        nonlocal writes
        real = made[0]._database.write

        async def counted(unit: Unit[T]) -> T:
            nonlocal writes
            writes += 1
            return await real(unit)

        made[0]._database.write = counted  # type: ignore[method-assign]  # counting what passes
        await admitted(made[0], LIMIT)

    with_limiters(url, 1, work)

    assert writes == SHARES - 1


def test_an_ipv6_caller_is_a_network_of_64_bits() -> None:
    assert address_of(("2001:db8::1", 1)) == address_of(("2001:db8::ffff:0:0:2", 9))
    assert address_of(("2001:db8::1", 1)) != address_of(("2001:db8:0:1::1", 1))


def test_who_asks_too_often_is_told_when_to_come_back(tmp_path: Path) -> None:
    clock = Clock()
    with (
        running(tmp_path, outside=clock.outside(), key_rate=3) as app,
        app.client_of("A") as client,
        app.client_of("A") as colleague,
    ):
        passed = [client.get("/v1/me") for _ in range(3)]
        refused = client.get("/v1/me")
        other = colleague.get("/v1/me")
        clock.now += timedelta(seconds=WINDOW_S)
        later = client.get("/v1/me")

    assert [answer.status_code for answer in passed] == [200] * 3
    assert [answer.headers["ratelimit"] for answer in passed] == [
        '"key";r=2;t=30', '"key";r=1;t=30', '"key";r=0;t=30'
    ]  # fmt: skip
    assert passed[0].headers["ratelimit-policy"] == '"key";q=3;w=60'
    assert problem(refused) == (429, "too-many-requests", {"Authorization"})
    assert refused.json()["errors"][0]["remedy"] == "Wait 30 s."
    assert refused.headers["retry-after"] == "30"
    assert refused.headers["ratelimit"] == '"key";r=0;t=30'
    assert (other.status_code, later.status_code) == (200, 200)


def test_an_address_is_limited_before_its_key_is_looked_at(tmp_path: Path) -> None:
    with (
        running(tmp_path, outside=Clock().outside(), address_rate=2) as app,
        app.client() as client,
    ):
        guesses = [client.get("/v1/me") for _ in range(3)]
        health, samples = client.get("/health/live"), client.get("/metrics").text

    assert [guess.status_code for guess in guesses] == [401, 401, 429]
    assert problem(guesses[2]) == (429, "too-many-requests", {"*"})
    assert guesses[2].headers["retry-after"] == "30"
    assert guesses[0].headers["ratelimit-policy"] == '"address";q=2;w=60'
    assert health.status_code == 200
    assert 'exchange_api_requests_limited_total{by="address"} 1' in samples


def test_two_services_over_one_database_share_the_limit(url: str) -> None:
    with running(url, key_rate=40) as one, running(url, key_rate=40) as two:
        key = one.key(workshop="Shared")
        with one.client(key=key) as first, two.client(key=key) as second:
            got: list[httpx.Response] = []
            for _ in range(60):
                got += [first.get("/v1/me"), second.get("/v1/me")]

    windows = 1 + len({answer.headers["date"][:-7] for answer in got})  # a minute may turn over
    passed = sum(answer.status_code == 200 for answer in got)
    assert 38 <= passed <= 42 * windows

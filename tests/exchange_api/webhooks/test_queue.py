"""The queue: with the change or not at all, one sender at a time, nothing lost."""

import asyncio
from datetime import timedelta
from typing import Any

import pytest
from msgspec.structs import replace

from exchange_api.outside import as_stamp
from exchange_api.storage.units import Connection
from exchange_api.webhook_claims import Attempt, Claim, claim, settle
from exchange_api.webhook_client import Told
from exchange_api.webhook_queue import announce
from exchange_api.webhook_rows import change_endpoint, find_endpoint
from tests.exchange_api.webhooks.desk import Desk, at_desk

URL = "http://127.0.0.1:9/nobody"
MINUTE = timedelta(minutes=1)


async def take(desk: Desk, lease: str, endpoint_id: str = "endpoint-1") -> Claim | None:
    now = desk.running.outside.now()
    return await desk.write(
        claim(endpoint_id, lease=lease, now=as_stamp(now), until=as_stamp(now + MINUTE))
    )


def attempt(desk: Desk, told: Told | None = None) -> Attempt:
    now = desk.running.outside.now()
    return Attempt(
        at=as_stamp(now),
        ended_at=now,
        duration_ms=7,
        told=told or Told(outcome="delivered", status=200),
        next_at=as_stamp(now + MINUTE),
    )


def test_news_are_queued_for_whoever_asks(url: str) -> None:
    async def work(desk: Desk) -> list[dict[str, Any]]:
        await desk.endpoint(URL, number=1)
        await desk.endpoint(URL, number=2, events=("job.closed",))
        await desk.endpoint(URL, number=3, enabled=False)
        await desk.endpoint(URL, number=4, events=("job.closed", "plan.created"))
        await desk.tell()
        return await desk.kept("deliveries")

    rows = at_desk(url, work)

    assert [(row["endpoint_id"], row["sequence"]) for row in rows] == [
        ("endpoint-1", 1), ("endpoint-4", 1)
    ]  # fmt: skip
    assert len({row["delivery_id"] for row in rows}) == 1


def test_a_change_that_is_undone_is_not_told(url: str) -> None:
    async def work(desk: Desk) -> tuple[list[Any], int]:
        await desk.endpoint(URL)
        news = desk.news()

        def undone(connection: Connection) -> None:
            announce(connection, news)
            raise LookupError("the change's own failure")

        with pytest.raises(LookupError):
            await desk.write(undone)
        return await desk.kept("deliveries"), (await desk.one("endpoints"))["sequence"]

    assert at_desk(url, work) == ([], 0)


def test_changes_at_the_same_time_are_counted_without_gap_or_double(url: str) -> None:
    async def work(desk: Desk) -> list[int]:
        await desk.endpoint(URL)
        await asyncio.gather(*(desk.tell(number) for number in range(40)))
        return sorted(row["sequence"] for row in await desk.kept("deliveries"))

    assert at_desk(url, work) == list(range(1, 41))


def test_one_delivery_is_taken_by_one(url: str) -> None:
    async def work(desk: Desk) -> list[Claim | None]:
        await desk.endpoint(URL)
        await desk.tell()
        return await asyncio.gather(*(take(desk, f"process {number}") for number in range(8)))

    taken = at_desk(url, work)

    assert len([one for one in taken if one is not None]) == 1


def test_a_lease_that_has_ended_is_taken_over_and_the_first_taker_settles_nothing(url: str) -> None:
    async def work(desk: Desk) -> tuple[Any, ...]:
        await desk.endpoint(URL)
        await desk.tell()
        first = await take(desk, "first")
        desk.forward(MINUTE - timedelta(microseconds=1))
        early = await take(desk, "early")
        desk.forward(timedelta(microseconds=1))
        second = await take(desk, "second")
        assert first is not None
        assert second is not None
        await desk.write(settle(first, attempt(desk)))
        still = await desk.one("deliveries")
        await desk.write(settle(second, attempt(desk)))
        return early, still["state"], (await desk.one("deliveries"))["state"]

    assert at_desk(url, work) == (None, "waiting", "delivered")


def test_what_a_dead_process_was_sending_is_held_while_the_endpoint_is_disabled(url: str) -> None:
    async def work(desk: Desk) -> list[Any]:
        endpoint_id = await desk.endpoint(URL)
        await desk.tell()
        await take(desk, "of one that dies")
        await desk.write(lambda connection: _enable(connection, endpoint_id, enabled=False))
        states = [(await desk.one("deliveries"))["state"]]
        desk.forward(MINUTE)
        assert await take(desk, "of another") is None
        states.append((await desk.one("deliveries"))["state"])
        await desk.write(lambda connection: _enable(connection, endpoint_id, enabled=True))
        return [*states, (await take(desk, "of another")) is not None]

    assert at_desk(url, work) == ["waiting", "held", True]


@pytest.mark.parametrize(
    ("told", "state"),
    [
        (Told(outcome="delivered", status=200), "delivered"),
        (Told(outcome="no_answer"), "held"),
    ],
)
def test_what_ends_after_disabling_is_kept_as_it_ended(url: str, told: Told, state: str) -> None:
    async def work(desk: Desk) -> str:
        endpoint_id = await desk.endpoint(URL)
        await desk.tell()
        taken = await take(desk, "lease")
        assert taken is not None
        await desk.write(lambda connection: _enable(connection, endpoint_id, enabled=False))
        await desk.write(settle(taken, attempt(desk, told)))
        return str((await desk.one("deliveries"))["state"])

    assert at_desk(url, work) == state


def _enable(connection: Connection, endpoint_id: str, *, enabled: bool) -> None:
    row = find_endpoint(connection, endpoint_id)
    assert row is not None
    change_endpoint(connection, replace(row, enabled=enabled, version=row.version + 1))

"""What the queue sends to a real receiver, and what it makes of the answers."""

from collections.abc import Awaitable, Callable
from datetime import UTC, datetime, timedelta
from typing import Any

from standardwebhooks.webhooks import Webhook

from exchange_api.webhook_forgetting import forget_old_deliveries
from tests.exchange_api.webhooks.desk import SECRET, Desk, at_desk
from tests.exchange_api.webhooks.receiver import Receiver, Reply, receiver

SPLIT_S = (5, 300, 1800, 7200, 18_000, 36_000, 50_400, 72_000, 86_400)


def failing(status: int = 500) -> Reply:
    return Reply(status=status, body=b"out of order, invented")


def test_a_message_is_signed_and_thin(url: str, office: Receiver) -> None:
    async def work(desk: Desk) -> tuple[str, dict[str, Any], dict[str, Any]]:
        await desk.endpoint(office.url)
        message_id = await desk.tell(7)
        await desk.send()
        return message_id, await desk.one("deliveries"), await desk.one("attempts")

    message_id, delivery, attempt = at_desk(url, work)
    (came,) = office.received

    assert came.headers["webhook-id"] == message_id
    assert came.headers["webhook-timestamp"] == "1772438400"
    assert came.headers["content-type"] == "application/json"
    assert came.json == {
        "type": "plan.created",
        "timestamp": "2026-03-02T08:00:00.000000Z",
        "sequence": 1,
        "data": {"plan_id": "plan-7"},
    }
    assert (delivery["state"], delivery["next_at"], delivery["lease"]) == ("delivered", None, None)
    assert (attempt["outcome"], attempt["status"], attempt["excerpt"]) == ("delivered", 200, "")
    assert came.headers["webhook-signature"] == Webhook(SECRET).sign(
        message_id, _moment(came.headers["webhook-timestamp"]), came.body.decode()
    )


def _moment(seconds: str) -> datetime:
    return datetime.fromtimestamp(int(seconds), UTC)


def test_order_is_told_by_sequence_when_one_is_late(url: str, office: Receiver) -> None:
    async def work(desk: Desk) -> None:
        await desk.endpoint(office.url)
        office.replies = [failing()]
        await desk.tell(1)
        await desk.send()
        desk.forward(timedelta(seconds=5) - timedelta(microseconds=1))
        await desk.tell(2)
        await desk.tell(3)
        await desk.send()
        desk.forward(timedelta(microseconds=1))
        await desk.send()

    at_desk(url, work)
    told = [(came.json["sequence"], came.json["data"]["plan_id"]) for came in office.received]

    assert told[0] == (1, "plan-1")
    assert sorted(told[1:]) == [(1, "plan-1"), (2, "plan-2"), (3, "plan-3")]
    assert len({came.headers["webhook-id"] for came in office.received}) == 3


def until_disabled(work: Callable[[Desk], Awaitable[None]]) -> Callable[[Desk], Awaitable[Any]]:
    async def run(desk: Desk) -> Any:
        await work(desk)
        return (
            await desk.one("endpoints"), await desk.kept("deliveries"), await desk.kept("attempts")
        )  # fmt: skip

    return run


def test_a_receiver_that_fails_for_days_is_tried_by_the_schedule_and_then_disabled(
    url: str, office: Receiver
) -> None:
    office.usual = failing()

    async def work(desk: Desk) -> None:
        await desk.endpoint(office.url)
        await desk.tell()
        await desk.send()
        for wait_s in SPLIT_S:
            desk.forward(timedelta(seconds=wait_s) - timedelta(microseconds=1))
            await desk.send()  # not yet
            desk.forward(timedelta(microseconds=1))
            await desk.send()
        desk.forward(timedelta(days=30))
        await desk.send()

    endpoint, (delivery,), attempts = at_desk(url, until_disabled(work))

    assert len(office.received) == len(attempts) == 10
    assert [one["number"] for one in attempts] == list(range(1, 11))
    assert {one["excerpt"] for one in attempts} == {"out of order, invented"}
    assert (endpoint["enabled"], endpoint["disabled_reason"]) == (0, "failing")
    assert delivery["state"] == "failed"
    assert len({came.headers["webhook-id"] for came in office.received}) == 1
    assert len({came.headers["webhook-timestamp"] for came in office.received}) == 10


def test_one_success_begins_the_days_anew(url: str, office: Receiver) -> None:
    async def work(desk: Desk) -> None:
        await desk.endpoint(office.url)
        for number, reply in enumerate([failing(), Reply(), failing(), failing()]):
            office.usual = reply
            await desk.tell(number)
            await desk.send()
            desk.forward(timedelta(days=2))

    endpoint, _, _ = at_desk(url, until_disabled(work))

    assert endpoint["enabled"] == 1


def test_410_disables_at_once_and_holds_the_rest(url: str, office: Receiver) -> None:
    office.usual = failing(410)

    async def work(desk: Desk) -> None:
        await desk.endpoint(office.url)
        await desk.tell(1)
        await desk.tell(2)
        await desk.send()
        desk.forward(timedelta(days=1))
        await desk.tell(3)
        await desk.send()

    endpoint, deliveries, _ = at_desk(url, until_disabled(work))

    assert len(office.received) == 1
    assert (endpoint["disabled_reason"], endpoint["version"]) == ("gone", 2)
    assert [one["state"] for one in deliveries] == ["held", "held"]


def test_one_that_hangs_holds_up_itself_alone(url: str, office: Receiver) -> None:
    async def work(desk: Desk) -> tuple[list[str], list[str]]:
        with receiver() as stuck:
            stuck.usual = Reply(hangs=True)
            await desk.endpoint(stuck.url, number=1)
            await desk.endpoint(office.url, number=2)
            desk.sender = desk.another_sender(seconds=0.5)
            for number in range(3):
                await desk.tell(number)
            await desk.send()
            return (
                [str(came.json["sequence"]) for came in stuck.received],
                [row["outcome"] for row in await desk.kept("attempts")],
            )

    came, outcomes = at_desk(url, work)

    assert came == ["1"]  # after a failure it rests
    assert sorted(outcomes) == ["delivered"] * 3 + ["timed_out"]
    assert len(office.received) == 3


def test_two_processes_send_each_message_once(url: str, office: Receiver) -> None:
    async def work(desk: Desk) -> None:
        await desk.endpoint(office.url)
        for number in range(12):
            await desk.tell(number)
        other = desk.another_sender()
        await desk.sender.begin()
        await other.begin()
        await desk.sender.idle()
        await other.idle()

    at_desk(url, work)

    assert sorted(came.json["sequence"] for came in office.received) == list(range(1, 13))


def test_a_receiver_that_asks_for_time_gets_it(url: str, office: Receiver) -> None:
    office.replies = [Reply(status=429, headers={"Retry-After": "60"})]

    async def work(desk: Desk) -> list[int]:
        await desk.endpoint(office.url)
        await desk.tell()
        counts = []
        for wait_s in (0, 59, 1):
            desk.forward(timedelta(seconds=wait_s))
            await desk.send()
            counts.append(len(office.received))
        return counts

    assert at_desk(url, work) == [1, 1, 2]


def test_a_host_that_is_not_listed_any_more_gets_nothing(url: str, office: Receiver) -> None:
    async def work(desk: Desk) -> str:
        await desk.endpoint(office.url.replace("127.0.0.1", "127.0.0.2"))
        await desk.tell()
        await desk.send()
        return str((await desk.one("attempts"))["outcome"])

    assert at_desk(url, work) == "address_not_allowed"
    assert office.received == []


def test_old_deliveries_are_forgotten_unless_they_wait(url: str, office: Receiver) -> None:
    async def work(desk: Desk) -> list[Any]:
        await desk.endpoint(office.url)
        office.replies = [Reply(), failing()]
        for number in (1, 2):
            await desk.tell(number)
            await desk.send()
        running = desk.running
        desk.forward(timedelta(days=30))
        forgotten = [await forget_old_deliveries(running.database, running.outside)]
        desk.forward(timedelta(microseconds=1))
        forgotten.append(await forget_old_deliveries(running.database, running.outside))
        return [*forgotten, [one["sequence"] for one in await desk.kept("deliveries")]]

    assert at_desk(url, work) == [0, 1, [2]]


def test_attempts_are_counted(url: str, office: Receiver) -> None:
    office.replies = [failing()]

    async def work(desk: Desk) -> str:
        await desk.endpoint(office.url)
        await desk.tell()
        await desk.send()
        desk.forward(timedelta(seconds=5))
        await desk.send()
        return desk.running.metrics.text()

    told = at_desk(url, work).splitlines()

    assert 'exchange_api_webhook_attempts_total{outcome="answered"} 1' in told
    assert 'exchange_api_webhook_attempts_total{outcome="delivered"} 1' in told
    assert "exchange_api_webhooks_due 1" in told

"""The log of deliveries over HTTP, sending once more, and secrets that rotate."""

from datetime import UTC, datetime, timedelta
from time import sleep
from uuid import uuid4

import httpx
from standardwebhooks.webhooks import Webhook

from tests.exchange_api.bay_desk import plan_of
from tests.exchange_api.running import Running
from tests.exchange_api.webhooks.asking import Clock, log, make, put, wait_until
from tests.exchange_api.webhooks.receiver import Receiver, Reply


def test_the_log_tells_attempts_and_the_next_one(client: httpx.Client, office: Receiver) -> None:
    office.usual = Reply(
        status=503, body=b"closed for invented lunch", headers={"Retry-After": "9"}
    )
    made = make(client, office.url)
    plan_of(client)
    (told,) = wait_until(client, made["path"], "waiting")
    while not told["attempts"]:
        (told,) = wait_until(client, made["path"], "waiting")
    (attempt,) = told["attempts"]

    assert (attempt["number"], attempt["outcome"], attempt["status"]) == (1, "answered", 503)
    assert attempt["excerpt"] == "closed for invented lunch"
    assert attempt["duration_ms"] >= 0
    wait = datetime.fromisoformat(told["next_attempt_at"]) - datetime.fromisoformat(attempt["at"])
    assert timedelta(seconds=9) <= wait < timedelta(seconds=11)
    assert told["delivery_id"] == office.received[0].headers["webhook-id"]


def test_the_log_comes_in_pages(client: httpx.Client, office: Receiver) -> None:
    made = make(client, office.url)
    for _ in range(5):
        assert client.post(made["path"] + "/test").status_code == 202
    path, seen, params = made["path"] + "/deliveries", [], {"limit": "2"}
    while True:
        page = client.get(path, params=params).json()
        seen += [one["sequence"] for one in page["items"]]
        if page["next_cursor"] is None:
            break
        params = {"limit": "2", "cursor": page["next_cursor"]}
    other = make(client, office.url)["path"]

    assert seen == [5, 4, 3, 2, 1]
    assert client.get(f"{other}/deliveries", params=params).status_code == 400


def test_a_test_is_delivered_whatever_is_asked_for(client: httpx.Client, office: Receiver) -> None:
    made = make(client, office.url, ["job.closed"])
    told = client.post(made["path"] + "/test")
    (came,) = office.wait_for(1)

    assert (told.status_code, told.json()["type"]) == (202, "endpoint.test")
    assert came.json["data"] == {"endpoint_id": made["endpoint"]["endpoint_id"]}


def test_a_message_is_sent_once_more(client: httpx.Client, office: Receiver) -> None:
    made = make(client, office.url)
    plan_of(client)
    (told,) = wait_until(client, made["path"], "delivered")
    again = client.post(f"{made['path']}/deliveries/{told['delivery_id']}/redeliver")
    first, second = office.wait_for(2)
    (told,) = wait_until(client, made["path"], "delivered")

    assert again.status_code == 202
    assert (first.body, first.headers["webhook-id"]) == (second.body, second.headers["webhook-id"])
    assert [one["number"] for one in told["attempts"]] == [1, 2]
    unknown = client.post(f"{made['path']}/deliveries/{uuid4()}/redeliver")
    assert unknown.status_code == 404


def test_what_waits_is_held_while_disabled_and_sent_when_enabled(
    ahead: Running, clock: Clock, office: Receiver
) -> None:
    office.replies = [Reply(status=500)]
    with ahead.client_of("Held") as client:
        made = make(client, office.url)
        plan_of(client)
        office.wait_for(1)
        while not log(client, made["path"])[0]["attempts"]:
            sleep(0.02)
        put(client, made["path"], office.url, enabled=False)
        plan_of(client)  # not told, then or later, but counted
        (held,) = wait_until(client, made["path"], "held")
        refused = [
            client.post(f"{made['path']}/deliveries/{held['delivery_id']}/redeliver"),
            client.post(made["path"] + "/test"),
        ]
        put(client, made["path"], office.url)
        clock.ahead += timedelta(seconds=5)  # so long it rests after a failure
        (told,) = wait_until(client, made["path"], "delivered")
        plan_of(client)
        office.wait_for(3)

    assert [one.status_code for one in refused] == [409, 409]
    assert held["next_attempt_at"] is None
    assert told["delivery_id"] == held["delivery_id"]
    assert [one.json["sequence"] for one in office.received] == [1, 1, 3]


def test_the_old_secret_signs_along_for_a_day(
    ahead: Running, clock: Clock, office: Receiver
) -> None:
    with ahead.client_of("Rotating") as client:
        made = make(client, office.url)
        turned = client.post(made["path"] + "/rotate-secret", headers={"If-Match": made["tag"]})
        until = turned.json()["endpoint"]["old_secret_until"]
        for step in (timedelta(), timedelta(hours=24)):
            clock.ahead += step
            plan_of(client)
            wait_until(client, made["path"], *["delivered"] * len(log(client, made["path"])))
    during, after = office.received
    old, new = made["secret"], turned.json()["secret"]

    assert old != new
    assert abs(datetime.fromisoformat(until) - datetime.now(UTC) - timedelta(hours=24)) < timedelta(
        minutes=1
    )
    assert Webhook(old).verify(during.body, during.headers)
    assert Webhook(new).verify(during.body, during.headers)
    assert after.headers["webhook-signature"].count("v1,") == 1
    assert after.headers["webhook-signature"] == Webhook(new).sign(
        after.headers["webhook-id"],
        datetime.fromtimestamp(int(after.headers["webhook-timestamp"]), UTC),
        after.body.decode(),
    )


def test_an_endpoint_that_is_gone_says_so(client: httpx.Client, office: Receiver) -> None:
    office.usual = Reply(status=410)
    made = make(client, office.url)
    plan_of(client)
    wait_until(client, made["path"], "held")
    shown = client.get(made["path"])
    rows = client.get("/v1/audit-log", params={"limit": 200}).json()["items"]

    assert (shown.json()["enabled"], shown.json()["disabled_reason"]) == (False, "gone")
    assert shown.headers["etag"] != made["tag"]
    (row,) = [one for one in rows if one["operation"] == "deliverWebhook"]
    assert (row["actor"], row["target"]) == ("service", made["path"].removeprefix("/v1/"))

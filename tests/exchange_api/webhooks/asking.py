"""An office: a client that asks to be told, and a clock for the service that tells it."""

from datetime import UTC, datetime, timedelta
from time import monotonic, sleep
from typing import Any

import httpx

PATH = "/v1/webhook-endpoints"
ALL = ["plan.created", "job.started", "job.needs_attention", "job.closed", "record.available"]


class Clock:
    """The machine's clock, set forward by hand."""

    def __init__(self) -> None:
        self.ahead = timedelta()

    def now(self) -> datetime:
        return datetime.now(UTC) + self.ahead


def make(client: httpx.Client, url: str, events: list[str] | None = None) -> dict[str, Any]:
    made = client.post(PATH, json={"url": url, "events": events or ["plan.created"]})
    assert made.status_code == 201, made.text
    return {"path": made.headers["location"], "tag": made.headers["etag"], **made.json()}


def put(client: httpx.Client, path: str, url: str, **changes: Any) -> httpx.Response:
    body = {"url": url, "events": ["plan.created"]} | changes
    return client.put(path, json=body, headers={"If-Match": "*"})


def log(client: httpx.Client, path: str) -> list[dict[str, Any]]:
    told = client.get(f"{path}/deliveries")
    assert told.status_code == 200, told.text
    return list(told.json()["items"])


def wait_until(client: httpx.Client, path: str, *states: str) -> list[dict[str, Any]]:
    """The log, once its newest entries are in these states."""
    end = monotonic() + 10
    found = log(client, path)
    while [one["state"] for one in found] != list(states) and monotonic() < end:
        sleep(0.05)
        found = log(client, path)
    assert [one["state"] for one in found] == list(states)
    return found

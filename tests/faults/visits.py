"""A client that remembers: a visit of a car, every request it sent and every 2xx it was answered.

What was not answered is sent again, the same request with the same key and the same ids.
"""

from typing import Any
from uuid import uuid4

import httpx
import msgspec

from libexchange.plan.records import Plan
from tests.exchange_api.bay_desk import DEVICE, items, routine
from tests.job.plans import START, Bay

EVENTS_PER_POST = 6


class Fault(AssertionError):
    """The service broke its word."""


class Visit:
    """A plan, a job on it, its events and its close; each step goes on until it is answered."""

    def __init__(self, number: int) -> None:
        self.key = str(uuid4())
        self.job_id = str(uuid4())
        self.request = routine(vehicle={"reference": f"INVENTED-{number}"})
        self.plan: httpx.Response | None = None
        self.started = False
        self.events: list[dict[str, Any]] = []
        self.posted = 0
        self.closing: bytes | None = None
        self.tried_to_close = False

    @property
    def path(self) -> str:
        return f"/v1/jobs/{self.job_id}"

    def go_on(self, client: httpx.Client) -> None:
        """Send what is not answered yet. Raises: httpx.TransportError when the service is gone."""
        if self.plan is None:
            self._make_plan(client)
        if not self.started:
            self._start(client)
        while self.posted < len(self.events):
            self._post(client)
        if self.closing is None:
            self._close(client)

    def _make_plan(self, client: httpx.Client) -> None:
        headers = {"Idempotency-Key": self.key}
        self.plan = _expect(client.post("/v1/plans", json=self.request, headers=headers), 201)
        plan = msgspec.json.decode(self.plan.content, type=Plan)
        self.events = items(Bay(plan, DEVICE, first_id=plan.plan_id.int).whole_job().events)

    def _start(self, client: httpx.Client) -> None:
        assert self.plan is not None
        _expect(client.put(self.path, json={"plan_id": self.plan.json()["plan_id"]}), 200, 201)
        self.started = True

    def _post(self, client: httpx.Client) -> None:
        some = self.events[self.posted : self.posted + EVENTS_PER_POST]
        body = {"device_id": DEVICE, "sent_at": START.isoformat(), "events": some}
        told = _expect(client.post(f"{self.path}/events", json=body), 200).json()["items"]
        outcomes = {item["outcome"] for item in told}
        if len(outcomes) != 1 or not outcomes <= {"stored", "already_stored"}:
            raise Fault(f"a post was kept in part: {outcomes}")
        self.posted += len(some)

    def _close(self, client: httpx.Client) -> None:
        job = _expect(client.get(self.path), 200)
        if job.json()["closing"] is not None and self.tried_to_close:
            self.closing = msgspec.json.encode(job.json()["closing"])  # the first try was kept
            return
        self.tried_to_close = True
        headers = {"If-Match": job.headers["etag"]}
        self.closing = _expect(client.post(f"{self.path}/close", headers=headers), 200).content

    def check(self, client: httpx.Client) -> None:
        """Whatever was answered with 2xx is there, once and unchanged. Raises: Fault."""
        if self.plan is None:
            return
        read = client.get(self.plan.headers["location"])
        kept = (read.status_code, read.content, read.headers.get("etag"))
        if kept != (200, self.plan.content, self.plan.headers["etag"]):
            raise Fault(f"plan {self.plan.headers['location']} is lost or changed")
        if self.started:
            self._check_events(client)
        if self.closing is not None:
            self._check_closing(client)

    def _check_events(self, client: httpx.Client) -> None:
        kept = [item["event"]["event"] for item in self._listed(client)]
        ids = [event["event_id"] for event in kept]
        if len(ids) != len(set(ids)):
            raise Fault(f"{self.path}: an event is doubled")
        sent = [event["event_id"] for event in self.events]
        if not set(sent[: self.posted]) <= set(ids) <= set(sent):
            raise Fault(f"{self.path}: an event is lost or invented")
        if len(ids) % EVENTS_PER_POST and len(ids) != len(sent):
            raise Fault(f"{self.path}: a post is half kept")

    def _listed(self, client: httpx.Client) -> list[dict[str, Any]]:
        listed: list[dict[str, Any]] = _expect(client.get(f"{self.path}/events"), 200).json()[
            "items"
        ]
        return listed

    def _check_closing(self, client: httpx.Client) -> None:
        job = _expect(client.get(self.path), 200).json()
        told = msgspec.json.decode(self.closing or b"")
        digest = told.pop("record_digest", job["record_digest"])  # none where it was read again
        if (job["closing"], job["record_digest"]) != (told, digest):
            raise Fault(f"{self.path}: its close is lost or changed")
        _expect(client.get(f"{self.path}/record"), 200)


def _expect(answered: httpx.Response, *statuses: int) -> httpx.Response:
    if answered.status_code not in statuses:
        request = answered.request
        raise Fault(f"{request.method} {request.url}: {answered.status_code} {answered.text}")
    return answered


def plan_ids(client: httpx.Client) -> list[str]:
    """The ids of every plan of the workshop."""
    ids: list[str] = []
    query = {"limit": "200"}
    while True:
        page = _expect(client.get("/v1/plans", params=query), 200).json()
        ids += [item["plan_id"] for item in page["items"]]
        if page["next_cursor"] is None:
            return ids
        query["cursor"] = page["next_cursor"]

"""A phone in the bay writes down what happens without a signal and sends it when it has one.

Readings and litres are invented. It takes the id of a plan that the dealer system has made:

    python examples/mobile_app/work_offline.py http://127.0.0.1:8000 KEY PLAN_ID
"""

import sys
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import httpx

DEVICE = "invented-phone-1"
APP_VERSION = "1.0.0-invented"


class Outbox:
    """What was written down of one job and not yet taken; nothing leaves it before the service has
    it. The device counts the events of each job from 0.
    """

    def __init__(self, began: datetime, *, device: str = DEVICE) -> None:
        self.now = began
        self.device = device
        self.waiting: list[dict[str, Any]] = []
        self._count = 0

    def write(self, kind: str, *, after_s: float = 60, **members: Any) -> None:
        """One thing that happened, some seconds after the one before."""
        self.now += timedelta(seconds=after_s)
        head = {"event_id": str(uuid4()), "kind": kind, "sequence": self._count}
        self.waiting.append({**head, "occurred_at": self.now.isoformat(), **members})
        self._count += 1

    def send(self, client: httpx.Client, job: str) -> dict[str, str]:
        """Send all that waits, as often as you like; the outcome of each by its id."""
        outcomes = self.post(client, job, self.waiting)
        taken = {one for one, outcome in outcomes.items() if outcome not in ("refused", "conflict")}
        self.waiting = [event for event in self.waiting if event["event_id"] not in taken]
        return outcomes

    def post(self, client: httpx.Client, job: str, events: list[dict[str, Any]]) -> dict[str, str]:
        """One batch, in whatever order and however often; the outcome of each by its id."""
        body = {
            "device_id": self.device,
            "sent_at": datetime.now(UTC).isoformat(),
            "app_version": APP_VERSION,
            "events": events,
        }
        answered = client.post(f"{job}/events", json=body).raise_for_status().json()
        return {item["event_id"]: item["outcome"] for item in answered["items"]}


def drain_and_refill(outbox: Outbox, plan: dict[str, Any]) -> None:
    """The first part of the work, up to the refill, with what was weighed and read."""
    steps = {step["kind"]: step["step_id"] for step in plan["steps"]}
    refill = next(step for step in plan["steps"] if step["kind"] == "refill")
    weighed = {"value": round(0.85 * refill["quantity"]["value"], 2), "unit": "kg"}
    outbox.write("started")
    outbox.write("arrived", drive="ok")
    outbox.write("fault_codes_read", when="before")
    for kind in ("arrival_check", "raise_vehicle", "prove_fill_opening"):
        outbox.write("step_confirmed", step_id=steps[kind])
    outbox.write("reading", source="scan_tool", temperature={"value": 43, "unit": "Cel"})
    outbox.write("fluid_moved", direction="out", mass=weighed, step_id=steps["pan_and_filter"])
    outbox.write("step_confirmed", step_id=steps["pan_and_filter"])
    outbox.write("fluid_opened", fluid_id="invented-red-fluid", fluid_kind="invented-red-six")
    outbox.write("fluid_moved", direction="in", mass=weighed, step_id=steps["refill"])
    outbox.write("step_confirmed", step_id=steps["refill"])


def main(url: str, key: str, plan_id: str) -> None:
    """Start a job, work without a signal, send, ask what is next."""
    with httpx.Client(base_url=url, headers={"Authorization": f"Bearer {key}"}) as client:
        plan = client.get(f"/v1/plans/{plan_id}").raise_for_status().json()
        job = f"/v1/jobs/{uuid4()}"
        client.put(job, json={"plan_id": plan_id}).raise_for_status()
        outbox = Outbox(datetime.now(UTC) - timedelta(hours=1))
        drain_and_refill(outbox, plan)
        outcomes = outbox.send(client, job)
        print(f"{len(outcomes)} sent: {', '.join(sorted(set(outcomes.values())))}")
        asked = {"at": outbox.now.isoformat()}
        told = client.get(f"{job}/guidance", params=asked).raise_for_status().json()
        print(f"next: {told['next_step']['title']}")
        for gate in told["gates"]:
            print(f"  {gate['gate_id']} is {gate['state']}: {gate['reason']}")
        print(f"job {job.rpartition('/')[2]}")


if __name__ == "__main__":
    main(*sys.argv[1:])

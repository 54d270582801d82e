"""Plans and jobs as callers send them, from the invented records; each call is real HTTP."""

import copy
from typing import Any
from uuid import uuid4

import httpx
import msgspec

from libexchange import invented
from libexchange.job.events import DeviceEvent
from libexchange.plan.records import Plan
from tests.job.plans import START, Bay

DEVICE = "invented-phone"


def without_nulls(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: without_nulls(part) for name, part in value.items() if part is not None}
    return value


ROUTINE: dict[str, Any] = without_nulls(msgspec.to_builtins(invented.routine_request()))
SIX_SPEED: dict[str, Any] = ROUTINE["transmission"]
RED_FLUID: dict[str, Any] = ROUTINE["fluid"]
CLEANER: dict[str, Any] = without_nulls(msgspec.to_builtins(invented.cleaner()))
CONDITIONER: dict[str, Any] = without_nulls(msgspec.to_builtins(invented.conditioner()))


def json_of(record: Any) -> Any:
    """A record as its JSON reads."""
    return msgspec.json.decode(msgspec.json.encode(record))


def routine(**changes: Any) -> dict[str, Any]:
    """The routine request with other members; one that is None is left out."""
    return without_nulls(copy.deepcopy(ROUTINE) | changes)  # type: ignore[no-any-return]  # a dict in gives a dict out


def ask(
    client: httpx.Client, request: Any = None, *, key: str | None = None, **changes: Any
) -> httpx.Response:
    """Post a plan request under a fresh key, or a given one."""
    body = routine(**changes) if request is None else request
    return client.post("/v1/plans", json=body, headers={"Idempotency-Key": key or str(uuid4())})


def plan_of(client: httpx.Client, **changes: Any) -> Plan:
    """A plan that was kept."""
    kept = ask(client, **changes)
    assert kept.status_code == 201, kept.text
    return msgspec.json.decode(kept.content, type=Plan)


def plans_kept(client: httpx.Client) -> int:
    return len(client.get("/v1/plans", params={"limit": 200}).json()["items"])


def started(client: httpx.Client, plan: Plan | None = None) -> tuple[str, Bay]:
    """The path of a job on a plan, and a bay that works on it."""
    plan = plan or plan_of(client)
    path = f"/v1/jobs/{uuid4()}"
    made = client.put(path, json={"plan_id": str(plan.plan_id)})
    assert made.status_code == 201, made.text
    return path, Bay(plan, DEVICE, first_id=uuid4().int >> 1)


def items(events: list[DeviceEvent]) -> list[dict[str, Any]]:
    """Events as a device sends them."""
    return [without_nulls(msgspec.to_builtins(one.event)) for one in events]


def send(
    client: httpx.Client, path: str, events: list[Any], *, device_id: str = DEVICE
) -> httpx.Response:
    body = {"device_id": device_id, "sent_at": START.isoformat(), "events": events}
    return client.post(f"{path}/events", json=body)


def outcomes(answered: httpx.Response) -> list[str]:
    assert answered.status_code == 200, answered.text
    return [item["outcome"] for item in answered.json()["items"]]


def event(kind: str, sequence: int = 0, **members: Any) -> dict[str, Any]:
    return {
        "kind": kind,
        "event_id": str(uuid4()),
        "occurred_at": START.isoformat(),
        "sequence": sequence,
        **members,
    }


def close(client: httpx.Client, path: str) -> httpx.Response:
    """Close a job as it stands."""
    tag = client.get(path).headers["etag"]
    return client.post(f"{path}/close", headers={"If-Match": tag})


def worked(client: httpx.Client, plan: Plan | None = None) -> tuple[str, Bay]:
    """A job with every event of a whole one."""
    path, bay = started(client, plan)
    sent = send(client, path, items(bay.whole_job().events))
    assert set(outcomes(sent)) == {"stored"}
    return path, bay


def problem(answered: httpx.Response) -> tuple[int, str, set[str]]:
    """Status, slug and the places of a problem; every fault must say what is allowed and to do."""
    told = answered.json()
    assert answered.headers["content-type"] == "application/problem+json", answered.text
    assert told["status"] == answered.status_code
    for error in told["errors"]:
        assert all(error[name] for name in ("code", "detail", "allowed", "remedy")), error
    return answered.status_code, told["type"].rpartition("/")[2], set(map(_place, told["errors"]))


def _place(error: dict[str, Any]) -> str:
    return str(error["pointer"] if "pointer" in error else error["parameter"]["name"])

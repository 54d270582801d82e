"""One good call of every operation, made ready by a workshop; a new operation needs one here."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import httpx
from litestar.handlers import HTTPRouteHandler
from msgspec import Struct

from exchange_api.app import HANDLERS
from exchange_api.operations import Operation
from tests.exchange_api.attachments.album import address, picture
from tests.exchange_api.bay_desk import (
    CLEANER,
    ROUTINE,
    SIX_SPEED,
    close,
    event,
    plan_of,
    routine,
    started,
)
from tests.exchange_api.bay_desk import RED_FLUID as FLUID
from tests.job.plans import START

_Document = dict[str, Any]


class Call(Struct, frozen=True, kw_only=True):
    """What to send."""

    path: str
    json: _Document | None = None
    content: bytes | None = None
    headers: dict[str, str] = {}

    def send(self, client: httpx.Client, method: str) -> httpx.Response:
        return client.request(
            method, self.path, json=self.json, content=self.content, headers=self.headers
        )


class Recipe(Struct, frozen=True, kw_only=True):
    """How to make a call ready, and what it answers to its workshop and to another one."""

    ready: Callable[[httpx.Client], Call]
    right: int = 200
    other: int = 200


class Route(Struct, frozen=True, kw_only=True):
    """Where an operation is."""

    method: str
    path: str
    declared: Operation


def _routes() -> dict[str, Route]:
    found = {}
    for handler in HANDLERS:
        assert isinstance(handler, HTTPRouteHandler)
        declared: Operation = handler.opt["operation"]
        (method,), (path,) = handler.http_methods, handler.paths
        found[declared.operation_id] = Route(method=str(method), path=path, declared=declared)
    return found


ROUTES = _routes()
"""Every operation of the service by its id."""


def recipe(operation_id: str) -> Recipe:
    """How to call an operation; calculations are called with their own example."""
    route = ROUTES[operation_id]
    if route.path.startswith("/v1/calculations/"):
        (example, *_) = route.declared.examples.values()
        return Recipe(ready=lambda _: Call(path=route.path, json=example))
    assert operation_id in RECIPES, f"say in RECIPES how {operation_id} is called"
    return RECIPES[operation_id]


def _at(path: str) -> Recipe:
    return Recipe(ready=lambda _: Call(path=path))


def _of_job(tail: str = "", **call: Any) -> Recipe:
    return Recipe(ready=lambda client: Call(path=started(client)[0] + tail, **call), other=404)


def _record(client: httpx.Client) -> Call:
    return _of_closed(client, "/record")


def _of_closed(client: httpx.Client, tail: str) -> Call:
    path, _ = started(client)
    assert close(client, path).status_code == 200
    return Call(path=path + tail)


def _picture(_: httpx.Client) -> Call:
    raw = picture()
    return Call(path=address(raw), content=raw, headers={"Content-Type": "image/png"})


def _kept_picture(client: httpx.Client) -> Call:
    made = _picture(client)
    assert made.send(client, "PUT").status_code == 201
    return Call(path=made.path)


def _closed(client: httpx.Client) -> Call:
    path, _ = started(client)
    assert close(client, path).status_code == 200
    return Call(path=f"{path}/reopen", json=_REOPENING, headers={"If-Match": "*"})


def _start(client: httpx.Client) -> Call:
    return Call(path=f"/v1/jobs/{uuid4()}", json={"plan_id": str(plan_of(client).plan_id)})


def _put(kind: str, id_field: str, record: _Document) -> Callable[[httpx.Client], Call]:
    def ready(_: httpx.Client) -> Call:
        entry_id = f"e-{uuid4()}"
        return Call(path=f"/v1/{kind}/{entry_id}", json=record | {id_field: entry_id})

    return ready


def _entry(kind: str, id_field: str, record: _Document) -> Recipe:
    put = _put(kind, id_field, record)

    def ready(client: httpx.Client) -> Call:
        made = put(client)
        assert made.send(client, "PUT").status_code == 201
        return Call(path=made.path)

    return Recipe(ready=ready, other=404)


def _own_key(tail: str = "", **headers: str) -> Recipe:
    def ready(client: httpx.Client) -> Call:
        key = {"name": f"key {uuid4()}", "scopes": ["calculate"]}
        made = client.post("/v1/api-keys", json=key)
        assert made.status_code == 201, made.text
        return Call(path=made.headers["location"] + tail, headers=headers)

    return Recipe(ready=ready, other=404)


def _plan(client: httpx.Client) -> Call:
    return Call(path=f"/v1/plans/{plan_of(client).plan_id}")


def _release(client: httpx.Client) -> Call:
    month = str(plan_of(client).request.service_date)[:7]
    return Call(path=f"/v1/exports/plans?release={month}")


_ENDPOINT = {"url": "http://127.0.0.1:9/nobody", "events": ["job.closed"]}


def _endpoint(tail: str = "", right: int = 200, **call: Any) -> Recipe:
    def ready(client: httpx.Client) -> Call:
        made = client.post("/v1/webhook-endpoints", json=_ENDPOINT)
        assert made.status_code == 201, made.text
        return Call(path=made.headers["location"] + tail, **call)

    return Recipe(ready=ready, right=right, other=404)


def _delivery(client: httpx.Client) -> Call:
    tested = _endpoint("/test").ready(client)
    told = tested.send(client, "POST")
    assert told.status_code == 202, told.text
    deliveries = tested.path.removesuffix("/test") + "/deliveries"
    return Call(path=f"{deliveries}/{told.json()['delivery_id']}/redeliver")


_NEW_KEY = {"name": "a successor", "scopes": ["calculate"]}
_EVENTS = {"device_id": "phone", "sent_at": START.isoformat(), "events": [event("work_finished")]}

_REOPENING = {"by": "Invented Foreman", "reason": "looked at once more"}


def _erasing(client: httpx.Client) -> Call:
    path, _ = started(client)
    assert close(client, path).status_code == 200
    body = {"reason": "the claim period is over"}
    return Call(path=f"{path}/erase-personal-data", json=body, headers={"If-Match": "*"})


RECIPES: dict[str, Recipe] = {
    "closeJob": _of_job("/close", headers={"If-Match": "*"}),
    "createApiKey": Recipe(
        ready=lambda _: Call(path="/v1/api-keys", json=_NEW_KEY), right=201, other=201
    ),
    "createWebhookEndpoint": Recipe(
        ready=lambda _: Call(path="/v1/webhook-endpoints", json=_ENDPOINT), right=201, other=201
    ),
    "createPlan": Recipe(
        ready=lambda _: Call(
            path="/v1/plans", json=routine(), headers={"Idempotency-Key": str(uuid4())}
        ),
        right=201,
        other=201,
    ),
    "deleteWebhookEndpoint": _endpoint(right=204, headers={"If-Match": "*"}),
    "erasePersonalData": Recipe(ready=_erasing, other=404),
    "exportPlans": Recipe(ready=_release),
    "getAdditive": _entry("additives", "additive_id", CLEANER),
    "getApiKey": _own_key(),
    "getAttachment": Recipe(ready=_kept_picture, other=404),
    "getContract": _at("/openapi.json"),
    "getDocs": _at("/docs"),
    "getFluid": _entry("fluids", "fluid_id", FLUID),
    "getGuidance": _of_job("/guidance"),
    "getJob": _of_job(),
    "getLive": _at("/health/live"),
    "getMe": _at("/v1/me"),
    "getMetrics": _at("/metrics"),
    "getPlan": Recipe(ready=_plan, other=404),
    "getProblem": _at("/v1/problems/not-found"),
    "getPublicKeys": _at("/.well-known/jwks.json"),
    "getReady": _at("/health/ready"),
    "getRecord": Recipe(ready=_record, other=404),
    "getLabels": _of_job("/labels"),
    "getWarrantyPack": Recipe(ready=lambda client: _of_closed(client, "/warranty-pack"), other=404),
    "getTransmission": _entry("transmissions", "transmission_id", SIX_SPEED),
    "getWebhookEndpoint": _endpoint(),
    "listAdditives": _at("/v1/additives"),
    "listApiKeys": _at("/v1/api-keys"),
    "listAuditLog": _at("/v1/audit-log"),
    "listEvents": _of_job("/events"),
    "listExportReleases": _at("/v1/exports/releases"),
    "listFindings": _at("/v1/findings"),
    "listFluids": _at("/v1/fluids"),
    "listJobs": _at("/v1/jobs"),
    "listPlans": _at("/v1/plans"),
    "listProblems": _at("/v1/problems"),
    "listTransmissions": _at("/v1/transmissions"),
    "listWebhookDeliveries": _endpoint("/deliveries"),
    "listWebhookEndpoints": _at("/v1/webhook-endpoints"),
    "postEvents": _of_job("/events", json=_EVENTS),
    "previewPlan": Recipe(ready=lambda _: Call(path="/v1/plans/preview", json=ROUTINE)),
    "putAdditive": Recipe(ready=_put("additives", "additive_id", CLEANER), right=201, other=201),
    "putAttachment": Recipe(ready=_picture, right=201, other=201),
    "putFluid": Recipe(ready=_put("fluids", "fluid_id", FLUID), right=201, other=201),
    "putLegalHold": _of_job("/legal-hold", json={"by": "Invented Office", "reason": "a claim"}),
    "putTransmission": Recipe(
        ready=_put("transmissions", "transmission_id", SIX_SPEED), right=201, other=201
    ),
    "putWebhookEndpoint": _endpoint(json=_ENDPOINT, headers={"If-Match": "*"}),
    "redeliverWebhook": Recipe(ready=_delivery, right=202, other=404),
    "reopenJob": Recipe(ready=_closed, other=404),
    "revokeApiKey": _own_key("/revoke", **{"If-Match": "*"}),
    "rotateWebhookSecret": _endpoint("/rotate-secret", headers={"If-Match": "*"}),
    "startJob": Recipe(ready=_start, right=201, other=404),
    "verifyRecord": Recipe(ready=lambda _: Call(path="/v1/records/verify", json={})),
    "testWebhookEndpoint": _endpoint("/test", right=202),
}

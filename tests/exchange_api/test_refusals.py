"""Whatever is refused for a fault of the request, `errors` says what is wrong and what to do."""

from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import uuid4

import httpx
import pytest

from exchange_api import keys
from exchange_api.scopes import ADMINISTRATOR, SCOPES
from tests.exchange_api.bay_desk import problem
from tests.exchange_api.every_operation import ROUTES, recipe
from tests.exchange_api.running import Running, running

GUARDED = [one for one, route in ROUTES.items() if route.declared.scope is not None]
SCOPED = [one for one in GUARDED if ROUTES[one].declared.scope != "any"]


def told(answered: httpx.Response) -> tuple[int, list[tuple[Any, str]]]:
    """The status, and of each fault its place and code; all of its members must say something."""
    status, _, _ = problem(answered)
    errors = answered.json()["errors"]
    return status, [(_place(error), error["code"]) for error in errors]


def _place(error: dict[str, Any]) -> Any:
    if "parameter" not in error:
        return error["pointer"]
    return f"{error['parameter']['in']} {error['parameter']['name']}"


@pytest.mark.parametrize("operation_id", GUARDED)
def test_a_missing_key_is_named(
    client: httpx.Client, stranger: httpx.Client, operation_id: str
) -> None:
    call = recipe(operation_id).ready(client)
    answered = call.send(stranger, ROUTES[operation_id].method)

    assert told(answered) == (401, [("header Authorization", "missing-key")])


@pytest.mark.parametrize("operation_id", SCOPED)
def test_the_scope_that_lacks_is_named(
    app: Running, client: httpx.Client, operation_id: str
) -> None:
    needed = str(ROUTES[operation_id].declared.scope)
    scopes = ",".join(set(SCOPES) - {needed})
    call = recipe(operation_id).ready(client)
    with app.client_of(f"Workshop {uuid4()}", scopes=scopes) as lacking:
        answered = call.send(lacking, ROUTES[operation_id].method)

    assert told(answered) == (403, [("header Authorization", "missing-scope")])
    assert answered.json()["errors"][0]["allowed"] == f"a key with the scope {needed}"


@pytest.mark.parametrize(
    ("key", "code"),
    [("lxk_garbage", "mistyped-key"), (keys.new_key, "invalid-key")],
    ids=["mistyped", "unknown"],
)
def test_a_key_that_is_not_valid_is_not_repeated(app: Running, key: Any, code: str) -> None:
    text = key if isinstance(key, str) else key(app.service.outside).text
    with app.client(key=text) as wrong:
        answered = wrong.get("/v1/me")

    assert told(answered) == (401, [("header Authorization", code)])
    assert text.rpartition("_")[2] not in answered.text


def no_address(client: httpx.Client) -> httpx.Response:
    return client.get("/v1/nothing-here")


def no_plan(client: httpx.Client) -> httpx.Response:
    return client.get(f"/v1/plans/{uuid4()}")


def no_id(client: httpx.Client) -> httpx.Response:
    return client.get("/v1/jobs/no-uuid")


def no_problem_type(client: httpx.Client) -> httpx.Response:
    return client.get("/v1/problems/no-such")


def no_month_yet(client: httpx.Client) -> httpx.Response:
    return client.get("/v1/exports/plans", params={"release": "2999-01"})


def no_plans_then(client: httpx.Client) -> httpx.Response:
    return client.get("/v1/exports/plans", params={"release": "1999-01"})


@pytest.mark.parametrize(
    ("ask", "place", "code"),
    [
        (no_address, "path *", "unknown-address"),
        (no_plan, "path plan_id", "unknown-id"),
        (no_id, "path job_id", "unknown-id"),
        (no_problem_type, "path slug", "unknown-id"),
        (no_month_yet, "query release", "month-not-ended"),
        (no_plans_then, "query release", "unknown-id"),
    ],
)
def test_what_is_not_there_is_named(
    client: httpx.Client, ask: Callable[[httpx.Client], httpx.Response], place: str, code: str
) -> None:
    assert told(ask(client)) == (404, [(place, code)])


@pytest.mark.parametrize("is_told", [True, False], ids=["length", "pieces"])
def test_a_body_that_is_too_large_is_told_with_the_limit(tmp_path: Path, is_told: bool) -> None:
    body = b" " * 2049
    with running(tmp_path, body_limit=2048) as app, app.client_of("Large") as client:
        answered = client.post(
            "/v1/calculations/vin",
            content=body if is_told else iter([body[:2000], body[2000:]]),
            headers={"Content-Type": "application/json"},
        )

    assert told(answered) == (413, [("#", "body-too-large")])
    assert answered.json()["errors"][0]["allowed"] == "at most 2048 bytes"


@pytest.mark.parametrize("query", ["a=%ff", "&".join(["a=1"] * 101)], ids=["no UTF-8", "too many"])
def test_a_query_that_cannot_be_read_is_told(client: httpx.Client, query: str) -> None:
    assert told(client.get(f"/v1/plans?{query}")) == (400, [("query *", "unreadable-query")])


def test_an_administrators_key_is_asked_for_by_name(app: Running, client: httpx.Client) -> None:
    log = client.get("/v1/audit-log", params={"log": "installation"})
    name = f"Workshop {uuid4()}"
    with (
        app.client_of(name, scopes=ADMINISTRATOR) as administrator,
        app.client_of(name) as colleague,
    ):
        key_id = administrator.get("/v1/me").json()["key_id"]
        revoked = colleague.post(f"/v1/api-keys/{key_id}/revoke", headers={"If-Match": "*"})

    for answered in (log, revoked):
        assert told(answered) == (403, [("header Authorization", "not-administrator")])


def test_an_entry_that_is_there_already_is_told(client: httpx.Client) -> None:
    call = recipe("putFluid").ready(client)
    made = call.send(client, "PUT")
    again = client.put(call.path, json=call.json, headers={"If-None-Match": "*"})

    assert made.is_success
    assert told(again) == (412, [("header If-None-Match", "stale")])

"""Plans over HTTP: kept once for each key, never changed, and only the workshop's own."""

from concurrent.futures import ThreadPoolExecutor
from uuid import uuid4

import httpx
import msgspec
import pytest

from libexchange.canonical import digest
from libexchange.plan.records import Plan
from tests.exchange_api.bay_desk import ROUTINE, ask, plan_of, plans_kept, problem, routine
from tests.exchange_api.running import Running


def test_a_plan_is_kept_and_read_back_as_it_was_answered(client: httpx.Client) -> None:
    made = ask(client)
    read = client.get(made.headers["location"])

    assert made.status_code == 201
    assert made.headers["location"] == f"/v1/plans/{made.json()['plan_id']}"
    assert (read.content, read.headers["etag"]) == (made.content, made.headers["etag"])


def test_a_plan_carries_the_digest_of_everything_else_in_it(client: httpx.Client) -> None:
    plan = ask(client).json()

    assert plan["digest"] == digest(plan, without=("digest",))


def test_a_plan_holds_what_was_asked(client: httpx.Client) -> None:
    plan = plan_of(client)

    assert plan.request.vehicle.reference == ROUTINE["vehicle"]["reference"]
    assert plan.route == "pan_and_filter_then_line"
    assert len(plan.alternatives) == 8
    assert plan.steps
    assert plan.feasible


def test_the_same_key_answers_the_same_bytes(client: httpx.Client) -> None:
    first, again = ask(client, key="once"), ask(client, key="once")

    assert (again.status_code, again.content) == (201, first.content)
    assert again.headers["location"] == first.headers["location"]
    assert again.headers["etag"] == first.headers["etag"]
    assert plans_kept(client) == 1


def test_the_same_request_in_other_words_is_the_same(client: httpx.Client) -> None:
    turned = dict(reversed(ROUTINE.items())) | {"requested_at": "2026-03-02T09:30:00.000Z"}

    assert ask(client, turned, key="once").content == ask(client, key="once").content


def test_a_key_that_stands_for_another_request_is_refused(client: httpx.Client) -> None:
    ask(client, key="once")
    other = ask(client, reason="heavy_use", key="once")

    assert problem(other) == (422, "key-reused", {"Idempotency-Key"})
    assert plans_kept(client) == 1


def test_a_refused_request_does_not_use_up_its_key(client: httpx.Client) -> None:
    refused = ask(client, transmission_id="none-such", transmission=None, key="once")

    assert refused.status_code == 422
    assert ask(client, key="once").status_code == 201


def test_a_key_is_the_workshops_own(client: httpx.Client, other_client: httpx.Client) -> None:
    mine, theirs = ask(client, key="once"), ask(other_client, reason="heavy_use", key="once")

    assert theirs.status_code == 201
    assert theirs.json()["plan_id"] != mine.json()["plan_id"]


@pytest.mark.parametrize("key", [None, "", "a b", "a\tb", "k" * 256, "caf\xe9"], ids=repr)
def test_a_plan_needs_a_usable_key(client: httpx.Client, key: str | None) -> None:
    headers = {} if key is None else {b"Idempotency-Key": key.encode("latin-1")}
    answered = client.post("/v1/plans", json=ROUTINE, headers=headers)

    assert problem(answered) == (400, "invalid-parameter", {"Idempotency-Key"})
    assert plans_kept(client) == 0


def test_sixteen_posts_at_once_with_one_key_make_one_plan(client: httpx.Client) -> None:
    with ThreadPoolExecutor(16) as callers:
        answers = list(callers.map(lambda _: ask(client, key="once"), range(16)))

    assert {answered.status_code for answered in answers} == {201}
    assert len({(one.content, one.headers["etag"]) for one in answers}) == 1
    assert plans_kept(client) == 1


def test_a_preview_is_the_plan_and_keeps_nothing(client: httpx.Client) -> None:
    shown = client.post("/v1/plans/preview", json=ROUTINE)
    kept = plan_of(client)
    told = msgspec.json.decode(shown.content, type=Plan)

    assert shown.status_code == 200
    assert (told.route, told.litres, told.forecast, told.steps, told.alternatives) == (
        kept.route, kept.litres, kept.forecast, kept.steps, kept.alternatives,
    )  # fmt: skip
    assert client.get(f"/v1/plans/{told.plan_id}").status_code == 404
    assert plans_kept(client) == 1


def test_a_plan_that_is_known_is_not_sent_again(client: httpx.Client) -> None:
    made = ask(client)
    tag = made.headers["etag"]
    known = client.get(made.headers["location"], headers={"If-None-Match": tag})
    other = client.get(made.headers["location"], headers={"If-None-Match": '"other"'})

    assert (known.status_code, known.content, known.headers["etag"]) == (304, b"", tag)
    assert (other.status_code, other.content) == (200, made.content)


def test_a_plan_of_another_workshop_is_not_there(
    client: httpx.Client, other_client: httpx.Client
) -> None:
    made = ask(client)
    hidden = other_client.get(made.headers["location"])
    absent = other_client.get(f"/v1/plans/{uuid4()}")

    assert problem(hidden) == (404, "not-found", {"plan_id"})
    assert hidden.json()["detail"] == absent.json()["detail"]
    assert plans_kept(other_client) == 0


@pytest.mark.parametrize("plan_id", ["none", "%00", "1", "0" * 400, "..%2f..", "'"])
def test_what_is_no_plan_id_is_not_there(client: httpx.Client, plan_id: str) -> None:
    assert client.get(f"/v1/plans/{plan_id}").status_code == 404


def test_a_correction_is_a_new_plan_that_names_the_old_one(client: httpx.Client) -> None:
    first = ask(client)
    second = ask(client, reason="heavy_use", supersedes=first.json()["plan_id"])

    assert second.json()["supersedes"] == first.json()["plan_id"]
    assert client.get(first.headers["location"]).content == first.content


@pytest.mark.parametrize(
    ("scopes", "create", "preview", "read"),
    [
        ("plans:write", 201, 403, 403),
        ("plans:read", 403, 200, 200),
        ("jobs:write", 403, 403, 403),
    ],
)
def test_each_act_needs_its_scope(
    app: Running, scopes: str, create: int, preview: int, read: int
) -> None:
    with app.client_of(f"Workshop {uuid4()}", scopes=scopes) as client:
        statuses = (
            ask(client).status_code,
            client.post("/v1/plans/preview", json=ROUTINE).status_code,
            client.get("/v1/plans").status_code,
        )

    assert statuses == (create, preview, read)


def test_nothing_is_told_without_a_key(stranger: httpx.Client) -> None:
    answered = ask(stranger)

    assert problem(answered)[:2] == (401, "unauthenticated")
    assert answered.headers["www-authenticate"].startswith("Bearer")


def test_a_stop_finding_is_kept_with_the_plan(client: httpx.Client) -> None:
    kept = ask(client, routine(conditions=["coolant_in_fluid"]))
    plan = kept.json()

    assert kept.status_code == 201
    assert plan["feasible"] is False
    assert "stop" in {finding["severity"] for finding in plan["findings"]}
    assert plan["steps"] == []
    assert client.get(kept.headers["location"]).content == kept.content

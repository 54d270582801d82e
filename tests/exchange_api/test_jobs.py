"""Jobs over HTTP: started once on a feasible plan, the workshop's own, followed as they change."""

from concurrent.futures import ThreadPoolExecutor
from typing import Any
from uuid import uuid4

import httpx
import pytest

from tests.exchange_api.bay_desk import (
    close,
    event,
    items,
    outcomes,
    plan_of,
    problem,
    send,
    started,
    worked,
)
from tests.exchange_api.running import Running

NONE_SUCH = "01920000-0000-7000-8000-000000000001"


def put(client: httpx.Client, path: str, plan_id: Any) -> httpx.Response:
    return client.put(path, json={"plan_id": str(plan_id)})


def test_a_job_starts_on_a_plan(client: httpx.Client) -> None:
    plan, path = plan_of(client), f"/v1/jobs/{uuid4()}"
    made = put(client, path, plan.plan_id)

    assert (made.status_code, made.headers["location"]) == (201, path)
    assert (made.json()["status"], made.json()["plan_id"]) == ("planned", str(plan.plan_id))
    assert client.get(path).headers["etag"] == made.headers["etag"]


def test_starting_it_again_changes_nothing(client: httpx.Client) -> None:
    plan, path = plan_of(client), f"/v1/jobs/{uuid4()}"
    made, again = put(client, path, plan.plan_id), put(client, path, plan.plan_id)

    assert (again.status_code, again.json()) == (200, made.json())
    assert again.headers["etag"] == made.headers["etag"]
    assert "location" not in again.headers


def test_a_job_that_runs_is_shown_as_it_is_when_it_is_started_again(client: httpx.Client) -> None:
    path, bay = worked(client)
    again = put(client, path, bay.plan.plan_id)

    assert (again.status_code, again.json()["status"]) == (200, "finished")


def test_a_job_keeps_its_plan(client: httpx.Client) -> None:
    path, bay = started(client)
    other = plan_of(client)
    refused = put(client, path, other.plan_id)

    assert problem(refused) == (409, "conflict", {"#/plan_id"})
    assert client.get(path).json()["plan_id"] == str(bay.plan.plan_id)


def test_sixteen_starts_at_once_make_one_job(client: httpx.Client) -> None:
    plan, path = plan_of(client), f"/v1/jobs/{uuid4()}"
    with ThreadPoolExecutor(16) as callers:
        answers = list(callers.map(lambda _: put(client, path, plan.plan_id), range(16)))

    assert sorted(answered.status_code for answered in answers) == [200] * 15 + [201]
    assert len({answered.content for answered in answers}) == 1


def test_a_plan_with_a_stop_finding_starts_no_job(client: httpx.Client) -> None:
    plan, path = plan_of(client, conditions=["coolant_in_fluid"]), f"/v1/jobs/{uuid4()}"
    refused = put(client, path, plan.plan_id)

    assert problem(refused) == (409, "conflict", {"#/plan_id"})
    assert client.get(path).status_code == 404


def test_an_unknown_plan_starts_no_job(client: httpx.Client) -> None:
    path = f"/v1/jobs/{uuid4()}"
    refused = put(client, path, NONE_SUCH)

    assert problem(refused) == (404, "not-found", {"#/plan_id"})
    assert refused.json()["errors"][0]["value"] == NONE_SUCH
    assert client.get("/v1/jobs").json()["items"] == []


def test_a_plan_of_another_workshop_starts_no_job(
    client: httpx.Client, other_client: httpx.Client
) -> None:
    plan = plan_of(client)
    theirs = put(other_client, f"/v1/jobs/{uuid4()}", plan.plan_id)
    absent = put(other_client, f"/v1/jobs/{uuid4()}", NONE_SUCH)

    assert problem(theirs) == (404, "not-found", {"#/plan_id"})
    assert theirs.json()["detail"] == absent.json()["detail"]


def test_a_job_id_is_the_workshops_own(client: httpx.Client, other_client: httpx.Client) -> None:
    path, _ = worked(client)
    own = put(other_client, path, plan_of(other_client).plan_id)

    assert (own.status_code, own.json()["status"]) == (201, "planned")
    assert client.get(path).json()["status"] == "finished"


@pytest.mark.parametrize(
    ("method", "part"),
    [("GET", ""), ("GET", "/events"), ("GET", "/guidance"), ("GET", "/record"), ("POST", "/close")],
)
def test_a_job_of_another_workshop_is_not_there(
    client: httpx.Client, other_client: httpx.Client, method: str, part: str
) -> None:
    path, _ = worked(client)
    answered = other_client.request(method, path + part, headers={"If-Match": "*"})

    assert problem(answered) == (404, "not-found", {"job_id"})


def test_events_for_a_job_of_another_workshop_are_not_kept(
    client: httpx.Client, other_client: httpx.Client
) -> None:
    path, _ = started(client)
    refused = send(other_client, path, [event("started")])

    assert problem(refused) == (404, "not-found", {"job_id"})
    assert client.get(f"{path}/events").json()["items"] == []


def test_the_state_of_a_job_moves_on_with_its_tag(client: httpx.Client) -> None:
    path, bay = started(client)
    before = client.get(path).headers["etag"]
    send(client, path, items(bay.whole_job().events))
    after = client.get(path, headers={"If-None-Match": before})
    same = client.get(path, headers={"If-None-Match": after.headers["etag"]})

    assert (after.status_code, after.json()["status"]) == (200, "finished")
    assert (same.status_code, same.content) == (304, b"")


def test_jobs_are_listed_by_state_plan_and_change(client: httpx.Client) -> None:
    paths = [started(client)[0], worked(client)[0], worked(client)[0]]
    close(client, paths[2])
    listed = client.get("/v1/jobs").json()["items"]

    def found(**params: str) -> list[str]:
        shown = client.get("/v1/jobs", params=params).raise_for_status().json()["items"]
        return [f"/v1/jobs/{item['job_id']}" for item in shown]

    assert [f"/v1/jobs/{item['job_id']}" for item in listed] == paths
    assert [item["state"] for item in listed] == ["planned", "finished", "closed"]
    assert found(state="finished") == [paths[1]]
    assert found(plan_id=listed[0]["plan_id"]) == [paths[0]]
    assert found(updated_since=listed[1]["updated_at"]) == paths[1:]


def test_pages_of_jobs_join_to_the_whole(client: httpx.Client) -> None:
    plan = plan_of(client)
    paths = [started(client, plan)[0] for _ in range(5)]
    seen, params = [], {"limit": "2", "plan_id": str(plan.plan_id)}
    while True:
        page = client.get("/v1/jobs", params=params).raise_for_status().json()
        seen += [f"/v1/jobs/{item['job_id']}" for item in page["items"]]
        if page["next_cursor"] is None:
            break
        params["cursor"] = page["next_cursor"]

    assert seen == paths
    wrong = client.get("/v1/jobs", params=params | {"state": "planned"})
    assert problem(wrong) == (400, "invalid-parameter", {"cursor"})


@pytest.mark.parametrize(
    ("scopes", "read", "write"), [("jobs:read", 404, 403), ("jobs:write", 403, 404)]
)
def test_each_act_needs_its_scope(app: Running, scopes: str, read: int, write: int) -> None:
    path = f"/v1/jobs/{uuid4()}"
    with app.client_of(f"Workshop {uuid4()}", scopes=scopes) as client:
        reads = {client.get(path + part).status_code for part in ("", "/events", "/guidance")}
        writes = {put(client, path, NONE_SUCH).status_code, send(client, path, []).status_code}

    assert (reads, writes) == ({read}, {write})


def test_an_empty_post_is_heard_and_changes_nothing(client: httpx.Client) -> None:
    path, _ = started(client)
    before = client.get(path).headers["etag"]

    assert outcomes(send(client, path, [])) == []
    assert client.get(path).headers["etag"] == before

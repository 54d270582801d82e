"""Jobs that belong together show each other: a comeback, a recheck, a warranty claim."""

from typing import Any
from uuid import uuid4

import httpx
import pytest

from tests.exchange_api.bay_desk import close, plan_of, problem, started

Related = list[dict[str, str]]


def put(client: httpx.Client, path: str, plan_id: Any, related: Related) -> httpx.Response:
    return client.put(path, json={"plan_id": str(plan_id), "related": related})


def named(path: str, relation: str = "comeback") -> dict[str, str]:
    return {"job_id": path.rpartition("/")[2], "relation": relation}


def new() -> str:
    return f"/v1/jobs/{uuid4()}"


@pytest.mark.parametrize("relation", ["comeback", "recheck", "warranty"])
def test_both_jobs_show_each_other(client: httpx.Client, relation: str) -> None:
    first, bay = started(client)
    close(client, first)
    before = client.get(first)
    path = new()
    made = put(client, path, bay.plan.plan_id, [named(first, relation)])
    after = client.get(first)

    assert made.status_code == 201
    assert made.json()["related"] == [named(first, relation) | {"direction": "to"}]
    assert before.json()["related"] == []
    assert after.json()["related"] == [named(path, relation) | {"direction": "from"}]
    assert after.headers["etag"] != before.headers["etag"]
    assert after.json()["closing"] == before.json()["closing"]


def test_a_job_belongs_to_several_and_several_to_it(client: httpx.Client) -> None:
    first, bay = started(client)
    second, third = new(), new()
    put(client, second, bay.plan.plan_id, [named(first)])
    put(client, third, bay.plan.plan_id, [named(first, "warranty"), named(second, "recheck")])

    def shown(path: str) -> set[tuple[str, str, str]]:
        related = client.get(path).json()["related"]
        return {(one["job_id"], one["relation"], one["direction"]) for one in related}

    ids = [path.rpartition("/")[2] for path in (first, second, third)]
    assert shown(first) == {(ids[1], "comeback", "from"), (ids[2], "warranty", "from")}
    assert shown(second) == {(ids[0], "comeback", "to"), (ids[2], "recheck", "from")}
    assert shown(third) == {(ids[0], "warranty", "to"), (ids[1], "recheck", "to")}


def test_the_same_again_changes_nothing(client: httpx.Client) -> None:
    first, bay = started(client)
    second, _ = started(client, bay.plan)
    path = new()
    both = [named(first), named(second, "recheck")]
    made = put(client, path, bay.plan.plan_id, both)
    tags = [client.get(one).headers["etag"] for one in (first, second, path)]
    again = put(client, path, bay.plan.plan_id, both[::-1])

    assert (made.status_code, again.status_code) == (201, 200)
    assert again.content == made.content
    assert [client.get(one).headers["etag"] for one in (first, second, path)] == tags


def test_other_related_jobs_are_a_conflict(client: httpx.Client) -> None:
    first, bay = started(client)
    second, _ = started(client, bay.plan)
    path, plan_id = new(), bay.plan.plan_id
    put(client, path, plan_id, [named(first)])
    others: list[Related] = [
        [], [named(first, "warranty")], [named(second)], [named(first), named(second)],
    ]  # fmt: skip
    refused = [put(client, path, plan_id, related) for related in others]
    left_out = client.put(path, json={"plan_id": str(plan_id)})

    for one in [*refused, left_out]:
        assert problem(one) == (409, "conflict", {"#/related"})
    assert client.get(path).json()["related"] == [named(first) | {"direction": "to"}]
    assert client.get(second).json()["related"] == []


def test_a_job_that_is_not_there_is_named(client: httpx.Client) -> None:
    first, bay = started(client)
    path = new()
    refused = put(client, path, bay.plan.plan_id, [named(first), named(new()), named(new())])

    assert problem(refused) == (404, "not-found", {"#/related/1/job_id", "#/related/2/job_id"})
    assert client.get(path).status_code == 404
    assert client.get(first).json()["related"] == []


def test_a_job_of_another_workshop_is_not_there(
    client: httpx.Client, other_client: httpx.Client
) -> None:
    theirs, _ = started(other_client)
    plan = plan_of(client)
    refused = put(client, new(), plan.plan_id, [named(theirs)])

    assert problem(refused) == (404, "not-found", {"#/related/0/job_id"})
    assert other_client.get(theirs).json()["related"] == []


def test_a_job_does_not_belong_to_itself_nor_twice_to_another(client: httpx.Client) -> None:
    first, bay = started(client)
    path = new()
    own = put(client, path, bay.plan.plan_id, [named(path)])
    twice = put(client, path, bay.plan.plan_id, [named(first), named(first, "recheck")])

    assert problem(own) == (422, "invalid-body", {"#/related/0/job_id"})
    assert own.json()["errors"][0]["code"] == "own-id"
    assert problem(twice) == (422, "invalid-body", {"#/related/1/job_id"})
    assert twice.json()["errors"][0]["code"] == "named-twice"
    assert client.get(path).status_code == 404


def test_a_relation_is_one_of_three_and_there_are_at_most_twenty(client: httpx.Client) -> None:
    first, bay = started(client)
    odd = put(client, new(), bay.plan.plan_id, [named(first, "sequel")])
    many = put(client, new(), bay.plan.plan_id, [named(new()) for _ in range(21)])

    assert problem(odd) == (422, "invalid-body", {"#/related/0/relation"})
    assert problem(many) == (422, "invalid-body", {"#/related"})

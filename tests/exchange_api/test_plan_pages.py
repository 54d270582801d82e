"""Lists of plans: the newest first, page by page, nothing lost and nothing doubled."""

from typing import Any

import httpx
import pytest

from tests.exchange_api.bay_desk import SIX_SPEED, ask, problem

KINDS = ("invented-one", "invented-two")


@pytest.fixture
def kept(client: httpx.Client) -> list[dict[str, Any]]:
    """Seven plans, four of them of the first transmission, in the order they were made."""
    for entry_id in KINDS:
        record = SIX_SPEED | {"transmission_id": entry_id}
        client.put(f"/v1/transmissions/{entry_id}", json=record, headers={"If-None-Match": "*"})
    return [
        ask(client, transmission=None, transmission_id=KINDS[number % 2]).json()
        for number in range(7)
    ]


def walk(client: httpx.Client, **params: Any) -> list[list[str]]:
    """The plan ids of every page."""
    pages: list[list[str]] = []
    while True:
        page = client.get("/v1/plans", params=params).raise_for_status().json()
        pages.append([item["plan_id"] for item in page["items"]])
        if page["next_cursor"] is None:
            return pages
        params["cursor"] = page["next_cursor"]


@pytest.mark.parametrize("limit", [1, 2, 3, 6, 7, 8])
def test_pages_join_to_the_whole_list(
    client: httpx.Client, kept: list[dict[str, Any]], limit: int
) -> None:
    pages = walk(client, limit=limit)

    assert [one for page in pages for one in page] == [plan["plan_id"] for plan in kept[::-1]]
    assert all(len(page) == limit for page in pages[:-1])
    assert pages[-1]


def test_a_filter_holds_on_every_page(client: httpx.Client, kept: list[dict[str, Any]]) -> None:
    pages = walk(client, limit=2, transmission_id=KINDS[0])

    assert [one for page in pages for one in page] == [plan["plan_id"] for plan in kept[::-2]]


def test_what_is_kept_between_two_pages_moves_nothing(
    client: httpx.Client, kept: list[dict[str, Any]]
) -> None:
    first = client.get("/v1/plans", params={"limit": 3}).json()
    ask(client)
    rest = walk(client, limit=3, cursor=first["next_cursor"])

    seen = [item["plan_id"] for item in first["items"]] + [one for page in rest for one in page]
    assert seen == [plan["plan_id"] for plan in kept[::-1]]


def test_an_item_says_what_a_list_needs(client: httpx.Client, kept: list[dict[str, Any]]) -> None:
    item = client.get("/v1/plans", params={"limit": 1}).json()["items"][0]

    assert item == {name: kept[-1][name] for name in ("plan_id", "created_at", "route")} | {
        "service_date": "2026-03-04",
        "transmission_id": KINDS[0],
        "feasible": True,
        "supersedes": None,
    }


def test_a_cursor_serves_its_own_filter_alone(
    client: httpx.Client, kept: list[dict[str, Any]]
) -> None:
    cursor = client.get("/v1/plans", params={"limit": 2}).json()["next_cursor"]
    other = client.get("/v1/plans", params={"cursor": cursor, "transmission_id": KINDS[0]})

    assert len(kept) > 2
    assert problem(other) == (400, "invalid-parameter", {"cursor"})


def test_a_cursor_shows_nothing_of_another_workshop(
    client: httpx.Client, other_client: httpx.Client, kept: list[dict[str, Any]]
) -> None:
    cursor = client.get("/v1/plans", params={"limit": 2}).json()["next_cursor"]

    assert len(kept) > 2
    assert other_client.get("/v1/plans", params={"cursor": cursor}).json()["items"] == []


@pytest.mark.parametrize(
    "params",
    [{"limit": 0}, {"limit": 201}, {"limit": "ten"}, {"cursor": "!"}, {"cursor": "AAAA"},
     {"colour": "red"}, {"transmission_id": "No Slug"}],
    ids=str,
)  # fmt: skip
def test_a_wrong_parameter_is_named(client: httpx.Client, params: dict[str, Any]) -> None:
    answered = client.get("/v1/plans", params=params)

    assert problem(answered) == (400, "invalid-parameter", set(params))

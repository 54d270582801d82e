"""The dealer management system: from vehicle facts to a quotation that can be trusted again."""

from decimal import Decimal
from uuid import uuid4

import httpx
import pytest

from tests.end_to_end.conftest import Served
from tests.end_to_end.orders import ask, order


def test_a_transmission_is_found_by_what_the_counter_knows(dealer: httpx.Client) -> None:
    params = {"model": "Invented saloon 200", "year": "2018"}
    found = dealer.get("/v1/transmissions", params=params).json()["items"]

    assert [one["entry"]["transmission_id"] for one in found] == ["invented-six-speed"]


@pytest.mark.parametrize(
    ("transmission_id", "fluid_id", "route"),
    [
        ("invented-six-speed", "invented-red-fluid", "pan_and_filter_then_line"),
        ("invented-wet-dual-clutch", "invented-amber-fluid", "pan_and_filter"),
        ("invented-cvt-converter", "invented-green-fluid", "drain_cycles"),
    ],
)
def test_each_kind_of_unit_gets_its_route_and_every_other_one_with_reasons(
    dealer: httpx.Client, transmission_id: str, fluid_id: str, route: str
) -> None:
    plan = ask(dealer, transmission_id=transmission_id, fluid_id=fluid_id).json()
    share, litres = plan["forecast"]["fresh_share"], plan["litres"]

    assert (plan["feasible"], plan["route"]) == (True, route)
    assert len({one["route"] for one in plan["alternatives"]}) == 8
    assert all(one["reasons"] for one in plan["alternatives"] if one["standing"] == "no")
    assert 0 < share["low"] < share["expected"] <= share["high"] <= plan["forecast"]["ceiling"]
    assert litres["minimum"]["value"] <= litres["planned"]["value"] <= litres["maximum"]["value"]
    assert plan["catalogue_versions"]["transmission"]["scope"] == "installation"


def test_the_quote_lines_sum_to_the_cost_of_the_route(dealer: httpx.Client) -> None:
    plan = ask(dealer).json()
    chosen = next(one for one in plan["alternatives"] if one["route"] == plan["route"])
    lines = [Decimal(line["amount"]["amount"]) for line in plan["quote_lines"]]

    assert {line["kind"] for line in plan["quote_lines"]} == {
        "labour", "fluid", "part", "used_fluid",
    }  # fmt: skip
    assert sum(lines) == Decimal(chosen["cost"]["amount"])
    assert chosen["cost"]["currency"] == "EUR"


def test_without_prices_nothing_is_priced(dealer: httpx.Client) -> None:
    plan = ask(dealer, prices=None).json()

    assert plan["quote_lines"]
    assert {line["amount"] for line in plan["quote_lines"]} == {None}
    assert {one["cost"] for one in plan["alternatives"]} == {None}


def test_a_question_that_was_lost_on_the_way_is_asked_again(dealer: httpx.Client) -> None:
    headers = {"Idempotency-Key": str(uuid4())}
    first = dealer.post("/v1/plans", json=order(), headers=headers)
    again = dealer.post("/v1/plans", json=order(), headers=headers)

    assert again.content == first.content


def test_a_correction_names_what_it_replaces_and_both_stay(dealer: httpx.Client) -> None:
    first = ask(dealer)
    second = ask(dealer, reason="heavy_use", supersedes=first.json()["plan_id"])
    listed = dealer.get("/v1/plans", params={"limit": 2}).json()["items"]

    assert [one["plan_id"] for one in listed] == [
        second.json()["plan_id"], first.json()["plan_id"],
    ]  # fmt: skip
    assert listed[0]["supersedes"] == listed[1]["plan_id"]
    assert dealer.get(first.headers["location"]).content == first.content


def test_the_neighbour_sees_none_of_it(dealer: httpx.Client, neighbour: httpx.Client) -> None:
    path = ask(dealer).headers["location"]

    assert neighbour.get(path).status_code == 404
    assert path.rpartition("/")[2] not in neighbour.get("/v1/plans").text


def test_the_example_shows_what_a_counter_needs(served: Served, dealer: httpx.Client) -> None:
    told = served.run("dealer_system/ask_plan.py", "Invented workshop Alder").splitlines()
    plan = dealer.get(f"/v1/plans/{told[-1].removeprefix('plan ')}").json()

    assert told[0].startswith("pan and filter then line: 8.4 L, about 80 of 100 parts renewed")
    assert told[0].endswith("calculated, not measured")
    assert len(told) == 1 + len(plan["alternatives"]) + len(plan["quote_lines"]) + 1

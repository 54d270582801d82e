"""What the counter can offer and tell: containers, missing prices, the next service, waiting."""

from decimal import Decimal
from typing import Any

import httpx
import pytest

from tests.end_to_end.orders import PRICES, ask

CONTAINERS = [
    {"size": {"value": 1, "unit": "L"}, "price": {"amount": "14.50", "currency": "EUR"}},
    {"size": {"value": 5, "unit": "L"}, "price": {"amount": "60.00", "currency": "EUR"}},
]
BY_CONTAINER = PRICES | {"fluid_containers": CONTAINERS}


def codes(findings: list[dict[str, Any]]) -> set[str]:
    return {finding["code"] for finding in findings}


def chosen(plan: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = next(a for a in plan["alternatives"] if a["route"] == plan["route"])
    return found


def test_the_fluid_is_offered_in_the_containers_to_open(dealer: httpx.Client) -> None:
    plan = ask(dealer, prices=BY_CONTAINER, route="pan_and_filter_then_line").json()
    fluid = [line for line in plan["quote_lines"] if line["kind"] == "fluid"]

    assert plan["litres"]["maximum"]["value"] == 9.4
    assert plan["containers"] == [{"size": {"value": 5, "unit": "L"}, "count": 2}]
    assert [(line["count"], line["amount"]["amount"]) for line in fluid] == [(2, "120.00")]
    lines = sum(Decimal(line["amount"]["amount"]) for line in plan["quote_lines"])
    assert Decimal(chosen(plan)["cost"]["amount"]) == lines


def test_a_cost_that_cannot_be_told_says_which_price_it_lacks(dealer: httpx.Client) -> None:
    prices = {name: price for name, price in PRICES.items() if name != "filter_kit"}
    plan = ask(dealer, prices=prices, route="pan_and_filter").json()

    (told,) = (f for f in plan["findings"] if f["code"] == "price-missing")
    assert (told["severity"], told["values"]) == ("note", {"missing": "filter_kit"})
    assert chosen(plan)["cost"] is None


@pytest.mark.parametrize(
    ("prices", "pointer"),
    [
        (PRICES | {"fluid_containers": [CONTAINERS[0], CONTAINERS[1] | {
            "price": {"amount": "60", "currency": "CHF"}}]}, "#/prices"),
        (PRICES | {"fluid_containers": [CONTAINERS[0] | {"size": {"value": 0, "unit": "L"}}]},
         "#/prices/fluid_containers/0/size"),
    ],
)  # fmt: skip
def test_prices_that_cannot_be_added_are_refused(
    dealer: httpx.Client, prices: dict[str, Any], pointer: str
) -> None:
    with pytest.raises(httpx.HTTPStatusError) as refused:
        ask(dealer, prices=prices)

    assert [error["pointer"] for error in refused.value.response.json()["errors"]] == [pointer]


def test_the_next_service_is_told_with_its_reasons(dealer: httpx.Client) -> None:
    last = {
        "service_date": "2022-03-04",
        "odometer": {"value": 28_000, "unit": "km"},
        "fresh_share": 0.8,
    }
    normal = ask(dealer, last_service=last).json()["next_service"]
    towing = ask(dealer, last_service=last, duty="trailer_or_mountain").json()["next_service"]

    assert normal["due_odometer"]["value"] == 88_000 + normal["after_distance"]["value"]
    assert towing["after_distance"]["value"] < normal["after_distance"]["value"]
    assert towing["due_on"] < normal["due_on"]
    assert normal["limited_by"] in ("damage", "maker")
    assert any("remainder factor" in reason for reason in normal["reasons"])


def test_a_plan_that_may_not_be_worked_promises_no_next_service(dealer: httpx.Client) -> None:
    due = ask(dealer, conditions=["coolant_in_fluid"]).json()["next_service"]

    assert (due["after_distance"], due["due_on"]) == (None, None)
    assert due["reasons"]


def test_waiting_for_heat_is_told_apart_from_the_work(dealer: httpx.Client) -> None:
    plan = ask(dealer, route="line_exchange").json()
    connect, warm, cool = plan["waits"]

    assert chosen(plan)["elapsed"]["value"] > chosen(plan)["hands_on"]["value"] + 1
    assert (warm["step"], cool["step"]) == ("warm_up", "cool_down")
    assert (connect["step"], connect["to"]["value"]) == ("cool_down", 45)
    assert cool["low"]["value"] < cool["expected"]["value"] < cool["high"]["value"]
    assert "memory" in warm["basis"]
    assert "temperature-perhaps-not-reached" in codes(plan["findings"])


@pytest.mark.parametrize(
    ("vehicle", "code"),
    [
        ({"vin": "1M8GDM9A1KP042788"}, "vin-check-digit-differs"),
        ({"model_year": 1965}, "model-year-outside-fits"),
    ],
)
def test_a_vehicle_that_does_not_fit_is_asked_about(
    dealer: httpx.Client, vehicle: dict[str, Any], code: str
) -> None:
    plan = ask(dealer, vehicle=vehicle).json()

    assert code in codes(plan["findings"])
    assert plan["feasible"]
    assert "1M8GDM9A1KP042788" not in str(plan["findings"])


def test_burnt_fluid_leaves_one_opening_and_an_early_look(dealer: httpx.Client) -> None:
    plan = ask(dealer, conditions=["burnt_smell"]).json()

    assert plan["route"] in ("drain", "pan_and_filter")
    assert "used-fluid-smells-burnt" in codes(plan["findings"])
    assert plan["next_service"]["recheck"]["latest"]["value"] == 1500

"""The dealer management system: it asks for service plans and shows what a counter needs."""

from typing import Any

import httpx

from exchange_api.demo.account import Account
from exchange_api.outside import Outside

VEHICLES = (
    ("Invented saloon 200", "invented-car-7", 2018, 88_000, "routine"),
    ("Invented hatchback 100", "invented-car-8", 2019, 61_000, "heavy_use"),
)
PRICES = {
    "fluid_per_litre": {"amount": "14.50", "currency": "EUR"},
    "labour_per_hour": {"amount": "96.00", "currency": "EUR"},
    "filter_kit": {"amount": "52.00", "currency": "EUR"},
    "used_fluid_per_litre": {"amount": "0.60", "currency": "EUR"},
}


def ask_plans(client: httpx.Client, account: Account, outside: Outside) -> list[dict[str, Any]]:
    """Plans for two vehicles, found by vehicle facts; each is told."""
    account.title("The dealer management system asks for plans")
    return [_ask(client, account, outside, *vehicle) for vehicle in VEHICLES]


def _ask(
    client: httpx.Client,
    account: Account,
    outside: Outside,
    model: str,
    reference: str,
    model_year: int,
    odometer_km: int,
    reason: str,
) -> dict[str, Any]:
    found = client.get("/v1/transmissions", params={"model": model, "year": model_year})
    entry = found.raise_for_status().json()["items"][0]["entry"]
    fluids = client.get("/v1/fluids", params={"kind": entry["fluid_kinds"][0]})
    request = {
        "requested_at": outside.now().isoformat(),
        "service_date": outside.now().date().isoformat(),
        "vehicle": {
            "reference": reference,
            "model_year": model_year,
            "odometer": {"value": odometer_km, "unit": "km"},
        },
        "transmission_id": entry["transmission_id"],
        "fluid_id": fluids.raise_for_status().json()["items"][0]["entry"]["fluid_id"],
        "reason": reason,
        "prices": PRICES,
    }
    headers = {"Idempotency-Key": outside.new_id()}
    answered = client.post("/v1/plans", json=request, headers=headers)
    plan: dict[str, Any] = answered.raise_for_status().json()
    account.line(f"Asked: {reason.replace('_', ' ')} service, {model} of {model_year}, "
                 f"{odometer_km:,} km, {entry['name']}")  # fmt: skip
    _tell(plan, account)
    return plan


def _tell(plan: dict[str, Any], account: Account) -> None:
    share = plan["forecast"]["fresh_share"]
    account.line(f"Route: {_words(plan['route'])}, {_litres(plan['litres']['planned'])} "
                 f"(at hand {_litres(plan['litres']['maximum'])})")  # fmt: skip
    account.line(f"Fresh share: low {share['low']:.2f}, expected {share['expected']:.2f}, "
                 f"high {share['high']:.2f}; calculated, not measured")  # fmt: skip
    if plan["rule_of_thumb"]:
        thumb = plan["rule_of_thumb"]
        account.line(f"Rule of thumb, lines only: {_litres(thumb['litres'])} would reach "
                     f"{thumb['fresh_share']:.2f}")  # fmt: skip
    _tell_supplies(plan, account)
    account.line(_ROW.format(*_HEADS))
    for one in plan["alternatives"]:
        account.line(_ROW.format(*_alternative(one)))
    for one in plan["alternatives"]:
        for reason in one["reasons"]:
            account.line(f"{_words(one['route'])}: {reason['title'].lower()}")
    for step in plan["steps"]:
        account.line(f"{step['step_id']}  {step['title']}{_quantity(step)}")
        if step["gate"]:
            account.line(f"         gate: {step['gate']['text']}")
    account.gap()


def _tell_supplies(plan: dict[str, Any], account: Account) -> None:
    """What the counter orders, promises and writes down for the next visit."""
    sizes = [f"{one['count']} of {one['size']['value']:g} L" for one in plan["containers"] or ()]
    account.line(f"Containers: {' and '.join(sizes) or 'sizes not known'}")
    for wait in plan["waits"]:
        account.line(f"{_words(wait['step']).capitalize()} to {wait['to']['value']:g} °C: "
                     f"{_wait(wait)}")  # fmt: skip
    account.line(f"Next service: {_next(plan['next_service'])}")


def _wait(wait: dict[str, Any]) -> str:
    """Minutes, or how many get there at all where most do not."""
    if wait["expected"] is None:
        return f"{100 * wait['reached']:.0f} of 100 typical cars get there at idle"
    low, expected, high = (wait[name]["value"] for name in ("low", "expected", "high"))
    return f"{expected:.0f} min ({low:.0f} to {high:.0f}), forecast"


def _next(due: dict[str, Any]) -> str:
    day = f" or on {due['due_on']}" if due["due_on"] else ""
    return f"after {due['after_distance']['value']:,.0f} km{day}, by {_DUE_BY[due['limited_by']]}"


_DUE_BY = {"maker": "the maker's schedule", "damage": "the wear of the fluid"}
_HEADS = ("route", "standing", "litres", "share", "hands on", "elapsed", "price")
_ROW = "{:26}{:10}{:>7} {:>6} {:>9} {:>8} {:>12}"


def _quantity(step: dict[str, Any]) -> str:
    return f" ({_litres(step['quantity'])})" if step["quantity"] else ""


def _alternative(one: dict[str, Any]) -> tuple[str, ...]:
    return (
        _words(one["route"]),
        one["standing"],
        _litres(one["litres"]),
        f"{one['fresh_share']['expected']:.2f}",
        f"{one['hands_on']['value']:.1f} h",
        f"{one['elapsed']['value']:.1f} h",
        f"{one['cost']['amount']} {one['cost']['currency']}" if one["cost"] else "not asked",
    )


def _words(name: str) -> str:
    return name.replace("_", " ")


def _litres(volume: dict[str, Any]) -> str:
    return f"{volume['value']:.1f} L"

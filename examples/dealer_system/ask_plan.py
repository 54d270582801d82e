"""A dealer management system asks for a service plan and shows what a counter needs.

Vehicle, transmission, fluid and prices are invented. With a service that knows the invented
catalogue:

    python examples/dealer_system/ask_plan.py http://127.0.0.1:8000 KEY
"""

import sys
from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

import httpx

PRICES = {
    "fluid_per_litre": {"amount": "14.50", "currency": "EUR"},
    "labour_per_hour": {"amount": "96.00", "currency": "EUR"},
    "filter_kit": {"amount": "52.00", "currency": "EUR"},
    "used_fluid_per_litre": {"amount": "0.60", "currency": "EUR"},
}


def find(client: httpx.Client, model: str, year: int) -> dict[str, Any]:
    """The transmission of a vehicle, by what the counter knows of it."""
    found = client.get("/v1/transmissions", params={"model": model, "year": year})
    entry: dict[str, Any] = found.raise_for_status().json()["items"][0]["entry"]
    return entry


def request_for(transmission: dict[str, Any], fluid_id: str) -> dict[str, Any]:
    """What the plan is asked with; the prices stay ours and come back in the quote lines."""
    now = datetime.now(UTC)
    return {
        "requested_at": now.isoformat(),
        "service_date": now.date().isoformat(),
        "vehicle": {
            "reference": "invented-car-7",
            "model_year": 2018,
            "odometer": {"value": 88_000, "unit": "km"},
        },
        "transmission_id": transmission["transmission_id"],
        "fluid_id": fluid_id,
        "reason": "routine",
        "prices": PRICES,
    }


def ask(client: httpx.Client, request: dict[str, Any], *, tries: int = 3) -> dict[str, Any]:
    """One plan, however often the line breaks: every try carries the same Idempotency-Key."""
    headers = {"Idempotency-Key": str(uuid4())}
    for left in reversed(range(tries)):
        try:
            answered = client.post("/v1/plans", json=request, headers=headers)
            plan: dict[str, Any] = answered.raise_for_status().json()
        except httpx.TransportError:
            if not left:
                raise
        else:
            return plan
    raise ValueError("tries is at least 1")


def counter_lines(plan: dict[str, Any]) -> list[str]:
    """The plan in the words of a counter: the route, then every other one with why not."""
    share, litres = plan["forecast"]["fresh_share"], plan["litres"]["planned"]["value"]
    low, expected, high = (f"{100 * share[name]:.0f}" for name in ("low", "expected", "high"))
    renewed = f"about {expected} of 100 parts renewed ({low} to {high}), calculated, not measured"
    lines = [f"{_words(plan['route'])}: {litres:.1f} L, {renewed}"]
    for one in plan["alternatives"]:
        why = "; ".join(reason["title"] for reason in one["reasons"]) or "nothing against it"
        lines.append(f"  {_words(one['route'])}, {_price(one)}: {one['standing']}, {why}")
    return lines + [f"  {line['title']}: {_amount(line['amount'])}" for line in plan["quote_lines"]]


def _price(alternative: dict[str, Any]) -> str:
    return _amount(alternative["cost"])


def _amount(money: dict[str, str] | None) -> str:
    return f"{money['amount']} {money['currency']}" if money else "not priced"


def _words(name: str) -> str:
    return name.replace("_", " ")


def main(url: str, key: str) -> None:
    """Find the transmission, ask for a plan, show it."""
    with httpx.Client(base_url=url, headers={"Authorization": f"Bearer {key}"}) as client:
        transmission = find(client, "Invented saloon 200", 2018)
        plan = ask(client, request_for(transmission, "invented-red-fluid"))
    print("\n".join(counter_lines(plan)))
    print(f"plan {plan['plan_id']}")


if __name__ == "__main__":
    main(*sys.argv[1:])

"""What the counter asks for, in the words of the invented catalogue."""

from typing import Any
from uuid import uuid4

import httpx

PRICES = {
    "fluid_per_litre": {"amount": "14.50", "currency": "EUR"},
    "labour_per_hour": {"amount": "96.00", "currency": "EUR"},
    "filter_kit": {"amount": "52.00", "currency": "EUR"},
    "used_fluid_per_litre": {"amount": "0.60", "currency": "EUR"},
}


def order(**changes: Any) -> dict[str, Any]:
    whole = {
        "requested_at": "2026-03-02T09:30:00+01:00",
        "service_date": "2026-03-04",
        "vehicle": {
            "reference": "invented-car-7",
            "model_year": 2018,
            "odometer": {"value": 88_000, "unit": "km"},
        },
        "transmission_id": "invented-six-speed",
        "fluid_id": "invented-red-fluid",
        "reason": "routine",
        "prices": PRICES,
    } | changes
    return {name: value for name, value in whole.items() if value is not None}


def ask(client: httpx.Client, **changes: Any) -> httpx.Response:
    headers = {"Idempotency-Key": str(uuid4())}
    return client.post("/v1/plans", json=order(**changes), headers=headers).raise_for_status()

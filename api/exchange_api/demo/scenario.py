"""An invented trade region: five workshops and their plans of three months, always the same."""

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from random import Random
from typing import Any

SEED = 20260
PLANS = 400
MONTHS = 3

WORKSHOPS = {
    "Invented workshop Alder": "north",
    "Invented workshop Birch": "north",
    "Invented workshop Cedar": "north",
    "Invented workshop Dogwood": "south",
    "Invented workshop Elm": "south",
}
"""The workshops and their regions."""

UNITS = {
    "invented-six-speed": ("invented-red-fluid", 46),
    "invented-wet-dual-clutch": ("invented-amber-fluid", 26),
    "invented-cvt-converter": ("invented-green-fluid", 18),
    "invented-nine-speed": ("invented-red-fluid", 9),
    "invented-heavy-duty": ("invented-red-fluid", 1),
}
"""Transmissions with the fluid they take and how often they come."""

REASONS = {"routine": 80, "heavy_use": 14, "maker_drain": 6}
CONDITIONS = {"": 78, "high_distance_never_serviced": 14, "burnt_smell": 5, "leak": 3}


def closed_months(today: date, count: int = MONTHS) -> list[date]:
    """The first days of the last closed months, the oldest first.

    >>> closed_months(date(2026, 2, 10))
    [datetime.date(2025, 11, 1), datetime.date(2025, 12, 1), datetime.date(2026, 1, 1)]
    """
    months, first = [], today.replace(day=1)
    for _ in range(count):
        first = (first - timedelta(days=1)).replace(day=1)
        months.append(first)
    return months[::-1]


def requests(now: datetime) -> Iterator[tuple[str, dict[str, Any]]]:
    """A workshop and a plan request at a time, seeded; `now` only places the months."""
    chance = Random(SEED)  # noqa: S311 -- the same invented story every time is the purpose
    months = closed_months(now.date())
    for number in range(PLANS):
        workshop = chance.choice(list(WORKSHOPS))
        yield workshop, _request(chance, now, months, number)


def _request(chance: Random, now: datetime, months: list[date], number: int) -> dict[str, Any]:
    unit = _weighted(chance, {name: weight for name, (_, weight) in UNITS.items()})
    condition = _weighted(chance, CONDITIONS)
    model_year = chance.choice([2016, 2017, 2018, 2018, 2019, 2020])
    odometer_km = chance.choice([70_000, 90_000, 110_000, 130_000]) + chance.randrange(9000)
    return {
        "requested_at": now.isoformat(),
        "service_date": (chance.choice(months) + timedelta(days=chance.randrange(28))).isoformat(),
        "vehicle": {
            "reference": f"invented-{number:03d}",
            "model_year": model_year,
            "odometer": {"value": odometer_km, "unit": "km"},
        },
        "transmission_id": unit,
        "fluid_id": UNITS[unit][0],
        "reason": _weighted(chance, REASONS),
        "conditions": [condition] if condition else [],
    }


def _weighted(chance: Random, weights: dict[str, int]) -> str:
    return chance.choices(list(weights), weights=list(weights.values()))[0]

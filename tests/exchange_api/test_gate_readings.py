"""How many readings a gate takes over HTTP: an hour, once a second, with all that is measured."""

from datetime import UTC, datetime, timedelta
from typing import Any

import httpx

from libexchange.readings import MOST_READINGS

PATH = "/v1/calculations/gate"
START = datetime(2024, 5, 2, 9, 0, 0, 250_000, tzinfo=UTC)


def body(readings: int) -> dict[str, Any]:
    moments = [START + timedelta(seconds=second) for second in range(readings)]
    return {
        "kind": "line_exchange",
        "low": {"value": 177.8, "unit": "[degF]"},
        "readings": [
            {
                "at": at.isoformat(),
                "source": "in_line",
                "temperature": {"value": 183.02, "unit": "[degF]"},
                "flow": {"value": 2.125, "unit": "L/min"},
                "pressure": {"value": 12.05, "unit": "[psi]"},
                "engine_running": True,
            }
            for at in moments
        ],
        "at": moments[-1].isoformat(),
    }


def test_an_hour_of_full_readings_is_judged(client: httpx.Client) -> None:
    answered = client.post(PATH, json=body(3600))

    assert answered.status_code == 200
    assert answered.json()["state"] == "open"


def test_more_are_refused_by_their_number_and_not_by_their_bytes(client: httpx.Client) -> None:
    answered = client.post(PATH, json=body(MOST_READINGS + 1))

    (fault,) = answered.json()["errors"]
    assert answered.status_code == 422
    assert (fault["pointer"], fault["code"]) == ("#/readings", "too-long")

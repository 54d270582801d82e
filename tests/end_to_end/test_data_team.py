"""The data team: closed months without people in them, counted again from outside."""

from datetime import UTC, date, datetime, timedelta

import httpx
import pytest

from tests.end_to_end.conftest import Served
from tests.end_to_end.orders import ask

COMMON, RARE = 24, 3


def last_closed_month() -> date:
    first = datetime.now(UTC).date().replace(day=1)
    return (first - timedelta(days=1)).replace(day=1)


@pytest.fixture(scope="module")
def release(served: Served) -> str:
    """A closed month with many vehicles of one kind, a few of another, and one year of a third."""
    month = last_closed_month()
    with served.client("Invented workshop Alder") as client:
        for number in range(COMMON + RARE):
            unit = "invented-six-speed" if number < COMMON else "invented-heavy-duty"
            ask(
                client,
                service_date=month.replace(day=1 + number).isoformat(),
                transmission_id=unit,
                vehicle={
                    "reference": f"invented-plate-{number}",
                    "model_year": 2018,
                    "odometer": {"value": 88_000 + number, "unit": "km"},
                },
            )
    return f"{month:%Y-%m}"


def test_the_example_counts_the_k_that_is_told(served: Served, release: str) -> None:
    told = served.run("data_team/pull_release.py", "Invented data team", release).splitlines()

    assert told[:2] == [
        f"{COMMON} rows, {RARE} suppressed",
        f"k as told {COMMON}, as counted {COMMON}",
    ]


def test_nothing_of_a_vehicle_or_a_workshop_goes_out(data_team: httpx.Client, release: str) -> None:
    told = data_team.get("/v1/exports/plans", params={"release": release})

    assert told.status_code == 200
    for word in ("plate", "Alder", "88000", "88001", "invented", f"{release}-"):
        assert word not in told.text


def test_the_open_month_is_not_given_out(data_team: httpx.Client) -> None:
    open_month = f"{datetime.now(UTC):%Y-%m}"

    answered = data_team.get("/v1/exports/plans", params={"release": open_month})
    assert answered.status_code in (404, 409)


def test_the_data_team_reads_no_plan_of_a_workshop(data_team: httpx.Client, release: str) -> None:
    assert release
    assert data_team.get("/v1/plans").json()["items"] == []

"""Readings of distance and hours over the services: gaps, falls, and where they stand."""

from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import ValidationError, convert

from libexchange.interval import steady_interval
from libexchange.interval_measures import leading, measures
from libexchange.next_due import next_due
from libexchange.use_case import NextDue, UseCase

TODAY = "2024-05-02"


def km(value: float) -> dict[str, object]:
    return {"value": value, "unit": "km"}


def service(day: str, odometer: float | None, hours: float | None = None) -> dict[str, Any]:
    read = None if odometer is None else km(odometer)
    return {"service_date": day, "fresh_share": 0.8, "odometer": read, "engine_hours": hours}


def case(*services: dict[str, Any], odometer: float | None = 100_000, **more: Any) -> UseCase:
    read = None if odometer is None else km(odometer)
    return convert({"today": TODAY, "odometer": read, "services": list(services)} | more, UseCase)


def due(*services: dict[str, Any], odometer: float | None = 100_000, **more: Any) -> NextDue:
    return next_due(case(*services, odometer=odometer, **more))


def pointers(answer: NextDue, code: str) -> list[str]:
    return [finding.pointer for finding in answer.findings if finding.code == code]


def test_case_80_a_fall_is_told_where_it_stands_in_the_request() -> None:
    """The newest service comes first in the request; it fell from 150,000 to 80,000 km."""
    answer = due(service("2023-01-01", 80_000), service("2020-01-01", 150_000))

    assert pointers(answer, "odometer-below-last-service") == ["#/services/0/odometer"]


def test_case_80_a_fall_since_the_last_service_is_told_at_todays_reading() -> None:
    answer = due(service("2023-01-01", 100_002))

    assert pointers(answer, "odometer-below-last-service") == ["#/odometer"]
    found = next(f for f in answer.findings if f.code == "odometer-below-last-service")
    assert found.values == {"odometer_km": 100_000, "before_km": 100_002}
    assert pointers(due(service("2023-01-01", 100_001)), "odometer-below-last-service") == []


def test_case_80_an_hour_meter_that_fell_is_told_too() -> None:
    answer = due(service("2023-01-01", 90_000, 500), engine_hours=499)

    assert pointers(answer, "engine-hours-below-last-service") == ["#/engine_hours"]


def test_a_fall_is_seen_across_a_service_without_a_reading() -> None:
    answer = due(service("2020-01-01", 150_000), service("2021-01-01", None))

    assert pointers(answer, "odometer-below-last-service") == ["#/odometer"]


@pytest.mark.parametrize(
    ("services", "odometer", "pointer"),
    [
        (
            [service("2023-01-01", 50_000), service("2020-01-01", None)],
            1e5,
            "#/services/1/odometer",
        ),
        ([service("2023-01-01", 50_000)], None, "#/odometer"),
    ],
)
def test_a_missing_reading_is_told_where_it_is_missing(
    services: list[dict[str, Any]], odometer: float | None, pointer: str
) -> None:
    assert pointers(due(*services, odometer=odometer), "use-since-service-unknown") == [pointer]


def test_use_across_a_service_without_a_reading_counts_after_it() -> None:
    across = due(service("2020-01-01", 20_000), service("2022-01-01", None), damage_before=0.0)

    assert across.damage == pytest.approx(80_000 / 160_000)


def test_steps_are_exact_and_nothing_where_nothing_is_known() -> None:
    rows = [service("2020-01-01", None), service("2021-01-01", 20.0), service("2022-01-01", None),
            service("2023-01-01", 50.0)]  # fmt: skip
    distance, hours = measures(case(*rows, odometer=40.0), range(4))

    assert distance.steps() == [0.0, 0.0, 30.0, 0.0]
    assert hours.steps() == [0.0, 0.0, 0.0, 0.0]


def test_hours_tell_the_wear_where_only_they_are_known_throughout() -> None:
    rows = [service("2020-01-01", None, 0.0)]
    by_hours = due(*rows, engine_hours=1000.0, damage_before=0.0)

    assert by_hours.damage == pytest.approx(1000 / 4000)
    assert (by_hours.engine_hours_by, by_hours.odometer_by) == ("damage", None)
    assert pointers(by_hours, "use-since-service-unknown") == []


@pytest.mark.parametrize(
    ("odometers", "hours", "unit"),
    [
        ([50_000, 100_000], [10, 20], "km"),
        ([None, 100_000], [10, 20], "h"),
        ([150_000, 100_000], [10, 20], "h"),
        ([150_000, 100_000], [30, 20], "km"),
        ([150_000, 100_000], [10, None], "km"),
        ([50_000, None], [10, None], "h"),
    ],
)
def test_distance_leads_unless_only_the_hours_are_whole(
    odometers: list[float | None], hours: list[float | None], unit: str
) -> None:
    use = case(service("2020-01-01", odometers[0], hours[0]), odometer=odometers[1],
               engine_hours=hours[1])  # fmt: skip

    assert leading(*measures(use, [0])).unit == unit


@pytest.mark.parametrize(
    ("share", "every_km"), [(0.4, 17_700), (0.8, 43_900), (0.9, 50_400)], ids=lambda v: f"{v}"
)
def test_the_interval_that_settles_in_city_driving(share: float, every_km: float) -> None:
    """[computed] full life of 57,000 km, figures to the hundred."""
    last = service(TODAY, 100_000) | {"fresh_share": share}
    answer = due(last, full_life=km(57_000))

    assert answer.steady_distance is not None
    assert answer.steady_distance.km == pytest.approx(every_km, abs=50)
    assert answer.steady_engine_hours is None


def test_the_interval_that_settles_is_of_this_use_and_of_the_last_service() -> None:
    first = service("2020-01-01", 20_000) | {"fresh_share": 0.3}
    answer = due(service(TODAY, 100_000), first, duty="city", remainder_factor=1.0)

    assert answer.steady_distance is not None
    assert answer.steady_distance.km == pytest.approx(0.8 * 160_000 / 1.5)
    assert answer.reasons[-1].endswith("85,333 km lie between them.")


@pytest.mark.parametrize(("maker_km", "every_km"), [(123_199, 123_199), (123_201, 123_200)])
def test_the_interval_that_settles_is_capped_by_the_maker(maker_km: float, every_km: float) -> None:
    answer = due(service(TODAY, 100_000), maker={"distance": km(maker_km)})

    assert answer.steady_distance is not None
    assert answer.steady_distance.km == pytest.approx(every_km)
    assert ("the maker allows" in answer.reasons[-1]) is (maker_km < 123_200)


def test_by_hours_the_interval_that_settles_is_in_hours() -> None:
    answer = due(service(TODAY, None, 100.0), odometer=None, engine_hours=100.0)

    assert answer.steady_distance is None
    assert answer.steady_engine_hours == pytest.approx(0.77 * 4000)


def test_without_a_service_nothing_settles() -> None:
    answer = due()

    assert (answer.steady_distance, answer.steady_engine_hours) == (None, None)


@given(share=st.floats(0, 1), factor=st.floats(1, 1.3))
def test_services_at_the_settled_interval_keep_it(share: float, factor: float) -> None:
    """Two services so far apart: the second is due again after the same distance."""
    every = steady_interval(full_life=160_000, fresh_share=share, remainder_factor=factor)
    rows = [service("2020-01-01", 0), service("2022-01-01", every)]
    answer = due(*[row | {"fresh_share": share} for row in rows], odometer=every,
                 remainder_factor=factor)  # fmt: skip

    assert answer.steady_distance is not None
    assert answer.odometer is not None
    assert answer.steady_distance.km == pytest.approx(every)
    assert answer.odometer.km - every == pytest.approx(every, abs=1e-3)


@pytest.mark.parametrize(
    ("rows", "odometer", "maker", "message"),
    [
        ([service("2020-05-02", None)], None, {"months": 47}, "It is beyond by 30 days."),
        ([service("2020-05-02", None)], None, {"months": 48}, None),
        (
            [service("2020-05-02", 40_000)], 1e5, {"distance": km(59_000)},
            "It is beyond by 1,000 km.",
        ),
        ([service("2020-05-02", 40_000)], 1e5, {"distance": km(60_000)}, None),
        ([service("2020-05-02", 0)], 124e3, {}, "It is worn out."),
        ([service("2020-05-02", 0)], 123e3, {}, None),
        (
            [service("2020-05-02", 40_000)], 1e5, {"distance": km(59_000), "months": 47},
            "It is beyond by 1,000 km, 30 days.",
        ),
    ],
)  # fmt: skip
def test_case_79_what_is_overdue_says_by_how_much(
    rows: list[dict[str, Any]], odometer: float | None, maker: dict[str, Any], message: str | None
) -> None:
    answer = due(*rows, odometer=odometer, maker=maker)

    told = [f.message for f in answer.findings if f.code == "service-due-already"]
    assert told == ([message] if message else [])


def test_fluid_that_was_worn_out_before_says_so_without_any_reading() -> None:
    answer = due(odometer=None, damage_before=1.2)

    assert [f.message for f in answer.findings if f.code == "service-due-already"] == [
        "It is worn out."
    ]


@pytest.mark.parametrize("moment", ["2024-05-02T23:30:00+09:00", "2024-05-02T00:00:00Z"])
def test_case_81_a_day_has_no_zone(moment: str) -> None:
    """Whoever asks says which day it is where the vehicle is; no zone can shift it."""
    with pytest.raises(ValidationError):
        convert({"today": moment}, UseCase)


def test_case_81_a_service_on_a_leap_day_is_due_by_the_last_of_february() -> None:
    rows = service("2024-02-29", 90_000)

    assert due(rows, maker={"months": 12}).on == date(2025, 2, 28)
    assert due(rows, maker={"months": 48}).on == date(2028, 2, 29)

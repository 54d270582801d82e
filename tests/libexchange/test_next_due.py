"""When the next service is due."""

from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import convert

from libexchange.next_due import next_due
from libexchange.use_case import DUTY_WEIGHT, NextDue, UseCase

TODAY = "2024-05-02"


def km(value: float, unit: str = "km") -> dict[str, object]:
    return {"value": value, "unit": unit}


def service(day: str = TODAY, share: float = 0.8, **more: object) -> dict[str, object]:
    return {"service_date": day, "fresh_share": share, "odometer": km(100_000)} | more


def due(**changes: object) -> NextDue:
    case: dict[str, Any] = {"today": TODAY, "odometer": km(100_000), "services": [service()]}
    return next_due(convert(case | changes, UseCase))


def codes(answer: NextDue) -> list[str]:
    return [finding.code for finding in answer.findings]


def at_km(answer: NextDue) -> float:
    assert answer.odometer is not None
    return answer.odometer.km


def test_a_service_of_unknown_history_leaves_its_remainder() -> None:
    answer = due(maker={"distance": km(200_000)})

    assert answer.damage == pytest.approx(0.23)
    assert at_km(answer) == pytest.approx(100_000 + 0.77 * 160_000)
    assert answer.odometer_by == "damage"
    assert codes(answer) == ["fluid-history-unknown", "fluid-temperatures-unknown"]


@pytest.mark.parametrize("duty", list(DUTY_WEIGHT))
def test_harder_driving_shortens_the_distance_by_its_weight(duty: str) -> None:
    answer = due(duty=duty)

    assert at_km(answer) - 100_000 == pytest.approx(0.77 * 160_000 / answer.ageing)
    assert answer.ageing in {1.0, 1.5, 2.0, 2.5}


def test_temperatures_go_before_the_kind_of_driving() -> None:
    bars = [{"temperature": {"value": 100, "unit": "Cel"}, "part": 7}]

    answer = due(duty="city", temperatures=bars, damage_before=0.0, maker={"months": 240})

    assert answer.ageing == 4
    assert at_km(answer) == pytest.approx(140_000)
    assert codes(answer) == []


def test_a_histogram_without_any_use_tells_nothing() -> None:
    bars = [{"temperature": {"value": 100, "unit": "Cel"}, "part": 0}]

    answer = due(temperatures=bars)

    assert answer.ageing == 1
    assert "fluid-temperatures-unknown" in codes(answer)


def test_case_78_a_second_visit_on_the_same_day_builds_on_the_first() -> None:
    once, twice = due(), due(services=[service(), service(share=0.4)])

    assert twice.damage == pytest.approx(0.23 * 1.15 * 0.6)
    assert at_km(twice) > at_km(once)


def test_services_count_by_date_in_any_order() -> None:
    first = service("2020-05-02", odometer=km(40_000))

    assert due(services=[service(), first]) == due(services=[first, service()])


def test_case_79_the_makers_schedule_is_never_exceeded() -> None:
    answer = due(maker={"distance": km(60_000), "months": 36})

    assert at_km(answer) == 160_000
    assert answer.odometer_by == "maker"
    assert (answer.on, answer.on_by) == (date(2027, 5, 2), "maker")
    assert "interval-capped-by-maker" in codes(answer)


def test_case_79_nothing_is_due_before_today() -> None:
    old = service("2015-02-28", odometer=km(20_000))

    answer = due(services=[old], maker={"distance": km(60_000), "months": 48})

    assert at_km(answer) == 100_000
    assert answer.on == date(2024, 5, 2)
    assert "service-due-already" in codes(answer)
    assert any("20,000 km beyond" in reason for reason in answer.reasons)


def test_fluid_worn_out_by_use_is_due_now() -> None:
    old = service("2015-02-28", odometer=km(0))

    answer = due(services=[old], odometer=km(200_000))

    assert answer.damage > 1
    assert at_km(answer) == 200_000
    assert "service-due-already" in codes(answer)


def test_without_any_service_it_counts_as_worn_out_today() -> None:
    answer = due(services=[], maker={"distance": km(60_000), "months": 48})

    assert answer.damage == 1
    assert at_km(answer) == 100_000
    assert answer.on is None
    assert codes(answer) == [
        "service-due-already",
        "fluid-history-unknown",
        "fluid-temperatures-unknown",
        "maker-schedule-not-applied",
    ]


def test_case_80_an_odometer_that_fell_counts_no_use_and_says_so() -> None:
    answer = due(odometer=km(30_000), maker={"distance": km(60_000)})

    assert answer.damage == pytest.approx(0.23)
    assert at_km(answer) == 90_000
    assert "odometer-below-last-service" in codes(answer)


def test_case_80_it_may_have_fallen_between_two_services() -> None:
    services = [service("2020-01-01", odometer=km(150_000)), service()]

    assert "odometer-below-last-service" in codes(due(services=services))


def test_case_09_miles_and_kilometres_are_one_measure() -> None:
    miles = due(odometer=km(100_000 / 1.609344, "[mi_i]"))

    assert at_km(miles) == pytest.approx(at_km(due()))


def test_case_81_months_from_a_leap_day_end_with_february() -> None:
    answer = due(services=[service("2024-02-29")], maker={"months": 12})

    assert answer.on == date(2025, 2, 28)


def test_use_per_year_turns_what_is_left_into_a_day() -> None:
    answer = due(distance_per_year=km(15_000), maker={"months": 240})

    assert (answer.on, answer.on_by) == (date(2032, 7, 18), "damage")


def test_a_year_without_use_has_no_day() -> None:
    assert due(distance_per_year=km(0)).on is None


def test_use_that_takes_beyond_the_calendar_has_no_day() -> None:
    assert due(distance_per_year=km(0.001)).on is None


def test_engine_hours_count_where_there_is_no_odometer() -> None:
    answer = due(
        odometer=None,
        engine_hours=1000.0,
        services=[service(odometer=None, engine_hours=400.0)],
        maker={"engine_hours": 1500},
        engine_hours_per_year=500.0,
    )

    assert answer.damage == pytest.approx(0.23 + 600 / 4000)
    assert (answer.engine_hours, answer.engine_hours_by) == (1900, "maker")
    assert answer.odometer is None
    assert answer.on_by == "maker"


def test_engine_hours_beside_an_odometer_follow_the_maker_alone() -> None:
    answer = due(
        engine_hours=1000.0,
        services=[service(engine_hours=1000.0)],
        maker={"engine_hours": 1500},
    )

    assert (answer.engine_hours, answer.engine_hours_by) == (2500, "maker")
    assert answer.odometer_by == "damage"


def test_without_any_reading_only_the_calendar_tells() -> None:
    answer = due(odometer=None, services=[service(odometer=None)], maker={"months": 24})

    assert (answer.odometer, answer.engine_hours) == (None, None)
    assert answer.on == date(2026, 5, 2)
    assert "use-since-service-unknown" in codes(answer)


def test_a_service_without_a_reading_counts_no_use() -> None:
    answer = due(services=[service("2020-01-01", odometer=None)])

    assert answer.damage == pytest.approx(0.23)
    assert "use-since-service-unknown" in codes(answer)


@pytest.mark.parametrize("maker", [None, {}])
def test_an_unknown_schedule_is_said(maker: dict[str, object] | None) -> None:
    assert "maker-schedule-unknown" in codes(due(maker=maker))


def test_a_service_to_come_is_refused() -> None:
    with pytest.raises(ValueError, match="after today"):
        due(services=[service("2024-05-03")])


def test_the_reasons_are_a_chain_of_plain_sentences() -> None:
    answer = due(
        services=[service("2022-05-02", odometer=km(60_000))], duty="city",
        maker={"distance": km(80_000), "months": 48},
    )  # fmt: skip

    assert answer.reasons == [
        "For driving in a city the fluid is taken to age 1.5 times as fast as at 80 °C.",
        "Nothing is known of the fluid at first, so it counts as worn out.",
        (
            "The service of 2022-05-02 renewed 0.80 of it; with the remainder factor 1.15 damage "
            "1.00 became 0.23."
        ),
        "After 40,000 km more it is 0.60.",
        "By the wear of the fluid 42,133 km are left.",
        "By the maker's schedule 40,000 km are left.",
        "By the maker's schedule it is due on 2026-05-02.",
        (
            "If every service renews 0.80 of it, 82,133 km lie between them by wear; the maker "
            "allows 80,000 km."
        ),
    ]


@given(
    share=st.floats(0, 1),
    driven=st.floats(0, 300_000),
    limit=st.floats(1000, 300_000),
    months=st.integers(1, 240),
    per_year=st.floats(1, 1e5),
)
def test_case_79_holds_for_any_use(
    share: float, driven: float, limit: float, months: int, per_year: float
) -> None:
    answer = due(
        services=[service("2022-05-02", share, odometer=km(10_000))],
        odometer=km(10_000 + driven),
        maker={"distance": km(limit), "months": months},
        distance_per_year=km(per_year),
    )

    assert 10_000 + driven <= at_km(answer) <= max(10_000 + driven, 10_000 + limit) + 1e-6
    assert answer.on is not None
    assert answer.on >= date(2024, 5, 2)


@given(shares=st.tuples(st.floats(0, 1), st.floats(0, 1)))
def test_more_renewed_is_never_due_earlier(shares: tuple[float, float]) -> None:
    less, more = sorted(shares)

    assert at_km(due(services=[service(share=less)])) <= at_km(due(services=[service(share=more)]))


@pytest.mark.parametrize(
    ("odometer_km", "said"),
    [
        (160_001, "it is due: 1 km beyond."),
        (160_000.4, "it is due now."),
        (160_000, "it is due now."),
        (159_999.6, "it is due now."),
        (159_999, "1 km are left."),
    ],
)
def test_what_is_due_now_is_not_told_as_nothing_beyond(odometer_km: float, said: str) -> None:
    first = service("2020-01-01", share=1.0, odometer=km(100_000))
    case = {"odometer": km(odometer_km), "services": [first], "maker": {"distance": km(60_000)}}

    assert f"By the maker's schedule {said}" in due(**case).reasons

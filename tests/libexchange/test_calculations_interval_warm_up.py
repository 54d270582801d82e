"""The calculations on the next due service and on warming up."""

from math import exp
from typing import Any

import pytest
from msgspec import convert, json, to_builtins

from libexchange.calculations import interval, warm_up
from libexchange.calculations.interval import calculate_interval
from libexchange.calculations.warm_up import WarmUpAnswer, WarmUpRequest, calculate_warm_up
from libexchange.errors import InvalidInput
from libexchange.use_case import NextDue, UseCase


def celsius(value: float, unit: str = "Cel") -> dict[str, object]:
    return {"value": value, "unit": unit}


def due_faults(**changes: object) -> list[tuple[str, str]]:
    with pytest.raises(InvalidInput) as caught:
        calculate_interval(convert(interval.EXAMPLE | changes, UseCase))
    return [(fault.pointer, fault.code) for fault in caught.value.faults]


def warm(**changes: object) -> WarmUpAnswer:
    return calculate_warm_up(convert(warm_up.EXAMPLE | changes, WarmUpRequest))


def warm_faults(**changes: object) -> list[tuple[str, str]]:
    with pytest.raises(InvalidInput) as caught:
        warm(**changes)
    return [(fault.pointer, fault.code) for fault in caught.value.faults]


def codes(answer: WarmUpAnswer) -> list[str]:
    return [finding.code for finding in answer.findings]


def readings(*, source: str = "scan_tool", count: int = 90, settled: float = 68.0) -> list[Any]:
    return [
        {
            "at": f"2024-05-02T{9 + n // 60:02d}:{n % 60:02d}:00Z",
            "source": source,
            "temperature": celsius(settled - (settled - 20) * exp(-n * 60 / 2400)),
        }
        for n in range(count)
    ]


def test_the_interval_example_is_answered_and_written_again() -> None:
    answer = calculate_interval(json.decode(json.encode(interval.EXAMPLE), type=UseCase))

    assert convert(to_builtins(answer), NextDue) == answer
    assert [finding.code for finding in answer.findings] == ["fluid-history-unknown"]


def test_an_example_whose_services_the_maker_wants_sooner() -> None:
    maker = {"distance": {"value": 30_000, "unit": "km"}}

    answer = calculate_interval(convert(interval.EXAMPLE | {"maker": maker}, UseCase))

    assert answer.odometer is not None
    assert answer.odometer.km == 130_000


def test_case_79_and_81_dates_that_cannot_be_are_refused() -> None:
    after = {"service_date": "2024-05-03", "fresh_share": 0.8}
    ancient = {"service_date": "1900-05-03", "fresh_share": 0.8}

    assert due_faults(services=[after, ancient]) == [
        ("/services/0/service_date", "service-after-today"),
        ("/services/1/service_date", "out-of-range"),
    ]
    assert due_faults(today="9999-01-01") == [("/today", "out-of-range")]


def test_every_fault_of_an_interval_is_named() -> None:
    far = {"value": 5e6, "unit": "km"}
    service = {"service_date": "2024-05-02", "fresh_share": 0.8, "odometer": far}

    assert due_faults(
        odometer=far, services=[service], full_life=far, maker={"distance": far},
        temperatures=[{"temperature": celsius(250), "part": 1}],
    ) == [
        ("/odometer", "out-of-range"),
        ("/services/0/odometer", "out-of-range"),
        ("/full_life", "out-of-range"),
        ("/maker/distance", "out-of-range"),
        ("/temperatures/0/temperature", "out-of-range"),
    ]  # fmt: skip


def test_the_warm_up_example_is_answered_and_written_again() -> None:
    answer = calculate_warm_up(json.decode(json.encode(warm_up.EXAMPLE), type=WarmUpRequest))

    assert convert(to_builtins(answer), WarmUpAnswer) == answer
    assert codes(answer) == ["heat-values-assumed", "temperature-not-reached"]
    assert answer.temperature_after is not None
    assert 30 < answer.temperature_after.expected.c < 40


def test_what_is_known_of_a_unit_leaves_no_band() -> None:
    answer = warm(
        total=None, heat_capacity={"value": 50, "unit": "kJ/K"}, after=None,
        power={"value": 0.55, "unit": "kW"}, loss={"value": 11, "unit": "W/K"},
        targets=[celsius(45)],
    )  # fmt: skip

    assert answer.settled.low == answer.settled.expected == answer.settled.high
    assert answer.settled.expected.c == pytest.approx(70)
    expected = answer.times[0].from_start.expected
    assert expected is not None
    assert expected.s == pytest.approx(0.6931471805599453 * 50_000 / 11)
    assert codes(answer) == []


def test_standing_it_cools_to_the_air() -> None:
    answer = warm(start=celsius(75), power={"value": 0, "unit": "kW"}, targets=[celsius(33)])

    time = answer.times[0].from_start
    assert answer.settled.expected.c == pytest.approx(20)
    assert time.low is not None
    assert time.high is not None
    assert 60 < time.low.s / 60 < time.high.s / 60 < 180


def test_a_hot_exchanger_opens_the_bypass_in_part_of_the_cases() -> None:
    answer = warm(coolant=celsius(95), targets=[celsius(88)])

    assert codes(answer) == ["heat-values-assumed", "temperature-perhaps-not-reached"]
    exact = warm(coolant=celsius(95), exchanger={"value": 60, "unit": "W/K"}, targets=[])
    assert "exchanger" not in exact.findings[0].message


def test_readings_tell_more_than_what_is_typical() -> None:
    answer = warm(readings=readings(), targets=[celsius(67), celsius(88)])

    assert answer.fitted is not None
    assert answer.fitted.settled.expected.c == pytest.approx(68, abs=1e-3)
    assert answer.times[0].after_last_reading is not None
    assert answer.times[0].after_last_reading.expected is not None
    assert answer.times[1].after_last_reading is not None
    assert answer.times[1].after_last_reading.expected is None
    assert codes(answer) == ["heat-values-assumed", "temperature-not-reached"]


def test_only_the_best_source_is_fitted() -> None:
    clamp = readings(source="clamp_on", settled=55.0)

    both = warm(readings=[*clamp, *readings()], targets=[celsius(67)])

    assert both.fitted == warm(readings=readings(), targets=[celsius(67)]).fitted
    assert both.fitted != warm(readings=clamp, targets=[celsius(67)]).fitted


def test_the_beginning_does_not_tell_where_it_settles() -> None:
    answer = warm(readings=readings(count=8), targets=[])

    assert answer.fitted is None
    assert "heating-cannot-be-told" in codes(answer)


@pytest.mark.parametrize("count", [1, 5])
def test_too_few_readings_are_not_fitted(count: int) -> None:
    answer = warm(readings=readings(count=count))

    assert answer.fitted is None
    assert answer.times[0].after_last_reading is None
    assert "readings-too-few-to-fit" in codes(answer)


def test_every_fault_of_a_warm_up_is_named() -> None:
    assert warm_faults(
        total=None, loss={"value": 0, "unit": "W/K"}, exchanger={"value": 50, "unit": "W/K"}
    ) == [("/total", "missing-field"), ("/coolant", "missing-field"), ("/loss", "out-of-range")]
    assert warm_faults(
        total={"value": 900, "unit": "L"}, heat_capacity={"value": 0, "unit": "kJ/K"}
    ) == [("/total", "out-of-range"), ("/heat_capacity", "out-of-range")]


def test_a_power_that_would_burn_the_fluid_is_refused() -> None:
    assert warm_faults(power={"value": 50, "unit": "kW"}) == [("/power", "settles-out-of-range")]

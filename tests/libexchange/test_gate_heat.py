"""Above 110 degC no gate is open, and the maker's own limit rules below it."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange.catalogue import BypassPlace
from libexchange.gate import GateKind, evaluate
from libexchange.gate_outcome import GateAnswer
from libexchange.readings import Reading
from tests.libexchange.gate_readings import AT, codes, flowing, read


def opening(
    *readings: Reading,
    maker: float | None = None,
    protected: bool = True,
    below: float | None = None,
    rate: float | None = None,
) -> GateAnswer:
    return evaluate(kind="opening", low_c=None, high_c=below, readings=readings, at=AT,
                    maker_high_c=maker, protection_confirmed=protected,
                    expected_rate_k_per_min=rate)  # fmt: skip


def line(*readings: Reading, bypass: BypassPlace, high: float | None = None) -> GateAnswer:
    return evaluate(kind="line_exchange", low_c=83, high_c=high, readings=readings, at=AT,
                    bypass=bypass)  # fmt: skip


def changing(per_min: float, *, now: float, since: int = 120) -> list[Reading]:
    return [read(ago, now - per_min * ago / 60) for ago in range(0, since + 1, 10)]


@pytest.mark.parametrize(
    ("celsius", "state", "found"),
    [
        (110.0, "open", ["opening-hot-by-maker-data", "opening-needs-gloves"]),
        (110.1, "closed", ["fluid-overheated", "opening-hot-by-maker-data"]),
        (120.0, "closed", ["fluid-overheated", "opening-hot-by-maker-data"]),
        (120.1, "closed", ["opening-too-hot", "fluid-overheated"]),
    ],
)
def test_a_maker_who_allows_120_celsius_opens_nothing_above_110(
    celsius: float, state: str, found: list[str]
) -> None:
    answer = opening(read(0, celsius), maker=120)

    assert (answer.state, codes(answer)) == (state, found)
    assert answer.reason == answer.findings[0].message


def test_an_overheated_fluid_says_when_it_may_be_opened_by_the_makers_word() -> None:
    answer = opening(*changing(-2, now=114), maker=120)

    assert (answer.state, answer.opens_at) == ("closed", AT + timedelta(minutes=2))


@pytest.mark.parametrize(
    ("celsius", "state", "code"),
    [
        (40.0, "open", None),
        (40.1, "closed", "opening-too-hot"),
        (44.9, "closed", "opening-too-hot"),
    ],
)
def test_a_maker_who_wants_it_cooler_than_we_do_is_obeyed(
    celsius: float, state: str, code: str | None
) -> None:
    answer = opening(read(0, celsius), maker=40)

    assert (answer.state, codes(answer)) == (state, [code] if code else [])


@pytest.mark.parametrize(
    ("maker", "protected", "minutes"),
    [(93, True, 3.5), (93, False, 20), (None, True, 20), (50, True, 25)],
)
def test_a_cooling_fluid_is_told_by_the_limit_that_rules(
    maker: float | None, protected: bool, minutes: float
) -> None:
    answer = opening(*changing(-2, now=100), maker=maker, protected=protected)

    assert (answer.state, answer.opens_at) == ("closed", AT + timedelta(minutes=minutes))


def test_a_warming_fluid_says_when_it_may_no_longer_be_opened() -> None:
    answer = opening(*changing(2, now=40))

    assert (answer.state, answer.closes_at, answer.opens_at) == (
        "open", AT + timedelta(minutes=10), None,
    )  # fmt: skip


@pytest.mark.parametrize(("rate", "state"), [(None, "open"), (0.25, "open"), (0.3, "unknown")])
def test_a_sensor_that_a_forecast_calls_stuck_opens_nothing(rate: float | None, state: str) -> None:
    answer = opening(*(read(ago, 40) for ago in range(0, 250, 10)), rate=rate)

    assert answer.state == state
    assert ("sensor-perhaps-stuck" in codes(answer)) is (state == "unknown")


def test_a_stuck_sensor_that_reads_hot_keeps_it_shut() -> None:
    assert opening(*(read(ago, 70) for ago in range(0, 250, 10)), rate=2).state == "closed"


def test_with_the_engine_off_a_still_temperature_is_no_sign_of_a_stuck_sensor() -> None:
    warmed = [read(ago, 50 - (ago - 240) / 30) for ago in range(240, 301, 10)]

    assert opening(*warmed, *(read(ago, 50) for ago in range(0, 240, 10))).state == "open"


@pytest.mark.parametrize(("celsius", "state"), [(110.0, "open"), (110.1, "closed")])
@pytest.mark.parametrize("bypass", ["in_case", "none"])
def test_no_line_is_exchanged_above_110(bypass: BypassPlace, celsius: float, state: str) -> None:
    answer = line(*flowing(celsius=celsius), bypass=bypass)

    assert answer.state == state
    assert [f.severity for f in answer.findings if f.code == "fluid-overheated"] == (
        ["stop"] if state == "closed" else []
    )


def test_too_hot_is_told_once_and_beside_the_upper_limit() -> None:
    answer = line(*flowing(celsius=115), bypass="in_case", high=105)

    assert (answer.state, codes(answer)) == (
        "closed", ["gate-temperature-above-high", "fluid-overheated"],
    )  # fmt: skip


@pytest.mark.parametrize(("celsius", "state"), [(95, "open"), (95.1, "closed")])
def test_an_upper_limit_holds_for_a_line_that_flows_cold(celsius: float, state: str) -> None:
    answer = line(*flowing(celsius=celsius), bypass="in_cooler", high=95)

    assert answer.state == state
    assert ("gate-temperature-above-high" in codes(answer)) is (state == "closed")


def test_a_line_says_when_it_gets_too_hot() -> None:
    warming = [read(ago, 90 - 2 * ago / 60, flow=2, source="in_line") for ago in range(0, 61, 5)]

    for bypass in ("none", "in_case"):
        assert line(*warming, bypass=bypass, high=94).closes_at == AT + timedelta(minutes=2)


@pytest.mark.parametrize(("celsius", "state"), [(110.0, "open"), (110.1, "closed")])
def test_a_level_window_up_to_120_is_shut_above_110(celsius: float, state: str) -> None:
    answer = evaluate(kind="level_window", low_c=100, high_c=120, at=AT,
                      readings=[read(ago, celsius) for ago in (0, 5, 10)])  # fmt: skip

    assert answer.state == state
    assert ("fluid-overheated" in codes(answer)) is (state == "closed")


def test_a_window_that_was_passed_hot_says_so() -> None:
    answer = evaluate(kind="level_window", low_c=80, high_c=93, at=AT,
                      readings=[read(ago, 111) for ago in (0, 5, 10)])  # fmt: skip

    assert (answer.state, codes(answer)) == ("passed", ["level-window-passed", "fluid-overheated"])


def test_a_cleaner_does_not_act_on_in_overheated_fluid() -> None:
    answer = evaluate(kind="contact_time", low_c=None, at=AT,
                      readings=[read(ago, 111) for ago in range(0, 800, 30)])  # fmt: skip

    assert (answer.state, codes(answer)) == ("closed", ["fluid-overheated"])


@given(
    kind=st.sampled_from(["line_exchange", "level_window", "opening", "contact_time"]),
    celsius=st.floats(20, 150),
    maker=st.none() | st.floats(20, 150),
    bypass=st.sampled_from(["none", "in_case", "in_line", "in_cooler", "unknown"]),
)
def test_no_gate_is_open_beside_a_stop(
    kind: GateKind, celsius: float, maker: float | None, bypass: BypassPlace
) -> None:
    readings = [
        *(read(ago, celsius) for ago in range(0, 760, 5)),
        *flowing(celsius=celsius),
    ]
    answer = evaluate(kind=kind, low_c=35, high_c=150, readings=readings, at=AT, bypass=bypass,
                      maker_high_c=maker, protection_confirmed=True)  # fmt: skip

    assert answer.state != "open" or all(f.severity != "stop" for f in answer.findings)

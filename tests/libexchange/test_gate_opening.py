"""Openings by touch limits, and the contact time of a cleaner."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange.gate import evaluate
from libexchange.gate_outcome import GateAnswer
from libexchange.readings import Reading, Source
from tests.libexchange.gate_readings import AT, codes, read


def opening(
    *readings: Reading,
    below: float | None = None,
    maker: float | None = None,
    protected: bool = False,
) -> GateAnswer:
    return evaluate(kind="opening", low_c=None, high_c=below, readings=readings, at=AT,
                    maker_high_c=maker, protection_confirmed=protected)  # fmt: skip


def contact(*readings: Reading, low: float | None = None, hold: float | None = None) -> GateAnswer:
    return evaluate(kind="contact_time", low_c=low, hold_s=hold, readings=readings, at=AT)


@pytest.mark.parametrize(
    ("celsius", "state", "found"),
    [
        (44.9, "open", []),
        (45, "open", [("opening-needs-gloves", "note")]),
        (59.9, "open", [("opening-needs-gloves", "note")]),
        (60, "closed", [("opening-too-hot", "caution"), ("opening-needs-gloves", "note")]),
        (80, "closed", [("opening-too-hot", "caution"), ("opening-needs-gloves", "note")]),
        (80.1, "closed", [("opening-too-hot", "stop"), ("opening-needs-gloves", "note")]),
        (110.1, "closed", [("opening-too-hot", "stop"), ("fluid-overheated", "stop")]),
    ],
)
def test_touch_limits_are_45_60_80_and_110(
    celsius: float, state: str, found: list[tuple[str, str]]
) -> None:
    answer = opening(read(30, celsius), maker=None, protected=True)

    assert (answer.state, [(f.code, f.severity) for f in answer.findings]) == (state, found)


@pytest.mark.parametrize(
    ("celsius", "protected", "state", "code"),
    [
        (85, True, "open", "opening-hot-by-maker-data"),
        (85, False, "closed", "opening-protection-not-confirmed"),
        (93, True, "open", "opening-hot-by-maker-data"),
        (93.1, True, "closed", "opening-too-hot"),
        (50, False, "open", "opening-needs-gloves"),
    ],
)
def test_the_limits_yield_to_the_makers_data_with_protection(
    celsius: float, protected: bool, state: str, code: str
) -> None:
    answer = opening(read(30, celsius), maker=93, protected=protected)

    assert (answer.state, codes(answer)[0]) == (state, code)


def test_a_cooler_limit_of_the_step_counts() -> None:
    assert opening(read(0, 50), below=45).state == "closed"


@pytest.mark.parametrize(("age", "state"), [(300, "open"), (301, "unknown")])
def test_a_temperature_counts_five_minutes_at_an_opening(age: float, state: str) -> None:
    assert opening(read(age, 40)).state == state


def test_a_clamp_on_sensor_counts_15_kelvin_hotter() -> None:
    assert opening(read(0, 44, source="clamp_on")).state == "open"
    assert opening(read(0, 46, source="clamp_on")).state == "closed"


def test_a_lone_newest_reading_counts_only_where_it_is_the_hotter_one() -> None:
    hot, cool = [read(60 + n, 75) for n in range(3)], [read(60 + n, 40) for n in range(3)]

    assert opening(*hot, read(0, 40)).state == "closed"
    assert opening(*cool, read(0, 75)).state == "closed"


def test_a_cooling_unit_says_when_it_may_be_opened() -> None:
    answer = opening(*(read(ago, 64 + ago / 60) for ago in range(0, 301, 60)))

    assert (answer.state, answer.opens_at) == ("closed", AT + timedelta(seconds=240))
    assert answer.opens_between is not None


@given(
    celsius=st.floats(-40, 150),
    maker=st.none() | st.floats(20, 150),
    protected=st.booleans(),
    source=st.sampled_from(["scan_tool", "scan_tool_typed", "clamp_on"]),
)
def test_nothing_hot_is_opened_without_the_maker_and_protection(
    celsius: float, maker: float | None, protected: bool, source: Source
) -> None:
    answer = opening(read(5, celsius, source=source), maker=maker, protected=protected)

    may = maker is not None and celsius <= maker and protected
    assert answer.state != "open" or celsius < 60 or may


def acting(minutes: int, *, celsius: float = 70, newest: int = 0) -> list[Reading]:
    return [read(newest + ago, celsius) for ago in range(0, 60 * minutes + 1, 30)]


@pytest.mark.parametrize(
    ("readings", "state", "found"),
    [
        (acting(11), "closed", ["contact-time-running"]),
        (acting(12), "open", []),
        (acting(31), "passed", ["contact-time-exceeded"]),
        (acting(5, celsius=59), "closed", ["gate-temperature-below-low"]),
        ([read(0, 70, running=False), *acting(5, newest=30)], "closed", ["contact-time-paused"]),
        (acting(12, newest=61), "unknown", ["gate-reading-stale"]),
        ([], "unknown", ["gate-reading-missing"]),
        ([read(0, 170)], "unknown", ["gate-reading-missing", "reading-implausible"]),
    ],
)
def test_a_cleaner_acts_for_twelve_minutes_while_it_is_warm_and_runs(
    readings: list[Reading], state: str, found: list[str]
) -> None:
    assert (contact(*readings).state, codes(contact(*readings))) == (state, found)


def test_a_contact_time_says_when_it_is_enough_and_when_too_long() -> None:
    assert contact(*acting(10, newest=15)).opens_at == AT + timedelta(seconds=105)
    assert contact(*acting(20, newest=15)).closes_at == AT + timedelta(seconds=585)


def test_how_warm_and_how_long_can_be_said() -> None:
    assert contact(*acting(10, celsius=50), low=45, hold=600).state == "open"
    assert contact(*acting(10), hold=601).state == "closed"


def test_protection_that_nobody_confirmed_is_not_there() -> None:
    answer = evaluate(kind="opening", low_c=None, readings=[read(0, 75)], at=AT, maker_high_c=93)

    assert answer.state == "closed"

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
    answer = opening(read(30, celsius, running=False), maker=None, protected=True)

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
    answer = opening(read(30, celsius, running=False), maker=93, protected=protected)

    assert (answer.state, codes(answer)[0]) == (state, code)


def test_a_cooler_limit_of_the_step_counts() -> None:
    assert opening(read(0, 50), below=45).state == "closed"


@pytest.mark.parametrize(("age", "state"), [(300, "open"), (301, "unknown")])
@pytest.mark.parametrize("running", [None, True, False])
def test_a_temperature_counts_five_minutes_at_an_opening(
    age: float, state: str, running: bool | None
) -> None:
    assert opening(read(age, 39.9, running=running)).state == state


@pytest.mark.parametrize(
    ("age", "celsius", "running", "state"),
    [
        (290, 59, True, "unknown"),
        (290, 59, None, "unknown"),
        (290, 59, False, "open"),
        (75, 54.9, None, "open"),
        (75, 55, None, "unknown"),
        (75, 59.9, False, "open"),
        (0, 59.9, True, "open"),
    ],
)
def test_unless_the_engine_is_said_to_be_off_it_warms_up_by_4_kelvin_a_minute(
    age: float, celsius: float, running: bool | None, state: str
) -> None:
    answer = opening(read(age, celsius, running=running))

    assert answer.state == state
    assert ("gate-reading-stale" in codes(answer)) is (state == "unknown")


def test_a_stale_opening_says_how_hot_it_may_be_by_now() -> None:
    found = opening(read(290, 59, running=True)).findings[0]

    assert found.message == (
        "It was at 59.0 °C 290 s ago and may be at 78.3 by now: nobody says that the engine is off."
    )
    assert found.values == {
        "temperature_c": 59, "age_s": 290, "by_now_c": pytest.approx(78.3333, abs=1e-4),
        "up_to_c": 60,
    }  # fmt: skip


def test_what_is_said_of_the_engine_after_the_reading_counts_too() -> None:
    off, started = read(200, 55, running=False), read(100, flow=1, source="in_line", running=True)
    unsaid = read(100, flow=1, source="in_line")

    assert opening(off, unsaid).state == "open"
    assert opening(off, started).state == "unknown"
    assert opening(read(250, flow=1, source="in_line", running=True), off).state == "open"
    assert opening(off, read(200, 55)).state == "unknown"
    assert opening(read(200, 55), read(100, flow=1, source="in_line", running=False)).state == (
        "unknown"
    )


def test_the_makers_limit_is_not_overtaken_either() -> None:
    def state(age: float) -> str:
        return opening(read(age, 92, running=True), maker=93, protected=True).state

    assert (state(15), state(15.1)) == ("open", "unknown")


@pytest.mark.parametrize(
    ("running", "age", "state"),
    [(None, 30, "open"), (False, 60, "open"), (False, 61, "unknown"), (None, 250, "unknown")],
)
def test_a_typed_temperature_counts_a_minute_at_an_opening(
    running: bool | None, age: float, state: str
) -> None:
    assert opening(read(age, 50, source="scan_tool_typed", running=running)).state == state


def test_readings_that_rise_past_the_limit_open_nothing_afterwards() -> None:
    """4.2 K/min up to 58.3, then silence: at 60 after 25 s, whatever is said of the engine."""

    def rising(silent_s: float, running: bool) -> GateAnswer:
        return opening(
            *(read(silent_s + ago, 58.3 - 0.07 * ago, running=running) for ago in range(0, 190, 10))
        )

    assert [rising(100, running).state for running in (True, False)] == ["unknown", "unknown"]
    assert rising(24, running=False).state == "open"
    assert rising(25, running=False).state == "unknown"
    late = rising(100, running=False)
    assert late.findings[0].message == (
        "It was at 58.3 °C 100 s ago and rises, so that it is at 60 °C by now."
    )
    assert (late.opens_at, late.closes_at) == (None, None)


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


@pytest.mark.parametrize(
    ("minutes", "state", "opens_in", "closes_in"),
    [(29, "closed", 660, None), (30, "closed", 600, None), (39, "closed", 60, None),
     (40, "open", None, 300), (45, "open", None, 0), (46, "passed", None, None)],
)  # fmt: skip
def test_a_maker_may_want_more_than_half_an_hour(
    minutes: int, state: str, opens_in: int | None, closes_in: int | None
) -> None:
    answer = contact(*acting(minutes), hold=2400)

    def after(seconds: int | None) -> object:
        return None if seconds is None else AT + timedelta(seconds=seconds)

    assert (answer.state, answer.opens_at, answer.closes_at) == (
        state, after(opens_in), after(closes_in),
    )  # fmt: skip


def test_what_was_not_seen_counts_towards_too_long_and_never_as_acted() -> None:
    """Two minutes were seen; from half an hour on it is too long, whoever looked."""

    def seen_ago(minutes: float) -> GateAnswer:
        return contact(*(read(60 * minutes - 60 * n, 70) for n in range(3)))

    assert (seen_ago(30).state, codes(seen_ago(30))) == ("unknown", ["gate-reading-stale"])
    assert (seen_ago(30.1).state, codes(seen_ago(30.1))) == ("passed", ["contact-time-exceeded"])
    assert seen_ago(40).reason == (
        "It has acted for 2.0 of 12 min. It has been in warm fluid for 40.0 min, 38.0 of them "
        "unseen; after 30 min it has to be out."
    )
    again = contact(*acting(5), *(read(1800 - 60 * n, 70) for n in range(3)))
    assert (again.state, again.opens_at) == ("closed", None)


@pytest.mark.parametrize(("source", "state"), [("in_line", "passed"), ("dashboard", "closed")])
def test_a_change_of_the_source_starts_no_new_half_hour(source: Source, state: str) -> None:
    before = [read(600 + 60 * n, 70, flow=2, source=source) for n in range(25)]

    assert contact(*before, *acting(9)).state == state


def test_how_warm_and_how_long_can_be_said() -> None:
    assert contact(*acting(10, celsius=50), low=45, hold=600).state == "open"
    assert contact(*acting(10), hold=601).state == "closed"


def test_protection_that_nobody_confirmed_is_not_there() -> None:
    answer = evaluate(kind="opening", low_c=None, readings=[read(0, 75)], at=AT, maker_high_c=93)

    assert answer.state == "closed"

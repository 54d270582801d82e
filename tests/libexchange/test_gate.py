"""Gates over readings: state, reason, expected times, and any order of arrival."""

from datetime import UTC, datetime, timedelta, timezone
from random import Random
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange.gate import GateKind, evaluate
from libexchange.gate_findings import KINDS
from libexchange.gate_outcome import GateAnswer
from libexchange.quantities import Temperature
from libexchange.readings import Reading, Source
from tests.libexchange.gate_readings import AT, codes, flowing, read


def level(*readings: Reading, low: float = 35, high: float = 45) -> GateAnswer:
    return evaluate(kind="level_window", low_c=low, high_c=high, readings=readings, at=AT)


def line(*readings: Reading, high: float | None = None) -> GateAnswer:
    return evaluate(kind="line_exchange", low_c=83, high_c=high, readings=readings, at=AT)


def steady(celsius: float, *, since: int = 12, newest: int = 0) -> list[Reading]:
    return [read(ago, celsius) for ago in range(newest, since + 1, 2)]


def test_three_samples_held_for_ten_seconds_open_a_level_window() -> None:
    answer = level(read(10, 39.6), read(5, 39.8), read(0, 40))

    assert (answer.state, answer.findings) == ("open", [])
    assert answer.reason == "It is at 40.0 °C, within 35 to 45 °C."


@pytest.mark.parametrize(
    "readings",
    [
        pytest.param([read(10, 40), read(0, 40)], id="two samples only"),
        pytest.param([read(8, 40), read(4, 40), read(0, 40)], id="eight seconds only"),
        pytest.param([read(10, 36), read(5, 34), read(2, 36), read(0, 36)], id="left it once"),
        pytest.param([read(90, 40), read(2, 40), read(0, 40)], id="nobody looked for 88 s"),
    ],
)
def test_a_window_that_was_not_held_stays_closed(readings: list[Reading]) -> None:
    answer = level(*readings)

    assert (answer.state, codes(answer)) == ("closed", ["gate-not-held-long-enough"])
    assert answer.opens_at is not None
    assert AT <= answer.opens_at <= AT + timedelta(seconds=10)


@pytest.mark.parametrize(("age", "state"), [(5, "open"), (5.5, "unknown")])
def test_a_scan_tool_reading_is_stale_after_five_seconds(age: float, state: str) -> None:
    readings = [read(age, 40), read(age + 5, 40), read(age + 10, 40)]

    assert level(*readings).state == state


def test_a_stale_reading_is_never_told_to_be_as_old_as_it_may_be() -> None:
    answer = level(*(read(age, 40) for age in (5.1, 10, 15)))

    assert answer.reason == "The newest is 6 s old; at this gate it counts for 5 s."


@pytest.mark.parametrize(("age", "state"), [(60, "open"), (61, "unknown")])
def test_one_typed_reading_is_enough_for_a_minute(age: float, state: str) -> None:
    answer = level(read(age, 40, source="scan_tool_typed"))

    assert answer.state == state
    assert ("reading-typed-by-hand" in codes(answer)) is (state == "open")


@pytest.mark.parametrize("source", ["in_line", "clamp_on", "infrared", "dashboard"])
def test_only_the_transmissions_own_sensor_opens_a_level_window(source: Source) -> None:
    answer = level(*(read(ago, 40, flow=3, source=source) for ago in (0, 5, 10)))

    assert answer.state == "unknown"
    assert codes(answer) == ["gate-reading-missing", "reading-source-cannot-gate"]


def test_the_top_of_the_window_is_hard() -> None:
    assert level(*steady(45)).state == "open"
    assert level(*steady(45.1)).state == "passed"


@pytest.mark.parametrize(
    ("newest", "state"), [(44, "passed"), (42.1, "passed"), (42, "open"), (36, "open")]
)
def test_a_passed_window_arms_again_three_kelvin_below_its_top(newest: float, state: str) -> None:
    assert level(read(3600, 46), *steady(newest, since=30)).state == state


@pytest.mark.parametrize(
    ("values", "state"),
    [((41.6, 41.7, 41.8), "open"), ((41.8, 41.8, 41.8), "closed"), ((41.8, 41.7, 41.6), "closed")],
)
def test_a_cool_down_into_the_window_has_to_be_over(values: tuple[float, ...], state: str) -> None:
    cooled = [read(10 - 5 * n, celsius) for n, celsius in enumerate(values)]
    from_below = "closed" if values[-1] < 41.7 else "open"
    assert level(read(3600, 46), *cooled).state == state
    assert level(read(1800, 34.9), *cooled).state == from_below


def test_thirty_seconds_show_that_a_cool_down_is_over() -> None:
    answer = level(read(3600, 46), *steady(41, since=28))

    assert (answer.state, codes(answer)) == ("closed", ["gate-not-held-long-enough"])
    assert answer.opens_at == AT + timedelta(seconds=2)
    assert evaluate(kind="level_window", low_c=35, high_c=45, method="dipstick",
                    readings=[read(3600, 46), *steady(41)], at=AT).state == "open"  # fmt: skip


def test_a_narrow_passed_window_arms_again_below_its_lower_edge() -> None:
    cooled = [read(3600, 46), read(1800, 43.4)]

    assert level(*cooled, *steady(44.5), low=43.5, high=45).state == "open"
    assert level(cooled[0], *steady(44.5), low=43.5, high=45).state == "passed"


def test_cooling_down_in_the_window_closes_it() -> None:
    answer = level(*(read(ago, 40 + ago / 60) for ago in range(0, 61, 5)))

    assert (answer.state, codes(answer)) == ("closed", ["gate-temperature-falling"])
    assert answer.findings[0].values["k_per_min"] == pytest.approx(-1)


def test_a_slow_drift_downwards_does_not_close_it() -> None:
    answer = level(*(read(ago, 40 + 0.1 * ago / 60) for ago in range(0, 61, 5)))

    assert answer.state == "open"


def test_a_warming_fluid_says_when_the_window_opens_and_closes() -> None:
    answer = level(*(read(ago, 30 - 2 * ago / 60) for ago in range(0, 121, 5)))

    assert answer.state == "closed"
    assert answer.opens_at == AT + timedelta(seconds=150 + 10)
    assert answer.closes_at == AT + timedelta(seconds=450)


@pytest.mark.parametrize("rate", [0, -1, 0.1])
def test_a_window_that_is_not_reached_within_two_hours_has_no_times(rate: float) -> None:
    answer = level(*(read(ago, 20 - rate * ago / 60) for ago in range(0, 121, 5)))

    assert (answer.state, answer.opens_at, answer.closes_at) == ("closed", None, None)


def test_a_moment_at_the_end_of_time_has_no_expected_times() -> None:
    end = datetime.max.replace(tzinfo=UTC)
    readings = [
        Reading(
            at=end - timedelta(seconds=s), source="scan_tool", temperature=Temperature(c, "Cel")
        )
        for s, c in ((60, 30), (0, 31))
    ]
    answer = evaluate(kind="level_window", low_c=35, high_c=45, readings=readings, at=end)

    assert (answer.state, answer.opens_at) == ("closed", None)


def test_heat_and_flow_for_20_seconds_open_a_line_exchange() -> None:
    answer = line(*flowing())

    assert (answer.state, answer.findings) == ("open", [])
    assert answer.reason == "It is at 88.0 °C and fluid flows."


@pytest.mark.parametrize(
    ("readings", "state", "code"),
    [
        (flowing(celsius=82.9), "closed", "gate-temperature-below-low"),
        (flowing(0.9, since=15), "closed", "gate-not-held-long-enough"),
        ([*flowing(), read(0, 88, flow=0.5)], "closed", "gate-flow-too-low"),
        (steady(88), "unknown", "gate-flow-not-seen"),
        ([read(11, 88, flow=2, source="in_line")], "unknown", "gate-reading-stale"),
        ([], "unknown", "gate-reading-missing"),
    ],
)
def test_a_line_exchange_closes_when_heat_or_flow_is_lost(
    readings: list[Reading], state: str, code: str
) -> None:
    answer = line(*readings)

    assert (answer.state, codes(answer)[0]) == (state, code)


def test_an_upper_limit_closes_a_line_exchange() -> None:
    assert line(*flowing(celsius=111), high=110).state == "closed"
    assert line(*flowing(celsius=109), high=110).state == "open"


def test_an_in_line_temperature_without_flow_tells_nothing() -> None:
    answer = line(read(0, 88, flow=0, source="in_line"))

    assert answer.state == "closed"
    assert codes(answer) == ["gate-flow-too-low", "in-line-reading-without-flow"]


def test_a_better_source_is_not_mixed_with_a_clamp_on_sensor() -> None:
    clamped = read(0, 70, source="clamp_on")
    metered = [read(ago, flow=2, source="in_line") for ago in range(0, 21, 5)]

    assert line(*metered, clamped, read(1, 84)).state == "open"
    assert line(*metered, clamped).state == "closed"
    assert "clamp-on-reads-low" in codes(line(*metered, clamped))


def test_a_cooling_line_says_when_it_closes() -> None:
    readings = [read(ago, 84 + 2 * ago / 60, flow=2, source="in_line") for ago in range(0, 61, 5)]
    answer = line(*readings)

    assert (answer.state, answer.closes_at) == ("open", AT + timedelta(seconds=30))


def test_implausible_readings_are_left_out_and_said() -> None:
    answer = level(*steady(40), read(1, 160))

    assert (answer.state, codes(answer)) == ("open", ["reading-implausible"])


def test_readings_after_the_moment_change_nothing() -> None:
    assert level(*steady(40), read(-1, 60), read(-2, 300)) == level(*steady(40))


def test_the_offset_of_a_time_changes_nothing() -> None:
    east = timezone(timedelta(hours=9))
    moved = [Reading(at=r.at.astimezone(east), source=r.source, temperature=r.temperature)
             for r in steady(40)]  # fmt: skip

    assert level(*moved, *steady(40)) == level(*steady(40))


@pytest.mark.parametrize(("low", "high"), [(35, None), (None, 45)])
def test_a_level_window_without_an_edge_is_refused(low: float | None, high: float | None) -> None:
    with pytest.raises(ValueError, match="both its edges"):
        evaluate(kind="level_window", low_c=low, high_c=high, readings=[], at=AT)


def test_a_line_that_does_not_wait_for_warmth_is_told_by_its_flow() -> None:
    cold, still = flowing(celsius=20), flowing(0.2, celsius=20)
    states = [
        evaluate(kind="line_exchange", low_c=None, readings=r, at=AT).state for r in (cold, still)
    ]

    assert states == ["open", "closed"]


@pytest.mark.parametrize(("hold", "state"), [(12, "open"), (13, "closed")])
def test_how_long_a_window_must_hold_can_be_said(hold: float, state: str) -> None:
    answer = evaluate(
        kind="level_window", low_c=35, high_c=45, hold_s=hold, readings=steady(40), at=AT
    )

    assert answer.state == state


READINGS = st.builds(
    read,
    st.floats(-30, 200),
    st.none() | st.sampled_from([-50.0, 30.0, 36.0, 40.0, 44.0, 45.5, 82.0, 84.0, 90.0, 170.0]),
    flow=st.none() | st.sampled_from([0.0, 0.5, 0.8, 3.0]),
    source=st.sampled_from(get_args(Source)),
)


@given(
    kind=st.sampled_from(get_args(GateKind)),
    readings=st.lists(READINGS, max_size=25),
    random=st.randoms(use_true_random=False),
)
def test_any_order_and_duplicates_give_the_same_answer(
    kind: GateKind, readings: list[Reading], random: Random
) -> None:
    shuffled = readings + readings[::2]
    random.shuffle(shuffled)
    answers = [
        evaluate(kind=kind, low_c=35, high_c=45, readings=r, at=AT) for r in (readings, shuffled)
    ]

    assert answers[0] == answers[1]


@given(kind=st.sampled_from(get_args(GateKind)), readings=st.lists(READINGS, max_size=25))
def test_a_gate_never_opens_on_sources_that_may_not_gate(
    kind: GateKind, readings: list[Reading]
) -> None:
    weak = [r for r in readings if r.source in ("infrared", "dashboard")]

    assert evaluate(kind=kind, low_c=35, high_c=45, readings=weak, at=AT).state == "unknown"


@given(readings=st.lists(READINGS, max_size=25))
def test_every_state_but_open_is_explained_by_a_listed_finding(readings: list[Reading]) -> None:
    answer = level(*readings)

    assert {*codes(answer)} <= {kind.code for kind in KINDS}
    assert answer.state == "open" or answer.findings[0].message == answer.reason

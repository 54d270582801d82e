"""The level window by the rule of each method, typed values and the edge cases of temperature."""

from random import Random
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange.catalogue import BypassPlace, LevelMethod
from libexchange.gate import GateKind, evaluate
from libexchange.gate_outcome import GateAnswer
from libexchange.gate_trust import Stand
from libexchange.readings import Reading, Source
from tests.libexchange.gate_readings import AT, codes, read


def level(
    *readings: Reading, method: LevelMethod | None = None, low: float = 35, high: float = 45
) -> GateAnswer:
    return evaluate(
        kind="level_window", low_c=low, high_c=high, readings=readings, at=AT, method=method
    )


def changing(per_min: float, *, now: float = 40, since: int = 120) -> list[Reading]:
    return [read(ago, now - per_min * ago / 60) for ago in range(0, since + 1, 5)]


@pytest.mark.parametrize(
    ("method", "per_min", "code"),
    [
        ("overflow_plug", -0.3, "gate-temperature-falling"),
        ("overflow_feed", -0.3, "gate-temperature-falling"),
        (None, -0.3, "gate-temperature-falling"),
        (None, -0.21, "gate-temperature-falling"),
        (None, -0.19, None),
        ("overflow_plug", 2.0, None),
        ("overflow_feed", 2.0, None),
        ("dipstick", -0.9, None),
        ("dipstick", -1.1, "gate-temperature-not-steady"),
        ("dipstick", 1.1, "gate-temperature-not-steady"),
        ("sight", 1.1, "gate-temperature-not-steady"),
        ("sight", 0.9, None),
        ("measured_refill", -2.0, None),
        ("measured_refill", 2.0, None),
    ],
)
def test_each_method_has_its_own_rule_for_the_trend(
    method: LevelMethod | None, per_min: float, code: str | None
) -> None:
    answer = level(*changing(per_min), method=method)

    assert (answer.state, codes(answer)) == (("closed", [code]) if code else ("open", []))


@pytest.mark.parametrize(("since", "state"), [(60, "closed"), (55, "open")])
def test_it_takes_a_minute_to_see_that_a_stick_is_not_steady(since: int, state: str) -> None:
    assert level(*changing(1.5, since=since), method="dipstick").state == state


def test_case_28_a_falling_temperature_closes_an_overflow_and_not_a_stick() -> None:
    falling = changing(-0.5)

    assert level(*falling).state == "closed"
    assert level(*falling, method="dipstick").state == "open"


def test_case_29_a_phone_that_slept_four_minutes_opens_nothing() -> None:
    slept = [read(240 + ago, 35 + 0.1 * ago, source="scan_tool_typed") for ago in range(0, 20, 5)]
    answer = level(*slept)

    assert (answer.state, codes(answer)) == ("unknown", ["gate-reading-stale"])


@pytest.mark.parametrize(
    ("age", "celsius", "state"),
    [(60, 41, "open"), (60, 41.05, "unknown"), (0, 45, "open"), (30, 43.1, "unknown")],
)
def test_a_typed_value_counts_as_far_as_warming_leaves_it_inside(
    age: float, celsius: float, state: str
) -> None:
    answer = level(read(age, celsius, source="scan_tool_typed"))

    assert answer.state == state
    assert ("typed-reading-near-top" in codes(answer)) is (state == "unknown")


def test_a_typed_value_says_that_it_is_less_sure() -> None:
    answer = level(read(10, 40, source="scan_tool_typed"))

    assert codes(answer) == ["reading-typed-by-hand"]
    assert answer.findings[0].values["uncertainty_k"] == 5


@pytest.mark.parametrize(("photo", "severity"), [(None, "caution"), ("0f" * 32, "note")])
def test_a_typed_value_without_a_photo_needs_an_acknowledgement(
    photo: str | None, severity: str
) -> None:
    older = read(40, 39, source="scan_tool_typed", photo="0f" * 32)
    answer = level(older, read(10, 40, source="scan_tool_typed", photo=photo))

    assert [(f.code, f.severity) for f in answer.findings] == [("reading-typed-by-hand", severity)]
    assert ("without a photo" in answer.findings[0].message) is (photo is None)


def test_a_photo_of_another_source_at_the_same_moment_is_none_of_the_typed_value() -> None:
    other = read(10, 40, source="dashboard", photo="0f" * 32)
    answer = level(other, read(10, 40, source="scan_tool_typed"))

    assert answer.findings[0].severity == "caution"


@pytest.mark.parametrize(
    ("stopped_s", "state"), [(None, "unknown"), (240, "open"), (241, "unknown")]
)
def test_case_30_once_the_engine_stopped_no_further_rise_is_expected(
    stopped_s: float | None, state: str
) -> None:
    """A stick that is read with the engine off: warmed up to 40, then standing still."""
    warmed = [read(ago, 40 - (ago - 241) / 30) for ago in range(241, 301, 10)]
    still = [read(ago, 40) for ago in range(0, 241, 10)]
    stopped = [] if stopped_s is None else [read(stopped_s, running=False)]

    assert level(*warmed, *still, *stopped, method="measured_refill").state == state


def test_typed_values_that_hold_need_no_guess() -> None:
    typed = [read(ago, 44.5, source="scan_tool_typed") for ago in (0, 10, 20)]

    assert level(*typed).state == "open"


def test_case_37_a_top_that_is_passed_while_pouring_ends_the_look() -> None:
    rising = changing(2, now=45.2)
    answer = level(*rising)

    assert (answer.state, codes(answer)) == ("passed", ["level-window-passed"])
    assert "Close" in answer.findings[0].remedy


def test_a_newest_value_above_the_top_is_hard_whatever_another_source_says() -> None:
    answer = level(*(read(2 + ago, 46) for ago in range(3)), read(0, 36, source="scan_tool_typed"))

    assert answer.state == "passed"


def test_a_window_too_hot_for_idling_is_said() -> None:
    settled = [read(ago, 68 - 2 * 2.718281828 ** (ago / 600)) for ago in range(0, 1201, 20)]
    answer = level(*settled, low=80, high=93, method="dipstick")

    assert answer.state == "closed"
    assert "gate-stays-shut-at-idle" in codes(answer)


ANY = st.builds(
    read,
    st.floats(-30, 400),
    st.none() | st.floats(-60, 170) | st.sampled_from([40.0, 40.1, 44.0]),
    flow=st.none() | st.sampled_from([0.0, 0.5, 0.8, 3.0]),
    bar=st.none() | st.sampled_from([0.0, 2.5, 4.0]),
    source=st.sampled_from(get_args(Source)),
    running=st.sampled_from([None, True, False]),
    photo=st.sampled_from([None, "0f" * 32]),
)


@given(
    kind=st.sampled_from(get_args(GateKind)),
    method=st.none() | st.sampled_from(get_args(LevelMethod)),
    bypass=st.none() | st.sampled_from(get_args(BypassPlace)),
    expected=st.none() | st.floats(-4, 4),
    stand=st.none() | st.builds(Stand, st.sampled_from([28_000, 30_000]), st.floats(30, 50)),
    readings=st.lists(ANY, max_size=40),
    random=st.randoms(use_true_random=False),
)
def test_the_same_readings_in_any_order_and_twice_give_the_same_answer(
    kind: GateKind,
    method: LevelMethod | None,
    bypass: BypassPlace | None,
    expected: float | None,
    stand: Stand | None,
    readings: list[Reading],
    random: Random,
) -> None:
    def answer(seen: list[Reading]) -> GateAnswer:
        return evaluate(kind=kind, low_c=35, high_c=45, readings=seen, at=AT, method=method,
                        bypass=bypass, expected_rate_k_per_min=expected, stand=stand)  # fmt: skip

    shuffled = readings + readings[::3]
    random.shuffle(shuffled)

    assert answer(shuffled) == answer(readings)


@given(
    kind=st.sampled_from(get_args(GateKind)),
    readings=st.lists(ANY, max_size=20),
    later=st.lists(ANY.filter(lambda r: r.at > AT), max_size=5),
)
def test_what_is_read_afterwards_changes_no_answer(
    kind: GateKind, readings: list[Reading], later: list[Reading]
) -> None:
    def answer(seen: list[Reading]) -> GateAnswer:
        return evaluate(kind=kind, low_c=35, high_c=45, readings=seen, at=AT)

    assert answer([*readings, *later]) == answer(readings)


@given(readings=st.lists(ANY, max_size=40), method=st.sampled_from(get_args(LevelMethod)))
def test_an_open_window_was_seen_inside_by_its_newest_reading(
    readings: list[Reading], method: LevelMethod
) -> None:
    answer = level(*readings, method=method)

    inside = [r for r in readings if r.at <= AT and r.temperature and 35 <= r.temperature.c <= 45]
    assert answer.state != "open" or any(r.source.startswith("scan_tool") for r in inside)


def second_by_second(
    per_min: float, readings: int, *, running: bool | None = None
) -> list[Reading]:
    """The newest at 39.6 Cel."""
    return [read(n, 39.6 - per_min * n / 60, running=running) for n in range(readings)]


@pytest.mark.parametrize("readings", [11, 30, 61])
@pytest.mark.parametrize("method", [None, "overflow_plug", "overflow_feed"])
def test_a_fall_closes_an_overflow_before_half_a_minute_shows_it(
    readings: int, method: LevelMethod | None
) -> None:
    falling = level(*second_by_second(-3, readings), method=method)

    assert (falling.state, codes(falling)) == ("closed", ["gate-temperature-falling"])
    assert falling.reason == "It changes by -3.00 K/min in the window."
    assert level(*second_by_second(3, readings), method=method).state == "open"


@pytest.mark.parametrize(("per_min", "state"), [(-0.59, "open"), (-0.61, "closed")])
def test_before_half_a_minute_a_tenth_of_a_kelvin_is_no_fall(per_min: float, state: str) -> None:
    assert level(*second_by_second(per_min, 11)).state == state


@pytest.mark.parametrize(
    ("ago", "celsius", "state"),
    [(61, 40.5, "closed"), (120, 40.5, "closed"), (120.1, 40.5, "open"), (61, 40.09, "open"),
     (100, 40.3, "open"), (20, 40.11, "closed")],
)  # fmt: skip
def test_a_single_typed_value_is_held_against_the_one_of_two_minutes_ago(
    ago: float, celsius: float, state: str
) -> None:
    typed = [read(s, c, source="scan_tool_typed") for s, c in ((ago, celsius), (0, 40))]

    assert level(*typed).state == state


def by_engine(running: bool | None, *, on: bool, method: LevelMethod | None = None) -> GateAnswer:
    return evaluate(
        kind="level_window", low_c=35, high_c=45, at=AT, method=method,
        readings=second_by_second(0, 11, running=running), checked_with_engine_running=on,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("running", "on", "reason"),
    [
        (None, True, None),
        (None, False, None),
        (True, True, None),
        (False, False, None),
        (False, True, "The engine is off and has to be on."),
        (True, False, "The engine is on and has to be off."),
    ],
)
@pytest.mark.parametrize("method", [None, "dipstick"])
def test_a_level_window_wants_the_engine_as_the_maker_reads_the_level(
    running: bool | None, on: bool, reason: str | None, method: LevelMethod | None
) -> None:
    answer = by_engine(running, on=on, method=method)

    assert codes(answer) == (["gate-engine-state-wrong"] if reason else [])
    assert answer.state == ("closed" if reason else "open")
    assert reason in (None, answer.reason)


def test_the_engine_matters_nothing_where_no_level_is_looked_at() -> None:
    assert by_engine(False, on=True, method="measured_refill").state == "open"


def test_the_newest_word_on_the_engine_counts() -> None:
    row = second_by_second(0, 11)
    before, after = read(20, running=False), read(0, flow=1, source="in_line", running=False)

    assert level(before, *row).state == "open"
    assert level(after, *row).state == "closed"
    assert level(after, *row, read(0, 39.6, running=True)).state == "open"

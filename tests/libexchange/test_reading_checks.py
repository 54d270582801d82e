"""Readings that cannot be true: spikes, jumps, rates, still sensors and contradicting sources."""

from math import exp

import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange.gate import evaluate
from libexchange.gate_outcome import GateAnswer
from libexchange.reading_checks import apart_k, checked, moments_to_fit, stuck_k
from libexchange.readings import Reading, Sample, Source, median_now
from tests.libexchange.gate_readings import AT, codes, flowing, read


def row(*values: float, every_s: float = 1.0, source: Source = "scan_tool") -> list[Sample]:
    last = len(values) - 1
    return [Sample((n - last) * every_s, source, value) for n, value in enumerate(values)]


def level(*readings: Reading, expected_rate: float | None = None) -> GateAnswer:
    return evaluate(kind="level_window", low_c=35, high_c=45, readings=readings, at=AT,
                    expected_rate_k_per_min=expected_rate)  # fmt: skip


def line(*readings: Reading) -> GateAnswer:
    return evaluate(kind="line_exchange", low_c=83, readings=readings, at=AT)


def changing(per_min: float, *, now: float = 40, since: int = 60) -> list[Reading]:
    return [read(ago, now - per_min * ago / 60) for ago in range(0, since + 1, 5)]


@pytest.mark.parametrize(
    ("values", "kept", "spikes"),
    [
        ((40, 40, 43, 40), (40, 40, 43, 40), 0),
        ((40, 40, 43.1, 40), (40, 40, 40), 1),
        ((40, 70, 10, 40), (40, 40), 2),
        ((40, 60, 60, 61), (40, 60, 60, 61), 0),
        ((40, 60), (40,), 0),
    ],
)
def test_a_step_of_more_than_three_kelvin_needs_a_second_reading(
    values: tuple[float, ...], kept: tuple[float, ...], spikes: int
) -> None:
    found = checked(row(*values))

    assert (tuple(sample.value for sample in found.kept), found.spikes) == (kept, spikes)


def test_a_confirmed_jump_starts_a_new_row_and_a_lone_newest_one_waits() -> None:
    confirmed, lone = checked(row(40, 60, 61)), checked(row(40, 40, 60))

    assert ([s.value for s in confirmed.recent], confirmed.unconfirmed) == ([60, 61], None)
    assert lone.unconfirmed == Sample(0.0, "scan_tool", 60)


@pytest.mark.parametrize(("after_s", "jumps"), [(22, True), (37, True), (38, False)])
def test_a_longer_time_leaves_room_for_a_larger_change(after_s: float, jumps: bool) -> None:
    found = checked(row(40, 45, every_s=after_s))

    assert (found.unconfirmed is not None) is jumps


@given(st.lists(st.floats(-40, 150), min_size=1, max_size=40), st.floats(0.5, 60))
def test_every_sample_is_kept_or_a_spike_or_waits(values: list[float], every_s: float) -> None:
    samples = row(*values, every_s=every_s)
    found = checked(samples)

    waiting = found.unconfirmed is not None
    assert len(found.kept) + found.spikes + waiting == len(samples)
    assert set(found.recent) <= set(found.kept) <= set(samples)


def test_a_spike_is_left_out_and_said() -> None:
    answer = level(*(read(ago, 47 if ago == 4 else 40) for ago in range(0, 13, 2)))

    assert (answer.state, codes(answer)) == ("open", ["reading-spikes"])


def test_a_newest_reading_far_off_opens_nothing_until_it_is_confirmed() -> None:
    steady = [read(ago, 40) for ago in range(2, 15, 2)]

    assert (level(*steady).state, level(*steady, read(0, 50)).state) == ("open", "unknown")
    assert codes(level(*steady, read(0, 50))) == ["reading-jumps"]
    assert level(*steady, read(1, 50), read(0, 50)).state == "passed"


def test_a_confirmed_jump_into_the_window_has_to_hold_anew() -> None:
    low = [read(ago, 36) for ago in range(8, 30, 2)]
    high = [read(ago, 43) for ago in (0, 2, 4, 6)]
    answer = level(*low, *high)

    assert (answer.state, codes(answer)) == (
        "closed", ["gate-not-held-long-enough", "reading-jumps"],
    )  # fmt: skip


@pytest.mark.parametrize(
    ("per_min", "state", "code"),
    [
        (4.9, "open", None),
        (5.1, "open", "temperature-changes-fast"),
        (7.9, "open", "temperature-changes-fast"),
        (8.1, "unknown", "temperature-changes-too-fast"),
        (-8.1, "unknown", "temperature-changes-too-fast"),
        (-5.1, "closed", "temperature-changes-fast"),
    ],
)
def test_five_kelvin_a_minute_warn_and_eight_are_not_believed(
    per_min: float, state: str, code: str | None
) -> None:
    now = 44 if per_min > 0 else 36
    answer = level(*changing(per_min, now=now, since=60))

    assert answer.state == state
    assert [c for c in codes(answer) if c.startswith("temperature-changes")] == (
        [code] if code else []
    )


def test_a_line_that_is_fed_cold_may_cool_fast() -> None:
    readings = [read(a, 86 + 10 * a / 60, flow=2, source="in_line") for a in range(0, 61, 5)]
    answer = line(*readings)

    assert (answer.state, codes(answer)) == ("open", [])
    assert answer.closes_at is not None


@pytest.mark.parametrize(
    ("values", "now"),
    [
        ((40, 41, 42), 41),
        ((40, 41, 42, 43), 41.5),
        ((10, 20, 40, 41, 42, 43, 44), 42),
        ((40, 42), 42),
    ],
)
def test_the_median_of_three_to_five_samples_counts(values: tuple[float, ...], now: float) -> None:
    assert median_now(row(*values)).value == now


def test_older_samples_do_not_drag_the_median() -> None:
    assert median_now(row(30, 35, 40, every_s=4)).value == 40


def test_the_median_decides_in_the_line_and_sources_are_never_mixed() -> None:
    metered = [read(ago, flow=2, source="in_line") for ago in range(0, 21, 5)]
    scan = [read(0, 82), read(1, 83.5), read(2, 83.5)]
    others = [read(ago, 60, source="clamp_on") for ago in (0, 1, 2)]

    assert line(*metered, *scan, *others).state == "open"
    assert line(*metered, read(0, 82), read(1, 82.5), read(2, 83.5), *others).state == "closed"


@pytest.mark.parametrize(
    ("expected_rate", "state"), [(None, "open"), (0.25, "open"), (0.3, "unknown")]
)
def test_case_30_a_still_sensor_is_stuck_only_against_a_forecast(
    expected_rate: float | None, state: str
) -> None:
    answer = level(*(read(ago, 40) for ago in range(0, 250, 5)), expected_rate=expected_rate)

    assert answer.state == state
    assert ("sensor-perhaps-stuck" in codes(answer)) is (state == "unknown")


def warming(until_s: int, *, every_s: int = 20) -> list[Reading]:
    """Up to so many seconds ago the unit warmed as a lump does, towards 68 Cel."""
    return [read(ago, 68 - 40 * exp(-(1500 - ago) / 2500)) for ago in range(until_s, 1500, every_s)]


@pytest.mark.parametrize("still_s", [240, 600])
def test_case_30_a_sensor_that_stops_while_the_fluid_was_warming_is_stuck(
    still_s: int,
) -> None:
    before = warming(still_s)
    stood = before[0].temperature
    assert stood is not None
    answer = level(*before, *(read(ago, stood.c) for ago in range(0, still_s, 5)))

    assert (answer.state, codes(answer)) == ("unknown", ["sensor-perhaps-stuck"])


def test_six_readings_of_a_curve_tell_how_far_it_would_have_gone_on() -> None:
    curve = [60 - 40 * exp(-240 * n / 600) for n in range(6)]
    before = [s._replace(seconds=s.seconds - 240) for s in row(*curve, every_s=240)]

    found = stuck_k([*before, *row(*[curve[-1]] * 4, every_s=60)])

    assert found == pytest.approx((60 - curve[-1]) * (1 - exp(-240 / 600)), rel=1e-6)


def test_a_short_straight_rise_before_tells_that_it_is_stuck() -> None:
    before = row(30, 31, 32, 33, every_s=30)
    still = [Sample(s.seconds + 300, s.source, 33) for s in row(*[33] * 21, every_s=15)]

    assert stuck_k([*before, *still]) == pytest.approx(8)


def test_a_settled_temperature_is_not_stuck() -> None:
    settled = [read(ago, 40 - 20 * exp(-(3000 - ago) / 400)) for ago in range(0, 1500, 10)]

    assert level(*settled).state == "open"


def test_a_typed_value_that_stays_the_same_is_not_stuck() -> None:
    typed = [read(ago, 40, source="scan_tool_typed") for ago in range(0, 300, 50)]

    assert level(*typed, expected_rate=1).state == "open"


def test_a_still_row_is_not_stuck_before_four_minutes_or_with_two_readings() -> None:
    assert stuck_k(row(40, 40, 40, every_s=119), expected_rate_k_per_min=2) is None
    assert stuck_k(row(40, 40, every_s=300), expected_rate_k_per_min=2) is None


@pytest.mark.parametrize(("moved_k", "told"), [(0.3, False), (0.29, True)])
def test_three_tenths_of_a_kelvin_are_a_movement(moved_k: float, told: bool) -> None:
    found = stuck_k(row(0, moved_k, 0, 0, every_s=80), expected_rate_k_per_min=1)

    assert found == (pytest.approx(4) if told else None)


def test_the_newest_difference_of_two_sources_is_told_from_the_nearest_pairs() -> None:
    scan = [Sample(-60.0, "scan_tool", 96), Sample(-30.0, "scan_tool", 97),
            Sample(0.0, "scan_tool", 99)]  # fmt: skip
    line = [Sample(s - 2, "in_line", 80) for s in (-60.0, -30.0, 0.0)]
    far = [sample._replace(seconds=sample.seconds - 6, value=40) for sample in line]

    assert apart_k(scan, sorted([*line, *far])) == 19


@pytest.mark.parametrize(
    ("apart", "since", "found"), [(15, 60, False), (15.1, 59, False), (15.1, 60, True)]
)
def test_more_than_15_kelvin_for_60_seconds_is_too_far_apart(
    apart: float, since: int, found: bool
) -> None:
    scan = [Sample(float(-ago), "scan_tool", 80) for ago in range(since, -1, -1)]
    other = [sample._replace(source="in_line", value=80 - apart) for sample in scan]

    assert (apart_k(scan, other) is not None) is found


def test_readings_at_other_times_are_no_pairs() -> None:
    scan = row(*[80] * 4, every_s=30)
    late = [Sample(s.seconds - 10.5, "in_line", 40) for s in scan]

    assert (apart_k(scan, late), apart_k(scan, []), apart_k([], late)) == (None, None, None)


@pytest.mark.parametrize("source", ["scan_tool_typed", None])
def test_case_30_scan_and_line_far_apart_are_both_distrusted(source: Source | None) -> None:
    scan = [read(ago, 110) for ago in range(0, 70, 5)]
    typed = [read(3, 110, source=source)] if source else []
    answer = line(*scan, *typed, *flowing(celsius=90, since=70))

    assert (answer.state, codes(answer)[0]) == ("unknown", "scan-and-line-disagree")
    assert answer.reason == answer.findings[0].message


def test_a_third_source_still_tells_when_two_contradict_each_other() -> None:
    scan = [read(ago, 110) for ago in range(0, 70, 5)]
    clamp = [read(ago, 85, source="clamp_on") for ago in (0, 5)]
    answer = line(*scan, *clamp, *flowing(celsius=90, since=70))

    assert answer.state == "open"
    assert "scan-and-line-disagree" in codes(answer)


def test_a_fit_takes_at_most_thirty_readings_of_twenty_minutes() -> None:
    moments = moments_to_fit(row(*[40.0] * 500, every_s=10))

    assert len(moments) == 30
    assert (moments[0].seconds, moments[-1].seconds) == (-1200, 0)
    assert len(moments_to_fit(row(40))) == 1

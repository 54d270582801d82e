"""Rows of readings at the edges of what they tell, and when a temperature will be met by them."""

from math import exp

import pytest

from libexchange.gate import evaluate
from libexchange.gate_forecast import crossing
from libexchange.gate_trust import Stand
from libexchange.reading_checks import apart_k, moments_to_fit, off_ambient, stuck_k, trend
from libexchange.readings import Reading, Sample, fitted_line, flow_samples, of_best_source
from libexchange.warmup_fit import Moment, predict_meeting
from tests.libexchange.gate_readings import AT, read


def seen(ago: float, celsius: float) -> Sample:
    return Sample(-ago, "scan_tool", celsius)


def row(*celsius: float, apart_s: float = 60) -> list[Sample]:
    """Values at equal distances, the newest now."""
    last = len(celsius) - 1
    return [seen(apart_s * (last - n), value) for n, value in enumerate(celsius)]


COOLING = [seen(ago, 20 + 30 * exp(ago / 2000)) for ago in range(1200, -1, -60)]
WARMING = [seen(ago, 80 - 20 * exp(ago / 900)) for ago in range(1200, -1, -60)]


@pytest.mark.parametrize("value", [50.3, 50.9, 55])
def test_a_fluid_that_cools_down_does_not_come_back_to_what_it_left(value: float) -> None:
    found = crossing(COOLING, value)

    assert (found.expected_s, found.earliest_s, found.latest_s) == (None, None, None)
    assert found.settled is not None
    assert found.settled.expected == pytest.approx(20, abs=1e-6)


def test_what_is_just_met_is_met_now() -> None:
    found = crossing(COOLING, 50)

    assert (found.expected_s, found.earliest_s) == (0, 0)


def test_after_a_turn_the_last_two_minutes_tell() -> None:
    turned = [
        *(seen(ago, 50 + (ago - 120) / 108) for ago in range(1200, 120, -60)),
        *(seen(ago, 51 - ago / 120) for ago in (120, 90, 60, 30, 0)),
    ]
    found = crossing(turned, 52)

    assert found.expected_s == pytest.approx(120)
    assert found.earliest_s is None
    assert found.settled is not None


@pytest.mark.parametrize(("apart_s", "earliest_s"), [(1.0, 5.448), (0.3, 1.634)])
def test_a_few_seconds_tell_the_way_that_a_value_goes(apart_s: float, earliest_s: float) -> None:
    found = crossing(row(40.5, 40.6, 40.7, 40.8, 40.9, 41.0, apart_s=apart_s), 42)

    assert found.expected_s is None
    assert found.earliest_s == pytest.approx(earliest_s, abs=0.001)


def test_a_curve_that_bends_tells_where_it_settles() -> None:
    found = crossing(WARMING, 70)

    assert found.expected_s == pytest.approx(623.83, abs=0.01)
    assert found.settled is not None
    assert found.settled.expected == pytest.approx(80, abs=1e-6)


def test_a_value_met_long_ago_is_met_now() -> None:
    assert crossing([seen(ago, 60 - ago / 60) for ago in range(1200, -1, -60)], 55)[:3] == (0, 0, 0)


def test_a_slow_last_line_is_held_within_what_the_curves_allow() -> None:
    scattered = [
        *(seen(ago, 60 - ago / 60 + (0.3 if ago % 120 else -0.3)) for ago in range(1200, 119, -60)),
        *(seen(ago, 59.5 + ago / 500) for ago in (90, 60, 30, 0)),
    ]
    found = crossing(scattered, 62)

    assert found.expected_s == found.latest_s == pytest.approx(139.86, abs=0.01)


def test_where_the_last_line_falls_the_curve_tells_if_it_surely_meets_the_value() -> None:
    surely = row(
        39.8, 42.4, 40.8, 44.2, 43.9, 45.5, 44.7, 46.8, 46.6, 49.2, 51.6, 51.5, 52.4, 52.6, 53.8,
        56.0, 56.6, 57.5, 59.3, 57.3, 58.1,
    )  # fmt: skip
    perhaps = row(56.4, 56.5, 56.2, 56.5, 58.1, 58.1, 60.0, 58.6, 60.0)

    assert crossing(surely, 62).expected_s == pytest.approx(178.11, abs=0.01)
    assert crossing(surely, 62).latest_s == pytest.approx(344.44, abs=0.01)
    assert crossing(perhaps, 62).expected_s is None
    assert crossing(perhaps, 62).earliest_s == pytest.approx(114.52, abs=0.01)


def test_a_trend_is_of_the_last_minute_to_the_second() -> None:
    line = trend([seen(60.5, 10), *(seen(ago, 40) for ago in (60, 30, 0))])

    assert line is not None
    assert line.slope_per_s == 0


def test_a_line_takes_what_is_exactly_two_minutes_old() -> None:
    line = fitted_line(row(30, 30, 33))
    younger = fitted_line([seen(120.5, 30), seen(60, 30), seen(0, 33)])

    assert line is not None
    assert line.slope_per_s == pytest.approx(0.025)
    assert younger is not None
    assert younger.slope_per_s == pytest.approx(0.05)


def test_three_still_readings_over_four_minutes_show_a_stuck_sensor() -> None:
    assert stuck_k(row(40, 40, 40, apart_s=120), expected_rate_k_per_min=2) == 8
    assert stuck_k(row(40, 40, apart_s=240), expected_rate_k_per_min=2) is None
    assert stuck_k(row(40, 40, 40, apart_s=119.9), expected_rate_k_per_min=2) is None


@pytest.mark.parametrize("readings", [1, 2, 29, 30])
def test_a_fit_takes_every_one_of_a_few_readings(readings: int) -> None:
    assert len(moments_to_fit(row(*[40.0] * readings, apart_s=10))) == readings


@pytest.mark.parametrize(("ago", "sources"), [(40, ["in_line"]), (39.5, [])])
def test_a_source_that_begins_a_minute_later_is_still_judged_by_the_stand(
    ago: float, sources: list[str]
) -> None:
    found = off_ambient(
        [seen(100, 10), Sample(-ago, "in_line", 40.0)], ambient_c=10, stood_s=36_000
    )

    assert [sample.source for sample in found] == sources


def test_readings_of_two_sources_are_paired_up_to_ten_seconds_apart() -> None:
    scan = [seen(ago, 80) for ago in (60, 30, 0)]

    def line(later_s: float) -> list[Sample]:
        return [Sample(one.seconds + later_s, "in_line", 60.0) for one in scan]

    assert apart_k(scan, line(10)) == apart_k(scan, line(-10)) == 20
    assert apart_k(scan, line(10.5)) is None
    assert apart_k(scan, line(-10.5)) is None


def test_of_two_nearby_readings_the_nearer_is_the_pair() -> None:
    scan = [seen(ago, 80) for ago in (65, 35, 5)]
    line = sorted(
        Sample(one.seconds + by_s, "in_line", celsius)
        for one in scan
        for by_s, celsius in ((-4.0, 60.0), (3.0, 62.0), (5.0, 79.0))
    )

    assert apart_k(scan, line) == 18


def test_a_second_after_the_moment_is_not_seen() -> None:
    assert flow_samples([read(-1, flow=2, source="in_line")], at=AT) == []
    assert len(flow_samples([read(0, flow=2, source="in_line")], at=AT)) == 1


def test_where_nothing_is_young_the_last_one_alone_tells_the_source() -> None:
    old = [seen(1000, 40), Sample(-900.0, "clamp_on", 31.0)]

    assert of_best_source(old) == old[1:]


def test_a_long_stand_judges_only_what_may_gate_and_tells_its_hours() -> None:
    readings = [read(30, 40, source="clamp_on"), *(read(ago, 40) for ago in (20, 10, 0))]
    clamped = [read(30, 40, source="clamp_on"), *(read(ago, 12) for ago in (20, 10, 0))]
    stand = Stand(stood_s=3_600_000, ambient_c=10)

    def window(rows: list[Reading]) -> list[str]:
        found = evaluate(
            kind="level_window", low_c=5, high_c=45, readings=rows, at=AT, stand=stand
        ).findings
        return [one.message for one in found]

    assert any("after 1000.0 h in air" in message for message in window(readings))
    assert not any("clamp_on began" in message for message in window(clamped))


@pytest.mark.parametrize(
    ("k_per_min", "target_c", "told"),
    [
        (0, 38, (None, 10843.89, None)),
        (0, 39.9, (0, 0, None)),
        (0, 45, (None, 8546.34, None)),
        (0.02, 38, (None, None, None)),
        (0.02, 41, (None, 460.79, None)),
        (-0.02, 38, (None, 2665.46, None)),
        (-0.02, 41, (None, 2565.86, None)),
        (0.05, 40.2, (0, 0, None)),
        (0.05, 41, (390.21, 73.76, None)),
        (0.1, 41, (0, 0, 203.53)),
        (0.1, 45, (2581.3, 1498.54, None)),
        (-0.1, 38, (695.41, 411.85, None)),
        (-0.1, 41, (None, None, None)),
        (0.2, 45, (801.44, 610.93, None)),
    ],
)
def test_what_scatters_meets_a_value_early_late_or_perhaps_never(
    k_per_min: float, target_c: float, told: tuple[float | None, ...]
) -> None:
    row = [Moment(60.0 * n, 40 + k_per_min * n + (0.2 if n % 3 else -0.2)) for n in range(12)]
    found = predict_meeting(row, target_c=target_c)

    for part, expected in zip(
        (found.expected_s, found.earliest_s, found.latest_s), told, strict=True
    ):
        assert part == (None if expected is None else pytest.approx(expected, abs=0.01))

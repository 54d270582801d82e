"""Readings: which may be relied on, how long, and the line through them."""

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange.quantities import Flow, Temperature
from libexchange.readings import (
    Reading,
    Sample,
    Source,
    blind_in_line,
    fitted_line,
    is_fresh,
    median_now,
    of_best_source,
    plausible,
    trailing_run,
)

AT = datetime(2024, 5, 2, 9, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("source", "limit_s"),
    [("scan_tool", 5), ("scan_tool_typed", 60), ("in_line", 10), ("clamp_on", 15)],
)
def test_a_reading_counts_up_to_the_limit_of_its_source(source: Source, limit_s: float) -> None:
    assert is_fresh(Sample(-limit_s, source, 40))
    assert not is_fresh(Sample(-limit_s - 0.1, source, 40))


@pytest.mark.parametrize(
    ("celsius", "expected"), [(-40.1, False), (-40, True), (150, True), (150.1, False)]
)
def test_a_temperature_is_plausible_from_minus_40_to_150(celsius: float, expected: bool) -> None:
    reading = Reading(at=AT, source="scan_tool", temperature=Temperature(celsius, "Cel"))

    assert plausible(reading) is expected


@given(now=st.floats(-40, 150), slope=st.floats(-0.1, 0.1), count=st.integers(3, 20))
def test_a_line_through_exact_points_is_found(now: float, slope: float, count: int) -> None:
    samples = [Sample(-5.0 * n, "scan_tool", now - 5 * n * slope) for n in reversed(range(count))]
    line = fitted_line(samples)

    assert line is not None
    assert line.value_now == pytest.approx(now, abs=1e-9)
    assert line.slope_per_s == pytest.approx(slope, abs=1e-10)


def test_only_the_last_two_minutes_tell_the_trend() -> None:
    old = [Sample(-300.0, "scan_tool", 90), Sample(-121.0, "scan_tool", 90)]
    recent = [Sample(-120.0, "scan_tool", 40), Sample(0.0, "scan_tool", 46)]

    assert fitted_line(old + recent) == fitted_line(recent)


@pytest.mark.parametrize(("apart", "told"), [(9.9, False), (10, True)])
def test_less_than_ten_seconds_tell_no_trend(apart: float, told: bool) -> None:
    samples = [Sample(-apart, "scan_tool", 40), Sample(0.0, "scan_tool", 41)]

    assert (fitted_line(samples) is not None) is told


@pytest.mark.parametrize(("litres", "blind"), [(None, True), (0.79, True), (0.8, False)])
def test_an_in_line_sensor_needs_eight_tenths_of_a_litre(litres: float | None, blind: bool) -> None:
    flow = None if litres is None else Flow(litres, "L/min")
    hot = Temperature(80, "Cel")

    assert blind_in_line(Reading(at=AT, source="in_line", temperature=hot, flow=flow)) is blind
    assert not blind_in_line(Reading(at=AT, source="scan_tool", temperature=hot, flow=flow))
    assert not blind_in_line(Reading(at=AT, source="in_line", flow=flow))


@pytest.mark.parametrize(("gap", "length"), [(30, 2), (30.1, 1)])
def test_nobody_saw_what_happened_in_more_than_thirty_seconds(gap: float, length: int) -> None:
    seen = [Sample(-gap, "scan_tool", 40), Sample(0.0, "scan_tool", 40)]

    assert len(trailing_run(seen, low=40, high=40)) == length


@pytest.mark.parametrize(
    ("seconds", "value"), [((-5, -2, 0), 41), ((-5.1, -2, 0), 43), ((-4, -2, 0), 41)]
)
def test_a_median_takes_what_lies_within_five_seconds(
    seconds: tuple[float, ...], value: float
) -> None:
    samples = [Sample(s, "scan_tool", c) for s, c in zip(seconds, (40, 41, 43), strict=True)]

    assert median_now(samples).value == value


def test_a_median_takes_five_samples_at_most() -> None:
    samples = [Sample(-n / 2, "scan_tool", 40 + n) for n in reversed(range(7))]

    assert median_now(samples).value == 42


def test_the_best_fresh_source_tells_else_the_one_seen_last() -> None:
    stale, clamp = Sample(-5.1, "scan_tool", 40), Sample(-15.0, "clamp_on", 30)

    assert of_best_source([clamp, stale]) == [clamp]
    assert of_best_source([clamp, stale._replace(seconds=-5.0)])[0].source == "scan_tool"
    assert of_best_source([clamp._replace(seconds=-16.0), stale]) == [stale]
    assert of_best_source([]) == []

"""Readings: which may be relied on, how long, and the line through them."""

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange.quantities import Temperature
from libexchange.readings import Reading, Sample, Source, fitted_line, is_fresh, plausible

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

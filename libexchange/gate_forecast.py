"""When a temperature will be met, as the readings so far tell, and whether it will be at all."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from math import inf
from typing import NamedTuple

from msgspec import Struct

from libexchange.fields import Instant
from libexchange.reading_checks import FIT_WITHIN_S, moments_to_fit
from libexchange.readings import Sample, fitted_line
from libexchange.warmup_fit import LEAST_READINGS, Interval, fit_approach, predict_meeting

HORIZON_S = 7200.0
"""What lies further ahead is not told [s]."""


class Expected(Struct, frozen=True, kw_only=True):
    """The earliest and latest moment of a 90 % interval; null where it is beyond what is told.

    earliest, latest: limits
    """

    earliest: Instant | None
    latest: Instant | None


class Crossing(NamedTuple):
    """When a temperature is met, from the moment of judgement [s]; null where it is not told.

    settled: where the fitted temperature settles, null where the readings do not tell it
    """

    expected_s: float | None = None
    earliest_s: float | None = None
    latest_s: float | None = None
    settled: Interval | None = None

    def later(self, seconds: float) -> "Crossing":
        """The same, so many seconds later."""
        expected_s, earliest_s, latest_s = (
            None if told_s is None else told_s + seconds
            for told_s in (self.expected_s, self.earliest_s, self.latest_s)
        )
        return Crossing(expected_s, earliest_s, latest_s, self.settled)


def crossing(samples: Sequence[Sample], value_c: float, *, rising: bool = True) -> Crossing:
    """When the samples will meet a value, by the fit of the lumped model, else by a line.

    samples: of one source since its last jump, the oldest first
    rising: whether it is to be met from below; otherwise from above
    Returns: the interval where there are six readings; nothing where neither tells
    Source: `warmup_fit`.

    >>> warming = [Sample(30.0 * n - 300, "scan_tool", 30.0 + n) for n in range(11)]
    >>> found = crossing(warming, 45)
    >>> found.expected_s, found.earliest_s < 150 < found.latest_s, found.settled
    (150.0, True, None)
    """
    moments = moments_to_fit(samples)
    if len(moments) < LEAST_READINGS:
        return Crossing(_by_line_s(samples, value_c, rising))
    fit, met = fit_approach(moments), predict_meeting(moments, target_c=value_c)
    if _heads_away(samples, value_c, rising):
        return Crossing(_by_line_s(samples, value_c, rising), settled=fit.settled)
    expected_s = _from_now(met.expected_s, samples[-1])
    if fit.settled is None:
        # of a nearly straight course the last two minutes tell more than a curve, unless they
        # scatter so much that they tell nothing while every curve that fits meets the value
        curve_s = None if met.latest_s is None else expected_s
        by_line_s = _by_line_s(samples, value_c, rising)
        expected_s = curve_s if by_line_s is None else by_line_s
    earliest_s, latest_s = (_from_now(s, samples[-1]) for s in (met.earliest_s, met.latest_s))
    if expected_s is None:
        return Crossing(None, earliest_s, latest_s, fit.settled)
    # a line knows no slowing down, so what it tells is held within what the readings allow
    expected_s = max(expected_s, earliest_s or 0.0)
    expected_s = expected_s if latest_s is None else min(expected_s, latest_s)
    return Crossing(expected_s, earliest_s, latest_s, fit.settled)


def _heads_away(samples: Sequence[Sample], value_c: float, rising: bool) -> bool:
    """Whether the value lies ahead while the course goes the other way, so that a fit that met it
    in the past tells nothing.
    """
    sign = 1 if rising else -1
    course = fitted_line(samples, span_s=FIT_WITHIN_S, least_s=1.0)
    ahead = sign * (value_c - samples[-1].value) > 0
    return ahead and (course is None or sign * course.slope_per_s <= 0)


def sooner(*crossings: Crossing) -> Crossing:
    """The one that is expected first; one that is not told comes last.

    >>> sooner(Crossing(90.0), Crossing(), Crossing(60.0)).expected_s
    60.0
    """
    return min(crossings, key=lambda one: inf if one.expected_s is None else one.expected_s)


def _by_line_s(samples: Sequence[Sample], value_c: float, rising: bool) -> float | None:
    line = fitted_line(samples)
    if line is None or (line.slope_per_s <= 0 if rising else line.slope_per_s >= 0):
        return None
    return max((value_c - line.value_now) / line.slope_per_s, 0.0)


def _from_now(after_last_s: float | None, newest: Sample) -> float | None:
    return None if after_last_s is None else max(after_last_s + newest.seconds, 0.0)


def moment(at: datetime, seconds: float | None) -> datetime | None:
    """A moment so many seconds ahead, null beyond 2 h or the year 9999.

    >>> from datetime import UTC
    >>> moment(datetime(2024, 5, 2, 9, 0, tzinfo=UTC), 60).minute
    1
    """
    if seconds is None or seconds > HORIZON_S:
        return None
    try:
        return at + timedelta(seconds=seconds)
    except OverflowError:  # past the year 9999
        return None


def between(at: datetime, found: Crossing) -> Expected | None:
    """The interval as moments; null where nothing of it is told.

    >>> from datetime import UTC
    >>> between(datetime(2024, 5, 2, 9, 0, tzinfo=UTC), Crossing()) is None
    True
    """
    earliest, latest = moment(at, found.earliest_s), moment(at, found.latest_s)
    return None if earliest is None else Expected(earliest=earliest, latest=latest)

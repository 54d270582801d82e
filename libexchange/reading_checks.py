"""Whether a row of readings can be true: spikes, jumps, sensors that stand still or contradict.

All samples given to one of these come from one source, the oldest first.
"""

from bisect import bisect_left
from collections.abc import Sequence
from math import expm1, inf, nextafter
from typing import NamedTuple

from libexchange.readings import Line, Sample, fitted_line, trailing_run
from libexchange.warmup_fit import LEAST_READINGS, Moment, fit_approach

STEP_K = 3.0
"""Neighbouring samples differ by no more, unless there was time for it [K] (memory)."""

LARGEST_RISE_K_PER_MIN = 4.0
"""What a fluid may warm up at idle while nobody reads it (memory)."""

FAST_K_PER_MIN, TOO_FAST_K_PER_MIN = 5.0, 8.0
"""Unusual and impossible at idle [K/min] (memory)."""

STUCK_K, STUCK_S, STUCK_EXPECTED_K = 0.3, 240.0, 1.0
"""Stuck is less than 0.3 K in 4 min while more than 1 K was expected (memory)."""

APART_K, APART_S, PAIRED_S = 15.0, 60.0, 10.0
"""Scan tool and line may not be more than 15 K apart for 60 s; pairs lie within 10 s (memory)."""

AMBIENT_K, STOOD_S, FIRST_S = 8.0, 8 * 3600.0, 60.0
"""After more than 8 h of standing the first readings of 60 s are within 8 K of the air (memory)."""

FIT_WITHIN_S, FIT_AT_MOST = 1200.0, 30
"""How far back a fit looks [s], and how many samples it takes, spread evenly."""


class Checked(NamedTuple):
    """Samples that may be true.

    kept: all but the spikes    recent: those since the last jump
    spikes: how many were left out    unconfirmed: a newest sample that nothing confirms yet
    """

    kept: list[Sample]
    recent: list[Sample]
    spikes: int
    unconfirmed: Sample | None


def checked(samples: Sequence[Sample]) -> Checked:
    """The samples without spikes, and where they jump.

    A sample further off than a unit can warm or cool is a spike, unless the next one confirms it.

    samples: [degC]    Source: memory.

    >>> row = [Sample(float(n - 4), "scan_tool", c) for n, c in enumerate((40, 40, 55, 40, 41))]
    >>> found = checked(row)
    >>> [sample.value for sample in found.kept], found.spikes
    ([40, 40, 40, 41], 1)
    """
    parts: list[list[Sample]] = [list(samples[:1])]
    spikes, doubtful = 0, None
    for sample in samples[1:]:
        if _agree(parts[-1][-1], sample):
            spikes, doubtful = spikes + (doubtful is not None), None
            parts[-1].append(sample)
        elif doubtful is not None and _agree(doubtful, sample):
            parts.append([doubtful, sample])
            doubtful = None
        else:
            spikes, doubtful = spikes + (doubtful is not None), sample
    return Checked([sample for part in parts for sample in part], parts[-1], spikes, doubtful)


def _agree(earlier: Sample, later: Sample) -> bool:
    room_k = max(STEP_K, TOO_FAST_K_PER_MIN / 60 * (later.seconds - earlier.seconds))
    return abs(later.value - earlier.value) <= room_k


def trend(samples: Sequence[Sample]) -> Line | None:
    """The line through the last minute, null for less than half of one.

    >>> trend([Sample(-60.0, "scan_tool", 30.0), Sample(0.0, "scan_tool", 33.0)]).slope_per_s
    0.05
    """
    return fitted_line(samples, span_s=60.0, least_s=30.0)


def stuck_k(
    samples: Sequence[Sample], *, expected_rate_k_per_min: float | None = None
) -> float | None:
    """What was expected of a sensor that has not moved for 4 min; null unless it looks stuck.

    expected_rate_k_per_min: of a forecast; null lets the readings before the still ones tell
    Returns: expected change, more than 1 K [K]
    Source: memory.

    >>> still = [Sample(-60.0 * n, "scan_tool", 40.0) for n in (5, 4, 3, 2, 1, 0)]
    >>> stuck_k(still, expected_rate_k_per_min=2)
    8.0
    >>> stuck_k(still) is None
    True
    """
    still = _still(samples)
    if len(still) < 3 or still[-1].seconds - still[0].seconds < STUCK_S:
        return None
    expected_k = (
        _continued_k(samples[: len(samples) - len(still) + 1])
        if expected_rate_k_per_min is None
        else abs(expected_rate_k_per_min) / 60 * STUCK_S
    )
    return expected_k if expected_k is not None and expected_k > STUCK_EXPECTED_K else None


def _still(samples: Sequence[Sample]) -> list[Sample]:
    low = high = samples[-1].value
    still: list[Sample] = []
    for sample in reversed(samples):
        low, high = min(low, sample.value), max(high, sample.value)
        if high - low >= STUCK_K:
            break
        still.append(sample)
    return still[::-1]


def _continued_k(before: Sequence[Sample]) -> float | None:
    """How far the readings before would have gone on in 4 min: by the fit, else by the line."""
    moments = moments_to_fit(before)
    fit = fit_approach(moments) if len(moments) >= LEAST_READINGS else None
    if fit is not None and fit.approach is not None:
        approach = fit.approach
        way_k = approach.settled_c - before[-1].value
        return abs(way_k) * -expm1(-STUCK_S / approach.time_constant_s)
    line = trend(before)
    return None if line is None else abs(line.slope_per_s) * STUCK_S


def moments_to_fit(samples: Sequence[Sample]) -> list[Moment]:
    """What a fit takes of these samples: of the last 20 min, at most 30, each time once.

    >>> len(moments_to_fit([Sample(float(-n), "scan_tool", 40.0) for n in range(99, -1, -1)]))
    30
    """
    near = {s.seconds: s for s in samples if samples[-1].seconds - s.seconds <= FIT_WITHIN_S}
    kept = list(near.values())
    last, most = len(kept) - 1, min(len(kept), FIT_AT_MOST)
    places = {round(last * n / max(most - 1, 1)) for n in range(most)}
    return [Moment(kept[place].seconds, kept[place].value) for place in sorted(places)]


def apart_k(scan: Sequence[Sample], line: Sequence[Sample]) -> float | None:
    """How far scan tool and line sensor are apart where that has been too far for 60 s, else null.

    line: with flow    Returns: difference of the newest pair, more than 15 K [K]
    Source: memory.

    >>> scan = [Sample(-30.0 * n, "scan_tool", 80.0) for n in (2, 1, 0)]
    >>> apart_k(scan, [sample._replace(source="in_line", value=60.0) for sample in scan])
    20.0
    """
    pairs = [
        sample._replace(value=abs(sample.value - other.value))
        for sample in scan
        if (other := _nearest(line, sample)) is not None
    ]
    run = trailing_run(pairs, low=nextafter(APART_K, inf), high=inf)
    if not run or run[-1].seconds - run[0].seconds < APART_S:
        return None
    return run[-1].value


def off_ambient(samples: Sequence[Sample], *, ambient_c: float, stood_s: float) -> list[Sample]:
    """The first sample of each source that a long stand does not explain.

    samples: of any sources, the oldest first; the first of them ends the stand
    ambient_c: of the air where it stood [degC]    stood_s: how long, judged above 8 h [s]
    Returns: those more than 8 K off; a source that begins more than 60 s later is not judged
    Source: memory.

    >>> cold = [Sample(-30.0, "scan_tool", 40.0), Sample(-20.0, "in_line", 12.0)]
    >>> [sample.source for sample in off_ambient(cold, ambient_c=10, stood_s=36_000)]
    ['scan_tool']
    """
    if stood_s <= STOOD_S:
        return []
    firsts = {sample.source: sample for sample in reversed(samples)}.values()
    return [
        first
        for first in sorted(firsts)
        if first.seconds - samples[0].seconds <= FIRST_S
        and abs(first.value - ambient_c) > AMBIENT_K
    ]


def _nearest(samples: Sequence[Sample], to: Sample) -> Sample | None:
    place = bisect_left(samples, to.seconds, key=lambda sample: sample.seconds)
    near = samples[max(place - 1, 0) : place + 1]
    best = min(near, key=lambda sample: abs(sample.seconds - to.seconds), default=None)
    return best if best and abs(best.seconds - to.seconds) <= PAIRED_S else None

"""Readings of temperature and flow, and how far each kind of source may be relied on.

Whatever is told from readings is the same for any order of arrival and with exact duplicates.
"""

from collections.abc import Collection, Iterable, Sequence
from datetime import datetime
from math import fsum
from typing import Literal, NamedTuple

from msgspec import Struct

from libexchange.fields import Digest, Instant
from libexchange.quantities import Flow, Pressure, Temperature

PLAUSIBLE_C = (-40.0, 150.0)
MINIMUM_FLOW_L_PER_MIN = 0.8
LONGEST_GAP_S = 30.0
TREND_S = 120.0

MOST_READINGS = 3600
"""How many are taken at once: an hour, once a second."""

Source = Literal["scan_tool", "scan_tool_typed", "in_line", "clamp_on", "infrared", "dashboard"]
"""Where a reading comes from; `scan_tool_typed` was read off a scan tool and typed in."""

SOURCES: tuple[Source, ...] = ("scan_tool", "in_line", "scan_tool_typed", "clamp_on")
"""The sources a gate may rely on, the best first; infrared and dashboard never gate."""

OWN_SENSOR: tuple[Source, ...] = ("scan_tool", "scan_tool_typed")
"""The transmission's own sensor, which alone tells the temperature of a level."""

FRESH_S: dict[Source, float] = {
    "scan_tool": 5.0, "scan_tool_typed": 60.0, "in_line": 10.0, "clamp_on": 15.0,
}  # fmt: skip
"""How old the newest reading of a source may be at a gate [s]; common practice."""

ERROR_K: dict[Source, float] = {
    "scan_tool": 3.0, "scan_tool_typed": 5.0, "in_line": 2.0, "clamp_on": 15.0,
    "infrared": 20.0, "dashboard": 20.0,
}  # fmt: skip
"""How far off a source may be [K], from memory; a typed value is rounded and up to 60 s old."""

MEDIAN_OF, MEDIAN_WITHIN_S = (3, 5), 5.0


class Reading(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A temperature, a flow, a pressure or several of them, seen at one moment by one source.

    at: when it was seen    source: what it was seen by    temperature: of the fluid
    flow: through the line
    pressure: in the feed of a line exchange    engine_running: null counts as running
    photo: digest of a picture that shows the value, which a typed one should have
    """

    at: Instant
    source: Source
    temperature: Temperature | None = None
    flow: Flow | None = None
    pressure: Pressure | None = None
    engine_running: bool | None = None
    photo: Digest | None = None


class Sample(NamedTuple):
    """One value in base units; `seconds` counts from the moment of judgement, 0 or less."""

    seconds: float
    source: Source
    value: float

    @property
    def age_s(self) -> float:
        """How long ago it was read."""
        return abs(self.seconds)


def plausible(reading: Reading) -> bool:
    """Whether a reading may be true at all: without a temperature, or -40 to 150 Cel.

    Source: memory.

    >>> from datetime import UTC
    >>> at = datetime(2024, 5, 2, 9, 0, tzinfo=UTC)
    >>> plausible(Reading(at=at, source="in_line", temperature=Temperature(180, "Cel")))
    False
    """
    low_c, high_c = PLAUSIBLE_C
    return reading.temperature is None or low_c <= reading.temperature.c <= high_c


def blind_in_line(reading: Reading) -> bool:
    """Whether this is an in-line temperature without 0.8 L/min of flow, which tells nothing.

    Source: common practice.

    >>> from datetime import UTC
    >>> at = datetime(2024, 5, 2, 9, 0, tzinfo=UTC)
    >>> blind_in_line(Reading(at=at, source="in_line", temperature=Temperature(20, "Cel")))
    True
    """
    if reading.source != "in_line" or reading.temperature is None:
        return False
    return reading.flow is None or reading.flow.l_per_min < MINIMUM_FLOW_L_PER_MIN


def temperature_samples(
    readings: Iterable[Reading], *, at: datetime, sources: Collection[Source] = SOURCES
) -> list[Sample]:
    """Temperatures up to `at` that can be relied on, the oldest first, each once.

    Values in [degC].

    >>> from datetime import UTC
    >>> at = datetime(2024, 5, 2, 9, 0, tzinfo=UTC)
    >>> seen = Reading(at=at, source="scan_tool", temperature=Temperature(104, "[degF]"))
    >>> temperature_samples([seen, seen], at=at)
    [Sample(seconds=0.0, source='scan_tool', value=40.0)]
    """
    return _ordered(
        Sample((r.at - at).total_seconds(), r.source, r.temperature.c)
        for r in readings
        if r.temperature is not None
        and r.source in sources
        and plausible(r)
        and not blind_in_line(r)
    )


def flow_samples(readings: Iterable[Reading], *, at: datetime) -> list[Sample]:
    """Flows up to `at` that can be relied on, the oldest first, each once. Values in [L/min].

    >>> from datetime import UTC
    >>> flow_samples([], at=datetime(2024, 5, 2, 9, 0, tzinfo=UTC))
    []
    """
    return _ordered(
        Sample((r.at - at).total_seconds(), r.source, r.flow.l_per_min)
        for r in readings
        if r.flow is not None and r.source in SOURCES
    )


def pressure_samples(readings: Iterable[Reading], *, at: datetime) -> list[Sample]:
    """Feed pressures up to `at`, the oldest first, each once. Values in [bar].

    >>> from datetime import UTC
    >>> pressure_samples([], at=datetime(2024, 5, 2, 9, 0, tzinfo=UTC))
    []
    """
    return _ordered(
        Sample((r.at - at).total_seconds(), r.source, r.pressure.bar)
        for r in readings
        if r.pressure is not None and r.source in SOURCES
    )


def _ordered(samples: Iterable[Sample]) -> list[Sample]:
    return sorted({sample for sample in samples if sample.seconds <= 0})


def is_fresh(sample: Sample) -> bool:
    """Whether a sample is young enough for its source: 5 to 60 s.

    >>> is_fresh(Sample(-6.0, "scan_tool", 40.0)), is_fresh(Sample(-6.0, "in_line", 40.0))
    (False, True)
    """
    return sample.age_s <= FRESH_S[sample.source]


def of_best_source(samples: Sequence[Sample]) -> list[Sample]:
    """The samples of the best source that is fresh, else of the one seen last; never a mixture.

    >>> of_best_source([Sample(-1.0, "scan_tool", 40.0), Sample(0.0, "clamp_on", 31.0)])
    [Sample(seconds=-1.0, source='scan_tool', value=40.0)]
    """
    fresh = {sample.source for sample in samples if is_fresh(sample)} or {
        sample.source for sample in samples[-1:]
    }
    best = min(fresh, key=SOURCES.index, default=None)
    return [sample for sample in samples if sample.source == best]


def median_now(samples: Sequence[Sample]) -> Sample:
    """The newest sample of one source with the median of the last 3 to 5 within 5 s as its value.

    samples: at least one, all of one source, the oldest first
    Returns: the newest as it is where fewer than 3 were seen within 5 s

    >>> median_now([Sample(-2.0, "scan_tool", 40.0), Sample(-1.0, "scan_tool", 42.0),
    ...             Sample(0.0, "scan_tool", 40.5)])
    Sample(seconds=0.0, source='scan_tool', value=40.5)
    """
    newest, (fewest, most) = samples[-1], MEDIAN_OF
    close = [s for s in samples[-most:] if newest.seconds - s.seconds <= MEDIAN_WITHIN_S]
    if len(close) < fewest:
        return newest
    values = sorted(sample.value for sample in close)
    middle = values[(len(values) - 1) // 2], values[len(values) // 2]
    return newest._replace(value=fsum(middle) / 2)


def trailing_run(samples: Sequence[Sample], *, low: float, high: float) -> list[Sample]:
    """The unbroken run of samples within low to high that ends with the newest.

    A gap of more than 30 s breaks a run, since nobody saw what happened in it.

    >>> seen = [Sample(-9.0, "scan_tool", 34.0), Sample(-4.0, "scan_tool", 36.0)]
    >>> trailing_run(seen, low=35, high=45)
    [Sample(seconds=-4.0, source='scan_tool', value=36.0)]
    """
    run: list[Sample] = []
    for sample in reversed(samples):
        if not low <= sample.value <= high:
            break
        if run and run[-1].seconds - sample.seconds > LONGEST_GAP_S:
            break
        run.append(sample)
    return run[::-1]


class Line(NamedTuple):
    """A straight line through samples: value at the moment of judgement, and its slope."""

    value_now: float
    slope_per_s: float


def fitted_line(
    samples: Sequence[Sample], *, span_s: float = TREND_S, least_s: float = 10.0
) -> Line | None:
    """The least-squares line through the samples of the last `span_s` before the newest.

    span_s: above 0 [s]    least_s: above 0, a shorter time tells no trend [s]
    Returns: null where the samples tell no trend.

    >>> fitted_line([Sample(-60.0, "scan_tool", 30.0), Sample(0.0, "scan_tool", 33.0)])
    Line(value_now=33.0, slope_per_s=0.05)
    """
    recent = [s for s in samples if samples[-1].seconds - s.seconds <= span_s]
    if not recent or recent[-1].seconds - recent[0].seconds < least_s:
        return None
    middle_s = fsum(s.seconds for s in recent) / len(recent)
    middle = fsum(s.value for s in recent) / len(recent)
    spread = fsum((s.seconds - middle_s) ** 2 for s in recent)
    slope = fsum((s.seconds - middle_s) * (s.value - middle) for s in recent) / spread
    return Line(middle - slope * middle_s, slope)

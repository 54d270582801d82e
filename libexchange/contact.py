"""How long a cleaner has acted: a timer that runs only while the fluid is warm and the engine runs.

The answer is the same for any order of arrival and with exact duplicates.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime
from itertools import dropwhile, groupby, pairwise
from math import fsum
from typing import Literal, NamedTuple

from msgspec import Struct

from libexchange.errors import check_range
from libexchange.fields import Instant
from libexchange.quantities import Temperature

NEEDED_S, LEAST_S, MOST_S = 720.0, 600.0, 900.0
"""How long a cleaner has to act: 12 min, 10 to 15 (common practice)."""

TOO_LONG_S = 1800.0
"""A cleaner is out again before it has been in warm fluid for 30 min (common practice)."""

GET_OUT_S = 300.0
"""What is left to get it out where its maker wants it to act for more than 25 min [s]."""

ACTS_BELOW_K = 10.0
"""A cleaner acts half as fast for each 10 K; from so far below its temperature on its time in the
fluid counts towards too long, warming up does not [K] (memory)."""

OPERATING_C = 60.0
LONGEST_GAP_S = 60.0
"""Between readings further apart nobody saw what happened: such time does not count as acted, and
counts towards too long."""

ContactState = Literal["not_started", "running", "paused", "done", "too_long"]


class ContactReading(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What was seen at one moment: the fluid temperature, and whether the engine ran.

    at: when it was seen    temperature: of the fluid    engine_running: at that moment
    """

    at: Instant
    temperature: Temperature
    engine_running: bool


class Contact(NamedTuple):
    """Time that counts [s], what the timer does, and how often it stopped in between.

    in_warm_s: by the clock since the fluid was first within 10 K of what the cleaner needs [s]
    unseen_s: what of that nobody saw [s]
    limit_s: how long it may be in warm fluid: 30 min, or 5 min more than it needs [s]
    """

    counted_s: float
    state: ContactState
    pauses: int
    in_warm_s: float = 0.0
    unseen_s: float = 0.0
    limit_s: float = TOO_LONG_S

    @property
    def left_s(self) -> float:
        """Until it has to be out, 0 or more [s]."""
        return max(self.limit_s - self.in_warm_s, 0.0)


class _Moment(NamedTuple):
    """One moment, whether the cleaner acted then, and whether the fluid was warm or nearly so."""

    at: datetime
    acts: bool
    warm: bool


def contact(
    readings: Iterable[ContactReading],
    *,
    needed_s: float = NEEDED_S,
    operating_c: float = OPERATING_C,
    gap_s: float = LONGEST_GAP_S,
    until: datetime | None = None,
    others: Iterable[ContactReading] = (),
) -> Contact:
    """How long a cleaner has acted up to the last reading, and how long it has been in.

    The time between two readings counts when at both the engine ran and the fluid was warm enough.
    It is too long by the clock, whatever was seen: from 10 K below `operating_c` on, 30 min or 5
    min beyond `needed_s`. Of several readings at one moment the worst counts.

    needed_s: 60 to 3,600, the maker's or 600 to 900 [s]
    operating_c: 20 to 120 [degC]    gap_s: above 0, longest time between readings that counts [s]
    until: the moment asked for, from the last reading on; null is the last reading
    others: of other sources, which tell how long it has been in and nothing of how long it acted
    Raises: OutOfRange    Source: common practice.

    >>> from datetime import UTC, timedelta
    >>> start = datetime(2024, 5, 2, 9, 0, tzinfo=UTC)
    >>> seen = [ContactReading(at=start + timedelta(minutes=n), engine_running=n != 5,
    ...                        temperature=Temperature(70, "Cel")) for n in range(10)]
    >>> told = contact(seen)
    >>> told.counted_s, told.state, told.pauses, told.in_warm_s, told.left_s
    (420.0, 'running', 1, 540.0, 1260.0)
    """
    check_range(name="needed_s", value=needed_s, low=60, high=3600, unit="s")
    check_range(name="operating_c", value=operating_c, low=20, high=120, unit="°C")
    check_range(name="gap_s", value=gap_s, low=1, high=3600, unit="s")
    seen = list(readings)
    moments = _moments(seen, operating_c)
    spans = [
        _apart_s(one, other) if one.acts and other.acts and _apart_s(one, other) <= gap_s else None
        for one, other in pairwise(moments)
    ]
    counted_s = fsum(span for span in spans if span is not None)
    in_warm_s, unseen_s = _in_warm_s(_moments([*seen, *others], operating_c), gap_s, until)
    limit_s = max(TOO_LONG_S, needed_s + GET_OUT_S)
    in_time = in_warm_s <= limit_s
    state = _state(moments, spans, counted_s, needed_s) if in_time else "too_long"
    return Contact(counted_s, state, _pauses(spans), in_warm_s, unseen_s, limit_s)


def _apart_s(one: _Moment, other: _Moment) -> float:
    return (other.at - one.at).total_seconds()


def _moments(readings: Iterable[ContactReading], operating_c: float) -> list[_Moment]:
    """Every moment once, in order; the worst of several is that it does not act and is warm."""
    seen = sorted(
        _Moment(
            reading.at,
            reading.engine_running and reading.temperature.c >= operating_c,
            reading.temperature.c >= operating_c - ACTS_BELOW_K,
        )
        for reading in readings
    )
    grouped = ((at, list(group)) for at, group in groupby(seen, lambda one: one.at))
    return [
        _Moment(at, all(one.acts for one in group), any(one.warm for one in group))
        for at, group in grouped
    ]


def _in_warm_s(
    moments: Sequence[_Moment], gap_s: float, until: datetime | None
) -> tuple[float, float]:
    """By the clock since the fluid was warm or nearly so, and what of it was not seen."""
    times = [moment.at for moment in dropwhile(lambda one: not one.warm, moments)]
    if not times:
        return 0.0, 0.0
    end = max(times[-1], until or times[-1])
    gaps = ((b - a).total_seconds() for a, b in pairwise([*times, end]))
    return (end - times[0]).total_seconds(), fsum(gap for gap in gaps if gap > gap_s)


def _state(
    moments: Sequence[_Moment],
    spans: Sequence[float | None],
    counted_s: float,
    needed_s: float,
) -> ContactState:
    if counted_s >= needed_s:
        return "done"
    if moments and moments[-1].acts:
        return "running"
    return "paused" if any(span is not None for span in spans) else "not_started"


def _pauses(spans: Sequence[float | None]) -> int:
    """How often it stopped and ran again."""
    runs = [counts for counts, _ in groupby(span is not None for span in spans)]
    return max(sum(runs) - 1, 0)

"""How long a cleaner has acted: a timer that runs only while the fluid is warm and the engine runs.

The answer is the same for any order of arrival and with exact duplicates.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime
from itertools import groupby, pairwise
from math import fsum
from typing import Literal, NamedTuple

from msgspec import Struct

from libexchange.errors import check_range
from libexchange.fields import Instant
from libexchange.quantities import Temperature

NEEDED_S, LEAST_S, MOST_S = 720.0, 600.0, 900.0
"""How long a cleaner has to act: 12 min, 10 to 15 (common practice)."""

TOO_LONG_S = 1800.0
"""A cleaner is out again before it has acted for 30 min (common practice)."""

OPERATING_C = 60.0
LONGEST_GAP_S = 60.0
"""Between readings further apart nobody saw what happened, so the time does not count."""

ContactState = Literal["not_started", "running", "paused", "done", "too_long"]


class ContactReading(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What was seen at one moment: the fluid temperature, and whether the engine ran."""

    at: Instant
    temperature: Temperature
    engine_running: bool


class Contact(NamedTuple):
    """Time that counts [s], what the timer does, and how often it stopped in between."""

    counted_s: float
    state: ContactState
    pauses: int


def contact(
    readings: Iterable[ContactReading],
    *,
    needed_s: float = NEEDED_S,
    operating_c: float = OPERATING_C,
    gap_s: float = LONGEST_GAP_S,
) -> Contact:
    """How long a cleaner has acted up to the last reading.

    The time between two readings counts when at both the engine ran and the fluid was warm enough.
    Of several readings at one moment the worst counts.

    needed_s: 60 to 3,600, the maker's or 600 to 900 [s]
    operating_c: 20 to 120 [degC]    gap_s: above 0, longest time between readings that counts [s]
    Raises: OutOfRange    Source: common practice.

    >>> from datetime import UTC, timedelta
    >>> start = datetime(2024, 5, 2, 9, 0, tzinfo=UTC)
    >>> seen = [ContactReading(at=start + timedelta(minutes=n), engine_running=n != 5,
    ...                        temperature=Temperature(70, "Cel")) for n in range(10)]
    >>> contact(seen)
    Contact(counted_s=420.0, state='running', pauses=1)
    """
    check_range(name="needed_s", value=needed_s, low=60, high=3600, unit="s")
    check_range(name="operating_c", value=operating_c, low=20, high=120, unit="degC")
    check_range(name="gap_s", value=gap_s, low=1, high=3600, unit="s")
    moments = _moments(readings, operating_c)
    spans = [
        (end - start).total_seconds() if acts and still and (end - start).total_seconds() <= gap_s
        else None
        for (start, acts), (end, still) in pairwise(moments)
    ]  # fmt: skip
    counted_s = fsum(span for span in spans if span is not None)
    return Contact(counted_s, _state(moments, spans, counted_s, needed_s), _pauses(spans))


def _moments(readings: Iterable[ContactReading], operating_c: float) -> list[tuple[datetime, bool]]:
    """Every moment once, in order, and whether the cleaner acted then."""
    seen = sorted(
        (reading.at, reading.engine_running and reading.temperature.c >= operating_c)
        for reading in readings
    )
    return [(at, all(acts for _, acts in group)) for at, group in groupby(seen, lambda one: one[0])]


def _state(
    moments: Sequence[tuple[datetime, bool]],
    spans: Sequence[float | None],
    counted_s: float,
    needed_s: float,
) -> ContactState:
    if counted_s > TOO_LONG_S:
        return "too_long"
    if counted_s >= needed_s:
        return "done"
    if moments and moments[-1][1]:
        return "running"
    return "paused" if any(span is not None for span in spans) else "not_started"


def _pauses(spans: Sequence[float | None]) -> int:
    """How often it stopped and ran again."""
    runs = [counts for counts, _ in groupby(span is not None for span in spans)]
    return max(sum(runs) - 1, 0)

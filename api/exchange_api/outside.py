"""The one place where the clock, new ids and random secrets come from.

Everything else is given an `Outside`, so a test can fix all three.
"""

import secrets
import time
from collections.abc import Callable
from datetime import UTC, datetime

from msgspec import Struct

_SUB_MS_STEPS = 4096  # the 12 bits after the version hold the fraction of the millisecond


class Outside(Struct, frozen=True, kw_only=True):
    """What the service asks of the world.

    now: the present moment, with offset    new_id: a fresh UUIDv7 as text
    new_secret: 32 random bytes    ticks: a clock that only grows [s], for durations
    """

    now: Callable[[], datetime]
    new_id: Callable[[], str]
    new_secret: Callable[[], bytes]
    ticks: Callable[[], float] = time.perf_counter

    def stamp(self) -> str:
        """The present moment as the text that is kept: UTC, microseconds, sorts by time.

        >>> moment = datetime(2026, 3, 1, 12, tzinfo=UTC)
        >>> Outside(now=lambda: moment, new_id=str, new_secret=bytes).stamp()
        '2026-03-01T12:00:00.000000Z'
        """
        return as_stamp(self.now())


def as_stamp(moment: datetime) -> str:
    """A moment as the text that is kept, in UTC, so that text order is time order.

    A moment that its offset carries out of the years 1 to 9999 becomes the nearest inside.

    >>> as_stamp(datetime.fromisoformat("2026-03-01T13:00:00+01:00"))
    '2026-03-01T12:00:00.000000Z'
    >>> as_stamp(datetime.fromisoformat("0001-01-01T00:00+14:00"))
    '0001-01-01T00:00:00.000000Z'
    """
    try:
        in_utc = moment.astimezone(UTC)
    except OverflowError:
        in_utc = _EARLIEST if moment.year == 1 else _LATEST
    return in_utc.isoformat(timespec="microseconds").replace("+00:00", "Z")


_EARLIEST, _LATEST = datetime.min.replace(tzinfo=UTC), datetime.max.replace(tzinfo=UTC)


class _UuidsV7:
    """UUIDs of version 7 that grow even inside one step of the clock (RFC 9562, 6.2)."""

    def __init__(self) -> None:
        self._last = 0

    def __call__(self) -> str:
        steps = time.time_ns() * _SUB_MS_STEPS // 1_000_000
        self._last = max(steps, self._last + 1)
        milliseconds, fraction = divmod(self._last, _SUB_MS_STEPS)
        high = f"{milliseconds:012x}7{fraction:03x}"
        low = f"{(0b10 << 62) | secrets.randbits(62):016x}"
        return f"{high[:8]}-{high[8:12]}-{high[12:]}-{low[:4]}-{low[4:]}"


def real_outside() -> Outside:
    """The machine's clock and random numbers."""
    return Outside(
        now=lambda: datetime.now(UTC),
        new_id=_UuidsV7(),
        new_secret=lambda: secrets.token_bytes(32),
    )

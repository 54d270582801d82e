"""What one cell of a table says: calls a second, and how long a call takes."""

from collections.abc import Sequence
from math import ceil

from msgspec import Struct


class Sample(Struct, frozen=True, kw_only=True):
    """One stretch of load.

    elapsed_s: until the last answer    latencies_s: one a call, in any order
    client_s: processor time that the client itself took
    """

    elapsed_s: float
    latencies_s: list[float]
    client_s: float


class Figures(Struct, frozen=True, kw_only=True):
    """Everything that the rounds of one cell gave, taken together.

    lowest, highest: the rate of the slowest and of the fastest round
    client: share of a core that the client took
    """

    calls: int
    rate: float
    lowest: float
    highest: float
    p50_ms: float
    p99_ms: float
    client: float


def figures(samples: Sequence[Sample]) -> Figures:
    """The figures of a cell over all its rounds."""
    latencies_s = sorted(latency for one in samples for latency in one.latencies_s)
    elapsed_s = sum(one.elapsed_s for one in samples)
    rates = [len(one.latencies_s) / one.elapsed_s for one in samples]
    return Figures(
        calls=len(latencies_s),
        rate=len(latencies_s) / elapsed_s,
        lowest=min(rates),
        highest=max(rates),
        p50_ms=quantile(latencies_s, 0.5) * 1000,
        p99_ms=quantile(latencies_s, 0.99) * 1000,
        client=sum(one.client_s for one in samples) / elapsed_s,
    )


def quantile(ascending: Sequence[float], share: float) -> float:
    """The least value that so large a share of all does not exceed.

    >>> quantile([1.0, 2.0, 3.0, 4.0], 0.5), quantile([1.0, 2.0, 3.0, 4.0], 0.99)
    (2.0, 4.0)
    """
    return ascending[max(0, ceil(share * len(ascending)) - 1)]

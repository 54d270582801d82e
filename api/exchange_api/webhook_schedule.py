"""When a webhook that failed is tried again, and when its endpoint is given up."""

from datetime import timedelta

DELAYS_S = (5, 300, 1800, 7200, 18_000, 36_000, 50_400, 72_000, 86_400)
"""The wait after the first try, the second and so on: ten tries in 3 days and 4 hours [s].

Source: Standard Webhooks 1.0.0, its example of a schedule.
"""
JITTER = 0.2
"""Each wait is longer by a random part of up to this share, so that tries do not come together."""
LONGEST_ASKED_S = 86_400
FAILING_FOR = timedelta(days=3)
"""After so long without any success an endpoint is disabled."""


def wait_s(*, tries: int, chance: float, asked_s: int | None = None) -> float | None:
    """How long to wait after so many tries; None when there is no further one.

    tries: 1 or more    chance: 0 to 1    asked_s: what the receiver's Retry-After says [s]

    >>> wait_s(tries=1, chance=0.5), wait_s(tries=1, chance=0.5, asked_s=60)
    (5.5, 60)
    >>> wait_s(tries=9, chance=0.0), wait_s(tries=10, chance=0.0)
    (86400.0, None)
    """
    if tries > len(DELAYS_S):
        return None
    planned = DELAYS_S[tries - 1] * (1 + JITTER * chance)
    return max(planned, min(asked_s or 0, LONGEST_ASKED_S))

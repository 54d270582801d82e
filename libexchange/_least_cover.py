"""Least-cost cover of a whole number by whole sizes, exact.

Where the cheapest sizes per amount make up what is needed exactly, bits find the cover; else a
search, which needs few looks because what is left over then tells covers apart.
"""

from collections.abc import Sequence
from math import gcd

from libexchange._cover_one_rate import cover_at_one_rate
from libexchange._cover_search import cover_by_search

LOOKS, MOST_LOOKS = 12_000, 30_000
"""How many amounts the search looks into before it gives up, and on a grid of few steps."""

FEW_STEPS = 120_000
"""As many as 120 L have on a grid of 1 mL."""


def least_cover(*, needed: int, sizes: Sequence[int], costs: Sequence[int]) -> list[int] | None:
    """How many of each size cover what is needed at the least cost.

    Ties go to the least left over, then to the fewest pieces, then to more of the earlier sizes.

    needed: 0 or more [-]    sizes: 1 or more [-]    costs: 0 or more, one a size [-]
    Returns: counts [-], None where 12,000 looks at an amount did not suffice, 30,000 on a grid of
    up to 120,000 steps

    >>> least_cover(needed=9, sizes=[1, 4, 5, 20], costs=[12, 42, 50, 170])
    [0, 1, 1, 0]
    """
    if needed == 0:
        return [0] * len(sizes)
    step, unit = gcd(*sizes), gcd(*costs) or 1
    steps = -(-needed // step)
    sizes, costs = [size // step for size in sizes], [cost // unit for cost in costs]
    most_looks = MOST_LOOKS if steps <= FEW_STEPS else LOOKS
    return cover_at_one_rate(needed=steps, sizes=sizes, costs=costs) or cover_by_search(
        needed=steps, sizes=sizes, costs=costs, most_looks=most_looks
    )

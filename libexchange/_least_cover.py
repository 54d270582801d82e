"""Least-cost cover of a whole number by whole sizes, exact.

Two exact ways, each fast where the other is slow. The search needs few looks where the sizes
differ in cost per amount, however fine their grid; the table of all amounts is for sizes that
cost nearly the same per amount.
"""

from collections.abc import Sequence
from math import gcd

from libexchange._cover_search import cover_by_search
from libexchange._cover_table import cover_by_table

MOST_LOOKS = 3_000
"""How many amounts the search looks into before the table is tried."""

LONGEST_TABLE = 150_000
"""How many amounts the table may hold."""


def least_cover(*, needed: int, sizes: Sequence[int], costs: Sequence[int]) -> list[int] | None:
    """How many of each size cover what is needed at the least cost.

    Ties go to the least left over, then to the fewest pieces, then to more of the earlier sizes.

    needed: 0 or more [-]    sizes: 1 or more [-]    costs: 0 or more, one a size [-]
    Returns: counts [-], None where neither way is fast enough: the search looked into 3,000
    amounts and the table would hold more than 150,000

    >>> least_cover(needed=9, sizes=[1, 4, 5, 20], costs=[12, 42, 50, 170])
    [0, 1, 1, 0]
    """
    step, unit = gcd(*sizes), gcd(*costs) or 1
    steps = -(-needed // step)
    sizes, costs = [size // step for size in sizes], [cost // unit for cost in costs]
    counts = cover_by_search(needed=steps, sizes=sizes, costs=costs, most_looks=MOST_LOOKS)
    if counts is None and steps <= LONGEST_TABLE:
        counts = cover_by_table(needed=steps, sizes=sizes, costs=costs)
    return counts

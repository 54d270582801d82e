"""Least-cost cover of a whole number by whole sizes, exact.

Two exact ways, each fast where the other is slow. The search needs few looks where the sizes
differ in cost per amount, however fine their grid; the table of all amounts is for sizes that
cost nearly the same per amount.
"""

from collections.abc import Sequence
from math import gcd

from libexchange._cover_search import cover_by_search
from libexchange._cover_table import cover_by_table

LONGEST_TABLE = 120_000
"""How many amounts the table may hold."""

LOOKS_BEFORE_TABLE = 3_000
LOOKS_WITHOUT_TABLE = 12_000
"""How many amounts the search looks into, where a table can follow and where none can."""


def least_cover(*, needed: int, sizes: Sequence[int], costs: Sequence[int]) -> list[int] | None:
    """How many of each size cover what is needed at the least cost.

    Ties go to the least left over, then to the fewest pieces, then to more of the earlier sizes.

    needed: 0 or more [-]    sizes: 1 or more [-]    costs: 0 or more, one a size [-]
    Returns: counts [-], None where neither way is fast enough: the table would hold more than
    120,000 amounts and the search looked into 12,000

    >>> least_cover(needed=9, sizes=[1, 4, 5, 20], costs=[12, 42, 50, 170])
    [0, 1, 1, 0]
    """
    step, unit = gcd(*sizes), gcd(*costs) or 1
    steps = -(-needed // step)
    sizes, costs = [size // step for size in sizes], [cost // unit for cost in costs]
    table_can_follow = steps <= LONGEST_TABLE
    most_looks = LOOKS_BEFORE_TABLE if table_can_follow else LOOKS_WITHOUT_TABLE
    counts = cover_by_search(needed=steps, sizes=sizes, costs=costs, most_looks=most_looks)
    if counts is None and table_can_follow:
        counts = cover_by_table(needed=steps, sizes=sizes, costs=costs)
    return counts

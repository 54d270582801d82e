"""Least-cost cover that leaves nothing over, from the sizes that cost least per amount alone.

Where these make up what is needed exactly, no other cover costs as little. What so many pieces
can make up is kept as the bits of one whole number, so a further piece costs one shift a size.
"""

from collections.abc import Sequence, Set
from fractions import Fraction
from math import gcd

MOST_BITS = 20_000_000
"""How many amounts the layers may hold in all, so that the work stays within milliseconds."""


def cover_at_one_rate(
    *, needed: int, sizes: Sequence[int], costs: Sequence[int]
) -> list[int] | None:
    """How many of each size make up exactly what is needed, if the cheapest per amount can.

    The fewest pieces, then more of the earlier sizes.

    needed: 1 or more [-]    sizes: 1 or more [-]    costs: 0 or more, one a size [-]
    Returns: counts [-], None where nothing was found

    >>> cover_at_one_rate(needed=9, sizes=[2, 4, 5], costs=[20, 40, 50])
    [0, 1, 1]
    >>> cover_at_one_rate(needed=3, sizes=[2, 4, 5], costs=[20, 40, 50])
    """
    rates = [Fraction(cost, size) for size, cost in zip(sizes, costs, strict=True)]
    least = min(rates)
    usable = [size if rate == least else 0 for size, rate in zip(sizes, rates, strict=True)]
    possible = needed < MOST_BITS and needed % gcd(*usable) == 0
    layers = _layers(needed, set(usable) - {0}) if possible else []
    return _counts(needed, usable, layers) if layers else None


def _layers(needed: int, sizes: Set[int]) -> list[int]:
    """The amounts up to `needed` that 0, 1, 2, ... pieces make up, the last one with it."""
    layers, kept = [1], (2 << needed) - 1
    while not layers[-1] >> needed:
        reached = 0
        for size in sizes:
            reached |= layers[-1] << size
        reached &= kept
        if not reached or len(layers) * needed > MOST_BITS:
            return []
        layers.append(reached)
    return layers


def _counts(amount: int, sizes: Sequence[int], layers: list[int]) -> list[int]:
    """Take as many of each size, the earliest first, as leave what fewer pieces make up.

    sizes: 0 where it is not to be taken
    """
    counts, pieces = [], len(layers) - 1
    for size in sizes:
        taken = 0
        while 0 < size <= amount and layers[pieces - 1] >> (amount - size) & 1:
            amount, pieces, taken = amount - size, pieces - 1, taken + 1
        counts.append(taken)
    return counts

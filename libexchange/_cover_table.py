"""Least-cost cover from a table of all amounts below the one needed.

A weight is the cost and, as further digits, what is left over and how many pieces there are.
"""

from collections.abc import Sequence
from itertools import count, repeat
from operator import add


def cover_by_table(*, needed: int, sizes: Sequence[int], costs: Sequence[int]) -> list[int]:
    """How many of each size make the lightest cover, more of the earlier sizes where covers tie.

    needed: 1 or more; the work grows with needed times sizes [-]
    sizes: 1 or more [-]    costs: 0 or more, one a size [-]    Returns: counts [-]

    >>> cover_by_table(needed=9, sizes=[4, 5], costs=[42, 50])
    [1, 1]
    """
    left_over_digit = needed // min(sizes) + 2  # above every count
    cost_digit = (max(sizes) + 1) * left_over_digit
    weights = [cost * cost_digit + 1 for cost in costs]
    out_of_reach = (needed + 1) * max(weights) + cost_digit
    least = _least_weights(needed, sizes, weights, out_of_reach)
    weight = _lightest_end(needed, sizes, weights, least, left_over_digit)
    left_over = weight % cost_digit // left_over_digit
    return _counts(needed + left_over, weight - left_over * left_over_digit, sizes, weights, least)


def _least_weights(
    needed: int, sizes: Sequence[int], weights: Sequence[int], out_of_reach: int
) -> list[int]:
    """For each amount below what is needed the least weight of pieces that make it up exactly."""
    least = [0, *repeat(out_of_reach, needed - 1)]
    for size, weight in zip(sizes, weights, strict=True):
        # reads behind where it writes, so that an amount builds on what was just written
        for amount, before in zip(range(size, needed), least, strict=False):
            if before + weight < least[amount]:  # noqa: PLR1730 -- a call of min doubles the time
                least[amount] = before + weight
    return least


def _lightest_end(
    needed: int,
    sizes: Sequence[int],
    weights: Sequence[int],
    least: Sequence[int],
    left_over_digit: int,
) -> int:
    """The weight of the lightest cover, found by its last piece."""
    ends = []
    for size, weight in zip(sizes, weights, strict=True):
        first = max(0, needed - size)
        left_over = count((first + size - needed) * left_over_digit, left_over_digit)
        before: int = min(map(add, least[first:], left_over))
        ends.append(before + weight)
    return min(ends)


def _counts(
    amount: int, weight: int, sizes: Sequence[int], weights: Sequence[int], least: Sequence[int]
) -> list[int]:
    """Take as many of each size, the earliest first, as the least weights allow."""
    counts = []
    for size, one in zip(sizes, weights, strict=True):
        taken = 0
        while 0 <= amount - size < len(least) and least[amount - size] + one == weight:
            amount, weight, taken = amount - size, weight - one, taken + 1
        counts.append(taken)
    return counts

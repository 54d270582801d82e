"""Least-cost cover from a table of all amounts below the one needed.

A weight is the cost and, as further digits, what is left over and how many pieces there are.
"""

from collections.abc import Sequence
from itertools import repeat
from operator import add


def cover_by_table(*, needed: int, sizes: Sequence[int], costs: Sequence[int]) -> list[int]:
    """How many of each size make the lightest cover, more of the earlier sizes where covers tie.

    needed: 0 or more; the work grows with needed times sizes [-]
    sizes: 1 or more [-]    costs: 0 or more, one a size [-]    Returns: counts [-]

    >>> cover_by_table(needed=9, sizes=[4, 5], costs=[42, 50])
    [1, 1]
    """
    left_over_digit = needed // min(sizes) + 2  # above every count
    cost_digit = (max(sizes) + 1) * left_over_digit
    weights = [cost * cost_digit + 1 for cost in costs]
    least = _least_weights(needed, sizes, weights)
    if needed == 0:
        return [0 for _ in sizes]
    weight, left_over = _lightest_end(needed, sizes, weights, least, left_over_digit)
    return _counts(needed + left_over, weight - left_over * left_over_digit, sizes, weights, least)


def _least_weights(needed: int, sizes: Sequence[int], weights: Sequence[int]) -> list[int]:
    """For each amount below what is needed the least weight of pieces that make it up exactly."""
    out_of_reach = (needed + 1) * max(weights) + 1
    least = [0, *repeat(out_of_reach, needed - 1)]
    for size, weight in zip(sizes, weights, strict=True):
        for start in range(size, needed, size):  # block by block, for a block builds on the last
            with_one_more = map(add, least[start - size : start], repeat(weight))
            least[start : start + size] = map(min, least[start : start + size], with_one_more)
    return least


def _lightest_end(
    needed: int,
    sizes: Sequence[int],
    weights: Sequence[int],
    least: Sequence[int],
    left_over_digit: int,
) -> tuple[int, int]:
    """The weight of the lightest cover and what it leaves over, found by its last piece."""
    ends = []
    for size, weight in zip(sizes, weights, strict=True):
        first = max(0, needed - size)
        left_over = range(first + size - needed, size)
        ends.append(
            min(
                (before + weight + over * left_over_digit, over)
                for before, over in zip(least[first:], left_over, strict=True)
            )
        )
    return min(ends)


def _counts(
    amount: int, weight: int, sizes: Sequence[int], weights: Sequence[int], least: Sequence[int]
) -> list[int]:
    """Take as many of each size, the earliest first, as the least weights allow."""
    counts = []
    for size, one in zip(sizes, weights, strict=True):
        count = 0
        while 0 <= amount - size < len(least) and least[amount - size] + one == weight:
            amount, weight, count = amount - size, weight - one, count + 1
        counts.append(count)
    return counts

"""Least-weight cover of a whole number by whole sizes, exact: best-first search with a bound.

A weight is a pair (cost, rank) that is compared cost first; both add up over the pieces. The
rank holds what decides between covers of one cost, most important first, as the digits of one
whole number: what is left over, then how many pieces, then which come first.
"""

from bisect import bisect_left
from collections.abc import Sequence
from heapq import heappop, heappush
from itertools import accumulate
from math import gcd
from typing import NamedTuple

MOST_STATES = 20_000
"""How many amounts covered so far are looked into before the search gives up."""


class Weight(NamedTuple):
    """What pieces weigh: cost first, then rank."""

    cost: int
    rank: int


class _Piece(NamedTuple):
    size: int
    cost: int
    rank: int


def least_cover(*, needed: int, sizes: Sequence[int], costs: Sequence[int]) -> list[int] | None:
    """How many of each size cover what is needed at the least cost.

    Ties go to the least left over, then to the fewest pieces, then to more of the earlier sizes.

    needed: 0 or more [-]    sizes: 1 or more [-]    costs: 0 or more, one a size [-]
    Returns: counts [-], None where the search would look into more than 20,000 amounts

    >>> least_cover(needed=9, sizes=[1, 4, 5, 20], costs=[12, 42, 50, 170])
    [0, 1, 1, 0]
    """
    step = gcd(*sizes)
    needed = -(-needed // step)
    pieces = _pieces(needed, [size // step for size in sizes], costs)
    chosen = _search(needed, pieces)
    return None if chosen is None else [chosen.count(index) for index in range(len(sizes))]


def _pieces(needed: int, sizes: Sequence[int], costs: Sequence[int]) -> list[_Piece]:
    """Sizes with their weights; no count in the search reaches the base of the digits."""
    base = needed // min(sizes) + 3
    places = base ** len(sizes)
    unit = gcd(*costs) or 1
    return [
        _Piece(size, cost // unit, (size * base + 1) * places - base ** (len(sizes) - 1 - index))
        for index, (size, cost) in enumerate(zip(sizes, costs, strict=True))
    ]


class _Bound:
    """The least that a rest can weigh: either one piece that covers it, or pieces cut to length."""

    def __init__(self, pieces: Sequence[_Piece]) -> None:
        ordered = sorted(pieces)
        self._sizes = [piece.size for piece in ordered]
        self._costs = _Column(self._sizes, [piece.cost for piece in ordered])
        self._ranks = _Column(self._sizes, [piece.rank for piece in ordered])

    def of(self, rest: int) -> Weight:
        smaller = bisect_left(self._sizes, rest)
        return Weight(self._costs.least(rest, smaller), self._ranks.least(rest, smaller))


class _Column:
    """One part of the weight: the best rate among the smallest k sizes, the least of the others."""

    def __init__(self, sizes: Sequence[int], weights: Sequence[int]) -> None:
        pairs = list(zip(weights, sizes, strict=True))
        self._rates = list(accumulate(pairs, _better_rate))
        self._least = list(accumulate(reversed(weights), min))[::-1]

    def least(self, rest: int, smaller: int) -> int:
        found = self._least[smaller:smaller + 1]
        if smaller:
            weight, size = self._rates[smaller - 1]
            found.append(-(-rest * weight // size))
        return min(found)


def _better_rate(one: tuple[int, int], other: tuple[int, int]) -> tuple[int, int]:
    return one if one[0] * other[1] <= other[0] * one[1] else other


def _search(needed: int, pieces: Sequence[_Piece]) -> list[int] | None:
    """The pieces of the lightest cover, by index: A* over the amount covered so far."""
    bound = _Bound(pieces)
    best, last = {0: (0, 0)}, {0: -1}
    waiting = [(bound.of(needed), 0, (0, 0))]
    looked_into = 0
    while looked_into < MOST_STATES:
        _, covered, weight = heappop(waiting)
        if covered >= needed:
            return _walked_back(covered, last, pieces)
        if weight > best[covered]:
            continue
        looked_into += 1
        for index, (size, cost, rank) in enumerate(pieces):
            reached, so_far = covered + size, (weight[0] + cost, weight[1] + rank)
            if reached in best and best[reached] <= so_far:
                continue
            best[reached], last[reached] = so_far, index
            rest = bound.of(needed - reached) if reached < needed else (0, 0)
            heappush(waiting, ((so_far[0] + rest[0], so_far[1] + rest[1]), reached, so_far))
    return None


def _walked_back(covered: int, last: dict[int, int], pieces: Sequence[_Piece]) -> list[int]:
    chosen = []
    while covered:
        chosen.append(last[covered])
        covered -= pieces[chosen[-1]].size
    return chosen

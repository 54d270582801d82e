"""Least-cost cover by best-first search (A*) over the amount covered so far.

A weight is one whole number whose digits, the most important first, are the cost, what is
covered, how many pieces there are, and which come first. Weights add up, so that the lightest
cover is the cheapest one, and among those the one that the further digits prefer.
"""

from bisect import bisect_left
from collections.abc import Callable, Sequence
from fractions import Fraction
from heapq import heappop, heappush

Bound = Callable[[int], int]
"""The least weight that a rest of 1 or more can have."""


def cover_by_search(
    *, needed: int, sizes: Sequence[int], costs: Sequence[int], most_looks: int
) -> list[int] | None:
    """How many of each size make the lightest cover.

    needed: 0 or more [-]    sizes: 1 or more [-]    costs: 0 or more, one a size [-]
    most_looks: amounts to look into [-]    Returns: counts [-], None when they did not suffice

    >>> cover_by_search(needed=9, sizes=[4, 5], costs=[42, 50], most_looks=99)
    [1, 1]
    """
    ranks = _ranks(needed, sizes)
    most_pieces = needed // min(sizes) + 2
    cost_digit = most_pieces * max(ranks)  # no sum of ranks that the search meets reaches it
    weights = [cost * cost_digit + rank for cost, rank in zip(costs, ranks, strict=True)]
    cost_bound, rank_bound = _bound(sizes, costs), _bound(sizes, ranks)

    def bound(rest: int) -> int:
        return cost_bound(rest) * cost_digit + rank_bound(rest)

    chosen = _search(needed, sizes, weights, bound, most_looks)
    return None if chosen is None else [chosen.count(index) for index in range(len(sizes))]


def _ranks(needed: int, sizes: Sequence[int]) -> list[int]:
    """The digits of each size below its cost."""
    base = needed // min(sizes) + 3  # above every count that the search meets
    places = base ** len(sizes)
    return [
        (size * base + 1) * places - base ** (len(sizes) - 1 - index)
        for index, size in enumerate(sizes)
    ]


def _bound(sizes: Sequence[int], weights: Sequence[int]) -> Bound:
    """A rest weighs no less than one piece that covers it, or smaller ones as if cut to length."""
    ordered = sorted(zip(sizes, weights, strict=True))
    edges, rows = [size for size, _ in ordered], []
    for smaller in range(len(ordered) + 1):
        whole = min((weight for _, weight in ordered[smaller:]), default=None)
        rates = [Fraction(weight, size) for size, weight in ordered[:smaller]]
        rows.append((whole, *min(rates, default=Fraction(whole or 0)).as_integer_ratio()))

    def bound(rest: int) -> int:
        whole, weight, size = rows[bisect_left(edges, rest)]
        cut = -(-rest * weight // size)
        return cut if whole is None or cut < whole else whole

    return bound


def _search(
    needed: int, sizes: Sequence[int], weights: Sequence[int], bound: Bound, most_looks: int
) -> list[int] | None:
    """The indices of the pieces of the lightest cover."""
    moves = list(enumerate(zip(sizes, weights, strict=True)))
    lightest = min(-(-needed // size) * weight for _, (size, weight) in moves)
    best, last = {0: 0}, {0: 0}
    waiting = [(0, 0, 0)]
    for _ in range(most_looks):
        _, covered, weight = heappop(waiting)
        if covered >= needed:
            return _walked_back(covered, last, sizes)
        if weight > best[covered]:
            continue
        for index, (size, more) in moves:
            reached, so_far = covered + size, weight + more
            at_least = so_far + bound(needed - reached) if reached < needed else so_far
            if at_least <= lightest and so_far < best.get(reached, lightest + 1):
                best[reached], last[reached] = so_far, index
                heappush(waiting, (at_least, reached, so_far))
    return None


def _walked_back(covered: int, last: dict[int, int], sizes: Sequence[int]) -> list[int]:
    chosen = []
    while covered:
        chosen.append(last[covered])
        covered -= sizes[chosen[-1]]
    return chosen

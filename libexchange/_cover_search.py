"""Least-cost cover by best-first search (A*) over the amount covered so far.

A weight is one whole number whose digits, the most important first, are the cost, what is
covered, how many pieces there are, and which come first. Weights add up, so that the lightest
cover is the cheapest one, and among those the one that the further digits prefer. The last
digits are the counts, so a weight tells the cover it is of.

Pieces of the size that weighs least per amount, the filler, need no search: they are added where a
cover is closed. Two amounts that differ by whole fillers are therefore one place, and of these only
such are looked into as are smaller or lighter than what was seen there.
"""

from bisect import bisect_left
from collections.abc import Callable, Sequence
from fractions import Fraction
from heapq import heappop, heappush
from itertools import accumulate
from typing import NamedTuple

Bound = Callable[[int], int]
"""The least weight that a rest of 1 or more can have, or a weight with which it can be covered."""


class _Piece(NamedTuple):
    size: int
    weight: int

    @property
    def rate(self) -> Fraction:
        return Fraction(self.weight, self.size)


class _Digits(NamedTuple):
    """The digits of a weight, each above whatever the search meets.

    places: of all counts together    pieces: of one count    cost: of what stands below the cost
    """

    places: int
    pieces: int
    cost: int


def cover_by_search(
    *, needed: int, sizes: Sequence[int], costs: Sequence[int], most_looks: int
) -> list[int] | None:
    """How many of each size make the lightest cover.

    needed: 1 or more [-]    sizes: 1 or more [-]    costs: 0 or more, one a size [-]
    most_looks: amounts to look into [-]    Returns: counts [-], None when they did not suffice

    >>> cover_by_search(needed=9, sizes=[4, 5], costs=[42, 50], most_looks=99)
    [1, 1]
    """
    digits = _digits(needed, sizes)
    ranks = _ranks(sizes, digits)
    priced = zip(sizes, costs, ranks, strict=True)
    pieces = [_Piece(size, cost * digits.cost + rank) for size, cost, rank in priced]
    alone = min((piece.weight for piece in pieces if piece.size >= needed), default=None)
    # one that covers all is never one of several, nor is any that weighs more than it
    parts = [p for p in pieces if p.size < needed and (alone is None or p.weight < alone)]
    if parts:
        alone = _search(needed, parts, alone, _bound(parts, digits.cost), most_looks)
    return None if alone is None else _counts(alone, len(sizes), digits)


def _digits(needed: int, sizes: Sequence[int]) -> _Digits:
    count = needed // min(sizes) + 3
    places = count ** len(sizes)
    return _Digits(places, count, (needed + max(sizes) + 1) * count * places)


def _ranks(sizes: Sequence[int], digits: _Digits) -> list[int]:
    """The digits of each size below its cost."""
    return [
        (size * digits.pieces + 1) * digits.places - digits.pieces ** (len(sizes) - 1 - index)
        for index, size in enumerate(sizes)
    ]


def _counts(weight: int, sizes: int, digits: _Digits) -> list[int]:
    """The last digits of a weight."""
    left, counts = -weight % digits.places, []
    for _ in range(sizes):
        left, count = divmod(left, digits.pieces)
        counts.append(count)
    return counts[::-1]


def _bound(parts: Sequence[_Piece], cost_digit: int) -> Bound:
    """The least cost of a rest and the least that its further digits can be, each for itself."""
    costs = _least([_Piece(part.size, part.weight // cost_digit) for part in parts])
    ranks = _least([_Piece(part.size, part.weight % cost_digit) for part in parts])
    return lambda rest: costs(rest) * cost_digit + ranks(rest)


def _least(parts: Sequence[_Piece]) -> Bound:
    """A rest weighs no less than one piece that covers it, or smaller ones as if cut to length."""
    ordered = sorted(parts)
    edges, rows = [part.size for part in ordered], []
    for smaller in range(len(ordered) + 1):
        whole = min((part.weight for part in ordered[smaller:]), default=None)
        rate = min((part.rate for part in ordered[:smaller]), default=Fraction(whole or 0))
        rows.append((whole, *rate.as_integer_ratio()))

    def bound(rest: int) -> int:
        whole, weight, size = rows[bisect_left(edges, rest)]
        cut = -(-rest * weight // size)
        return cut if whole is None or cut < whole else whole

    return bound


def _closing(parts: Sequence[_Piece], filler: _Piece) -> Bound:
    """The weight of a rest that is filled up, its end by the lightest piece that covers it."""
    ordered = sorted(parts)
    edges = [part.size for part in ordered]
    lightest = list(accumulate((part.weight for part in reversed(ordered)), min))[::-1]

    def closing(rest: int) -> int:
        fillers, end = divmod(rest, filler.size)
        return fillers * filler.weight + (lightest[bisect_left(edges, end)] if end else 0)

    return closing


def _search(
    needed: int, parts: Sequence[_Piece], alone: int | None, bound: Bound, most_looks: int
) -> int | None:
    """The weight of the lightest cover."""
    filler, *others = sorted(parts, key=lambda part: part.rate)
    closing = _closing(parts, filler)
    best = closing(needed) if alone is None else min(alone, closing(needed))
    reached, seen = {0: 0}, _Seen(filler)
    waiting = [(0, 0, 0)]
    for _ in range(most_looks):
        at_least, covered, weight = heappop(waiting) if waiting else (best, 0, 0)
        if at_least >= best:
            return best
        if weight > reached[covered] or seen.before(covered, weight):
            continue
        for size, more in others:
            now, heavier = covered + size, weight + more
            if now >= needed:
                best = min(best, heavier)
            elif heavier < reached.get(now, best):
                at_least = heavier + bound(needed - now)
                if at_least < best:
                    reached[now] = heavier
                    best = min(best, heavier + closing(needed - now))
                    heappush(waiting, (at_least, now, heavier))
    return None


class _Seen:
    """What was looked into at each place: amounts that differ by whole fillers are one."""

    def __init__(self, filler: _Piece) -> None:
        self._filler = filler
        self._places: dict[int, list[tuple[int, int]]] = {}

    def before(self, covered: int, weight: int) -> bool:
        """Whether less or as much was seen that is as light once it is filled up to this amount."""
        size, one = self._filler
        fillers, place = divmod(covered, size)
        bare = weight - fillers * one
        seen = self._places.setdefault(place, [])
        if any(amount <= covered and lighter <= bare for amount, lighter in seen):
            return True
        seen.append((covered, bare))
        return False

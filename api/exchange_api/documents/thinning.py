"""Fewer points that draw the same line: the ends and extremes of each narrow column."""

from collections.abc import Iterable
from itertools import groupby

Point = tuple[float, float]

COLUMN = 2.0
"""How wide a column is, in units of the picture; what lies closer is one stroke on paper."""


def thinned(points: Iterable[Point]) -> list[Point]:
    """The points that matter of a line, in their order.

    points: by their place across

    >>> thinned([(0, 1), (0.1, 5), (0.2, 0), (0.3, 2), (0.4, 2), (9, 3)])
    [(0, 1), (0.1, 5), (0.2, 0), (0.4, 2), (9, 3)]
    """
    kept: list[Point] = []
    for _, group in groupby(points, key=lambda point: point[0] // COLUMN):
        column = list(group)
        low = min(range(len(column)), key=lambda n: column[n][1])
        high = max(range(len(column)), key=lambda n: column[n][1])
        kept += [column[n] for n in sorted({0, low, high, len(column) - 1})]
    return kept

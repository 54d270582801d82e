"""Linear algebra of a few rows and columns, by hand, and one quantile."""

from collections.abc import Sequence
from math import fsum, sqrt

Z_99 = 2.3263478740408408


def cholesky(matrix: Sequence[Sequence[float]]) -> list[list[float]]:
    """The lower triangle L with L L' = matrix, row by row.

    matrix: symmetric, positive definite

    >>> cholesky([[4.0, 2.0], [2.0, 5.0]])
    [[2.0], [1.0, 2.0]]
    """
    lower: list[list[float]] = []
    for at, row in enumerate(matrix):
        found: list[float] = []
        for column in range(at):
            done = fsum(a * b for a, b in zip(found, lower[column], strict=False))
            found.append((row[column] - done) / lower[column][column])
        found.append(sqrt(row[at] - fsum(part * part for part in found)))
        lower.append(found)
    return lower


def forward_solved(lower: Sequence[Sequence[float]], right: Sequence[float]) -> list[float]:
    """Solve L x = right for x.

    >>> forward_solved([[2.0], [1.0, 2.0]], [2.0, 5.0])
    [1.0, 2.0]
    """
    found: list[float] = []
    for row, value in zip(lower, right, strict=True):
        done = fsum(a * b for a, b in zip(row, found, strict=False))
        found.append((value - done) / row[-1])
    return found


def solved(matrix: Sequence[Sequence[float]], right: Sequence[float]) -> list[float]:
    """Solve matrix x = right for x.

    matrix: symmetric, positive definite

    >>> solved([[4.0, 2.0], [2.0, 5.0]], [10.0, 13.0])
    [1.5, 2.0]
    """
    lower = cholesky(matrix)
    half = forward_solved(lower, right)
    found = [0.0] * len(half)
    for at in range(len(half) - 1, -1, -1):
        done = fsum(lower[below][at] * found[below] for below in range(at + 1, len(half)))
        found[at] = (half[at] - done) / lower[at][at]
    return found


def chi_square_99(degrees: int) -> float:
    """What 99 % of the sums of squares of so many standard normal numbers stay below.

    degrees: 1 or more [-]    Source: Wilson and Hilferty 1931, within 2 %.

    >>> round(chi_square_99(10), 1)
    23.2
    """
    spread = 2 / (9 * degrees)
    return float(degrees * (1 - spread + Z_99 * sqrt(spread)) ** 3)

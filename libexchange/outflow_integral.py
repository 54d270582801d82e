"""The integral of the outflow share over litres, from samples, with its variance.

Between samples lie parabolas through three neighbours, two averaged where a piece between samples
has two. What the two differ by, and a lone one from the straight line, is the error of the piece,
as far as it exceeds twice its own noise; the errors of all pieces count as if they had one sign.
"""

from collections.abc import Sequence
from itertools import pairwise
from math import fsum, sqrt
from typing import NamedTuple

NOISE = 2.0
"""Standard deviations up to which two parabolas differ by chance alone."""


class OutflowShares(NamedTuple):
    """Shares of the outflow in the order of the litres, with how they scatter together.

    litres: rising, all different [L]    shares: about 0 to 1 [-]    covariance: of the shares [-]
    """

    litres: tuple[float, ...]
    shares: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]


def outflow_integral(*, outflow: OutflowShares, exchanged_l: float) -> tuple[float, float]:
    """Fresh fluid that has left, with the variance that samples and interpolation give it.

    outflow: at 2 litres or more beyond 0    exchanged_l: from the last sample on [L]
    Returns: volume [L], variance [L2]
    Source: interpolating parabolas; propagation of uncertainty to first order (GUM).

    >>> told = OutflowShares((4.0, 8.0), (0.4, 0.8), ((1e-4, 0.0), (0.0, 1e-4)))
    >>> integral_l, variance_l2 = outflow_integral(outflow=told, exchanged_l=8.0)
    >>> round(integral_l, 9), round(variance_l2, 9)
    (3.2, 0.003022222)
    """
    samples = outflow if outflow.litres[0] == 0 else _with_old_start(outflow)
    weights, gaps = _parabolas(samples.litres)
    end_l, last = exchanged_l - samples.litres[-1], min(max(samples.shares[-1], 0.0), 1.0)
    integral_l = _dot(weights, samples.shares) + end_l * (last + 1) / 2
    weights[-1] += end_l / 2
    variance = _variance(weights, samples.covariance) + (end_l * (1 - last)) ** 2 / 12
    return integral_l, variance + fsum(_unexplained(gap, samples) for gap in gaps) ** 2


def _with_old_start(outflow: OutflowShares) -> OutflowShares:
    """The line holds old fluid, and surely so."""
    nothing = (0.0,) * (len(outflow.litres) + 1)
    return OutflowShares(
        (0.0, *outflow.litres),
        (0.0, *outflow.shares),
        (nothing, *((0.0, *row) for row in outflow.covariance)),
    )


def _unexplained(gap: Sequence[float], samples: OutflowShares) -> float:
    """What a difference of parabolas [L] exceeds its own noise by."""
    square = _dot(gap, samples.shares) ** 2 - NOISE**2 * _variance(gap, samples.covariance)
    return sqrt(max(square, 0.0))


def _parabolas(litres: Sequence[float]) -> tuple[list[float], list[list[float]]]:
    """The weights of the shares in the integral, and in the error of each piece."""
    weights, gaps = [0.0] * len(litres), []
    for left, (low_l, high_l) in enumerate(pairwise(litres)):
        width_l, gap = high_l - low_l, [0.0] * len(litres)
        weights[left] += width_l / 2
        weights[left + 1] += width_l / 2
        through = [at for at in (left - 1, left) if 0 <= at <= len(litres) - 3]
        for sign, at in zip((1, -1), through, strict=False):
            for offset, part in enumerate(_bend(litres[at : at + 3], width_l)):
                weights[at + offset] -= part / len(through)
                gap[at + offset] += sign * part
        gaps.append(gap)
    return weights, gaps


def _bend(litres: Sequence[float], width_l: float) -> tuple[float, float, float]:
    """How far a parabola through three samples lies above the straight line [L], by their shares.

    Its area over a piece is width^3 / 6 times the second divided difference less.
    """
    a, b, c = litres
    area = width_l**3 / 6
    return area / ((a - b) * (a - c)), area / ((b - a) * (b - c)), area / ((c - a) * (c - b))


def _dot(weights: Sequence[float], shares: Sequence[float]) -> float:
    return fsum(w * share for w, share in zip(weights, shares, strict=True))


def _variance(weights: Sequence[float], covariance: Sequence[Sequence[float]]) -> float:
    return _dot(weights, [_dot(weights, row) for row in covariance])

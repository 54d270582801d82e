"""The fresh share inside a unit from samples of what flowed out: the check-sum, without a model.

V F(x) = V F(0) + x - integral of the outflow share from 0 to x: what went in fresh and did not come
out again is inside. It needs neither compartments nor coefficients, only shares of the outflow at a
few litres, or any signal linear in them: the content of an element, a dye, a colour that a meter
reads. Viscosity is not linear in the share.

The rule of the integral and its own error stand in `outflow_integral`.
"""

from collections.abc import Sequence
from itertools import pairwise
from math import inf, sqrt
from typing import NamedTuple

from libexchange.errors import check_range
from libexchange.outflow_integral import OutflowShares, outflow_integral

Z_95 = 1.6448536269514722
"""Standard deviations from the middle to either end of a 90 % interval."""

LEAST_SAMPLES, MOST_SAMPLES = 2, 100
"""Samples beyond 0 L: fewer make no parabola."""

SMALLEST_SPAN = 1e-12


class Line(NamedTuple):
    """A straight line of shares between two signals: what old and what fresh fluid reads."""

    old: float
    fresh: float
    old_uncertainty: float
    fresh_uncertainty: float


class ShareInterval(NamedTuple):
    """A share with the limits of its 90 % interval [-]."""

    low: float
    expected: float
    high: float


def share_of_signal(*, signal: float, old_signal: float, fresh_signal: float) -> float:
    """Fresh share of a sample from a signal that is linear in it.

    (signal - old) / (fresh - old)

    signal, old_signal, fresh_signal: in one unit; old and fresh differ
    Returns: share, beyond 0 to 1 where the signal is [-]    Raises: OutOfRange
    Source: lever rule of mixtures.

    >>> share_of_signal(signal=130.0, old_signal=50.0, fresh_signal=150.0)
    0.8
    """
    span = fresh_signal - old_signal
    check_range(name="fresh_signal - old_signal", value=abs(span), low=SMALLEST_SPAN, high=inf)
    return (signal - old_signal) / span


def shares_of(
    *,
    litres: Sequence[float],
    signals: Sequence[float],
    uncertainties: Sequence[float],
    line: Line,
) -> OutflowShares:
    """The shares of samples with their covariance: each has its own error, all share the line's.

    litres: rising, all different [L]    signals, uncertainties: one a sample, in the line's unit;
    standard deviations above 0    Raises: OutOfRange
    Source: propagation of uncertainty to first order (GUM).

    >>> line = Line(old=0.0, fresh=200.0, old_uncertainty=2.0, fresh_uncertainty=0.0)
    >>> two = {"litres": [4.0, 8.0], "signals": [0.0, 200.0], "uncertainties": [2.0, 2.0]}
    >>> told = shares_of(**two, line=line)
    >>> told.shares, [round(row[0] * 1e4, 6) for row in told.covariance]
    ((0.0, 1.0), [2.0, 0.0])
    """
    shares = [
        share_of_signal(signal=signal, old_signal=line.old, fresh_signal=line.fresh)
        for signal in signals
    ]
    span = line.fresh - line.old
    old, fresh = line.old_uncertainty / span, line.fresh_uncertainty / span
    covariance = [[(1 - a) * (1 - b) * old**2 + a * b * fresh**2 for b in shares] for a in shares]
    for index, uncertainty in enumerate(uncertainties):
        covariance[index][index] += (uncertainty / span) ** 2
    return OutflowShares(tuple(litres), tuple(shares), tuple(map(tuple, covariance)))


def fresh_share_by_check_sum(
    *,
    outflow: OutflowShares,
    exchanged_l: float,
    total_l: float,
    total_uncertainty_l: float = 0.0,
    start_share: float = 0.0,
    start_uncertainty: float = 0.0,
) -> ShareInterval | None:
    """Fresh share inside after an exchange, from the shares that left, with a 90 % interval.

    start_share + (exchanged - integral of the outflow share) / total

    Without a sample at 0 the outflow starts as old fluid, which the line holds. What is exchanged
    beyond the last sample leaves with a share anywhere between that of the sample and 1.

    outflow: litres from 0 to exchanged_l, of 2 or more beyond 0
    exchanged_l: 0 to 2,000, as total_l at 15 degC [L]    total_l: 0.5 to 500 [L]
    total_uncertainty_l, start_uncertainty: standard deviations, from 0 [L], [-]
    start_share: 0 to 1, inside before the exchange [-]
    Returns: shares, cut at the start and at plug flow; where only the middle lies beyond the start
    or all fresh, it is set there and keeps its width; None where the whole interval lies beyond
    Raises: OutOfRange
    Source: fluid balance; propagation of uncertainty to first order (GUM).

    >>> line = Line(old=0.0, fresh=1.0, old_uncertainty=0.0, fresh_uncertainty=0.0)
    >>> litres, shares = [2.0, 4.0, 6.0, 8.0], [0.1, 0.3, 0.5, 0.6]
    >>> told = shares_of(litres=litres, signals=shares, uncertainties=[0.02] * 4, line=line)
    >>> share = fresh_share_by_check_sum(outflow=told, exchanged_l=8.0, total_l=9.0)
    >>> [round(part, 3) for part in share]
    [0.608, 0.622, 0.636]
    """
    _check(outflow, exchanged_l, total_l, start_share)
    integral_l, variance_l2 = outflow_integral(outflow=outflow, exchanged_l=exchanged_l)
    gained = (exchanged_l - integral_l) / total_l
    variance = variance_l2 / total_l**2 + (gained * total_uncertainty_l / total_l) ** 2
    half = Z_95 * sqrt(variance + start_uncertainty**2)
    top = min(1.0, start_share + Z_95 * start_uncertainty + exchanged_l / total_l)
    bottom = max(0.0, start_share - Z_95 * start_uncertainty)
    share = start_share + gained
    if share + half < bottom or share - half > 1:
        return None
    share = min(max(share, bottom), 1.0)
    low, expected, high = (min(max(s, bottom), top) for s in (share - half, share, share + half))
    return ShareInterval(low, expected, high)


def _check(outflow: OutflowShares, exchanged_l: float, total_l: float, start_share: float) -> None:
    check_range(name="total_l", value=total_l, low=0.5, high=500, unit="L")
    check_range(name="exchanged_l", value=exchanged_l, low=0, high=2000, unit="L")
    check_range(name="start_share", value=start_share, low=0, high=1)
    samples = sum(litres > 0 for litres in outflow.litres)
    check_range(name="samples", value=samples, low=LEAST_SAMPLES, high=MOST_SAMPLES)
    for low_l, high_l in pairwise((0.0, *outflow.litres)):
        check_range(name="litres", value=high_l, low=low_l, high=exchanged_l, unit="L")

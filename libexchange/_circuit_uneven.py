"""An exchange with more or less fed in than leaves: the sump rises or falls while cells mix.

With V the sump's volume, which changes by c litres per litre that leaves, its old share obeys
V s' = (what enters) - (as much of s); the other cells obey r' = A r. Uniformisation carries over:
r(x) is the sum over k of Poisson(q x; k) v_k, where v_(k+1) = P v_k and the sump's cell gains
(k c / (q V)) (v_(k-1) - v_k). That follows from the power series of exp(q x) r(x).

The series is taken over stretches in which V changes by at most a third and at most a quarter of it
is renewed, with q x at least 4 over the longest of them. Its terms are then bounded by those of
exp(q x) (1 - |c| x / V)^(-2 f / |c|), f what enters the sump per litre, so that less than 1e-12
lies outside the Poisson window.
"""

from operator import mul

from libexchange._circuit import LARGEST_VOLUME_L, SMALLEST_VOLUME_L, Circuit
from libexchange._circuit_flow import SUMP, cell_volumes_l, flow_diagram
from libexchange.errors import check_range
from libexchange.uniformisation import (
    LARGEST_EXCHANGE_L,
    MOST_TERMS,
    Flow,
    Mixing,
    mixing,
    poisson_window,
)

MOST_CHANGED, MOST_RENEWED = 1 / 3, 1 / 4
"""Parts of the sump that change and that are renewed at most in one stretch [-]."""

LEAST_TERMS = 4
"""Mean number of terms of a stretch in which the sump changes by the most, at least [-]."""

TERMS_PER_STRETCH = 45
"""What a stretch costs beyond the terms at its mean: about the Poisson window's width [-]."""


def uneven(
    *, circuit: Circuit, old: list[float], out_l: float, fed_per_out: float
) -> tuple[list[float], float]:
    """Old share of every cell, and the sump's volume [L], after `out_l` have left.

    old: by cell at the start [-]    fed_per_out: 0 to 2 [-]
    Raises: OutOfRange when the sump would run dry or over, or the work has no bound

    >>> falling = uneven(circuit=Circuit(sump_l=4), old=[1.0], out_l=2, fed_per_out=0.5)
    >>> [round(share, 9) for share in falling[0]], falling[1]
    ([0.75], 3.0)
    """
    limit_l = uneven_limit_l(circuit=circuit, out_l=out_l, fed_per_out=fed_per_out)
    check_range(name="out_l", value=out_l, low=0, high=limit_l, unit="L")
    flows = flow_diagram(circuit, closed=False, fed_l=fed_per_out)
    _, *volumes_l = cell_volumes_l(circuit)
    change, stretches = fed_per_out - 1, _stretches(flows, fed_per_out - 1)
    left_l, sump_l = out_l, circuit.sump_l
    while left_l > 0:
        stretch_l = min(left_l, sump_l / stretches) if stretches else left_l
        least_per_l = LEAST_TERMS * abs(change) / (MOST_CHANGED * sump_l)
        step = mixing(volumes_l=(sump_l, *volumes_l), flows=flows, least_per_l=least_per_l)
        old = _after(step, old, stretch_l, change / sump_l)
        left_l, sump_l = left_l - stretch_l, sump_l + change * stretch_l
    end_l = circuit.sump_l + change * out_l
    return old, min(max(end_l, SMALLEST_VOLUME_L), LARGEST_VOLUME_L)


def _after(step: Mixing, old: list[float], litres: float, growth_per_l: float) -> list[float]:
    """Old share of every cell after one stretch; `growth_per_l` is the sump's, c / V [1/L]."""
    first, weights, total = poisson_window(step.rate_per_l * litres)
    before, now, terms = old, old, []
    for term in range(first + len(weights)):
        terms.append(now)
        following = step.after(now)
        if term:
            drift = term * growth_per_l / step.rate_per_l
            following[SUMP] += drift * (before[SUMP] - now[SUMP])
        before, now = now, following
    by_cell = zip(*terms[first:], strict=True)
    return [sum(map(mul, weights, cell)) / total for cell in by_cell]


def uneven_limit_l(*, circuit: Circuit, out_l: float, fed_per_out: float) -> float:
    """Most litres that may leave: what the sump holds or takes, and what is computed.

    out_l: what is to leave; the work is taken at the lowest level that it leads to [L]
    Returns: limit [L]

    >>> uneven_limit_l(circuit=Circuit(sump_l=4), out_l=1, fed_per_out=0.5)
    7.9
    """
    change = fed_per_out - 1
    room_l = circuit.sump_l - SMALLEST_VOLUME_L if change < 0 else LARGEST_VOLUME_L - circuit.sump_l
    level_l = room_l / abs(change) if change else LARGEST_EXCHANGE_L
    if not 0 <= out_l <= level_l:
        return level_l
    per_l = terms_per_l(circuit=circuit, out_l=out_l, fed_per_out=fed_per_out)
    return min(level_l, MOST_TERMS / max(per_l, MOST_TERMS / LARGEST_EXCHANGE_L))


def terms_per_l(*, circuit: Circuit, out_l: float, fed_per_out: float) -> float:
    """Terms of the series for each litre that leaves, at the lowest level of the sump [1/L].

    >>> terms_per_l(circuit=Circuit(sump_l=5), out_l=2, fed_per_out=0.5)
    22.625
    """
    change = fed_per_out - 1
    lowest_l = max(circuit.sump_l + min(0.0, change * out_l), SMALLEST_VOLUME_L)
    flows = flow_diagram(circuit, closed=False, fed_l=fed_per_out)
    _, *volumes_l = cell_volumes_l(circuit)
    step = mixing(volumes_l=(lowest_l, *volumes_l), flows=flows)
    return step.rate_per_l + TERMS_PER_STRETCH * _stretches(flows, change) / lowest_l


def _stretches(flows: list[Flow], change: float) -> float:
    """Stretches while as much leaves as is in the sump, if that did not change [-]."""
    entering = sum(flow.litres for flow in flows if flow.target == SUMP)
    return max(abs(change) / MOST_CHANGED, entering / MOST_RENEWED)

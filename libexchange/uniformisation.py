"""Mixed cells with flows between them, solved exactly: r' = A r by uniformisation.

With q the fastest renewal of any cell and P = I + A / q, r(x) is the sum over k of
Poisson(q x; k) P^k r(0). All terms are positive, the tail bounds the error, and equal cells are no
special case, as they are for an eigen-decomposition.

Source: Jensen 1953 (randomisation); Stewart, Introduction to the Numerical Solution of Markov
Chains.
"""

from collections.abc import Iterator
from functools import lru_cache
from itertools import islice
from math import sqrt
from operator import mul
from typing import NamedTuple

from msgspec import Struct

from libexchange.errors import check_range

FEED = -1
"""Where fresh fluid comes from; it carries nothing old."""

WASTE = -2
"""Where the outflow goes."""

MOST_TERMS = 100_000
"""Largest q x that is computed, so that no circuit can stall its caller."""

LARGEST_EXCHANGE_L = 1e5
"""Most litres that are computed, however slowly the cells renew."""

WINDOW_SIGMAS = 7.5
WINDOW_MARGIN = 19
"""Half width of the Poisson window in standard deviations, and terms more on the right, where its
tail is heavier: less than 1e-13 lies outside."""

STRIDE = 8
"""Steps taken at once where no single one is asked for."""


class Flow(NamedTuple):
    """Litres that pass from one cell to another per litre exchanged."""

    source: int
    target: int
    litres: float


class Mixing(Struct, frozen=True):
    """One step of P on the old share of every cell.

    Each cell keeps `stay` of itself and takes `take` of the cell at `upstream`; what few cells take
    from more than one stands in `extra` as (target, source, share).

    rate_per_l: q [1/L], the fastest renewal; 0 when nothing flows
    """

    rate_per_l: float
    stay: tuple[float, ...]
    take: tuple[float, ...]
    upstream: tuple[int, ...]
    extra: tuple[tuple[int, int, float], ...]

    def limit_l(self) -> float:
        """Most litres that are computed for these cells [L]."""
        return MOST_TERMS / max(self.rate_per_l, MOST_TERMS / LARGEST_EXCHANGE_L)

    def after(self, old: list[float]) -> list[float]:
        """The old shares one step later, P old."""
        links = zip(old, self.stay, self.take, self.upstream, strict=True)
        now = [s * own + t * old[up] for own, s, t, up in links]
        for target, source, share in self.extra:
            now[target] += share * old[source]
        return now

    def steps(self, old: list[float]) -> Iterator[list[float]]:
        """The old shares P^k old, for k = 0, 1, 2, ... without end."""
        while True:
            yield old
            old = self.after(old)


def mixing(*, volumes_l: tuple[float, ...], flows: list[Flow], least_per_l: float = 0.0) -> Mixing:
    """The mixing step of cells; what enters one takes the place of as much of what is in it.

    volumes_l: above 0, by cell [L]    flows: between cells, FEED and WASTE [L per L exchanged]
    least_per_l: q at least; a larger q takes more and smaller steps [1/L]

    >>> mixing(volumes_l=(4.0,), flows=[Flow(FEED, 0, 1.0), Flow(0, WASTE, 1.0)]).rate_per_l
    0.25
    """
    cells = range(len(volumes_l))
    moving = [flow for flow in flows if flow.source != flow.target and flow.litres > 0]
    # a cell that is full loses what enters; one that fills or empties changes its share by it alone
    entering = [sum(f.litres for f in moving if f.target == cell) for cell in cells]
    rate = max(
        least_per_l, *(fed / volume for fed, volume in zip(entering, volumes_l, strict=True))
    )
    if rate == 0:
        return Mixing(0.0, (1.0,) * len(volumes_l), (0.0,) * len(volumes_l), tuple(cells), ())
    take, upstream = [0.0] * len(volumes_l), list(cells)
    extra = []
    for source, target, litres in moving:
        if source == FEED or target == WASTE:
            continue
        share = litres / (volumes_l[target] * rate)
        if take[target]:
            extra.append((target, source, share))
        else:
            take[target], upstream[target] = share, source
    stay = [1 - fed / (volumes_l[cell] * rate) for cell, fed in enumerate(entering)]
    return Mixing(rate, tuple(stay), tuple(take), tuple(upstream), tuple(extra))


def poisson_window(mean: float) -> tuple[int, list[float], float]:
    """First term, weights and their sum: Poisson(mean) but for a constant, tails left off.

    The weights start at 1 on the left edge; dividing by their sum makes them probabilities, so
    neither a logarithm nor a factorial is needed and nothing underflows.

    mean: 0 to 100,000 [-]

    >>> first, weights, total = poisson_window(2.0)
    >>> first, round(weights[2] / total, 6)
    (0, 0.270671)
    """
    reach = WINDOW_SIGMAS * sqrt(mean)
    first = max(0, int(mean - reach))
    weight, weights = 1.0, [1.0]
    for term in range(first + 1, int(mean + reach) + WINDOW_MARGIN):
        weight *= mean / term
        weights.append(weight)
    return first, weights, sum(weights)


def propagate(*, step: Mixing, old: list[float], litres: float, name: str) -> list[float]:
    """Old share of every cell after `litres` more.

    litres: 0 to the limit of these cells [L]    name: what a refusal calls the litres
    Raises: OutOfRange

    >>> tank = mixing(volumes_l=(4.0,), flows=[Flow(FEED, 0, 1.0), Flow(0, WASTE, 1.0)])
    >>> [round(share, 6) for share in propagate(step=tank, old=[1.0], litres=4.0, name="litres")]
    [0.367879]
    """
    check_litres(step=step, litres=litres, name=name)
    first, weights, total = poisson_window(step.rate_per_l * litres)
    skipped, left = divmod(first, STRIDE)
    weights = [0.0] * left + weights
    last = skipped + -(-len(weights) // STRIDE)
    by_cell = tuple(zip(*islice(_strides(step, old), skipped, last), strict=True))
    reached = [0.0] * len(old)
    for begin in reversed(range(STRIDE)):  # Horner's scheme in P
        some = weights[begin::STRIDE]
        carried = zip(step.after(reached), by_cell, strict=True)
        reached = [share + sum(map(mul, some, cell)) for share, cell in carried]
    return [min(1.0, share / total) for share in reached]


def _strides(step: Mixing, old: list[float]) -> Iterator[list[float]]:
    """The old shares P^k old, for k = 0, 1, 2, ... times STRIDE without end."""
    rows = _stride(step)
    while True:
        yield old
        old = [sum(map(mul, row, old)) for row in rows]


@lru_cache(maxsize=512)
def _stride(step: Mixing) -> tuple[tuple[float, ...], ...]:
    """The rows of P^STRIDE."""
    cells = range(len(step.stay))
    alone = ([float(cell == other) for other in cells] for cell in cells)
    columns = (next(islice(step.steps(start), STRIDE, None)) for start in alone)
    return tuple(zip(*columns, strict=True))


def check_litres(*, step: Mixing, litres: float, name: str) -> None:
    """Raise OutOfRange unless the litres can be computed for these cells in bounded time.

    >>> tank = mixing(volumes_l=(4.0,), flows=[Flow(FEED, 0, 1.0), Flow(0, WASTE, 1.0)])
    >>> check_litres(step=tank, litres=100_000, name="exchanged_l")
    """
    check_range(name=name, value=litres, low=0, high=step.limit_l(), unit="L")

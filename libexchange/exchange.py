"""The line exchange as a curve: share against litres, its bounds, and the litres for a share."""

from functools import lru_cache
from itertools import islice
from math import exp
from operator import mul

from libexchange.cells import (
    Circuit,
    CircuitState,
    cell_shares,
    cell_volumes_l,
    flows_of,
    mixing_of,
)
from libexchange.circuit import flowing_fresh_share, fresh_share
from libexchange.errors import check_range
from libexchange.uniformisation import (
    FEED,
    WASTE,
    accumulate_terms,
    check_litres,
    poisson_window,
)

SHARE_TOLERANCE = 1e-12
"""How close the inverse comes to the share it was asked for [-]."""


class ExchangeCurve:
    """Fresh share against litres exchanged, from one start state.

    Old litres inside and old share of the outflow are kept for each term of the uniformisation, so
    a further point, or a step of the inverse, costs one short sum.
    """

    def __init__(self, circuit: Circuit, state: CircuitState) -> None:
        self._circuit = circuit
        self._step = mixing_of(circuit)
        self._volumes_l = cell_volumes_l(circuit)
        self._never_l = circuit.stranded_l * (1 - state.stranded)
        old = [1 - share for share in cell_shares(state, circuit)]
        self._terms = accumulate_terms(self._step, old)
        self._leaving = [
            (flow.source, flow.litres)
            for flow in flows_of(circuit)
            if flow.target == WASTE and flow.source != FEED
        ]
        self._old_l: list[float] = []
        self._old_outflow: list[float] = []
        self._reachable = ceiling(circuit=circuit, state=state)

    @property
    def limit_l(self) -> float:
        """Most litres that can be asked for on this circuit [L]."""
        return self._step.limit_l()

    def fresh_share(self, *, exchanged_l: float) -> float:
        """Fresh share of the whole unit after so many litres, 0 to 1 [-]. Raises: OutOfRange."""
        old_l = self._weighted(self._old_l, exchanged_l) + self._never_l
        return 1 - old_l / self._circuit.total_l

    def outflow_fresh_share(self, *, exchanged_l: float) -> float:
        """Fresh share of what then leaves, 0 to 1 [-]. Raises: OutOfRange."""
        return 1 - self._weighted(self._old_outflow, exchanged_l)

    def marginal_gain_per_l(self, *, exchanged_l: float) -> float:
        """What one more litre adds to the fresh share of the unit [1/L]. Raises: OutOfRange."""
        return (1 - self.outflow_fresh_share(exchanged_l=exchanged_l)) / self._circuit.total_l

    def exchanged_l_for(self, *, target: float) -> float | None:
        """Litres that bring the unit to a fresh share; 0 when it is there already.

        target: 0 to 1 [-]
        Returns: litres [L]; None at or above the ceiling, or when the limit does not reach it
        """
        check_range(name="target", value=target, low=0, high=1)
        if self.fresh_share(exchanged_l=0.0) >= target:
            return 0.0
        if target >= self._reachable:
            return None
        high_l = self._bracket_l(target)
        return None if high_l is None else self._root_l(target, high_l)

    def _bracket_l(self, target: float) -> float | None:
        litres = self._circuit.total_l
        while self.fresh_share(exchanged_l=min(litres, self.limit_l)) < target:
            if litres >= self.limit_l:
                return None
            litres *= 2
        return min(litres, self.limit_l)

    def _root_l(self, target: float, high_l: float) -> float:
        """Newton's step on the rising curve, kept inside the bracket by bisection."""
        low_l, litres = 0.0, high_l / 2
        while True:
            miss = target - self.fresh_share(exchanged_l=litres)
            if abs(miss) <= SHARE_TOLERANCE or high_l - low_l <= 4e-16 * high_l:
                return litres
            low_l, high_l = (litres, high_l) if miss > 0 else (low_l, litres)
            slope = self.marginal_gain_per_l(exchanged_l=litres)
            litres += miss / slope if slope > 0 else high_l
            if not low_l < litres < high_l:
                litres = (low_l + high_l) / 2

    def _weighted(self, series: list[float], litres: float) -> float:
        check_litres(step=self._step, litres=litres, name="exchanged_l")
        first, weights, total = poisson_window(self._step.rate_per_l * litres)
        self._grow(first + len(weights))
        weighted: float = sum(map(mul, weights, islice(series, first, None)))
        return weighted / total

    def _grow(self, terms: int) -> None:
        for old in islice(self._terms, max(0, terms - len(self._old_l))):
            self._old_l.append(sum(map(mul, self._volumes_l, old)))
            self._old_outflow.append(sum(litres * old[cell] for cell, litres in self._leaving))


@lru_cache(maxsize=256)
def _cached_curve(circuit: Circuit, state: CircuitState) -> ExchangeCurve:
    return ExchangeCurve(circuit, state)


def exchange_curve(*, circuit: Circuit, state: CircuitState) -> ExchangeCurve:
    """The curve of a line exchange from a start state; recent ones are kept.

    >>> from libexchange.circuit import all_old
    >>> circuit = Circuit(sump_l=4.3, converter_l=2.9, line_l=0.8, pockets_l=0.8, stranded_l=0.2)
    >>> curve = exchange_curve(circuit=circuit, state=all_old(circuit))
    >>> round(curve.fresh_share(exchanged_l=9.0), 9)
    0.738514975
    """
    return _cached_curve(circuit, state)


def ceiling(*, circuit: Circuit, state: CircuitState) -> float:
    """Fresh share that no number of litres exceeds, 0 to 1 [-].

    Stranded fluid stays as it is, and pockets too when they swap nothing.

    >>> from libexchange.circuit import all_old
    >>> circuit = Circuit(sump_l=4, stranded_l=1)
    >>> ceiling(circuit=circuit, state=all_old(circuit))
    0.8
    """
    never_l = circuit.stranded_l * (1 - state.stranded)
    if circuit.pocket_exchange == 0:
        never_l += circuit.pockets_l * (1 - state.pockets)
    return 1 - never_l / circuit.total_l


def plug_flow(*, circuit: Circuit, state: CircuitState, exchanged_l: float) -> float:
    """Fresh share if old fluid left unmixed: a strict upper bound, 0 to 1 [-].

    exchanged_l: 0 or more [L]

    >>> from libexchange.circuit import all_old
    >>> circuit = Circuit(sump_l=4, stranded_l=1)
    >>> plug_flow(circuit=circuit, state=all_old(circuit), exchanged_l=2)
    0.4
    """
    start_l = circuit.total_l * fresh_share(circuit=circuit, state=state)
    return min(start_l + exchanged_l, circuit.total_l - circuit.stranded_l) / circuit.total_l


def mixed_reference(*, circuit: Circuit, state: CircuitState, exchanged_l: float) -> float:
    """Fresh share of one mixed tank of the same total: a reference, not a bound, 0 to 1 [-].

    exchanged_l: 0 or more [L]    Source: Levenspiel, Chemical Reaction Engineering, ch. 11.

    >>> from libexchange.circuit import all_old
    >>> tank = Circuit(sump_l=4)
    >>> round(mixed_reference(circuit=tank, state=all_old(tank), exchanged_l=4), 6)
    0.632121
    """
    start = fresh_share(circuit=circuit, state=state)
    return start + (1 - start) * (1 - exp(-exchanged_l / circuit.total_l))


def lower_reference(*, circuit: Circuit, state: CircuitState, exchanged_l: float) -> float:
    """Fresh share if sump, converter and line were one mixed tank and nothing else was reached.

    A lower bound where short_cut is 0.    exchanged_l: 0 or more [L]    Returns: 0 to 1 [-]

    >>> from libexchange.circuit import all_old
    >>> tank = Circuit(sump_l=4)
    >>> round(lower_reference(circuit=tank, state=all_old(tank), exchanged_l=4), 6)
    0.632121
    """
    start = fresh_share(circuit=circuit, state=state)
    flowing = flowing_fresh_share(circuit=circuit, state=state)
    reach = (circuit.flowing_l / circuit.total_l) * (1 - flowing)
    return start + reach * (1 - exp(-exchanged_l / circuit.flowing_l))

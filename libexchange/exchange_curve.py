"""Fresh share over litres exchanged, for one circuit and one start.

The terms of the series are kept, so a further point costs one short sum.
"""

from array import array
from operator import mul
from typing import NamedTuple

from libexchange.errors import check_range
from libexchange.uniformisation import Flow, Mixing, check_litres, poisson_window

GONE = 1e-17
"""Old share below which nothing of it is left to double precision."""

SAME_SHARE = 1e-12
"""Shares closer than this are the same share."""

PIECE = 64
"""Terms are computed in pieces of this many, so that a curve point by point is not all restarts."""

MOST_POINTS = 256
"""Points that a curve remembers; when they are full it starts afresh."""


class _Terms(NamedTuple):
    """Old share inside and in the outflow at each step, and the cells at the step to come.

    Never changed once made: a longer series is a new one, so threads may share a curve.
    """

    inside: "array[float]"
    outflow: "array[float]"
    cells: list[float]


class ExchangeCurve:
    """How the fresh share grows with the litres exchanged; `circuit.exchange_curve` makes it.

    step: mixing per step of the series    cells: old share of each at the start [-]
    inside: part of the whole that each cell is [-]    outlet: what leaves, per litre exchanged
    unreached: old share of the whole that no exchange reaches [-]    total_l: everything [L]
    """

    def __init__(
        self,
        *,
        step: Mixing,
        cells: list[float],
        inside: tuple[float, ...],
        outlet: Flow,
        unreached: float,
        total_l: float,
    ) -> None:
        self._step = step
        self._inside = inside
        self._outlet = outlet
        self._unreached = unreached
        self._total_l = total_l
        self._terms = _Terms(array("d"), array("d"), cells)
        self._points: dict[float, tuple[float, float]] = {}

    @property
    def limit_l(self) -> float:
        """Most litres that are computed for this circuit [L]."""
        return self._step.limit_l()

    def fresh_share(self, exchanged_l: float) -> float:
        """Fresh share of the whole unit after an exchange.

        exchanged_l: 0 to `limit_l` [L]    Returns: share [-]    Raises: OutOfRange

        >>> from libexchange.circuit import Circuit, all_old, exchange_curve
        >>> tank = Circuit(sump_l=9)
        >>> curve = exchange_curve(circuit=tank, state=all_old(tank))
        >>> round(curve.fresh_share(9), 6)
        0.632121
        """
        inside, _ = self._old_shares(exchanged_l)
        return min(1.0, max(0.0, 1 - self._unreached - inside))

    def outflow_fresh_share(self, exchanged_l: float) -> float:
        """Fresh share of what leaves at that moment; not the share inside.

        exchanged_l: 0 to `limit_l` [L]    Returns: share [-]    Raises: OutOfRange

        >>> from libexchange.circuit import Circuit, all_old, exchange_curve
        >>> unit = Circuit(sump_l=6, converter_l=3)
        >>> curve = exchange_curve(circuit=unit, state=all_old(unit))
        >>> round(curve.fresh_share(9), 4), round(curve.outflow_fresh_share(9), 4)
        (0.7368, 0.6102)
        """
        _, outflow = self._old_shares(exchanged_l)
        return min(1.0, max(0.0, 1 - outflow))

    def marginal_gain_per_l(self, exchanged_l: float) -> float:
        """Fresh share that the next litre adds, (1 - outflow share) / total.

        exchanged_l: 0 to `limit_l` [L]    Returns: gain [1/L]    Raises: OutOfRange

        >>> from libexchange.circuit import Circuit, all_old, exchange_curve
        >>> tank = Circuit(sump_l=8)
        >>> exchange_curve(circuit=tank, state=all_old(tank)).marginal_gain_per_l(0)
        0.125
        """
        return (1 - self.outflow_fresh_share(exchanged_l)) / self._total_l

    def exchanged_l_for(self, target: float) -> float | None:
        """Litres after which the whole is `target` fresh; the inverse of `fresh_share`.

        target: 0 to 1 [-]
        Returns: exchanged [L], 0 where the start is fresh enough; None at or above the ceiling of
        the circuit, and below it where `limit_l` does not suffice    Raises: OutOfRange

        >>> from libexchange.circuit import Circuit, all_old, exchange_curve
        >>> tank = Circuit(sump_l=9)
        >>> round(exchange_curve(circuit=tank, state=all_old(tank)).exchanged_l_for(0.8), 3)
        14.485
        """
        check_range(name="target", value=target, low=0, high=1)
        if target <= self.fresh_share(0.0):
            return 0.0
        if target >= 1 - self._unreached - SAME_SHARE:
            return None
        low_l, high_l = 0.0, min(self._total_l, self.limit_l)
        while self.fresh_share(high_l) < target:
            if high_l >= self.limit_l:
                return None
            low_l, high_l = high_l, min(2 * high_l, self.limit_l)
        return self._root_l(target, low_l, high_l)

    def _root_l(self, target: float, low_l: float, high_l: float) -> float:
        """Newton's step where it stays between the brackets, else halve them.

        Each point becomes a bracket and the next lies between the two, so it comes to an end.
        """
        litres = (low_l + high_l) / 2
        while True:
            missing = target - self.fresh_share(litres)
            if missing > 0:
                low_l = litres
            else:
                high_l = litres
            slope = self.marginal_gain_per_l(litres)
            following = litres + missing / slope if slope > 0 else low_l
            if not low_l < following < high_l:
                following = (low_l + high_l) / 2
            if abs(following - litres) <= 1e-13 * following:
                return litres
            litres = following

    def _old_shares(self, exchanged_l: float) -> tuple[float, float]:
        """Old share of the whole that was reachable, and of the outflow."""
        known = self._points.get(exchanged_l)
        if known is not None:
            return known
        check_litres(step=self._step, litres=exchanged_l, name="exchanged_l")
        first, weights, total = poisson_window(self._step.rate_per_l * exchanged_l)
        last = first + len(weights)
        terms = self._terms_to(last)
        inside = sum(map(mul, weights, terms.inside[first:last])) / total
        outflow = sum(map(mul, weights, terms.outflow[first:last])) / total
        if len(self._points) >= MOST_POINTS:
            self._points = {}
        self._points[exchanged_l] = inside, outflow
        return inside, outflow

    def _terms_to(self, count: int) -> _Terms:
        """At least so many terms, fewer where the rest is nothing."""
        known = self._terms
        if len(known.inside) >= count:
            return known
        cell, leaving = self._outlet.source, self._outlet.litres
        inside, outflow, cells = known.inside[:], known.outflow[:], known.cells
        while len(inside) % PIECE or (len(inside) < count and max(cells) >= GONE):
            inside.append(sum(map(mul, self._inside, cells)))
            outflow.append(leaving * cells[cell])
            cells = self._step.after(cells)
        # what is returned is what was made here: another thread may store a shorter series
        longer = self._terms = _Terms(inside, outflow, cells)
        return longer

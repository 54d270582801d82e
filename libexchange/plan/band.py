"""The 5 % and 95 % edges of what a route comes to, from the uncertainty of its inputs.

The same litres and cycles are taken through units that differ from the typical one in a single
input; `uncertainty` puts the changes together. As only changes count, quick formulas serve: the
transform of `circuit_transform` for a line exchange, all that the flow passes as one tank while it
idles between cycles, and for line batches a line exchange of as many litres. An input that acts
nearly in proportion is tried on its wider side alone. Against 10,000 draws with all inputs moved at
once, through the routes as they are planned, the edges stay within 0.015 share, those of line
batches on converter automatics within 0.02.
"""

from collections.abc import Callable
from functools import lru_cache
from math import exp

from libexchange.catalogue import TransmissionProfile
from libexchange.circuit import (
    Circuit,
    CircuitState,
    active_fresh_share,
    all_old,
    fresh_share,
)
from libexchange.circuit_transform import share_after_exchange
from libexchange.plan.assumed import spreads_of, unit_with
from libexchange.plan.request import Route
from libexchange.plan.routes import MIXING_IN_TOTALS, SUCTION_SHARE, Outcome
from libexchange.plan.spreads import SUCTION_SPREAD
from libexchange.plan.unit import Opening, Unit, refill_l, renewed
from libexchange.uncertainty import Response, Spread, edges

BENT = frozenset({"drained_share", "sump_drained", "pocket_exchange"})
"""Inputs that do not act in proportion, and are tried on both sides."""

_Tried = tuple[Spread, Unit | None, Unit | None]
"""An input, with the units at its low and at its high value; None on a side that is not tried."""


@lru_cache(maxsize=1024)
def band_of(transmission: TransmissionProfile, outcome: Outcome) -> tuple[float, float]:
    """How far the 5 % and 95 % edges of the fresh share lie from the expected one [-].

    outcome: of the transmission's own unit

    >>> from libexchange.invented import six_speed
    >>> from libexchange.plan.routes import Aim, line_exchange
    >>> work = line_exchange(unit_with(six_speed(), {}), Aim(target_share=None, exchanged_l=9))
    >>> [round(edge, 3) for edge in band_of(six_speed(), work)]
    [-0.048, 0.025]
    """
    typical, tried = _neighbours(transmission)
    share_of = _SHARES[outcome.route]
    expected = share_of(typical, outcome)
    responses = [
        _response(
            spread,
            None if low is None else share_of(low, outcome) - expected,
            None if high is None else share_of(high, outcome) - expected,
        )
        for spread, low, high in tried
    ]
    if outcome.route == "suction":
        responses.append(_of_suction(typical, outcome, expected))
    return edges(responses)


@lru_cache(maxsize=64)
def _neighbours(transmission: TransmissionProfile) -> tuple[Unit, list[_Tried]]:
    """The typical unit, and those with one input at its low or its high value."""
    tried: list[_Tried] = []
    for name, spread in spreads_of(transmission).items():
        higher = spread.high - spread.typical >= spread.typical - spread.low
        low_too, high_too = name in BENT or not higher, name in BENT or higher
        low = unit_with(transmission, {name: spread.low}) if low_too else None
        high = unit_with(transmission, {name: spread.high}) if high_too else None
        tried.append((spread, low, high))
    return unit_with(transmission, {}), tried


def _after_cycles(unit: Unit, outcome: Outcome, opening: Opening) -> float:
    """Drained and refilled again and again, idling in between."""
    state = all_old(unit.circuit)
    for cycle in range(outcome.cycles or 0):
        mixed = _mixed(unit.circuit, state) if cycle else state
        state = renewed(unit.circuit, mixed, opening)
    return fresh_share(circuit=unit.circuit, state=state)


def _mixed(circuit: Circuit, state: CircuitState) -> CircuitState:
    """Idled: what the flow passes is even throughout, and the pockets draw near to it."""
    active_l, pockets_l = circuit.active_l, circuit.pockets_l
    active = active_fresh_share(circuit=circuit, state=state)
    mean = (active_l * active + pockets_l * state.pockets) / (active_l + pockets_l)
    swapped_l = circuit.pocket_exchange * MIXING_IN_TOTALS * circuit.total_l
    left = exp(-swapped_l / active_l - swapped_l / pockets_l) if pockets_l else 1.0
    even = mean + (active - mean) * left
    return CircuitState(
        sump=even,
        converter=(even,) * circuit.converters,
        line=(even,) * circuit.lines,
        pockets=mean + (state.pockets - mean) * left if pockets_l else 0.0,
        stranded=0.0,
    )


def _through_line(unit: Unit, opening: Opening | None, exchanged_l: float) -> float:
    """After a line exchange, with the pan off before it where an opening is named."""
    start = all_old(unit.circuit)
    if opening is not None:
        start = renewed(unit.circuit, start, opening)
    return share_after_exchange(circuit=unit.circuit, state=start, exchanged_l=exchanged_l)


def _sucked(unit: Unit, sump_share: float) -> Opening:
    sump_l = sump_share * unit.circuit.sump_l
    return Opening(sump_l=sump_l, converter_run_back=0.0, pockets_run_back=0.0)


def _of_suction(unit: Unit, outcome: Outcome, expected: float) -> Response:
    """How deep the probe gets is uncertain too, whatever the unit."""
    low, high = _sucked(unit, SUCTION_SPREAD.low), _sucked(unit, SUCTION_SPREAD.high)
    return Response(
        at_low=_after_cycles(unit, outcome, low) - expected,
        at_high=_after_cycles(unit, outcome, high) - expected,
    )


_SHARES: dict[Route, Callable[[Unit, Outcome], float]] = {
    "level_only": lambda _unit, _outcome: 0.0,
    "drain": lambda unit, _outcome: refill_l(unit.circuit, unit.by_plug) / unit.circuit.total_l,
    "pan_and_filter": lambda unit, _outcome: (
        refill_l(unit.circuit, unit.with_pan) / unit.circuit.total_l
    ),
    "drain_cycles": lambda unit, outcome: _after_cycles(unit, outcome, unit.by_plug),
    "suction": lambda unit, outcome: _after_cycles(unit, outcome, _sucked(unit, SUCTION_SHARE)),
    "line_batches": lambda unit, outcome: _through_line(unit, None, outcome.refilled_l),
    "line_exchange": lambda unit, outcome: _through_line(unit, None, outcome.exchanged_l),
    "pan_and_filter_then_line": lambda unit, outcome: _through_line(
        unit, unit.with_pan, outcome.exchanged_l
    ),
}
"""About what the litres and cycles of each route come to on another unit."""


def _response(spread: Spread, at_low: float | None, at_high: float | None) -> Response:
    """The change at either value; on a side that was not tried, in proportion to the other."""
    below, above = spread.typical - spread.low, spread.high - spread.typical
    if at_low is None:
        at_low = -(at_high or 0.0) * below / above
    if at_high is None:
        at_high = -at_low * above / below
    return Response(at_low=at_low, at_high=at_high)

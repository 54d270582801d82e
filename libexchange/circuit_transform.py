"""The fresh share after a line exchange by its Laplace transform: quick, and a second way.

The flow diagram of `circuit` has a transform in closed form, which is inverted numerically. That is
several times quicker than the series of `exchange_curve` where a circuit is needed once, and shares
no step with it, but it is not exact: about 1e-6 on usual circuits, up to 0.002 where small parts
are renewed hundreds of times. It serves where many circuits that hardly differ are compared, as in
the propagation of uncertainty.
"""

from cmath import exp
from math import pi, tan

from libexchange.circuit import Circuit, CircuitState, ceiling, fresh_share

NODES = 12
"""Points on the contour; each gives about 0.6 digits."""


LEAST_L = 1e-6
"""Less than this counts as nothing exchanged [L]."""


def share_after_exchange(*, circuit: Circuit, state: CircuitState, exchanged_l: float) -> float:
    """Fresh share of the whole unit after a line exchange.

    The converter cells must be alike in the state, and the line cells too, as before any line
    exchange they are.

    exchanged_l: 0 or more [L]    Returns: share [-]
    Source: Talbot 1979, with the contour of Abate and Valko 2004.

    >>> from libexchange.circuit import all_old
    >>> unit = Circuit(sump_l=4.3, converter_l=2.9, line_l=0.8, pockets_l=0.8, stranded_l=0.2)
    >>> round(share_after_exchange(circuit=unit, state=all_old(unit), exchanged_l=9), 5)
    0.73851
    """
    if exchanged_l < LEAST_L:
        return fresh_share(circuit=circuit, state=state)
    reach = 2 * NODES / 5
    rate = reach / exchanged_l
    left_l = _old_left(circuit, state, complex(rate)).real * exp(reach).real / 2
    for node in range(1, NODES):
        angle = node * pi / NODES
        bend = 1 / tan(angle)
        at = rate * angle * complex(bend, 1)
        turn = complex(1, angle + (angle * bend - 1) * bend)
        left_l += (exp(at * exchanged_l) * turn * _old_left(circuit, state, at)).real
    reached = 1 - left_l * rate / NODES / circuit.total_l
    return min(max(reached - (1 - ceiling(circuit=circuit, state=state)), 0.0), 1.0)


def _old_left(circuit: Circuit, state: CircuitState, at: complex) -> complex:
    """Transform of the old litres inside that can be reached; `at` is in 1/L."""
    pumped = circuit.internal_return if circuit.converter_l else 1.0
    swapped, kept = circuit.pocket_exchange, pumped - circuit.short_cut
    converter, line = _missing(state.converter), _missing(state.line)
    through = (
        1 + circuit.converter_l / circuit.converter_cells * at / pumped
    ) ** -circuit.converter_cells
    beyond = (1 + circuit.line_l / circuit.line_cells * at) ** -circuit.line_cells
    own = converter * (1 - through) / at
    pockets = circuit.pockets_l * at + swapped
    start = circuit.sump_l * (1 - state.sump) + (pumped - 1) * own
    loss = circuit.sump_l * at + kept - (pumped - 1) * kept / pumped * through
    if circuit.pockets_swap:
        start += swapped * circuit.pockets_l * (1 - state.pockets) / pockets
        loss += swapped - swapped**2 / pockets
    fed = kept / pumped * through * start / loss + own
    leaving = beyond * fed + line * (1 - beyond) / at
    held_l = circuit.sump_l * (1 - state.sump) + circuit.converter_l * converter
    held_l += circuit.line_l * line
    if circuit.pockets_swap:
        held_l += circuit.pockets_l * (1 - state.pockets)
    return (held_l - leaving) / at


def _missing(cells: tuple[float, ...]) -> float:
    return 1 - cells[0] if cells else 0.0

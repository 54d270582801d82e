"""The flow diagram of a circuit: its mixed cells and the litres that pass between them.

Cells are numbered sump, converter cells, line cells, pockets. Pockets that swap nothing and the
stranded volume are no cells: nothing ever reaches them.
"""

from functools import lru_cache
from itertools import pairwise

from libexchange._circuit import Circuit, CircuitState, check_fits
from libexchange.uniformisation import FEED, WASTE, Flow, Mixing, mixing

SUMP = 0


def flow_diagram(circuit: Circuit, *, closed: bool, fed_l: float = 1.0) -> list[Flow]:
    """What flows where per litre that leaves; closed, the outflow is fed back in.

    fed_l: 0 to 2, fresh fluid fed in per litre that leaves; the sump makes up for the rest [-]

    Fresh enters the sump, a short cut of it the pick-up. The pick-up draws from the sump and feeds
    the converter, which returns all but one litre to the sump; that litre goes through the line to
    waste. Without a converter the pick-up feeds the line, without a line the converter is the
    outlet, without either the pick-up is.

    >>> for flow in flow_diagram(Circuit(sump_l=5, short_cut=0.25), closed=False):
    ...     print(flow)
    Flow(source=-1, target=0, litres=0.75)
    Flow(source=-1, target=-2, litres=0.25)
    Flow(source=0, target=-2, litres=0.75)
    """
    converter, line, pockets = _cells(circuit)
    through = [*converter, *line]
    outlet = through[-1] if through else SUMP
    feed, drain = (outlet, SUMP) if closed else (FEED, WASTE)
    pick_up = through[0] if through else drain
    pumped = circuit.internal_return if converter else 1.0
    swapped = circuit.pocket_exchange
    flows = [
        Flow(feed, SUMP, fed_l * (1 - circuit.short_cut)),
        Flow(feed, pick_up, fed_l * circuit.short_cut),
        Flow(SUMP, pick_up, pumped - fed_l * circuit.short_cut),
    ]
    flows += [Flow(cell, following, pumped) for cell, following in pairwise(converter)]
    if converter:
        flows.append(Flow(converter[-1], SUMP, pumped - 1))
    if converter and line:
        flows.append(Flow(converter[-1], line[0], 1.0))
    flows += [Flow(cell, following, 1.0) for cell, following in pairwise(line)]
    if through and not closed:
        flows.append(Flow(outlet, WASTE, 1.0))
    for pocket in pockets:
        flows += [Flow(SUMP, pocket, swapped), Flow(pocket, SUMP, swapped)]
    return flows


@lru_cache(maxsize=512)
def mixing_of(circuit: Circuit, *, closed: bool) -> Mixing:
    """The mixing step of a circuit.

    >>> mixing_of(Circuit(sump_l=5), closed=False).rate_per_l
    0.2
    """
    return mixing(volumes_l=cell_volumes_l(circuit), flows=flow_diagram(circuit, closed=closed))


def cell_volumes_l(circuit: Circuit) -> tuple[float, ...]:
    """Volume of each cell [L].

    >>> cell_volumes_l(Circuit(sump_l=5, converter_l=3, pockets_l=1))
    (5, 1.5, 1.5, 1)
    """
    converter, line, pockets = _cells(circuit)
    return (
        circuit.sump_l,
        *(circuit.converter_l / circuit.converter_cells for _ in converter),
        *(circuit.line_l / circuit.line_cells for _ in line),
        *(circuit.pockets_l for _ in pockets),
    )


def outlet(circuit: Circuit) -> Flow:
    """The flow of what has been inside to waste; the rest of the outflow took the short cut.

    >>> outlet(Circuit(sump_l=5, short_cut=0.25))
    Flow(source=0, target=-2, litres=0.75)
    """
    flows = flow_diagram(circuit, closed=False)
    return next(flow for flow in flows if flow.target == WASTE and flow.source != FEED)


def missing_shares(
    circuit: Circuit, state: CircuitState, incoming_share: float = 1.0
) -> list[float]:
    """What each cell lacks to the share of the incoming fluid: its old share where that is fresh.

    Raises: OutOfRange when the state has other cells than the circuit

    >>> state = CircuitState(sump=0.25, converter=(), line=(), pockets=0.0, stranded=0.0)
    >>> missing_shares(Circuit(sump_l=5), state)
    [0.75]
    """
    check_fits(circuit=circuit, state=state)
    pockets = (state.pockets,) if circuit.pockets_swap else ()
    cells = (state.sump, *state.converter, *state.line, *pockets)
    return [incoming_share - share for share in cells]


def state_with(
    circuit: Circuit, state: CircuitState, missing: list[float], incoming_share: float = 1.0
) -> CircuitState:
    """The state with new missing shares in its cells; what is no cell stays as it was.

    >>> state = CircuitState(sump=0.25, converter=(), line=(), pockets=0.0, stranded=0.0)
    >>> state_with(Circuit(sump_l=5), state, [0.5]).sump
    0.5
    """
    shares = tuple(min(1.0, max(0.0, incoming_share - share)) for share in missing)
    line = 1 + circuit.converters
    pocket = line + circuit.lines
    return CircuitState(
        sump=shares[SUMP],
        converter=shares[1:line],
        line=shares[line:pocket],
        pockets=shares[pocket] if circuit.pockets_swap else state.pockets,
        stranded=state.stranded,
    )


def _cells(circuit: Circuit) -> tuple[range, range, range]:
    """Numbers of the converter, line and pocket cells."""
    line = 1 + circuit.converters
    pocket = line + circuit.lines
    return range(1, line), range(line, pocket), range(pocket, pocket + circuit.pockets_swap)

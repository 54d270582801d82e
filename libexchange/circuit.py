"""The compartments of a transmission and what draining, idling and exchanging do to their fluid.

Sump, converter (equal mixed cells in series), cooler line (likewise), pockets that trade with the
sump, and stranded fluid that nothing reaches. The state is the fresh share of every cell; litres
are 15 degC litres. Every operation is pure, exact and conserves fluid.
"""

from libexchange.cells import (
    Circuit,
    CircuitState,
    cell_shares,
    cell_volumes_l,
    closed_flows,
    flows_of,
)
from libexchange.errors import check_range
from libexchange.uniformisation import Flow, mixing, propagate

__all__ = [
    "Circuit", "CircuitState", "all_old", "drain_and_refill", "exchange", "flowing_fresh_share",
    "fresh_share", "idle", "refilled_l",
]  # fmt: skip


def all_old(circuit: Circuit) -> CircuitState:
    """The state before anything was renewed.

    >>> all_old(Circuit(sump_l=4, line_l=1, line_cells=2)).line
    (0.0, 0.0)
    """
    return CircuitState(
        sump=0.0,
        converter=(0.0,) * (circuit.converter_cells if circuit.converter_l else 0),
        line=(0.0,) * (circuit.line_cells if circuit.line_l else 0),
        pockets=0.0,
        stranded=0.0,
    )


def fresh_share(*, circuit: Circuit, state: CircuitState) -> float:
    """Fresh share of the whole unit, 0 to 1 [-].

    >>> circuit = Circuit(sump_l=4, stranded_l=1)
    >>> fresh_share(circuit=circuit, state=CircuitState(sump=1, converter=(), line=(), pockets=0,
    ...                                                 stranded=0))
    0.8
    """
    volumes, shares = cell_volumes_l(circuit), cell_shares(state, circuit)
    fresh_l = sum(v * s for v, s in zip(volumes, shares, strict=True))
    return (fresh_l + circuit.stranded_l * state.stranded) / circuit.total_l


def flowing_fresh_share(*, circuit: Circuit, state: CircuitState) -> float:
    """Fresh share of sump, converter and line together, 0 to 1 [-].

    >>> circuit = Circuit(sump_l=4, stranded_l=1)
    >>> flowing_fresh_share(circuit=circuit, state=all_old(circuit))
    0.0
    """
    volumes, shares = cell_volumes_l(circuit), cell_shares(state, circuit)
    fresh_l = sum(v * s for v, s in zip(volumes, shares, strict=True))
    if circuit.pockets_l:
        fresh_l -= circuit.pockets_l * state.pockets
    return fresh_l / circuit.flowing_l


def drain_and_refill(
    *,
    circuit: Circuit,
    state: CircuitState,
    drained_l: float,
    converter_run_back: float = 0.0,
    pockets_run_back: float = 0.0,
) -> CircuitState:
    """The state after the sump was drained and as much fresh fluid was poured in.

    What has run back from converter and pockets leaves too; the refill mixes in the sump, which
    then tops both up.

    drained_l: what leaves the sump itself, 0 to the sump [L]
    converter_run_back, pockets_run_back: shares of these that run back and leave, 0 to 1 [-]
    Raises: OutOfRange

    >>> circuit = Circuit(sump_l=4, stranded_l=1)
    >>> after = drain_and_refill(circuit=circuit, state=all_old(circuit), drained_l=3)
    >>> after.sump, fresh_share(circuit=circuit, state=after)
    (0.75, 0.6)
    """
    fresh_l = refilled_l(
        circuit=circuit,
        drained_l=drained_l,
        converter_run_back=converter_run_back,
        pockets_run_back=pockets_run_back,
    )
    rest_l = circuit.sump_l - drained_l
    poured_into_l = rest_l + fresh_l
    sump = (rest_l * state.sump + fresh_l) / poured_into_l if poured_into_l else state.sump
    kept = 1 - converter_run_back
    pockets = (1 - pockets_run_back) * state.pockets + pockets_run_back * sump
    return CircuitState(
        sump=sump,
        converter=tuple(kept * cell + converter_run_back * sump for cell in state.converter),
        line=state.line,
        pockets=pockets if circuit.pockets_l else state.pockets,
        stranded=state.stranded,
    )


def refilled_l(
    *,
    circuit: Circuit,
    drained_l: float,
    converter_run_back: float = 0.0,
    pockets_run_back: float = 0.0,
) -> float:
    """Fresh fluid that replaces what was drained and what had run back [L].

    As `drain_and_refill`. Raises: OutOfRange

    >>> circuit = Circuit(sump_l=4.3, converter_l=2.9, line_l=0.8, pockets_l=0.8, stranded_l=0.2)
    >>> round(refilled_l(circuit=circuit, drained_l=3.8, converter_run_back=0.05,
    ...                  pockets_run_back=0.15), 3)
    4.065
    """
    check_range(name="drained_l", value=drained_l, low=0, high=circuit.sump_l, unit="L")
    check_range(name="converter_run_back", value=converter_run_back, low=0, high=1)
    check_range(name="pockets_run_back", value=pockets_run_back, low=0, high=1)
    from_converter_l = converter_run_back * circuit.converter_l
    return drained_l + from_converter_l + pockets_run_back * circuit.pockets_l


def exchange(*, circuit: Circuit, state: CircuitState, exchanged_l: float) -> CircuitState:
    """The state after litres went in fresh at the sump and came out at the open line.

    exchanged_l: 0 to the limit that the circuit's smallest cell sets [L]    Raises: OutOfRange
    Source: mixed cells in series, Levenspiel, Chemical Reaction Engineering; own derivation.

    >>> tank = Circuit(sump_l=4)
    >>> after = exchange(circuit=tank, state=all_old(tank), exchanged_l=4)
    >>> round(after.sump, 9)
    0.632120559
    """
    return _moved(circuit, state, flows_of(circuit), exchanged_l, "exchanged_l")


def idle(*, circuit: Circuit, state: CircuitState, circulated_l: float) -> CircuitState:
    """The state after litres went round with the line closed: nothing in, nothing out.

    circulated_l: 0 to the limit that the circuit's smallest cell sets [L]    Raises: OutOfRange

    >>> circuit = Circuit(sump_l=4, line_l=1)
    >>> start = drain_and_refill(circuit=circuit, state=all_old(circuit), drained_l=2)
    >>> after = idle(circuit=circuit, state=start, circulated_l=100)
    >>> round(after.sump, 6), round(after.line[0], 6)
    (0.4, 0.4)
    """
    return _moved(circuit, state, closed_flows(circuit), circulated_l, "circulated_l")


def _moved(
    circuit: Circuit, state: CircuitState, flows: list[Flow], litres: float, name: str
) -> CircuitState:
    step = mixing(volumes_l=cell_volumes_l(circuit), flows=flows)
    old = [1 - share for share in cell_shares(state, circuit)]
    fresh = [1 - share for share in propagate(step=step, old=old, litres=litres, name=name)]
    converter = len(state.converter)
    return CircuitState(
        sump=fresh[0],
        converter=tuple(fresh[1 : 1 + converter]),
        line=tuple(fresh[1 + converter : 1 + converter + len(state.line)]),
        pockets=fresh[-1] if circuit.pockets_l else state.pockets,
        stranded=state.stranded,
    )

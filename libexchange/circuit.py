"""Compartment model of a transmission: what each kind of service does to its fresh fluid.

Litres are volumes at 15 degC. The state is the fresh share of every mixed cell; operations take
one state to the next and are exact. A dosed substance obeys the same flows: it has a state of its
own, and an operation is told what share of it the incoming fluid carries. The flow diagram stands
in `_circuit_flow`, the solver in `uniformisation`. Volumes and coefficients of a unit are
calculated from typical values unless its maker gives them, so the share is a forecast and not a
measurement.
"""

from functools import lru_cache
from math import expm1

from libexchange._circuit import Circuit, CircuitState, all_old, check_fits
from libexchange._circuit_flow import (
    cell_volumes_l,
    missing_shares,
    mixing_of,
    outlet,
    state_with,
)
from libexchange.errors import check_range
from libexchange.exchange_curve import ExchangeCurve
from libexchange.uniformisation import LARGEST_EXCHANGE_L, propagate

__all__ = [
    "Circuit", "CircuitState", "ExchangeCurve", "active_fresh_share", "all_old", "ceiling",
    "drain_and_refill", "exchange", "exchange_curve", "fresh_share", "idle", "lower_reference",
    "mixed_reference", "plug_flow", "refilled_l",
]  # fmt: skip


def exchange(
    *, circuit: Circuit, state: CircuitState, exchanged_l: float, incoming_share: float = 1.0
) -> CircuitState:
    """The state after fresh has been fed in at the line while as much left by it.

    exchanged_l: 0 to the limit of the circuit's `exchange_curve` [L]
    incoming_share: 0 to 1, of what is fed in; 1 for fresh fluid, for a dosed substance what of it
        the feed carries [-]
    Raises: OutOfRange

    >>> tank = Circuit(sump_l=9)
    >>> round(exchange(circuit=tank, state=all_old(tank), exchanged_l=9).sump, 6)
    0.632121
    """
    check_range(name="incoming_share", value=incoming_share, low=0, high=1)
    step, missing = mixing_of(circuit, closed=False), missing_shares(circuit, state, incoming_share)
    after = propagate(step=step, old=missing, litres=exchanged_l, name="exchanged_l")
    return state_with(circuit, state, after, incoming_share)


def idle(*, circuit: Circuit, state: CircuitState, circulated_l: float) -> CircuitState:
    """The state after the fluid has gone round in a closed loop: mixed, nothing added.

    circulated_l: through the line, 0 to about 100,000 renewals of the smallest cell [L]
    Raises: OutOfRange

    >>> unit = Circuit(sump_l=6, converter_l=3)
    >>> state = drain_and_refill(circuit=unit, state=all_old(unit), drained_l=4.5)
    >>> mixed = idle(circuit=unit, state=state, circulated_l=100)
    >>> round(mixed.sump, 6), round(mixed.converter[-1], 6)
    (0.5, 0.5)
    """
    step, missing = mixing_of(circuit, closed=True), missing_shares(circuit, state)
    after = propagate(step=step, old=missing, litres=circulated_l, name="circulated_l")
    return state_with(circuit, state, after)


def drain_and_refill(
    *,
    circuit: Circuit,
    state: CircuitState,
    drained_l: float,
    converter_run_back: float = 0.0,
    pockets_run_back: float = 0.0,
    incoming_share: float = 1.0,
) -> CircuitState:
    """The state after the sump was drained and as much fresh put back.

    What has run down from converter and pockets leaves too. All fresh goes into the sump, which
    mixes and then tops them up.

    drained_l: from the sump itself, 0 to sump_l [L]
    converter_run_back, pockets_run_back: 0 to 1, part of them that has run down [-]
    incoming_share: 0 to 1, of what is put back, as in `exchange` [-]
    Raises: OutOfRange    Source: fluid balance.

    >>> unit = Circuit(sump_l=4.3, converter_l=2.9, line_l=0.8, pockets_l=0.8, stranded_l=0.2)
    >>> drained = drain_and_refill(circuit=unit, state=all_old(unit), drained_l=3.8,
    ...                            converter_run_back=0.05, pockets_run_back=0.15)
    >>> round(fresh_share(circuit=unit, state=drained), 9)
    0.451666667
    """
    check_fits(circuit=circuit, state=state)
    check_range(name="incoming_share", value=incoming_share, low=0, high=1)
    refill_l = refilled_l(
        circuit=circuit,
        drained_l=drained_l,
        converter_run_back=converter_run_back,
        pockets_run_back=pockets_run_back,
    )
    rest_l = circuit.sump_l - drained_l
    pockets_topped_up = pockets_run_back if circuit.pockets_l else 0.0
    sump = min(1.0, (rest_l * state.sump + refill_l * incoming_share) / (rest_l + refill_l))
    return CircuitState(
        sump=sump,
        converter=tuple(cell + converter_run_back * (sump - cell) for cell in state.converter),
        line=state.line,
        pockets=state.pockets + pockets_topped_up * (sump - state.pockets),
        stranded=state.stranded,
    )


def refilled_l(
    *,
    circuit: Circuit,
    drained_l: float,
    converter_run_back: float = 0.0,
    pockets_run_back: float = 0.0,
) -> float:
    """Litres that leave in `drain_and_refill`, and that go back in fresh.

    drained_l: from the sump itself, 0 to sump_l [L]
    converter_run_back, pockets_run_back: 0 to 1 [-]
    Returns: volume [L]    Raises: OutOfRange    Source: fluid balance.

    >>> refilled_l(circuit=Circuit(sump_l=5, converter_l=2), drained_l=4, converter_run_back=0.25)
    4.5
    """
    check_range(name="drained_l", value=drained_l, low=0, high=circuit.sump_l, unit="L")
    check_range(name="converter_run_back", value=converter_run_back, low=0, high=1)
    check_range(name="pockets_run_back", value=pockets_run_back, low=0, high=1)
    return (
        drained_l + converter_run_back * circuit.converter_l + pockets_run_back * circuit.pockets_l
    )


@lru_cache(maxsize=256)
def exchange_curve(*, circuit: Circuit, state: CircuitState) -> ExchangeCurve:
    """Fresh share over litres exchanged from this state, with its inverse.

    Raises: OutOfRange when the state has other cells than the circuit

    >>> unit = Circuit(sump_l=4.3, converter_l=2.9, line_l=0.8, pockets_l=0.8, stranded_l=0.2)
    >>> curve = exchange_curve(circuit=unit, state=all_old(unit))
    >>> round(curve.fresh_share(9), 9), round(curve.exchanged_l_for(0.8), 1)
    (0.738514975, 10.9)
    """
    total_l = circuit.total_l
    return ExchangeCurve(
        step=mixing_of(circuit, closed=False),
        cells=missing_shares(circuit, state),
        inside=tuple(volume_l / total_l for volume_l in cell_volumes_l(circuit)),
        outlet=outlet(circuit),
        unreached=1 - ceiling(circuit=circuit, state=state),
        total_l=total_l,
    )


def fresh_share(*, circuit: Circuit, state: CircuitState) -> float:
    """Fresh share of everything in the unit, as if it were all poured together.

    Returns: share [-]    Raises: OutOfRange when the state has other cells than the circuit
    Source: fluid balance.

    >>> unit = Circuit(sump_l=6, stranded_l=2)
    >>> state = CircuitState(sump=0.5, converter=(), line=(), pockets=0.0, stranded=0.0)
    >>> fresh_share(circuit=unit, state=state)
    0.375
    """
    fresh_l = circuit.active_l * active_fresh_share(circuit=circuit, state=state)
    fresh_l += circuit.pockets_l * state.pockets + circuit.stranded_l * state.stranded
    return min(1.0, fresh_l / circuit.total_l)


def active_fresh_share(*, circuit: Circuit, state: CircuitState) -> float:
    """Fresh share of sump, converter and line together, which the flow passes through.

    Returns: share [-]    Raises: OutOfRange when the state has other cells than the circuit
    Source: fluid balance.

    >>> state = CircuitState(sump=0.5, converter=(0.0, 0.0), line=(), pockets=0.0, stranded=0.0)
    >>> active_fresh_share(circuit=Circuit(sump_l=6, converter_l=3), state=state)
    0.3333333333333333
    """
    check_fits(circuit=circuit, state=state)
    fresh_l = circuit.sump_l * state.sump
    fresh_l += circuit.converter_l * sum(state.converter) / circuit.converter_cells
    fresh_l += circuit.line_l * sum(state.line) / circuit.line_cells
    return min(1.0, fresh_l / circuit.active_l)


def ceiling(*, circuit: Circuit, state: CircuitState) -> float:
    """Fresh share that no exchange exceeds: what never moves stays as old as it is.

    1 - (stranded, and pockets where they swap nothing, but for what of them is fresh) / total

    Returns: share [-]    Source: fluid balance.

    >>> unit = Circuit(sump_l=9, stranded_l=1)
    >>> ceiling(circuit=unit, state=all_old(unit))
    0.9
    """
    stays_l = circuit.stranded_l * (1 - state.stranded)
    if not circuit.pockets_swap:
        stays_l += circuit.pockets_l * (1 - state.pockets)
    return 1 - stays_l / circuit.total_l


def plug_flow(*, circuit: Circuit, state: CircuitState, exchanged_l: float) -> float:
    """Fresh share if nothing mixed, min(V F0 + x, V - stranded old) / V: a strict upper bound.

    exchanged_l: 0 to 100,000 [L]    Returns: share [-]    Raises: OutOfRange
    Source: fluid balance.

    >>> unit = Circuit(sump_l=9, stranded_l=1)
    >>> plug_flow(circuit=unit, state=all_old(unit), exchanged_l=5)
    0.5
    """
    _check_exchanged(exchanged_l)
    reached = fresh_share(circuit=circuit, state=state) + exchanged_l / circuit.total_l
    return min(reached, 1 - circuit.stranded_l * (1 - state.stranded) / circuit.total_l)


def mixed_reference(*, circuit: Circuit, state: CircuitState, exchanged_l: float) -> float:
    """Fresh share if all were one mixed tank, F0 + (1 - F0)(1 - exp(-x / V)).

    A reference and no bound: stranded and pocket volume can leave the unit below it.

    exchanged_l: 0 to 100,000 [L]    Returns: share [-]    Raises: OutOfRange
    Source: Levenspiel, Chemical Reaction Engineering, one stirred tank.

    >>> unit = Circuit(sump_l=8, stranded_l=1)
    >>> round(mixed_reference(circuit=unit, state=all_old(unit), exchanged_l=9), 6)
    0.632121
    """
    _check_exchanged(exchanged_l)
    start = fresh_share(circuit=circuit, state=state)
    return start - (1 - start) * expm1(-exchanged_l / circuit.total_l)


def lower_reference(*, circuit: Circuit, state: CircuitState, exchanged_l: float) -> float:
    """Fresh share if only the active part renewed, mixed: F0 + (Vm / V)(1 - m0)(1 - exp(-x / Vm)).

    Vm is sump, converter and line, m0 their share. A bound only where `short_cut` is 0.

    exchanged_l: 0 to 100,000 [L]    Returns: share [-]    Raises: OutOfRange
    Source: fluid balance of a stirred tank.

    >>> unit = Circuit(sump_l=8, stranded_l=1)
    >>> round(lower_reference(circuit=unit, state=all_old(unit), exchanged_l=8), 6)
    0.561885
    """
    _check_exchanged(exchanged_l)
    active_l = circuit.active_l
    missing = 1 - active_fresh_share(circuit=circuit, state=state)
    gained = -missing * expm1(-exchanged_l / active_l) * active_l / circuit.total_l
    return fresh_share(circuit=circuit, state=state) + gained


def _check_exchanged(exchanged_l: float) -> None:
    check_range(name="exchanged_l", value=exchanged_l, low=0, high=LARGEST_EXCHANGE_L, unit="L")

"""Services that move the sump's level: uneven exchange, line batches, pouring in, suction.

A sump that is lower or higher than it should be is a circuit with another sump volume, so what
changes the level answers with a `Filling`: the circuit as it stands and its state. Every operation
of `circuit` then goes on from there. Litres are volumes at 15 degC, as in `circuit`.
"""

from collections.abc import Mapping

from msgspec import Struct
from msgspec.structs import replace

from libexchange._circuit import (
    LARGEST_VOLUME_L,
    SMALLEST_VOLUME_L,
    Circuit,
    CircuitState,
    check_fits,
)
from libexchange._circuit_flow import missing_shares, state_with
from libexchange._circuit_uneven import uneven
from libexchange.circuit import drain_and_refill, fresh_share
from libexchange.errors import check_range

MOST_FED_PER_OUT = 2.0
"""Litres fed in per litre that leaves, at most [-]."""

LARGEST_BATCH_L, LARGEST_BATCH_SHARE = 2.0, 0.5
"""Most that is pumped out in one batch, in litres and of the sump [L, -]."""


class Filling(Struct, frozen=True, kw_only=True):
    """A unit as it stands: its circuit, with what is in the sump now, and its state.

    >>> from libexchange.circuit import all_old
    >>> Filling(circuit=Circuit(sump_l=3.8), state=all_old(Circuit(sump_l=3.8))).circuit.total_l
    3.8
    """

    circuit: Circuit
    state: CircuitState


def exchange_uneven(
    *,
    circuit: Circuit,
    state: CircuitState,
    out_l: float,
    fed_per_out: float,
    incoming_share: float = 1.0,
) -> Filling:
    """What stands after a line exchange that is fed more or less than it gives.

    out_l: what leaves by the line, 0 to what leaves 0.05 L in the sump or fills it to 500 L, and
        to about 500 renewals of the sump [L]
    fed_per_out: 0 to 2, litres fed in per litre that leaves; 0 pumps out, 1 is `exchange` [-]
    incoming_share: 0 to 1, as in `exchange` [-]
    Raises: OutOfRange    Source: fluid balance; the error is below 1e-12.

    >>> from libexchange.circuit import all_old
    >>> tank = Circuit(sump_l=4)
    >>> after = exchange_uneven(circuit=tank, state=all_old(tank), out_l=10, fed_per_out=1.05)
    >>> round(1 - after.state.sump, 9), round(after.circuit.sump_l, 9)
    (0.084294071, 4.5)
    """
    check_range(name="incoming_share", value=incoming_share, low=0, high=1)
    check_range(name="fed_per_out", value=fed_per_out, low=0, high=MOST_FED_PER_OUT)
    missing = missing_shares(circuit, state, incoming_share)
    after, sump_l = uneven(circuit=circuit, old=missing, out_l=out_l, fed_per_out=fed_per_out)
    return Filling(
        circuit=replace(circuit, sump_l=sump_l),
        state=state_with(circuit, state, after, incoming_share),
    )


def pour_in(
    *, circuit: Circuit, state: CircuitState, poured_l: float, incoming_share: float = 1.0
) -> Filling:
    """What stands after fluid was poured into the sump, where it mixes; nothing leaves.

    poured_l: 0 to what fills the sump to 500 L [L]
    incoming_share: 0 to 1; of a dose of a substance 1 for its own state, 0 for every other [-]
    Raises: OutOfRange    Source: fluid balance.

    >>> from libexchange.circuit import all_old
    >>> low = Circuit(sump_l=1)
    >>> filled = pour_in(circuit=low, state=all_old(low), poured_l=3)
    >>> filled.circuit.sump_l, filled.state.sump
    (4, 0.75)
    """
    check_fits(circuit=circuit, state=state)
    check_range(name="incoming_share", value=incoming_share, low=0, high=1)
    most_l = LARGEST_VOLUME_L - circuit.sump_l
    check_range(name="poured_l", value=poured_l, low=0, high=most_l, unit="L")
    sump_l = circuit.sump_l + poured_l
    sump = (circuit.sump_l * state.sump + poured_l * incoming_share) / sump_l
    return Filling(circuit=replace(circuit, sump_l=sump_l), state=replace(state, sump=sump))


def line_batch(
    *, circuit: Circuit, state: CircuitState, batch_l: float, incoming_share: float = 1.0
) -> CircuitState:
    """The state after a batch was pumped out by the line and as much poured in.

    batch_l: 0 to what leaves 0.05 L in the sump [L]; the unit sucks air long before that
    incoming_share: 0 to 1, as in `exchange` [-]
    Raises: OutOfRange    Source: fluid balance.

    >>> from libexchange.circuit import all_old
    >>> tank = Circuit(sump_l=4)
    >>> line_batch(circuit=tank, state=all_old(tank), batch_l=3).sump
    0.75
    """
    low = exchange_uneven(circuit=circuit, state=state, out_l=batch_l, fed_per_out=0.0)
    return pour_in(
        circuit=low.circuit, state=low.state, poured_l=batch_l, incoming_share=incoming_share
    ).state


def largest_batch_l(*, sump_l: float) -> float:
    """Most that is pumped out by the line in one batch: 2 L, and half of the sump.

    sump_l: what the sump holds, from 0.05 [L]
    Returns: volume, so that 0.05 L stay [L]    Source: common practice.

    >>> largest_batch_l(sump_l=3), largest_batch_l(sump_l=5)
    (1.5, 2.0)
    """
    return min(LARGEST_BATCH_L, LARGEST_BATCH_SHARE * sump_l, sump_l - SMALLEST_VOLUME_L)


def suction(
    *, circuit: Circuit, state: CircuitState, sump_share: float, incoming_share: float = 1.0
) -> CircuitState:
    """The state after part of the sump was sucked out by the fill tube and as much poured in.

    sump_share: 0 to 1, part of the sump that the probe reaches; nothing runs back to it [-]
    incoming_share: 0 to 1, as in `exchange` [-]
    Raises: OutOfRange    Source: fluid balance; 0.5 to 0.85 is reached, typically 0.7 (memory).

    >>> from libexchange.circuit import all_old
    >>> unit = Circuit(sump_l=5, converter_l=3)
    >>> suction(circuit=unit, state=all_old(unit), sump_share=0.7).sump
    0.7
    """
    check_range(name="sump_share", value=sump_share, low=0, high=1)
    return drain_and_refill(
        circuit=circuit,
        state=state,
        drained_l=sump_share * circuit.sump_l,
        incoming_share=incoming_share,
    )


def shares_by_space(*, spaces: Mapping[str, Filling]) -> dict[str, float]:
    """Fresh share of each fluid space of a vehicle; their fluids differ, so there is no sum.

    Returns: share by space [-]    Raises: OutOfRange when a state has other cells than its circuit

    >>> from libexchange.circuit import all_old
    >>> gears = Filling(circuit=Circuit(sump_l=2), state=all_old(Circuit(sump_l=2)))
    >>> shares_by_space(spaces={"gear set": gears})
    {'gear set': 0.0}
    """
    return {name: fresh_share(circuit=one.circuit, state=one.state) for name, one in spaces.items()}

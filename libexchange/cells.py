"""The cells of a transmission and what flows between them for each litre exchanged."""

from itertools import pairwise
from math import fsum

from msgspec import Struct

from libexchange.errors import OutOfRange, check_range
from libexchange.uniformisation import FEED, WASTE, Flow, Mixing, mixing

SMALLEST_L, LARGEST_L = 0.05, 500.0
MOST_CELLS = 10

_VOLUMES = ("sump_l", "converter_l", "line_l", "pockets_l", "stranded_l")
_RANGES = {
    "converter_cells": (1, MOST_CELLS),
    "line_cells": (1, MOST_CELLS),
    "pocket_exchange": (0, 1),
    "internal_return": (1, 4),
    "short_cut": (0, 0.3),
}


class Circuit(Struct, frozen=True, kw_only=True):
    """How much fluid is where, and how it moves for each litre exchanged.

    sump_l: 0.05 to 500 [L]    converter_l, line_l, pockets_l, stranded_l: 0 or 0.05 to 500 [L]
    converter_cells, line_cells: equal mixed cells in series, 1 to 10 [-]
    pocket_exchange: litres that pockets and sump swap per litre exchanged, 0 to 1 [-]
    internal_return: litres through the converter per litre to the line, 1 to 4 [-]; 1 without one
    short_cut: share of the incoming that is picked up at once, 0 to 0.3 [-]
    Raises: OutOfRange

    >>> Circuit(sump_l=4.3, converter_l=2.9, line_l=0.8, pockets_l=0.8, stranded_l=0.2).total_l
    9.0
    """

    sump_l: float
    converter_l: float = 0.0
    line_l: float = 0.0
    pockets_l: float = 0.0
    stranded_l: float = 0.0
    converter_cells: int = 2
    line_cells: int = 4
    pocket_exchange: float = 0.12
    internal_return: float = 1.0
    short_cut: float = 0.0

    def __post_init__(self) -> None:
        for name in _VOLUMES:
            check_volume(name=name, value=getattr(self, name), may_be_zero=name != "sump_l")
        for name, (low, high) in _RANGES.items():
            check_range(name=name, value=getattr(self, name), low=low, high=high)

    @property
    def total_l(self) -> float:
        """Everything the unit holds [L]."""
        return fsum(getattr(self, name) for name in _VOLUMES)

    @property
    def flowing_l(self) -> float:
        """What the exchange flows through: sump, converter and line [L]."""
        return self.sump_l + self.converter_l + self.line_l


class CircuitState(Struct, frozen=True, kw_only=True):
    """The fresh share of every cell, 0 to 1 [-]; `converter` and `line` in the order of flow."""

    sump: float
    converter: tuple[float, ...]
    line: tuple[float, ...]
    pockets: float
    stranded: float


def check_volume(*, name: str, value: float, may_be_zero: bool) -> None:
    """Raise OutOfRange unless a compartment is large enough to compute, or absent.

    >>> check_volume(name="line_l", value=0.0, may_be_zero=True)
    """
    if SMALLEST_L <= value <= LARGEST_L or (may_be_zero and value == 0):
        return
    zero = "0 or " if may_be_zero else ""
    raise OutOfRange(name=name, value=value, allowed=f"{zero}{SMALLEST_L:g} to {LARGEST_L:g} L")


def flows_of(circuit: Circuit) -> list[Flow]:
    """What flows between the cells for each litre exchanged, fresh in at the sump.

    Without a converter the pick-up feeds the line; without a line the outflow is what leaves the
    converter; without either it is the pick-up itself.

    >>> flows_of(Circuit(sump_l=4))
    [Flow(source=-1, target=0, litres=1.0), Flow(source=0, target=-2, litres=1.0)]
    """
    round_l = circuit.internal_return if circuit.converter_l else 1.0
    chain = [*range(1, 1 + _chain_length(circuit))]
    converter = chain[: circuit.converter_cells] if circuit.converter_l else []
    line = chain[len(converter) :]
    first = chain[0] if chain else WASTE
    flows = [
        Flow(FEED, 0, 1.0 - circuit.short_cut),
        Flow(FEED, first, circuit.short_cut),
        Flow(0, first, round_l - circuit.short_cut),
    ]
    flows += [Flow(a, b, round_l) for a, b in pairwise(converter)]
    if converter:
        flows.append(Flow(converter[-1], 0, round_l - 1.0))
        flows.append(Flow(converter[-1], line[0] if line else WASTE, 1.0))
    flows += [Flow(a, b, 1.0) for a, b in pairwise([*line, *([WASTE] if line else [])])]
    if circuit.pockets_l:
        pockets = len(chain) + 1
        swap = circuit.pocket_exchange
        flows += [Flow(0, pockets, swap), Flow(pockets, 0, swap)]
    return [flow for flow in flows if flow.litres > 0]


def closed_flows(circuit: Circuit) -> list[Flow]:
    """The same flows with the outflow returning where the fresh fluid came in.

    >>> closed_flows(Circuit(sump_l=4))
    [Flow(source=0, target=0, litres=1.0)]
    """
    flows = flows_of(circuit)
    feeds = [flow for flow in flows if flow.source == FEED and flow.target != WASTE]
    entering = sum(flow.litres for flow in feeds)
    inside = [flow for flow in flows if flow.source != FEED and flow.target != WASTE]
    leaving = [flow for flow in flows if flow.source != FEED and flow.target == WASTE]
    returning = [
        Flow(out.source, into.target, out.litres * into.litres / entering)
        for out in leaving
        for into in feeds
    ]
    return inside + returning


def cell_volumes_l(circuit: Circuit) -> tuple[float, ...]:
    """The volume of every cell that fluid reaches: sump, converter, line, pockets [L].

    >>> cell_volumes_l(Circuit(sump_l=4, line_l=1, line_cells=2))
    (4, 0.5, 0.5)
    """
    converter, line = circuit.converter_cells, circuit.line_cells
    return (
        circuit.sump_l,
        *((circuit.converter_l / converter,) * converter if circuit.converter_l else ()),
        *((circuit.line_l / line,) * line if circuit.line_l else ()),
        *((circuit.pockets_l,) if circuit.pockets_l else ()),
    )


def cell_shares(state: CircuitState, circuit: Circuit) -> tuple[float, ...]:
    """The fresh shares in the order of `cell_volumes_l` [-].

    >>> circuit = Circuit(sump_l=4, line_l=1, line_cells=2)
    >>> from libexchange.circuit import all_old
    >>> cell_shares(all_old(circuit), circuit)
    (0.0, 0.0, 0.0)
    """
    pockets = (state.pockets,) if circuit.pockets_l else ()
    return (state.sump, *state.converter, *state.line, *pockets)


def mixing_of(circuit: Circuit) -> Mixing:
    """The mixing step of a line exchange on this circuit.

    >>> mixing_of(Circuit(sump_l=4)).rate_per_l
    0.25
    """
    return mixing(volumes_l=cell_volumes_l(circuit), flows=flows_of(circuit))


def _chain_length(circuit: Circuit) -> int:
    converter = circuit.converter_cells if circuit.converter_l else 0
    return converter + (circuit.line_cells if circuit.line_l else 0)

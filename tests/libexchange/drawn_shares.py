"""Fresh shares of many units at once, with NumPy, by a matrix of their flows written out anew."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from libexchange.circuit import Circuit
from libexchange.plan.unit import Opening

Array = npt.NDArray[Any]

CELLS = 8
SLIVER_L = 0.005
"""Stands for a part that a unit does not have."""


def after_line(circuits: Sequence[Circuit], openings: Sequence[Opening], litres: float) -> Array:
    """Fresh share of each circuit after its opening, a refill and the litres through the line."""
    sump, converter, line, pockets, stranded = _volumes(circuits)
    rates = _rates(circuits, sump, converter, line, pockets)
    old = _old_after_opening(circuits, openings)
    left = (_exponential(rates * litres) @ old[:, :, None])[:, :, 0]
    weights = np.stack([sump, *[converter / 2] * 2, *[line / 4] * 4, pockets], axis=1)
    total = sump + converter + line + pockets + stranded
    shares: Array = 1 - ((weights * left).sum(axis=1) + stranded) / total
    return shares


def after_opening(circuits: Sequence[Circuit], openings: Sequence[Opening]) -> Array:
    """Fresh share of each circuit after a drain and refill: what was put in by the total."""
    return np.array([_refill_l(c, o) / c.total_l for c, o in zip(circuits, openings, strict=True)])


def closed() -> Opening:
    """Nothing opened before the line exchange."""
    return Opening(sump_l=0.0, converter_run_back=0.0, pockets_run_back=0.0)


def _volumes(circuits: Sequence[Circuit]) -> tuple[Array, ...]:
    rows = [(c.sump_l, c.converter_l, c.line_l, c.pockets_l, c.stranded_l) for c in circuits]
    least = np.array([0.0, SLIVER_L, SLIVER_L, SLIVER_L, 0.0])
    return tuple(np.maximum(np.array(rows), least).T)


def _rates(
    circuits: Sequence[Circuit], sump: Array, converter: Array, line: Array, pockets: Array
) -> Array:
    pumped = np.array([c.internal_return if c.converter_l else 1.0 for c in circuits])
    cut = np.array([c.short_cut for c in circuits])
    swapped = np.array([c.pocket_exchange if c.pockets_l else 0.0 for c in circuits])
    rates = np.zeros((len(circuits), CELLS, CELLS))
    rates[:, 0, 0] = -(pumped - cut + swapped) / sump
    rates[:, 0, 2], rates[:, 0, 7] = (pumped - 1) / sump, swapped / sump
    rates[:, 1, 0], rates[:, 1, 1] = 2 * (pumped - cut) / converter, -2 * pumped / converter
    rates[:, 2, 1], rates[:, 2, 2] = 2 * pumped / converter, -2 * pumped / converter
    for cell in range(3, 7):
        rates[:, cell, cell - 1], rates[:, cell, cell] = 4 / line, -4 / line
    rates[:, 7, 0], rates[:, 7, 7] = swapped / pockets, -swapped / pockets
    return rates


def _old_after_opening(circuits: Sequence[Circuit], openings: Sequence[Opening]) -> Array:
    old = np.ones((len(circuits), CELLS))
    for row, (circuit, opening) in enumerate(zip(circuits, openings, strict=True)):
        refill_l = _refill_l(circuit, opening)
        sump = refill_l / (circuit.sump_l - opening.sump_l + refill_l)
        old[row, 0] = 1 - sump
        old[row, 1:3] = 1 - opening.converter_run_back * sump
        old[row, 7] = 1 - opening.pockets_run_back * sump
    return old


def _refill_l(circuit: Circuit, opening: Opening) -> float:
    from_converter_l = opening.converter_run_back * circuit.converter_l
    return opening.sump_l + from_converter_l + opening.pockets_run_back * circuit.pockets_l


def _exponential(matrices: Array) -> Array:
    """Matrix exponentials by scaling, a Taylor series and squaring."""
    largest = max(np.abs(matrices).sum(axis=2).max(), 1.0)
    halvings = int(np.ceil(np.log2(largest))) + 1
    small = matrices / 2**halvings
    term = result = np.tile(np.eye(CELLS), (len(matrices), 1, 1))
    for order in range(1, 9):
        term = term @ small / order
        result = result + term
    for _ in range(halvings):
        result = result @ result
    return result

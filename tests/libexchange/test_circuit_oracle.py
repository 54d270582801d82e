"""Random circuits against an ODE solver, with every flow written out by hand.

Nothing of the library's own matrix is used here: the right-hand side stands below as the balance
of each cell, litre by litre, in the fresh share.
"""

from functools import cache
from random import Random

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from libexchange.circuit import (
    Circuit,
    CircuitState,
    exchange,
    exchange_curve,
    fresh_share,
    idle,
)

SEEDS = range(200)
AGREEMENT = 1e-8

Cells = NDArray[np.float64]


def some_circuit(chance: Random) -> Circuit:
    def perhaps(low_l: float, high_l: float) -> float:
        return chance.uniform(low_l, high_l) if chance.random() < 0.8 else 0.0

    return Circuit(
        sump_l=chance.uniform(1.5, 12),
        converter_l=perhaps(0.8, 6),
        line_l=perhaps(0.4, 3),
        pockets_l=perhaps(0.2, 3),
        stranded_l=perhaps(0.05, 1),
        converter_cells=chance.randint(1, 4),
        line_cells=chance.randint(1, 5),
        pocket_exchange=chance.choice([0.0, chance.uniform(0.01, 1)]),
        internal_return=chance.choice([1.0, chance.uniform(1, 4)]),
        short_cut=chance.choice([0.0, chance.uniform(0, 0.3)]),
    )


def some_state(chance: Random, circuit: Circuit) -> CircuitState:
    return CircuitState(
        sump=chance.random(),
        converter=tuple(chance.random() for _ in range(circuit.converters)),
        line=tuple(chance.random() for _ in range(circuit.lines)),
        pockets=chance.random() if circuit.pockets_l else 0.0,
        stranded=chance.random() if circuit.stranded_l else 0.0,
    )


def drawn(seed: int) -> tuple[Circuit, CircuitState, float]:
    chance = Random(seed)  # noqa: S311 -- a seeded case, no secret
    circuit = some_circuit(chance)
    state = some_state(chance, circuit)
    return circuit, state, chance.uniform(0.1, 2) * circuit.total_l


def as_list(state: CircuitState) -> list[float]:
    return [state.sump, *state.converter, *state.line, state.pockets, state.stranded]


def outflow(circuit: Circuit, sump: float, converter: list[float], line: list[float]) -> float:
    """What comes out of the open line while fresh is fed in."""
    if line:
        return line[-1]
    if converter:
        return converter[-1]
    return circuit.short_cut * 1.0 + (1 - circuit.short_cut) * sump


def returned(sump: float, converter: list[float], line: list[float]) -> float:
    """What a closed line brings back; with neither converter nor line that is sump fluid."""
    return [sump, *converter, *line][-1]


def change_of(circuit: Circuit, cells: list[float], *, closed: bool) -> list[float]:
    """Change of each cell, and the outflow, per litre exchanged."""
    line_from = 1 + circuit.converters
    pockets_at = line_from + circuit.lines
    sump, pockets = cells[0], cells[pockets_at]
    converter, line = cells[1:line_from], cells[line_from:pockets_at]
    kappa, sigma = circuit.pocket_exchange, circuit.short_cut
    g = circuit.internal_return if converter else 1.0
    fed = returned(sump, converter, line) if closed else 1.0

    into_sump = (1 - sigma) * fed - (g - sigma) * sump
    if converter:
        into_sump += (g - 1) * converter[-1]
    into_pockets = 0.0
    if circuit.pockets_l:
        into_sump += kappa * (pockets - sump)
        into_pockets = kappa * (sump - pockets) / circuit.pockets_l
    picked_up = (sigma * fed + (g - sigma) * sump) / g
    through_converter = []
    for cell in converter:
        through_converter.append(
            g * (picked_up - cell) / (circuit.converter_l / circuit.converter_cells)
        )
        picked_up = cell
    through_line = []
    for cell in line:
        through_line.append((picked_up - cell) / (circuit.line_l / circuit.line_cells))
        picked_up = cell
    leaving = outflow(circuit, sump, converter, line)
    return [into_sump / circuit.sump_l, *through_converter, *through_line, into_pockets, 0, leaving]


def solved(
    circuit: Circuit, state: CircuitState, litres: float, *, closed: bool
) -> tuple[list[float], float]:
    """The cells after so many litres, and the fresh litres that have flowed out."""

    def right_hand_side(_litres: float, cells: Cells) -> list[float]:
        return change_of(circuit, cells.tolist(), closed=closed)

    solution = solve_ivp(
        right_hand_side,
        (0, litres),
        [*as_list(state), 0.0],
        method="DOP853",
        rtol=1e-10,
        atol=1e-11,
    )
    assert solution.success
    *cells, gone_l = solution.y[:, -1].tolist()
    return cells, gone_l


@cache
def exchanged(seed: int) -> tuple[list[float], float]:
    circuit, state, litres = drawn(seed)
    return solved(circuit, state, litres, closed=False)


def volumes_l(circuit: Circuit) -> list[float]:
    converter = [circuit.converter_l / circuit.converter_cells] * circuit.converters
    line = [circuit.line_l / circuit.line_cells] * circuit.lines
    return [circuit.sump_l, *converter, *line, circuit.pockets_l, circuit.stranded_l]


def whole(circuit: Circuit, cells: list[float]) -> float:
    return float(np.dot(volumes_l(circuit), cells)) / sum(volumes_l(circuit))


@pytest.mark.parametrize("seed", SEEDS)
def test_an_exchange_ends_in_the_state_of_the_ode_solver(seed: int) -> None:
    circuit, state, litres = drawn(seed)

    after = exchange(circuit=circuit, state=state, exchanged_l=litres)

    cells, _ = exchanged(seed)
    assert as_list(after) == pytest.approx(cells, abs=AGREEMENT)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_curve_gives_the_share_inside_and_in_the_outflow_of_the_ode_solver(seed: int) -> None:
    circuit, state, litres = drawn(seed)
    curve = exchange_curve(circuit=circuit, state=state)

    inside, leaving = curve.fresh_share(litres), curve.outflow_fresh_share(litres)

    cells, _ = exchanged(seed)
    assert inside == pytest.approx(whole(circuit, cells), abs=AGREEMENT)
    *_, expected = change_of(circuit, cells, closed=False)
    assert leaving == pytest.approx(expected, abs=AGREEMENT)


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_fresh_inside_is_what_went_in_less_what_flowed_out(seed: int) -> None:
    circuit, state, litres = drawn(seed)
    curve = exchange_curve(circuit=circuit, state=state)
    fresh_before_l = circuit.total_l * fresh_share(circuit=circuit, state=state)

    fresh_after_l = circuit.total_l * curve.fresh_share(litres)

    _, gone_l = exchanged(seed)
    assert fresh_after_l == pytest.approx(fresh_before_l + litres - gone_l, abs=1e-7)


@pytest.mark.parametrize("seed", SEEDS)
def test_idling_ends_in_the_state_of_the_ode_solver(seed: int) -> None:
    circuit, state, litres = drawn(seed)

    after = idle(circuit=circuit, state=state, circulated_l=litres)

    cells, _ = solved(circuit, state, litres, closed=True)
    assert as_list(after) == pytest.approx(cells, abs=AGREEMENT)

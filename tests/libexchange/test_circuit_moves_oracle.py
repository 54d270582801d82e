"""Uneven flow against an ODE solver, and what holds for it whatever the circuit.

The right-hand side keeps litres of fresh fluid and of all fluid in every part, flow by flow in the
order they run; it shares no matrix, no series and no volume formula with the library.
"""

from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from libexchange.circuit import Circuit, CircuitState, exchange, fresh_share
from libexchange.circuit_moves import Filling, exchange_uneven, line_batch, pour_in, suction
from tests.libexchange.test_circuit_oracle import some_circuit, some_state
from tests.libexchange.test_circuit_properties import started

SEEDS = range(60)
AGREEMENT = 1e-9
ROUNDING = 1e-11
EXAMPLES = settings(max_examples=40, deadline=None)  # a stiff circuit may take its time

Litres = NDArray[np.float64]


def drawn(seed: int) -> tuple[Circuit, CircuitState, float, float]:
    """A circuit, a state, litres that leave and litres fed in per litre that leaves."""
    chance = Random(seed)  # noqa: S311 -- a seeded case, no secret
    circuit = some_circuit(chance)
    fed_per_out = chance.choice([0.0, 0.9, 0.98, 1.02, 1.1, chance.uniform(0, 2)])
    most_l = 1.5 * circuit.total_l
    if fed_per_out < 1:
        most_l = min(most_l, 0.9 * circuit.sump_l / (1 - fed_per_out))
    return circuit, some_state(chance, circuit), chance.uniform(0.05, 1) * most_l, fed_per_out


def change_of(circuit: Circuit, litres: Litres, fed_per_out: float) -> list[float]:
    """Litres per litre that leaves: sump in all, fresh in each part, fresh that has left."""
    sump_l, fresh_in_sump_l = litres[0], litres[1]
    g = circuit.internal_return if circuit.converter_l else 1.0
    straight_l = circuit.short_cut * fed_per_out
    sump = fresh_in_sump_l / sump_l

    sump_gain_l = fed_per_out - straight_l  # fed in
    fresh_gain_l = fed_per_out - straight_l
    sump_gain_l -= g - straight_l  # picked up
    fresh_gain_l -= (g - straight_l) * sump
    passing = (straight_l + (g - straight_l) * sump) / g
    gains, at = [], 2
    for _ in range(circuit.converters):
        share = litres[at] / (circuit.converter_l / circuit.converter_cells)
        gains.append(g * (passing - share))
        passing, at = share, at + 1
    sump_gain_l += g - 1  # back from the converter
    fresh_gain_l += (g - 1) * passing
    for _ in range(circuit.lines):
        share = litres[at] / (circuit.line_l / circuit.line_cells)
        gains.append(passing - share)
        passing, at = share, at + 1
    swapped_l = 0.0
    if circuit.pockets_l:
        swapped_l = circuit.pocket_exchange * (litres[at] / circuit.pockets_l - sump)
    return [sump_gain_l, fresh_gain_l + swapped_l, *gains, -swapped_l, passing]


def solved(
    circuit: Circuit, state: CircuitState, out_l: float, fed_per_out: float
) -> tuple[float, list[float], float]:
    """The sump's litres, the share of every cell, and the fresh litres that have left."""
    volumes_l = [
        circuit.sump_l,
        *[circuit.converter_l / circuit.converter_cells] * circuit.converters,
        *[circuit.line_l / circuit.line_cells] * circuit.lines,
        circuit.pockets_l,
    ]
    start = np.multiply(volumes_l, [state.sump, *state.converter, *state.line, state.pockets])
    solution = solve_ivp(
        lambda _out_l, litres: change_of(circuit, litres, fed_per_out),
        (0, out_l),
        [circuit.sump_l, *start, 0.0],
        method="DOP853",
        rtol=1e-12,
        atol=1e-12,
    )
    assert solution.success
    sump_l, *fresh_l, gone_l = solution.y[:, -1].tolist()
    volumes_l[0] = sump_l
    shares = [
        one_l / volume_l if volume_l else 0.0
        for one_l, volume_l in zip(fresh_l, volumes_l, strict=True)
    ]
    return sump_l, shares, gone_l


def cells(state: CircuitState) -> list[float]:
    return [state.sump, *state.converter, *state.line, state.pockets]


def fresh_l(filling: Filling) -> float:
    circuit, state = filling.circuit, filling.state
    return circuit.total_l * fresh_share(circuit=circuit, state=state)


@pytest.mark.parametrize("seed", SEEDS)
def test_uneven_flow_ends_in_the_state_of_the_ode_solver(seed: int) -> None:
    circuit, state, out_l, fed_per_out = drawn(seed)

    after = exchange_uneven(circuit=circuit, state=state, out_l=out_l, fed_per_out=fed_per_out)

    sump_l, shares, gone_l = solved(circuit, state, out_l, fed_per_out)
    before_l = fresh_l(Filling(circuit=circuit, state=state))
    assert after.circuit.sump_l == pytest.approx(sump_l, rel=0, abs=AGREEMENT)
    assert cells(after.state) == pytest.approx(shares, rel=0, abs=AGREEMENT)
    assert fresh_l(after) == pytest.approx(before_l + fed_per_out * out_l - gone_l, rel=0, abs=1e-8)


@st.composite
def flows(draw: st.DrawFn) -> tuple[Circuit, CircuitState, float, float]:
    circuit, state = draw(started())
    fed_per_out = draw(st.floats(0, 2))
    most_l = circuit.total_l
    if fed_per_out < 1:
        most_l = min(most_l, 0.8 * circuit.sump_l / (1 - fed_per_out))
    return circuit, state, draw(st.floats(0, 1)) * most_l, fed_per_out


@EXAMPLES
@given(flow=flows())
def test_shares_stay_between_the_old_and_what_is_fed(
    flow: tuple[Circuit, CircuitState, float, float],
) -> None:
    circuit, state, out_l, fed_per_out = flow
    after = exchange_uneven(circuit=circuit, state=state, out_l=out_l, fed_per_out=fed_per_out)

    assert after.circuit.sump_l == pytest.approx(circuit.sump_l + (fed_per_out - 1) * out_l)
    assert min(cells(after.state)) >= min(0.0, *cells(state)) - ROUNDING
    assert max(cells(after.state)) <= 1
    if not fed_per_out:
        assert max(cells(after.state)) <= max(cells(state)) + ROUNDING


@EXAMPLES
@given(flow=flows(), part=st.floats(0, 1))
def test_two_stretches_are_one_of_their_sum(
    flow: tuple[Circuit, CircuitState, float, float], part: float
) -> None:
    circuit, state, out_l, fed_per_out = flow
    once = exchange_uneven(circuit=circuit, state=state, out_l=out_l, fed_per_out=fed_per_out)
    first = exchange_uneven(
        circuit=circuit, state=state, out_l=part * out_l, fed_per_out=fed_per_out
    )
    twice = exchange_uneven(
        circuit=first.circuit,
        state=first.state,
        out_l=(1 - part) * out_l,
        fed_per_out=fed_per_out,
    )

    assert cells(twice.state) == pytest.approx(cells(once.state), rel=0, abs=ROUNDING)


@EXAMPLES
@given(start=started(), fills=st.floats(0, 2), incoming=st.floats(0, 1))
def test_even_flow_is_an_exchange(
    start: tuple[Circuit, CircuitState], fills: float, incoming: float
) -> None:
    circuit, state = start
    litres = fills * circuit.sump_l
    uneven = exchange_uneven(
        circuit=circuit, state=state, out_l=litres, fed_per_out=1, incoming_share=incoming
    )

    even = exchange(circuit=circuit, state=state, exchanged_l=litres, incoming_share=incoming)
    assert cells(uneven.state) == pytest.approx(cells(even), rel=0, abs=ROUNDING)


@EXAMPLES
@given(start=started(), poured=st.floats(0, 5), incoming=st.floats(0, 1))
def test_pouring_in_adds_what_is_poured(
    start: tuple[Circuit, CircuitState], poured: float, incoming: float
) -> None:
    circuit, state = start
    after = pour_in(circuit=circuit, state=state, poured_l=poured, incoming_share=incoming)

    before_l = fresh_l(Filling(circuit=circuit, state=state))
    assert fresh_l(after) == pytest.approx(before_l + poured * incoming, rel=0, abs=1e-10)


@EXAMPLES
@given(start=started(), part=st.floats(0, 0.9))
def test_a_batch_loses_no_more_fresh_than_the_freshest_cell_could_give(
    start: tuple[Circuit, CircuitState], part: float
) -> None:
    circuit, state = start
    batch_l = part * circuit.sump_l
    after = line_batch(circuit=circuit, state=state, batch_l=batch_l)

    gained_l = fresh_l(Filling(circuit=circuit, state=after)) - fresh_l(
        Filling(circuit=circuit, state=state)
    )
    freshest, oldest = max(cells(state)), min(cells(state)[:-1])
    assert gained_l >= batch_l * (1 - freshest) - 1e-9
    if not circuit.pockets_swap:
        assert gained_l <= batch_l * (1 - oldest) + 1e-9


@EXAMPLES
@given(start=started(), part=st.floats(0, 1), more=st.floats(0, 1))
def test_suction_of_more_renews_more(
    start: tuple[Circuit, CircuitState], part: float, more: float
) -> None:
    circuit, state = start
    little, much = sorted((part, more))
    one = suction(circuit=circuit, state=state, sump_share=little)
    other = suction(circuit=circuit, state=state, sump_share=much)

    assert state.sump - ROUNDING <= one.sump <= other.sump + ROUNDING
    assert cells(one)[1:] == cells(other)[1:] == cells(state)[1:]


@EXAMPLES
@given(start=started(), drained=st.floats(0.1, 1), exchanged=st.floats(0.1, 1.5))
def test_from_all_old_the_sump_first_is_never_worse_than_the_sump_last(
    start: tuple[Circuit, CircuitState], drained: float, exchanged: float
) -> None:
    """Old fluid leaves undiluted when the sump is drained first."""
    circuit, _ = start
    old = CircuitState(
        sump=0.0,
        converter=(0.0,) * circuit.converters,
        line=(0.0,) * circuit.lines,
        pockets=0.0,
        stranded=0.0,
    )
    litres = exchanged * circuit.total_l
    first = suction(circuit=circuit, state=old, sump_share=drained)
    sump_first = exchange(circuit=circuit, state=first, exchanged_l=litres)
    last = exchange(circuit=circuit, state=old, exchanged_l=litres)
    sump_last = suction(circuit=circuit, state=last, sump_share=drained)

    assert fresh_l(Filling(circuit=circuit, state=sump_first)) >= (
        fresh_l(Filling(circuit=circuit, state=sump_last)) - ROUNDING
    )

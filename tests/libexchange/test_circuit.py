"""The circuit against the matrix exponential, and at its edges."""

from collections.abc import Callable
from math import exp, inf, nan, nextafter
from random import Random

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.linalg import expm

from libexchange.circuit import (
    Circuit,
    CircuitState,
    all_old,
    ceiling,
    drain_and_refill,
    exchange,
    exchange_curve,
    fresh_share,
    idle,
)
from libexchange.errors import OutOfRange

Vector = NDArray[np.float64]
SEED = 20260101


def random_circuit(random: Random) -> Circuit:
    """Any family: with and without converter, line, pockets and stranded volume."""
    return Circuit(
        sump_l=random.uniform(1, 20),
        converter_l=random.choice([0.0, random.uniform(0.5, 10)]),
        line_l=random.choice([0.0, random.uniform(0.3, 5)]),
        pockets_l=random.choice([0.0, random.uniform(0.1, 4)]),
        stranded_l=random.choice([0.0, random.uniform(0.05, 1)]),
        converter_cells=random.randint(1, 5),
        line_cells=random.randint(1, 6),
        pocket_exchange=random.choice([0.0, random.uniform(0.01, 1)]),
        internal_return=random.choice([1.0, random.uniform(1, 4)]),
        short_cut=random.choice([0.0, random.uniform(0, 0.3)]),
    )


def random_state(random: Random, circuit: Circuit) -> CircuitState:
    return CircuitState(
        sump=random.random(),
        converter=tuple(random.random() for _ in range(circuit.converters)),
        line=tuple(random.random() for _ in range(circuit.lines)),
        pockets=random.random() if circuit.pockets_l else 0.0,
        stranded=random.random() if circuit.stranded_l else 0.0,
    )


def fresh_flows(circuit: Circuit, state: Vector, *, closed: bool) -> tuple[list[float], float]:
    """Litres of fresh fluid that each part gains per litre exchanged, and the outflow's share."""
    sump, pockets = state[0], state[-1]
    converter = state[1 : 1 + circuit.converters]
    line = state[1 + circuit.converters : -1]
    sigma, kappa = circuit.short_cut, circuit.pocket_exchange * (circuit.pockets_l > 0)
    return_ratio = circuit.internal_return if len(converter) else 1.0
    outflow = sump if closed else sigma * 1.0 + (1 - sigma) * sump
    if len(line) or len(converter):
        outflow = line[-1] if len(line) else converter[-1]
    incoming = outflow if closed else 1.0
    picked_up = sigma * incoming + (return_ratio - sigma) * sump
    gains = [(1 - sigma) * incoming - (return_ratio - sigma) * sump + kappa * (pockets - sump)]
    for position, cell in enumerate(converter):
        entering = picked_up if position == 0 else return_ratio * converter[position - 1]
        gains.append(entering - return_ratio * cell)
    if len(converter):
        gains[0] += (return_ratio - 1) * converter[-1]
    for position, cell in enumerate(line):
        first = converter[-1] if len(converter) else picked_up
        gains.append((first if position == 0 else line[position - 1]) - cell)
    gains.append(kappa * (sump - pockets))
    return gains, float(outflow)


def as_vector(state: CircuitState) -> Vector:
    return np.array([state.sump, *state.converter, *state.line, state.pockets])


def part_volumes(circuit: Circuit) -> list[float]:
    return [
        circuit.sump_l,
        *[circuit.converter_l / circuit.converter_cells] * circuit.converters,
        *[circuit.line_l / circuit.line_cells] * circuit.lines,
        circuit.pockets_l or 1.0,
    ]


def cases(count: int) -> list[tuple[Circuit, CircuitState, float]]:
    random = Random(SEED)  # noqa: S311 -- repeatable cases, not secrets
    made = []
    for _ in range(count):
        circuit = random_circuit(random)
        state = random_state(random, circuit)
        made.append((circuit, state, random.uniform(0, 1.8) * circuit.total_l))
    return made


def test_exchange_agrees_with_the_matrix_exponential() -> None:
    for circuit, state, litres in cases(40):
        size = len(part_volumes(circuit))
        volumes = np.array(part_volumes(circuit))
        constant = np.array(fresh_flows(circuit, np.zeros(size), closed=False)[0]) / volumes
        columns = [
            np.array(fresh_flows(circuit, unit, closed=False)[0]) / volumes - constant
            for unit in np.eye(size)
        ]
        augmented = np.zeros((size + 1, size + 1))
        augmented[:size, :size] = np.array(columns).T
        augmented[:size, size] = constant
        expected = (expm(augmented * litres) @ np.append(as_vector(state), 1.0))[:-1]

        reached = exchange(circuit=circuit, state=state, exchanged_l=litres)
        assert as_vector(reached) == pytest.approx(expected, rel=0, abs=1e-11)


def test_the_curve_is_the_share_of_the_exchanged_state() -> None:
    for circuit, state, litres in cases(60):
        reached = exchange(circuit=circuit, state=state, exchanged_l=litres)
        curve = exchange_curve(circuit=circuit, state=state)

        share = fresh_share(circuit=circuit, state=reached)
        assert curve.fresh_share(litres) == pytest.approx(share, rel=0, abs=1e-13)


@pytest.mark.parametrize("volume", [0.05, 4.0, 500.0])
def test_case_77_two_equal_tanks_are_no_special_case(volume: float) -> None:
    """Hand formula: (1 + x / V) exp(-x / V) for the second of two equal tanks."""
    circuit = Circuit(sump_l=volume, converter_l=volume, converter_cells=1)
    reached = exchange(circuit=circuit, state=all_old(circuit), exchanged_l=1.5 * volume)

    assert 1 - reached.sump == pytest.approx(exp(-1.5), rel=0, abs=1e-13)
    assert 1 - reached.converter[0] == pytest.approx(2.5 * exp(-1.5), rel=0, abs=1e-13)


def test_without_a_converter_the_internal_return_is_nothing() -> None:
    plain = Circuit(sump_l=5, line_l=1)
    leaking = Circuit(sump_l=5, line_l=1, internal_return=3)

    for litres in (0.5, 3, 9):
        assert exchange(circuit=plain, state=all_old(plain), exchanged_l=litres) == exchange(
            circuit=leaking, state=all_old(leaking), exchanged_l=litres
        )


def test_case_77_pockets_that_swap_nothing_stay_and_lower_the_ceiling() -> None:
    circuit = Circuit(sump_l=6, pockets_l=2, stranded_l=2, pocket_exchange=0)
    state = CircuitState(sump=0.0, converter=(), line=(), pockets=0.25, stranded=0.5)
    curve = exchange_curve(circuit=circuit, state=state)

    assert ceiling(circuit=circuit, state=state) == 0.75
    assert exchange(circuit=circuit, state=state, exchanged_l=500).pockets == 0.25
    assert curve.fresh_share(500) == pytest.approx(0.75, rel=0, abs=1e-14)
    assert curve.exchanged_l_for(0.75) is None


def test_one_drain_renews_what_has_run_down_too() -> None:
    circuit = Circuit(sump_l=4, converter_l=2, converter_cells=1, pockets_l=2)
    state = CircuitState(sump=0.5, converter=(0.2,), line=(), pockets=0.1, stranded=0.0)

    drained = drain_and_refill(
        circuit=circuit, state=state, drained_l=3, converter_run_back=0.5, pockets_run_back=0.25
    )
    left_l = 3 * 0.5 + 0.5 * 2 * 0.2 + 0.25 * 2 * 0.1
    before_l = 8 * fresh_share(circuit=circuit, state=state)
    assert drained.sump == pytest.approx((1 * 0.5 + 4.5) / 5.5, rel=1e-15)
    assert drained.converter[0] == pytest.approx((0.2 + drained.sump) / 2, rel=1e-15)
    assert 8 * fresh_share(circuit=circuit, state=drained) == pytest.approx(
        before_l - left_l + 4.5, rel=1e-14
    )


@pytest.mark.parametrize(
    ("field", "value"),
    [
        *[("sump_l", bad) for bad in (0, 0.04, 501, -1, nan, inf)],
        *[("converter_l", bad) for bad in (0.04, 501, -1, nan, inf)],
        *[("line_l", 0.01), ("pockets_l", nan), ("stranded_l", -0.1)],
        *[("converter_cells", bad) for bad in (0, 11)],
        *[("line_cells", bad) for bad in (0, 11)],
        *[("pocket_exchange", bad) for bad in (-0.01, 1.01, nan)],
        *[("internal_return", bad) for bad in (0.99, 4.01, nan)],
        *[("short_cut", bad) for bad in (-0.01, 0.31, nan)],
    ],
)
def test_a_circuit_that_cannot_be_is_refused_by_field(field: str, value: float) -> None:
    fields: dict[str, float] = {"sump_l": 5.0, field: value}

    with pytest.raises(OutOfRange) as refused:
        Circuit(**fields)  # type: ignore[arg-type]  # the cells are whole where they are given
    assert refused.value.name == field


@pytest.mark.parametrize(
    ("name", "operation"),
    [
        ("exchanged_l", lambda c, s, bad: exchange(circuit=c, state=s, exchanged_l=bad)),
        ("circulated_l", lambda c, s, bad: idle(circuit=c, state=s, circulated_l=bad)),
        ("exchanged_l", lambda c, s, bad: exchange_curve(circuit=c, state=s).fresh_share(bad)),
        ("target", lambda c, s, bad: exchange_curve(circuit=c, state=s).exchanged_l_for(bad)),
        ("drained_l", lambda c, s, bad: drain_and_refill(circuit=c, state=s, drained_l=bad)),
    ],
)
@pytest.mark.parametrize("bad", [-0.001, nan, inf, 1e6])
def test_litres_that_cannot_be_are_refused_by_name(
    name: str, operation: Callable[[Circuit, CircuitState, float], object], bad: float
) -> None:
    circuit = Circuit(sump_l=5, converter_l=2)

    with pytest.raises(OutOfRange) as refused:
        operation(circuit, all_old(circuit), bad)
    assert refused.value.name == name


def test_a_state_of_another_circuit_is_refused() -> None:
    with pytest.raises(OutOfRange, match="converter is 2, allowed is 0 cells"):
        exchange(
            circuit=Circuit(sump_l=5),
            state=all_old(Circuit(sump_l=5, converter_l=2)),
            exchanged_l=1,
        )


def test_a_hostile_circuit_is_refused_with_the_litres_it_allows() -> None:
    circuit = Circuit(sump_l=500, line_l=0.05, line_cells=10)
    curve = exchange_curve(circuit=circuit, state=all_old(circuit))

    assert curve.limit_l == pytest.approx(100_000 * 0.005)
    with pytest.raises(OutOfRange, match="exchanged_l is 501, allowed is 0 to 500 L"):
        curve.fresh_share(501)
    assert curve.exchanged_l_for(0.9) is None
    assert ceiling(circuit=circuit, state=all_old(circuit)) == 1.0


@pytest.mark.parametrize("target", [nextafter(0, -1), nextafter(1, 2), 1.5, nan])
def test_a_target_is_a_share(target: float) -> None:
    tank = Circuit(sump_l=9)
    with pytest.raises(OutOfRange, match=r"^target is .*, allowed is 0 to 1$"):
        exchange_curve(circuit=tank, state=all_old(tank)).exchanged_l_for(target)

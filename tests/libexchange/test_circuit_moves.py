"""Uneven flow, line batches, pouring in and suction: at their edges and against hand formulas."""

from collections.abc import Callable
from math import exp, log1p, nan

import pytest

from libexchange._circuit_uneven import uneven_limit_l
from libexchange.circuit import Circuit, CircuitState, all_old, drain_and_refill, exchange
from libexchange.circuit_moves import (
    Filling,
    exchange_uneven,
    largest_batch_l,
    line_batch,
    pour_in,
    shares_by_space,
    suction,
)
from libexchange.errors import OutOfRange

TANK = Circuit(sump_l=4)
UNIT = Circuit(sump_l=4.3, converter_l=2.9, line_l=0.8, pockets_l=0.8, stranded_l=0.2)
HALF = CircuitState(
    sump=0.5, converter=(0.4, 0.3), line=(0.3, 0.2, 0.1, 0.0), pockets=0.1, stranded=0.05
)


def cells(state: CircuitState) -> list[float]:
    return [state.sump, *state.converter, *state.line, state.pockets, state.stranded]


def uneven(circuit: Circuit, out_l: float, fed_per_out: float) -> Filling:
    return exchange_uneven(
        circuit=circuit, state=all_old(circuit), out_l=out_l, fed_per_out=fed_per_out
    )


@pytest.mark.parametrize("epsilon", [0.05, -0.05, 0.5, -0.5, 1.0, -0.3, 1e-3, -1e-3, 1e-6])
@pytest.mark.parametrize("out_l", [0.1, 1.0, 7.0])
def test_uneven_flow_through_one_tank_meets_its_closed_form(epsilon: float, out_l: float) -> None:
    """Old share (1 + e x / V)^(-(1 + e) / e), where 1 + e litres enter per litre that leaves."""
    fed_per_out = 1 + epsilon
    after = uneven(TANK, out_l, fed_per_out)

    epsilon = fed_per_out - 1  # as it was rounded
    expected = exp(-fed_per_out / epsilon * log1p(epsilon * out_l / 4))
    assert 1 - after.state.sump == pytest.approx(expected, rel=0, abs=1e-12)
    assert after.circuit.sump_l == pytest.approx(4 + epsilon * out_l, rel=1e-14)


@pytest.mark.parametrize("out_l", [0.0, 0.3, 5.0, 20.0])
@pytest.mark.parametrize("fed_per_out", [1.0, 1 + 1e-12, 1 - 1e-12])
def test_even_flow_is_the_limit_of_uneven_flow(out_l: float, fed_per_out: float) -> None:
    after = exchange_uneven(circuit=UNIT, state=HALF, out_l=out_l, fed_per_out=fed_per_out)

    even = exchange(circuit=UNIT, state=HALF, exchanged_l=out_l)
    assert cells(after.state) == pytest.approx(cells(even), rel=0, abs=1e-10)


def test_nothing_that_leaves_changes_nothing() -> None:
    after = exchange_uneven(circuit=UNIT, state=HALF, out_l=0, fed_per_out=2)

    assert after.circuit == UNIT
    assert cells(after.state) == pytest.approx(cells(HALF), rel=0, abs=1e-15)


def test_a_tank_that_is_pumped_out_keeps_its_share() -> None:
    state = CircuitState(sump=0.25, converter=(), line=(), pockets=0.0, stranded=0.0)
    after = exchange_uneven(circuit=TANK, state=state, out_l=3, fed_per_out=0)

    assert after.circuit == Circuit(sump_l=1.0)
    assert after.state.sump == pytest.approx(0.25, rel=0, abs=1e-14)


def test_a_chain_that_is_pumped_out_is_washed_at_the_sump_s_constant_share() -> None:
    """No pockets: the sump's share holds, and the converter follows exp(-x / V) towards it."""
    circuit = Circuit(sump_l=4, converter_l=2, converter_cells=1)
    state = CircuitState(sump=0.75, converter=(0.0,), line=(), pockets=0.0, stranded=0.0)
    after = exchange_uneven(circuit=circuit, state=state, out_l=2, fed_per_out=0)

    assert after.state.sump == pytest.approx(0.75, rel=0, abs=1e-13)
    assert after.state.converter[0] == pytest.approx(0.75 * (1 - 0.36787944117144233), abs=1e-12)


def test_the_sump_may_run_down_to_its_least_and_no_further() -> None:
    assert uneven(TANK, 3.95, 0).circuit.sump_l == 0.05
    with pytest.raises(OutOfRange, match=r"out_l is 3\.951, allowed is 0 to 3\.95 L"):
        uneven(TANK, 3.951, 0)


def test_the_sump_may_run_full_to_its_most_and_no_further() -> None:
    large = Circuit(sump_l=499)

    assert uneven(large, 1, 2).circuit.sump_l == 500
    with pytest.raises(OutOfRange, match="allowed is 0 to 1 L"):
        uneven(large, 1.001, 2)


def test_an_uneven_exchange_whose_work_has_no_bound_is_refused() -> None:
    tiny = Circuit(sump_l=0.05)
    limit_l = uneven_limit_l(circuit=tiny, out_l=20, fed_per_out=1)

    assert limit_l == pytest.approx(100_000 / (20 + 45 * 4 / 0.05))
    assert uneven(tiny, limit_l, 1).state.sump == pytest.approx(1)
    with pytest.raises(OutOfRange, match="out_l"):
        uneven(tiny, limit_l * 1.001, 1)


def test_the_limit_on_work_is_taken_at_the_lowest_level() -> None:
    falling = uneven_limit_l(circuit=TANK, out_l=2, fed_per_out=0.5)
    rising = uneven_limit_l(circuit=Circuit(sump_l=0.05), out_l=20, fed_per_out=1.5)

    assert falling == 7.9
    assert rising == pytest.approx(100_000 / (30 + 45 * 6 / 0.05))


REFUSED: list[tuple[str, Callable[[float], object], list[float]]] = [
    ("out_l", lambda bad: uneven(TANK, bad, 0.5), [-1e-9, nan]),
    ("fed_per_out", lambda bad: uneven(TANK, 1, bad), [-1e-9, 2 + 1e-9, nan]),
    (
        "incoming_share",
        lambda bad: exchange_uneven(
            circuit=TANK, state=all_old(TANK), out_l=1, fed_per_out=1, incoming_share=bad
        ),
        [-1e-9, 1.001, nan],
    ),
    (
        "poured_l",
        lambda bad: pour_in(circuit=TANK, state=all_old(TANK), poured_l=bad),
        [-1e-9, 496.001, nan],
    ),
    (
        "incoming_share",
        lambda bad: pour_in(circuit=TANK, state=all_old(TANK), poured_l=1, incoming_share=bad),
        [-1e-9, 1.001, nan],
    ),
    (
        "sump_share",
        lambda bad: suction(circuit=TANK, state=all_old(TANK), sump_share=bad),
        [-1e-9, 1.001, nan],
    ),
]


@pytest.mark.parametrize(
    ("name", "operation", "bad"),
    [(name, run, bad) for name, run, several in REFUSED for bad in several],
)
def test_what_cannot_be_is_refused_by_name(
    name: str, operation: Callable[[float], object], bad: float
) -> None:
    with pytest.raises(OutOfRange) as refused:
        operation(bad)

    assert refused.value.name == name


@pytest.mark.parametrize("fed_per_out", [0.0, 2.0])
def test_the_edges_of_what_is_fed_are_allowed(fed_per_out: float) -> None:
    assert uneven(TANK, 1, fed_per_out).circuit.sump_l == pytest.approx(3 + fed_per_out)


def test_what_is_poured_in_mixes_in_the_sump_alone() -> None:
    after = pour_in(circuit=UNIT, state=HALF, poured_l=0.7, incoming_share=0.2)

    assert after.circuit.sump_l == 5.0
    assert after.state.sump == pytest.approx((4.3 * 0.5 + 0.7 * 0.2) / 5, rel=1e-15)
    assert cells(after.state)[1:] == cells(HALF)[1:]


def test_a_sump_may_be_filled_to_its_most() -> None:
    assert pour_in(circuit=TANK, state=all_old(TANK), poured_l=496).circuit.sump_l == 500


def test_a_state_of_other_cells_is_refused() -> None:
    with pytest.raises(OutOfRange, match="converter"):
        pour_in(circuit=UNIT, state=all_old(TANK), poured_l=1)
    with pytest.raises(OutOfRange, match="converter"):
        exchange_uneven(circuit=UNIT, state=all_old(TANK), out_l=1, fed_per_out=1)


def test_a_line_batch_is_pumping_out_and_pouring_in() -> None:
    low = exchange_uneven(circuit=UNIT, state=HALF, out_l=2, fed_per_out=0)
    full = pour_in(circuit=low.circuit, state=low.state, poured_l=2, incoming_share=0.6)

    batch = line_batch(circuit=UNIT, state=HALF, batch_l=2, incoming_share=0.6)
    assert batch == full.state
    assert full.circuit.sump_l == pytest.approx(4.3, rel=1e-15)


@pytest.mark.parametrize(
    ("sump_l", "batch_l"), [(0.05, 0), (0.08, 0.03), (0.1, 0.05), (3.9, 1.95), (4.1, 2), (20, 2)]
)
def test_a_batch_is_2_l_half_the_sump_and_what_leaves_0_05_l(sump_l: float, batch_l: float) -> None:
    assert largest_batch_l(sump_l=sump_l) == pytest.approx(batch_l, rel=1e-12)


def test_suction_takes_its_share_of_the_sump_and_nothing_else() -> None:
    after = suction(circuit=UNIT, state=HALF, sump_share=0.7, incoming_share=0.9)

    assert after.sump == pytest.approx(0.3 * 0.5 + 0.7 * 0.9, rel=1e-15)
    assert cells(after)[1:] == cells(HALF)[1:]


def test_pan_off_is_a_drain_with_the_share_of_the_pan() -> None:
    """The sump to 96 %, pockets to 15 %: what hangs in them drips while the pan is off."""
    after = drain_and_refill(circuit=UNIT, state=HALF, drained_l=0.96 * 4.3, pockets_run_back=0.15)

    refill_l = 0.96 * 4.3 + 0.15 * 0.8
    sump = (0.04 * 4.3 * 0.5 + refill_l) / (0.04 * 4.3 + refill_l)
    assert after.sump == pytest.approx(sump, rel=1e-15)
    assert after.pockets == pytest.approx(0.1 + 0.15 * (sump - 0.1), rel=1e-15)


def test_case_19_spaces_keep_their_own_shares() -> None:
    gears = Circuit(sump_l=2)
    renewed = suction(circuit=gears, state=all_old(gears), sump_share=1)
    spaces = {
        "clutches": Filling(circuit=UNIT, state=all_old(UNIT)),
        "gear set": Filling(circuit=gears, state=renewed),
    }

    assert shares_by_space(spaces=spaces) == {"clutches": 0.0, "gear set": 1.0}

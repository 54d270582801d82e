"""The transform of the flow diagram against the series: two ways that share no step."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from libexchange.circuit import (
    Circuit,
    CircuitState,
    all_old,
    drain_and_refill,
    exchange_curve,
    fresh_share,
)
from libexchange.circuit_transform import share_after_exchange

circuits = st.builds(
    Circuit,
    sump_l=st.floats(0.5, 30),
    converter_l=st.just(0.0) | st.floats(0.1, 15),
    line_l=st.just(0.0) | st.floats(0.1, 6),
    pockets_l=st.just(0.0) | st.floats(0.05, 5),
    stranded_l=st.just(0.0) | st.floats(0.05, 2),
    converter_cells=st.integers(1, 10),
    line_cells=st.integers(1, 10),
    pocket_exchange=st.just(0.0) | st.floats(0.001, 1),
    internal_return=st.floats(1, 4),
    short_cut=st.floats(0, 0.3),
)


def opened(circuit: Circuit, part: float) -> CircuitState:
    return drain_and_refill(
        circuit=circuit,
        state=all_old(circuit),
        drained_l=part * circuit.sump_l,
        converter_run_back=0.1,
        pockets_run_back=0.2,
    )


@settings(max_examples=200, deadline=None)
@given(circuit=circuits, part=st.floats(0, 1), totals=st.floats(0.01, 3))
def test_it_agrees_with_the_series(circuit: Circuit, part: float, totals: float) -> None:
    state = opened(circuit, part)
    exchanged_l = totals * circuit.total_l
    curve = exchange_curve(circuit=circuit, state=state)

    quick = share_after_exchange(circuit=circuit, state=state, exchanged_l=exchanged_l)

    assert quick == pytest.approx(curve.fresh_share(exchanged_l), abs=2e-3)


@pytest.mark.parametrize("totals", [0.05, 0.25, 0.5, 1.0, 1.8])
@pytest.mark.parametrize("part", [0.0, 0.88])
@pytest.mark.parametrize(
    "circuit",
    [
        Circuit(sump_l=4.3, converter_l=2.9, line_l=0.8, pockets_l=0.8, stranded_l=0.2),
        Circuit(sump_l=5.2, converter_l=2.2, line_l=0.9, pockets_l=1.4, internal_return=1.6),
        Circuit(sump_l=5.1, line_l=0.4, pockets_l=1.0, stranded_l=0.3, short_cut=0.1),
        Circuit(sump_l=19.5, converter_l=9, line_l=5.5, pockets_l=3, pocket_exchange=0.0),
        Circuit(sump_l=9, short_cut=0.3),
        Circuit(sump_l=6, converter_l=3, converter_cells=1),
    ],
)
def test_it_is_good_to_a_hundred_thousandth_on_usual_circuits(
    circuit: Circuit, part: float, totals: float
) -> None:
    state = opened(circuit, part)
    exchanged_l = totals * circuit.total_l
    curve = exchange_curve(circuit=circuit, state=state)

    quick = share_after_exchange(circuit=circuit, state=state, exchanged_l=exchanged_l)

    assert quick == pytest.approx(curve.fresh_share(exchanged_l), abs=1e-5)


@pytest.mark.parametrize("exchanged_l", [0.0, 5e-324, 9.99e-7])
def test_nothing_exchanged_is_where_it_started(exchanged_l: float) -> None:
    unit = Circuit(sump_l=4.3, converter_l=2.9, line_l=0.8, pockets_l=0.8, stranded_l=0.2)
    state = opened(unit, 0.88)

    assert share_after_exchange(circuit=unit, state=state, exchanged_l=exchanged_l) == fresh_share(
        circuit=unit, state=state
    )


def test_a_millionth_of_a_litre_counts() -> None:
    tank = Circuit(sump_l=0.05)

    share = share_after_exchange(circuit=tank, state=all_old(tank), exchanged_l=1e-6)

    assert share == pytest.approx(1e-6 / 0.05, rel=0.1)

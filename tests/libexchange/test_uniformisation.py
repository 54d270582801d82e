"""The Poisson window against scipy, and what the series does at its edges."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import poisson

from libexchange.circuit import Circuit, all_old, exchange_curve
from libexchange.uniformisation import FEED, MOST_TERMS, WASTE, Flow, mixing, poisson_window


@given(mean=st.floats(0, MOST_TERMS))
def test_hardly_anything_lies_outside_the_window(mean: float) -> None:
    first, weights, _ = poisson_window(mean)

    outside = poisson.cdf(first - 1, mean) + poisson.sf(first + len(weights) - 1, mean)
    assert outside < 1e-13


@pytest.mark.parametrize("mean", [0, 1e-9, 0.5, 7, 60, 2_000, MOST_TERMS])
def test_the_weights_are_poisson_probabilities(mean: float) -> None:
    first, weights, total = poisson_window(mean)

    for term in (first, first + len(weights) // 2, int(mean)):
        share = weights[term - first] / total
        assert share == pytest.approx(float(poisson.pmf(term, mean)), rel=1e-9, abs=1e-15)


def test_a_cell_keeps_what_does_not_leave_it() -> None:
    flows = [Flow(FEED, 0, 1.0), Flow(0, 1, 1.0), Flow(1, WASTE, 1.0)]
    slow_then_fast = mixing(volumes_l=(4.0, 1.0), flows=flows)

    assert slow_then_fast.rate_per_l == 1.0
    assert slow_then_fast.stay == (0.75, 0.0)
    assert slow_then_fast.take == (0.0, 1.0)


def test_a_circuit_in_which_nothing_flows_keeps_its_state() -> None:
    still = mixing(volumes_l=(4.0,), flows=[Flow(0, 0, 1.0)])

    assert still.rate_per_l == 0
    assert next(still.steps([0.25])) == [0.25]


def test_points_in_any_order_and_from_any_thread_are_the_same() -> None:
    circuit = Circuit(sump_l=4.3, converter_l=2.9, line_l=0.8, pockets_l=0.8)
    litres = [0.37 * n for n in range(60)]
    exchange_curve.cache_clear()
    rising = exchange_curve(circuit=circuit, state=all_old(circuit))
    shares = {x: rising.fresh_share(x) for x in litres}

    exchange_curve.cache_clear()
    falling = exchange_curve(circuit=circuit, state=all_old(circuit))
    with ThreadPoolExecutor(8) as pool:
        again = dict(zip(litres, pool.map(falling.fresh_share, reversed(litres)), strict=True))
    assert [again[x] for x in litres] == [shares[x] for x in reversed(litres)]

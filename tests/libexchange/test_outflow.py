"""The check-sum: exact cases, how often its interval is right, and what it refuses."""

from math import exp, sqrt

import numpy as np
import pytest
from scipy.integrate import quad

from libexchange.circuit import exchange_curve
from libexchange.errors import OutOfRange
from libexchange.outflow import (
    Line,
    share_of_signal,
    shares_of,
)
from libexchange.outflow_integral import OutflowShares, outflow_integral
from tests.libexchange.outflow_run import read, simulate, some_run, summed

SEED = 20260301
Z_95 = 1.6448536269514722
PLAIN = Line(old=0.0, fresh=1.0, old_uncertainty=0.0, fresh_uncertainty=0.0)


def told(litres: list[float], shares: list[float], noise: float = 0.0) -> OutflowShares:
    rows = range(len(litres))
    covariance = tuple(tuple(noise**2 * (a == b) for a in rows) for b in rows)
    return OutflowShares(tuple(litres), tuple(shares), covariance)


def test_the_simulation_and_the_library_agree_on_what_leaves() -> None:
    run = some_run(np.random.default_rng(SEED))

    curve = exchange_curve(circuit=run.circuit, state=run.state)
    leaving = [curve.outflow_fresh_share(litres) for litres in run.litres]
    assert leaving == pytest.approx(run.leaving, abs=1e-7)
    assert curve.fresh_share(run.litres[-1]) == pytest.approx(run.inside, abs=1e-7)


def test_nine_in_ten_intervals_hold_the_share_inside() -> None:
    chance = np.random.default_rng(SEED)
    held = []
    for _ in range(25):
        run = some_run(chance)
        noise = chance.uniform(0.01, 0.03)
        total_l, deviation_l = run.circuit.total_l, run.circuit.total_l * chance.uniform(0, 0.02)
        for _ in range(20):
            share = summed(
                outflow=read(run, chance, noise=noise),
                exchanged_l=run.litres[-1],
                total_l=float(chance.normal(total_l, deviation_l)),
                total_uncertainty_l=deviation_l,
                start_share=run.start_share,
            )
            held.append(share.low <= run.inside <= share.high)

    assert len(held) == 500
    assert 0.85 <= sum(held) / 500 <= 0.95


@pytest.mark.parametrize("samples", [6, 9, 12, 24])
def test_samples_without_noise_hold_the_share_however_few_they_are(samples: int) -> None:
    chance = np.random.default_rng(SEED)
    for _ in range(10):
        some = some_run(chance)
        litres = [some.litres[-1] * (n + 1) / samples for n in range(samples)]
        run = simulate(some.circuit, drained=0.0, litres=litres)

        share = summed(
            outflow=told(litres, run.leaving), exchanged_l=litres[-1],
            total_l=run.circuit.total_l,
        )  # fmt: skip
        assert share.low - 1e-3 <= run.inside <= share.high + 1e-3


def test_a_parabola_is_integrated_exactly_between_uneven_litres() -> None:
    litres = [0.0, 1.0, 2.5, 3.0, 7.0]
    outflow = told(litres, [0.02 * x + 0.01 * x**2 for x in litres])

    integral_l, variance_l2 = outflow_integral(outflow=outflow, exchanged_l=7.0)
    assert integral_l == pytest.approx(0.01 * 49 + 0.01 * 343 / 3, rel=1e-12)
    lone_l = 0.01 / 6 * (1.0**3 + 4.0**3)  # the first and the last piece have one parabola
    assert sqrt(variance_l2) == pytest.approx(lone_l, rel=1e-9)


def test_a_straight_line_is_integrated_without_an_error() -> None:
    outflow = told([2.0, 4.0, 8.0], [0.2, 0.4, 0.8])

    integral_l, variance_l2 = outflow_integral(outflow=outflow, exchanged_l=8.0)
    assert integral_l == pytest.approx(3.2)
    assert variance_l2 == pytest.approx(0, abs=1e-20)


def test_a_mixed_tank_without_a_line_is_known_from_its_start_on() -> None:
    litres = [0.0, *(0.9 * n for n in range(1, 11))]
    outflow = told(litres, [1 - exp(-x / 9) for x in litres])

    share = summed(outflow=outflow, exchanged_l=9.0, total_l=9.0)
    inside, _ = quad(lambda x: exp(-x / 9) / 9, 0, 9)
    assert share.expected == pytest.approx(inside, abs=1e-5)


def test_what_was_not_sampled_leaves_with_any_share_up_to_fresh() -> None:
    outflow = told([2.0, 4.0], [0.2, 0.4])

    integral_l, variance_l2 = outflow_integral(outflow=outflow, exchanged_l=6.0)
    assert integral_l == pytest.approx(0.8 + 2 * 0.7)
    assert variance_l2 == pytest.approx((2 * 0.6) ** 2 / 12)


@pytest.mark.parametrize(("last", "left"), [(1.2, 2.0), (-0.1, 1.0)])
def test_a_last_share_beyond_its_range_counts_as_its_end(last: float, left: float) -> None:
    ended = outflow_integral(outflow=told([2.0, 4.0], [0.2, last]), exchanged_l=4.0)
    longer = outflow_integral(outflow=told([2.0, 4.0], [0.2, last]), exchanged_l=6.0)

    assert longer[0] - ended[0] == pytest.approx(left)


def test_errors_of_samples_total_and_start_add_up_as_squares() -> None:
    outflow = told([3.0, 6.0, 9.0], [0.2, 0.4, 0.6], noise=0.03)
    weights = (9 / 8 * 3, 9 / 8 * 3, 3 / 8 * 3)  # close to the rule of three eighths

    plain = summed(outflow=outflow, exchanged_l=9.0, total_l=10.0)
    both = summed(
        outflow=outflow, exchanged_l=9.0, total_l=10.0, total_uncertainty_l=0.5,
        start_share=0.1, start_uncertainty=0.02,
    )  # fmt: skip
    samples = (plain.high - plain.expected) / Z_95
    assert plain.expected == pytest.approx((9 - 2.7) / 10)
    assert samples == pytest.approx(0.003 * sqrt(sum(w * w for w in weights)), rel=0.05)
    assert (both.high - both.expected) / Z_95 == pytest.approx(
        sqrt(samples**2 + (0.63 * 0.05) ** 2 + 0.02**2)
    )
    assert both.expected == pytest.approx(0.73)


def test_references_move_all_shares_together() -> None:
    line = Line(old=50.0, fresh=150.0, old_uncertainty=2.0, fresh_uncertainty=4.0)

    outflow = shares_of(
        litres=[1.0, 2.0], signals=[70.0, 110.0], uncertainties=[1.0, 3.0], line=line
    )
    assert outflow.shares == pytest.approx((0.2, 0.6))
    assert outflow.covariance[0][0] == pytest.approx(0.8**2 * 4e-4 + 0.2**2 * 16e-4 + 1e-4)
    assert outflow.covariance[1][1] == pytest.approx(0.4**2 * 4e-4 + 0.6**2 * 16e-4 + 9e-4)
    assert outflow.covariance[0][1] == pytest.approx(0.8 * 0.4 * 4e-4 + 0.2 * 0.6 * 16e-4)
    assert outflow.covariance[0][1] == outflow.covariance[1][0]


def test_a_signal_that_falls_with_fresh_fluid_tells_as_much() -> None:
    assert share_of_signal(signal=30.0, old_signal=90.0, fresh_signal=10.0) == pytest.approx(0.75)
    with pytest.raises(OutOfRange, match="fresh_signal"):
        share_of_signal(signal=30.0, old_signal=10.0, fresh_signal=10.0)


def test_a_share_lies_between_start_and_plug_flow() -> None:
    noisy = told([1.0, 2.0], [0.9, 1.4], noise=0.5)
    early = summed(outflow=noisy, exchanged_l=2.0, total_l=10.0, start_share=0.3)
    late = summed(
        outflow=told([1.0, 2.0], [-0.5, -0.9]), exchanged_l=2.0, total_l=10.0, start_share=0.3
    )

    assert early.low == 0.3
    assert late.high == late.expected == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"total_l": 0.49}, "total_l"),
        ({"total_l": 500.1}, "total_l"),
        ({"exchanged_l": 2000.1}, "exchanged_l"),
        ({"exchanged_l": 7.9}, "litres"),
        ({"start_share": 1.01}, "start_share"),
        ({"start_share": -0.01}, "start_share"),
        ({"outflow": told([0.0, 8.0], [0.0, 0.5])}, "samples"),
        ({"outflow": told([4.0, 3.0], [0.3, 0.5])}, "litres"),
        ({"outflow": told([float(n) for n in range(1, 102)], [0.1] * 101)}, "samples"),
    ],
)
def test_what_cannot_be_summed_is_refused(changes: dict[str, object], name: str) -> None:
    asked: dict[str, object] = {
        "outflow": told([4.0, 8.0], [0.3, 0.5]), "exchanged_l": 8.0, "total_l": 9.0,
    }  # fmt: skip

    with pytest.raises(OutOfRange, match=name):
        summed(**asked | changes)
    assert summed(**asked).low < 0.9

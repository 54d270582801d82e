"""Coefficients from the outflow: against another least squares, and told only where they are."""

import numpy as np
import pytest
from msgspec.structs import replace
from numpy.typing import NDArray
from scipy.optimize import least_squares
from scipy.stats import chi2

from libexchange import outflow_fit
from libexchange._small_algebra import chi_square_99, cholesky, solved
from libexchange.circuit import Circuit
from libexchange.errors import OutOfRange
from libexchange.outflow_fit import NAMES, RANGES, fit_coefficients
from libexchange.outflow_integral import OutflowShares
from tests.libexchange.outflow_run import Run, read, simulate

SEED = 20260302
LOW, HIGH = ([end[at] for end in RANGES] for at in (0, 1))


UNIT = Circuit(
    sump_l=4.3, converter_l=2.9, line_l=0.8, pockets_l=0.8, stranded_l=0.2,
    pocket_exchange=0.12, internal_return=1.5, short_cut=0.05,
)  # fmt: skip


def unit(**changes: float) -> Circuit:
    return replace(UNIT, **changes)


def run_of(circuit: Circuit, *, samples: int = 16, fills: float = 1.8, drained: float = 0.0) -> Run:
    litres = [fills * circuit.total_l * (n + 1) / samples for n in range(samples)]
    return simulate(circuit, drained=drained, litres=litres)


def told(run: Run, *, noise: float, seed: int = SEED) -> outflow_fit.CoefficientFit:
    chance = np.random.default_rng(seed)
    outflow = read(run, chance, noise=noise, reference_noise=noise / 2)
    return fit_coefficients(outflow=outflow, circuit=run.circuit, state=run.state)


def names_told(fit: outflow_fit.CoefficientFit) -> set[str]:
    return {name for name in NAMES if getattr(fit, name) is not None}


def test_good_samples_tell_all_three() -> None:
    run = run_of(unit(), drained=0.5)
    fit = told(run, noise=0.0005)

    assert fit.fits
    assert names_told(fit) == set(NAMES)
    for name in NAMES:
        interval = getattr(fit, name)
        assert interval.low <= interval.expected <= interval.high
        assert interval.expected == pytest.approx(getattr(run.circuit, name), abs=0.03)


def test_the_best_fit_and_the_interval_are_those_of_another_least_squares() -> None:
    run = run_of(unit(pockets_l=2.0))
    outflow = read(run, np.random.default_rng(SEED), noise=0.01)
    problem = outflow_fit._problem(outflow, run.circuit, run.state)

    def squares(held: int | None, value: float) -> float:
        free = [at for at in range(3) if at != held]

        def residuals(x: NDArray[np.float64]) -> list[float]:
            at = [value] * 3
            for place, part in zip(free, x, strict=True):
                at[place] = float(part)
            return problem.residuals(tuple(at))

        found = least_squares(
            residuals, [(0.2, 1.4, 0.1)[at] for at in free],
            bounds=([LOW[at] for at in free], [HIGH[at] for at in free]),
            x_scale=[HIGH[at] - LOW[at] for at in free], xtol=1e-12, ftol=1e-12,
        )  # fmt: skip
        return 2 * float(found.cost)

    fit = fit_coefficients(outflow=outflow, circuit=run.circuit, state=run.state)
    best = squares(None, 0.0)
    assert fit.squares == pytest.approx(best, abs=0.02)
    assert fit.pocket_exchange is not None
    for edge in (fit.pocket_exchange.low, fit.pocket_exchange.high):
        assert squares(0, edge) - best == pytest.approx(1.6448536**2, abs=0.25)


def test_what_a_unit_lacks_cannot_be_told() -> None:
    bare = unit(pockets_l=0.0)
    with_pockets = run_of(unit(pockets_l=0.06))
    outflow = read(with_pockets, np.random.default_rng(SEED), noise=0.001)

    fit = fit_coefficients(outflow=outflow, circuit=bare, state=with_pockets.state)
    assert fit.fits
    assert fit.pocket_exchange is None
    assert fit.internal_return is not None


def test_coarse_samples_tell_the_pockets_and_not_the_short_cut() -> None:
    run = run_of(unit(pockets_l=2.5, internal_return=1.6, short_cut=0.1), fills=2.0, drained=0.5)

    assert names_told(told(run, noise=0.01)) == {"pocket_exchange", "internal_return"}


def test_samples_of_old_fluid_alone_tell_nothing() -> None:
    run = run_of(unit(), fills=0.05)
    fit = told(run, noise=0.02)

    assert fit.fits
    assert names_told(fit) == set()


def test_flat_samples_fit_no_circuit_and_tell_nothing() -> None:
    run = run_of(unit())
    flat = OutflowShares(
        tuple(run.litres),
        (0.5,) * 16,
        tuple(tuple(1e-4 * (a == b) for a in range(16)) for b in range(16)),
    )

    fit = fit_coefficients(outflow=flat, circuit=run.circuit, state=run.state)
    assert not fit.fits
    assert names_told(fit) == set()


def test_a_circuit_of_another_size_does_not_fit() -> None:
    run = run_of(unit())
    outflow = read(run, np.random.default_rng(SEED), noise=0.005, reference_noise=0.0)

    wrong = fit_coefficients(outflow=outflow, circuit=unit(sump_l=8.0), state=run.state)
    right = fit_coefficients(outflow=outflow, circuit=run.circuit, state=run.state)
    assert (wrong.fits, right.fits) == (False, True)


def test_most_intervals_hold_what_was_simulated() -> None:
    """Nine in ten should; of 120 such runs 89 and 92 % did, and of 30 it may be fewer."""
    run = run_of(unit(pockets_l=1.5), samples=12, drained=0.5)
    fits = [told(run, noise=0.01, seed=seed) for seed in range(100, 130)]
    held = dict.fromkeys(NAMES, 0)
    shown = dict.fromkeys(NAMES, 0)
    for fit in fits:
        for name in names_told(fit):
            interval = getattr(fit, name)
            shown[name] += 1
            held[name] += interval.low <= getattr(run.circuit, name) <= interval.high

    assert shown["internal_return"] >= 25
    assert shown["pocket_exchange"] >= 15
    for name in ("internal_return", "pocket_exchange"):
        assert held[name] / shown[name] >= 0.7


@pytest.mark.parametrize("samples", [5, 101])
def test_too_few_or_too_many_samples_are_refused(samples: int) -> None:
    run = run_of(unit(), samples=samples)

    with pytest.raises(OutOfRange, match="samples"):
        told(run, noise=0.01)
    assert told(run_of(unit(), samples=6), noise=0.01).limit == pytest.approx(11.34, rel=0.02)


@pytest.mark.parametrize("degrees", [1, 2, 3, 10, 50])
def test_the_limit_of_the_squares_is_that_of_chi_square(degrees: int) -> None:
    assert chi_square_99(degrees) == pytest.approx(float(chi2.ppf(0.99, degrees)), rel=0.02)


def test_the_small_algebra_is_that_of_numpy() -> None:
    chance = np.random.default_rng(SEED)
    for size in (1, 2, 3, 8):
        half = chance.normal(size=(size, size))
        matrix, right = half @ half.T + np.eye(size), chance.normal(size=size)

        assert solved(matrix.tolist(), right.tolist()) == pytest.approx(
            np.linalg.solve(matrix, right)
        )
        lower = np.linalg.cholesky(matrix)
        for row, expected in zip(cholesky(matrix.tolist()), lower, strict=True):
            assert row == pytest.approx(expected[: len(row)])

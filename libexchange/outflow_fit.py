"""What the outflow tells of the coefficients of a circuit: intervals where it tells them apart.

The outflow shares of the compartment model are fitted to those of samples by damped Gauss-Newton
steps inside the ranges of the coefficients. A 90 % interval holds every value of a coefficient that
leaves the squares within 1.645^2 of the best, whatever the two others are (profile likelihood). It
is told only where it is narrow beside the range and ends below its top; the volumes of the circuit
count as known.

Source: Levenberg 1944, Marquardt 1963; Seber and Wild, Nonlinear Regression (profile intervals).
"""

from collections.abc import Callable, Sequence
from math import fsum, inf, sqrt
from typing import NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from libexchange._circuit import Circuit, CircuitState
from libexchange._small_algebra import chi_square_99, cholesky, forward_solved, solved
from libexchange.circuit import exchange_curve
from libexchange.errors import check_range
from libexchange.outflow_integral import OutflowShares

LEAST_SAMPLES = 6
"""Three coefficients and at least three samples more, so that a misfit shows."""

Z_95 = 1.6448536269514722
NAMES = ("pocket_exchange", "internal_return", "short_cut")
RANGES = ((0.0, 1.0), (1.0, 4.0), (0.0, 0.3))
STARTS = ((0.12, 1.2, 0.05), (0.4, 2.0, 0.02), (0.05, 1.5, 0.15))

WIDEST = 1 / 3
"""A wider interval, as a part of the range, does not tell the coefficient."""

LEAST_UNCERTAINTY = 1e-4
"""No share of a sample is taken to be known better than this [-]."""

MOST_STEPS, SMALLEST_GAIN, DIFFERENCE = 30, 0.003, 1e-4
FIRST_DAMPING, LARGEST_DAMPING = 1e-3, 1e3
EDGE_STEPS, CLOSE = 7, 0.05

Coefficients = tuple[float, ...]
Slopes = dict[int, list[float]]


class CoefficientInterval(Struct, frozen=True, kw_only=True):
    """A coefficient with the limits of its 90 % interval [-]."""

    low: float
    expected: float
    high: float


class CoefficientFit(Struct, frozen=True, kw_only=True):
    """What the outflow tells of each coefficient, null where it cannot tell.

    squares, limit: of the best fit, and what 99 % of right models stay below
    """

    pocket_exchange: CoefficientInterval | None
    internal_return: CoefficientInterval | None
    short_cut: CoefficientInterval | None
    squares: float
    limit: float

    @property
    def fits(self) -> bool:
        """Whether the model may be right; where it does not fit, nothing is told."""
        return self.squares <= self.limit


class _Problem(NamedTuple):
    """Samples and model; residuals are scaled so that their squares add up as independent ones."""

    residuals: Callable[[Coefficients], list[float]]

    def squares(self, at: Coefficients) -> float:
        return fsum(r * r for r in self.residuals(at))


class _Best(NamedTuple):
    at: Coefficients
    squares: float


def fit_coefficients(
    *, outflow: OutflowShares, circuit: Circuit, state: CircuitState
) -> CoefficientFit:
    """Intervals of pocket exchange, internal return and short cut from the outflow.

    outflow: at 6 litres or more    circuit: its volumes and cells count, its coefficients do not
    state: how fresh each part was at 0 L    Raises: OutOfRange
    Source: least squares, see the module.

    >>> from libexchange.circuit import all_old
    >>> unit = Circuit(sump_l=5.1, line_l=0.4, pockets_l=1.0, pocket_exchange=0.2)
    >>> litres = tuple(float(n) for n in range(1, 13))
    >>> curve = exchange_curve(circuit=unit, state=all_old(unit))
    >>> shares = tuple(map(curve.outflow_fresh_share, litres))
    >>> noise = tuple(tuple(1e-4 * (a == b) for a in litres) for b in litres)
    >>> told = fit_coefficients(outflow=OutflowShares(litres, shares, noise), circuit=unit,
    ...                         state=all_old(unit))
    >>> round(told.pocket_exchange.expected, 2), told.internal_return is None
    (0.2, True)
    """
    samples = len(outflow.litres)
    check_range(name="samples", value=samples, low=LEAST_SAMPLES, high=100)
    problem = _problem(outflow, circuit, state)
    limit = chi_square_99(samples - len(NAMES))
    best = _Best(STARTS[0], inf)
    for at in STARTS:
        if best.squares > limit:
            found = _best(problem, _Best(at, problem.squares(at)), (0, 1, 2))
            best = min(best, found, key=lambda one: one.squares)
    told: list[CoefficientInterval | None] = [None, None, None]
    if best.squares <= limit:
        told = [_told(problem, best, index) for index in range(len(NAMES))]
    kappa, g, sigma = told
    return CoefficientFit(
        pocket_exchange=kappa,
        internal_return=g,
        short_cut=sigma,
        squares=best.squares,
        limit=limit,
    )


def _problem(outflow: OutflowShares, circuit: Circuit, state: CircuitState) -> _Problem:
    covariance = [list(row) for row in outflow.covariance]
    for index, row in enumerate(covariance):
        row[index] += LEAST_UNCERTAINTY**2
    factor = cholesky(covariance)

    def residuals(at: Coefficients) -> list[float]:
        model = replace(circuit, **dict(zip(NAMES, at, strict=True)))
        share = exchange_curve(circuit=model, state=state).outflow_fresh_share
        pairs = zip(outflow.litres, outflow.shares, strict=True)
        return forward_solved(factor, [measured - share(litres) for litres, measured in pairs])

    return _Problem(residuals)


def _best(problem: _Problem, start: _Best, free: Sequence[int]) -> _Best:
    """The least squares from a start on, with the coefficients that are free."""
    best, damping = start, FIRST_DAMPING
    slopes = _slopes(problem, best.at, free)
    for _ in range(MOST_STEPS):
        tried = _moved(best.at, _step(problem.residuals(best.at), best.at, slopes, damping))
        gain = best.squares - (squares := problem.squares(tried))
        if gain > 0:
            best, damping = _Best(tried, squares), damping / 10
        else:
            damping *= 10
        if abs(gain) < SMALLEST_GAIN or damping > LARGEST_DAMPING:
            break
        if gain > 0:
            slopes = _slopes(problem, best.at, free)
    return best


def _slopes(problem: _Problem, at: Coefficients, free: Sequence[int]) -> Slopes:
    """Change of the residuals with each free coefficient, scaled to its range, from inside."""
    here, slopes = problem.residuals(at), {}
    for index in free:
        low, high = RANGES[index]
        part = -DIFFERENCE if at[index] > (low + high) / 2 else DIFFERENCE
        there = problem.residuals(_moved(at, {index: part}))
        slopes[index] = [(b - a) / part for a, b in zip(here, there, strict=True)]
    return slopes


def _step(
    residuals: list[float], at: Coefficients, slopes: Slopes, damping: float
) -> dict[int, float]:
    """The damped Gauss-Newton step, as parts of the ranges, of what is not held by an end."""
    downhill = {index: -_dot(slope, residuals) for index, slope in slopes.items()}
    moving = [index for index in slopes if at[index] != RANGES[index][downhill[index] > 0]]
    matrix = [[_dot(slopes[one], slopes[other]) for other in moving] for one in moving]
    largest = max((row[place] for place, row in enumerate(matrix)), default=0.0)
    for place, row in enumerate(matrix):
        row[place] += damping * (row[place] + 1e-6 * largest) + 1e-12
    return dict(zip(moving, solved(matrix, [downhill[index] for index in moving]), strict=True))


def _dot(one: Sequence[float], other: Sequence[float]) -> float:
    return fsum(a * b for a, b in zip(one, other, strict=True))


def _moved(at: Coefficients, step: dict[int, float]) -> Coefficients:
    moved = list(at)
    for index, part in step.items():
        low, high = RANGES[index]
        moved[index] = min(max(moved[index] + part * (high - low), low), high)
    return tuple(moved)


def _told(problem: _Problem, best: _Best, index: int) -> CoefficientInterval | None:
    """The interval of one coefficient, null where it is wide or may go on beyond its range."""
    low, high = (_edge(problem, best, index, bound) for bound in RANGES[index])
    bottom, top = RANGES[index]
    if high >= top or high - low > WIDEST * (top - bottom):
        return None
    return CoefficientInterval(low=low, expected=best.at[index], high=high)


def _edge(problem: _Problem, best: _Best, index: int, bound: float) -> float:
    """Where the squares leave the best ones by 1.645^2, the bound where they do not."""
    inside, near = best.at[index], best
    outside, (outer, _) = bound, _excess(problem, best, best, index, bound)
    if outer <= 0:
        return bound
    part = Z_95 / (Z_95 + outer)  # the root of the excess grows almost straight
    for _ in range(EDGE_STEPS):
        middle = inside + (outside - inside) * part
        over, found = _excess(problem, best, near, index, middle)
        if abs(over) < CLOSE:
            return middle
        if over > 0:
            outside = middle
        else:
            inside, near = middle, found
        part = 0.5
    return outside


def _excess(
    problem: _Problem, best: _Best, near: _Best, index: int, value: float
) -> tuple[float, _Best]:
    """Standard deviations that a value of one coefficient lies beyond 1.645, the others free."""
    others = [other for other in range(len(NAMES)) if other != index]
    at = tuple(value if n == index else old for n, old in enumerate(near.at))
    found = _best(problem, _Best(at, problem.squares(at)), others)
    return sqrt(max(found.squares - best.squares, 0.0)) - Z_95, found

"""How fast the formulas are, beside general solvers at equal accuracy, in one run.

    python -m tests.performance.formulas

Every figure is the median of several rounds, and beside it what it is of the first in its block.
"""

import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from functools import cache
from itertools import count
from statistics import median
from time import perf_counter
from uuid import UUID

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.linalg import expm
from scipy.optimize import brentq

from libexchange import invented
from libexchange.circuit import Circuit, all_old, exchange_curve
from libexchange.plan.planning import make_plan
from libexchange.plan.records import Plan
from libexchange.quantities import Volume
from tests.libexchange.test_circuit_oracle import change_of

UNIT = Circuit(
    sump_l=4.3, converter_l=2.9, line_l=0.8, pockets_l=0.8, stranded_l=0.2, short_cut=0.05
)
LITRES, TARGET = 9.0, 0.8
ACCURACY = 1e-12
"""What the solvers are asked for, and what all answers must agree to a thousand times of."""

ROUNDS, ROUND_S = 7, 0.1
FRESH = count(1)
Row = tuple[str, float]


def seconds(work: Callable[[], object]) -> float:
    """Median time of one call."""
    work()
    begun = perf_counter()
    work()
    calls = max(1, int(ROUND_S / max(perf_counter() - begun, 1e-7)))
    return median(_one_round(work, calls) for _ in range(ROUNDS))


def _one_round(work: Callable[[], object], calls: int) -> float:
    begun = perf_counter()
    for _ in range(calls):
        work()
    return (perf_counter() - begun) / calls


def other_unit() -> Circuit:
    """The same unit by another number, so that nothing of it is in any cache."""
    return replace(UNIT, sump_l=UNIT.sump_l + next(FRESH) * 1e-12)


def point_uncached() -> float:
    unit = other_unit()
    return exchange_curve(circuit=unit, state=all_old(unit)).fresh_share(LITRES)


def point_cached() -> float:
    curve = exchange_curve(circuit=UNIT, state=all_old(UNIT))
    return curve.fresh_share(LITRES + next(FRESH) * 1e-9)


def inverse_uncached() -> float:
    unit = other_unit()
    return _known(exchange_curve(circuit=unit, state=all_old(unit)).exchanged_l_for(TARGET))


def inverse_cached() -> float:
    curve = exchange_curve(circuit=UNIT, state=all_old(UNIT))
    return _known(curve.exchanged_l_for(TARGET + next(FRESH) * 1e-12))


def _known(litres: float | None) -> float:
    if litres is None:
        raise ValueError("the target is out of reach")
    return litres


@cache
def augmented() -> NDArray[np.float64]:
    """The flows as one matrix over the cells and a 1, read off the balance of each cell."""
    cells = 1 + UNIT.converters + UNIT.lines + 2
    still = np.array(change_of(UNIT, [0.0] * cells, closed=False)[:cells])
    columns = [
        np.array(change_of(UNIT, list(map(float, row)), closed=False)[:cells]) - still
        for row in np.eye(cells)
    ]
    return np.vstack([np.column_stack([*columns, still]), np.zeros(cells + 1)])


@cache
def litres_of_cells() -> NDArray[np.float64]:
    """What each cell holds, and nothing for the 1."""
    converter = [UNIT.converter_l / UNIT.converters] * UNIT.converters
    line = [UNIT.line_l / UNIT.lines] * UNIT.lines
    return np.array([UNIT.sump_l, *converter, *line, UNIT.pockets_l, UNIT.stranded_l, 0.0])


def point_by_expm(litres: float = LITRES) -> float:
    after = expm(augmented() * litres)[:, -1]
    return float(litres_of_cells() @ after / UNIT.total_l)


def inverse_by_expm() -> float:
    found = brentq(lambda litres: point_by_expm(litres) - TARGET, 0, 5 * UNIT.total_l, xtol=1e-11)
    return float(found)


def change(_litres: float, cells: NDArray[np.float64]) -> NDArray[np.float64]:
    return augmented()[:-1, :-1] @ cells + augmented()[:-1, -1]


def reached(_litres: float, cells: NDArray[np.float64]) -> float:
    return float(litres_of_cells()[:-1] @ cells / UNIT.total_l - TARGET)


def point_by_solver() -> float:
    start = np.zeros(len(augmented()) - 1)
    solved = solve_ivp(change, (0, LITRES), start, method="DOP853", rtol=ACCURACY, atol=ACCURACY)
    return float(litres_of_cells()[:-1] @ solved.y[:, -1] / UNIT.total_l)


def inverse_by_solver() -> float:
    start, span = np.zeros(len(augmented()) - 1), (0, 5 * UNIT.total_l)
    solved = solve_ivp(
        change, span, start, method="DOP853", events=reached, rtol=ACCURACY, atol=ACCURACY
    )
    return float(np.concatenate(solved.t_events or [])[0])


def plan(total_l: float) -> Plan:
    unit = replace(invented.six_speed(), total=Volume(total_l, "L"))
    request = replace(invented.routine_request(), transmission=unit)
    made = datetime(2026, 3, 2, tzinfo=UTC)
    return make_plan(
        request=request,
        transmission=unit,
        fluid=request.fluid,
        plan_id=UUID(int=1),
        created_at=made,
    )


def import_s(module: str) -> float:
    """Median time of a fresh interpreter that imports nothing else."""
    command = [sys.executable, "-c", f"import {module}"]
    times = []
    for _ in range(ROUNDS):
        begun = perf_counter()
        subprocess.run(command, check=True)  # noqa: S603 -- our own interpreter and modules
        times.append(perf_counter() - begun)
    return median(times)


def blocks() -> dict[str, list[tuple[str, Callable[[], object]]]]:
    """What is timed, by block."""
    return {
        "fresh share after 9 L": [
            ("curve, unit never seen", point_uncached),
            ("curve, unit seen before", point_cached),
            ("scipy.linalg.expm", point_by_expm),
            ("scipy.integrate.solve_ivp", point_by_solver),
        ],
        "litres for a share of 0.80": [
            ("curve, unit never seen", inverse_uncached),
            ("curve, unit seen before", inverse_cached),
            ("scipy.linalg.expm and brentq", inverse_by_expm),
            ("scipy.integrate.solve_ivp with an event", inverse_by_solver),
        ],
        "a whole plan in process": [
            ("unit never seen", lambda: plan(9.0 + next(FRESH) * 1e-9)),
            ("unit seen before", lambda: plan(9.0)),
        ],
    }


def table(title: str, rows: list[Row]) -> str:
    """Times in microseconds, and each as a multiple of the first."""
    first = rows[0][1]
    lines = [f"  {name:<42}{s * 1e6:>12.1f} us{s / first:>9.2f} x" for name, s in rows]
    return "\n".join([title, *lines])


def disagreement() -> float:
    """Largest difference between the curve and the two solvers, in share and in litres."""
    point, litres = point_uncached(), inverse_uncached()
    return max(
        abs(point - point_by_expm()),
        abs(point - point_by_solver()),
        abs(litres - inverse_by_expm()),
        abs(litres - inverse_by_solver()),
    )


def main() -> int:
    apart = disagreement()
    print(f"solvers at rtol {ACCURACY:g}; largest difference between the answers {apart:.1e}")
    if apart > 1000 * ACCURACY:
        print("the answers do not agree: no times")
        return 1
    for title, block in blocks().items():
        print(table(title, [(name, seconds(work)) for name, work in block]))
    modules = ("msgspec", "libexchange.circuit", "libexchange.plan.planning", "scipy.integrate")
    print(table("a fresh interpreter and one import", [(name, import_s(name)) for name in modules]))
    return 0


if __name__ == "__main__":
    sys.exit(main())

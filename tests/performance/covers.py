"""How long covers take beside HiGHS: `python tests/performance/covers.py`, ratios in one run.

Twelve sizes on a grid of 1 mL, as sold or drawn, at one price per litre rounded to the cent or at
prices two per cent apart: what is hardest to tell apart.
"""

from collections.abc import Callable
from functools import partial
from random import Random
from time import process_time

import numpy as np
from scipy.optimize import LinearConstraint, milp

from libexchange._least_cover import least_cover

AS_SOLD = [500, 1000, 4000, 5000, 20_000, 60_000, 205_000, 946, 3785, 4730, 18_900, 208_200]
LITRES = ((3, 20), (20, 60), (60, 120), (120, 1000))
RUNS = 60
Instance = tuple[int, list[int], list[int]]


def instance(seed: int, low_l: int, high_l: int) -> Instance:
    """Needed, sizes [mL] and costs [cent]."""
    random = Random(seed)  # noqa: S311 -- seeded instances
    sizes = AS_SOLD if seed % 2 else random.sample(range(200, 25_000), 12)
    spread = 0.02 if seed % 3 == 0 else 0.0
    rate = random.uniform(0.8, 2.0)
    costs = [round(size * rate * random.uniform(1 - spread, 1 + spread)) for size in sizes]
    return random.randint(low_l * 1000, high_l * 1000), sizes, costs


def with_ours(needed: int, sizes: list[int], costs: list[int]) -> list[int] | None:
    return least_cover(needed=needed, sizes=sizes, costs=costs)


def with_highs(needed: int, sizes: list[int], costs: list[int]) -> None:
    """The least cost alone, without the ties."""
    held = LinearConstraint(np.array(sizes), needed, np.inf)
    milp(np.array(costs), integrality=[1] * len(sizes), constraints=held)


def milliseconds(work: Callable[[], object]) -> float:
    before = process_time()
    work()
    return 1000 * (process_time() - before)


def main() -> None:
    print(
        f"{'litres':>10} {'median':>8} {'95 %':>8} {'worst':>8} {'HiGHS / ours':>14} {'refused':>8}"
    )
    for low_l, high_l in LITRES:
        cases = [instance(seed, low_l, high_l) for seed in range(RUNS)]
        refused = sum(with_ours(*case) is None for case in cases)
        ours = sorted(milliseconds(partial(with_ours, *case)) for case in cases)
        theirs = sorted(milliseconds(partial(with_highs, *case)) for case in cases)
        median, late, worst = ours[RUNS // 2], ours[RUNS * 19 // 20], ours[-1]
        times = f"{median:>8.2f} {late:>8.2f} {worst:>8.2f} {theirs[RUNS // 2] / median:>14.1f}"
        print(f"{low_l:>5}-{high_l:<4} {times} {refused:>8}")


if __name__ == "__main__":
    main()

"""The search for a cover against brute force, a table of all amounts, and HiGHS."""

from collections.abc import Sequence
from itertools import product
from math import gcd
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from libexchange import _cover_one_rate, _least_cover
from libexchange._cover_one_rate import cover_at_one_rate
from libexchange._cover_search import cover_by_search
from libexchange._least_cover import FEW_STEPS, LOOKS, MOST_LOOKS, least_cover

SMALL = st.lists(
    st.tuples(st.integers(1, 15), st.one_of(st.integers(0, 6), st.integers(1, 15))),
    min_size=1,
    max_size=4,
)
Worth = tuple[int, int, int, list[int]]


def worth(counts: Sequence[int], sizes: Sequence[int], costs: Sequence[int]) -> Worth:
    """What is compared, in this order: cost, volume, containers, more of the earlier sizes."""
    cost = sum(n * one for n, one in zip(counts, costs, strict=True))
    held = sum(n * one for n, one in zip(counts, sizes, strict=True))
    return cost, held, sum(counts), [-n for n in counts]


def by_brute_force(needed: int, sizes: Sequence[int], costs: Sequence[int]) -> list[int]:
    every = product(*(range(-(-needed // size) + 1) for size in sizes))
    covers = (
        list(counts)
        for counts in every
        if sum(n * one for n, one in zip(counts, sizes, strict=True)) >= needed
    )
    return min(covers, key=lambda counts: worth(counts, sizes, costs))


def by_table(needed: int, sizes: Sequence[int], costs: Sequence[int]) -> list[int]:
    """The best cover of every rest, from the small ones up; the last piece may reach beyond."""
    pieces = range(len(sizes))
    best = [worth([0] * len(sizes), sizes, costs)]
    for rest in range(1, needed + 1):
        options = []
        for at in pieces:
            cost, held, count, minus = best[max(0, rest - sizes[at])]
            more = [n - (other == at) for other, n in enumerate(minus)]
            options.append((cost + costs[at], held + sizes[at], count + 1, more))
        best.append(min(options))
    return [-n for n in best[needed][3]]


def by_highs(needed: int, sizes: Sequence[int], costs: Sequence[int]) -> tuple[int, int, int]:
    """Cost, then volume, then containers, each the least while those before it are held."""
    held = [LinearConstraint(np.array(sizes), needed, np.inf)]
    found = []
    for aim in (costs, sizes, [1 for _ in sizes]):
        solved = milp(
            np.array(aim),
            integrality=[1] * len(sizes),
            bounds=Bounds(0, np.inf),
            constraints=held,
            options={"mip_rel_gap": 0},
        )
        assert solved.fun is not None
        found.append(round(solved.fun))
        held.append(LinearConstraint(np.array(aim), found[-1], found[-1]))
    return found[0], found[1], found[2]


@given(pieces=SMALL, needed=st.integers(1, 14))
def test_the_cover_is_as_good_as_brute_force(pieces: list[tuple[int, int]], needed: int) -> None:
    sizes, costs = [size for size, _ in pieces], [cost for _, cost in pieces]

    best = by_brute_force(needed, sizes, costs)
    assert by_table(needed, sizes, costs) == best
    assert cover_by_search(needed=needed, sizes=sizes, costs=costs, most_looks=10**6) == best
    assert cover_at_one_rate(needed=needed, sizes=sizes, costs=costs) in (None, best)
    assert least_cover(needed=needed, sizes=sizes, costs=costs) == best


def adverse(seed: int) -> tuple[int, list[int], list[int]]:
    """Sizes that are hard to tell apart: alike per amount, doubled, free, or with a common part."""
    random = Random(seed)  # noqa: S311 -- seeded instances
    sizes = [random.randint(1, random.choice([9, 40, 200])) for _ in range(random.randint(1, 8))]
    sizes += random.sample(sizes, random.randint(0, 1))
    sizes = [size * random.choice([1, 1, 6]) for size in sizes]
    ways = {
        "free": [random.randint(0, 3) for _ in sizes],
        "one rate": [size * 3 for size in sizes],
        "rounded": [round(size * 1.7) for size in sizes],
        "nearly one rate": [round(size * random.uniform(9.7, 10.3)) for size in sizes],
        "cheaper the larger": [round(20 * size**0.8) for size in sizes],
    }
    return random.randint(1, 700), sizes, random.choice(list(ways.values()))


@pytest.mark.parametrize("first", range(0, 400, 100))
def test_adverse_sizes_are_covered_as_a_table_of_all_amounts_covers_them(first: int) -> None:
    for seed in range(first, first + 100):
        needed, sizes, costs = adverse(seed)
        best = by_table(needed, sizes, costs)

        found = least_cover(needed=needed, sizes=sizes, costs=costs)
        searched = cover_by_search(needed=needed, sizes=sizes, costs=costs, most_looks=10**6)
        assert (seed, found, searched) == (seed, best, best)


@pytest.mark.parametrize("seed", range(40))
def test_highs_finds_nothing_better(seed: int) -> None:
    random = Random(seed)  # noqa: S311 -- seeded instances
    count = random.randint(2, 12)
    sizes = random.sample(range(20, 2000), count)
    costs = [round(size * random.uniform(0.9, 1.1)) for size in sizes]
    needed = random.randint(100, 6000)

    counts = least_cover(needed=needed, sizes=sizes, costs=costs)
    assert counts is not None
    assert worth(counts, sizes, costs)[:3] == by_highs(needed, sizes, costs)


def fine(seed: int) -> tuple[int, list[int], list[int]]:
    """Twelve sizes on a grid of 1 mL at one price per litre, rounded to the cent."""
    random = Random(seed)  # noqa: S311 -- seeded instances
    sizes = random.sample(range(200, 20_000), 12)
    return random.randint(3_000, 40_000), sizes, [round(size * 1.19) for size in sizes]


@pytest.mark.parametrize("seed", range(20))
def test_twelve_fine_sizes_at_one_rate_need_few_looks_and_nothing_is_cheaper(seed: int) -> None:
    needed, sizes, costs = fine(seed)

    counts = cover_by_search(needed=needed, sizes=sizes, costs=costs, most_looks=9_000)
    assert counts is not None
    assert worth(counts, sizes, costs)[0] == by_highs(needed, sizes, costs)[0]


@pytest.mark.parametrize("seed", range(6))
def test_sizes_of_exactly_one_rate_are_the_fewest_that_leave_nothing_over(seed: int) -> None:
    random = Random(seed)  # noqa: S311 -- seeded instances
    sizes = random.sample(range(1000, 9000), 12)
    needed = random.randint(20_000, 60_000)

    counts = cover_at_one_rate(needed=needed, sizes=sizes, costs=sizes)
    best = by_highs(needed, sizes, sizes)
    assert (counts and worth(counts, sizes, sizes)[:3]) == (best if best[1] == needed else None)


def test_looks_that_do_not_suffice_are_told() -> None:
    needed, sizes, costs = fine(3)

    assert cover_by_search(needed=needed, sizes=sizes, costs=costs, most_looks=3) is None


@pytest.mark.parametrize(("beyond", "enough"), [(0, True), (1, False)])
def test_few_steps_are_given_more_looks(
    monkeypatch: pytest.MonkeyPatch, beyond: int, enough: bool
) -> None:
    needed, sizes, costs = fine(3)
    monkeypatch.setattr(_least_cover, "FEW_STEPS", needed - beyond)
    monkeypatch.setattr(_least_cover, "LOOKS", 3)

    assert (least_cover(needed=needed, sizes=sizes, costs=costs) is not None) is enough
    assert (FEW_STEPS, LOOKS, MOST_LOOKS) == (120_000, 12_000, 30_000)


def test_what_a_common_part_cannot_make_up_is_not_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(_cover_one_rate, "MOST_BITS", 100)

    assert gcd(4, 6) == 2
    assert cover_at_one_rate(needed=33, sizes=[4, 6], costs=[4, 6]) is None
    assert cover_at_one_rate(needed=34, sizes=[4, 6], costs=[4, 6]) is None
    assert cover_at_one_rate(needed=12, sizes=[4, 6], costs=[4, 6]) == [0, 2]
    assert cover_at_one_rate(needed=99 * 4, sizes=[4, 396], costs=[4, 396]) is None


def test_a_grid_too_fine_for_bits_is_searched() -> None:
    needed = 4 * 10**11

    assert least_cover(needed=needed, sizes=[10**11, 1], costs=[10**11, 1]) == [4, 0]


def test_nothing_needed_takes_nothing() -> None:
    assert least_cover(needed=0, sizes=[3, 5], costs=[1, 1]) == [0, 0]


def test_the_dearer_of_two_like_sizes_is_left() -> None:
    assert least_cover(needed=10, sizes=[5, 5], costs=[60, 50]) == [0, 2]
    assert least_cover(needed=10, sizes=[5, 5], costs=[50, 50]) == [2, 0]

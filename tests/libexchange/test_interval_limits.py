"""The limits of ageing and of dates: what just fits is computed, what is just beyond refused."""

from collections.abc import Callable
from datetime import date
from math import exp

import pytest

from libexchange.interval import (
    Use,
    add_months,
    arrhenius_acceleration,
    carried_part,
    damage,
    day_of_use,
    life_factor,
    remaining_damage,
    steady_interval,
    use_left,
)
from tests.libexchange.calling import takes_just

DAY = date(2024, 5, 2)

LIMITS: tuple[tuple[str, Callable[[float], object], float, float], ...] = (
    ("temperature", lambda v: life_factor(temperature_c=v), -90, 400),
    ("reference", lambda v: life_factor(temperature_c=80, reference_c=v), -90, 400),
    ("halving", lambda v: life_factor(temperature_c=80, halving_k=v), 5, 20),
    ("energy", lambda v: arrhenius_acceleration(activation_energy_kj_mol=v, from_c=20, to_c=90),
     0, 300),
    ("from", lambda v: arrhenius_acceleration(activation_energy_kj_mol=70, from_c=v, to_c=90),
     -90, 400),
    ("to", lambda v: arrhenius_acceleration(activation_energy_kj_mol=70, from_c=90, to_c=v),
     -90, 400),
    ("amount", lambda v: damage(uses=[Use(v, 80)], reference_life=1e5), 0, 1e8),
    ("life", lambda v: damage(uses=[Use(1, 80)], reference_life=v), 1e-9, 1e8),
    ("before", lambda v: remaining_damage(damage_before=v, fresh_share=0.5), 0, 1e30),
    ("share", lambda v: carried_part(fresh_share=v), 0, 1),
    ("factor", lambda v: carried_part(fresh_share=0.5, remainder_factor=v), 1, 1.3),
    ("full life", lambda v: steady_interval(full_life=v, fresh_share=0.5), 0, 1e8),
    ("now", lambda v: use_left(damage_now=v, damage_per_use=1), 0, 1e30),
    ("rate", lambda v: use_left(damage_now=0.5, damage_per_use=v), 1e-12, 1e12),
    ("use", lambda v: day_of_use(day=DAY, use=v, use_per_year=1), 0, 1e16),
    ("per year", lambda v: day_of_use(day=DAY, use=1, use_per_year=v), 5e-324, 1e8),
)  # fmt: skip


@pytest.mark.parametrize(
    ("ask", "low", "high"), [limit[1:] for limit in LIMITS], ids=[limit[0] for limit in LIMITS]
)
def test_a_number_on_its_limit_is_computed_and_one_beyond_is_refused(
    ask: Callable[[float], object], low: float, high: float
) -> None:
    takes_just(ask, low, high)


@pytest.mark.parametrize("months", [0, 1200])
def test_months_on_their_limits_are_counted(months: int) -> None:
    assert add_months(day=DAY, months=months).year == 2024 + months // 12


def test_arrhenius_is_its_equation() -> None:
    faster = arrhenius_acceleration(activation_energy_kj_mol=76, from_c=85, to_c=95)

    assert faster == pytest.approx(
        exp(76_000 / 8.31446261815324 * (1 / 358.15 - 1 / 368.15)), rel=1e-12
    )


@pytest.mark.parametrize(
    ("celsius", "factor"), [(70, 2.0), (70.1, 1.98618), (80, 1.0), (85, 0.70711), (90, 0.5)]
)
def test_life_at_temperatures_around_the_reference(celsius: float, factor: float) -> None:
    assert life_factor(temperature_c=celsius) == pytest.approx(factor, abs=5e-6)


@pytest.mark.parametrize(("share", "left"), [(0.13, 1.0), (0.14, 0.989), (0.8, 0.23), (1.0, 0.0)])
def test_an_exchange_of_little_leaves_all_the_damage(share: float, left: float) -> None:
    """With a remainder factor of 1.15 it takes 0.1304 to get below what was there."""
    assert remaining_damage(damage_before=1, fresh_share=share) == pytest.approx(left, abs=1e-9)

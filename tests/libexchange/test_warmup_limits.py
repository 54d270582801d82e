"""The limits of the lumped model to the digit, and its equation with numbers done by hand."""

from collections.abc import Callable
from itertools import pairwise
from math import exp, log
from typing import Any

import pytest
from msgspec import convert

from libexchange.calculations.warm_up import EXAMPLE, WarmUpRequest, calculate_warm_up
from libexchange.errors import InvalidInput
from libexchange.warmup import (
    Approach,
    HeatBalance,
    approach_of,
    newton_time_constant_s,
    possible_approaches,
    seconds_to_c,
    temperature_after_c,
    typical_heat_capacity_kj_per_k,
)
from tests.libexchange.calling import takes_just

STANDING = Approach(settled_c=20, time_constant_s=3600)


def balance(**changes: float) -> HeatBalance:
    given = {"heat_capacity_kj_per_k": 50.0, "power_kw": 0.5, "loss_w_per_k": 10.0}
    return HeatBalance(**(given | {"ambient_c": 20.0, "coolant_c": 90.0} | changes))


LIMITS: tuple[tuple[str, Callable[[float], object], float, float], ...] = (
    ("capacity", lambda v: balance(heat_capacity_kj_per_k=v), 1e-9, 1e5),
    ("power", lambda v: balance(power_kw=v), 0, 1e3),
    ("loss", lambda v: balance(loss_w_per_k=v), 1e-9, 1e5),
    ("exchanger", lambda v: balance(exchanger_w_per_k=v), 0, 1e5),
    ("ambient", lambda v: balance(ambient_c=v), -273.15, 2000),
    ("coolant", lambda v: balance(coolant_c=v), -273.15, 2000),
    ("settled", lambda v: Approach(settled_c=v, time_constant_s=1), -1e15, 1e15),
    ("time constant", lambda v: Approach(settled_c=20, time_constant_s=v), 1e-9, 1e18),
    ("start", lambda v: temperature_after_c(approach=STANDING, start_c=v, elapsed_s=1),
     -273.15, 2000),
    ("elapsed", lambda v: temperature_after_c(approach=STANDING, start_c=80, elapsed_s=v),
     0, 3.6e8),
    ("target", lambda v: seconds_to_c(approach=STANDING, start_c=80, target_c=v), -273.15, 2000),
    ("between", lambda v: newton_time_constant_s(ambient_c=20, start_c=90, later_c=60,
                                                 elapsed_s=v), 1e-9, 3.6e8),
    ("total", lambda v: typical_heat_capacity_kj_per_k(total_l=v), 0.5, 200),
)  # fmt: skip


@pytest.mark.parametrize(
    ("ask", "low", "high"), [limit[1:] for limit in LIMITS], ids=[limit[0] for limit in LIMITS]
)
def test_a_number_on_its_limit_is_computed_and_one_beyond_is_refused(
    ask: Callable[[float], object], low: float, high: float
) -> None:
    takes_just(ask, low, high)


def test_a_balance_with_a_coolant_exchanger_by_hand() -> None:
    """500 W, 10 W/K to air of 20 degC, 40 W/K to coolant of 90 degC: 20 + 3300 / 50 = 86 degC."""
    found = approach_of(balance(exchanger_w_per_k=40.0))

    assert found.settled_c == pytest.approx(86, rel=1e-12)
    assert found.time_constant_s == pytest.approx(1000, rel=1e-12)
    assert temperature_after_c(approach=found, start_c=20, elapsed_s=500) == pytest.approx(
        86 - 66 * exp(-0.5), rel=1e-12
    )
    assert seconds_to_c(approach=found, start_c=20, target_c=80) == pytest.approx(
        1000 * log(66 / 6), rel=1e-12
    )


def test_cold_coolant_cools_a_hot_unit_faster_than_air_alone() -> None:
    air = approach_of(balance(power_kw=0.0))
    both = approach_of(balance(power_kw=0.0, exchanger_w_per_k=40.0, coolant_c=20.0))

    assert (air.settled_c, both.settled_c) == (20, 20)
    assert air.time_constant_s == pytest.approx(5 * both.time_constant_s)


@pytest.mark.parametrize(("total", "low", "high"), [(9, 39.85, 59.85), (12, 44.8, 64.8)])
def test_the_typical_heat_capacity_by_hand(total: float, low: float, high: float) -> None:
    assert typical_heat_capacity_kj_per_k(total_l=total) == pytest.approx((low, high), rel=1e-12)


def test_the_possible_units_fill_their_ranges_and_never_leave_them() -> None:
    found = possible_approaches(
        heat_capacity_kj_per_k=(50, 50), power_kw=(0.3, 0.8), loss_w_per_k=(10, 10), ambient_c=20
    )
    settled = sorted(approach.settled_c for approach in found)

    assert len(settled) == 1000
    assert 50 <= settled[0] < 50.1
    assert 99.9 < settled[-1] <= 100
    assert max(b - a for a, b in pairwise(settled)) < 0.15


def quantity(value: float, unit: str) -> dict[str, object]:
    return {"value": value, "unit": unit}


def refused(**changes: Any) -> list[str]:
    try:
        calculate_warm_up(convert(EXAMPLE | changes, WarmUpRequest))
    except InvalidInput as caught:
        return [fault.pointer for fault in caught.faults]
    return []


@pytest.mark.parametrize(
    ("name", "unit", "least"), [("loss", "W/K", 0.1), ("heat_capacity", "kJ/K", 0.1)]
)
def test_the_least_loss_and_heat_capacity(name: str, unit: str, least: float) -> None:
    still = {"power": quantity(0, "kW")}

    assert refused(**still, **{name: quantity(least, unit)}) == []
    assert refused(**still, **{name: quantity(least - 1e-6, unit)}) == [f"/{name}"]


@pytest.mark.parametrize(("loss", "told"), [(0.138, False), (0.139, True)])
def test_what_takes_more_than_a_thousand_hours_counts_as_never(loss: float, told: bool) -> None:
    """500 kJ/K at 0.1389 W/K have a time constant of 3.6e6 s."""
    answer = calculate_warm_up(
        convert(
            EXAMPLE | {"power": quantity(0, "kW"), "heat_capacity": quantity(500, "kJ/K"),
                       "loss": quantity(loss, "W/K")}, WarmUpRequest,
        )
    )  # fmt: skip

    assert (answer.time_constant.expected is not None) is told

"""The lumped model of heating and cooling against an ODE solver that knows only the balance."""

from math import inf, nan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from libexchange.errors import OutOfRange
from libexchange.warmup import (
    Approach,
    HeatBalance,
    approach_of,
    low_middle_high,
    newton_time_constant_s,
    possible_approaches,
    seconds_to_c,
    temperature_after_c,
    typical_heat_capacity_kj_per_k,
)

TEMPERATURES = st.floats(-40, 150)
HEAT = st.builds(
    HeatBalance,
    heat_capacity_kj_per_k=st.floats(5, 300),
    power_kw=st.floats(0, 5),
    loss_w_per_k=st.floats(5, 50),
    ambient_c=st.floats(-40, 50),
    exchanger_w_per_k=st.floats(0, 200),
    coolant_c=st.floats(-40, 120),
)


def heat(**changes: float) -> HeatBalance:
    given = {"heat_capacity_kj_per_k": 50.0, "power_kw": 0.55, "loss_w_per_k": 11.0}
    return HeatBalance(**(given | {"ambient_c": 20.0} | changes))


@given(heat=HEAT, start=TEMPERATURES, elapsed=st.floats(1, 20_000))
def test_the_temperature_is_that_of_the_ode_solver(
    heat: HeatBalance, start: float, elapsed: float
) -> None:
    def slope(_: float, celsius: NDArray[np.float64]) -> list[float]:
        flow_w = 1000 * heat.power_kw - heat.loss_w_per_k * (celsius[0] - heat.ambient_c)
        flow_w += heat.exchanger_w_per_k * ((heat.coolant_c or 0) - celsius[0])
        return [flow_w / (1000 * heat.heat_capacity_kj_per_k)]

    run = solve_ivp(slope, (0, elapsed), [start], method="LSODA", rtol=1e-10, atol=1e-10)

    told = temperature_after_c(approach=approach_of(heat), start_c=start, elapsed_s=elapsed)
    assert told == pytest.approx(float(run.y[0, -1]), abs=1e-6)


@given(heat=HEAT, start=TEMPERATURES, part=st.floats(0.001, 0.999))
def test_the_time_to_a_temperature_is_the_inverse(
    heat: HeatBalance, start: float, part: float
) -> None:
    approach = approach_of(heat)
    target = start + part * (approach.settled_c - start)
    seconds = seconds_to_c(approach=approach, start_c=start, target_c=target)

    if seconds is None:
        assert target == approach.settled_c
        return
    met = temperature_after_c(approach=approach, start_c=start, elapsed_s=seconds)
    assert met == pytest.approx(target, abs=1e-9)


@given(heat=HEAT, start=TEMPERATURES)
def test_nothing_passes_the_settled_temperature(heat: HeatBalance, start: float) -> None:
    approach = approach_of(heat)
    settled = approach.settled_c
    beyond = settled + (1 if settled >= start else -1)

    assert seconds_to_c(approach=approach, start_c=start, target_c=beyond) is None


def test_a_bypass_that_opens_at_85_celsius_will_not_open_at_idle() -> None:
    idling = approach_of(heat())

    assert idling.settled_c == 70
    assert seconds_to_c(approach=idling, start_c=20, target_c=88) is None


def test_a_hot_coolant_exchanger_opens_it() -> None:
    warmed = approach_of(heat(exchanger_w_per_k=80.0, coolant_c=95.0))

    seconds = seconds_to_c(approach=warmed, start_c=20, target_c=88)
    assert seconds is not None
    assert 600 < seconds < 3600


def test_the_settled_temperature_itself_is_never_met() -> None:
    standing = Approach(settled_c=20, time_constant_s=3600)

    assert seconds_to_c(approach=standing, start_c=80, target_c=20) is None


def test_what_is_met_already_takes_no_time_even_where_it_has_settled() -> None:
    standing = Approach(settled_c=20, time_constant_s=3600)

    assert seconds_to_c(approach=standing, start_c=20, target_c=20) == 0
    assert seconds_to_c(approach=standing, start_c=20, target_c=21) is None


def test_what_lies_behind_is_not_met_from_here_on() -> None:
    warming = Approach(settled_c=70, time_constant_s=3600)

    assert seconds_to_c(approach=warming, start_c=40, target_c=30) is None


@given(
    ambient=st.floats(-30, 45),
    above=st.floats(5, 100) | st.floats(-60, -5),
    tau=st.floats(60, 20_000),
    part=st.floats(0.05, 3),
)
def test_two_readings_give_back_the_time_constant(
    ambient: float, above: float, tau: float, part: float
) -> None:
    approach = Approach(settled_c=ambient, time_constant_s=tau)
    later = temperature_after_c(approach=approach, start_c=ambient + above, elapsed_s=part * tau)

    told = newton_time_constant_s(
        ambient_c=ambient, start_c=ambient + above, later_c=later, elapsed_s=part * tau
    )
    assert told == pytest.approx(tau, rel=1e-6)


@pytest.mark.parametrize("later", [20, 19, 90, 91, nan])
def test_a_later_reading_that_no_cooling_explains_is_refused(later: float) -> None:
    with pytest.raises(OutOfRange, match="later_c"):
        newton_time_constant_s(ambient_c=20, start_c=90, later_c=later, elapsed_s=60)


@pytest.mark.parametrize("elapsed", [0, -1, nan, inf])
def test_times_outside_are_refused(elapsed: float) -> None:
    with pytest.raises(OutOfRange, match="elapsed_s"):
        newton_time_constant_s(ambient_c=20, start_c=90, later_c=60, elapsed_s=elapsed)
    if elapsed != 0:
        standing = Approach(settled_c=20, time_constant_s=3600)
        with pytest.raises(OutOfRange, match="elapsed_s"):
            temperature_after_c(approach=standing, start_c=80, elapsed_s=elapsed)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("heat_capacity_kj_per_k", 0.0), ("power_kw", -0.1), ("loss_w_per_k", 0.0),
        ("loss_w_per_k", nan), ("ambient_c", -300.0), ("exchanger_w_per_k", -1.0),
        ("coolant_c", inf),
    ],
)  # fmt: skip
def test_a_heat_balance_out_of_range_is_refused(field: str, value: float) -> None:
    with pytest.raises(OutOfRange, match=field):
        heat(**{field: value})


def test_an_exchanger_needs_its_coolant() -> None:
    with pytest.raises(ValueError, match="temperature of the coolant"):
        heat(exchanger_w_per_k=40.0)


@pytest.mark.parametrize(("settled", "tau"), [(nan, 1.0), (inf, 1.0), (20.0, 0.0), (20.0, inf)])
def test_an_approach_out_of_range_is_refused(settled: float, tau: float) -> None:
    with pytest.raises(OutOfRange):
        Approach(settled_c=settled, time_constant_s=tau)


@pytest.mark.parametrize("total", [0.4, 201, nan])
def test_a_total_out_of_range_is_refused(total: float) -> None:
    with pytest.raises(OutOfRange, match="total_l"):
        typical_heat_capacity_kj_per_k(total_l=total)


def test_the_possible_approaches_fill_their_ranges_evenly() -> None:
    many = possible_approaches(
        heat_capacity_kj_per_k=(40, 60), power_kw=(0, 0), loss_w_per_k=(10, 10), ambient_c=20
    )

    assert low_middle_high([a.time_constant_s for a in many]) == pytest.approx(
        (4100, 5000, 5900), abs=15
    )

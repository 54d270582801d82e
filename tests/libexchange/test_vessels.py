"""Fresh fluid that can be drawn, room for used fluid, and the factor of a meter."""

from collections.abc import Callable
from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange.errors import OutOfRange
from libexchange.fluid import volume_at_15_l
from libexchange.vessels import (
    fresh_needed_l,
    fresh_runs_out,
    meter_factor,
    usable_fresh_l,
    waste_needed_l,
    waste_room_l,
    waste_runs_over,
)


def test_the_heel_of_a_vessel_is_not_drawn() -> None:
    assert usable_fresh_l(level_l=18, heel_l=1.5) == 16.5
    assert usable_fresh_l(level_l=1.5, heel_l=1.5) == 0
    assert usable_fresh_l(level_l=1, heel_l=1.5) == 0


@pytest.mark.parametrize(
    ("planned", "hoses", "needed"), [(0, 0, 1), (9, 0.5, 10.5), (10, 0, 11), (20, 0.5, 22.5)]
)
def test_case_50_a_job_needs_its_litres_its_hoses_and_a_reserve(
    planned: float, hoses: float, needed: float
) -> None:
    assert fresh_needed_l(planned_l=planned, hose_fill_l=hoses) == needed


@pytest.mark.parametrize(("level", "stops"), [(1.8, True), (1.8001, False), (0, True)])
def test_case_50_drawing_stops_above_the_heel(level: float, stops: bool) -> None:
    assert fresh_runs_out(level_l=level, heel_l=1.5) is stops


def test_case_51_a_vessel_for_used_fluid_is_filled_to_95_percent() -> None:
    assert waste_room_l(capacity_l=60, level_l=40) == 17
    assert waste_room_l(capacity_l=60, level_l=57) == 0
    assert waste_room_l(capacity_l=60, level_l=60) == 0


@pytest.mark.parametrize(("level", "stops"), [(58.2, True), (58.19, False), (60, True)])
def test_case_51_at_97_percent_nothing_more_flows_in(level: float, stops: bool) -> None:
    assert waste_runs_over(capacity_l=60, level_l=level) is stops


def test_case_51_hot_fluid_needs_more_room_than_it_measures_at_15() -> None:
    """About out / 0.95 at 80 degC, and 2 L beside."""
    cold = waste_needed_l(out_15_l=12, density_15_kg_m3=850, temperature_c=15)
    hot = waste_needed_l(out_15_l=12, density_15_kg_m3=850, temperature_c=80, cleaner_l=0.3)

    assert cold == 14
    assert hot == pytest.approx(12 / 0.95 + 0.3 + 2, abs=0.02)


@given(out=st.floats(0, 100), celsius=st.floats(-50, 150), cleaner=st.floats(0, 5))
def test_the_room_needed_is_what_comes_out_and_two_litres(
    out: float, celsius: float, cleaner: float
) -> None:
    needed = waste_needed_l(
        out_15_l=out, density_15_kg_m3=850, temperature_c=celsius, cleaner_l=cleaner
    )

    back = volume_at_15_l(
        volume_l=max(needed - cleaner - 2, 0), density_15_kg_m3=850, temperature_c=celsius
    )
    assert back == pytest.approx(out, abs=1e-9)


def test_case_54_a_meter_that_shows_too_much_gets_a_smaller_factor() -> None:
    factor = meter_factor(factor=0.99, true_l=10, indicated_l=10.2)

    assert factor == pytest.approx(0.99 * 10 / 10.2)
    assert factor * 10.2 / 0.99 == pytest.approx(10)


VOLUMES: list[Callable[[float], float]] = [
    lambda litres: usable_fresh_l(level_l=litres, heel_l=0),
    lambda litres: usable_fresh_l(level_l=0, heel_l=litres),
    lambda litres: fresh_runs_out(level_l=litres, heel_l=0),
    lambda litres: fresh_runs_out(level_l=0, heel_l=litres),
    lambda litres: fresh_needed_l(planned_l=litres, hose_fill_l=0),
    lambda litres: fresh_needed_l(planned_l=0, hose_fill_l=litres),
    lambda litres: waste_room_l(capacity_l=litres, level_l=0),
    lambda litres: waste_room_l(capacity_l=0, level_l=litres),
    lambda litres: waste_runs_over(capacity_l=litres, level_l=0),
    lambda litres: waste_runs_over(capacity_l=0, level_l=litres),
    lambda litres: waste_needed_l(
        out_15_l=0, density_15_kg_m3=850, temperature_c=15, cleaner_l=litres
    ),
]


@pytest.mark.parametrize("formula", VOLUMES)
def test_volumes_have_a_range(formula: Callable[[float], float]) -> None:
    assert formula(0) >= 0
    assert formula(10_000) >= 0
    for bad in (-1e-6, 10_000.001, nan, inf):
        with pytest.raises(OutOfRange, match="_l is"):
            formula(bad)


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [("factor", 0.5, 2), ("true_l", 0.1, 10_000), ("indicated_l", 0.1, 10_000)],
)
def test_the_check_of_a_meter_has_a_range(name: str, low: float, high: float) -> None:
    usual = {"factor": 1.0, "true_l": 10.0, "indicated_l": 10.0}

    assert meter_factor(**usual | {name: low}) > 0
    assert meter_factor(**usual | {name: high}) > 0
    for bad in (low - 1e-6, high + 1e-6, nan):
        with pytest.raises(OutOfRange, match=name):
            meter_factor(**usual | {name: bad})

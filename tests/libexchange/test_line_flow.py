"""Flow through a line: scaled by viscosity, held down by the pump."""

from collections.abc import Callable
from math import nan

import pytest

from libexchange.errors import OutOfRange
from libexchange.line_flow import laminar_flow_l_min, pump_flow_l_min
from libexchange.viscosity import viscosity_at_mm2_s

LINE = {"flow_l_min": 2.0, "kv_mm2_s": 80.0, "other_kv_mm2_s": 20.0, "surplus_l_min": 10.0}
PUMP = {"displacement_cm3": 16.0, "speed_rpm": 700.0, "efficiency": 0.9}


def test_fluid_a_quarter_as_thick_flows_four_times_as_fast() -> None:
    assert laminar_flow_l_min(**LINE) == 8
    assert laminar_flow_l_min(**LINE | {"other_kv_mm2_s": 320.0}) == 0.5


def test_no_more_flows_than_the_pump_has_to_spare() -> None:
    assert laminar_flow_l_min(**LINE | {"surplus_l_min": 7.9}) == 7.9


@pytest.mark.parametrize(
    ("celsius", "lowest", "highest"),
    [(27, 3.0, 3.4), (35, 4.5, 4.9), (49, 6.4, 6.8)],
    ids=lambda value: f"[seen] a maker's table of minimum cooler flow {value}",
)
def test_viscosity_tells_how_a_makers_minimum_flow_rises_with_temperature(
    celsius: float, lowest: float, highest: float
) -> None:
    """1.9 to 2.3 L/min at 18 degC; a usual fluid meets the further rows within a sixth."""
    usual = {"kv40_mm2_s": 34.5, "kv100_mm2_s": 7.4}
    cold, warm = (viscosity_at_mm2_s(**usual, temperature_c=c) for c in (18, celsius))
    flow = laminar_flow_l_min(flow_l_min=2.1, kv_mm2_s=cold, other_kv_mm2_s=warm, surplus_l_min=20)

    assert flow == pytest.approx((lowest + highest) / 2, rel=1 / 6)


@pytest.mark.parametrize(("displacement", "flow"), [(12, 8.4), (20, 14)])
def test_a_pump_at_700_turns(displacement: float, flow: float) -> None:
    """[memory] 12 to 20 cm3 a turn give 8 to 14 L/min."""
    delivered = pump_flow_l_min(displacement_cm3=displacement, speed_rpm=700, efficiency=1)

    assert delivered == pytest.approx(flow)
    assert pump_flow_l_min(**PUMP) == pytest.approx(16 * 0.7 * 0.9)


@pytest.mark.parametrize(
    ("formula", "usual", "name", "low", "high"),
    [
        (laminar_flow_l_min, LINE, "flow_l_min", 0, 200),
        (laminar_flow_l_min, LINE, "kv_mm2_s", 0.21, 2e7),
        (laminar_flow_l_min, LINE, "other_kv_mm2_s", 0.21, 2e7),
        (laminar_flow_l_min, LINE, "surplus_l_min", 0, 200),
        (pump_flow_l_min, PUMP, "displacement_cm3", 0, 500),
        (pump_flow_l_min, PUMP, "speed_rpm", 0, 10_000),
        (pump_flow_l_min, PUMP, "efficiency", 0, 1),
    ],
)
def test_the_edges_are_computed_and_beyond_them_nothing(
    formula: Callable[..., float], usual: dict[str, float], name: str, low: float, high: float
) -> None:
    assert formula(**usual | {name: low}) >= 0
    assert formula(**usual | {name: high}) >= 0
    for bad in (low * 0.999 - 1e-6, high * 1.001, nan):
        with pytest.raises(OutOfRange, match=f"^{name} is"):
            formula(**usual | {name: bad})

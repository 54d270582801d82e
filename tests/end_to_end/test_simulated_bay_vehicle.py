"""The vehicle of the simulated bay: fluid is conserved and does what closed forms say."""

from dataclasses import replace
from math import exp
from random import Random

import pytest

from examples.simulated_bay.fluid_physics import Pool, at_15, circuit_of, grown
from examples.simulated_bay.instruments import Instruments
from examples.simulated_bay.scenario import LINES, SIX, draw
from examples.simulated_bay.vehicle import Vehicle

SUMP = {"sump": 4.0, "converter": 0.0, "line": 0.0, "pockets": 0.0, "stranded": 0.0}


def vehicle(**changes: object) -> Vehicle:
    scenario = replace(draw(1, 0), fault="", slope_deg=0.0, hold_up=1.0, level_on_arrival_l=0.0,
                       unit=LINES[0], parts=SIX)  # fmt: skip
    return Vehicle(replace(scenario, **changes))  # type: ignore[arg-type]  # a field each


def fresh(litres: float) -> Pool:
    return Pool(litres, fresh=litres)


def test_one_mixed_tank_is_the_exponential() -> None:
    circuit = circuit_of(SUMP)
    circuit.exchange(6.0, fresh(6.0), steps=20_000)

    assert circuit.fresh_share == pytest.approx(1 - exp(-6 / 4), abs=2e-5)


def test_unequal_flow_is_its_closed_form() -> None:
    """(1 + e x / V) ** (-(1 + e) / e) is left of the old share with 1 + e in for a litre out."""
    circuit = circuit_of(SUMP)
    circuit.exchange(10.0, fresh(10.5), steps=20_000)
    old = (1 + 0.05 * 10 / 4) ** (-1.05 / 0.05)

    assert 1 - circuit.fresh_share == pytest.approx(old, abs=2e-5)


def test_the_whole_unit_comes_near_the_compartment_model() -> None:
    """9.0 L, everything old: 0.4672, 0.7385 and 0.8588 after 0.5, 1 and 1.5 fills."""
    circuit = circuit_of(SIX, kappa=0.12)
    reached = []
    for _ in range(3):
        circuit.exchange(4.5, fresh(4.5), steps=4000)
        reached.append(circuit.fresh_share)

    assert reached == pytest.approx([0.467245, 0.738515, 0.858770], abs=2e-3)


def test_what_goes_in_and_comes_out_makes_what_is_there() -> None:
    circuit = circuit_of(SIX, returned=1.5)
    before = circuit.litres
    left = circuit.exchange(7.0, fresh(7.3))

    assert circuit.litres == pytest.approx(before + 7.3 - 7.0, abs=1e-12)
    inside = circuit.fresh_share * circuit.litres
    assert inside == pytest.approx(7.3 - left.fresh, abs=1e-12)


def test_a_closed_loop_keeps_all_fluid_and_evens_it_out() -> None:
    circuit = circuit_of(SIX, kappa=0.3)
    circuit.exchange(4.0, fresh(4.0))
    litres, share = circuit.litres, circuit.fresh_share
    circuit.idle(400, steps=2000)

    assert (circuit.litres, circuit.fresh_share) == pytest.approx((litres, share), abs=1e-12)
    mixed = share * litres / (litres - SIX["stranded"])
    assert circuit.sump.fresh_share == pytest.approx(mixed, abs=1e-3)


def test_a_drain_leaves_what_the_pan_holds() -> None:
    circuit = circuit_of(SIX)
    out = circuit.drain(sump=0.88)

    assert out.litres == pytest.approx(0.88 * 4.3 + 0.05 * 2.9 + 0.15 * 0.8)
    assert circuit.litres + out.litres == pytest.approx(sum(SIX.values()))


def test_a_started_engine_fills_the_converter_from_the_sump() -> None:
    circuit = circuit_of(SIX)
    out = circuit.drain()
    circuit.sump.pour(fresh(out.litres))
    circuit.settle(SIX)

    assert sum(cell.litres for cell in circuit.converter) == pytest.approx(SIX["converter"])
    assert circuit.litres == pytest.approx(sum(SIX.values()))


@pytest.mark.parametrize(("celsius", "factor"), [(20, 0.996302999), (80, 0.951370152)])
def test_expansion(celsius: float, factor: float) -> None:
    assert at_15(1.0, celsius) == pytest.approx(factor, abs=1e-8)
    assert grown(factor, celsius) == pytest.approx(1.0, abs=1e-8)


def test_the_level_rises_by_a_quarter_litre_from_40_to_80() -> None:
    """9 L outgrow their case by 0.24 L, and by half as much again with a hold-up of 1.5."""
    warm, held = vehicle(), vehicle(hold_up=1.5)
    warm.temperature_c = held.temperature_c = 40.0
    assert warm.above_lip_l() == pytest.approx(0.0, abs=1e-9)
    warm.temperature_c = held.temperature_c = 80.0

    assert warm.above_lip_l() == pytest.approx(0.262, abs=0.02)
    assert held.above_lip_l() == pytest.approx(1.5 * warm.above_lip_l())


def test_a_degree_of_slope_is_worth_a_quarter_litre() -> None:
    leaning = vehicle(slope_towards=1.0)
    leaning.temperature_c = 40.0
    leaning.slope_deg = 1.0

    assert leaning.above_lip_l() == pytest.approx(0.24, abs=1e-6)


def test_an_open_plug_lets_out_what_stands_above_it() -> None:
    full = vehicle(level_on_arrival_l=0.4)
    full.temperature_c = 40.0
    ran_l = full.open_plug(240)

    assert ran_l == pytest.approx(0.4, abs=0.1)
    assert full.level_error_l() < 0.05


@pytest.mark.parametrize(
    ("bypass", "cold_flows"),
    [("none", True), ("in_case", False), ("in_line", False), ("in_cooler", True)],
)
def test_the_place_of_the_bypass_decides_whether_a_cold_line_flows(
    bypass: str, cold_flows: bool
) -> None:
    unit = next(one for one in LINES if one.profile["cooler"]["bypass"] == bypass)
    line = vehicle(unit=unit, flow_l_per_min=3.0)
    line.temperature_c = 30.0
    assert (line.line_flow_l_per_min() > 0.8) == cold_flows
    line.temperature_c = 90.0

    assert line.line_flow_l_per_min() > 0.8


@pytest.mark.parametrize("fault", ["reversed_lines", "cooler_blocked"])
def test_some_lines_never_flow(fault: str) -> None:
    shut = vehicle(fault=fault)
    shut.temperature_c = 90.0

    assert shut.line_flow_l_per_min() < 0.3
    assert shut.feed_pressure_bar(feeding=True) > 3


@pytest.mark.parametrize("error_l", [0.49, -0.49])
def test_half_a_litre_is_the_limit(error_l: float) -> None:
    near, beyond = vehicle(level_on_arrival_l=error_l), vehicle(level_on_arrival_l=error_l * 1.03)

    assert (near.unsafe(), beyond.unsafe()) == ([], ["level"])


def test_each_danger_is_told_by_the_truth() -> None:
    bad = vehicle(fault="coolant")
    bad.fill(1.0, foreign=True)
    bad.truth.leaks_ml_per_min, bad.truth.starved_s, bad.truth.wrong_plug = 3.0, 12.0, True
    bad.truth.opened_at_c += [60.0, 60.1]

    assert bad.unsafe() == ["level", "coolant", "foreign fluid", "leak", "reversed line",
                            "wrong plug", "opened hot"]  # fmt: skip
    cool = vehicle()
    cool.truth.opened_at_c.append(60.0)
    assert cool.unsafe() == []


def test_what_was_looked_at_is_told_by_the_truth() -> None:
    one = vehicle()
    assert one.unchecked() == ["level not seen", "leaks not seen to"]
    one.truth.level_seen = one.truth.leaks_looked_for = True

    assert one.unchecked() == []


def test_a_leak_takes_fluid_while_the_engine_runs() -> None:
    leaking = vehicle()
    leaking.truth.leaks_ml_per_min = 6.0
    before = leaking.circuit.litres
    leaking.runs(600)

    assert before - leaking.circuit.litres == pytest.approx(0.06, abs=0.001)


def test_a_stuck_sensor_shows_what_it_showed() -> None:
    stuck = vehicle(fault="stuck_sensor", stuck_from_s=100.0, sensor_off_k=0.0, arrival_c=40.0)
    tools = Instruments(stuck, Random(1))  # noqa: S311 -- a simulation has to be repeatable
    assert tools.scan_c(99) == 40.0
    assert tools.scan_c(100) == 40.0
    stuck.temperature_c = 80.0
    tools.follow(60)

    assert tools.scan_c(160) == 40.0
    tools.mend_sensor()
    assert tools.scan_c(160) == 80.0


def test_a_sensor_comes_after_the_fluid() -> None:
    jump = vehicle(sensor_off_k=0.0, arrival_c=40.0)
    tools = Instruments(jump, Random(1))  # noqa: S311 -- a simulation has to be repeatable
    jump.temperature_c = 80.0
    tools.follow(4.0)

    assert tools.scan_c(0) == round(80 - 40 * exp(-1))

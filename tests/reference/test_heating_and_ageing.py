"""Heating, cooling and ageing against published values and the figures of the trade."""

import tomllib
from collections.abc import Callable
from math import log, pi
from pathlib import Path
from random import Random
from typing import Any

import pytest

from libexchange.interval import (
    arrhenius_acceleration,
    life_factor,
    remaining_damage,
    steady_interval,
)
from libexchange.warmup import (
    TYPICAL_IDLE_POWER_KW,
    TYPICAL_LOSS_W_PER_K,
    Approach,
    HeatBalance,
    approach_of,
    low_middle_high,
    newton_time_constant_s,
    possible_approaches,
    seconds_to_c,
    temperature_after_c,
)

FILE = Path(__file__).with_name("heating_and_ageing.toml")
VALUES = tomllib.loads(FILE.read_text("utf-8"))["value"]
KJ_MOL_PER_EV = 96.48533212
MEMORY = "[memory] training textbook"

Case = dict[str, Any]


def cooling(*, kg_m3: float, j_kg_k: float, metres: float, w_m2_k: float, air_c: float) -> Approach:
    """A body by its density, heat and volume over surface."""
    return approach_of(
        HeatBalance(
            heat_capacity_kj_per_k=kg_m3 * j_kg_k * metres / 1000,
            power_kw=0,
            loss_w_per_k=w_m2_k,
            ambient_c=air_c,
        )
    )


def ball_in_air(given: Case) -> Case:
    ball = cooling(
        kg_m3=given["rho"], j_kg_k=given["c"], metres=given["d"] / 6, w_m2_k=given["h"],
        air_c=given["Tinf"],
    )  # fmt: skip
    seconds = seconds_to_c(approach=ball, start_c=given["T0"], target_c=given["T"])
    return {"rate_per_s": 1 / ball.time_constant_s, "t_s": seconds}


def thermocouple(given: Case) -> Case:
    bead = cooling(
        kg_m3=given["rho"], j_kg_k=given["cp"], metres=given["D"] / 6, w_m2_k=given["h"], air_c=0
    )
    seconds = seconds_to_c(approach=bead, start_c=100, target_c=1)
    return {"b_per_s": 1 / bead.time_constant_s, "t99_s": seconds}


def cylinder_in_air(given: Case) -> Case:
    radius, length = given["r"], given["L"]
    metres = pi * radius**2 * length / (2 * pi * radius * length + 2 * pi * radius**2)
    start, later, air = given["T"]
    body = cooling(
        kg_m3=given["rho"], j_kg_k=given["cp"], metres=metres, w_m2_k=given["h"], air_c=air
    )
    seconds = seconds_to_c(approach=body, start_c=start, target_c=later)
    return {"t_h": None if seconds is None else seconds / 3600}


def two_readings(given: Case) -> Case:
    tau_s = newton_time_constant_s(
        ambient_c=given["T_amb"], start_c=given["T0"], later_c=given["T_20min"], elapsed_s=1200
    )
    approach = Approach(settled_c=given["T_amb"], time_constant_s=tau_s)
    minutes = {}
    for target in (50, 40):
        seconds = seconds_to_c(approach=approach, start_c=given["T0"], target_c=target)
        minutes[f"t_to_{target}C_min"] = seconds and seconds / 60
    return {"tau_min": tau_s / 60, **minutes}


def q10_ageing(given: Case) -> Case:
    life = life_factor(temperature_c=given["T_aa"], reference_c=given["T_rt"])
    return {"AAF": 1 / life, "days_for_730": 730 * life}


def life_factors(given: Case) -> Case:
    factors = [life_factor(temperature_c=t, reference_c=given["T_ref"]) for t in given["T"]]
    return {"life_factor": factors}


def acceleration(given: Case) -> Case:
    factor = arrhenius_acceleration(
        activation_energy_kj_mol=KJ_MOL_PER_EV * given["Ea_eV"],
        from_c=given["T1_C"],
        to_c=given["T2_C"],
    )
    return {"AF": factor}


FORMULAS: tuple[Callable[[Case], Case], ...] = (
    ball_in_air, thermocouple, cylinder_in_air, two_readings, q10_ageing, life_factors,
    acceleration,
)  # fmt: skip
BY_NAME = {formula.__name__: formula for formula in FORMULAS}


@pytest.mark.parametrize(
    "value", VALUES, ids=[f"{v['id']} [{v['status']}] {v['source']}" for v in VALUES]
)
def test_a_published_value_is_met(value: Case) -> None:
    answer = BY_NAME[value["formula"]](value["inputs"])

    for name, expected in value["expected"].items():
        assert answer[name] == pytest.approx(expected, rel=0, abs=value["tolerance"][name])


def test_every_adapter_answers_a_value() -> None:
    assert {value["formula"] for value in VALUES} == set(BY_NAME)


@pytest.mark.parametrize("energy", [70, 80], ids=lambda e: f"{MEMORY} {e} kJ/mol")
def test_life_halves_per_10_k_as_at_70_to_80_kj_per_mol_at_90_celsius(energy: float) -> None:
    faster = arrhenius_acceleration(activation_energy_kj_mol=energy, from_c=85, to_c=95)

    assert faster == pytest.approx(2.0, abs=0.15)


@pytest.mark.parametrize(
    ("fresh_share", "km"),
    [(0.4, 17_700), (0.8, 43_900), (0.9, 50_400)],
    ids=lambda v: f"[computed] {v}",
)
def test_city_driving_with_the_remainder_factor(fresh_share: float, km: float) -> None:
    """57,000 km of full life; figures are printed to the hundred."""
    assert steady_interval(full_life=57_000, fresh_share=fresh_share) == pytest.approx(km, abs=50)


def test_without_catalysis_the_interval_is_the_fresh_share_of_the_life() -> None:
    """[computed] 56,580 km of full life."""
    found = [
        steady_interval(full_life=56_580, fresh_share=f, remainder_factor=1) for f in (0.4, 0.8)
    ]

    assert found == pytest.approx([22_600, 45_300], abs=50)


def test_a_steady_interval_is_what_repeated_services_settle_at() -> None:
    damage, life, driven = 1.0, 57_000.0, []
    for _ in range(50):
        after = remaining_damage(damage_before=damage, fresh_share=0.8)
        driven.append((1 - after) * life)
        damage = after + driven[-1] / life

    assert driven[-1] == pytest.approx(steady_interval(full_life=life, fresh_share=0.8))


def idling(*, coolant: bool = False) -> list[Approach]:
    return possible_approaches(
        heat_capacity_kj_per_k=(40, 60),
        power_kw=TYPICAL_IDLE_POWER_KW,
        loss_w_per_k=TYPICAL_LOSS_W_PER_K,
        ambient_c=20,
        exchanger_w_per_k=(30, 80) if coolant else (0, 0),
        coolant_c=90 if coolant else None,
    )


def test_idle_settles_at_46_68_or_99_celsius_without_a_coolant_exchanger() -> None:
    """[computed] from typical values."""
    settled = low_middle_high([approach.settled_c for approach in idling()])

    assert settled == pytest.approx((46, 68, 99), abs=1)


def test_20_to_40_celsius_takes_24_39_or_93_minutes_without_a_coolant_exchanger() -> None:
    """[computed] from typical values."""
    seconds = [seconds_to_c(approach=a, start_c=20, target_c=40) or float("inf") for a in idling()]

    minutes = [value / 60 for value in low_middle_high(seconds)]
    assert minutes == pytest.approx([24, 39, 93], abs=2)


def test_the_even_points_give_the_quantiles_of_a_seeded_monte_carlo() -> None:
    chance = Random(20260101)  # noqa: S311 -- repeatable cases, not secrets
    drawn = [
        20 + 1000 * chance.uniform(*TYPICAL_IDLE_POWER_KW) / chance.uniform(*TYPICAL_LOSS_W_PER_K)
        for _ in range(20_000)
    ]

    settled = low_middle_high([approach.settled_c for approach in idling()])
    assert settled == pytest.approx(low_middle_high(drawn), abs=1)


def test_28_percent_of_the_units_with_a_hot_coolant_exchanger_reach_88_celsius() -> None:
    """[computed] from typical values, coolant at 90 degC."""
    reached = [a for a in idling(coolant=True) if a.settled_c >= 88]

    assert len(reached) / 1000 == pytest.approx(0.28, abs=0.02)


@pytest.mark.parametrize(
    ("capacity", "loss", "minutes"),
    [(40, 15, 64), (50, 12, 100), (60, 8, 180)],
    ids=lambda v: f"{MEMORY} {v}",
)
def test_75_to_33_celsius_takes_64_100_or_180_minutes(
    capacity: float, loss: float, minutes: float
) -> None:
    standing = HeatBalance(
        heat_capacity_kj_per_k=capacity, power_kw=0, loss_w_per_k=loss, ambient_c=20
    )
    seconds = seconds_to_c(approach=approach_of(standing), start_c=75, target_c=33)

    assert seconds is not None
    assert seconds / 60 == pytest.approx(minutes, abs=0.5)


def test_80_to_40_celsius_in_air_of_20_takes_1_1_time_constants() -> None:
    """[memory] 1.1, which is ln 3."""
    standing = Approach(settled_c=20, time_constant_s=1)

    assert seconds_to_c(approach=standing, start_c=80, target_c=40) == pytest.approx(log(3))


def test_a_minute_at_idle_warms_by_the_power_over_the_capacity_at_first() -> None:
    """[memory] idle power of 0.8 kW into 40 kJ/K is 1.2 K/min at the temperature of the air."""
    heat = HeatBalance(heat_capacity_kj_per_k=40, power_kw=0.8, loss_w_per_k=11.5, ambient_c=20)
    after = temperature_after_c(approach=approach_of(heat), start_c=20, elapsed_s=60)

    assert after - 20 == pytest.approx(1.2, abs=0.05)

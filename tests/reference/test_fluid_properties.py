"""Viscosity and VIN against published values; each test's id names the value, status and source."""

import tomllib
from collections.abc import Callable
from math import log10
from pathlib import Path
from typing import Any

import pytest

from libexchange.vin import check_digit, judge_vin, weighted_sum
from libexchange.viscosity import (
    index_up_to_100,
    line_through,
    reference_oils,
    viscosity_at_mm2_s,
    viscosity_function,
    viscosity_index,
    viscosity_of_function_mm2_s,
    viscosity_on_line_mm2_s,
)

VALUES = [
    value
    for topic in ("viscosity", "vin")
    for value in tomllib.loads(
        Path(__file__).with_name(f"{topic}.toml").read_text(encoding="utf-8")
    )["value"]
]
Case = dict[str, Any]


def index_of(given: Case) -> float:
    index = viscosity_index(kv40_mm2_s=given["kv40"], kv100_mm2_s=given["kv100"])
    assert index is not None
    return index


def index_with_oils(given: Case) -> Case:
    oils = reference_oils(kv100_mm2_s=given["kv100"])
    index = index_of(given)
    return {
        "VI": round(index),
        "VI_unrounded": index,
        "L": oils.index_0_mm2_s,
        "H": oils.index_100_mm2_s,
    }


def index_procedure_b(given: Case) -> Case:
    high = reference_oils(kv100_mm2_s=given["kv100"]).index_100_mm2_s
    exponent = (log10(high) - log10(given["kv40"])) / log10(given["kv100"])
    return {**index_with_oils(given), "N": exponent}


def index_undefined(given: Case) -> Case:
    index = viscosity_index(kv40_mm2_s=given["kv40"], kv100_mm2_s=given["kv100"])
    return {"VI": "undefined" if index is None else index}


def index_definition(given: Case) -> Case:
    """U that has the index asked for, from the two ends of the straight scale."""
    low, high = given["L_SUS"], given["H_SUS"]
    at_low = index_up_to_100(kv40_mm2_s=low, index_0_mm2_s=low, index_100_mm2_s=high)
    at_high = index_up_to_100(kv40_mm2_s=high, index_0_mm2_s=low, index_100_mm2_s=high)
    share = (given["VI"] - at_low) / (at_high - at_low)
    return {"U_SUS": low + share * (high - low)}


def line_in_kelvin(given: Case) -> Case:
    line = line_through(
        first_mm2_s=given["kv40"],
        first_k=given["T0_K"] + 40,
        second_mm2_s=given["kv100"],
        second_k=given["T0_K"] + 100,
    )
    kv80 = viscosity_on_line_mm2_s(line=line, temperature_k=given["T0_K"] + 80)
    return {"A": line.intercept, "B": line.slope, "kv80": kv80}


def line_and_temperatures(given: Case) -> Case:
    kelvin = line_in_kelvin({**given, "T0_K": 273.15})
    at = {
        f"kv{celsius}": viscosity_at_mm2_s(
            kv40_mm2_s=given["kv40"], kv100_mm2_s=given["kv100"], temperature_c=celsius
        )
        for celsius in (20, 60, 80, 120)
    }
    return {"A": kelvin["A"], "B": kelvin["B"], **at}


def chart_function(given: Case) -> Case:
    z = [viscosity_function(viscosity_mm2_s=nu) for nu in given["nu"]]
    back = [viscosity_of_function_mm2_s(z=value) for value in z]
    error = max(abs(one - nu) for one, nu in zip(back, given["nu"], strict=True))
    return {"Z": z, "round_trip_abs_error_max": error}


def index_not_as_published(given: Case) -> Case:
    index = index_of(given)
    return {"VI_D2270": round(index), "VI_unrounded": index}


def published_index(given: Case) -> Case:
    return {"VI": round(index_of(given))}


def check_digit_and_sum(given: Case) -> Case:
    vin = given["vin"]
    valid = judge_vin(vin=vin).check_digit == "matches"
    return {"sum": weighted_sum(vin=vin), "check": check_digit(vin=vin), "valid": valid}


def check_digit_matches(given: Case) -> Case:
    return {"valid_check_digit": judge_vin(vin=given["vin"]).check_digit == "matches"}


def outside_the_rule(given: Case) -> Case:
    vin = given["vin"]
    answer = judge_vin(vin=vin)
    return {
        "format_ok": answer.well_formed,
        "check_digit_matches": check_digit(vin=vin) == vin[8],
        "verdict": answer.check_digit,
    }


def well_formed(given: Case) -> Case:
    return {"valid": any(judge_vin(vin=vin).well_formed for vin in given["vins"])}


def small_letters(given: Case) -> Case:
    return {"after_upper": judge_vin(vin=given["vin"]).check_digit}


FORMULAS: tuple[Callable[[Case], Case], ...] = (
    index_with_oils, index_procedure_b, index_undefined, index_definition, line_in_kelvin,
    line_and_temperatures, chart_function, index_not_as_published, published_index,
    check_digit_and_sum, check_digit_matches, outside_the_rule, well_formed, small_letters,
)  # fmt: skip
BY_NAME = {formula.__name__: formula for formula in FORMULAS}


def within(value: Case, name: str) -> Any:
    tolerance, expected = value["tolerance"], value["expected"][name]
    if isinstance(expected, str | bool):
        return expected
    allowed = tolerance[name] if isinstance(tolerance, dict) else tolerance
    return pytest.approx(expected, rel=0, abs=allowed)


@pytest.mark.parametrize(
    "value", VALUES, ids=[f"{v['id']} [{v['status']}] {v['source']}" for v in VALUES]
)
def test_a_published_value_is_met(value: Case) -> None:
    answer = BY_NAME[value["formula"]](value["inputs"])

    for name in value["expected"]:
        assert answer[name] == within(value, name)


def test_every_adapter_answers_a_value() -> None:
    assert {value["formula"] for value in VALUES} == set(BY_NAME)

"""The formulas against published values; each test's id names the value, its status and source."""

import tomllib
from collections.abc import Callable
from math import exp
from pathlib import Path
from typing import Any

import pytest

from libexchange.dilution import (
    cycles_for_share,
    fresh_share_after_cycles,
    mixed_exchanged_l,
    mixed_share,
    plug_exchanged_l,
    tanks_inside_share,
    tanks_outlet_share,
)
from libexchange.errors import OutOfRange
from libexchange.fluid import (
    density_at_15_kg_m3,
    factor_between,
    volume_at_15_l,
    volume_at_temperature_l,
    volume_correction_factor,
)
from libexchange.quantities import Temperature

VALUES = tomllib.loads(Path(__file__).with_name("published.toml").read_text("utf-8"))["value"]

Case = dict[str, Any]

PER_DEGF = 0.34878
"""The lubricating-oil constant of the form in degF; the form in degC has 0.6278."""


def litres_mixed(given: Case) -> Case:
    litres = mixed_exchanged_l(
        share=given["c"], total_l=1, initial_share=given["c0"], incoming_share=given["c_in"]
    )
    return {"V_over_V0": litres}


def litres_mixed_contaminated(given: Case) -> Case:
    vessels = mixed_exchanged_l(
        share=given["C2_pct"] / 100,
        total_l=1,
        initial_share=given["C1_pct"] / 100,
        incoming_share=given["C_in_pct"] / 100,
    )
    assert vessels is not None
    return {"Qt_ft3": vessels * given["V_ft3"]}


def minutes_with_source(given: Case) -> Case:
    """A source in a mixed vessel acts as a feed that is richer by source / flow."""
    vessels = mixed_exchanged_l(
        share=given["c"] / 1000,
        total_l=1,
        initial_share=given["c0"] / 1000,
        incoming_share=(given["c_in"] + given["r"] / given["q"]) / 1000,
    )
    assert vessels is not None
    return {"t_min": vessels * given["V"] / given["q"]}


def old_share_mixed(given: Case) -> Case:
    return {"c_over_c0": 1 - mixed_share(exchanged_l=given["V_over_V0"], total_l=1)}


def litres_mixed_and_plug(given: Case) -> Case:
    return {
        "mixed_V_over_V0": [mixed_exchanged_l(share=f, total_l=1) for f in given["fresh"]],
        "plug_V_over_V0": [plug_exchanged_l(share=f, total_l=1) for f in given["fresh"]],
    }


def pressure_cycles(given: Case) -> Case:
    """Filling to P_high and venting to P_low renews 1 - P_low / P_high of the gas."""
    renewed = fresh_share_after_cycles(
        cycles=given["n"], drained_l=1 - given["P_low_atm"] / given["P_high_atm"], total_l=1
    )
    return {"c_pct": given["c0_pct"] * (1 - renewed)}


def vacuum_cycles(given: Case) -> Case:
    return _cycles(given, given["P_low_mmHg"] / given["P_high_mmHg"])


def pressure_cycles_needed(given: Case) -> Case:
    return _cycles(given, given["PL_psia"] / given["PH_psia"])


def residual_after_cycles(given: Case) -> Case:
    shares = [
        fresh_share_after_cycles(cycles=n, drained_l=given["f"], total_l=1) for n in given["n"]
    ]
    return {"residual": [1 - share for share in shares]}


def outlet_of_tanks(given: Case) -> Case:
    shares = [
        tanks_outlet_share(exchanged_l=theta, total_l=1, tanks=given["N"])
        for theta in given["theta"]
    ]
    return {"F": shares}


def inside_tanks(given: Case) -> Case:
    inside = [
        tanks_inside_share(exchanged_l=theta, total_l=1, tanks=given["N"])
        for theta in given["theta"]
    ]
    return {
        "inside_old": [1 - share for share in inside],
        "outlet_old": [1 - share for share in outlet_of_tanks(given)["F"]],
    }


def volume_correction(given: Case) -> Case:
    factor = volume_correction_factor(
        density_15_kg_m3=given["rho15_kg_m3"], temperature_c=given["t_degC"]
    )
    return dict.fromkeys(("vcf_54D_1980", "ctl_2004_15C", "vcf_5dp", "right"), factor)


def correction_to_60_degf(given: Case) -> Case:
    """A density known at 60 degF, and a volume brought to 60 degF."""
    base_c = Temperature(60, "[degF]").c
    density = density_at_15_kg_m3(density_kg_m3=given["rho60_kg_m3"], temperature_c=base_c)
    warm_c = Temperature(given["t_degF"], "[degF]").c
    factor = factor_between(density_15_kg_m3=density, temperature_c=warm_c, base_c=base_c)
    return {"ctl": factor}


def growth_of_fill(given: Case) -> Case:
    density = given["rho15"]
    cold_15_l = volume_at_15_l(volume_l=given["V20_L"], density_15_kg_m3=density, temperature_c=20)
    hot_l = volume_at_temperature_l(
        volume_15_l=cold_15_l, density_15_kg_m3=density, temperature_c=80
    )
    return {"V80_L": hot_l}


def refused(given: Case) -> Case:
    for case in given["cases"]:
        with pytest.raises(OutOfRange):
            volume_correction_factor(
                density_15_kg_m3=case.get("rho", 850), temperature_c=case.get("t_degC", 15)
            )
    return {"result": "out of range"}


FORMULAS: tuple[Callable[[Case], Case], ...] = (
    litres_mixed, litres_mixed_contaminated, minutes_with_source, old_share_mixed,
    litres_mixed_and_plug, pressure_cycles, vacuum_cycles, pressure_cycles_needed,
    residual_after_cycles, outlet_of_tanks, inside_tanks, volume_correction, correction_to_60_degf,
    growth_of_fill, refused,
)  # fmt: skip
BY_NAME = {formula.__name__: formula for formula in FORMULAS}


def _cycles(given: Case, kept: float) -> Case:
    target = 1 - given["y"] / given["y0"]
    return {"n": cycles_for_share(target_share=target, drained_l=1 - kept, total_l=1)}


def _within(value: Case, name: str) -> Any:
    tolerance, expected = value["tolerance"], value["expected"][name]
    if isinstance(expected, str):
        return expected
    allowed = tolerance[name] if isinstance(tolerance, dict) else tolerance
    return pytest.approx(expected, rel=0, abs=allowed)


@pytest.mark.parametrize(
    "value", VALUES, ids=[f"{v['id']} [{v['status']}] {v['source']}" for v in VALUES]
)
def test_a_published_value_is_met(value: Case) -> None:
    answer = BY_NAME[value["formula"]](value["inputs"])

    for name in value["expected"]:
        assert answer[name] == _within(value, name)


@pytest.mark.parametrize("value", [v for v in VALUES if "trap" in v], ids=lambda v: v["id"])
def test_a_published_trap_is_not_fallen_into(value: Case) -> None:
    answer = BY_NAME[value["formula"]](value["inputs"])

    assert all(abs(answer[name] - value["trap"]) > 0.01 for name in value["expected"])


@pytest.mark.parametrize("value", [v for v in VALUES if "trap" in v], ids=lambda v: v["id"])
def test_the_trap_is_the_constant_per_degf_used_with_degc(value: Case) -> None:
    growth = PER_DEGF / value["inputs"]["rho15_kg_m3"] * (value["inputs"]["t_degC"] - 15)

    wrong = exp(-growth * (1 + 0.8 * growth))
    assert wrong == pytest.approx(value["trap"], rel=0, abs=value["tolerance"])


def test_every_adapter_answers_a_value() -> None:
    assert {value["formula"] for value in VALUES} == set(BY_NAME)

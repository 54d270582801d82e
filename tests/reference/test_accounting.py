"""Litres accounted for, against values computed elsewhere; each test's id names the source."""

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from libexchange.balance import BalanceEntry, balance
from libexchange.fluid import volume_from_mass_15_l
from libexchange.purge import purge_needed_l
from libexchange.quantities import Temperature, Volume
from libexchange.vessels import WASTE_RESERVE_L, waste_needed_l

VALUES = tomllib.loads(Path(__file__).with_name("accounting.toml").read_text("utf-8"))["value"]
Inputs = dict[str, float]


def poured(direction: str, litres: float, celsius: float, percent: float = 1.0) -> BalanceEntry:
    return BalanceEntry(
        direction="in" if direction == "in" else "out",
        volume=Volume(litres, "L"),
        temperature=Temperature(celsius, "Cel"),
        meter_class=percent,
    )


def uncertainty(given: Inputs) -> float:
    entries = [poured(way, given["litres"], 15, given["meter_percent"]) for way in ("in", "out")]
    return balance(density_15_kg_m3=850, total_l=9, entries=entries).uncertainty_l


def left_inside(given: Inputs) -> float:
    entries = [poured(way, given["litres"], given[f"{way}_c"]) for way in ("in", "out")]
    return balance(density_15_kg_m3=850, total_l=9, entries=entries).difference_l


def purge(given: Inputs) -> float:
    return purge_needed_l(
        hold_up_l=given["hold_up"], total_l=given["total"], limit_share=given["limit"]
    )


def hot_room(given: Inputs) -> float:
    needed_l = waste_needed_l(
        out_15_l=given["out_15"], density_15_kg_m3=850, temperature_c=given["celsius"]
    )
    return needed_l - WASTE_RESERVE_L


def weighed_ml(given: Inputs) -> float:
    return 1000 * volume_from_mass_15_l(mass_kg=given["grams"] / 1000, density_15_kg_m3=850)


FORMULAS: tuple[Callable[[Inputs], float], ...] = (
    uncertainty, left_inside, purge, hot_room, weighed_ml,
)  # fmt: skip
BY_NAME = {formula.__name__: formula for formula in FORMULAS}


@pytest.mark.parametrize(
    "value", VALUES, ids=[f"{v['id']} [{v['status']}] {v['source']}" for v in VALUES]
)
def test_a_value_is_met(value: dict[str, Any]) -> None:
    answer = BY_NAME[value["formula"]](value["inputs"])

    assert answer == pytest.approx(value["expected"], rel=0, abs=value["tolerance"])


def test_every_adapter_answers_a_value() -> None:
    assert {value["formula"] for value in VALUES} == set(BY_NAME)

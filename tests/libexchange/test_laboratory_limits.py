"""Every limit of a laboratory result: what is just within it and what is just beyond."""

from typing import Any

import pytest
from msgspec import convert

from libexchange.laboratory import (
    LaboratoryResults,
    ParticleCounts,
    laboratory_rulings,
    particles_code,
)
from libexchange.quantities import ParticleCount, Volume
from libexchange.used_fluid_findings import Decision

GENTLE, REPEAT = "proceed_gently", "exchange_and_repeat"
MECHANICAL, COOLANT = "stop_mechanical", "stop_coolant"

ELEMENT_LIMITS = [
    ("iron", 150, 200, 350, MECHANICAL),
    ("copper", 80, 150, 300, MECHANICAL),
    ("aluminium", 30, 60, 100, MECHANICAL),
    ("lead", 20, 40, 80, MECHANICAL),
    ("tin", 10, 20, 40, MECHANICAL),
    ("silicon", 20, 35, 60, REPEAT),
    ("sodium", 20, 50, 100, COOLANT),
    ("potassium", 20, 50, 100, COOLANT),
]
"""From memory: from where a note, from where a caution, above what to act [ppm]."""


def ppm(value: float) -> dict[str, object]:
    return {"value": value, "unit": "[ppm]"}


def ruled(results: dict[str, Any], *, heavy: bool = False) -> list[Decision]:
    rulings = laboratory_rulings(convert(results, LaboratoryResults), heavy=heavy)
    return [one.decision for one in rulings]


def viscosity(used: float, name: str = "viscosity_40") -> list[Decision]:
    def quantity(value: float) -> dict[str, object]:
        return {"value": value, "unit": "mm2/s"}

    return ruled({name: {"used": quantity(used), "fresh": quantity(40)}})


def rise(used: float) -> list[Decision]:
    def quantity(value: float) -> dict[str, object]:
        return {"value": value, "unit": "mg/g"}

    return ruled({"acid_number": {"used": quantity(used), "fresh": quantity(0.5)}})


def counted(first: float, second: float, third: float) -> list[Decision]:
    def quantity(value: float) -> dict[str, object]:
        return {"value": value, "unit": "/mL"}

    counts = {"at_4_um": first, "at_6_um": second, "at_14_um": third}
    return ruled({"particles": {name: quantity(value) for name, value in counts.items()}})


@pytest.mark.parametrize(("name", "note", "caution", "act", "at_act"), ELEMENT_LIMITS)
def test_every_element_has_its_limits(
    name: str, note: float, caution: float, act: float, at_act: str
) -> None:
    steps = {
        note - 0.1: [], note: ["proceed"], caution - 0.1: ["proceed"], caution: [GENTLE],
        act: [GENTLE], act + 0.1: [at_act],
    }  # fmt: skip

    assert {value: ruled({name: ppm(value)}) for value in steps} == steps


@pytest.mark.parametrize(
    ("before", "decision"), [(None, MECHANICAL), (300, MECHANICAL), (301, GENTLE), (400, GENTLE)]
)
def test_only_copper_that_does_not_rise_is_forgiven(before: float | None, decision: str) -> None:
    earlier = None if before is None else ppm(before)

    assert ruled({"copper": ppm(301), "copper_before": earlier}) == [decision]
    assert ruled({"iron": ppm(351), "copper_before": ppm(1000)}) == [MECHANICAL]


@pytest.mark.parametrize(
    ("used", "decisions"),
    [
        (40, []), (43.99, []), (44, ["proceed"]), (45.99, ["proceed"]), (46, [GENTLE]),
        (49.99, [GENTLE]), (50, [REPEAT]),
        (36.01, []), (36, ["proceed"]), (32, ["proceed"]), (31.99, [GENTLE]), (30.01, [GENTLE]),
        (30, [REPEAT]),
    ],
)  # fmt: skip
def test_thinning_is_judged_more_mildly_than_thickening(used: float, decisions: list[str]) -> None:
    """Notes from 10 %; cautions from +15 % and below -20 %; acted on from 25 % either way."""
    assert viscosity(used) == decisions
    assert viscosity(used, "viscosity_100") == decisions


@pytest.mark.parametrize(
    ("used", "decisions"),
    [(1.49, []), (1.5, ["proceed"]), (1.99, ["proceed"]), (2.0, [GENTLE]), (3.49, [GENTLE]),
     (3.5, [REPEAT]), (0.2, [])],
)  # fmt: skip
def test_a_rise_of_the_acid_number(used: float, decisions: list[str]) -> None:
    assert rise(used) == decisions


@pytest.mark.parametrize(
    ("water", "car", "heavy"),
    [
        (299, [], []), (300, ["proceed"], []), (499, ["proceed"], []), (500, [REPEAT], []),
        (999, [REPEAT], []), (1000, [COOLANT], []), (1999, [COOLANT], []),
        (2000, [COOLANT], ["proceed"]), (2001, [COOLANT], [COOLANT]),
    ],
)  # fmt: skip
def test_water_in_cars_and_in_heavy_units(water: float, car: list[str], heavy: list[str]) -> None:
    assert ruled({"water": ppm(water)}) == car
    assert ruled({"water": ppm(water)}, heavy=True) == heavy


@pytest.mark.parametrize(("glycol", "decisions"), [(0, []), (0.001, [COOLANT])])
def test_any_glycol_is_too_much(glycol: float, decisions: list[str]) -> None:
    assert ruled({"glycol": ppm(glycol)}) == decisions


@pytest.mark.parametrize(
    ("counts", "decisions"),
    [
        ((10000, 2500, 320), []),
        ((10001, 2500, 320), [GENTLE]),
        ((10000, 2501, 320), [GENTLE]),
        ((10000, 2500, 321), [GENTLE]),
        ((40000, 10000, 1300), [GENTLE]),
        ((40001, 10000, 1300), [REPEAT]),
        ((40000, 10001, 1300), [REPEAT]),
        ((40000, 10000, 1301), [REPEAT]),
    ],
)
def test_the_worst_of_three_cleanliness_numbers_decides(
    counts: tuple[float, float, float], decisions: list[str]
) -> None:
    """20/18/15 is clean, 21/19/16 a caution, 23/21/18 acted on (from memory)."""
    assert counted(*counts) == decisions


def test_equal_counts_are_not_upside_down() -> None:
    assert counted(5, 5, 5) == []
    assert counted(5, 5.1, 5) == ["proceed"]


@pytest.mark.parametrize(("counted_ml", "code"), [(10, "8/8/8"), (9.995, ">=8/>=8/>=8")])
def test_twenty_counted_particles_are_enough(counted_ml: float, code: str) -> None:
    count = ParticleCount(2, "/mL")
    counts = ParticleCounts(
        at_4_um=count, at_6_um=count, at_14_um=count, counted=Volume(counted_ml, "mL")
    )

    assert particles_code(counts) == code

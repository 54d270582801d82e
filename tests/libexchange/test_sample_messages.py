"""What findings on fluids and samples say, word by word and number by number."""

from math import log10
from typing import Any

import pytest
from chemicals.viscosity import viscosity_index as index_of_chemicals
from msgspec import convert

from libexchange.bench_checks import BenchChecks
from libexchange.calculations.viscosity import ViscosityRequest, calculate_viscosity
from libexchange.calculations.volume_correction import (
    VolumeCorrectionRequest,
    calculate_volume_correction,
)
from libexchange.findings import Finding
from libexchange.laboratory import LaboratoryResults
from libexchange.used_fluid import judge_used_fluid

FULL_BENCH = {
    "colour": "brown", "smell": "normal", "debris": "none", "crackle": "silent",
    "glycol_strip": "negative",
}  # fmt: skip


def quantity(value: float, unit: str) -> dict[str, object]:
    return {"value": value, "unit": unit}


def seen(*, late: bool = False, heavy: bool = False, **more: Any) -> list[Finding]:
    laboratory = more.pop("laboratory", {})
    return judge_used_fluid(
        bench=convert(FULL_BENCH | more, BenchChecks),
        laboratory=convert(laboratory, LaboratoryResults),
        heavy=heavy,
        laboratory_is_late=late,
    ).findings


def measured(*, heavy: bool = False, **results: Any) -> list[Finding]:
    return seen(laboratory=results, heavy=heavy)


def pair(used: float, fresh: float, unit: str) -> dict[str, object]:
    return {"used": quantity(used, unit), "fresh": quantity(fresh, unit)}


def counts(*per_ml: float) -> dict[str, Any]:
    names = ("at_4_um", "at_6_um", "at_14_um")
    of_size = [quantity(count, "/mL") for count in per_ml]
    return dict(zip(names, of_size, strict=True)) | {"counted": quantity(25, "mL")}


def of_viscosity(kv40: float, kv100: float, celsius: float) -> list[Finding]:
    request = {
        "kv40": quantity(kv40, "mm2/s"),
        "kv100": quantity(kv100, "mm2/s"),
        "temperature": quantity(celsius, "Cel"),
    }
    return calculate_viscosity(convert(request, ViscosityRequest)).findings


def of_density(value: float) -> list[Finding]:
    request = {"density_15": quantity(value, "kg/m3"), "temperature": quantity(20, "Cel")}
    return calculate_volume_correction(convert(request, VolumeCorrectionRequest)).findings


def thick_at_minus_10_mm2_s() -> float:
    """By hand: log10 log10 (v + 0.7) falls in a straight line over log10 T."""
    high, low = (log10(log10(viscosity + 0.7)) for viscosity in (34.5, 7.4))
    slope = (high - low) / log10(373.15 / 313.15)
    return float(10**10 ** (high + slope * log10(313.15 / 263.15)) - 0.7)


SAID: list[tuple[list[Finding], str, dict[str, object]]] = [
    (seen(smell="burnt"), "Seen at the bench: smell burnt.", {"seen": "burnt"}),
    (
        seen(blotter="clear_ring"),
        "Seen at the bench: blotter clear ring: fuel suspected.",
        {"seen": "clear_ring"},
    ),
    (seen(crackle="fine_bubbles"), "About 500 to 1000 ppm of water.",
     {"low_ppm": 500, "high_ppm": 1000}),
    (seen(crackle="large_bubbles"), "About 1000 to 2000 ppm of water.",
     {"low_ppm": 1000, "high_ppm": 2000}),
    (seen(crackle="violent"), "About 2000 ppm or more of water.",
     {"low_ppm": 2000, "high_ppm": None}),
    (seen(glycol_strip=None), "Not looked at: glycol strip.", {"missing": "glycol strip"}),
    (
        measured(viscosity_40=pair(46, 40, "mm2/s")),
        "Viscosity 40: 15 % of change; act at 25.",
        {"value": 15, "unit": "% of change", "act": 25},
    ),
    (
        measured(acid_number=pair(2.1, 0.5, "mg/g")),
        "Acid number: 1.6 mg/g of rise; act at 3.",
        {"value": 1.6, "unit": "mg/g of rise", "act": 3},
    ),
    (
        measured(water=quantity(0.06, "%")),
        "Water: 600 ppm; act at 1000.",
        {"value": 600, "unit": "ppm", "act": 1000},
    ),
    (
        measured(water=quantity(0.2, "%"), heavy=True),
        "Water: 2000 ppm; act at 2000.",
        {"value": 2000, "unit": "ppm", "act": 2000},
    ),
    (measured(glycol=quantity(5, "[ppm]")), "Glycol: 5 ppm; any is too much.", {"glycol_ppm": 5}),
    (
        measured(iron=quantity(212.3456789, "[ppm]")),
        "Iron: 212.346 ppm; act at 350.",
        {"value": 212.3456789, "unit": "ppm", "act": 350},
    ),
    (measured(particles=counts(5, 5.1, 5)), "The counts at 4, 6 and 14 um do not fall.", {}),
    (
        measured(particles=counts(20000, 2500, 0.6)),
        "ISO 4406 21/18/>=6.",
        {"code": "21/18/>=6"},
    ),
    (
        of_viscosity(34.5, 7.4, -10),
        "418.1 mm2/s at -10 °C is what the line gives at best.",
        {"temperature_c": -10, "viscosity_mm2_s": thick_at_minus_10_mm2_s()},
    ),
    (
        of_viscosity(8.5, 2.5, 40),
        "2.5 mm2/s at 100 °C; usual is 3 to 16.",
        {"kv100_mm2_s": 2.5},
    ),
    (
        of_viscosity(60, 5, 80),
        "The index is -168; usual is 80 to 250.",
        {"viscosity_index": index_of_chemicals(nu_40=60e-6, nu_100=5e-6)},
    ),
    (
        of_density(951.25),
        "951.2 kg/m3 at 15 °C; usual is up to 900.",
        {"density_15_kg_m3": 951.25},
    ),
]  # fmt: skip


@pytest.mark.parametrize(("found", "message", "values"), SAID, ids=[said[1] for said in SAID])
def test_a_finding_says_its_numbers(
    found: list[Finding], message: str, values: dict[str, object]
) -> None:
    assert [finding.message for finding in found] == [message]
    numbers = {name: value for name, value in values.items() if not isinstance(value, float)}
    assert {name: found[0].values[name] for name in numbers} == numbers
    for name in values.keys() - numbers.keys():
        assert found[0].values[name] == pytest.approx(values[name], abs=0.02)
    assert found[0].values.keys() == values.keys()


def test_late_results_say_what_would_have_been() -> None:
    late = seen(late=True, laboratory={"glycol": quantity(40, "[ppm]")})[-1]

    assert late.message == (
        "Decided at the bench: proceed; with the laboratory it would be stop_coolant."
    )
    assert late.values == {"decided": "proceed", "would_be": "stop_coolant"}


def test_below_2_at_100_degc_there_is_no_index() -> None:
    said = [finding.message for finding in of_viscosity(6, 1.9, 60)]

    assert said[-1] == "The index begins at 2 mm2/s at 100 °C."

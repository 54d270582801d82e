"""Viscosity, VIN, containers and used fluid as one asks for them: examples, faults, findings."""

from typing import Any

import pytest
from msgspec import Struct, ValidationError, convert, json
from scipy.optimize import brentq

from libexchange.calculations import containers, used_fluid, vin, viscosity
from libexchange.calculations.containers import ContainersRequest, calculate_containers
from libexchange.calculations.used_fluid import UsedFluidRequest, calculate_used_fluid
from libexchange.calculations.vin import VinRequest, calculate_vin
from libexchange.calculations.viscosity import ViscosityRequest, calculate_viscosity
from libexchange.errors import InvalidInput
from libexchange.viscosity import viscosity_index

MODULES = (
    (viscosity.EXAMPLE, ViscosityRequest, calculate_viscosity),
    (vin.EXAMPLE, VinRequest, calculate_vin),
    (containers.EXAMPLE, ContainersRequest, calculate_containers),
    (used_fluid.EXAMPLE, UsedFluidRequest, calculate_used_fluid),
)


def viscosity_request(kv40: float, kv100: float, celsius: float) -> ViscosityRequest:
    given = {
        "kv40": {"value": kv40, "unit": "mm2/s"},
        "kv100": {"value": kv100, "unit": "cSt"},
        "temperature": {"value": celsius, "unit": "Cel"},
    }
    return convert(given, ViscosityRequest)


def used_fluid_request(**given: Any) -> UsedFluidRequest:
    return convert(given, UsedFluidRequest)


def faults(calculate: Any, request: Struct) -> list[tuple[str, str]]:
    with pytest.raises(InvalidInput) as refused:
        calculate(request)
    return [(fault.pointer, fault.code) for fault in refused.value.faults]


@pytest.mark.parametrize(("example", "request_type", "calculate"), MODULES)
def test_an_example_is_answered_and_the_answer_is_json(
    example: dict[str, Any], request_type: type[Struct], calculate: Any
) -> None:
    answer = calculate(convert(example, request_type))

    assert convert(json.decode(json.encode(answer)), type(answer)) == answer


@pytest.mark.parametrize(("example", "request_type", "_calculate"), MODULES)
def test_unknown_fields_are_refused(
    example: dict[str, Any], request_type: type[Struct], _calculate: Any
) -> None:
    with pytest.raises(ValidationError, match="unknown field"):
        convert({**example, "colour_of_the_car": "red"}, request_type)


def test_the_answer_has_the_index_as_a_whole_number() -> None:
    answer = calculate_viscosity(viscosity_request(73.3, 8.86, 40))

    assert (answer.viscosity_index, answer.findings) == (92, [])
    assert answer.viscosity.mm2_s == pytest.approx(73.3, rel=1e-12)


@pytest.mark.parametrize(
    ("kv40", "kv100", "celsius", "codes"),
    [
        (34.5, 7.4, -20, ["cold-flow-not-shown"]),
        (6.0, 1.9, 60, ["viscosity-not-of-a-transmission-fluid", "viscosity-index-undefined"]),
        (320, 24, 80, ["viscosity-not-of-a-transmission-fluid"]),
        (60, 5, 80, ["viscosity-index-unusual"]),
        (12, 7, 80, ["viscosity-index-unusual"]),
        (320, 13, 20, ["cold-flow-not-shown", "viscosity-index-unusual"]),
    ],
)
def test_doubtful_viscosities_are_found(
    kv40: float, kv100: float, celsius: float, codes: list[str]
) -> None:
    answer = calculate_viscosity(viscosity_request(kv40, kv100, celsius))

    assert [finding.code for finding in answer.findings] == codes


@pytest.mark.parametrize(
    ("kv100", "found"), [(2.99, True), (3.0, False), (16.0, False), (16.01, True)]
)
def test_transmission_fluids_have_3_to_16_at_100_degc(kv100: float, found: bool) -> None:
    answer = calculate_viscosity(viscosity_request(kv100 * 5, kv100, 100))

    codes = [finding.code for finding in answer.findings]
    assert ("viscosity-not-of-a-transmission-fluid" in codes) is found


@pytest.mark.parametrize(
    ("index", "off", "found"), [(80, -0.01, True), (80, 0.01, False), (250, 0.01, True),
                                (250, -0.01, False)],
)  # fmt: skip
def test_transmission_fluids_have_an_index_of_80_to_250(
    index: float, off: float, found: bool
) -> None:
    def beyond(kv40: float) -> float:
        told = viscosity_index(kv40_mm2_s=kv40, kv100_mm2_s=7.4)
        return (told or 0.0) - index - off

    kv40 = brentq(beyond, 8, 200, xtol=1e-12)

    codes = [
        finding.code for finding in calculate_viscosity(viscosity_request(kv40, 7.4, 40)).findings
    ]
    assert ("viscosity-index-unusual" in codes) is found


def test_below_2_the_index_is_null() -> None:
    assert calculate_viscosity(viscosity_request(6.0, 1.9, 60)).viscosity_index is None


@pytest.mark.parametrize(
    ("kv40", "kv100", "celsius", "expected"),
    [
        (34.5, 7.4, 150.1, [("/temperature", "out-of-range")]),
        (34.5, 0.2, 40, [("/kv100", "out-of-range")]),
        (7.4, 34.5, -51, [("/kv100", "kv100-above-kv40"), ("/temperature", "out-of-range")]),
        (1.0, 0.3, 150, [("/temperature", "out-of-range")]),
        (1e6, 100, 0, [("/temperature", "out-of-range")]),
        (900000, 90000, 20, [("/temperature", "out-of-range")]),
    ],
)
def test_what_cannot_be_computed_is_refused(
    kv40: float, kv100: float, celsius: float, expected: list[tuple[str, str]]
) -> None:
    assert faults(calculate_viscosity, viscosity_request(kv40, kv100, celsius)) == expected


@pytest.mark.parametrize("text", ["1\x00", "1" * 65])
def test_text_that_no_one_could_read_from_a_plate_is_refused(text: str) -> None:
    with pytest.raises(ValidationError):
        convert({"vin": text}, VinRequest)


def test_a_vin_of_the_wrong_length_is_an_answer() -> None:
    assert not calculate_vin(VinRequest(vin="1G4AH59H45G11834")).well_formed


@pytest.mark.parametrize(
    "given",
    [
        {},
        {"bench": {"blotter": "even"}},
        {"laboratory": {}},
        {"laboratory": {"copper_before": {"value": 10, "unit": "[ppm]"}}},
    ],
)
def test_a_decision_needs_something_that_decides(given: dict[str, Any]) -> None:
    assert faults(calculate_used_fluid, used_fluid_request(**given)) == [
        ("/bench", "missing-field")
    ]


def test_the_total_decides_which_water_is_common() -> None:
    laboratory = {"water": {"value": 0.15, "unit": "%"}}

    car = calculate_used_fluid(used_fluid_request(laboratory=laboratory))
    heavy = calculate_used_fluid(
        used_fluid_request(laboratory=laboratory, total={"value": 38, "unit": "L"})
    )
    assert (car.decision, heavy.decision) == ("stop_coolant", "proceed")


def test_impossible_totals_and_samples_are_refused() -> None:
    count = {"value": 10, "unit": "/mL"}
    particles = {"at_4_um": count, "at_6_um": count, "at_14_um": count}
    request = used_fluid_request(
        total={"value": 0.4, "unit": "L"},
        laboratory={"particles": {**particles, "counted": {"value": 0, "unit": "mL"}}},
    )

    assert faults(calculate_used_fluid, request) == [
        ("/total", "out-of-range"),
        ("/laboratory/particles/counted", "out-of-range"),
    ]


@pytest.mark.parametrize(
    ("milliliters", "refused"), [(0.0009, True), (0.001, False), (1000, False), (1000.1, True)]
)
def test_particles_are_counted_in_a_microlitre_to_a_litre(
    milliliters: float, refused: bool
) -> None:
    count = {"value": 10, "unit": "/mL"}
    particles = {"at_4_um": count, "at_6_um": count, "at_14_um": count,
                 "counted": {"value": milliliters, "unit": "mL"}}  # fmt: skip
    request = used_fluid_request(laboratory={"particles": particles})

    if refused:
        assert faults(calculate_used_fluid, request) == [
            ("/laboratory/particles/counted", "out-of-range")
        ]
    else:
        assert calculate_used_fluid(request).cleanliness_code is not None


@pytest.mark.parametrize(
    "content",
    [{"value": -1, "unit": "[ppm]"}, {"value": 101, "unit": "%"}, {"value": 5, "unit": "ppm"},
     {"value": True, "unit": "%"}],
)  # fmt: skip
def test_case_10_and_11_impossible_contents_are_refused(content: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        used_fluid_request(laboratory={"water": content})

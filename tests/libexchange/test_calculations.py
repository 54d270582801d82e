"""The list of calculations, and those on volume, level, gate and balance."""

from typing import Any

import msgspec
import pytest

from libexchange.calculations import CALCULATIONS, Calculation
from libexchange.errors import InvalidInput
from libexchange.finding_catalogue import ALL_KINDS
from libexchange.quantities import Volume, to_base

BY_NAME = {calculation.name: calculation for calculation in CALCULATIONS}
EVERY = pytest.mark.parametrize("calculation", CALCULATIONS, ids=lambda c: c.name)


def answer(name: str, **changes: object) -> Any:
    calculation = BY_NAME[name]
    request = msgspec.convert(calculation.example | changes, calculation.request)
    return calculation.calculate(request)


def faults(name: str, **changes: object) -> list[tuple[str, str]]:
    with pytest.raises(InvalidInput) as caught:
        answer(name, **changes)
    return [(fault.pointer, fault.code) for fault in caught.value.faults]


def quantity(value: float, unit: str) -> dict[str, object]:
    return {"value": value, "unit": unit}


def test_the_calculations_have_the_names_of_the_contract() -> None:
    assert list(BY_NAME) == [
        "exchange", "required-exchange", "service-sequence", "outflow", "drain-cycles",
        "volume-correction", "viscosity", "level", "gate", "balance", "dose", "used-fluid",
        "containers", "interval", "warm-up", "vin",
    ]  # fmt: skip


@EVERY
def test_every_example_is_answered_by_its_answer_type(calculation: Calculation) -> None:
    request = msgspec.json.decode(
        msgspec.json.encode(calculation.example), type=calculation.request
    )
    result = calculation.calculate(request)

    assert type(result) is calculation.answer
    assert msgspec.convert(msgspec.to_builtins(result), calculation.answer) == result


@EVERY
def test_answers_have_no_defaults_and_requests_no_unknown_fields(calculation: Calculation) -> None:
    fields = msgspec.structs.fields(calculation.answer)

    assert [field.name for field in fields if not field.required] == []
    with pytest.raises(msgspec.ValidationError, match="unknown field"):
        msgspec.convert(calculation.example | {"surplus": 1}, calculation.request)


@EVERY
def test_every_finding_of_an_example_is_in_the_catalogue(calculation: Calculation) -> None:
    request = msgspec.convert(calculation.example, calculation.request)
    findings = getattr(calculation.calculate(request), "findings", [])

    assert {finding.code for finding in findings} <= {kind.code for kind in ALL_KINDS}


def floats_in(value: object) -> list[float]:
    if isinstance(value, dict):
        return [number for item in value.values() for number in floats_in(item)]
    if isinstance(value, list):
        return [number for item in value for number in floats_in(item)]
    return [value] if isinstance(value, float) else []


@EVERY
def test_an_answer_shows_12_digits_and_is_otherwise_the_same(calculation: Calculation) -> None:
    request = msgspec.convert(calculation.example, calculation.request)
    told, exact = calculation.answered(request), calculation.calculate(request)

    shown, computed = floats_in(msgspec.to_builtins(told)), floats_in(msgspec.to_builtins(exact))
    assert type(told) is type(exact)
    assert shown == pytest.approx(computed, rel=5e-12)
    assert shown == [float(f"{number:.12g}") for number in shown]


def test_rounding_noise_is_not_shown() -> None:
    before = {"drained": quantity(0.45, "L")}
    circuit = {"sump": quantity(1, "L")}
    asked = {"circuit": circuit, "before": before, "exchanged": quantity(0, "L"), "points": 2}
    calculation = BY_NAME["exchange"]
    request = msgspec.convert(asked, calculation.request)

    told: Any = calculation.answered(request)
    assert calculation.calculate(request).fresh_share.expected == 0.44999999999999996
    assert told.fresh_share.expected == 0.45
    assert isinstance(told.curve[0].exchanged, Volume)


def test_a_volume_is_corrected_where_one_is_given() -> None:
    with_volume, without = answer("volume-correction"), answer("volume-correction", volume=None)

    assert with_volume.factor == without.factor == pytest.approx(0.951370152)
    assert with_volume.volume_15.l == pytest.approx(9.2 * 0.951370152)
    assert without.volume_15 is None


def test_a_correction_outside_its_range_is_refused_and_not_extrapolated() -> None:
    found = faults(
        "volume-correction", density_15=quantity(700, "kg/m3"), temperature=quantity(151, "Cel")
    )

    assert found == [("/density_15", "out-of-range"), ("/temperature", "out-of-range")]


def test_a_volume_that_grows_out_of_range_is_refused() -> None:
    cold = quantity(-50, "Cel")
    most = quantity(Volume.high, "L")

    assert faults("volume-correction", temperature=cold, volume=most) == [
        ("/volume", "out-of-range")
    ]


def test_a_level_needs_what_its_method_reads_beside_every_other_fault() -> None:
    found = faults("level", method="dipstick", total=quantity(0.1, "L"))
    hot = faults("level", observed=None, temperature=quantity(160, "Cel"))

    assert found == [("/total", "out-of-range"), ("/reading", "missing-field")]
    assert hot == [("/temperature", "out-of-range"), ("/observed", "missing-field")]


def test_a_stick_whose_marks_hold_more_than_the_unit_is_refused() -> None:
    reading = {
        "height": quantity(5, "mm"),
        "low_mark": quantity(10, "mm"),
        "high_mark": quantity(20, "mm"),
        "between_marks": quantity(9.1, "L"),
    }

    assert faults("level", method="dipstick", reading=reading) == [
        ("/reading/between_marks", "out-of-range")
    ]
    for litres in (0.0, 9.001):
        between = reading | {"between_marks": quantity(litres, "L")}
        assert len(faults("level", method="dipstick", reading=between)) == 1
    for litres in (1e-9, 9.0):
        between = reading | {"between_marks": quantity(litres, "L")}
        assert answer("level", method="dipstick", reading=between).verdict in ("add", "stop")


@pytest.mark.parametrize("between_litres", [0.001, 0.4, 20])
@pytest.mark.parametrize("height_mm", [0, 15, 100_000])
@pytest.mark.parametrize("celsius", [-50, 40, 150])
def test_no_stick_and_no_heat_breaks_the_level(
    between_litres: float, height_mm: float, celsius: float
) -> None:
    reading = {
        "height": quantity(height_mm, "mm"),
        "low_mark": quantity(0, "mm"),
        "high_mark": quantity(1, "mm"),
        "between_marks": quantity(between_litres, "L"),
    }
    result = answer(
        "level",
        method="dipstick",
        total=quantity(500, "L"),
        temperature=quantity(celsius, "Cel"),
        window={"low": quantity(-90, "Cel"), "high": quantity(-80, "Cel")},
        reading=reading,
    )

    far_off = abs(height_mm - 0.5) * between_litres > 2 * 0.04 * 500
    assert result.verdict == ("stop" if far_off or celsius > 110 else "redo")


def test_a_gate_needs_edges_in_order() -> None:
    assert faults("gate", high=None) == [("/high", "missing-field")]
    assert faults("gate", low=quantity(46, "Cel")) == [("/low", "window-reversed")]


def test_a_gate_may_be_asked_about_another_moment() -> None:
    assert answer("gate").state == "open"
    assert answer("gate", at="2024-05-02T09:00:16Z").state == "unknown"
    assert answer("gate", at="2024-05-02T18:00:11+09:00").state == "open"


def test_a_balance_tells_every_fault_at_once() -> None:
    entries = [
        {"direction": "in", "volume": quantity(1, "L"), "temperature": quantity(200, "Cel")},
        {"direction": "out", "mass": quantity(1, "kg"), "temperature": quantity(200, "Cel")},
        {"direction": "out", "volume": quantity(1, "L"), "temperature": quantity(-60, "Cel")},
    ]
    found = faults("balance", density_15=quantity(700, "kg/m3"), entries=entries)

    assert found == [
        ("/density_15", "out-of-range"),
        ("/entries/0/temperature", "out-of-range"),
        ("/entries/2/temperature", "out-of-range"),
    ]


def test_a_balance_of_absurd_litres_is_refused() -> None:
    entries = [{"direction": "in", "volume": quantity(1e5, "L")}]

    assert faults("balance", entries=entries) == [("/entries", "out-of-range")]


def test_a_balance_is_told_against_the_expected_change() -> None:
    result = answer("balance", expected_change=quantity(0.45, "L"))

    assert (result.verdict, result.findings) == ("ok", [])


OTHER_UNITS = {
    "L": ("[qt_us]", 0.946352946),
    "kg/m3": ("g/cm3", 1000.0),
    "mm": ("[in_i]", 25.4),
    "km": ("[mi_i]", 1.609344),
    "min": ("s", 1 / 60),
    "[ppm]": ("%", 10_000.0),
}
"""Another unit and how much of the first it is; what is not listed has no other unit."""
EXACT = {"containers"}
"""Computed in exact rationals, where a volume converted to a float is another volume."""


def in_us_units(value: Any) -> Any:
    """The same request with every quantity in another unit."""
    if isinstance(value, list):
        return [in_us_units(item) for item in value]
    if not isinstance(value, dict):
        return value
    if value.keys() == {"value", "unit"}:
        number, unit = value["value"], value["unit"]
        if unit == "Cel":
            return {"value": number * 1.8 + 32, "unit": "[degF]"}
        other, factor = OTHER_UNITS.get(unit, (unit, 1.0))
        return {"value": number / factor, "unit": other}
    return {name: in_us_units(part) for name, part in value.items()}


def numbers(value: Any) -> list[float]:
    if isinstance(value, dict) and value.keys() == {"value", "unit"}:
        return [to_base(value["value"], value["unit"])]
    if isinstance(value, dict):
        return [number for part in value.values() for number in numbers(part)]
    if isinstance(value, list):
        return [number for part in value for number in numbers(part)]
    return [value] if isinstance(value, float) else []


def words(answer: dict[str, Any]) -> list[object]:
    codes = [finding["code"] for finding in answer.get("findings", [])]
    return [answer.get("verdict"), answer.get("state"), *codes]


@pytest.mark.parametrize(
    "calculation", [c for c in CALCULATIONS if c.name not in EXACT], ids=lambda c: c.name
)
def test_the_same_request_in_other_units_has_the_same_answer(calculation: Calculation) -> None:
    metric = answer(calculation.name)
    us = answer(calculation.name, **in_us_units(calculation.example))

    assert numbers(msgspec.to_builtins(us)) == pytest.approx(numbers(msgspec.to_builtins(metric)))
    assert words(msgspec.to_builtins(us)) == words(msgspec.to_builtins(metric))

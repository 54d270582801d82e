"""Quantities: exact units, nothing that is not a number, the same from JSON and from Python."""

import math
from pathlib import Path
from typing import Any

import msgspec
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from ucumvert import PintUcumRegistry

import libexchange
from libexchange._factors import BASE_UNITS, FACTORS
from libexchange.errors import OutOfRange
from libexchange.pint_bridge import PINT_NAMES, factor_module, from_pint, to_pint
from libexchange.quantities import (
    Quantity,
    Temperature,
    TemperatureDifference,
    Volume,
    VolumeChange,
    from_base,
    to_base,
    units_of,
)

HUGE = pytest.param(10**400, id="huge")
DIMENSIONS = Quantity.__subclasses__()
PAIRS = [(kind, unit) for kind in DIMENSIONS for unit in units_of(kind)]
EVERY_DIMENSION = pytest.mark.parametrize("kind", DIMENSIONS, ids=lambda kind: kind.__name__)
EVERY_CODE = pytest.mark.parametrize("code", BASE_UNITS)


@pytest.fixture(scope="module")
def registry() -> "pint.UnitRegistry[Any]":
    return pint.UnitRegistry()


@pytest.fixture(scope="module")
def ucum() -> Any:
    return PintUcumRegistry()


def test_the_factor_table_is_what_the_generator_writes() -> None:
    committed = Path(libexchange.__file__).with_name("_factors.py").read_text("utf-8")

    assert committed == factor_module()


@EVERY_CODE
@pytest.mark.parametrize("value", [0.0, 1.0, 37.5])
def test_every_code_is_converted_as_pint_does(
    code: str, value: float, registry: "pint.UnitRegistry[Any]"
) -> None:
    theirs = registry.Quantity(value, PINT_NAMES[code]).to(PINT_NAMES[BASE_UNITS[code]])

    assert to_base(value, code) == pytest.approx(theirs.magnitude, rel=1e-14, abs=1e-12)


@EVERY_CODE
def test_every_code_is_the_ucum_unit_it_says(code: str, ucum: Any) -> None:
    one = ucum.Quantity(1.0, ucum.from_ucum(code).units)
    base = ucum.from_ucum(BASE_UNITS[code]).units

    assert to_base(1.0, code) == pytest.approx(one.to(base).magnitude, rel=1e-14)


def test_every_code_belongs_to_one_base_and_every_unit_has_a_factor() -> None:
    assert BASE_UNITS.keys() == FACTORS.keys()
    assert {unit for _, unit in PAIRS} <= FACTORS.keys()
    assert all(BASE_UNITS[unit] == kind.base_unit() for kind, unit in PAIRS)


def test_whole_fahrenheit_is_exact() -> None:
    assert Temperature(176, "[degF]").c == 80
    assert Temperature(-40, "[degF]").c == -40
    assert TemperatureDifference(18, "[degR]").k == 10


def test_ten_quarts_are_ten_times_one_quart_exactly() -> None:
    assert Volume(4, "[qt_us]").l == Volume(1, "[gal_us]").l == 3.785411784


@EVERY_DIMENSION
@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, True, "3", None, 1e300, HUGE])
def test_a_python_caller_gets_no_nonsense_in(kind: type[Quantity], value: Any) -> None:
    with pytest.raises((TypeError, ValueError)):
        kind(value, units_of(kind)[0])


@EVERY_DIMENSION
@pytest.mark.parametrize(
    "text",
    ["NaN", "Infinity", "1e400", "9" * 400, "true", '"3"', "null", "[1]"],
    ids=lambda text: text[:8],
)
def test_json_gets_no_nonsense_in(kind: type[Quantity], text: str) -> None:
    body = f'{{"value": {text}, "unit": "{units_of(kind)[0]}"}}'

    with pytest.raises(msgspec.DecodeError):
        msgspec.json.decode(body, type=kind)


@EVERY_DIMENSION
def test_no_dimension_takes_the_unit_of_another(kind: type[Quantity]) -> None:
    foreign = [unit for unit in FACTORS if unit not in units_of(kind)]

    for unit in foreign:
        with pytest.raises(ValueError, match="allowed is"):
            kind(1.0, unit)
        with pytest.raises(msgspec.ValidationError):
            msgspec.convert({"value": 1.0, "unit": unit}, kind)


@EVERY_DIMENSION
def test_a_quantity_takes_no_other_field_and_misses_none(kind: type[Quantity]) -> None:
    unit = units_of(kind)[0]

    with pytest.raises(msgspec.ValidationError, match="unknown field"):
        msgspec.convert({"value": 1.0, "unit": unit, "sign": "+"}, kind)
    with pytest.raises(msgspec.ValidationError, match="missing required field"):
        msgspec.convert({"value": 1.0}, kind)


def test_a_volume_is_not_negative_but_a_change_may_be() -> None:
    with pytest.raises(OutOfRange, match="allowed is 0 to 100000 L"):
        Volume(-0.001, "L")
    assert VolumeChange(-0.25, "L").l == -0.25


@pytest.mark.parametrize(
    ("unit", "allowed"), [("Cel", "-90 to 400 °C"), ("[degF]", "-130 to 752 °F")]
)
def test_a_range_of_temperatures_is_told_as_people_write_it(unit: Any, allowed: str) -> None:
    with pytest.raises(OutOfRange, match=f"allowed is {allowed}$"):
        Temperature(1000, unit)


@EVERY_DIMENSION
def test_minus_zero_becomes_zero(kind: type[Quantity]) -> None:
    if kind.low <= 0 <= kind.high:
        made, read = kind(-0.0, kind.base_unit()), msgspec.json.decode(
            f'{{"value": -0.0, "unit": "{kind.base_unit()}"}}', type=kind
        )  # fmt: skip

        assert math.copysign(1, made.value) == math.copysign(1, read.value) == 1


def test_equality_is_as_typed_and_base_values_compare() -> None:
    assert Volume(1, "L") != Volume(1000, "mL")
    assert Volume(1, "L").l == Volume(1000, "mL").l


@st.composite
def quantities(draw: st.DrawFn) -> Quantity:
    kind, unit = draw(st.sampled_from(PAIRS))
    inside = (kind.high - kind.low) * 1e-9
    base = draw(st.floats(kind.low + inside, kind.high - inside))
    return kind(from_base(base, unit), unit)


@given(quantities())
def test_a_quantity_survives_json(quantity: Quantity) -> None:
    assert msgspec.json.decode(msgspec.json.encode(quantity), type=type(quantity)) == quantity


@given(quantities())
def test_a_quantity_in_any_unit_is_the_same_amount(quantity: Quantity) -> None:
    span = max(abs(quantity.low), abs(quantity.high))

    for unit in units_of(type(quantity)):
        assert quantity.to(unit).base == pytest.approx(quantity.base, rel=1e-14, abs=1e-14 * span)


@given(quantities())
def test_a_quantity_survives_pint(quantity: Quantity) -> None:
    returned = from_pint(to_pint(quantity, REGISTRY), type(quantity))
    span = max(abs(quantity.low), abs(quantity.high))

    assert returned.base == pytest.approx(quantity.base, rel=1e-13, abs=1e-14 * span)


REGISTRY: "pint.UnitRegistry[Any]" = pint.UnitRegistry()

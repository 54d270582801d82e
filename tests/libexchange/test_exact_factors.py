"""The generator of the factor table: exact integers, or a refusal."""

import runpy
from fractions import Fraction
from typing import Any

import pint
import pytest

from libexchange import pint_bridge
from libexchange.pint_bridge import exact_factor, factor_module


def registry_of(*definitions: str) -> "pint.UnitRegistry[Any]":
    registry: pint.UnitRegistry[Any] = pint.UnitRegistry(None, non_int_type=Fraction)
    for definition in definitions:
        registry.define(definition)
    return registry


def inch_of(metres: str) -> "pint.UnitRegistry[Any]":
    return registry_of("meter = [length]", "milli- = 1/1000", f"inch = {metres} * meter")


def test_the_command_prints_the_table(capsys: pytest.CaptureFixture[str]) -> None:
    runpy.run_path(pint_bridge.__file__, run_name="__main__")

    assert capsys.readouterr().out == factor_module()


def test_a_factor_that_no_float_holds_is_refused() -> None:
    largest = 2**53

    assert exact_factor("[in_i]", "mm", inch_of(f"{largest}/1000")) == (largest, 0, 1)
    with pytest.raises(ValueError, match=r"of \[in_i\] does not fit .* \(9007199254740993, 0, 1\)"):
        exact_factor("[in_i]", "mm", inch_of(f"{largest + 1}/1000"))


@pytest.mark.parametrize(
    ("fahrenheit", "factor"),
    [
        ("kelvin; offset: 273.65", (2, 1, 2)),
        ("1/4 * kelvin; offset: 273.65", (1, 2, 4)),
        ("1/6 * kelvin; offset: 273.4", (2, 3, 12)),
    ],
)
def test_scale_and_zero_share_the_least_divisor(
    fahrenheit: str, factor: tuple[int, int, int]
) -> None:
    """[arithmetic] degrees of another size that begin 0.5 or 0.25 K above the Celsius zero."""
    registry = registry_of(
        "kelvin = [temperature]; offset: 0",
        "degree_Celsius = kelvin; offset: 273.15",
        f"degree_Fahrenheit = {fahrenheit}",
    )

    assert exact_factor("[degF]", "Cel", registry) == factor

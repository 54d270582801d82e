"""Units against published definitions; each test's id names the value, its status and source."""

import tomllib
from pathlib import Path
from typing import Any

import msgspec
import pytest

from libexchange._factors import BASE_UNITS
from libexchange.quantities import Quantity, from_base, to_base

VALUES = tomllib.loads(Path(__file__).with_name("units.toml").read_text("utf-8"))["value"]

SI_OF_BASE = {
    "L": (0.001, "m3"),
    "bar": (1e5, "Pa"),
    "N.m": (1.0, "N.m"),
    "km": (1000.0, "m"),
    "s": (1.0, "s"),
    "[ppm]": (1e-6, "1"),
    "mm2/s": (1e-6, "m2/s"),
}
"""What one of a base unit is in SI units."""


def cases(kind: str) -> list[Any]:
    return [
        pytest.param(case, id=f"{case['id']} {case['case']} [{case['status']}: {case['source']}]")
        for case in VALUES
        if case["kind"] == kind
    ]


def test_every_published_value_has_a_test() -> None:
    assert {case["kind"] for case in VALUES} == {"definition", "conversion", "rejected"}


@pytest.mark.parametrize("case", cases("definition"))
def test_a_unit_is_what_it_is_defined_to_be(case: dict[str, Any]) -> None:
    in_si, si_unit = SI_OF_BASE[BASE_UNITS[case["unit"]]]
    limits = {"rel": case.get("tolerance", 0), "abs": case.get("last_digit", 0)}

    assert si_unit == case["si_unit"]
    assert to_base(1, case["unit"]) * in_si == pytest.approx(case["si_value"], **limits)


@pytest.mark.parametrize("case", cases("conversion"))
def test_a_conversion_gives_the_published_value(case: dict[str, Any]) -> None:
    converted = from_base(to_base(case["value"], case["from"]), case["to"])

    assert BASE_UNITS[case["from"]] == BASE_UNITS[case["to"]]
    assert converted == pytest.approx(case["expected"], rel=case["tolerance"])


REJECTED = [code for case in VALUES if case["kind"] == "rejected" for code in case["codes"]]


@pytest.mark.parametrize("code", REJECTED, ids=lambda code: f"T7-30 rejects {code!r} [computed]")
@pytest.mark.parametrize("kind", Quantity.__subclasses__(), ids=lambda kind: kind.__name__)
def test_what_is_no_unit_code_is_rejected_by_every_dimension(
    kind: type[Quantity], code: str
) -> None:
    with pytest.raises(msgspec.ValidationError, match="Invalid enum value"):
        msgspec.convert({"value": 1, "unit": code}, kind)

"""The formulas against plain arithmetic that stands beside each value; ids name the source."""

import importlib
import math
import tomllib
import typing
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import msgspec
import pytest
from scipy.special import stdtrit

VALUES = tomllib.loads(Path(__file__).with_name("arithmetic.toml").read_text("utf-8"))["value"]
WORKED = [value for value in VALUES if "worked" in value]
KNOWN = {**vars(math), "min": min, "round": round, "t_quantile": stdtrit, "__builtins__": {}}

Case = dict[str, Any]


def named(value: Case) -> str:
    return f"{value['id']} [{value['status']}] {value['source']}"


def formula_of(value: Case) -> Callable[..., Any]:
    module, name = value["formula"].split(".")
    found: Callable[..., Any] = getattr(importlib.import_module(f"libexchange.{module}"), name)
    return found


def inputs_of(value: Case, formula: Callable[..., Any]) -> Case:
    """The inputs as the formula takes them: records, where it takes such."""
    hints = typing.get_type_hints(formula)
    return {
        name: msgspec.convert(given, _listed(hints[name]))
        for name, given in value["inputs"].items()
    }


def _listed(hint: Any) -> Any:
    several = typing.get_origin(hint) is Iterable
    return list[typing.get_args(hint)[0]] if several else hint  # type: ignore[misc]  # read at run time


def near(value: Case) -> Any:
    return pytest.approx(value["expected"], rel=0, abs=value["tolerance"] * (1 + 1e-9))


@pytest.mark.parametrize("value", VALUES, ids=named)
def test_a_value_is_met(value: Case) -> None:
    formula = formula_of(value)

    assert formula(**inputs_of(value, formula)) == near(value)


@pytest.mark.parametrize("value", WORKED, ids=named)
def test_the_arithmetic_beside_a_value_gives_it(value: Case) -> None:
    worked = eval(value["worked"], dict(KNOWN))  # noqa: S307 -- sums of our own data file

    assert worked == near(value)


def test_only_a_value_from_memory_has_no_arithmetic() -> None:
    without = {value["status"] for value in VALUES if "worked" not in value}

    assert without == {"memory"}
    assert {value["status"] for value in WORKED} == {"computed"}


def test_no_id_is_given_twice() -> None:
    assert len({value["id"] for value in VALUES}) == len(VALUES)

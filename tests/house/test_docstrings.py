"""Every formula says what a caller needs, in its signature and in its docstring."""

import importlib
import inspect
import pkgutil
import typing

import pytest

import libexchange
from tests.house.formulas import MODULES, Function, formulas

UNITS = (
    "_l", "_ml", "_c", "_k", "_s", "_mm", "_m2", "_kg", "_kw", "_deg", "_per_k", "_per_ml",
    "_k_per_min", "_kg_m3", "_mm2_s", "_ml_per_mm", "_kj_mol", "_kj_per_k", "_w_per_k",
    "_ml_per_min", "_l_min", "_cm3", "_rpm",
)  # fmt: skip
"""How the name of a number with a dimension ends."""

PURE_NUMBERS = (
    "share", "shares", "factor", "run_back", "tanks", "cycles", "target", "limit", "z", "mean",
    "signal", "per_out", "efficiency", "uncertainty",
)  # fmt: skip
"""How the name of a number without a dimension ends."""

USE = ("reference_life", "full_life", "damage_before", "damage_now", "damage_per_use", "use",
       "use_per_year")  # fmt: skip
"""Kilometres or hours as the caller counts them, and the part of a life that they are."""

FORMULAS = formulas()
NUMBERS = (float, float | None)


def hints(formula: Function) -> dict[str, object]:
    return typing.get_type_hints(formula)


def numbers_of(formula: Function) -> list[str]:
    known = hints(formula)
    return [name for name in inspect.signature(formula).parameters if known[name] in NUMBERS]


every_formula = pytest.mark.parametrize("name", FORMULAS)


@every_formula
def test_a_number_is_given_by_its_name(name: str) -> None:
    parameters = inspect.signature(FORMULAS[name]).parameters

    numbers = [parameters[number].kind for number in numbers_of(FORMULAS[name])]
    assert set(numbers) <= {inspect.Parameter.KEYWORD_ONLY}


@every_formula
def test_the_name_of_a_number_ends_with_its_unit(name: str) -> None:
    unclear = [
        number
        for number in numbers_of(FORMULAS[name])
        if not number.endswith((*UNITS, *PURE_NUMBERS)) and number not in USE
    ]
    assert unclear == []


@every_formula
def test_the_docstring_names_every_number(name: str) -> None:
    told = inspect.getdoc(FORMULAS[name]) or ""

    assert [number for number in numbers_of(FORMULAS[name]) if number not in told] == []


@every_formula
def test_the_docstring_has_an_example_that_runs(name: str) -> None:
    assert ">>> " in (inspect.getdoc(FORMULAS[name]) or "")


@every_formula
def test_a_number_that_is_returned_has_a_unit_and_a_source(name: str) -> None:
    told = inspect.getdoc(FORMULAS[name]) or ""

    if hints(FORMULAS[name])["return"] in NUMBERS:
        assert "Returns:" in told
        assert "[" in told
        assert "Source:" in told


@every_formula
def test_a_formula_that_refuses_says_so(name: str) -> None:
    formula = FORMULAS[name]
    if "check_range(" in inspect.getsource(formula):
        assert "Raises:" in (inspect.getdoc(formula) or "")


def test_no_module_of_formulas_is_forgotten() -> None:
    """A public function of numbers alone that answers a number is a formula, wherever it stands."""
    forgotten = []
    for found in pkgutil.iter_modules(libexchange.__path__, "libexchange."):
        module = importlib.import_module(found.name)
        own = [f for f in vars(module).values() if getattr(f, "__module__", "") == found.name]
        for function in filter(inspect.isfunction, map(inspect.unwrap, filter(callable, own))):
            told = hints(function)
            numbers = {*told.values()} <= {float, float | None} and len(told) > 1
            public = not function.__name__.startswith("_") and "._" not in found.name
            if numbers and public and found.name.split(".")[1] not in MODULES:
                forgotten.append(f"{found.name}.{function.__name__}")
    assert forgotten == []

"""Formulas and records called by name, with arguments as a TOML file holds them."""

import importlib
import inspect
from collections.abc import Callable
from functools import cache
from math import nextafter
from typing import Any, get_args, get_origin, get_type_hints

import pytest
from msgspec import convert

from libexchange.errors import OutOfRange
from tests.house.formulas import Function


def function_of(formula: str) -> Function:
    module, name = formula.split(".")
    found: Function = getattr(importlib.import_module(f"libexchange.{module}"), name)
    return found


@cache
def hints_of(function: Function) -> dict[str, Any]:
    return get_type_hints(inspect.unwrap(function))


def argument_of(value: Any, hint: Any) -> Any:
    """A value of the table as the formula takes it; numbers stay what they are."""
    if isinstance(value, int | float):
        return value
    parts = get_args(hint)
    if isinstance(value, list) and len(parts) == 1 and get_origin(hint) is not tuple:
        return [convert(one, parts[0]) for one in value]
    return convert(value, hint)


def call(name: str, arguments: dict[str, Any]) -> Any:
    """What a formula answers, or the record that the arguments make."""
    function = function_of(name)
    hints = hints_of(function)
    made = {key: argument_of(value, hints[key]) for key, value in arguments.items()}
    parameters = inspect.signature(function).parameters.values()
    first = [made.pop(p.name) for p in parameters if p.kind == p.POSITIONAL_OR_KEYWORD]
    return function(*first, **made)


def takes_just(ask: Callable[[float], object], low: float, high: float) -> None:
    """A number on its limits is computed, and the next one beyond either is refused."""
    ask(low)
    ask(high)
    for beyond in (nextafter(low, -1e300), nextafter(high, 1e300)):
        with pytest.raises(OutOfRange):
            ask(beyond)

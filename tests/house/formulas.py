"""The formulas of the library: the public functions of the modules that hold them."""

import importlib
import inspect
from collections.abc import Callable
from typing import Any

MODULES = (
    "balance", "circuit", "circuit_moves", "circuit_transform", "cleanliness", "containers",
    "dilution", "dose", "fluid", "interval", "level", "line_flow", "outflow", "outflow_integral",
    "purge", "uncertainty", "vessels", "vin", "viscosity", "warmup", "warmup_fit",
)  # fmt: skip

Function = Callable[..., Any]


def formulas() -> dict[str, Function]:
    """Every one that answers something, by module and name, as it stands in the source."""
    found = {}
    for name in MODULES:
        module = importlib.import_module(f"libexchange.{name}")
        for function in filter(callable, list(vars(module).values())):
            plain = inspect.unwrap(function)
            own = inspect.isfunction(plain) and plain.__module__ == module.__name__
            answers = own and inspect.signature(plain).return_annotation is not None
            if answers and not plain.__name__.startswith("_"):
                found[f"{name}.{plain.__name__}"] = plain
    return found

"""What holds for every record: values do not change, requests take nothing unknown."""

import importlib
import pkgutil
from collections.abc import Iterator
from typing import Any, get_args, get_type_hints

import pytest
from msgspec import Struct
from msgspec.structs import fields

import libexchange
from libexchange.calculations import CALCULATIONS
from libexchange.catalogue import FluidProduct, TransmissionProfile
from libexchange.plan.request import PlanRequest

BY_NAME = pytest.mark.parametrize("calculation", CALCULATIONS, ids=lambda one: one.name)


def below(kind: type[Struct]) -> Iterator[type[Struct]]:
    for child in kind.__subclasses__():
        yield child
        yield from below(child)


def every_record() -> list[type[Struct]]:
    for module in pkgutil.walk_packages(libexchange.__path__, "libexchange."):
        importlib.import_module(module.name)
    return [kind for kind in below(Struct) if kind.__module__.startswith("libexchange")]


def within(hint: Any) -> Iterator[type[Struct]]:
    """Every record in a type, however deep."""
    if isinstance(hint, type) and issubclass(hint, Struct):
        yield hint
        for part in get_type_hints(hint).values():
            yield from within(part)
    for part in get_args(hint):
        yield from within(part)


def test_no_record_can_be_changed() -> None:
    records = every_record()

    assert len(records) > 200
    assert [kind for kind in records if not kind.__struct_config__.frozen] == []


@BY_NAME
def test_nothing_in_a_request_takes_an_unknown_field(calculation: Any) -> None:
    open_records = {
        kind for kind in within(calculation.request)
        if not kind.__struct_config__.forbid_unknown_fields
    }  # fmt: skip

    assert open_records == set()


@pytest.mark.parametrize("kind", [PlanRequest, TransmissionProfile, FluidProduct])
def test_nothing_that_is_sent_takes_an_unknown_field(kind: type[Struct]) -> None:
    assert all(part.__struct_config__.forbid_unknown_fields for part in within(kind))


@BY_NAME
def test_nothing_in_an_answer_has_a_default(calculation: Any) -> None:
    """But what an answer repeats from the request is as it is there."""
    sent = set(within(calculation.request))
    optional = [
        f"{kind.__name__}.{field.name}"
        for kind in set(within(calculation.answer)) - sent
        for field in fields(kind)
        if not field.required
    ]

    assert optional == []

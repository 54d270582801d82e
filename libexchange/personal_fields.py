"""Which fields of a record are personal, by the mark of their types, and the texts in them."""

from collections.abc import Iterator
from functools import cache
from typing import Any

from msgspec import Struct
from msgspec.inspect import Metadata, StructType, Type, type_info
from msgspec.structs import fields

from libexchange.strict_json import member


def personal_texts(document: Struct) -> Iterator[tuple[str, str]]:
    """Every personal text of a record with the JSON pointer to it, in the order of its fields.

    >>> from libexchange.plan.request import Vehicle
    >>> list(personal_texts(Vehicle(reference="invented 7", model_year=2015)))
    [('/reference', 'invented 7')]
    """
    return _texts_in(document, "", marked=False)


@cache
def _fields(kind: type[Struct]) -> tuple[tuple[str, str, bool], ...]:
    """Name, name in JSON, and whether it is personal, of each field of a record."""
    return tuple(
        (one.name, one.encode_name, _is_marked(type_info(one.type))) for one in fields(kind)
    )


def _is_marked(told: Type) -> bool:
    """Whether a type, or what it is made of short of other records, is marked as personal."""
    if isinstance(told, StructType):
        return False
    if isinstance(told, Metadata) and (told.extra or {}).get("personal"):
        return True
    within = (getattr(told, name) for name in told.__struct_fields__)
    parts = [part for one in within for part in (one if isinstance(one, tuple) else (one,))]
    return any(_is_marked(part) for part in parts if isinstance(part, Type))


def _texts_in(value: Any, at: str, *, marked: bool) -> Iterator[tuple[str, str]]:
    """Every personal text of a value, with its place."""
    if isinstance(value, str):
        if marked:
            yield at, value
    elif isinstance(value, Struct):
        for name, encoded, personal in _fields(type(value)):
            yield from _texts_in(getattr(value, name), f"{at}/{encoded}", marked=personal)
    elif isinstance(value, tuple | list):
        for number, part in enumerate(value):
            yield from _texts_in(part, f"{at}/{number}", marked=marked)
    elif isinstance(value, dict):
        for name, part in value.items():
            yield from _texts_in(part, member(at, name), marked=marked)

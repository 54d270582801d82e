"""Pointers of findings that lead to something in a request as it was sent."""

from collections.abc import Iterable
from functools import cache
from typing import Any

from msgspec import Struct
from msgspec.structs import fields, replace

from libexchange.findings import Finding


def into(request: Struct, findings: Iterable[Finding]) -> list[Finding]:
    """The findings, each pointing to the nearest thing that the request surely holds.

    A field that has its default may not have been sent, so that its finding points to what the
    field belongs to.

    >>> from libexchange.findings import MEMORY, Kind
    >>> class Unit(Struct, frozen=True):
    ...     name: str
    ...     total_l: float | None = None
    >>> kind = Kind(code="total-unknown", severity="note", title="-", remedy="-", source=MEMORY)
    >>> found = [kind.at("#/total_l", "-"), kind.at("#/name", "-")]
    >>> [finding.pointer for finding in into(Unit("A"), found)]
    ['#', '#/name']
    """
    return [replace(one, pointer=_sent(request, one.pointer)) for one in findings]


def _sent(at: Struct, pointer: str) -> str:
    kept = "#"
    for name in pointer.split("/")[1:]:
        value = getattr(at, name)
        if value == _defaults(type(at))[name]:
            return kept
        at, kept = value, f"{kept}/{name}"
    return kept


@cache
def _defaults(record: type[Struct]) -> dict[str, Any]:
    return {field.name: field.default for field in fields(record)}

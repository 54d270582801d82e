"""Pointers of findings that lead to something in the document that is answered."""

from collections.abc import Iterable

from msgspec import Struct
from msgspec.structs import replace

from libexchange.findings import Finding


def pointing_into(
    document: object, findings: Iterable[Finding], *, under: str = "#"
) -> tuple[Finding, ...]:
    """The findings, each pointing to the nearest thing that the document has.

    under: where in the document the part stands that the findings point into

    >>> from libexchange.findings import MEMORY, Kind
    >>> kind = Kind(code="level-odd", severity="note", title="-", remedy="-", source=MEMORY)
    >>> found = [kind.at("#/level/window", "-"), kind.at("#/plan", "-")]
    >>> [one.pointer for one in pointing_into({"job": {"level": None}}, found, under="#/job")]
    ['#/job/level', '#/job']
    """
    return tuple(
        replace(one, pointer=nearest(document, under + one.pointer[1:])) for one in findings
    )


def nearest(document: object, pointer: str) -> str:
    """The longest beginning of a pointer that leads somewhere.

    >>> nearest({"events": ["a"]}, "#/events/1"), nearest({"events": ["a"]}, "#/events/0")
    ('#/events', '#/events/0')
    """
    kept, place = "#", document
    for name in pointer.split("/")[1:]:
        held = _held(place, name)
        if not held:
            return kept
        place, kept = held[0], f"{kept}/{name}"
    return kept


def _held(place: object, name: str) -> tuple[object, ...]:
    """What a place holds by the name that a pointer calls it: one, or nothing."""
    if isinstance(place, Struct):
        return (getattr(place, name),) if name in place.__struct_fields__ else ()
    if isinstance(place, dict):
        return (place[name],) if name in place else ()
    if isinstance(place, list | tuple) and name.isdecimal() and str(int(name)) == name:
        return tuple(place[int(name) : int(name) + 1])
    return ()

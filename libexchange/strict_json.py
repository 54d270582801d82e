"""JSON read so that no two readers disagree: each member once, finite numbers, bounded depth."""

import json
from collections import Counter
from collections.abc import Iterator
from typing import Any

from libexchange.errors import Fault, InvalidInput

DEEPEST = 64
_MOST_DIGITS = 20
"""No number that canonical JSON has is longer [digits]."""


class _Repeated(dict[str, Any]):
    """An object whose text names a member more than once."""

    names: tuple[str, ...] = ()


def read_json(text: bytes) -> Any:
    """The value of a JSON text in UTF-8.

    Raises: InvalidInput with a fault of code `not-json`, or with one `duplicate-name` for each
    member that is named more than once    Source: RFC 8259; RFC 7493 for the members.

    >>> read_json(b'{"a": [1, 2.5]}')
    {'a': [1, 2.5]}
    >>> read_json(b'{"a": {"b": 1, "b": 2}}')
    Traceback (most recent call last):
        ...
    libexchange.errors.InvalidInput: /a/b: the member is named more than once
    """
    try:
        value = _READER.decode(text.decode())
    except (ValueError, RecursionError) as error:
        raise InvalidInput(_not_json("", str(error))) from None
    if faults := list(_faults(value, "", 0)):
        raise InvalidInput(*faults)
    return value


def member(at: str, name: str) -> str:
    """The JSON pointer to a member of what stands at a pointer. Source: RFC 6901.

    >>> member("/a", "b/c~d")
    '/a/b~1c~0d'
    """
    return f"{at}/{name.replace('~', '~0').replace('/', '~1')}"


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members = dict(pairs)
    if len(members) == len(pairs):
        return members
    counts = Counter(name for name, _ in pairs)
    repeated = _Repeated(members)
    repeated.names = tuple(name for name in members if counts[name] > 1)
    return repeated


def _integer(digits: str) -> int:
    if len(digits) > _MOST_DIGITS:
        raise ValueError("a number is too long")
    return int(digits)


def _constant(name: str) -> float:
    raise ValueError(f"{name} is not a JSON number")


_READER = json.JSONDecoder(object_pairs_hook=_object, parse_int=_integer, parse_constant=_constant)


def _faults(value: Any, at: str, depth: int) -> Iterator[Fault]:
    if depth > DEEPEST:
        yield _not_json(at, f"the nesting is deeper than {DEEPEST} levels")
    elif isinstance(value, dict):
        yield from _object_faults(value, at, depth)
    elif isinstance(value, list):
        for number, part in enumerate(value):
            yield from _faults(part, f"{at}/{number}", depth + 1)
    elif isinstance(value, str) and _is_broken(value):
        yield _not_json(at, _HALF)
    elif isinstance(value, float) and value - value != 0:
        yield _not_json(at, "the number is beyond what a double holds")


def _object_faults(value: dict[str, Any], at: str, depth: int) -> Iterator[Fault]:
    if any(_is_broken(name) for name in value):
        yield _not_json(at, _HALF)
        return
    for name in value.names if isinstance(value, _Repeated) else ():
        yield _duplicate(member(at, name))
    for name, part in value.items():
        yield from _faults(part, member(at, name), depth + 1)


_HALF = "a text holds half a surrogate pair"


def _is_broken(text: str) -> bool:
    """Whether a text cannot be written as UTF-8."""
    return not text.isascii() and any("\ud800" <= character <= "\udfff" for character in text)


def _duplicate(at: str) -> Fault:
    return Fault(
        pointer=at,
        code="duplicate-name",
        detail="the member is named more than once",
        allowed="each member once",
        remedy="Take the document as it was handed over.",
    )


def _not_json(at: str, detail: str) -> Fault:
    return Fault(
        pointer=at,
        code="not-json",
        detail=detail,
        allowed="one JSON value in UTF-8",
        remedy="Take the document as it was handed over.",
    )

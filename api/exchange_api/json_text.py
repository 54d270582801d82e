"""JSON text, read strictly: what the grammar allows but no two readers agree on is refused.

Members named twice, NaN and Infinity, control characters, half surrogate pairs, integers beyond
64 bits and endless nesting are found here, each with its place.
"""

import json
import re
from collections.abc import Iterator
from typing import Any, NoReturn

from msgspec import Struct

from exchange_api.problems import Problem
from libexchange.errors import Fault

DEEPEST = 64
_INT64 = range(-(2**63), 2**63)
_DIGITS_OF_INT64 = 19
_UNPRINTABLE = re.compile("[\x00-\x1f\x7f\ud800-\udfff]")
_PLAIN = frozenset({int, bool, type(None)})
_SYNTAX = frozenset({"not-finite", "repeated-member", "too-deep"})


class RepeatedMembers(dict[str, Any]):
    """An object whose text names a member more than once."""

    names: tuple[str, ...] = ()


class HugeInteger(str):
    """The digits of an integer beyond 64 bits."""

    __slots__ = ()


class Parsed(Struct, frozen=True):
    """A parsed text; `suspect` when it may hold something that `irregularities` lists."""

    value: Any
    suspect: bool


def parse(raw: bytes) -> Parsed:
    """Parse a whole JSON text.

    Raises: Problem `malformed-json` when it is empty, not UTF-8, not JSON or far too deep.

    >>> parse(b'{"a": 1}').value
    {'a': 1}
    """
    if not raw.strip():
        _refuse(
            "empty", "the body is empty", "one JSON value", "Send the JSON that is described.", raw
        )
    reader = _Reader()
    try:
        value = reader.decode(raw.decode())
    except UnicodeDecodeError as error:
        detail, near = f"byte {error.start} is not UTF-8", raw[error.start :]
        _refuse("not-utf-8", detail, "UTF-8", "Encode it as UTF-8.", near)
    except json.JSONDecodeError as error:
        detail = f"{error.msg} at line {error.lineno}, column {error.colno}"
        near = error.doc[error.pos :].encode()
        _refuse("syntax", detail, "one JSON value", "Let a JSON library write it.", near)
    except RecursionError:
        _refuse(*_TOO_DEEP, raw)
    return Parsed(value, reader.suspect or b"\\" in raw or b"\x7f" in raw)


class _Reader(json.JSONDecoder):
    """The standard parser with markers for what it would silently settle."""

    def __init__(self) -> None:
        super().__init__(
            object_pairs_hook=self._object, parse_int=self._integer, parse_constant=self._constant
        )
        self.suspect = False

    def _object(self, pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        members = dict(pairs)
        if len(members) == len(pairs):
            return members
        self.suspect = True
        marked = RepeatedMembers(members)
        names = [name for name, _ in pairs]
        marked.names = tuple(name for name in members if names.count(name) > 1)
        return marked

    def _integer(self, digits: str) -> int | HugeInteger:
        if len(digits) < _DIGITS_OF_INT64 or (
            len(digits) <= _DIGITS_OF_INT64 + 1 and int(digits) in _INT64
        ):
            return int(digits)
        self.suspect = True
        return HugeInteger(digits)

    def _constant(self, name: str) -> float:
        self.suspect = True
        return float(name)


def irregularities(value: Any, at: str = "", depth: int = 0) -> Iterator[Fault]:
    """Everything in a parsed value that is refused whatever the type; pointers begin with `at`."""
    if depth > DEEPEST:
        yield _fault(at, *_TOO_DEEP, value)
        return
    match value:
        case HugeInteger():
            yield _fault(
                at,
                "out-of-range",
                "the integer is huge",
                _INT64_TEXT,
                "Give a smaller integer.",
                value,
            )
        case str() if _UNPRINTABLE.search(value):
            yield _fault(at, *_CONTROL, value)
        case float() if value - value != 0:
            yield _fault(at, "not-finite", f"{value} is not finite", "a finite number", _FIN, value)
        case dict():
            yield from _in_object(value, at, depth)
        case list():
            for index, item in enumerate(value):
                yield from irregularities(item, f"{at}/{index}", depth + 1)


def _in_object(value: dict[str, Any], at: str, depth: int) -> Iterator[Fault]:
    if isinstance(value, RepeatedMembers):
        for name in value.names:
            detail = f"{name!r} is given more than once"
            allowed = "each member once"
            yield _fault(member(at, name), "repeated-member", detail, allowed, _ONCE, value[name])
    for name, part in value.items():
        if _UNPRINTABLE.search(name):
            yield _fault(member(at, name), *_CONTROL, name)
        if depth >= DEEPEST or not _is_plain(part):  # a pointer for each would take half the time
            yield from irregularities(part, member(at, name), depth + 1)


def _is_plain(value: Any) -> bool:
    """Whether a value is surely regular, which most are."""
    kind = type(value)
    return kind in _PLAIN or (kind is str and not _UNPRINTABLE.search(value))


def is_syntax(faults: list[Fault]) -> bool:
    """Whether one of the faults already breaks the text, rather than its meaning."""
    return any(fault.code in _SYNTAX for fault in faults)


def member(at: str, name: str) -> str:
    """The JSON pointer (RFC 6901) to a member.

    >>> member("/a", "b/c~d")
    '/a/b~1c~0d'
    """
    escaped = name.replace("~", "~0").replace("/", "~1")
    return f"{at}/{_UNPRINTABLE.sub('?', escaped)}"


_SHOWN_BYTES = 24
_INT64_TEXT = "-9223372036854775808 to 9223372036854775807"
_FIN = "Leave the member out when the number is not known."
_ONCE = "Keep one of them."
_CONTROL = (
    "control-character",
    "the text holds a control character or half a surrogate pair",
    "printable text",
    "Remove line breaks, tabs, NUL and the like.",
)
_TOO_DEEP = ("too-deep", "the nesting is too deep", f"{DEEPEST} levels", "Flatten it.")


def _fault(at: str, code: str, detail: str, allowed: str, remedy: str, value: Any) -> Fault:
    return Fault(pointer=at, code=code, detail=detail, value=value, allowed=allowed, remedy=remedy)


def _refuse(code: str, detail: str, allowed: str, remedy: str, near: bytes) -> NoReturn:
    """Refuse the whole text; `near` is what stands from the fault on."""
    value = near[:_SHOWN_BYTES].decode("utf-8", "backslashreplace")
    raise Problem(
        "malformed-json",
        f"{detail.capitalize()}.",
        errors=[_fault("", code, detail, allowed, remedy, value)],
    )

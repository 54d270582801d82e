"""How types, values and faults are told to a person."""

from collections.abc import Callable, Iterable
from difflib import get_close_matches
from typing import Any

from msgspec import UNSET, inspect

from exchange_api.json_text import HugeInteger, member
from libexchange.errors import Fault


def _is_text(value: Any) -> bool:
    return isinstance(value, str) and not isinstance(value, HugeInteger)


def _is_integer(value: Any) -> bool:
    return isinstance(value, HugeInteger) or (
        isinstance(value, int) and not isinstance(value, bool)
    )


def _is_number(value: Any) -> bool:
    return isinstance(value, float) or _is_integer(value)


def _is_object(value: Any) -> bool:
    return isinstance(value, dict)


def _is_list(value: Any) -> bool:
    return isinstance(value, list)


_KINDS: dict[type[inspect.Type], tuple[Callable[[Any], bool], str]] = {
    inspect.NoneType: (lambda value: value is None, "null"),
    inspect.BoolType: (lambda value: isinstance(value, bool), "true or false"),
    inspect.IntType: (_is_integer, "an integer"),
    inspect.FloatType: (_is_number, "a number"),
    inspect.StrType: (_is_text, "a string"),
    inspect.DateTimeType: (_is_text, "a time with offset (RFC 3339)"),
    inspect.DateType: (_is_text, "a date (YYYY-MM-DD)"),
    inspect.UUIDType: (_is_text, "a UUID"),
    inspect.BytesType: (_is_text, "base64 text"),
    inspect.StructType: (_is_object, "an object"),
    inspect.DictType: (_is_object, "an object"),
    inspect.ListType: (_is_list, "a list"),
    inspect.VarTupleType: (_is_list, "a list"),
    inspect.TupleType: (_is_list, "a list"),
    inspect.SetType: (_is_list, "a list"),
}


def fits(value: Any, kind: inspect.Type) -> bool:
    """Whether a value is of the JSON type that a type is written in; its content is not asked."""
    match kind:
        case inspect.Metadata():
            return fits(value, kind.type)
        case inspect.UnionType():
            return any(fits(value, part) for part in kind.types)
        case inspect.LiteralType():
            return type(value) in {type(choice) for choice in kind.values}
        case inspect.EnumType():
            return type(value) in {type(choice.value) for choice in kind.cls}
    test, _ = _KINDS.get(type(kind), (lambda _: True, ""))
    return test(value)


def type_words(kind: inspect.Type) -> str:
    """What a type accepts, in words.

    >>> type_words(inspect.type_info(int | None))
    'an integer or null'
    """
    match kind:
        case inspect.Metadata():
            return type_words(kind.type)
        case inspect.UnionType():
            return " or ".join(dict.fromkeys(type_words(part) for part in kind.types))
        case inspect.LiteralType():
            return ", ".join(str(choice) for choice in kind.values)
        case inspect.EnumType():
            return ", ".join(str(choice.value) for choice in kind.cls)
    return _KINDS.get(type(kind), (None, "any value"))[1]


def json_word(value: Any) -> str:
    """What a value is in JSON.

    >>> json_word(True), json_word("3"), json_word(3)
    ('true', 'a string', 'an integer')
    """
    match value:
        case None:
            return "null"
        case bool():
            return str(value).lower()
        case HugeInteger() | int():
            return "an integer"
        case float():
            return "a number"
        case str():
            return "a string"
    return "an object" if isinstance(value, dict) else "a list"


def bounds_text(kind: inspect.IntType | inspect.FloatType) -> str:
    """The range of a number.

    >>> from typing import Annotated
    >>> from msgspec import Meta
    >>> bounds_text(inspect.type_info(Annotated[int, Meta(gt=0, le=4)]))
    'above 0, at most 4'
    >>> bounds_text(inspect.type_info(Annotated[int, Meta(ge=0, le=2147483647)]))
    'at least 0, at most 2147483647'
    """
    edges = (
        ("above", kind.gt),
        ("at least", kind.ge),
        ("below", kind.lt),
        ("at most", kind.le),
        ("a multiple of", kind.multiple_of),
    )
    return ", ".join(f"{words} {_exact(edge)}" for words, edge in edges if edge is not None)


def _exact(edge: float) -> str:
    """A bound with all its digits, in plain figures where it is a whole number."""
    return str(int(edge)) if edge == int(edge) and abs(edge) < 1e16 else repr(edge)


def nearest(given: str, choices: Iterable[str]) -> str:
    """What to do about a word that is none of the choices.

    >>> nearest("l", ["L", "mL"])
    "Did you mean 'L'? Case matters."
    """
    known = {choice.lower(): choice for choice in choices}
    close = get_close_matches(given.lower(), list(known), n=1)
    return f"Did you mean {known[close[0]]!r}? Case matters." if close else "Use one of these."


def fault(at: str, code: str, detail: str, allowed: str, remedy: str, value: Any = UNSET) -> Fault:
    """A fault at a pointer; `value` is what was given, if anything was."""
    return Fault(pointer=at, code=code, detail=detail, value=value, allowed=allowed, remedy=remedy)


def wrong_type(value: Any, kind: inspect.Type, at: str) -> Fault:
    """A value of another JSON type than the field takes."""
    words = type_words(kind)
    is_quoted = isinstance(value, str) and words.startswith(("a number", "an integer"))
    remedy = "Send it as a number, without quotes." if is_quoted else f"Send {words}."
    return fault(at, "wrong-type", f"{json_word(value)} was given", words, remedy, value)


def missing(name: str, at: str) -> Fault:
    """A member that must be there."""
    where = member(at, name)
    return fault(where, "missing-field", f"{name!r} is missing", "the field", f"Add {name!r}.")


def unknown_field(name: str, value: Any, known: list[str], at: str) -> Fault:
    """A member that the record does not have."""
    remedy = f"Leave it out. {nearest(name, known)}"
    detail = f"there is no field {name!r}"
    return fault(member(at, name), "unknown-field", detail, ", ".join(known), remedy, value)


def unknown_kind(given: Any, known: Iterable[Any], at: str) -> Fault:
    """A tag that names none of the records of a union."""
    words = [str(tag) for tag in known]
    detail = f"{given!r} is no kind of this record"
    return fault(at, "unknown-kind", detail, ", ".join(words), nearest(str(given), words), given)

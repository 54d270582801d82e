"""Every fault of a parsed JSON value against a type, where msgspec would stop at the first.

Runs only when decoding has failed, so it may take its time. It walks the value along the type and
builds each record whose members are sound, so that what a record itself refuses is found too.
"""

import re
from collections.abc import Iterator
from datetime import date, datetime
from functools import lru_cache
from itertools import islice
from typing import Any
from uuid import UUID

import msgspec
from msgspec import UNSET, inspect
from msgspec.structs import replace

from exchange_api.fault_words import (
    bounds_text,
    fault,
    fits,
    missing,
    nearest,
    type_words,
    unknown_field,
    unknown_kind,
    wrong_type,
)
from exchange_api.json_text import HugeInteger, member
from libexchange.errors import Fault, InvalidInput, OutOfRange

MOST_FAULTS = 100

_IN_RANGE = "Give a number within the range; check its unit."

type_info = lru_cache(maxsize=512)(inspect.type_info)


def faults_of(value: Any, kind: Any) -> list[Fault]:
    """What is wrong with a value for a type, at most 100 faults; empty when it decodes."""
    found = list(islice(_walk(value, type_info(kind), ""), MOST_FAULTS))
    return found or list(_built(value, kind, ""))


def _walk(value: Any, kind: inspect.Type, at: str) -> Iterator[Fault]:
    kind = _bare(kind)
    if isinstance(kind, inspect.UnionType):
        yield from _union(value, kind, at)
    elif not fits(value, kind):
        yield wrong_type(value, kind, at)
    elif isinstance(kind, inspect.StructType):
        yield from _struct(value, kind, at)
    elif isinstance(kind, inspect.DictType):
        yield from _dict(value, kind, at)
    elif isinstance(kind, inspect.ListType | inspect.VarTupleType | inspect.SetType):
        yield from _list(value, kind, at)
    else:
        yield from _leaf(value, kind, at)


def _bare(kind: inspect.Type) -> inspect.Type:
    return _bare(kind.type) if isinstance(kind, inspect.Metadata) else kind


def _union(value: Any, kind: inspect.UnionType, at: str) -> Iterator[Fault]:
    parts = [part for part in map(_bare, kind.types) if fits(value, part)]
    records = [part for part in parts if isinstance(part, inspect.StructType)]
    if not parts:
        yield wrong_type(value, kind, at)
    elif len(records) > 1:
        yield from _tagged(value, records, at)
    else:
        yield from _walk(value, parts[0], at)


def _tagged(value: Any, records: list[inspect.StructType], at: str) -> Iterator[Fault]:
    field = str(records[0].tag_field)
    tags = {record.tag: record for record in records}
    given = value.get(field, UNSET)
    if given is UNSET:
        yield missing(field, at)
    elif isinstance(given, str) and given in tags:
        yield from _walk(value, tags[given], at)
    else:
        yield unknown_kind(given, tags, member(at, field))


def _struct(value: dict[str, Any], kind: inspect.StructType, at: str) -> Iterator[Fault]:
    found = list(islice(_members(value, kind, at), MOST_FAULTS))
    yield from found or _built(value, kind.cls, at)


def _members(value: dict[str, Any], kind: inspect.StructType, at: str) -> Iterator[Fault]:
    fields = {field.encode_name: field for field in kind.fields}
    if kind.tag_field is not None and value.get(kind.tag_field, kind.tag) != kind.tag:
        yield unknown_kind(value[kind.tag_field], [kind.tag], member(at, kind.tag_field))
    if kind.forbid_unknown_fields:
        known = [*fields, *([kind.tag_field] if kind.tag_field else [])]
        unknown = [name for name in value if name not in known]
        yield from (unknown_field(name, value[name], known, at) for name in unknown)
    for name, field in fields.items():
        if name in value:
            yield from _walk(value[name], field.type, member(at, name))
        elif field.required:
            yield missing(name, at)


def _dict(value: dict[str, Any], kind: inspect.DictType, at: str) -> Iterator[Fault]:
    yield from _length(value, kind, at)
    for name, part in value.items():
        yield from _walk(name, kind.key_type, member(at, name))
        yield from _walk(part, kind.value_type, member(at, name))


def _list(
    value: list[Any], kind: inspect.ListType | inspect.VarTupleType | inspect.SetType, at: str
) -> Iterator[Fault]:
    yield from _length(value, kind, at)
    for index, item in enumerate(value):
        yield from _walk(item, kind.item_type, f"{at}/{index}")


def _leaf(value: Any, kind: inspect.Type, at: str) -> Iterator[Fault]:
    match kind:
        case inspect.IntType() | inspect.FloatType() if not isinstance(value, HugeInteger):
            yield from _bounds(value, kind, at)
        case inspect.StrType():
            yield from _length(value, kind, at)
            yield from _pattern(value, kind, at)
        case inspect.LiteralType() | inspect.EnumType():
            yield from _choice(value, kind, at)
        case inspect.DateTimeType() | inspect.DateType() | inspect.UUIDType():
            yield from _formatted(value, kind, at)


def _bounds(value: float, kind: inspect.IntType | inspect.FloatType, at: str) -> Iterator[Fault]:
    low, high = (
        kind.ge if kind.ge is not None else kind.gt,
        kind.le if kind.le is not None else kind.lt,
    )
    is_low = low is not None and (value < low or (value == low and kind.ge is None))
    is_high = high is not None and (value > high or (value == high and kind.le is None))
    if is_low or is_high:
        allowed = bounds_text(kind)
        yield fault(at, "out-of-range", f"{value} is out of range", allowed, _IN_RANGE, value)


def _length(value: Any, kind: Any, at: str) -> Iterator[Fault]:
    size, unit = len(value), "characters" if isinstance(value, str) else "entries"
    allowed = f"{kind.min_length or 0} to {kind.max_length or 'any number of'} {unit}"
    if kind.min_length is not None and size < kind.min_length:
        yield fault(at, "too-short", f"there are {size} {unit}", allowed, "Say more.", value)
    if kind.max_length is not None and size > kind.max_length:
        yield fault(at, "too-long", f"there are {size} {unit}", allowed, "Shorten it.", value)


def _pattern(value: str, kind: inspect.StrType, at: str) -> Iterator[Fault]:
    if kind.pattern is not None and not re.search(kind.pattern, value):
        detail = "the text has the wrong form"
        yield fault(at, "pattern", detail, kind.pattern, "Write it in that form.", value)


def _choice(value: Any, kind: inspect.LiteralType | inspect.EnumType, at: str) -> Iterator[Fault]:
    choices = kind.values if isinstance(kind, inspect.LiteralType) else [e.value for e in kind.cls]
    if value not in choices:
        noun = "unit" if at.endswith("/unit") else "value"
        yield fault(
            at, f"unknown-{noun}", f"{value!r} is no {noun} of this field", type_words(kind),
            nearest(str(value), [str(choice) for choice in choices]), value,
        )  # fmt: skip


def _formatted(value: str, kind: inspect.Type, at: str) -> Iterator[Fault]:
    python_type, noun = _FORMS[type(kind)]
    try:
        read: object = msgspec.convert(value, python_type)
    except msgspec.ValidationError:
        yield fault(
            at, f"malformed-{noun}", f"this is no {noun}", type_words(kind),
            f"Write it as {type_words(kind)}.", value,
        )  # fmt: skip
    else:
        if isinstance(read, datetime) and read.tzinfo is None and getattr(kind, "tz", None):
            remedy = "Add Z or the offset, such as +01:00."
            yield fault(at, "naive-time", "no offset from UTC", type_words(kind), remedy, value)


_FORMS: dict[type[inspect.Type], tuple[type, str]] = {
    inspect.DateTimeType: (datetime, "time"),
    inspect.DateType: (date, "date"),
    inspect.UUIDType: (UUID, "uuid"),
}


def _built(value: Any, kind: Any, at: str) -> Iterator[Fault]:
    """What the type itself refuses, though every member is sound."""
    try:
        msgspec.convert(value, kind)
    except InvalidInput as error:
        yield from _moved(error, at)
    except msgspec.ValidationError as error:
        yield from _refusal(error, kind, at, value)


def _refusal(error: msgspec.ValidationError, kind: Any, at: str, value: Any) -> Iterator[Fault]:
    message, place = _split(str(error))
    match error.__cause__:
        case InvalidInput() as cause:
            yield from _moved(cause, at + place)
        case OutOfRange() as cause:
            named = cause.name in getattr(kind, "__struct_fields__", ())
            where = member(at + place, cause.name) if named else at + place
            yield fault(where, "out-of-range", str(cause), cause.allowed, _IN_RANGE, cause.value)
        case _:
            remedy = "Read what is described for this record."
            yield fault(at + place, "invalid", message, "what the record describes", remedy, value)


def _moved(error: InvalidInput, at: str) -> Iterator[Fault]:
    for inner in error.faults:
        yield replace(inner, pointer=at + inner.pointer.removeprefix("#"))


def _split(message: str) -> tuple[str, str]:
    """The text and the pointer of msgspec's own message, `text - at `$.a[0].b``."""
    text, _, path = message.partition(" - at `$")
    steps = re.findall(r"\.([^.\[`]+)|\[([0-9]+)\]", path)
    return text, "".join(f"/{name or index}" for name, index in steps)

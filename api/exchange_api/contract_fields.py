"""What each field of a record means: read from the record's docstring, told beside the field."""

import inspect
import re
from collections.abc import Collection, Iterator
from typing import Any

import msgspec

_ENTRY = re.compile(r"([a-z]\w*(?:, [a-z]\w*)*): +(\S.*)")
_GAP = re.compile(r"(\n *| {4,})")


def split_fields(docstring: str, names: Collection[str]) -> tuple[str, dict[str, str]]:
    r"""What a docstring says of all, and what it says of each field that has an entry.

    names: fields of the record; other words before a colon are no entry

    An entry is `name: meaning` or `name, name: meaning`, at the start of a line or after four
    spaces; a line that begins no entry continues the one before it.

    >>> split_fields("A look.\n\nslope: of the\nvehicle    level: [L]    Source: memory.",
    ...              ("slope", "level"))
    ('A look.\n\nSource: memory.', {'slope': 'of the vehicle', 'level': '[L]'})
    """
    entries: dict[str, str] = {}
    paragraphs = [_paragraph(part, names, entries) for part in docstring.split("\n\n")]
    return "\n\n".join(part for part in paragraphs if part), entries


def _paragraph(text: str, names: Collection[str], entries: dict[str, str]) -> str:
    """What no entry of a paragraph says; the entries are put into `entries`."""
    left = ""
    current: list[str] = []
    for gap, part in _parts(text):
        found = _ENTRY.fullmatch(part)
        if found and set(current_names := found[1].split(", ")) <= set(names):
            current = current_names
            entries |= dict.fromkeys(current, found[2])
        elif current and gap.startswith("\n") and not re.match("(Raises|Returns|Source)", part):
            entries |= {name: f"{entries[name]} {part}" for name in current}
        else:
            current = []
            left += (gap if left else "") + part
    return left


def _parts(text: str) -> Iterator[tuple[str, str]]:
    """The pieces of a paragraph, each with the gap before it."""
    pieces = _GAP.split("\n" + text.strip())
    lines = zip(pieces[1::2], pieces[2::2], strict=True)
    return ((gap, part.strip()) for gap, part in lines if part.strip())


def describe_fields(types: list[Any], components: dict[str, Any]) -> None:
    """Give each property of the schemas what the docstring of its record, or of a base, says.

    What a property's own type says of it wins.
    """
    for name, kind in _records(types).items():
        if name in components and "properties" in components[name]:
            _describe(kind, components[name])


def _describe(kind: type[msgspec.Struct], schema: dict[str, Any]) -> None:
    properties = schema["properties"]
    meanings: dict[str, str] = {}
    for base in reversed(kind.__mro__):
        if issubclass(base, msgspec.Struct) and (told := base.__dict__.get("__doc__")):
            left, entries = split_fields(inspect.cleandoc(told).partition(">>>")[0], properties)
            meanings |= entries
            if base is kind and "description" in schema:
                schema["description"] = left
    if tag := kind.__struct_config__.tag_field:
        meanings.setdefault(tag, "which of the records that may stand here this is")
    for name, meaning in meanings.items():
        properties[name].setdefault("description", meaning)


def _records(types: list[Any]) -> dict[str, type[msgspec.Struct]]:
    """The records that types are made of, by name."""
    found: dict[str, type[msgspec.Struct]] = {}
    seen: set[int] = set()
    waiting: list[Any] = list(msgspec.inspect.multi_type_info(types))
    while waiting:
        part = waiting.pop()
        if isinstance(part, tuple):
            waiting.extend(part)
        elif (
            isinstance(part, msgspec.inspect.Type | msgspec.inspect.Field) and id(part) not in seen
        ):
            seen.add(id(part))
            if isinstance(part, msgspec.inspect.StructType):
                found[part.cls.__name__] = part.cls
            waiting.extend(getattr(part, name) for name in part.__struct_fields__)
    return found

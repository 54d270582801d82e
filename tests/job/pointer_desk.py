"""Pointers of a JSON document, resolved by the words of RFC 6901 and not by the library."""

from collections.abc import Iterator
from typing import Any


def pointers(document: Any, *, apart: tuple[str, ...] = ()) -> Iterator[str]:
    """Every pointer of every finding in a document, but those under the members `apart`."""
    if isinstance(document, dict):
        if "pointer" in document and "severity" in document:
            yield document["pointer"]
        for name, member in document.items():
            if name not in apart:
                yield from pointers(member)
    elif isinstance(document, list):
        for item in document:
            yield from pointers(item)


def leads_nowhere(document: Any, *, apart: tuple[str, ...] = ()) -> list[str]:
    """The pointers that lead to nothing in the document."""
    return [one for one in pointers(document, apart=apart) if not _resolves(document, one)]


def _resolves(document: Any, pointer: str) -> bool:
    whole, *names = pointer.split("/")
    assert whole == "#", pointer
    for name in names:
        try:
            document = document[int(name)] if isinstance(document, list) else document[name]
        except (KeyError, IndexError, ValueError, TypeError):
            return False
    return True

"""Pages by keyset: an opaque cursor says after which row the next page begins."""

from base64 import urlsafe_b64decode, urlsafe_b64encode
from binascii import Error as NotBase64
from collections.abc import Callable, Sequence
from hashlib import sha256
from typing import Annotated, Any, TypeVar

import msgspec
from msgspec import Meta, Struct

from exchange_api.problems import Problem, parameter_fault

T = TypeVar("T")

Limit = Annotated[int, Meta(ge=1, le=200, description="How many items a page has at most.")]
Cursor = Annotated[
    str,
    Meta(
        min_length=1,
        max_length=1024,
        pattern=r"^[A-Za-z0-9_-]+(?!\n)$",
        description="The `next_cursor` of the page before, with the same filters.",
    ),
]


class _Position(Struct, frozen=True, array_like=True, forbid_unknown_fields=True):
    bound_to: str
    keys: tuple[str, ...]


def cursor(keys: Sequence[str], *, operation_id: str, filters: Any) -> str:
    """The cursor after a row with these keyset values; it serves these filters alone.

    >>> at = cursor(["2026-03-01", "a"], operation_id="listPlans", filters={"route": "drain"})
    >>> position(at, operation_id="listPlans", filters={"route": "drain"}, width=2)
    ('2026-03-01', 'a')
    """
    raw = msgspec.json.encode(_Position(_binding(operation_id, filters), tuple(keys)))
    return urlsafe_b64encode(raw).decode().rstrip("=")


def position(text: str, *, operation_id: str, filters: Any, width: int) -> tuple[str, ...]:
    """The keyset values of a cursor. Raises: Problem 400 when it is not one for this request."""
    try:
        raw = urlsafe_b64decode(text + "=" * (-len(text) % 4))
        found = msgspec.json.decode(raw, type=_Position)
    except (NotBase64, msgspec.DecodeError, UnicodeError, RecursionError, ValueError):
        raise wrong_cursor("the cursor is damaged") from None
    if found.bound_to != _binding(operation_id, filters) or len(found.keys) != width:
        raise wrong_cursor("the cursor belongs to another request")
    if not all(key.isprintable() for key in found.keys):
        raise wrong_cursor("the cursor is damaged")
    return found.keys


def page_of(
    rows: Sequence[T], *, limit: int, keys: Callable[[T], Sequence[str]],
    operation_id: str, filters: Any,
) -> tuple[Sequence[T], str | None]:  # fmt: skip
    """The page and its next cursor, from `limit + 1` rows; None when no row is left."""
    if len(rows) <= limit:
        return rows, None
    page = rows[:limit]
    return page, cursor(keys(page[-1]), operation_id=operation_id, filters=filters)


def _binding(operation_id: str, filters: Any) -> str:
    raw = msgspec.json.encode([operation_id, filters], order="sorted")
    return sha256(raw).hexdigest()[:16]


def wrong_cursor(detail: str) -> Problem:
    """The problem of a cursor that cannot be used."""
    error = parameter_fault(
        "query", "cursor", code="wrong-cursor", detail=detail,
        allowed="the next_cursor of the page before, with the same filters",
        remedy="Begin again without a cursor.",
    )  # fmt: skip
    return Problem("invalid-parameter", "The cursor does not fit.", errors=[error])

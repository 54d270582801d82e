"""What the catalogue's resources have in common: read, write and search entries of a kind."""

import re
from collections.abc import Callable, Iterable
from typing import Any

from litestar import Response
from msgspec import Raw, Struct

from exchange_api import catalogue_store as store
from exchange_api.bodies import body
from exchange_api.catalogue_records import CatalogueRecord, EntryKind
from exchange_api.changing import change
from exchange_api.conditional import check_if_match, matches_weakly, not_modified, tags
from exchange_api.paging import page_of, position
from exchange_api.problems import Problem, parameter_fault
from exchange_api.security import principal
from exchange_api.serving import Request, answer, nothing_at, operation_of, service
from libexchange.errors import Fault, InvalidInput
from libexchange.fields import SLUG_PATTERN

PUT_DESCRIPTION = (
    "Send `If-Match` with the ETag that was read to change an entry; without it the answer is 428. "
    "Where there is none yet no header is needed; `If-None-Match: *` makes sure that there is "
    "none, else the answer is 412. The id in the body is the one in the path. A key of the "
    "administrator writes what all workshops see, any other key the entry of its own workshop, "
    "which from then on hides the installation's entry of that id. Every version is kept; the "
    "same content again makes no new one."
)

_BATCH = 200


class _Page(Struct, frozen=True):
    items: list[Raw]
    next_cursor: str | None


def owner_of(request: Request) -> str:
    """Whose entries the caller writes and, before the installation's, sees."""
    holder = principal(request)
    return store.INSTALLATION if holder.administrator else holder.workshop_id


async def read_entry(request: Request, kind: EntryKind) -> Response[bytes]:
    """The entry that the path names. Raises: Problem 404."""
    unit = store.visible(kind, owner=owner_of(request), entry_id=_entry_id(request, kind))
    kept = await service(request).database.read(unit)
    if kept is None:
        raise nothing_at(kind.id_field, request.path_params[kind.id_field])
    unchanged = not_modified(request, kept.etag)
    return unchanged or answer(kept.document, headers={"ETag": kept.etag})


async def write_entry(request: Request, kind: EntryKind) -> Response[bytes]:
    """Write the entry that the path names. Raises: Problem 404, 412, 422, 428."""
    entry_id = _entry_id(request, kind)
    record: CatalogueRecord = await body(request, kind.record)
    if kind.entry_id(record) != entry_id:
        raise InvalidInput(_other_id(kind, record, entry_id))
    owner = owner_of(request)
    unit = store.keep(
        kind,
        record,
        owner=owner,
        now=service(request).outside.now(),
        check=lambda seen: check_write(request, seen.etag if seen else None),
    )
    written = await change(request, unit, lambda made: store.trace(kind, made), owner=owner)
    return _written(request, written)


def _written(request: Request, written: store.Change) -> Response[bytes]:
    headers = {"ETag": written.kept.etag}
    if written.seen is not None:
        return answer(written.kept.document, headers=headers)
    return answer(
        written.kept.document, status=201, headers=headers | {"Location": request.url.path}
    )


def check_write(request: Request, current: str | None) -> None:
    """Bar a write whose conditions do not hold; `current` is None when nothing is there.

    Raises: Problem 428 when something is there and no header says it was seen, else 412.
    """
    unless = request.headers.get("if-none-match", "")
    is_creation = unless.strip() == "*"
    if "if-match" in request.headers or (current is not None and not is_creation):
        check_if_match(request, current)
    if current is None:
        return
    if is_creation or any(matches_weakly(tag, current) for tag in tags(unless)):
        raise _is_there(unless, current)


def _is_there(given: str, current: str) -> Problem:
    detail = "If-None-Match bars the change: there is such an entry already."
    error = parameter_fault(
        "header", "If-None-Match", code="stale", detail=detail, value=given,
        allowed=f"another version than {current}",
        remedy="Read the entry, and change it with If-Match.",
    )  # fmt: skip
    return Problem("stale", detail, errors=[error])


async def list_entries(
    request: Request,
    kind: EntryKind,
    wanted: Any,
    *,
    words: Iterable[str | None] = (),
    family: str | None = None,
    fits: Callable[[Any], bool] = lambda _: True,
) -> Response[bytes]:
    """A page of the entries that hold all words and fit, by id.

    wanted: the query, of which everything but `cursor` and `limit` filters
    words: what an entry's search text must hold    fits: what its record must fulfil besides
    """
    filters = {name: getattr(wanted, name) for name in _filters(wanted)}
    bound: dict[str, Any] = {"operation_id": operation_of(request).operation_id, "filters": filters}
    after = position(wanted.cursor, width=1, **bound)[0] if wanted.cursor else ""
    parts = _parts(words)
    found = await _matching(
        request,
        kind,
        lambda record: _holds(kind, record, parts) and fits(record),
        after=after,
        count=wanted.limit + 1,
        sieve={"part": parts[0] if parts else "", "family": family},
    )
    kept, cursor = page_of(found, limit=wanted.limit, keys=lambda one: [one.entry_id], **bound)
    return answer(_Page([Raw(one.document) for one in kept], cursor))


async def _matching(
    request: Request,
    kind: EntryKind,
    fits: Callable[[CatalogueRecord], bool],
    *,
    after: str,
    count: int,
    sieve: dict[str, Any],
) -> list[store.Kept]:
    """At most `count` entries that fit; the database sieves first, batch by batch."""
    rows, owner, found = max(count, _BATCH), owner_of(request), list[store.Kept]()
    while len(found) < count:
        unit = store.page(kind, owner=owner, after=after, rows=rows, **sieve)
        batch = await service(request).database.read(unit)
        found += [one for one in batch if fits(store.entry_of(kind, one).entry)]
        if len(batch) < rows:
            break
        after = batch[-1].entry_id
    return found[:count]


def _filters(wanted: Struct) -> list[str]:
    return [name for name in wanted.__struct_fields__ if name not in {"cursor", "limit"}]


def _parts(words: Iterable[str | None]) -> list[str]:
    """Lower-case pieces that must all be there, the longest and so the rarest first.

    >>> _parts(["Nine speed", None, "SPEED"])
    ['speed', 'nine']
    """
    parts = {part for text in words if text for part in text.casefold().split()}
    return sorted(parts, key=lambda part: (-len(part), part))


def _holds(kind: EntryKind, record: CatalogueRecord, parts: list[str]) -> bool:
    text = kind.search_text(record)
    return all(part in text for part in parts)


def _entry_id(request: Request, kind: EntryKind) -> str:
    given: str = request.path_params[kind.id_field]
    if re.search(SLUG_PATTERN, given):
        return given
    raise nothing_at(kind.id_field, given)


def _other_id(kind: EntryKind, record: CatalogueRecord, entry_id: str) -> Fault:
    return Fault(
        pointer=f"/{kind.id_field}",
        code="differs-from-path",
        detail="the body names another entry than the path",
        value=kind.entry_id(record),
        allowed=entry_id,
        remedy="Use one id in both places.",
    )

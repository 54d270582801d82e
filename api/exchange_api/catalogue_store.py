"""How the catalogue is kept: every version of every entry, installation-wide or of a workshop.

A workshop sees its own entries and, where it has none of that id, the installation's.
"""

from collections.abc import Callable
from datetime import datetime
from typing import Any

import msgspec
from msgspec import Struct
from sqlalchemy import (
    ColumnElement,
    and_,
    bindparam,
    exists,
    func,
    literal_column,
    or_,
    select,
    union_all,
    update,
)
from sqlalchemy.dialects.postgresql import insert

from exchange_api.audit import Trace, digest_of
from exchange_api.bodies import decoder
from exchange_api.catalogue_records import (
    ADDITIVE,
    FLUID,
    TRANSMISSION,
    CatalogueRecord,
    Entry,
    EntryKind,
    Scope,
)
from exchange_api.conditional import etag
from exchange_api.outside import as_stamp
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import CATALOGUE_ENTRIES as ENTRIES
from exchange_api.storage.units import Connection, StorageUnavailable, Unit
from libexchange.catalogue import Additive, FluidProduct, TransmissionProfile
from libexchange.plan.records import CatalogueVersion

INSTALLATION = ""
"""The owner of what belongs to the whole installation."""


class Kept(Struct, frozen=True, kw_only=True):
    """An entry as it is answered: `document` holds the bytes."""

    owner: str
    entry_id: str
    etag: str
    document: bytes


class Change(Struct, frozen=True, kw_only=True):
    """What came of writing an entry: `seen` is what the writer saw there before."""

    kept: Kept
    seen: Kept | None
    changed: bool


_COLUMNS = (ENTRIES.c.workshop_id, ENTRIES.c.entry_id, ENTRIES.c.etag, ENTRIES.c.document)
_CURRENT = and_(ENTRIES.c.kind == bindparam("kind"), ENTRIES.c.current == 1)
_VISIBLE = Statement(
    select(*_COLUMNS)
    .where(
        _CURRENT,
        ENTRIES.c.entry_id == bindparam("entry_id"),
        or_(
            ENTRIES.c.workshop_id == bindparam("owner"),
            ENTRIES.c.workshop_id == literal_column("''"),
        ),
    )
    .order_by(ENTRIES.c.workshop_id.desc())
    .limit(1)
)
_NEWEST_VERSION = Statement(
    select(func.max(ENTRIES.c.version)).where(
        ENTRIES.c.workshop_id == bindparam("owner"),
        ENTRIES.c.kind == bindparam("kind"),
        ENTRIES.c.entry_id == bindparam("entry_id"),
    )
)
_RETIRE = Statement(
    update(ENTRIES)
    .where(
        ENTRIES.c.workshop_id == bindparam("owner"),
        ENTRIES.c.kind == bindparam("of_kind"),
        ENTRIES.c.entry_id == bindparam("of_id"),
        ENTRIES.c.current == 1,
    )
    .values(current=0)
)
_ADD = Statement(
    insert(ENTRIES)
    .values({column.name: bindparam(column.name) for column in ENTRIES.columns})
    .on_conflict_do_nothing()
    .returning(ENTRIES.c.version)
)


def _page_statement(*, by_family: bool) -> Statement:
    own_entries = ENTRIES.alias("own_entries")
    hidden = exists().where(
        own_entries.c.workshop_id == bindparam("owner"),
        own_entries.c.kind == ENTRIES.c.kind,
        own_entries.c.entry_id == ENTRIES.c.entry_id,
        own_entries.c.current == 1,
    )
    wanted: list[ColumnElement[bool]] = [
        _CURRENT,
        ENTRIES.c.entry_id > bindparam("after"),
        ENTRIES.c.search.like(bindparam("like"), escape="\\"),
    ]
    if by_family:
        wanted.append(ENTRIES.c.family == bindparam("family"))
    own = select(*_COLUMNS).where(ENTRIES.c.workshop_id == bindparam("owner"), *wanted)
    common = select(*_COLUMNS).where(
        ENTRIES.c.workshop_id == literal_column("''"), ~hidden, *wanted
    )
    return Statement(union_all(own, common).order_by("entry_id").limit(bindparam("rows")))


_PAGES = {by_family: _page_statement(by_family=by_family) for by_family in (False, True)}


def visible(kind: EntryKind, *, owner: str, entry_id: str) -> Unit[Kept | None]:
    """A unit: the current entry that the owner sees under an id."""

    def unit(connection: Connection) -> Kept | None:
        params = {"kind": kind.name, "owner": owner, "entry_id": entry_id}
        rows = connection.execute(_VISIBLE, params)
        return _kept(rows[0]) if rows else None

    return unit


def page(
    kind: EntryKind, *, owner: str, after: str, part: str, family: str | None, rows: int
) -> Unit[list[Kept]]:
    """A unit: the next entries that the owner sees, by id, whose search text holds `part`."""
    params = {"kind": kind.name, "owner": owner, "after": after, "like": _like(part), "rows": rows}
    if family is not None:
        params["family"] = family

    def unit(connection: Connection) -> list[Kept]:
        return [_kept(row) for row in connection.execute(_PAGES[family is not None], params)]

    return unit


def _like(part: str) -> str:
    r"""A LIKE pattern for text that holds `part` as it stands.

    >>> _like("5_%")
    '%5\\_\\%%'
    """
    for sign in ("\\", "%", "_"):
        part = part.replace(sign, "\\" + sign)
    return f"%{part}%"


def keep(
    kind: EntryKind,
    record: CatalogueRecord,
    *,
    owner: str,
    now: datetime,
    check: Callable[[Kept | None], None] = lambda _: None,
) -> Unit[Change]:
    """A unit: write the owner's entry as a new version, unless it says what is kept already.

    check: given what the owner sees under the id, raises to bar the change
    """
    entry_id = kind.entry_id(record)

    def unit(connection: Connection) -> Change:
        seen = visible(kind, owner=owner, entry_id=entry_id)(connection)
        check(seen)
        if seen is not None and seen.owner == owner and entry_of(kind, seen).entry == record:
            return Change(kept=seen, seen=seen, changed=False)
        version = _newest_version(connection, kind, owner, entry_id) + 1
        kept = _document(kind, record, owner=owner, version=version, now=now)
        _add(connection, kind, record, kept, version=version, created_at=as_stamp(now))
        return Change(kept=kept, seen=seen, changed=True)

    return unit


def trace(kind: EntryKind, change: Change) -> Trace | None:
    """What a change leaves in the audit log of the entry's owner."""
    if not change.changed:
        return None
    kept, seen = change.kept, change.seen
    own = seen is not None and seen.owner == kept.owner
    return Trace(
        target=f"catalogue/{kind.name}/{kept.entry_id}",
        before=digest_of(seen.document) if seen is not None and own else None,
        after=digest_of(kept.document),
        owner=kept.owner,
    )


def _newest_version(connection: Connection, kind: EntryKind, owner: str, entry_id: str) -> int:
    params = {"owner": owner, "kind": kind.name, "entry_id": entry_id}
    return connection.execute(_NEWEST_VERSION, params)[0][0] or 0


def _add(
    connection: Connection,
    kind: EntryKind,
    record: CatalogueRecord,
    kept: Kept,
    *,
    version: int,
    created_at: str,
) -> None:
    retired = {"owner": kept.owner, "of_kind": kind.name, "of_id": kept.entry_id}
    connection.execute(_RETIRE, retired)
    params = {
        "workshop_id": kept.owner,
        "kind": kind.name,
        "entry_id": kept.entry_id,
        "version": version,
        "current": 1,
        "search": kind.search_text(record),
        "family": kind.family(record),
        "created_at": created_at,
        "etag": kept.etag,
        "document": kept.document,
    }
    if not connection.execute(_ADD, params):
        raise StorageUnavailable("another process wrote this version first")


def _document(
    kind: EntryKind, record: CatalogueRecord, *, owner: str, version: int, now: datetime
) -> Kept:
    scope: Scope = "installation" if owner == INSTALLATION else "workshop"
    answered = kind.answer(entry=record, version=version, scope=scope, updated_at=now)
    document = msgspec.json.encode(answered)
    return Kept(owner=owner, entry_id=kind.entry_id(record), etag=etag(document), document=document)


def _kept(row: tuple[Any, ...]) -> Kept:
    owner, entry_id, tag, document = row
    return Kept(owner=owner, entry_id=entry_id, etag=tag, document=bytes(document))


def entry_of(kind: EntryKind, kept: Kept) -> Entry:
    """The record in an answered document."""
    entry: Entry = decoder(kind.answer).decode(kept.document)
    return entry


def find_transmission(
    connection: Connection, workshop_id: str, transmission_id: str
) -> tuple[TransmissionProfile, CatalogueVersion] | None:
    """The transmission that a workshop sees under an id, and which version it is."""
    kept = visible(TRANSMISSION, owner=workshop_id, entry_id=transmission_id)(connection)
    return _with_version(TRANSMISSION, kept) if kept else None


def find_fluid(
    connection: Connection, workshop_id: str, fluid_id: str
) -> tuple[FluidProduct, CatalogueVersion] | None:
    """The fluid that a workshop sees under an id, and which version it is."""
    kept = visible(FLUID, owner=workshop_id, entry_id=fluid_id)(connection)
    return _with_version(FLUID, kept) if kept else None


def find_additive(
    connection: Connection, workshop_id: str, additive_id: str
) -> tuple[Additive, CatalogueVersion] | None:
    """The additive that a workshop sees under an id, and which version it is."""
    kept = visible(ADDITIVE, owner=workshop_id, entry_id=additive_id)(connection)
    return _with_version(ADDITIVE, kept) if kept else None


def _with_version(kind: EntryKind, kept: Kept) -> tuple[Any, CatalogueVersion]:
    found = entry_of(kind, kept)
    version = CatalogueVersion(entry_id=kept.entry_id, version=found.version, scope=found.scope)
    return found.entry, version

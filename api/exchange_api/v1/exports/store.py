"""How releases are kept: cut once when their month has closed, never changed afterwards.

A release takes every plan that is in none yet and whose service lies in its month or before, so a
plan that is kept late goes into the next release. Two pulls never differ, and so never subtract.
"""

import msgspec
from msgspec import Struct
from sqlalchemy import and_, bindparam, exists, func, insert, select, update
from sqlalchemy.dialects.postgresql import insert as insert_if_new

from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import PLANS, RELEASE_ROWS, RELEASES
from exchange_api.storage.units import Connection, StorageUnavailable, Unit
from libexchange.anonymise import RULES_VERSION, ExportFacts, Release, anonymise


class ExportTrailer(Struct, frozen=True, kw_only=True):
    """The end of an answer; without it the answer was cut short.

    `rows` and `suppressed` count those of the whole release. `k` is the size of the smallest class
    of rows that look the same, null in a release without rows. `rules_version` tells by which
    version of the bands and rules it was made. `complete` is true where the release ends;
    elsewhere `next_cursor` leads on.
    """

    release: str
    rows: int
    suppressed: int
    k: int | None
    rules_version: int
    complete: bool
    next_cursor: str | None


class Cut(Struct, frozen=True, kw_only=True):
    """A release that was cut, and when."""

    created_at: str
    trailer: ExportTrailer


_CUTS = Statement(select(RELEASES.c.created_at, RELEASES.c.trailer).order_by(RELEASES.c.release))
_TRAILER = Statement(select(RELEASES.c.trailer).where(RELEASES.c.release == bindparam("release")))
_WAITING_MONTHS = Statement(
    select(func.substr(PLANS.c.service_date, 1, 7))
    .where(PLANS.c.release.is_(None), PLANS.c.service_date < bindparam("before"))
    .distinct()
)
_LAST_CUT = Statement(select(func.max(RELEASES.c.release)))
_MARK = Statement(
    update(PLANS)
    .where(PLANS.c.release.is_(None), PLANS.c.service_date < bindparam("before"))
    .values(release=bindparam("into"))
)
_LATER = PLANS.alias("later")
_FACTS = Statement(
    select(PLANS.c.facts).where(
        PLANS.c.release == bindparam("release"),
        ~exists().where(
            and_(
                _LATER.c.supersedes == PLANS.c.plan_id, _LATER.c.workshop_id == PLANS.c.workshop_id
            )
        ),
    )
)
_ADD_RELEASE = Statement(
    insert_if_new(RELEASES)
    .values({column.name: bindparam(column.name) for column in RELEASES.columns})
    .on_conflict_do_nothing()
    .returning(RELEASES.c.release)
)
_ADD_ROW = Statement(insert(RELEASE_ROWS))
_ROWS = Statement(
    select(RELEASE_ROWS.c.document)
    .where(
        RELEASE_ROWS.c.release == bindparam("release"),
        RELEASE_ROWS.c.position > bindparam("after"),
        RELEASE_ROWS.c.position <= bindparam("to"),
    )
    .order_by(RELEASE_ROWS.c.position)
)


def cuts(connection: Connection) -> list[Cut]:
    """A unit: every release that was cut, by month."""
    return [
        Cut(created_at=created_at, trailer=_decode_trailer(raw))
        for created_at, raw in connection.execute(_CUTS)
    ]


def due_months(*, before: str) -> Unit[list[str]]:
    """A unit: months that can be cut, the earliest first; all lie before the month `before`."""

    def unit(connection: Connection) -> list[str]:
        last = connection.execute(_LAST_CUT)[0][0] or ""
        months = [row[0] for row in connection.execute(_WAITING_MONTHS, {"before": before})]
        return sorted(month for month in months if month > last)

    return unit


def trailer(*, release: str) -> Unit[ExportTrailer | None]:
    """A unit: the trailer of a release, None unless it was cut."""

    def unit(connection: Connection) -> ExportTrailer | None:
        rows = connection.execute(_TRAILER, {"release": release})
        return _decode_trailer(rows[0][0]) if rows else None

    return unit


def cut(*, release: str, now: str) -> Unit[ExportTrailer | None]:
    """A unit: cut a closed month and all that are due before it; its trailer, None if not due."""

    def unit(connection: Connection) -> ExportTrailer | None:
        for month in due_months(before=month_after(release))(connection):
            _cut_one(connection, month, now)
        return trailer(release=release)(connection)

    return unit


def _cut_one(connection: Connection, release: str, now: str) -> None:
    # marked first and read by the mark, so that no plan is marked without being read
    connection.execute(_MARK, {"before": month_after(release), "into": release})
    facts = (_decode_facts(raw) for (raw,) in connection.execute(_FACTS, {"release": release}))
    made = anonymise(facts)
    if not connection.execute(_ADD_RELEASE, _columns(release, made, now)):
        raise StorageUnavailable("another process has just cut this release")
    documents = enumerate(map(msgspec.json.encode, made.rows), 1)
    connection.execute_many(
        _ADD_ROW,
        ({"release": release, "position": at, "document": row} for at, row in documents),
    )


def _columns(release: str, made: Release, now: str) -> dict[str, object]:
    told = ExportTrailer(
        release=release,
        rows=len(made.rows),
        suppressed=made.suppressed,
        k=made.k_reached,
        rules_version=RULES_VERSION,
        complete=True,
        next_cursor=None,
    )
    return {
        "release": release,
        "created_at": now,
        "k": made.k,
        "rows": told.rows,
        "suppressed": told.suppressed,
        "trailer": msgspec.json.encode(told),
    }


def rows(*, release: str, after: int, to: int) -> Unit[list[bytes]]:
    """A unit: the documents of the rows at positions after + 1 to `to`, counted from 1."""

    def unit(connection: Connection) -> list[bytes]:
        params = {"release": release, "after": after, "to": to}
        return [bytes(row[0]) for row in connection.execute(_ROWS, params)]

    return unit


def month_after(month: str) -> str:
    """The month after a month; also the first text that sorts after every day of it.

    >>> month_after("2026-12"), "2026-12-31" < month_after("2026-12") < "2027-01-01"
    ('2027-01', True)
    """
    year, number = int(month[:4]), int(month[5:])
    return f"{year + number // 12:04d}-{number % 12 + 1:02d}"


_decode_trailer = msgspec.json.Decoder(ExportTrailer).decode
_decode_facts = msgspec.json.Decoder(ExportFacts).decode

"""Records as they were signed: one for each close of a job, kept beside those before it."""

from typing import Any

from msgspec import Struct
from sqlalchemy import bindparam, insert, select, update

from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import RECORDS
from exchange_api.storage.units import Connection
from libexchange.record import JobRecord
from libexchange.signature import public_jwk
from libexchange.signed_record import sign_record, with_disclosures


class SignedRecord(Struct, frozen=True):
    """A record as it was signed; `document` is the flattened JWS, its payload concealed.

    number: 1 for the first close of the job, one more after each reopening
    timestamp_token: of an RFC 3161 authority over the signature, as DER
    """

    number: int
    created_at: str
    digest: str
    kid: str
    document: bytes
    timestamp_token: bytes | None


_COLUMNS = tuple(RECORDS.c[name] for name in SignedRecord.__struct_fields__)
_OF_JOB = (
    RECORDS.c.workshop_id == bindparam("workshop_id"),
    RECORDS.c.job_id == bindparam("job_id"),
)
_ADD = Statement(insert(RECORDS))
_ALL = Statement(select(*_COLUMNS).where(*_OF_JOB).order_by(RECORDS.c.number))
_ONE = Statement(select(*_COLUMNS).where(*_OF_JOB, RECORDS.c.number == bindparam("number")))
_DIGEST = Statement(
    select(RECORDS.c.digest).where(*_OF_JOB, RECORDS.c.number == bindparam("number"))
)
_KNOWN = Statement(select(RECORDS.c.digest).where(RECORDS.c.digest == bindparam("digest")).limit(1))
_REPLACE = Statement(
    update(RECORDS)
    .where(
        RECORDS.c.workshop_id == bindparam("of_workshop"),
        RECORDS.c.job_id == bindparam("of_job"),
        RECORDS.c.number == bindparam("of_number"),
    )
    .values(document=bindparam("new_document"))
)


def keep_signed(
    connection: Connection,
    *,
    workshop_id: str,
    made: JobRecord,
    number: int,
    seed: bytes,
    now: str,
    stamp: bool,
) -> None:
    """Sign a record and keep it as that of a close.

    seed: 32 bytes, of the key that signs    stamp: whether a time stamp is to be asked for
    """
    columns: dict[str, Any] = {
        "workshop_id": workshop_id,
        "job_id": str(made.job_id),
        "number": number,
        "created_at": now,
        "digest": made.digest,
        "kid": public_jwk(seed)["kid"],
        "document": sign_record(made, private_key=seed),
        "timestamp_token": None,
        "stamp_due_at": now if stamp else None,
        "stamp_attempts": 0,
    }
    connection.execute(_ADD, columns)


def signed_record(
    connection: Connection, *, workshop_id: str, job_id: str, number: int
) -> SignedRecord | None:
    """The record of a close, None where none was signed."""
    keyed = {"workshop_id": workshop_id, "job_id": job_id, "number": number}
    rows = connection.execute(_ONE, keyed)
    return _record(rows[0]) if rows else None


def signed_digest(
    connection: Connection, *, workshop_id: str, job_id: str, number: int
) -> str | None:
    """The digest of the record of a close, None where none was signed."""
    keyed = {"workshop_id": workshop_id, "job_id": job_id, "number": number}
    rows = connection.execute(_DIGEST, keyed)
    return str(rows[0][0]) if rows else None


def is_known(connection: Connection, digest: str) -> bool:
    """Whether a record of this digest was signed here."""
    return bool(connection.execute(_KNOWN, {"digest": digest}))


def drop_disclosures(connection: Connection, *, workshop_id: str, job_id: str) -> None:
    """Take the personal texts out of every signed record of a job; the signatures stay."""
    keyed = {"workshop_id": workshop_id, "job_id": job_id}
    for one in map(_record, connection.execute(_ALL, keyed)):
        columns = {
            "of_workshop": workshop_id,
            "of_job": job_id,
            "of_number": one.number,
            "new_document": with_disclosures(one.document, ()),
        }
        connection.execute(_REPLACE, columns)


def _record(row: tuple[Any, ...]) -> SignedRecord:
    number, created_at, digest, kid, document, token = row
    kept_token = bytes(token) if token is not None else None
    return SignedRecord(number, created_at, digest, kid, bytes(document), kept_token)


class DueRecord(Struct, frozen=True):
    """A signed record that a time stamp is to be asked for; `stamp_attempts` with this one."""

    workshop_id: str
    job_id: str
    number: int
    document: bytes
    stamp_attempts: int


_OF_RECORD = (
    RECORDS.c.workshop_id == bindparam("of_workshop"),
    RECORDS.c.job_id == bindparam("of_job"),
    RECORDS.c.number == bindparam("of_number"),
    RECORDS.c.timestamp_token.is_(None),
)
_DUE = Statement(
    select(RECORDS.c.workshop_id, RECORDS.c.job_id, RECORDS.c.number)
    .where(RECORDS.c.stamp_due_at <= bindparam("now"))
    .order_by(RECORDS.c.stamp_due_at)
    .limit(1)
)
_CLAIM = Statement(
    update(RECORDS)
    .where(*_OF_RECORD)
    .values(stamp_due_at=bindparam("until"), stamp_attempts=RECORDS.c.stamp_attempts + 1)
    .returning(*(RECORDS.c[name] for name in DueRecord.__struct_fields__))
)
_POSTPONE = Statement(update(RECORDS).where(*_OF_RECORD).values(stamp_due_at=bindparam("until")))
_STAMP = Statement(
    update(RECORDS).where(*_OF_RECORD).values(timestamp_token=bindparam("token"), stamp_due_at=None)
)


def claim_due(connection: Connection, *, now: str, until: str) -> DueRecord | None:
    """The record that waits longest for its time stamp, left to the caller until then; or None."""
    rows = connection.execute(_DUE, {"now": now})
    if not rows:
        return None
    workshop_id, job_id, number = rows[0]
    of = {"of_workshop": workshop_id, "of_job": job_id, "of_number": number}
    ((_, _, _, document, attempts),) = connection.execute(_CLAIM, of | {"until": until})
    return DueRecord(workshop_id, job_id, number, bytes(document), attempts)


def postpone(connection: Connection, due: DueRecord, *, until: str) -> None:
    """Ask for the time stamp of a record again, not before a moment."""
    connection.execute(_POSTPONE, _of_record(due) | {"until": until})


def keep_token(connection: Connection, due: DueRecord, token: bytes) -> None:
    """Keep the time stamp of a record, unless it has one."""
    connection.execute(_STAMP, _of_record(due) | {"token": token})


def _of_record(due: DueRecord) -> dict[str, Any]:
    return {"of_workshop": due.workshop_id, "of_job": due.job_id, "of_number": due.number}

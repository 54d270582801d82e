"""The tables of proof: the keys that sign, and each record as it was signed at a close."""

from sqlalchemy import (
    BigInteger,
    Column,
    ForeignKeyConstraint,
    Index,
    LargeBinary,
    PrimaryKeyConstraint,
    Table,
    text,
)

from exchange_api.storage.columns import (
    METADATA,
    TEXT,
    bytes_column,
    count_column,
    text_column,
)

SIGNING_KEYS = Table(
    "signing_keys",
    METADATA,
    Column("kid", TEXT, primary_key=True),  # the RFC 7638 thumbprint
    text_column("created_at"),
    text_column("retired_at", null=True),
    bytes_column("public_jwk"),
    bytes_column("private_key", null=True),  # 32 bytes of seed; null once it signs no longer
    Index(None, "created_at", "kid"),
)

_WAITS_FOR_TOKEN = text("stamp_due_at IS NOT NULL")

RECORDS = Table(
    "records",
    METADATA,
    text_column("workshop_id"),
    text_column("job_id"),
    count_column("number"),  # 1 for the first close, one more after each reopening
    text_column("created_at"),
    text_column("digest"),
    text_column("kid"),
    bytes_column("document"),  # the signed record; its payload is concealed
    Column("timestamp_token", LargeBinary, nullable=True),
    text_column("stamp_due_at", null=True),  # when the authority is asked; null when it is not
    Column("stamp_attempts", BigInteger, nullable=False, server_default="0"),
    PrimaryKeyConstraint("workshop_id", "job_id", "number"),
    ForeignKeyConstraint(["workshop_id", "job_id"], ["jobs.workshop_id", "jobs.job_id"]),
    ForeignKeyConstraint(["kid"], ["signing_keys.kid"]),
    Index(None, "digest"),
    Index(
        "ix_records_waiting_for_token",
        "stamp_due_at",
        sqlite_where=_WAITS_FOR_TOKEN,
        postgresql_where=_WAITS_FOR_TOKEN,
    ),
)

JOB_ERASURES = Table(
    "job_erasures",
    METADATA,
    text_column("workshop_id"),
    text_column("job_id"),
    text_column("erased_at"),
    text_column("reason"),
    PrimaryKeyConstraint("workshop_id", "job_id", "erased_at"),
    ForeignKeyConstraint(["workshop_id", "job_id"], ["jobs.workshop_id", "jobs.job_id"]),
)

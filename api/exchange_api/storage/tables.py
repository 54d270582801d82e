"""The tables. Columns keep to what every driver takes as it is: text, integers, floats and bytes.

Ids, times and money are text; yes and no are 1 and 0. Times are written by `Outside.stamp`, so
that text order is time order. Text sorts by its bytes in every database. Documents are the JSON
bytes that were answered.
"""

from sqlalchemy import (
    BigInteger,
    Column,
    ForeignKey,
    Index,
    PrimaryKeyConstraint,
    Table,
    text,
)

from exchange_api.storage.columns import (
    METADATA,
    TEXT,
    bytes_column,
    count_column,
    flag_column,
    text_column,
    workshop_column,
)
from exchange_api.storage.tables_attachments import ATTACHMENT_PIECES, ATTACHMENTS
from exchange_api.storage.tables_jobs import (
    JOB_DEVICES,
    JOB_EVENTS,
    JOB_PHOTOS,
    JOB_RELATIONS,
    JOB_REOPENINGS,
    JOBS,
)
from exchange_api.storage.tables_records import JOB_ERASURES, RECORDS, SIGNING_KEYS
from exchange_api.storage.tables_webhooks import (
    WEBHOOK_ATTEMPTS,
    WEBHOOK_DELIVERIES,
    WEBHOOK_ENDPOINTS,
)

__all__ = [
    "API_KEYS",
    "ATTACHMENTS",
    "ATTACHMENT_PIECES",
    "AUDIT_EVENTS",
    "CATALOGUE_ENTRIES",
    "IDEMPOTENCY",
    "JOBS",
    "JOB_DEVICES",
    "JOB_ERASURES",
    "JOB_EVENTS",
    "JOB_PHOTOS",
    "JOB_RELATIONS",
    "JOB_REOPENINGS",
    "METADATA",
    "PLANS",
    "RATE_WINDOWS",
    "RECORDS",
    "RELEASES",
    "RELEASE_ROWS",
    "SIGNING_KEYS",
    "TEXT",
    "WEBHOOK_ATTEMPTS",
    "WEBHOOK_DELIVERIES",
    "WEBHOOK_ENDPOINTS",
    "WORKSHOPS",
]

WORKSHOPS = Table(
    "workshops",
    METADATA,
    Column("workshop_id", TEXT, primary_key=True),
    text_column("name"),
    text_column("region"),
    text_column("created_at"),
    Index(None, "name"),
)

API_KEYS = Table(
    "api_keys",
    METADATA,
    Column("key_id", TEXT, primary_key=True),
    workshop_column(),
    text_column("secret_sha256"),
    text_column("scopes"),
    text_column("created_at"),
    text_column("expires_at", null=True),
    text_column("revoked_at", null=True),
    text_column("last_used_at", null=True),
    Column("name", TEXT, nullable=False, server_default=""),
    Index(None, "workshop_id", "created_at", "key_id"),
)

IDEMPOTENCY = Table(
    "idempotency",
    METADATA,
    workshop_column(),
    text_column("operation"),
    text_column("key"),
    text_column("request_sha256"),
    text_column("target"),  # the id of what the first request made
    text_column("created_at"),
    PrimaryKeyConstraint("workshop_id", "operation", "key"),
    Index(None, "created_at"),
)

PLANS = Table(
    "plans",
    METADATA,
    workshop_column(),
    Column("plan_id", TEXT, primary_key=True),
    text_column("created_at"),
    text_column("service_date"),
    text_column("transmission_id", null=True),
    text_column("route", null=True),
    flag_column("feasible"),
    text_column("supersedes", null=True),
    text_column("etag"),
    bytes_column("document"),
    bytes_column("facts"),
    text_column("release", null=True),
    Index(None, "workshop_id", "created_at", "plan_id"),
    Index(None, "workshop_id", "transmission_id", "created_at", "plan_id"),
    Index(None, "release", "service_date"),
    Index(None, "supersedes"),
)

CATALOGUE_ENTRIES = Table(
    "catalogue_entries",
    METADATA,
    text_column("workshop_id"),  # '' is installation-wide, so no foreign key
    text_column("kind"),
    text_column("entry_id"),
    count_column("version"),
    flag_column("current"),
    text_column("search"),
    text_column("family", null=True),
    text_column("created_at"),
    text_column("etag"),
    bytes_column("document"),
    PrimaryKeyConstraint("workshop_id", "kind", "entry_id", "version"),
    Index(None, "workshop_id", "kind", "current", "entry_id"),
)

RELEASES = Table(
    "releases",
    METADATA,
    Column("release", TEXT, primary_key=True),
    text_column("created_at"),
    count_column("k"),
    count_column("rows"),
    count_column("suppressed"),
    bytes_column("trailer"),
)

RELEASE_ROWS = Table(
    "release_rows",
    METADATA,
    Column("release", TEXT, ForeignKey("releases.release"), nullable=False),
    count_column("position"),
    bytes_column("document"),
    PrimaryKeyConstraint("release", "position"),
)

_NOT_SEALED = text("sequence IS NULL")

AUDIT_EVENTS = Table(
    "audit_events",
    METADATA,
    Column("audit_id", TEXT, primary_key=True),
    text_column("workshop_id"),  # '' is installation-wide, so no foreign key
    text_column("at"),
    text_column("actor"),
    text_column("operation"),
    text_column("target"),
    text_column("before_sha256", null=True),
    text_column("after_sha256", null=True),
    text_column("request_id", null=True),
    Column("sequence", BigInteger, nullable=True),  # this and the next are null until it is sealed
    text_column("chain_sha256", null=True),
    Index("ix_audit_events_chain", "workshop_id", "sequence", unique=True),
    Index(
        "ix_audit_events_not_sealed",
        "audit_id",
        sqlite_where=_NOT_SEALED,
        postgresql_where=_NOT_SEALED,
    ),
)

RATE_WINDOWS = Table(
    "rate_windows",
    METADATA,
    text_column("subject"),
    count_column("began_at"),  # seconds since 1970
    count_column("taken"),
    PrimaryKeyConstraint("began_at", "subject"),
)

"""The tables. Columns keep to what every driver takes as it is: text, integers, floats and bytes.

Ids, times and money are text; yes and no are 1 and 0. Times are written by `Outside.stamp`, so
that text order is time order. Text sorts by its bytes in every database. Documents are the JSON
bytes that were answered.
"""

from sqlalchemy import (
    BigInteger,
    Column,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    PrimaryKeyConstraint,
    Table,
    Text,
    text,
)

METADATA = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    }
)


TEXT = Text().with_variant(Text(collation="C"), "postgresql")


def _text(name: str, *, null: bool = False) -> Column[str]:
    return Column(name, TEXT, nullable=null)


def _bytes(name: str, *, null: bool = False) -> Column[bytes]:
    return Column(name, LargeBinary, nullable=null)


def _count(name: str) -> Column[int]:
    return Column(name, BigInteger, nullable=False)


def _flag(name: str) -> Column[int]:
    return Column(name, Integer, nullable=False)


def _workshop() -> Column[str]:
    return Column("workshop_id", TEXT, ForeignKey("workshops.workshop_id"), nullable=False)


WORKSHOPS = Table(
    "workshops",
    METADATA,
    Column("workshop_id", TEXT, primary_key=True),
    _text("name"),
    _text("region"),
    _text("created_at"),
    Index(None, "name"),
)

API_KEYS = Table(
    "api_keys",
    METADATA,
    Column("key_id", TEXT, primary_key=True),
    _workshop(),
    _text("secret_sha256"),
    _text("scopes"),
    _text("created_at"),
    _text("expires_at", null=True),
    _text("revoked_at", null=True),
    _text("last_used_at", null=True),
    Column("name", TEXT, nullable=False, server_default=""),
    Index(None, "workshop_id", "created_at", "key_id"),
)

IDEMPOTENCY = Table(
    "idempotency",
    METADATA,
    _workshop(),
    _text("operation"),
    _text("key"),
    _text("request_sha256"),
    _text("target"),  # the id of what the first request made
    _text("created_at"),
    PrimaryKeyConstraint("workshop_id", "operation", "key"),
    Index(None, "created_at"),
)

PLANS = Table(
    "plans",
    METADATA,
    _workshop(),
    Column("plan_id", TEXT, primary_key=True),
    _text("created_at"),
    _text("service_date"),
    _text("transmission_id", null=True),
    _text("route", null=True),
    _flag("feasible"),
    _text("supersedes", null=True),
    _text("etag"),
    _bytes("document"),
    _bytes("facts"),
    _text("release", null=True),
    Index(None, "workshop_id", "created_at", "plan_id"),
    Index(None, "workshop_id", "transmission_id", "created_at", "plan_id"),
    Index(None, "release", "service_date"),
    Index(None, "supersedes"),
)

JOBS = Table(
    "jobs",
    METADATA,
    _workshop(),
    _text("job_id"),
    Column("plan_id", TEXT, ForeignKey("plans.plan_id"), nullable=False),
    _text("created_at"),
    _text("updated_at"),
    _text("state"),
    _count("version"),
    _text("closed_at", null=True),
    _bytes("closing", null=True),
    PrimaryKeyConstraint("workshop_id", "job_id"),
    Index(None, "workshop_id", "created_at", "job_id"),
    Index(None, "workshop_id", "updated_at", "job_id"),
    Index(None, "workshop_id", "plan_id"),
)

JOB_EVENTS = Table(
    "job_events",
    METADATA,
    _text("workshop_id"),
    _text("job_id"),
    _text("event_id"),
    _text("device_id"),
    _count("sequence"),
    _text("occurred_at"),
    _text("received_at"),
    _flag("late"),
    _text("sha256"),
    _bytes("document"),
    PrimaryKeyConstraint("workshop_id", "job_id", "event_id"),
    ForeignKeyConstraint(["workshop_id", "job_id"], ["jobs.workshop_id", "jobs.job_id"]),
    Index(
        "ix_job_events_fold_order",
        "workshop_id",
        "job_id",
        "occurred_at",
        "device_id",
        "sequence",
        "event_id",
    ),
)

JOB_DEVICES = Table(
    "job_devices",
    METADATA,
    _text("workshop_id"),
    _text("job_id"),
    _text("device_id"),
    _text("sent_at"),
    _text("received_at"),
    PrimaryKeyConstraint("workshop_id", "job_id", "device_id"),
    ForeignKeyConstraint(["workshop_id", "job_id"], ["jobs.workshop_id", "jobs.job_id"]),
)

CATALOGUE_ENTRIES = Table(
    "catalogue_entries",
    METADATA,
    _text("workshop_id"),  # '' is installation-wide, so no foreign key
    _text("kind"),
    _text("entry_id"),
    _count("version"),
    _flag("current"),
    _text("search"),
    _text("family", null=True),
    _text("created_at"),
    _text("etag"),
    _bytes("document"),
    PrimaryKeyConstraint("workshop_id", "kind", "entry_id", "version"),
    Index(None, "workshop_id", "kind", "current", "entry_id"),
)

RELEASES = Table(
    "releases",
    METADATA,
    Column("release", TEXT, primary_key=True),
    _text("created_at"),
    _count("k"),
    _count("rows"),
    _count("suppressed"),
    _bytes("trailer"),
)

RELEASE_ROWS = Table(
    "release_rows",
    METADATA,
    Column("release", TEXT, ForeignKey("releases.release"), nullable=False),
    _count("position"),
    _bytes("document"),
    PrimaryKeyConstraint("release", "position"),
)

_NOT_SEALED = text("sequence IS NULL")

AUDIT_EVENTS = Table(
    "audit_events",
    METADATA,
    Column("audit_id", TEXT, primary_key=True),
    _text("workshop_id"),  # '' is installation-wide, so no foreign key
    _text("at"),
    _text("actor"),
    _text("operation"),
    _text("target"),
    _text("before_sha256", null=True),
    _text("after_sha256", null=True),
    _text("request_id", null=True),
    Column("sequence", BigInteger, nullable=True),  # this and the next are null until it is sealed
    _text("chain_sha256", null=True),
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
    _text("subject"),
    _count("began_at"),  # seconds since 1970
    _count("taken"),
    PrimaryKeyConstraint("began_at", "subject"),
)

"""The tables of jobs: what was posted, which jobs belong together, what was closed before."""

from sqlalchemy import (
    Column,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    PrimaryKeyConstraint,
    Table,
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

JOBS = Table(
    "jobs",
    METADATA,
    workshop_column(),
    text_column("job_id"),
    Column("plan_id", TEXT, ForeignKey("plans.plan_id"), nullable=False),
    text_column("created_at"),
    text_column("updated_at"),
    text_column("state"),
    count_column("version"),
    text_column("closed_at", null=True),
    bytes_column("closing", null=True),
    bytes_column("salt", null=True),  # 32 random bytes; every job has them
    bytes_column("erased_plan", null=True),  # what the job keeps of its plan once it is erased
    PrimaryKeyConstraint("workshop_id", "job_id"),
    Index(None, "workshop_id", "created_at", "job_id"),
    Index(None, "workshop_id", "updated_at", "job_id"),
    Index(None, "workshop_id", "plan_id"),
)

JOB_EVENTS = Table(
    "job_events",
    METADATA,
    text_column("workshop_id"),
    text_column("job_id"),
    text_column("event_id"),
    text_column("device_id"),
    count_column("sequence"),
    text_column("occurred_at"),
    text_column("received_at"),
    flag_column("late"),
    text_column("sha256"),
    bytes_column("document"),
    Column("posted_by", TEXT, nullable=False, server_default=""),  # key_id, '' from before
    PrimaryKeyConstraint("workshop_id", "job_id", "event_id"),
    ForeignKeyConstraint(["workshop_id", "job_id"], ["jobs.workshop_id", "jobs.job_id"]),
    Index(None, "workshop_id", "event_id"),
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
    text_column("workshop_id"),
    text_column("job_id"),
    text_column("device_id"),
    text_column("sent_at"),
    text_column("received_at"),
    text_column("app_version", null=True),
    PrimaryKeyConstraint("workshop_id", "job_id", "device_id"),
    ForeignKeyConstraint(["workshop_id", "job_id"], ["jobs.workshop_id", "jobs.job_id"]),
)

JOB_PHOTOS = Table(
    "job_photos",  # pictures that events in force name
    METADATA,
    text_column("workshop_id"),
    text_column("job_id"),
    text_column("event_id"),
    text_column("digest"),
    PrimaryKeyConstraint("workshop_id", "job_id", "event_id", "digest"),
    ForeignKeyConstraint(["workshop_id", "job_id"], ["jobs.workshop_id", "jobs.job_id"]),
    Index(None, "workshop_id", "digest"),
)

JOB_RELATIONS = Table(
    "job_relations",
    METADATA,
    text_column("workshop_id"),
    text_column("job_id"),
    text_column("related_job_id"),
    text_column("relation"),
    PrimaryKeyConstraint("workshop_id", "job_id", "related_job_id"),
    ForeignKeyConstraint(["workshop_id", "job_id"], ["jobs.workshop_id", "jobs.job_id"]),
    ForeignKeyConstraint(["workshop_id", "related_job_id"], ["jobs.workshop_id", "jobs.job_id"]),
    Index(None, "workshop_id", "related_job_id"),
)

JOB_REOPENINGS = Table(
    "job_reopenings",
    METADATA,
    text_column("workshop_id"),
    text_column("job_id"),
    count_column("version"),  # of the job, after it was reopened
    bytes_column("document"),
    PrimaryKeyConstraint("workshop_id", "job_id", "version"),
    ForeignKeyConstraint(["workshop_id", "job_id"], ["jobs.workshop_id", "jobs.job_id"]),
)

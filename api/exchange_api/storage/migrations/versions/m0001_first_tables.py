"""The first tables."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")  # sorts by its bytes


def upgrade() -> None:
    """Create them."""
    op.create_table(
        "catalogue_entries",
        sa.Column("workshop_id", TEXT, nullable=False),
        sa.Column("kind", TEXT, nullable=False),
        sa.Column("entry_id", TEXT, nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.Column("current", sa.Integer(), nullable=False),
        sa.Column("search", TEXT, nullable=False),
        sa.Column("family", TEXT, nullable=True),
        sa.Column("created_at", TEXT, nullable=False),
        sa.Column("etag", TEXT, nullable=False),
        sa.Column("document", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint(
            "workshop_id", "kind", "entry_id", "version", name="pk_catalogue_entries"
        ),
    )
    op.create_index(
        "ix_catalogue_entries_workshop_id_kind_current_entry_id",
        "catalogue_entries",
        ["workshop_id", "kind", "current", "entry_id"],
    )
    op.create_table(
        "releases",
        sa.Column("release", TEXT, nullable=False),
        sa.Column("created_at", TEXT, nullable=False),
        sa.Column("k", sa.BigInteger(), nullable=False),
        sa.Column("rows", sa.BigInteger(), nullable=False),
        sa.Column("suppressed", sa.BigInteger(), nullable=False),
        sa.Column("trailer", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("release", name="pk_releases"),
    )
    op.create_table(
        "workshops",
        sa.Column("workshop_id", TEXT, nullable=False),
        sa.Column("name", TEXT, nullable=False),
        sa.Column("region", TEXT, nullable=False),
        sa.Column("created_at", TEXT, nullable=False),
        sa.PrimaryKeyConstraint("workshop_id", name="pk_workshops"),
    )
    op.create_index("ix_workshops_name", "workshops", ["name"])
    op.create_table(
        "api_keys",
        sa.Column("key_id", TEXT, nullable=False),
        sa.Column("workshop_id", TEXT, nullable=False),
        sa.Column("secret_sha256", TEXT, nullable=False),
        sa.Column("scopes", TEXT, nullable=False),
        sa.Column("created_at", TEXT, nullable=False),
        sa.Column("expires_at", TEXT, nullable=True),
        sa.Column("revoked_at", TEXT, nullable=True),
        sa.Column("last_used_at", TEXT, nullable=True),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.workshop_id"], name="fk_api_keys_workshop_id"
        ),
        sa.PrimaryKeyConstraint("key_id", name="pk_api_keys"),
    )
    op.create_index(
        "ix_api_keys_workshop_id_created_at_key_id",
        "api_keys",
        ["workshop_id", "created_at", "key_id"],
    )
    op.create_table(
        "idempotency",
        sa.Column("workshop_id", TEXT, nullable=False),
        sa.Column("operation", TEXT, nullable=False),
        sa.Column("key", TEXT, nullable=False),
        sa.Column("request_sha256", TEXT, nullable=False),
        sa.Column("target", TEXT, nullable=False),
        sa.Column("created_at", TEXT, nullable=False),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.workshop_id"], name="fk_idempotency_workshop_id"
        ),
        sa.PrimaryKeyConstraint("workshop_id", "operation", "key", name="pk_idempotency"),
    )
    op.create_index("ix_idempotency_created_at", "idempotency", ["created_at"])
    op.create_table(
        "plans",
        sa.Column("workshop_id", TEXT, nullable=False),
        sa.Column("plan_id", TEXT, nullable=False),
        sa.Column("created_at", TEXT, nullable=False),
        sa.Column("service_date", TEXT, nullable=False),
        sa.Column("transmission_id", TEXT, nullable=True),
        sa.Column("route", TEXT, nullable=True),
        sa.Column("feasible", sa.Integer(), nullable=False),
        sa.Column("supersedes", TEXT, nullable=True),
        sa.Column("etag", TEXT, nullable=False),
        sa.Column("document", sa.LargeBinary(), nullable=False),
        sa.Column("facts", sa.LargeBinary(), nullable=False),
        sa.Column("release", TEXT, nullable=True),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.workshop_id"], name="fk_plans_workshop_id"
        ),
        sa.PrimaryKeyConstraint("plan_id", name="pk_plans"),
    )
    op.create_index("ix_plans_release_service_date", "plans", ["release", "service_date"])
    op.create_index("ix_plans_supersedes", "plans", ["supersedes"])
    op.create_index(
        "ix_plans_workshop_id_created_at_plan_id", "plans", ["workshop_id", "created_at", "plan_id"]
    )
    op.create_table(
        "release_rows",
        sa.Column("release", TEXT, nullable=False),
        sa.Column("position", sa.BigInteger(), nullable=False),
        sa.Column("document", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["release"], ["releases.release"], name="fk_release_rows_release"),
        sa.PrimaryKeyConstraint("release", "position", name="pk_release_rows"),
    )
    op.create_table(
        "jobs",
        sa.Column("workshop_id", TEXT, nullable=False),
        sa.Column("job_id", TEXT, nullable=False),
        sa.Column("plan_id", TEXT, nullable=False),
        sa.Column("created_at", TEXT, nullable=False),
        sa.Column("updated_at", TEXT, nullable=False),
        sa.Column("state", TEXT, nullable=False),
        sa.Column("version", sa.BigInteger(), nullable=False),
        sa.Column("closed_at", TEXT, nullable=True),
        sa.Column("closing", sa.LargeBinary(), nullable=True),
        sa.ForeignKeyConstraint(["plan_id"], ["plans.plan_id"], name="fk_jobs_plan_id"),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.workshop_id"], name="fk_jobs_workshop_id"
        ),
        sa.PrimaryKeyConstraint("workshop_id", "job_id", name="pk_jobs"),
    )
    op.create_index(
        "ix_jobs_workshop_id_created_at_job_id", "jobs", ["workshop_id", "created_at", "job_id"]
    )
    op.create_index("ix_jobs_workshop_id_plan_id", "jobs", ["workshop_id", "plan_id"])
    op.create_index(
        "ix_jobs_workshop_id_updated_at_job_id", "jobs", ["workshop_id", "updated_at", "job_id"]
    )
    op.create_table(
        "job_devices",
        sa.Column("workshop_id", TEXT, nullable=False),
        sa.Column("job_id", TEXT, nullable=False),
        sa.Column("device_id", TEXT, nullable=False),
        sa.Column("sent_at", TEXT, nullable=False),
        sa.Column("received_at", TEXT, nullable=False),
        sa.ForeignKeyConstraint(
            ["workshop_id", "job_id"],
            ["jobs.workshop_id", "jobs.job_id"],
            name="fk_job_devices_workshop_id_job_id",
        ),
        sa.PrimaryKeyConstraint("workshop_id", "job_id", "device_id", name="pk_job_devices"),
    )
    op.create_table(
        "job_events",
        sa.Column("workshop_id", TEXT, nullable=False),
        sa.Column("job_id", TEXT, nullable=False),
        sa.Column("event_id", TEXT, nullable=False),
        sa.Column("device_id", TEXT, nullable=False),
        sa.Column("sequence", sa.BigInteger(), nullable=False),
        sa.Column("occurred_at", TEXT, nullable=False),
        sa.Column("received_at", TEXT, nullable=False),
        sa.Column("late", sa.Integer(), nullable=False),
        sa.Column("sha256", TEXT, nullable=False),
        sa.Column("document", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(
            ["workshop_id", "job_id"],
            ["jobs.workshop_id", "jobs.job_id"],
            name="fk_job_events_workshop_id_job_id",
        ),
        sa.PrimaryKeyConstraint("workshop_id", "job_id", "event_id", name="pk_job_events"),
    )
    op.create_index(
        "ix_job_events_fold_order",
        "job_events",
        ["workshop_id", "job_id", "occurred_at", "device_id", "sequence", "event_id"],
    )

"""Names of keys, the audit log, and what was taken of the rate limits."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")  # sorts by its bytes


def upgrade() -> None:
    """Add them."""
    op.add_column("api_keys", sa.Column("name", TEXT, nullable=False, server_default=""))
    op.create_table(
        "audit_events",
        sa.Column("audit_id", TEXT, nullable=False),
        sa.Column("workshop_id", TEXT, nullable=False),
        sa.Column("at", TEXT, nullable=False),
        sa.Column("actor", TEXT, nullable=False),
        sa.Column("operation", TEXT, nullable=False),
        sa.Column("target", TEXT, nullable=False),
        sa.Column("before_sha256", TEXT, nullable=True),
        sa.Column("after_sha256", TEXT, nullable=True),
        sa.Column("request_id", TEXT, nullable=True),
        sa.Column("sequence", sa.BigInteger(), nullable=True),
        sa.Column("chain_sha256", TEXT, nullable=True),
        sa.PrimaryKeyConstraint("audit_id", name="pk_audit_events"),
    )
    op.create_index(
        "ix_audit_events_chain", "audit_events", ["workshop_id", "sequence"], unique=True
    )
    not_sealed = sa.text("sequence IS NULL")
    op.create_index(
        "ix_audit_events_not_sealed",
        "audit_events",
        ["audit_id"],
        sqlite_where=not_sealed,
        postgresql_where=not_sealed,
    )
    op.create_table(
        "rate_windows",
        sa.Column("subject", TEXT, nullable=False),
        sa.Column("began_at", sa.BigInteger(), nullable=False),
        sa.Column("taken", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("began_at", "subject", name="pk_rate_windows"),
    )

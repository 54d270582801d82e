"""Webhooks: endpoints, what is to be delivered to them, and what came of each attempt."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")  # sorts by its bytes


def upgrade() -> None:
    """Add them."""
    _add_endpoints()
    _add_deliveries()
    _add_attempts()


def _add_endpoints() -> None:
    op.create_table(
        "webhook_endpoints",
        *(_text(name) for name in ("endpoint_id", "workshop_id", "url", "events")),
        sa.Column("enabled", sa.Integer(), nullable=False),
        *(_text(name, null=True) for name in ("disabled_reason", "disabled_at")),
        *(_text(name) for name in ("created_at", "updated_at")),
        _count("version"),
        _text("secret"),
        *(_text(name, null=True) for name in ("old_secret", "old_secret_until")),
        _count("sequence"),
        _text("failing_since", null=True),
        sa.PrimaryKeyConstraint("endpoint_id", name="pk_webhook_endpoints"),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.workshop_id"], name="fk_webhook_endpoints_workshop_id"
        ),
    )
    op.create_index(
        "ix_webhook_endpoints_workshop_id_created_at_endpoint_id",
        "webhook_endpoints",
        ["workshop_id", "created_at", "endpoint_id"],
    )


def _add_deliveries() -> None:
    op.create_table(
        "webhook_deliveries",
        *(_text(name) for name in ("endpoint_id", "delivery_id")),
        _count("sequence"),
        *(_text(name) for name in ("type", "created_at", "state")),
        *(_count(name) for name in ("attempts", "tries")),
        *(_text(name, null=True) for name in ("next_at", "lease")),
        sa.Column("document", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("endpoint_id", "delivery_id", name="pk_webhook_deliveries"),
        sa.ForeignKeyConstraint(
            ["endpoint_id"],
            ["webhook_endpoints.endpoint_id"],
            name="fk_webhook_deliveries_endpoint_id",
        ),
    )
    table = "webhook_deliveries"
    order = ["endpoint_id", "sequence"]
    op.create_index("ix_webhook_deliveries_sequence", table, order, unique=True)
    pending = sa.text("next_at IS NOT NULL")
    op.create_index(
        "ix_webhook_deliveries_pending",
        table,
        ["endpoint_id", "next_at", "sequence"],
        sqlite_where=pending,
        postgresql_where=pending,
    )
    op.create_index("ix_webhook_deliveries_age", table, ["created_at"])


def _add_attempts() -> None:
    op.create_table(
        "webhook_attempts",
        *(_text(name) for name in ("endpoint_id", "delivery_id")),
        _count("number"),
        _text("at"),
        *(_count(name) for name in ("duration_ms", "status")),
        *(_text(name) for name in ("outcome", "excerpt")),
        sa.PrimaryKeyConstraint("endpoint_id", "delivery_id", "number", name="pk_webhook_attempts"),
        sa.ForeignKeyConstraint(
            ["endpoint_id", "delivery_id"],
            ["webhook_deliveries.endpoint_id", "webhook_deliveries.delivery_id"],
            name="fk_webhook_attempts_endpoint_id_delivery_id",
        ),
    )


def _text(name: str, *, null: bool = False) -> sa.Column[str]:
    return sa.Column(name, TEXT, nullable=null)


def _count(name: str) -> sa.Column[int]:
    return sa.Column(name, sa.BigInteger(), nullable=False)

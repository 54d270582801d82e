"""The tables of webhooks: who is told, what is still to be told, and what came of each attempt."""

from sqlalchemy import Column, ForeignKey, ForeignKeyConstraint, Index, PrimaryKeyConstraint, Table
from sqlalchemy import text as sql_text

from exchange_api.storage.columns import (
    METADATA,
    TEXT,
    bytes_column,
    count_column,
    flag_column,
    text_column,
    workshop_column,
)

WEBHOOK_ENDPOINTS = Table(
    "webhook_endpoints",
    METADATA,
    Column("endpoint_id", TEXT, primary_key=True),
    workshop_column(),
    text_column("url"),
    text_column("events"),  # a space before and after each, so that one is found as ` name `
    flag_column("enabled"),
    text_column("disabled_reason", null=True),
    text_column("disabled_at", null=True),
    text_column("created_at"),
    text_column("updated_at"),
    count_column("version"),
    text_column("secret"),  # as it is, for a digest cannot sign
    text_column("old_secret", null=True),
    text_column("old_secret_until", null=True),
    count_column("sequence"),  # of the newest message
    text_column("failing_since", null=True),
    Index(None, "workshop_id", "created_at", "endpoint_id"),
)

_PENDING = sql_text("next_at IS NOT NULL")

WEBHOOK_DELIVERIES = Table(
    "webhook_deliveries",
    METADATA,
    Column("endpoint_id", TEXT, ForeignKey("webhook_endpoints.endpoint_id"), nullable=False),
    text_column("delivery_id"),
    count_column("sequence"),
    text_column("type"),
    text_column("created_at"),
    text_column("state"),
    count_column("attempts"),  # ever
    count_column("tries"),  # since it was last put in the queue
    text_column("next_at", null=True),  # while it is being sent: when the lease ends
    text_column("lease", null=True),
    bytes_column("document"),
    PrimaryKeyConstraint("endpoint_id", "delivery_id"),
    Index("ix_webhook_deliveries_sequence", "endpoint_id", "sequence", unique=True),
    Index(
        "ix_webhook_deliveries_pending",
        "endpoint_id",
        "next_at",
        "sequence",
        sqlite_where=_PENDING,
        postgresql_where=_PENDING,
    ),
    Index("ix_webhook_deliveries_age", "created_at"),
)

WEBHOOK_ATTEMPTS = Table(
    "webhook_attempts",
    METADATA,
    text_column("endpoint_id"),
    text_column("delivery_id"),
    count_column("number"),
    text_column("at"),
    count_column("duration_ms"),
    count_column("status"),  # 0 where no answer came
    text_column("outcome"),
    text_column("excerpt"),
    PrimaryKeyConstraint("endpoint_id", "delivery_id", "number"),
    ForeignKeyConstraint(
        ["endpoint_id", "delivery_id"],
        ["webhook_deliveries.endpoint_id", "webhook_deliveries.delivery_id"],
    ),
)

"""Attachments, related jobs, reopening, and by which key each event was posted."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")  # sorts by its bytes
_JOB = ["jobs.workshop_id", "jobs.job_id"]


def upgrade() -> None:
    """Add them."""
    op.add_column("job_events", sa.Column("posted_by", TEXT, nullable=False, server_default=""))
    op.create_index("ix_job_events_workshop_id_event_id", "job_events", ["workshop_id", "event_id"])
    _add_relations()
    _add_reopenings()
    _add_attachments()


def _add_relations() -> None:
    op.create_table(
        "job_relations",
        *(_text(name) for name in ("workshop_id", "job_id", "related_job_id", "relation")),
        sa.PrimaryKeyConstraint("workshop_id", "job_id", "related_job_id", name="pk_job_relations"),
        _of_job("job_relations", "job_id"),
        _of_job("job_relations", "related_job_id"),
    )
    op.create_index(
        "ix_job_relations_workshop_id_related_job_id",
        "job_relations",
        ["workshop_id", "related_job_id"],
    )


def _add_reopenings() -> None:
    op.create_table(
        "job_reopenings",
        _text("workshop_id"),
        _text("job_id"),
        _count("version"),
        sa.Column("document", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("workshop_id", "job_id", "version", name="pk_job_reopenings"),
        _of_job("job_reopenings", "job_id"),
    )


def _add_attachments() -> None:
    op.create_table(
        "attachments",
        *(_text(n) for n in ("workshop_id", "digest", "upload_id", "received_at", "media_type")),
        _count("sent_size"),
        _text("kept_digest"),
        *(_count(name) for name in ("kept_size", "width", "height")),
        sa.PrimaryKeyConstraint("workshop_id", "digest", name="pk_attachments"),
        sa.ForeignKeyConstraint(
            ["workshop_id"], ["workshops.workshop_id"], name="fk_attachments_workshop_id"
        ),
    )
    op.create_index("ix_attachments_upload_id", "attachments", ["upload_id"], unique=True)
    op.create_index(
        "ix_attachments_workshop_id_kept_size", "attachments", ["workshop_id", "kept_size"]
    )
    op.create_table(
        "attachment_pieces",
        _text("upload_id"),
        _count("number"),
        _text("received_at"),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("upload_id", "number", name="pk_attachment_pieces"),
    )


def _text(name: str) -> sa.Column[str]:
    return sa.Column(name, TEXT, nullable=False)


def _count(name: str) -> sa.Column[int]:
    return sa.Column(name, sa.BigInteger(), nullable=False)


def _of_job(table: str, column: str) -> sa.ForeignKeyConstraint:
    name = f"fk_{table}_workshop_id_{column}"
    return sa.ForeignKeyConstraint(["workshop_id", column], _JOB, name=name)

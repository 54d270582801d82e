"""A salt for each job, the keys that sign, and the records that were signed."""

from secrets import token_bytes

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")  # sorts by its bytes


def upgrade() -> None:
    """Add them; a job that is there gets its salt now."""
    for name in ("salt", "erased_plan"):
        op.add_column("jobs", _bytes(name))
    _add_salts()
    _add_erasures()
    _add_keys()
    _add_records()


def _add_erasures() -> None:
    op.create_table(
        "job_erasures",
        *(_text(name) for name in ("workshop_id", "job_id", "erased_at", "reason")),
        sa.PrimaryKeyConstraint("workshop_id", "job_id", "erased_at", name="pk_job_erasures"),
        sa.ForeignKeyConstraint(
            ["workshop_id", "job_id"],
            ["jobs.workshop_id", "jobs.job_id"],
            name="fk_job_erasures_workshop_id_job_id",
        ),
    )


def _add_salts() -> None:
    jobs = sa.table("jobs", *map(sa.column, ("workshop_id", "job_id")), _bytes("salt"))
    connection = op.get_bind()
    salting = (
        sa.update(jobs)
        .where(
            jobs.c.workshop_id == sa.bindparam("of_workshop"),
            jobs.c.job_id == sa.bindparam("of_job"),
        )
        .values(salt=sa.bindparam("new_salt"))
    )
    for workshop_id, job_id in connection.execute(
        sa.select(jobs.c.workshop_id, jobs.c.job_id)
    ).all():
        of = {"of_workshop": workshop_id, "of_job": job_id}
        connection.execute(salting, of | {"new_salt": token_bytes(32)})


def _add_keys() -> None:
    op.create_table(
        "signing_keys",
        _text("kid"),
        _text("created_at"),
        _text("retired_at", null=True),
        sa.Column("public_jwk", sa.LargeBinary(), nullable=False),
        _bytes("private_key"),
        sa.PrimaryKeyConstraint("kid", name="pk_signing_keys"),
    )
    op.create_index("ix_signing_keys_created_at_kid", "signing_keys", ["created_at", "kid"])


def _add_records() -> None:
    op.create_table(
        "records",
        *(_text(name) for name in ("workshop_id", "job_id")),
        sa.Column("number", sa.BigInteger(), nullable=False),
        *(_text(name) for name in ("created_at", "digest", "kid")),
        sa.Column("document", sa.LargeBinary(), nullable=False),
        _bytes("timestamp_token"),
        _text("stamp_due_at", null=True),
        sa.Column("stamp_attempts", sa.BigInteger(), nullable=False, server_default="0"),
        sa.PrimaryKeyConstraint("workshop_id", "job_id", "number", name="pk_records"),
        sa.ForeignKeyConstraint(
            ["workshop_id", "job_id"],
            ["jobs.workshop_id", "jobs.job_id"],
            name="fk_records_workshop_id_job_id",
        ),
        sa.ForeignKeyConstraint(["kid"], ["signing_keys.kid"], name="fk_records_kid"),
    )
    op.create_index("ix_records_digest", "records", ["digest"])
    waiting = sa.text("stamp_due_at IS NOT NULL")
    op.create_index(
        "ix_records_waiting_for_token",
        "records",
        ["stamp_due_at"],
        sqlite_where=waiting,
        postgresql_where=waiting,
    )


def _text(name: str, *, null: bool = False) -> sa.Column[str]:
    return sa.Column(name, TEXT, nullable=null)


def _bytes(name: str) -> sa.Column[bytes]:
    return sa.Column(name, sa.LargeBinary(), nullable=True)

"""Which pictures the events of a job name, and the version of the program of each device."""

import json
from collections.abc import Iterator
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")  # sorts by its bytes
_JOB = ("workshop_id", "job_id")
_NAMES = (*_JOB, "event_id", "digest")


def upgrade() -> None:
    """Add them; the pictures of the events that are there are found in their documents."""
    op.add_column("job_devices", sa.Column("app_version", TEXT, nullable=True))
    op.create_table(
        "job_photos",
        *(sa.Column(name, TEXT, nullable=False) for name in _NAMES),
        sa.PrimaryKeyConstraint(*_NAMES, name="pk_job_photos"),
        sa.ForeignKeyConstraint(
            _JOB, ["jobs.workshop_id", "jobs.job_id"], name="fk_job_photos_workshop_id_job_id"
        ),
    )
    op.create_index("ix_job_photos_workshop_id_digest", "job_photos", ["workshop_id", "digest"])
    _find_photos()


def _find_photos() -> None:
    connection = op.get_bind()
    events = sa.table("job_events", *map(sa.column, (*_JOB, "document")))
    photos = sa.table("job_photos", *map(sa.column, _NAMES))
    for job in connection.execute(
        sa.select(events.c.workshop_id, events.c.job_id).distinct()
    ).all():
        of_job = (events.c.workshop_id == job.workshop_id, events.c.job_id == job.job_id)
        documents = connection.execute(sa.select(events.c.document).where(*of_job))
        if named := set(_named([_event(document) for (document,) in documents])):
            rows = [dict(zip(_NAMES, (*job, *one), strict=True)) for one in sorted(named)]
            connection.execute(sa.insert(photos), rows)


def _event(document: bytes) -> dict[str, Any]:
    try:
        event: dict[str, Any] = json.loads(document)["event"]
    except ValueError:
        return {}  # what cannot be read names nothing
    return event


def _named(events: list[dict[str, Any]]) -> Iterator[tuple[str, str]]:
    """The id of each event that was not withdrawn, with each picture that it names."""
    withdrawn = {event.get("corrects") for event in events if event.get("kind") == "correction"}
    for event in events:
        if event.get("event_id") not in withdrawn:
            is_photo = event.get("kind") == "photo_taken"
            digests = (event.get("photo"), event["digest"] if is_photo else None)
            for digest in (*digests, *event.get("photos", ())):
                if digest:
                    yield event["event_id"], digest

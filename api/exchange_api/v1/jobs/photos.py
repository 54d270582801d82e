"""Pictures that the events of a job name: which files are still to come, and what is odd of them.

The table holds those of the events in force, so that nothing has to be read anew to tell.
"""

from collections.abc import Mapping
from typing import TypeAlias

from sqlalchemy import and_, bindparam, delete, exists, insert, select

from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import ATTACHMENTS, JOB_PHOTOS
from exchange_api.storage.units import Connection
from libexchange.job.history import History
from libexchange.job.photo_doubts import PhotoFile, photos_named

JobPhotos: TypeAlias = Mapping[str, Mapping[str, PhotoFile]]
"""By the id of the event in force that names it, and by its digest."""

_NAMES = ("workshop_id", "job_id", "event_id", "digest")
_OTHER = JOB_PHOTOS.alias("other")
_ELSEWHERE = exists().where(
    _OTHER.c.workshop_id == JOB_PHOTOS.c.workshop_id,
    _OTHER.c.digest == JOB_PHOTOS.c.digest,
    _OTHER.c.job_id != JOB_PHOTOS.c.job_id,
)
_OF_JOB = Statement(
    select(
        JOB_PHOTOS.c.event_id,
        JOB_PHOTOS.c.digest,
        ATTACHMENTS.c.sent_size,
        ATTACHMENTS.c.media_type,
        _ELSEWHERE,
    )
    .join_from(
        JOB_PHOTOS,
        ATTACHMENTS,
        and_(
            ATTACHMENTS.c.workshop_id == JOB_PHOTOS.c.workshop_id,
            ATTACHMENTS.c.digest == JOB_PHOTOS.c.digest,
        ),
        isouter=True,
    )
    .where(
        JOB_PHOTOS.c.workshop_id == bindparam("workshop_id"),
        JOB_PHOTOS.c.job_id == bindparam("job_id"),
    )
)
_NAMED = Statement(
    select(JOB_PHOTOS.c.event_id, JOB_PHOTOS.c.digest).where(
        JOB_PHOTOS.c.workshop_id == bindparam("workshop_id"),
        JOB_PHOTOS.c.job_id == bindparam("job_id"),
    )
)
_ADD = Statement(insert(JOB_PHOTOS))
_DROP = Statement(delete(JOB_PHOTOS).where(*(JOB_PHOTOS.c[n] == bindparam(n) for n in _NAMES)))


def note_photos(connection: Connection, *, workshop_id: str, job_id: str, history: History) -> None:
    """Bring the table to what the events of a job name by now."""
    keyed = {"workshop_id": workshop_id, "job_id": job_id}
    kept = set(connection.execute(_NAMED, keyed))
    named = {
        (str(event.event_id), one) for event in history.in_force for one in photos_named(event)
    }
    for statement, pairs in ((_ADD, named - kept), (_DROP, kept - named)):
        rows = ({**keyed, "event_id": event_id, "digest": one} for event_id, one in sorted(pairs))
        connection.execute_many(statement, rows)


def photos_of(connection: Connection, *, workshop_id: str, job_id: str) -> JobPhotos:
    """Every picture of a job with what is known of its file."""
    rows = connection.execute(_OF_JOB, {"workshop_id": workshop_id, "job_id": job_id})
    found: dict[str, dict[str, PhotoFile]] = {}
    for event_id, digest, size, media_type, elsewhere in rows:
        file = PhotoFile(size=size, media_type=media_type, elsewhere=bool(elsewhere))
        found.setdefault(event_id, {})[digest] = file
    return found


def missing(photos: JobPhotos) -> list[str]:
    """The digests under which no file was sent yet, in order; withdrawn events need none."""
    files = (file for of_event in photos.values() for file in of_event.items())
    return sorted({digest for digest, file in files if file.size is None})

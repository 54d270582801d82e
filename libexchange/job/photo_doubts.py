"""Pictures that events name, held against the files that were sent and against other jobs."""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from libexchange.findings import COMMON_PRACTICE, Finding, Kind, Value
from libexchange.job.events import (
    Arrived,
    BenchChecked,
    JobEvent,
    LevelChecked,
    PhotoTaken,
    ReadingTaken,
)

PHOTO_DIFFERS = Kind(
    code="photo-differs-from-file",
    severity="note",
    title="A picture is told differently from the file that was sent",
    remedy="Look at the picture. If it is not the one that was meant, withdraw the event by a "
    "correction and post it with what is true.",
    source=COMMON_PRACTICE,
)
PHOTO_ELSEWHERE = Kind(
    code="photo-of-another-job",
    severity="note",
    title="Another job of the workshop has the same picture",
    remedy="Look which vehicle it shows. Withdraw the event where it does not belong by a "
    "correction, and take a picture of this one.",
    source=COMMON_PRACTICE,
)
KINDS = (PHOTO_DIFFERS, PHOTO_ELSEWHERE)
"""Every finding code of pictures."""


class PhotoFile(NamedTuple):
    """What is known of a picture by its digest; size and type are null until its file is sent.

    size: of the file as it was sent [bytes]    elsewhere: whether another job names it too
    """

    size: int | None
    media_type: str | None
    elsewhere: bool


def photos_named(event: JobEvent) -> tuple[str, ...]:
    """The digests of the pictures that an event names.

    >>> from datetime import UTC, datetime
    >>> from uuid import UUID
    >>> at = datetime(2026, 3, 4, 9, 0, tzinfo=UTC)
    >>> photos_named(Arrived(event_id=UUID(int=1), occurred_at=at, sequence=0, photos=("ab" * 32,)))
    ('abababababababababababababababababababababababababababababababab',)
    """
    match event:
        case Arrived():
            return event.photos
        case PhotoTaken():
            return (event.digest,)
        case ReadingTaken() | BenchChecked() | LevelChecked():
            return (event.photo,) if event.photo else ()
        case _:
            return ()


def photo_doubts(
    event: JobEvent, files: Mapping[str, PhotoFile], *, at: str
) -> tuple[Finding, ...]:
    """What speaks against the pictures that an event names; told beside the state of a job.

    files: by digest    at: where the event stands, as a JSON pointer    Source: common practice.

    >>> from datetime import UTC, datetime
    >>> from uuid import UUID
    >>> at = datetime(2026, 3, 4, 9, 0, tzinfo=UTC)
    >>> seen = Arrived(event_id=UUID(int=1), occurred_at=at, sequence=0, photos=("ab" * 32,))
    >>> [one.code for one in photo_doubts(seen, {"ab" * 32: PhotoFile(9, "image/png", True)},
    ...                                   at="#")]
    ['photo-of-another-job']
    """
    known = [(digest, files[digest]) for digest in photos_named(event) if digest in files]
    return tuple(finding for one in known for finding in _doubts(event, *one, at=at))


def _doubts(event: JobEvent, digest: str, file: PhotoFile, *, at: str) -> Iterator[Finding]:
    if isinstance(event, PhotoTaken):
        yield from _differs(event, file, at)
    if file.elsewhere:
        text = f"The picture {digest[:8]} is named by another job too."
        yield PHOTO_ELSEWHERE.at(at, text, values={"digest": digest})


def _differs(event: PhotoTaken, file: PhotoFile, at: str) -> Iterator[Finding]:
    of: dict[str, Value] = {"digest": event.digest}
    if file.size not in (None, event.size):
        text = f"It has {file.size} bytes, told are {event.size}."
        told = of | {"size": event.size, "sent_size": file.size}
        yield PHOTO_DIFFERS.at(f"{at}/size", text, values=told)
    if file.media_type not in (None, event.media_type):
        text = f"It was sent as {file.media_type}, told is {event.media_type}."
        told = of | {"media_type": event.media_type, "sent_media_type": file.media_type}
        yield PHOTO_DIFFERS.at(f"{at}/media_type", text, values=told)

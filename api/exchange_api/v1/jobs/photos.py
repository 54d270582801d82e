"""Pictures that events name: which of their files were not sent yet."""

from collections.abc import Iterable

from exchange_api.attachment_store import missing
from exchange_api.storage.units import Connection
from libexchange.job.events import (
    Arrived,
    BenchChecked,
    DeviceEvent,
    JobEvent,
    PhotoTaken,
    ReadingTaken,
)
from libexchange.job.history import history_of


def missing_photos(
    connection: Connection, workshop_id: str, events: Iterable[DeviceEvent]
) -> list[str]:
    """The digests whose file this workshop has not got; withdrawn events need none."""
    named = (digest for event in history_of(events).in_force for digest in _named_by(event))
    return missing(connection, workshop_id, named)


def _named_by(event: JobEvent) -> tuple[str, ...]:
    """The pictures that an event names."""
    match event:
        case Arrived():
            return event.photos
        case PhotoTaken():
            return (event.digest,)
        case ReadingTaken() | BenchChecked():
            return (event.photo,) if event.photo else ()
        case _:
            return ()

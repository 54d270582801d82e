"""Pictures that events name: which of their files were not sent yet."""

from collections.abc import Iterable

from exchange_api.attachment_store import missing
from exchange_api.storage.units import Connection
from libexchange.job.events import DeviceEvent
from libexchange.job.history import history_of


def missing_photos(
    connection: Connection, workshop_id: str, events: Iterable[DeviceEvent]
) -> list[str]:
    """The digests whose file this workshop has not got; withdrawn events need none."""
    named = (getattr(event, "photo", None) for event in history_of(events).in_force)
    return missing(connection, workshop_id, filter(None, named))

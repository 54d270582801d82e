"""The events of a record that count."""

from collections.abc import Sequence
from uuid import UUID

from libexchange.job.events import Correction, DeviceEvent, JobEvent
from libexchange.job.history import open_late_events
from libexchange.record import ChainedEvent, JobRecord


def in_force(record: JobRecord) -> list[JobEvent]:
    """The events from before the close that were not withdrawn, in order."""
    withdrawn = set(record.withdrawn)
    return [one.event for one in record.events if one.event.event_id not in withdrawn]


def late_in_force(record: JobRecord) -> list[JobEvent]:
    """The events from after the close that no correction withdraws, in order."""
    late = [one.event for one in record.late_events]
    corrected = {event.corrects for event in late if isinstance(event, Correction)}
    return [event for event in late if event.event_id not in corrected]


def ever_in_force(record: JobRecord) -> list[JobEvent]:
    """Those from before the close and those from after it."""
    return in_force(record) + late_in_force(record)


def open_late(record: JobRecord) -> tuple[UUID, ...]:
    """The events from after the close that nobody has dealt with."""
    return open_late_events(on_time=_posted(record.events), late=_posted(record.late_events))


def _posted(events: Sequence[ChainedEvent]) -> list[DeviceEvent]:
    return [DeviceEvent(device_id=one.device_id, event=one.event) for one in events]

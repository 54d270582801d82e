"""The events of a record that count."""

from libexchange.job.events import Correction, JobEvent
from libexchange.record import JobRecord


def in_force(record: JobRecord) -> list[JobEvent]:
    """The events from before the close that were not withdrawn, in order."""
    withdrawn = set(record.withdrawn)
    return [one.event for one in record.events if one.event.event_id not in withdrawn]


def ever_in_force(record: JobRecord) -> list[JobEvent]:
    """Those and the ones from after the close that no correction withdraws."""
    late = [one.event for one in record.late_events]
    corrected = {event.corrects for event in late if isinstance(event, Correction)}
    return in_force(record) + [event for event in late if event.event_id not in corrected]

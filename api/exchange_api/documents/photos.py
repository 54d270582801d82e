"""The photos that a record names, each with what it shows."""

from collections.abc import Iterable
from datetime import datetime
from typing import NamedTuple

from exchange_api.documents.event_texts import kind_of, told
from exchange_api.documents.words import moment, spaced
from libexchange.job.events import Arrived, BenchChecked, JobEvent, PhotoTaken, ReadingTaken
from libexchange.plan.records import Plan


class Photo(NamedTuple):
    """A picture by its digest, when it was named, and what it belongs to."""

    digest: str
    at: datetime
    caption: str


def photos_of(plan: Plan, events: Iterable[JobEvent]) -> list[Photo]:
    """Every photo once, in the order in which events name them, by the words of its own event."""
    titles = {step.step_id: step.title for step in plan.steps}
    found: dict[str, Photo] = {}
    for event in events:
        for digest in _digests(event):
            if digest not in found or isinstance(event, PhotoTaken):
                found[digest] = Photo(digest, event.occurred_at, _caption(event, titles))
    return list(found.values())


def _digests(event: JobEvent) -> tuple[str, ...]:
    match event:
        case PhotoTaken():
            return (event.digest,)
        case Arrived():
            return event.photos
        case ReadingTaken() | BenchChecked():
            return (event.photo,) if event.photo else ()
    return ()


def _caption(event: JobEvent, titles: dict[str, str]) -> str:
    if isinstance(event, PhotoTaken):
        words = f"{spaced(event.shows)}, taken {moment(event.taken_at)}"
        return f"{words}: {event.caption}" if event.caption else words
    words = f"{kind_of(event)}, {moment(event.occurred_at)}"
    return words if isinstance(event, Arrived) else f"{words}: {told(event, titles)}"

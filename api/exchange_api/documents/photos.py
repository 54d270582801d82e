"""The photos that a record names, each with what it shows."""

from collections.abc import Iterable
from datetime import datetime
from typing import NamedTuple

from exchange_api.documents.event_texts import kind_of, told
from exchange_api.documents.words import moment, plain
from libexchange.job.events import JobEvent
from libexchange.plan.records import Plan


class Photo(NamedTuple):
    """A picture by its digest, when it was named, and what it belongs to."""

    digest: str
    at: datetime
    caption: str


def photos_of(plan: Plan, events: Iterable[JobEvent]) -> list[Photo]:
    """Every photo once, in the order in which events name them."""
    titles = {step.step_id: plain(step.title) for step in plan.steps}
    found: dict[str, Photo] = {}
    for event in events:
        digest = getattr(event, "photo", None)
        if digest is not None and digest not in found:
            said = told(event, titles).replace(f", photo {digest}", "")
            words = f"{kind_of(event)}, {moment(event.occurred_at)}"
            found[digest] = Photo(digest, event.occurred_at, f"{words}: {said}" if said else words)
    return list(found.values())

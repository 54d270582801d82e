"""Retained samples as the events of a job tell them: what each is, where it went, who holds it."""

from collections.abc import Iterable
from datetime import date, datetime

from msgspec import Struct
from msgspec.structs import replace

from libexchange.job.events import (
    Event,
    LegalHold,
    SampleDestroyed,
    SampleDrawn,
    SampleHandedOver,
    SampleSealed,
    SampleSplit,
)

CUSTODY = (SampleDrawn, SampleSplit, SampleSealed, SampleHandedOver, SampleDestroyed, LegalHold)
"""The kinds of events that tell of custody."""


class Sample(Struct, frozen=True, kw_only=True):
    """A sample, or a part of one that was split, as far as it is known; it is gone when it was
    split or destroyed.
    """

    sample_id: str
    drawn: SampleDrawn | None
    part_of: str = ""
    seal: str = ""
    kept_for: str = ""
    keep_until: date | None = None
    place: str = ""
    holder: str = ""
    gone: str = ""

    @property
    def drawn_at(self) -> datetime | None:
        """When it, or the whole that it is a part of, was drawn."""
        return self.drawn.occurred_at if self.drawn else None


def samples_of(events: Iterable[Event]) -> list[Sample]:
    """Every sample that events name, in the order in which they first do."""
    found: dict[str, Sample] = {}
    for event in events:
        match event:
            case SampleDrawn(sample_id=sample_id):
                found[sample_id] = replace(_of(found, sample_id), drawn=event)
            case SampleSplit():
                _split(found, event)
            case SampleSealed(sample_id=sample_id):
                found[sample_id] = _sealed(_of(found, sample_id), event)
            case SampleHandedOver(sample_id=sample_id):
                found[sample_id] = replace(_of(found, sample_id), holder=event.to, place="")
            case SampleDestroyed(sample_id=sample_id):
                found[sample_id] = replace(_of(found, sample_id), gone="destroyed")
    return list(found.values())


def _of(found: dict[str, Sample], sample_id: str) -> Sample:
    return found.get(sample_id, Sample(sample_id=sample_id, drawn=None))


def _split(found: dict[str, Sample], event: SampleSplit) -> None:
    whole = _of(found, event.sample_id)
    found[event.sample_id] = replace(whole, gone=f"split into {', '.join(event.parts)}")
    for part in event.parts:
        found[part] = replace(_of(found, part), drawn=whole.drawn, part_of=event.sample_id)


def _sealed(sample: Sample, event: SampleSealed) -> Sample:
    return replace(
        sample,
        seal=event.seal,
        kept_for=event.kept_for,
        keep_until=event.keep_until or sample.keep_until,
        place=event.place or sample.place,
    )


def is_held(events: Iterable[Event]) -> bool:
    """Whether a legal hold is set and not lifted."""
    held = False
    for event in events:
        if isinstance(event, LegalHold):
            held = event.state == "set"
    return held

"""Custody of retained samples: what each is, who holds it, how it ended, and the legal hold.

Custody goes on after a job is closed, so late events count here as any other. Where an event
cannot be, the sample stays as it was and a finding says so.
"""

from collections.abc import Callable, Iterable
from typing import NamedTuple

from msgspec.structs import replace

from libexchange.findings import Finding, Kind
from libexchange.job import custody_findings as kinds
from libexchange.job.custody_records import (
    GONE,
    HandOver,
    LegalHoldState,
    RetainedSample,
    is_held,
)
from libexchange.job.events import (
    Event,
    JobEvent,
    LegalHold,
    SampleDestroyed,
    SampleDrawn,
    SampleHandedOver,
    SampleSealed,
    SampleSplit,
)
from libexchange.job.history import OF_CUSTODY, History, in_fold_order


class Custody(NamedTuple):
    """The samples in the order in which they came to be, the hold, and what is wrong."""

    samples: tuple[RetainedSample, ...]
    legal_hold: LegalHoldState | None
    findings: tuple[Finding, ...]


def custody_of(events: Iterable[JobEvent], *, finished: bool) -> Custody:
    """What events of custody come to.

    events: those of `custody_events`
    finished: whether the work is over, so that a sample that is still without a seal stands out
    Source: common practice.

    >>> custody_of([], finished=True)
    Custody(samples=(), legal_hold=None, findings=())
    """
    shelf = _Shelf()
    for event in events:
        _ACTS[type(event)](shelf, event)
    if finished:
        shelf.tell_unsealed()
    return Custody(tuple(shelf.samples.values()), shelf.hold, tuple(shelf.findings))


class _Shelf:
    """What is known after some of the events."""

    def __init__(self) -> None:
        self.samples: dict[str, RetainedSample] = {}
        self.hold: LegalHoldState | None = None
        self.findings: list[Finding] = []

    def tell(self, kind: Kind, sample_id: str, text: str, **values: str) -> None:
        """A finding that points to its sample, or to all where there is none of this name."""
        names = list(self.samples)
        place = f"/{names.index(sample_id)}" if sample_id in self.samples else ""
        told = {"sample_id": sample_id, **values}
        self.findings.append(kind.at(f"#/samples{place}", text, values=told))

    def is_new(self, sample_id: str) -> bool:
        """Whether no sample has this name yet; told where one has."""
        if sample_id not in self.samples:
            return True
        self.tell(kinds.USED_TWICE, sample_id, f"There is a sample {sample_id} already.")
        return False

    def at_hand(self, sample_id: str, act: str) -> RetainedSample | None:
        """The sample that something is done with; null, and told, where there is none."""
        sample = self.samples.get(sample_id)
        if sample is None:
            text = f"A sample {sample_id} was {act}; none was drawn under this name before."
            self.tell(kinds.UNKNOWN, sample_id, text, act=act)
            return None
        if sample.standing in GONE:
            text = f"The sample {sample_id} was {act} after it had been {sample.standing}."
            self.tell(kinds.GONE_BEFORE, sample_id, text, act=act, standing=sample.standing)
            return None
        return sample

    def tell_opened(self, sample: RetainedSample, act: str) -> None:
        """A seal that must have been opened, though nobody told of it."""
        name = sample.sample_id
        text = f"The sample {name}, sealed under {sample.seal}, was {act}."
        self.tell(kinds.SEAL_OPENED, name, text, sealed=sample.seal or "", act=act)

    def tell_unsealed(self) -> None:
        """A note for each sample that is kept without a seal."""
        for sample in self.samples.values():
            if sample.seal is None and sample.standing not in GONE:
                text = f"The sample {sample.sample_id} has no seal."
                self.tell(kinds.UNSEALED, sample.sample_id, text)


def _drawn(shelf: _Shelf, event: SampleDrawn) -> None:
    name = event.sample_id
    if not shelf.is_new(name):
        return
    shelf.samples[name] = RetainedSample(
        sample_id=name,
        fluid=event.fluid,
        drawn_from=event.drawn_from,
        drawn_at=event.occurred_at,
        drawn_by=event.by,
        lot=event.lot,
        taken=event.taken,
        temperature=event.temperature,
        odometer=event.odometer,
        volume=event.volume,
        part_of=None,
        parts=(),
        seal=None,
        sealed_at=None,
        sealed_by=None,
        kept_for=None,
        keep_until=None,
        place=None,
        holder=event.by,
        hand_overs=(),
        destroyed_at=None,
        destroyed_by=None,
        destroyed_reason=None,
        standing="drawn",
    )
    if event.drawn_from == "sump_unmixed":
        text = f"The sample {name} was drawn from the sump before the unit was driven."
        shelf.tell(kinds.UNMIXED, name, text)


def _split(shelf: _Shelf, event: SampleSplit) -> None:
    whole = shelf.at_hand(event.sample_id, "split")
    if whole is None:
        return
    if whole.seal is not None:
        shelf.tell_opened(whole, "split")
    parts = tuple([part for part in event.parts if shelf.is_new(part)])
    shelf.samples[whole.sample_id] = replace(whole, parts=parts, standing="split")
    for part in parts:
        # what a part is kept for and how long stays that of the whole until it is sealed itself
        shelf.samples[part] = replace(
            whole,
            sample_id=part,
            part_of=whole.sample_id,
            volume=None,
            seal=None,
            sealed_at=None,
            sealed_by=None,
            standing="drawn",
        )


def _sealed(shelf: _Shelf, event: SampleSealed) -> None:
    sample = shelf.at_hand(event.sample_id, "sealed")
    if sample is None:
        return
    _look_at_new_seal(shelf, sample, event.seal)
    shelf.samples[event.sample_id] = replace(
        sample,
        seal=event.seal,
        sealed_at=event.occurred_at,
        sealed_by=event.by,
        kept_for=event.kept_for,
        keep_until=max(filter(None, (event.keep_until, sample.keep_until)), default=None),
        place=event.place or sample.place,
        standing="sealed",
    )


def _look_at_new_seal(shelf: _Shelf, sample: RetainedSample, seal: str) -> None:
    if sample.standing == "sealed" and sample.seal != seal:
        shelf.tell_opened(sample, "sealed again")
    for other in shelf.samples.values():
        if other.seal == seal and other.sample_id != sample.sample_id:
            text = f"The samples {other.sample_id} and {sample.sample_id} were both sealed: {seal}."
            names = {"other_sample_id": other.sample_id, "seal": seal}
            shelf.tell(kinds.SEAL_TWICE, sample.sample_id, text, **names)


def _handed_over(shelf: _Shelf, event: SampleHandedOver) -> None:
    sample = shelf.at_hand(event.sample_id, "handed over")
    if sample is None:
        return
    over = HandOver(
        at=event.occurred_at,
        given_by=event.by,
        to=event.to,
        reason=event.reason,
        seal=event.seal,
        seal_whole=event.seal_whole,
    )
    shelf.samples[event.sample_id] = replace(
        sample,
        holder=event.to,
        place=None,  # where it was kept before; the new holder's place is not known
        hand_overs=(*sample.hand_overs, over),
        standing="handed_over",
    )
    _look_at_seal(shelf, sample, over)


def _look_at_seal(shelf: _Shelf, sample: RetainedSample, over: HandOver) -> None:
    name = sample.sample_id
    if not over.seal_whole:
        text = f"The seal of the sample {name} was not whole when it was handed over."
        shelf.tell(kinds.SEAL_BROKEN, name, text)
    if over.seal is not None and over.seal != sample.seal:
        had = "under none" if sample.seal is None else f"under {sample.seal}"
        text = f"The sample {name} was sealed {had} and handed over under {over.seal}."
        shelf.tell(kinds.SEAL_DIFFERS, name, text, sealed=sample.seal or "", read=over.seal)
    elif sample.seal is None and over.seal_whole:
        text = f"The sample {name} was handed over with a whole seal; nobody had sealed it."
        shelf.tell(kinds.SEAL_DIFFERS, name, text, sealed="", read="")


def _destroyed(shelf: _Shelf, event: SampleDestroyed) -> None:
    sample, on = shelf.at_hand(event.sample_id, "destroyed"), event.occurred_at.date()
    if sample is None:
        return
    name = event.sample_id
    shelf.samples[name] = replace(
        sample,
        destroyed_at=event.occurred_at,
        destroyed_by=event.by,
        destroyed_reason=event.reason,
        standing="destroyed",
    )
    if sample.keep_until is not None and on < sample.keep_until:
        text = f"The sample {name} was to be kept until {sample.keep_until}, not until {on}."
        kept = {"keep_until": str(sample.keep_until), "destroyed_on": str(on)}
        shelf.tell(kinds.DESTROYED_EARLY, name, text, **kept)
    if is_held(shelf.hold):
        text = f"The sample {name} was destroyed while nothing might be."
        shelf.tell(kinds.DESTROYED_UNDER_HOLD, name, text)


def _held(shelf: _Shelf, event: LegalHold) -> None:
    """Setting a hold that stands, or lifting one that does not, changes nothing."""
    if is_held(shelf.hold) != (event.state == "set"):
        shelf.hold = LegalHoldState(
            state=event.state, by=event.by, reason=event.reason, since=event.occurred_at
        )


_ACTS: dict[type[Event], Callable[..., None]] = {
    SampleDrawn: _drawn,
    SampleSplit: _split,
    SampleSealed: _sealed,
    SampleHandedOver: _handed_over,
    SampleDestroyed: _destroyed,
    LegalHold: _held,
}
"""What each kind of event does to the shelf."""


def custody_events(history: History, late: History) -> tuple[JobEvent, ...]:
    """The events of custody in force, those after the close among them, in the order of the fold.

    late: of what came after the close

    >>> from libexchange.job.history import history_of
    >>> custody_events(history_of([]), history_of([]))
    ()
    """
    in_force = {event.event_id for event in (*history.in_force, *late.in_force)}
    events = in_fold_order((*history.events, *late.events))
    return tuple(
        one.event
        for one in events
        if one.event.event_id in in_force and isinstance(one.event, OF_CUSTODY)
    )

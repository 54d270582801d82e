"""The events of a job in their one order, each counted once, with what was withdrawn taken out.

The order is by when something happened, never by when we heard of it, so that a phone without
signal tells the same story as one with it.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime
from itertools import pairwise
from typing import TypeVar
from uuid import UUID

from msgspec import Struct
from msgspec.structs import replace

from libexchange.findings import COMMON_PRACTICE, Finding, Kind
from libexchange.job.events import (
    Correction,
    DeviceEvent,
    Event,
    JobEvent,
    LateFinding,
    LegalHold,
    SampleDestroyed,
    SampleDrawn,
    SampleHandedOver,
    SampleSealed,
    SampleSplit,
)

CORRECTION_WITHOUT_EFFECT = Kind(
    code="correction-without-effect",
    severity="note",
    title="A correction names nothing that it can withdraw",
    remedy="Post the event that it corrects, or post what is true as a new event; a correction "
    "is not corrected itself, a legal hold is lifted by another event of its kind, with a name and "
    "a reason, and while one stands no sample is withdrawn.",
    source=COMMON_PRACTICE,
)
EVENT_AFTER_CLOSE = Kind(
    code="event-after-close",
    severity="caution",
    title="Events arrived after the job was closed",
    remedy="They change no verdict. Withdraw what is wrong by a correction; what is true needs a "
    "person's judgement.",
    source=COMMON_PRACTICE,
)
KINDS = (CORRECTION_WITHOUT_EFFECT, EVENT_AFTER_CLOSE)
"""Every finding code of a history."""

NORMAL_AFTER_CLOSE = (SampleHandedOver, SampleDestroyed, LegalHold, LateFinding)
"""Custody goes on after the close, and late findings only come then."""

OF_CUSTODY = (
    SampleDrawn, SampleSplit, SampleSealed, SampleHandedOver, SampleDestroyed, LegalHold,
)  # fmt: skip
"""What tells of custody: evidence that nothing may take back while a legal hold stands."""

Kindred = TypeVar("Kindred", bound=Event)


class History(Struct, frozen=True, kw_only=True):
    """All events of a job in order, and those in force: neither withdrawn nor a correction.

    by_kind: those in force once more, so that they are not looked through for every question
    """

    events: tuple[DeviceEvent, ...]
    in_force: tuple[JobEvent, ...]
    withdrawn: tuple[UUID, ...]
    findings: tuple[Finding, ...]
    by_kind: dict[type[Event], list[Event]]

    def of(self, kind: type[Kindred]) -> list[Kindred]:
        """The events in force of one kind, in order."""
        return [event for event in self.by_kind.get(kind, ()) if isinstance(event, kind)]

    def of_these(self, in_force: tuple[JobEvent, ...]) -> "History":
        """The history as if only these events of it were in force."""
        return replace(self, in_force=in_force, by_kind=_by_kind(in_force))


def history_after(history: History, late_events: Iterable[DeviceEvent]) -> History:
    """The history of what came after the close; its corrections withdraw nothing from before.

    >>> history_after(history_of([]), []).in_force
    ()
    """
    known = {one.event.event_id for one in history.events}
    held = [hold.state for hold in history.of(LegalHold)][-1:] == ["set"]
    return history_of((one for one in late_events if one.event.event_id not in known), held=held)


class SequenceGap(Struct, frozen=True, kw_only=True):
    """Events that a device has counted and we have not seen, both ends included.

    device_id: of the device    first_missing, last_missing: its own counts
    """

    device_id: str
    first_missing: int
    last_missing: int


def in_fold_order(device_events: Iterable[DeviceEvent]) -> tuple[DeviceEvent, ...]:
    """By the moment it happened, then device, sequence and id; each event id once.

    >>> in_fold_order([])
    ()
    """
    by_id: dict[UUID, DeviceEvent] = {}
    for one in sorted(device_events, key=_place):
        by_id.setdefault(one.event.event_id, one)
    return tuple(by_id.values())


def _place(one: DeviceEvent) -> tuple[datetime, str, int, UUID]:
    return one.event.occurred_at, one.device_id, one.event.sequence, one.event.event_id


def history_of(device_events: Iterable[DeviceEvent], *, held: bool = False) -> History:
    """The history that a set of events tells, whatever order and repetition they come in.

    A correction withdraws no legal hold, which would lift it without a name and a reason, and
    while one stands nothing of the custody of samples.
    held: whether a hold stood before

    >>> history_of([]).withdrawn
    ()
    """
    events = in_fold_order(device_events)
    corrections = [one.event for one in events if isinstance(one.event, Correction)]
    others = [one.event for one in events if not isinstance(one.event, Correction)]
    corrected, under_hold = _corrected(events, held)
    withdrawn = {
        event.event_id
        for event in others
        if (event.event_id in corrected and not isinstance(event, LegalHold))
        or (event.event_id in under_hold and not isinstance(event, OF_CUSTODY))
    }
    in_force = tuple(event for event in others if event.event_id not in withdrawn)
    return History(
        events=events,
        in_force=in_force,
        withdrawn=tuple(event.event_id for event in others if event.event_id in withdrawn),
        findings=tuple(_idle(one) for one in corrections if one.corrects not in withdrawn),
        by_kind=_by_kind(in_force),
    )


def _by_kind(events: Iterable[Event]) -> dict[type[Event], list[Event]]:
    kinds: dict[type[Event], list[Event]] = {}
    for event in events:
        kinds.setdefault(type(event), []).append(event)
    return kinds


def _corrected(events: Iterable[DeviceEvent], held: bool) -> tuple[set[UUID], set[UUID]]:
    """What is named by corrections while no hold stands, and while one does."""
    free: set[UUID] = set()
    bound: set[UUID] = set()
    for one in events:
        match one.event:
            case LegalHold(state=state):
                held = state == "set"
            case Correction(corrects=named):
                (bound if held else free).add(named)
    return free, bound


def _idle(correction: Correction) -> Finding:
    return CORRECTION_WITHOUT_EFFECT.at(
        "#/withdrawn",
        f"The correction {correction.event_id} names {correction.corrects}, which is not an event "
        "of this job that can be withdrawn.",
        values={"event_id": str(correction.event_id), "corrects": str(correction.corrects)},
    )


def open_late_events(
    *, on_time: Iterable[DeviceEvent], late: Iterable[DeviceEvent]
) -> tuple[UUID, ...]:
    """Events after the close that nobody has dealt with yet, in order.

    What is normal after a close is never open. A late correction deals with the late event that it
    names, and is dealt with itself; a late finding deals with what it is about. A correction that
    names an event from before the close changes nothing and stays open like any other.

    >>> open_late_events(on_time=[], late=[])
    ()
    """
    known = {one.event.event_id for one in on_time}
    events = [one.event for one in in_fold_order(late) if one.event.event_id not in known]
    others = {event.event_id for event in events if not isinstance(event, Correction)}
    corrected = {event.corrects for event in events if isinstance(event, Correction)}
    found = (event for event in events if isinstance(event, LateFinding))
    named = {one for event in found if event.event_id not in corrected for one in event.about}
    dealt_with = (corrected & others) | named
    return tuple(
        event.event_id
        for event in events
        if event.event_id not in dealt_with
        and not isinstance(event, NORMAL_AFTER_CLOSE)
        and not (isinstance(event, Correction) and event.corrects in dealt_with & others)
    )


def late_findings(open_late: Sequence[UUID]) -> list[Finding]:
    """One finding while late events are open.

    >>> late_findings([])
    []
    """
    if not open_late:
        return []
    count = len(open_late)
    text = f"{count} event{'s' * (count > 1)} came after the close and changed no verdict."
    return [EVENT_AFTER_CLOSE.at("#/open_late_events", text, values={"events": count})]


def sequence_gaps(counted: Iterable[tuple[str, int]]) -> tuple[SequenceGap, ...]:
    """What is missing from 0 to the highest number seen of each device.

    counted: each event's device and number; a device counts the events of a job from 0
    Reported beside the state and never used in it: a gap may still arrive.

    >>> sequence_gaps([("phone", 2), ("phone", 3)])
    (SequenceGap(device_id='phone', first_missing=0, last_missing=1),)
    """
    seen: dict[str, set[int]] = {}
    for device, sequence in counted:
        seen.setdefault(device, {-1}).add(sequence)
    return tuple(
        SequenceGap(device_id=device, first_missing=before + 1, last_missing=after - 1)
        for device, counts in sorted(seen.items())
        for before, after in pairwise(sorted(counts))
        if after - before > 1
    )


def clock_offset_s(*, sent_at: datetime, received_at: datetime) -> float:
    """How far a device's clock runs ahead of ours, the way of the message counted in.

    sent_at: by the device's clock    received_at: by ours    Returns: [s], positive when ahead
    Reported beside the state and never used in it.

    >>> from datetime import UTC
    >>> clock_offset_s(sent_at=datetime(2026, 3, 4, 9, 0, 30, tzinfo=UTC),
    ...                received_at=datetime(2026, 3, 4, 9, 0, tzinfo=UTC))
    30.0
    """
    return (sent_at - received_at).total_seconds()

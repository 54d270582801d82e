"""What the counts and clocks of devices tell: beside the state of a job and never used in it.

A device counts the events that it records for a job from 0, each once; it does so for every job
anew, and anew under another name. Its clock may be wrong, so what does not fit is told, for a
person to judge, and all events count as they came.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from itertools import accumulate, pairwise
from uuid import UUID

from libexchange.findings import COMMON_PRACTICE, Finding, Kind, Value
from libexchange.job.events import DeviceEvent

EVENTS_AHEAD = Kind(
    code="events-ahead-of-time",
    severity="note",
    title="Events were sent before the moment at which they say they happened",
    remedy="Set the clock of the device by the Date of any answer. What was typed in with a wrong "
    "time is withdrawn by a correction and posted again.",
    source=COMMON_PRACTICE,
)
CLOCK_OFF = Kind(
    code="device-clock-off",
    severity="note",
    title="The clock of a device differs from ours",
    remedy="Set the clock of the device by the Date of any answer, and look at the times of what "
    "it has recorded.",
    source=COMMON_PRACTICE,
)
SEQUENCE_TWICE = Kind(
    code="sequence-used-twice",
    severity="note",
    title="A device gave several events the same number",
    remedy="All of them are kept. Let the device count the events of a job from 0, each once, and "
    "keep its count over a restart; where one is the other typed again, withdraw it.",
    source=COMMON_PRACTICE,
)
AGAINST_CLOCK = Kind(
    code="sequence-against-clock",
    severity="note",
    title="A device counted events in another order than its clock tells",
    remedy="The order by the clock is the one that counts, as it should where something was typed "
    "in later. Where a time is wrong, withdraw the event by a correction and post it again.",
    source=COMMON_PRACTICE,
)
FINISHED_FIRST = Kind(
    code="finished-before-started",
    severity="note",
    title="By the clocks the work was finished before it was started",
    remedy="Look at the clocks of the devices. Withdraw what has a wrong time by a correction and "
    "post it again.",
    source=COMMON_PRACTICE,
)
KINDS = (EVENTS_AHEAD, CLOCK_OFF, SEQUENCE_TWICE, AGAINST_CLOCK, FINISHED_FIRST)
"""Every finding code of counts and clocks."""

LARGEST_OFFSET_S = 300.0
"""So far may a clock be off, either way, before it is worth telling [s] (common practice)."""


def arrival_findings(leads_s: Iterable[float]) -> tuple[Finding, ...]:
    """A finding where events lie further ahead of their arrival than a clock may run.

    leads_s: how far each lies ahead of when it was received, negative where it lies behind [s]
    Source: common practice.

    >>> arrival_findings([-20.0, 300.0])
    ()
    """
    ahead = [lead_s for lead_s in leads_s if lead_s > LARGEST_OFFSET_S]
    if not ahead:
        return ()
    most = max(ahead)
    text = f"{len(ahead)} event{'s' * (len(ahead) > 1)}, up to {most / 60:,.0f} min ahead."
    values = {"events": len(ahead), "lead_s": most}
    return (EVENTS_AHEAD.at("#/clock_offset_s", text, values=values),)


def offset_findings(offsets_s: Mapping[str, float]) -> tuple[Finding, ...]:
    """A finding for each device whose clock runs more than 300 s ahead or behind.

    offsets_s: by device, positive when ahead [s]    Source: common practice.

    >>> offset_findings({"phone-1": 300.0, "phone-2": -300.0})
    ()
    """
    return tuple(
        CLOCK_OFF.at(
            f"#/clock_offset_s/{device}",
            f"That of {device} is {abs(offset_s) / 60:,.0f} min "
            f"{'ahead' if offset_s > 0 else 'behind'}.",
            values=_values(device, offset_s=offset_s),
        )
        for device, offset_s in sorted(offsets_s.items())
        if abs(offset_s) > LARGEST_OFFSET_S
    )


def count_findings(
    device_events: Iterable[DeviceEvent], *, withdrawn: Collection[UUID]
) -> tuple[Finding, ...]:
    """A finding for each device that used a number twice, or counted against its clock.

    withdrawn: events whose time says nothing; their numbers were used all the same
    Source: common practice.

    >>> count_findings([], withdrawn=())
    ()
    """
    by_device: dict[str, list[DeviceEvent]] = {}
    for one in sorted(device_events, key=lambda one: (one.event.sequence, one.event.occurred_at)):
        by_device.setdefault(one.device_id, []).append(one)
    return tuple(
        finding
        for device, counted in sorted(by_device.items())
        for found in (_twice(device, counted), _against_clock(device, counted, withdrawn))
        for finding in found
    )


def span_findings(
    *, started_at: datetime | None, finished_at: datetime | None
) -> tuple[Finding, ...]:
    """A finding where the work was finished before it was started; null is what is not known.

    started_at: when it was first    finished_at: when it was last    Source: common practice.

    >>> span_findings(started_at=None, finished_at=None)
    ()
    """
    if started_at is None or finished_at is None or finished_at >= started_at:
        return ()
    before_s = (started_at - finished_at).total_seconds()
    text = f"It was finished {before_s:,.6g} s before it was started."
    return (FINISHED_FIRST.at("#/state/finished_at", text, values={"before_s": before_s}),)


def _twice(device: str, counted: Sequence[DeviceEvent]) -> Iterator[Finding]:
    """Numbers that stand for several of them, which come by number."""
    numbers = [one.event.sequence for one in counted]
    again = [one for before, one in pairwise(numbers) if one == before]
    if again:
        repeat = "event repeats" if len(again) == 1 else "events repeat"
        text = f"{len(again)} {repeat} a number that {device} had given before, first {again[0]}."
        values = _values(device, sequence=again[0], events=len(again))
        yield SEQUENCE_TWICE.at(f"#/clock_offset_s/{device}", text, values=values)


def _against_clock(
    device: str, counted: Sequence[DeviceEvent], withdrawn: Collection[UUID]
) -> Iterator[Finding]:
    """Those that come by number and lie before one that has a lower number."""
    moments = [one.event.occurred_at for one in counted if one.event.event_id not in withdrawn]
    latest = accumulate(moments, max)
    back_s = [(high - at).total_seconds() for high, at in zip(latest, moments, strict=True)]
    earlier = [one_s for one_s in back_s if one_s > 0]
    if earlier:
        lie = "event lies" if len(earlier) == 1 else "events lie"
        most_s = max(earlier)
        text = f"{len(earlier)} {lie} up to {most_s:,.6g} s before what {device} counted earlier."
        values = _values(device, events=len(earlier), back_s=most_s)
        yield AGAINST_CLOCK.at(f"#/clock_offset_s/{device}", text, values=values)


def _values(device: str, **numbers: float) -> dict[str, Value]:
    return {"device_id": device, **numbers}

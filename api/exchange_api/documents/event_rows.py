"""What happened in a job as rows for people: runs of readings become one row each."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from itertools import groupby
from typing import NamedTuple
from uuid import UUID

from exchange_api.documents.event_texts import kind_of, told
from exchange_api.documents.words import clock, shown, spaced, span_of_time
from libexchange.job.events import ReadingTaken
from libexchange.record import ChainedEvent, JobRecord

Received = Mapping[UUID, datetime]
"""When we first heard of an event, by its id."""

LARGE_DELAY_S = 300.0
"""From so much between doing and hearing of it on, both times are told [s]."""


class Row(NamedTuple):
    """One line of what happened; `remark` says what sets it apart, if anything does."""

    when: str
    device: str
    kind: str
    text: str
    remark: str


class _Marked(NamedTuple):
    one: ChainedEvent
    remark: str


def rows_of(record: JobRecord, received: Received) -> list[Row]:
    """Everything that happened, in order, what came after the close at the end."""
    withdrawn = set(record.withdrawn)
    marked = [
        _Marked(one, "withdrawn" if one.event.event_id in withdrawn else "")
        for one in record.events
    ]
    marked += [_Marked(one, "after the close") for one in record.late_events]
    titles = {step.step_id: step.title for step in record.plan.steps}
    return list(_rows(marked, titles, received))


def _rows(
    marked: Iterable[_Marked], titles: Mapping[str, str], received: Received
) -> Iterator[Row]:
    before: datetime | None = None
    for (device, remark, is_reading, _), group in groupby(enumerate(marked), key=_run):
        run = [one for _, (one, _) in group]
        at = run[0].event.occurred_at
        text = _readings(run) if is_reading else told(run[0].event, titles)
        remarks = ", ".join(part for part in (remark, _delay(run, received)) if part)
        yield Row(clock(at, before), device, _kind(run), text, remarks)
        before = at


def _run(numbered: tuple[int, _Marked]) -> tuple[str, str, bool, int]:
    """What two neighbours must share to stand in one row."""
    number, (one, remark) = numbered
    is_reading = isinstance(one.event, ReadingTaken)
    return one.device_id, remark, is_reading, 0 if is_reading else number


def _delay(run: list[ChainedEvent], received: Received) -> str:
    """When the slowest of a run came in, where it took long."""
    known = [one.event for one in run if one.event.event_id in received]
    slowest = max(known, key=lambda event: _late_s(event.event_id, event.occurred_at, received),
                  default=None)  # fmt: skip
    if slowest is None:
        return ""
    late_s = _late_s(slowest.event_id, slowest.occurred_at, received)
    if late_s < LARGE_DELAY_S:
        return ""
    at = received[slowest.event_id].astimezone(slowest.occurred_at.tzinfo)
    return f"entered {clock(at, slowest.occurred_at)}, {span_of_time(late_s)} later"


def _late_s(event_id: UUID, occurred_at: datetime, received: Received) -> float:
    return (received[event_id] - occurred_at).total_seconds()


def _kind(run: list[ChainedEvent]) -> str:
    words = kind_of(run[0].event)
    return words if len(run) == 1 else f"{len(run)} {words}s"


def _readings(run: list[ChainedEvent]) -> str:
    """The span of each kind of value in a run of readings, by source."""
    events = [one.event for one in run if isinstance(one.event, ReadingTaken)]
    parts = [_span(events, source) for source in dict.fromkeys(one.source for one in events)]
    seconds = (events[-1].occurred_at - events[0].occurred_at).total_seconds()
    return "; ".join(parts) + (f"; over {span_of_time(seconds)}" if seconds else "")


def _span(events: list[ReadingTaken], source: str) -> str:
    own = [one for one in events if one.source == source]
    values = []
    for name in ("temperature", "flow"):
        seen = [value for one in own if (value := getattr(one, name)) is not None]
        if seen:
            ends = dict.fromkeys((shown(seen[0]), shown(seen[-1])))
            values.append(" to ".join(ends))
    return f"{', '.join(values)} by {spaced(source)}"

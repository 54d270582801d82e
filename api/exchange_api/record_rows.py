"""What happened in a job as rows for people: runs of readings become one row each."""

from collections.abc import Iterable, Iterator
from datetime import datetime
from itertools import groupby
from typing import Any, NamedTuple

from exchange_api.people_words import moment, plain, shown
from libexchange.job.events import (
    DeviceEvent,
    FluidMoved,
    FluidOpened,
    LevelChecked,
    ReadingTaken,
)
from libexchange.record import JobRecord


class Row(NamedTuple):
    """One line of what happened; `remark` says what sets it apart, if anything does."""

    when: str
    device: str
    kind: str
    text: str
    remark: str


def rows_of(record: JobRecord) -> list[Row]:
    """Everything that happened, in order, what came after the close at the end."""
    on_time = [DeviceEvent(device_id=one.device_id, event=one.event) for one in record.events]
    marked = [(one, "withdrawn" if one.event.event_id in record.withdrawn else "")
              for one in on_time]  # fmt: skip
    marked += [(one, "after the close") for one in record.late_events]
    titles = {step.step_id: plain(step.title) for step in record.plan.steps}
    return list(_rows(marked, titles))


def _rows(marked: Iterable[tuple[DeviceEvent, str]], titles: dict[str, str]) -> Iterator[Row]:
    before: datetime | None = None
    for (device, remark, is_reading, _), group in groupby(enumerate(marked), key=_run):
        run = [one for _, (one, _) in group]
        at = run[0].event.occurred_at
        text = _readings(run) if is_reading else told(run[0], titles)
        yield Row(_when(at, before), device, _kind(run), text, remark)
        before = at


def _run(numbered: tuple[int, tuple[DeviceEvent, str]]) -> tuple[str, str, bool, int]:
    """What two neighbours must share to stand in one row."""
    number, (one, remark) = numbered
    is_reading = isinstance(one.event, ReadingTaken)
    return one.device_id, remark, is_reading, 0 if is_reading else number


def _when(at: datetime, before: datetime | None) -> str:
    """The time alone where the day and the offset are those of the row above."""
    same = before and (before.date(), before.utcoffset()) == (at.date(), at.utcoffset())
    return at.strftime("%H:%M:%S") if same else moment(at)


def _kind(run: list[DeviceEvent]) -> str:
    tag: Any = run[0].event.__struct_config__.tag
    words = str(tag).replace("_", " ")
    return words if len(run) == 1 else f"{len(run)} {words}s"


def _readings(run: list[DeviceEvent]) -> str:
    """The span of each kind of value in a run of readings, by source."""
    events = [one.event for one in run if isinstance(one.event, ReadingTaken)]
    parts = [_span(events, source) for source in dict.fromkeys(one.source for one in events)]
    seconds = (events[-1].occurred_at - events[0].occurred_at).total_seconds()
    return "; ".join(parts) + (f"; over {_span_of_time(seconds)}" if seconds else "")


def _span(events: list[ReadingTaken], source: str) -> str:
    own = [one for one in events if one.source == source]
    values = []
    for name in ("temperature", "flow"):
        seen = [value for one in own if (value := getattr(one, name)) is not None]
        if seen:
            ends = dict.fromkeys((shown(seen[0]), shown(seen[-1])))
            values.append(" to ".join(ends))
    return f"{', '.join(values)} by {source.replace('_', ' ')}"


def _span_of_time(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 120 else f"{seconds / 60:.0f} min"


def told(one: DeviceEvent, titles: dict[str, str]) -> str:
    """What an event says, in a few words; `titles` of the plan's steps by id."""
    match one.event:
        case FluidMoved() as moved:
            amount = shown(moved.volume or moved.mass, 2)
            at = f" at {shown(moved.temperature)}" if moved.temperature else ""
            step = f", {moved.step_id}" if moved.step_id else ""
            return f"{moved.direction} {amount}{at}{step}"
        case LevelChecked() as look:
            stick = f"{shown(look.reading.height)} on the stick" if look.reading else "by measure"
            read_out = f"{shown(look.read_out, 2)} read out" if look.read_out else stick
            return f"{look.observed or read_out} at {shown(look.temperature)}"
        case FluidOpened() as opened:
            return f"{opened.fluid_kind}, lot {opened.lot or 'not noted'}"
    return _only_word(one, titles)


def _only_word(one: DeviceEvent, titles: dict[str, str]) -> str:
    """The one thing that the plainer events say."""
    words = (getattr(one.event, name, None) for name in ("result", "text", "reason"))
    step_id = one.event.step_id or ""
    step = f"{step_id} {titles.get(step_id, 'which the plan does not have')}" if step_id else ""
    return next((str(word) for word in words if word), step)

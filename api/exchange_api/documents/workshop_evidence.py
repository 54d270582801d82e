"""Of the workshop's record: arrival, checks, samples, parts, tools, and how the work went."""

from collections.abc import Iterator, Sequence
from datetime import datetime

from exchange_api.documents.blocks import Column, Section, number, table, text
from exchange_api.documents.event_texts import kind_of, told
from exchange_api.documents.words import clock, day, shown, spaced
from libexchange.job.custody_records import RetainedSample, is_held
from libexchange.job.events import (
    Aborted,
    Arrived,
    BenchChecked,
    Event,
    FaultCodesRead,
    LateFinding,
    MadeSafe,
    PartFitted,
    Paused,
    Resumed,
    ToolUsed,
    Voided,
)
from libexchange.job.history import OF_CUSTODY
from libexchange.record import JobRecord

ARRIVAL = (Arrived, FaultCodesRead, BenchChecked)
COURSE = (Paused, Resumed, Aborted, MadeSafe, Voided)
WHAT_WHEN = (text("When"), text("Event", 1), text("By", 1), text("What", 4))


def sections_of(record: JobRecord, events: Sequence[Event]) -> Iterator[Section]:
    """Their sections, each where there is something to tell.

    events: those in force, the late ones with them
    """
    titles = {step.step_id: step.title for step in record.plan.steps}

    def telling(title: str, kinds: tuple[type[Event], ...]) -> Iterator[Section]:
        if (made := table(WHAT_WHEN, _rows(events, kinds, titles))) is not None:
            yield Section(title=title, table=made)

    yield from telling("State on arrival, fault codes and bench checks", ARRIVAL)
    yield from telling("Pauses and ends", COURSE)
    yield from _samples(record)
    yield from telling("Custody of samples", OF_CUSTODY)
    yield from _parts(events)
    yield from _tools(record, events)
    yield from telling("What came to light afterwards", (LateFinding,))


def _rows(
    events: Sequence[Event], kinds: tuple[type[Event], ...], titles: dict[str, str]
) -> Iterator[tuple[str, ...]]:
    before: datetime | None = None
    for event in events:
        if isinstance(event, kinds):
            at = event.occurred_at
            yield clock(at, before), kind_of(event), event.by or "not noted", told(event, titles)
            before = at


def _samples(record: JobRecord) -> Iterator[Section]:
    columns = (text("Sample"), text("What", 2), text("Seal", 1), text("Kept for", 1),
               text("Keep until"), text("Where it is", 2))  # fmt: skip
    made = table(columns, (_sample(one) for one in record.samples))
    if made is not None:
        hold = "A legal hold is set: nothing of this job may be destroyed or erased."
        held = is_held(record.legal_hold)
        yield Section(title="Retained samples", lead=hold if held else "", table=made)


def _sample(one: RetainedSample) -> tuple[str, ...]:
    what = f"{one.fluid} fluid, {spaced(one.drawn_from)}"
    where = ", ".join(part for part in (one.place, one.holder and f"held by {one.holder}") if part)
    return (
        one.sample_id,
        what + (f", part of {one.part_of}" if one.part_of else ""),
        one.seal or "not sealed",
        one.kept_for or "not noted",
        day(one.keep_until) if one.keep_until else "not noted",
        _gone(one) or where or "not noted",
    )


def _gone(one: RetainedSample) -> str:
    """How it ended, if it did."""
    if one.standing == "split":
        return f"split into {', '.join(one.parts)}"
    return "destroyed" if one.standing == "destroyed" else ""


def _parts(events: Sequence[Event]) -> Iterator[Section]:
    columns = (text("Part", 3), number("Count"), text("New"), number("Torque"), text("Tool", 1),
               text("By", 1))  # fmt: skip
    rows = [
        (e.part, str(e.count), "yes" if e.new else "NO", shown(e.torque) if e.torque else "",
         e.tool or "", e.by or "not noted")
        for e in events if isinstance(e, PartFitted)
    ]  # fmt: skip
    if rows:
        yield Section(title="Parts fitted", table=table(columns, rows))


TOOLS: tuple[Column, ...] = (
    text("Tool", 2), text("Sort", 1), text("Calibrated until", 1), text("Held before", 1),
    number("Purged with"),
)  # fmt: skip


def _tools(record: JobRecord, events: Sequence[Event]) -> Iterator[Section]:
    tools = [event for event in events if isinstance(event, ToolUsed)]
    rows = [
        (e.tool, spaced(e.sort), _calibrated(e, record), e.last_fluid_kind or "",
         shown(e.purged, 2) if e.purged else "")
        for e in tools
    ]  # fmt: skip
    if rows:
        yield Section(title="Tools and their calibration", table=table(TOOLS, rows))


def _calibrated(tool: ToolUsed, record: JobRecord) -> str:
    if tool.calibrated_until is None:
        return "not known"
    overdue = tool.calibrated_until < record.plan.request.service_date
    return day(tool.calibrated_until) + (" (OVERDUE)" if overdue else "")

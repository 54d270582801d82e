"""Where findings come from: a calculation, a plan, a verdict, guidance, arrival, pictures."""

from collections.abc import Callable, Sequence
from datetime import timedelta
from typing import Any, get_args
from uuid import UUID

import msgspec

from libexchange.calculations import CALCULATIONS, Calculation
from libexchange.findings import Finding
from libexchange.job.clocks import (
    arrival_findings,
    count_findings,
    offset_findings,
    span_findings,
)
from libexchange.job.events import DeviceEvent, Event, JobEvent, PhotoTaken, Started
from libexchange.job.fold import fold
from libexchange.job.guidance import guidance
from libexchange.job.photo_doubts import PhotoFile, photo_doubts
from libexchange.job.verdict import verdict
from tests.job.plans import START, Bay
from tests.rules.test_rules import merged, plan_for

Case = dict[str, Any]
NAMED: dict[str, Calculation] = {one.name: one for one in CALCULATIONS}
EVENTS: dict[str, type[Event]] = {
    str(kind.__struct_config__.tag): kind for kind in get_args(JobEvent)
}


def answer_of(case: Case) -> Any:
    """`calculation` names it, `request` is a patch over its example."""
    one = NAMED[case["calculation"]]
    request = msgspec.convert(merged(one.example, case.get("request", {})), one.request)
    return one.calculate(request)


def of_calculation(case: Case) -> Sequence[Finding]:
    """What an answer finds."""
    found: Sequence[Finding] = answer_of(case).findings
    return found


def of_plan(case: Case) -> Sequence[Finding]:
    """`transmission`, `fluid`, `request`, `cleaner` and `conditioner` are patches over the
    invented ones; `route` says whose reasons are meant.
    """
    plan = plan_for(case)
    if "route" not in case:
        return plan.findings
    return next(one.reasons for one in plan.alternatives if one.route == case["route"])


def bay_of(case: Case) -> Bay:
    """`work` says how far the job is, `without` which kinds of events were never posted."""
    bay = Bay(plan_for(case))
    _WORK[case.get("work", "none")](bay)
    absent = tuple(EVENTS[kind] for kind in case.get("without", []))
    bay.events = [one for one in bay.events if not isinstance(one.event, absent)]
    for event in case.get("events", []):
        add(bay, dict(event))
    return bay


def add(bay: Bay, event: dict[str, Any]) -> None:
    """Post one more; `step` names a step by its kind, as its id is known only from the plan."""
    kind, after_s = EVENTS[event.pop("kind")], event.pop("after_s", 60)
    if "step" in event:
        event["step_id"] = bay.step(event.pop("step"))
    hints = {field.name: field.type for field in msgspec.structs.fields(kind)}
    fields = {name: msgspec.convert(value, hints[name]) for name, value in event.items()}
    bay.add(kind, after_s=after_s, **fields)


def begin(bay: Bay) -> None:
    bay.add(Started)


_WORK: dict[str, Callable[[Bay], object]] = {
    "none": lambda _: None,
    "begun": begin,
    "to_level": Bay.work_to_level,
    "whole": Bay.whole_job,
}


def of_verdict(case: Case) -> Sequence[Finding]:
    """What stands in the verdict; `late` events came after the close."""
    bay = bay_of(case)
    on_time = tuple(bay.events)
    for event in case.get("late", []):
        add(bay, dict(event))
    return verdict(bay.plan, fold(bay.plan, on_time, bay.events[len(on_time) :])).findings


def of_guidance(case: Case) -> Sequence[Finding]:
    """What blocks the next step, `later_s` after the last event."""
    bay = bay_of(case)
    at = bay.now + timedelta(seconds=case.get("later_s", 0))
    return guidance(bay.plan, bay.events, at, closed=case.get("closed", False)).blocking


def of_arrival(case: Case) -> Sequence[Finding]:
    """`leads_s`: how far each event lies ahead of its arrival; `offsets_s`: of each device;
    `counted`: number and moment of each event of one device, the ids from 0, `withdrawn` some of
    them; `span_s`: from the start to the finish.
    """
    withdrawn = frozenset(UUID(int=one) for one in case.get("withdrawn", []))
    span_s = case.get("span_s")
    return (
        *arrival_findings(case.get("leads_s", [])),
        *offset_findings(case.get("offsets_s", {})),
        *count_findings(counted(case.get("counted", [])), withdrawn=withdrawn),
        *span_findings(
            started_at=START, finished_at=None if span_s is None else START + timedelta(0, span_s)
        ),
    )


def counted(pairs: list[tuple[int, float]]) -> list[DeviceEvent]:
    """One event for each, in the order that they arrived in."""
    return [
        DeviceEvent(
            device_id="invented-phone",
            event=Started(
                event_id=UUID(int=n), occurred_at=START + timedelta(0, after_s), sequence=sequence
            ),
        )
        for n, (sequence, after_s) in enumerate(pairs)
    ]


def of_photo(case: Case) -> Sequence[Finding]:
    """A picture of 900 bytes, told as JPEG, and what is known of its file."""
    event = PhotoTaken(
        event_id=UUID(int=1), occurred_at=START, sequence=0, digest="ab" * 32, size=900,
        media_type="image/jpeg", taken_at=START, shows="level",
    )  # fmt: skip
    file = PhotoFile(case.get("size"), case.get("media_type"), case.get("elsewhere", False))
    return photo_doubts(event, {event.digest: file}, at="#/items/0/event/event")


ORIGINS: dict[str, Callable[[Case], Sequence[Finding]]] = {
    "calculation": of_calculation,
    "plan": of_plan,
    "verdict": of_verdict,
    "guidance": of_guidance,
    "arrival": of_arrival,
    "photo": of_photo,
}


def found(case: Case, code: str) -> list[Finding]:
    """What a case brings out of one kind."""
    findings = ORIGINS[case.get("origin", "calculation")](case)
    return [finding for finding in findings if finding.code == code]

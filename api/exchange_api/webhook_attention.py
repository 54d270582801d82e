"""Whether a post brought something to a job that somebody should look at."""

from collections.abc import Iterable, Sequence
from typing import Any
from uuid import UUID

from exchange_api.storage.units import Connection
from exchange_api.webhook_messages import job_needs_attention
from exchange_api.webhook_queue import announce, is_asked
from libexchange.job.events import DeviceEvent
from libexchange.job.fold import fold
from libexchange.job.history import open_late_events
from libexchange.job.verdict import MISSING, verdict
from libexchange.plan.records import Plan

LATE_EVENT_OPEN = "late-event-open"
TOLD_BY_THEMSELVES = frozenset({"paused", "aborted"})
"""Kinds of events that are a reason of their own."""


def tell_attention(
    connection: Connection,
    *,
    workshop_id: str,
    job_id: str,
    version: int,
    at: str,
    plan: Plan,
    on_time: Sequence[DeviceEvent],
    late: Sequence[DeviceEvent],
    new: frozenset[UUID],
) -> None:
    """Put the message in the queue when a post has given reason to it.

    version: of the job after the post    new: the ids of the events that the post newly brought
    """
    if not is_asked(connection, workshop_id=workshop_id, event="job.needs_attention"):
        return
    if reasons := attention_reasons(plan, on_time=on_time, late=late, new=new):
        names: dict[str, Any] = {"workshop_id": workshop_id, "job_id": job_id, "version": version}
        told = job_needs_attention(**names, plan_id=str(plan.plan_id), at=at, reasons=reasons)
        announce(connection, told)


def attention_reasons(
    plan: Plan,
    *,
    on_time: Sequence[DeviceEvent],
    late: Sequence[DeviceEvent],
    new: frozenset[UUID],
) -> list[str]:
    """The codes of why a job should be looked at after events came to it; none for ordinary ones.

    What is only still to be done is no reason, nor is a stop that stood before. A difference of the
    litres through the lines is one only once the work is said to be finished.
    """
    before = [one for one in on_time if one.event.event_id not in new]
    reasons = _stops(plan, on_time) if len(before) < len(on_time) else set()
    if reasons:
        reasons -= _stops(plan, before)
    brought = (one.event for one in (*on_time, *late) if one.event.event_id in new)
    reasons |= {str(event.__struct_config__.tag) for event in brought} & TOLD_BY_THEMSELVES
    if new & set(open_late_events(on_time=on_time, late=late)):
        reasons.add(LATE_EVENT_OPEN)
    return sorted(reasons)


def _stops(plan: Plan, events: Iterable[DeviceEvent]) -> set[str]:
    state = fold(plan, events)
    found = verdict(plan, state).findings
    stops = {one.code for one in found if one.severity == "stop" and one.code not in MISSING}
    if state.progress != "finished" and state.line_exchange is not None:
        # what has gone out of the line and is not yet in again is no difference to anyone there
        stops -= {one.code for one in state.line_exchange.findings}
    return stops

"""Posted events, read item by item and kept in one unit of work."""

from copy import copy
from typing import Any
from uuid import UUID

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from exchange_api.bodies import convert
from exchange_api.json_text import parse
from exchange_api.outside import as_stamp
from exchange_api.problems import Problem, ProblemError
from exchange_api.storage.units import Connection, Unit
from exchange_api.v1.jobs import store
from exchange_api.v1.jobs.answers import EventOutcome, EventOutcomes
from libexchange.canonical import digest
from libexchange.job.events import DeviceEvent, EventBatch, JobEvent
from libexchange.job.fold import fold
from libexchange.job.history import sequence_gaps

_EVENT: Any = JobEvent  # a union, where convert speaks of one type


class Post(Struct, frozen=True, kw_only=True):
    """A post: its items in order, each an event ready to be kept or what refuses it."""

    contact: store.DeviceContact
    items: list[store.NewEvent | EventOutcome]


class KeptPost(Struct, frozen=True, kw_only=True):
    """What became of a post; the job before and after, `after` None when nothing was new."""

    outcomes: EventOutcomes
    before: store.JobRow
    after: store.JobRow | None


def read_post(raw: bytes, *, now: str) -> Post:
    """The events of a body. Raises: Problem when the envelope itself does not decode."""
    value = parse(raw).value
    events = value.get("events") if isinstance(value, dict) else None
    items = events if isinstance(events, list) else []
    envelope = convert(_shell(value, items), EventBatch)
    contact = store.DeviceContact(envelope.device_id, as_stamp(envelope.sent_at), now)
    return Post(contact=contact, items=[_item(envelope, n, one) for n, one in enumerate(items)])


def keep(post: Post, *, workshop_id: str, job_id: str) -> Unit[KeptPost]:
    """Keep what is new of a post; the outcomes in the order sent. Raises: Problem 404."""
    now = post.contact.received_at
    new = [item for item in post.items if isinstance(item, store.NewEvent)]

    def unit(connection: Connection) -> KeptPost:
        row = store.job(connection, workshop_id, job_id)
        kept = store.add_events(connection, workshop_id=workshop_id, row=row, new=new, now=now)
        loaded, after = store.load(connection, workshop_id, job_id), None
        if {"stored", "stored_late"} & set(kept):  # repeats change nothing, not even the clocks
            keyed = {"workshop_id": workshop_id, "job_id": job_id}
            store.note_contact(connection, **keyed, contact=post.contact)
            state = _state(loaded)
            after = store.touch(connection, workshop_id=workshop_id, row=row, state=state, now=now)
        outcomes = iter(zip(new, kept, strict=True))
        items = [
            item if isinstance(item, EventOutcome) else _outcome(number, *next(outcomes))
            for number, item in enumerate(post.items)
        ]
        gaps = sequence_gaps(one.event for one in loaded.events)
        outcome = EventOutcomes(items=items, gaps=gaps)
        return KeptPost(outcomes=outcome, before=row, after=after)

    return unit


def _shell(value: Any, items: list[Any]) -> Any:
    """The envelope with its items blotted out, so that a bad item does not refuse the others."""
    if not items:
        return value
    shell = copy(value)
    shell["events"] = [None] * len(items)
    return shell


def _item(envelope: EventBatch, number: int, value: Any) -> store.NewEvent | EventOutcome:
    try:
        event: JobEvent = convert(value, _EVENT)
    except Problem as refused:
        errors = [_under(number, error) for error in refused.errors]
        return EventOutcome(event_id=_event_id(value), outcome="refused", errors=errors)
    one = DeviceEvent(device_id=envelope.device_id, event=event)
    return store.NewEvent(
        event=one,
        occurred_at=as_stamp(event.occurred_at),
        sha256=digest(one),
        document=msgspec.json.encode(one),
    )


def _under(number: int, error: ProblemError) -> ProblemError:
    place = error.pointer.removeprefix("#") if isinstance(error.pointer, str) else ""
    return replace(error, pointer=f"#/events/{number}{place}")


def _event_id(value: Any) -> str | None:
    try:
        return str(UUID(value["event_id"]))
    except (KeyError, TypeError, ValueError, AttributeError):
        return None  # nothing in it can be named


def _outcome(number: int, new: store.NewEvent, kept: store.Kept) -> EventOutcome:
    event_id = str(new.event.event.event_id)
    errors = [_conflict(number, event_id)] if kept == "conflict" else []
    return EventOutcome(event_id=event_id, outcome=kept, errors=errors)


def _conflict(number: int, event_id: str) -> ProblemError:
    return ProblemError(
        pointer=f"#/events/{number}/event_id",
        code="conflict",
        detail="another event of this id is kept",
        value=event_id,
        allowed="a fresh id for each event",
        remedy="Post what is true as a new event, and withdraw the wrong one by a correction.",
    )


def _state(loaded: store.LoadedJob) -> str:
    if loaded.row.closed_at is not None:
        return loaded.row.state
    return fold(loaded.plan, (one.event for one in loaded.events)).progress

"""Posted events, read item by item and kept in one unit of work."""

from copy import copy
from typing import Any
from uuid import UUID

from msgspec import Struct
from msgspec.structs import replace

from exchange_api.bodies import convert
from exchange_api.erased_texts import refuse_erased
from exchange_api.json_text import parse
from exchange_api.outside import as_stamp
from exchange_api.problems import Problem, ProblemError
from exchange_api.storage.units import Connection, Unit
from exchange_api.v1.jobs import store
from exchange_api.v1.jobs.answers import EventOutcome, EventOutcomes
from exchange_api.v1.jobs.closing import counts, late, on_time
from exchange_api.v1.jobs.event_store import Kept, NewEvent, add_events, counted, new_event
from exchange_api.v1.jobs.photos import JobPhotos, missing, note_photos, photos_of
from exchange_api.webhook_attention import tell_attention
from libexchange.findings import Finding
from libexchange.job.events import DeviceEvent, EventBatch, JobEvent
from libexchange.job.fold import progress_of
from libexchange.job.history import history_of, sequence_gaps
from libexchange.job.photo_doubts import photo_doubts

_EVENT: Any = JobEvent  # a union, where convert speaks of one type


class Post(Struct, frozen=True, kw_only=True):
    """A post: its items in order, each an event ready to be kept or what refuses it."""

    job_id: str
    contact: store.DeviceContact
    items: list[NewEvent | EventOutcome]


class KeptPost(Struct, frozen=True, kw_only=True):
    """What became of a post; the job before and after, `after` None when nothing was new."""

    outcomes: EventOutcomes
    before: store.JobRow
    after: store.JobRow | None


def read_post(raw: bytes, *, job_id: str, posted_by: str, now: str) -> Post:
    """The events of a body. Raises: Problem when the envelope itself does not decode."""
    value = parse(raw).value
    events = value.get("events") if isinstance(value, dict) else None
    items = events if isinstance(events, list) else []
    envelope = convert(_shell(value, items), EventBatch)
    contact = store.DeviceContact(
        envelope.device_id, as_stamp(envelope.sent_at), now, envelope.app_version
    )
    reader = _Reader(job_id=job_id, device_id=envelope.device_id, posted_by=posted_by)
    return Post(
        job_id=job_id, contact=contact, items=[reader.item(n, one) for n, one in enumerate(items)]
    )


def keep(post: Post, *, workshop_id: str) -> Unit[KeptPost]:
    """Keep what is new of a post; the outcomes in the order sent. Raises: Problem 404."""
    now, keyed = post.contact.received_at, {"workshop_id": workshop_id, "job_id": post.job_id}
    new = [item for item in post.items if isinstance(item, NewEvent)]

    def unit(connection: Connection) -> KeptPost:
        row, after = store.job(connection, **keyed), None
        is_late = row.closed_at is not None
        kept, numbers = add_events(connection, **keyed, late=is_late, new=new, now=now), None
        if brought := _brought(new, kept):  # repeats change nothing, not even the clocks
            store.note_contact(connection, **keyed, contact=post.contact)
            loaded = store.load(connection, **keyed)
            numbers = counts(loaded)
            after = _after(connection, loaded, workshop_id=workshop_id, now=now)
            _tell(connection, loaded, after, workshop_id=workshop_id, new=brought)
        photos = photos_of(connection, **keyed)
        outcome = EventOutcomes(
            items=_outcomes(post, new, kept),
            gaps=sequence_gaps(numbers or counted(connection, **keyed)),
            missing_photos=missing(photos),
            findings=_doubts(post, photos),
        )
        return KeptPost(outcomes=outcome, before=row, after=after)

    return unit


def _after(
    connection: Connection, loaded: store.LoadedJob, *, workshop_id: str, now: str
) -> store.JobRow:
    """The job after its events have changed: its next version, state and pictures."""
    row, history = loaded.row, history_of(one.event for one in loaded.events)
    note_photos(connection, workshop_id=workshop_id, job_id=row.job_id, history=history)
    state = row.state if row.closed_at is not None else progress_of(history)
    return store.touch(connection, workshop_id=workshop_id, row=row, state=state, now=now)


def _doubts(post: Post, photos: JobPhotos) -> list[Finding]:
    """What speaks against the pictures that a post names, each beside its item."""
    doubts = (
        photo_doubts(item.event.event, photos[item.event_id], at=f"#/items/{number}")
        for number, item in enumerate(post.items)
        if isinstance(item, NewEvent) and item.event_id in photos
    )
    return [
        replace(finding, pointer="/".join(finding.pointer.split("/")[:3]))
        for found in doubts
        for finding in found
    ]


def _brought(new: list[NewEvent], kept: list[Kept]) -> frozenset[UUID]:
    """The ids of the events that were not there before."""
    stored = ("stored", "stored_late")
    pairs = zip(new, kept, strict=True)
    return frozenset(one.event.event.event_id for one, how in pairs if how in stored)


def _tell(
    connection: Connection,
    loaded: store.LoadedJob,
    after: store.JobRow,
    *,
    workshop_id: str,
    new: frozenset[UUID],
) -> None:
    """Tell those who asked for it when the post has brought something to look at."""
    tell_attention(
        connection,
        workshop_id=workshop_id,
        job_id=after.job_id,
        version=after.version,
        at=after.updated_at,
        plan=loaded.plan,
        on_time=on_time(loaded),
        late=late(loaded),
        new=new,
    )


def _shell(value: Any, items: list[Any]) -> Any:
    """The envelope with its items blotted out, so that a bad item does not refuse the others."""
    if not items:
        return value
    shell = copy(value)
    shell["events"] = [None] * len(items)
    return shell


class _Reader(Struct, frozen=True, kw_only=True):
    """What the items of one post have in common."""

    job_id: str
    device_id: str
    posted_by: str

    def item(self, number: int, value: Any) -> NewEvent | EventOutcome:
        """An item ready to be kept, or what refuses it."""
        try:
            event: JobEvent = convert(value, _EVENT)
            one = DeviceEvent(device_id=self.device_id, event=event)
            new = new_event(one, posted_by=self.posted_by)
            refuse_erased(event, written=new.document)
        except Problem as refused:
            errors = [_under(number, error) for error in refused.errors]
            return EventOutcome(event_id=_event_id(value), outcome="refused", errors=errors)
        named = str(event.job_id or self.job_id)
        if named != self.job_id:
            return _refused(str(event.event_id), _named_for_another(number, named))
        return new


def _refused(event_id: str, *errors: ProblemError) -> EventOutcome:
    return EventOutcome(event_id=event_id, outcome="refused", errors=list(errors))


def _under(number: int, error: ProblemError) -> ProblemError:
    place = error.pointer.removeprefix("#") if isinstance(error.pointer, str) else ""
    return replace(error, pointer=f"#/events/{number}{place}")


def _event_id(value: Any) -> str | None:
    try:
        return str(UUID(value["event_id"]))
    except (KeyError, TypeError, ValueError, AttributeError):
        return None  # nothing in it can be named


def _outcomes(post: Post, new: list[NewEvent], kept: list[Kept]) -> list[EventOutcome]:
    outcomes = iter(zip(new, kept, strict=True))
    return [
        item if isinstance(item, EventOutcome) else _outcome(number, *next(outcomes))
        for number, item in enumerate(post.items)
    ]


def _outcome(number: int, new: NewEvent, kept: Kept) -> EventOutcome:
    event_id = new.event_id
    if kept == "of_another_job":
        return _refused(event_id, _of_another_job(number, event_id))
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


def _of_another_job(number: int, event_id: str) -> ProblemError:
    return ProblemError(
        pointer=f"#/events/{number}/event_id",
        code="of-another-job",
        detail="the event belongs to another job",
        value=event_id,
        allowed="an id that no other job of the workshop has",
        remedy="Post it to the job that it belongs to; what is true of this job too is a new event "
        "with an id of its own.",
    )


def _named_for_another(number: int, job_id: str) -> ProblemError:
    return ProblemError(
        pointer=f"#/events/{number}/job_id",
        code="of-another-job",
        detail="the event names another job than the address",
        value=job_id,
        allowed="the job of the address, or nothing",
        remedy="Post it to the job that it names.",
    )

"""A legal hold: while it stands, nothing of the job is erased. It is an event like any other.

The job's own events say whether a hold stands, whoever posted them, so that record, documents and
erasure read the same; what is asked for here is added to them under a device of its own.
"""

from datetime import datetime, timedelta
from typing import Literal
from uuid import UUID

from litestar import Response, put
from msgspec import Struct

from exchange_api.audit import Trace, digest_of
from exchange_api.bodies import body
from exchange_api.changing import change
from exchange_api.erased_texts import refuse_erased
from exchange_api.operations import Answer, Operation, operation
from exchange_api.outside import as_stamp
from exchange_api.security import principal
from exchange_api.serving import Request, answer, path_uuid, service
from exchange_api.storage.units import Connection
from exchange_api.v1.jobs import store
from exchange_api.v1.jobs.closing import state_of
from exchange_api.v1.jobs.event_store import new_event
from exchange_api.v1.jobs.posting import KeptPost, Post, keep
from libexchange.fields import Instant, Person, PersonalText, Reason
from libexchange.job.custody_records import is_held
from libexchange.job.events import DeviceEvent, LegalHold

DEVICE = "legal-hold"
"""Under this name are holds counted that were set here and not by a device."""


class LegalHoldChange(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Who sets or lifts a hold, and why.

    state: whether the hold is set or lifted    by: who decided it    reason: why
    """

    state: Literal["set", "lifted"] = "set"
    by: Person
    reason: Reason


class LegalHoldStanding(Struct, frozen=True, kw_only=True):
    """Whether a hold stands on a job; since when it is so, by whom and why, else null."""

    held: bool
    since: Instant | None
    by: Person | None
    reason: PersonalText | None


HOLD = Operation(
    operation_id="putLegalHold",
    summary="Set or lift a legal hold on a job",
    description="While it stands, no personal data of the job are erased, and a sample that is "
    "destroyed is told. It is kept as an event of the job; a hold that a device posts counts the "
    "same. Setting one that stands, or lifting one that does not, changes nothing.",
    tag="jobs",
    scope="jobs:write",
    body=LegalHoldChange,
    changes=True,
    examples={"a claim": {"state": "set", "by": "Invented Office", "reason": "a claim is open"}},
    answers={200: Answer(description="How it stands now.", content=LegalHoldStanding)},
)


@put("/v1/jobs/{job_id:str}/legal-hold", **operation(HOLD))
async def put_legal_hold(request: Request) -> Response[bytes]:
    """Set or lift a hold."""
    job_id, holder = path_uuid(request, "job_id"), principal(request)
    wanted, outside = await body(request, LegalHoldChange), service(request).outside
    refuse_erased(wanted)
    now, event_id = outside.now(), UUID(outside.new_id())
    keyed = {"workshop_id": holder.workshop_id, "job_id": job_id}

    def unit(connection: Connection) -> tuple[LegalHoldStanding, KeptPost | None]:
        loaded, kept = store.load(connection, **keyed), None
        if standing(loaded).held != (wanted.state == "set"):
            event = _event(loaded, wanted, event_id=event_id, now=now)
            post = _post(event, job_id=job_id, posted_by=holder.key_id, now=as_stamp(now))
            kept = keep(post, workshop_id=holder.workshop_id)(connection)
            loaded = store.load(connection, **keyed)
        return standing(loaded), kept

    told, _ = await change(request, unit, lambda done: _trace(done[1]))
    return answer(told)


HANDLERS = (put_legal_hold,)


def standing(loaded: store.LoadedJob) -> LegalHoldStanding:
    """How a job's own events say it stands, those after the close among them."""
    hold = state_of(loaded).legal_hold
    if hold is None:
        return LegalHoldStanding(held=False, since=None, by=None, reason=None)
    return LegalHoldStanding(held=is_held(hold), since=hold.since, by=hold.by, reason=hold.reason)


def _event(
    loaded: store.LoadedJob, wanted: LegalHoldChange, *, event_id: UUID, now: datetime
) -> LegalHold:
    own = [one.event for one in loaded.events if one.event.device_id == DEVICE]
    holds = [kept.event.event for kept in loaded.events if isinstance(kept.event.event, LegalHold)]
    last = max((hold.occurred_at for hold in holds), default=None)
    return LegalHold(
        event_id=event_id,
        occurred_at=max(now, _just_after(last)) if last else now,
        sequence=len(own),
        state=wanted.state,
        by=wanted.by,
        reason=wanted.reason,
    )


def _just_after(last: datetime) -> datetime:
    """A moment after it: a clock that ran ahead must not put what is new before what it said."""
    latest = datetime.max.replace(tzinfo=last.tzinfo)
    return last + min(timedelta(microseconds=1), latest - last)


def _post(event: LegalHold, *, job_id: str, posted_by: str, now: str) -> Post:
    new = new_event(DeviceEvent(device_id=DEVICE, event=event), posted_by=posted_by)
    return Post(job_id=job_id, contact=store.DeviceContact(DEVICE, now, now), items=[new])


def _trace(kept: KeptPost | None) -> Trace | None:
    if kept is None or kept.after is None:
        return None
    target = f"jobs/{kept.after.job_id}"
    return Trace(target=target, before=digest_of(kept.before), after=digest_of(kept.after))

"""`/v1/jobs`: start, follow, guide, close and record jobs."""

import msgspec
from litestar import Response, get, post, put
from msgspec.structs import asdict, replace

from exchange_api.audit import Trace, digest_of
from exchange_api.bodies import body, raw_body
from exchange_api.changing import change
from exchange_api.conditional import check_if_match, not_modified
from exchange_api.erased_texts import refuse_erased
from exchange_api.operations import JSON, operation
from exchange_api.outside import as_stamp
from exchange_api.paging import page_of, position
from exchange_api.queries import query
from exchange_api.security import principal
from exchange_api.serving import Request, answer, path_uuid, service
from exchange_api.signing import spare_key
from exchange_api.storage.units import Connection
from exchange_api.v1.jobs import legal_hold, papers, personal_data, store
from exchange_api.v1.jobs import operations as declared
from exchange_api.v1.jobs.answers import (
    EventList,
    GuidanceQuery,
    JobPage,
    JobQuery,
    JobStart,
    PostedEvent,
    SignedClosing,
)
from exchange_api.v1.jobs.closing import closing_of, on_time, reopen, tag, view
from exchange_api.v1.jobs.event_store import KeptEvent
from exchange_api.v1.jobs.listing import page
from exchange_api.v1.jobs.photos import JobPhotos, missing, photos_of
from exchange_api.v1.jobs.posting import keep, read_post
from exchange_api.v1.jobs.relations import check_given
from exchange_api.v1.jobs.reopening import Reopening
from exchange_api.v1.jobs.signing_off import SignOff, sign_off
from libexchange.job.guidance import guidance
from libexchange.job.photo_doubts import photo_doubts
from libexchange.job.pointers import pointing_into


@put("/v1/jobs/{job_id:str}", **operation(declared.START))
async def start_job(request: Request) -> Response[bytes]:
    """Start a job, or find that it was started on this plan before."""
    job_id, workshop_id = path_uuid(request, "job_id"), principal(request).workshop_id
    wanted = await body(request, JobStart)
    check_given(job_id, wanted.related)
    unit = store.start(
        workshop_id=workshop_id,
        job_id=job_id,
        plan_id=str(wanted.plan_id),
        related=wanted.related,
        salt=service(request).outside.new_secret(),
        now=service(request).outside.stamp(),
    )
    row, added = await change(
        request, unit, lambda started: _trace(None, started[0]) if started[1] else None
    )
    loaded = await _loaded(request, row.job_id)
    headers = {"ETag": tag(loaded.row)} | ({"Location": f"/v1/jobs/{job_id}"} if added else {})
    return answer(view(loaded), status=201 if added else 200, headers=headers)


@get("/v1/jobs/{job_id:str}", **operation(declared.GET))
async def get_job(request: Request) -> Response[bytes]:
    """A job with the state that its events fold to."""
    loaded = await _loaded(request, path_uuid(request, "job_id"))
    current = tag(loaded.row)
    return not_modified(request, current) or answer(view(loaded), headers={"ETag": current})


@get("/v1/jobs", **operation(declared.LIST))
async def list_jobs(request: Request) -> Response[bytes]:
    """The jobs of the caller's workshop."""
    wanted = query(request, JobQuery)
    filters = _filters(wanted)
    operation_id = declared.LIST.operation_id
    after = None
    if wanted.cursor is not None:
        after = position(wanted.cursor, operation_id=operation_id, filters=filters, width=2)
    workshop_id = principal(request).workshop_id
    rows = await service(request).database.read(
        page(workshop_id=workshop_id, filters=filters, after=after, limit=wanted.limit)
    )
    items, cursor = page_of(
        rows,
        limit=wanted.limit,
        keys=lambda row: (row.updated_at, row.job_id),
        operation_id=operation_id,
        filters=filters,
    )
    return answer(JobPage(items=list(items), next_cursor=cursor))


@post("/v1/jobs/{job_id:str}/events", **operation(declared.POST_EVENTS))
async def post_events(request: Request) -> Response[bytes]:
    """Keep what a device sends; every item has its own outcome."""
    job_id, holder = path_uuid(request, "job_id"), principal(request)
    raw = await raw_body(request, media_type=JSON)
    now = service(request).outside.stamp()
    sent = read_post(raw, job_id=job_id, posted_by=holder.key_id, now=now)
    kept = await change(
        request,
        keep(sent, workshop_id=holder.workshop_id),
        lambda kept: _trace(kept.before, kept.after) if kept.after else None,
    )
    return answer(kept.outcomes)


@get("/v1/jobs/{job_id:str}/events", **operation(declared.LIST_EVENTS))
async def list_events(request: Request) -> Response[bytes]:
    """Everything that was posted, in the order of the fold."""
    job_id, workshop_id = path_uuid(request, "job_id"), principal(request).workshop_id

    def unit(connection: Connection) -> tuple[list[KeptEvent], JobPhotos]:
        kept = store.load(connection, workshop_id, job_id).events
        return kept, photos_of(connection, workshop_id=workshop_id, job_id=job_id)

    kept, photos = await service(request).database.read(unit)
    items = [
        PostedEvent(
            event=one.event,
            received_at=one.received_at,
            delay_s=(one.received_at - one.event.event.occurred_at).total_seconds(),
            late=one.late,
            posted_by=one.posted_by or None,
        )
        for one in kept
    ]
    doubts = (
        photo_doubts(one.event.event, photos[event_id], at=f"#/items/{n}/event/event")
        for n, one in enumerate(kept)
        if (event_id := str(one.event.event.event_id)) in photos
    )
    findings = [finding for found in doubts for finding in found]
    return answer(EventList(items=items, missing_photos=missing(photos), findings=findings))


@get("/v1/jobs/{job_id:str}/guidance", **operation(declared.GUIDANCE))
async def get_guidance(request: Request) -> Response[bytes]:
    """What to do next, judged at a moment."""
    asked = query(request, GuidanceQuery).at
    at = asked or service(request).outside.now()
    loaded = await _loaded(request, path_uuid(request, "job_id"))
    closed, events = loaded.row.closed_at is not None, on_time(loaded)
    return answer(guidance(loaded.plan, events, at, closed=closed, present=asked is None))


@post("/v1/jobs/{job_id:str}/close", **operation(declared.CLOSE))
async def close_job(request: Request) -> Response[bytes]:
    """Close a job with the verdict that its findings give."""
    job_id, holder = path_uuid(request, "job_id"), principal(request)
    by = _sign_off(request)

    def unit(connection: Connection) -> tuple[store.JobRow, store.JobRow, SignedClosing]:
        loaded = store.load(connection, holder.workshop_id, job_id)
        check_if_match(request, tag(loaded.row))
        closing = closing_of(loaded, holder, now=by.now)
        row = store.close(
            connection,
            workshop_id=holder.workshop_id,
            row=loaded.row,
            closing=msgspec.json.encode(closing),
            now=as_stamp(by.now),
        )
        digest = sign_off(connection, loaded, workshop_id=holder.workshop_id, closed=row, by=by)
        return loaded.row, row, SignedClosing(**asdict(closing), record_digest=digest)

    _, row, closing = await change(request, unit, lambda closed: _trace(closed[0], closed[1]))
    told = replace(closing, findings=pointing_into(closing, closing.findings))
    return answer(told, headers={"ETag": tag(row)})


@post("/v1/jobs/{job_id:str}/reopen", **operation(declared.REOPEN))
async def reopen_job(request: Request) -> Response[bytes]:
    """Open a closed job again; its closing stays among the earlier ones."""
    job_id, holder = path_uuid(request, "job_id"), principal(request)
    wanted, now = await body(request, Reopening), service(request).outside.now()
    refuse_erased(wanted)

    def unit(connection: Connection) -> tuple[store.JobRow, store.JobRow]:
        loaded = store.load(connection, holder.workshop_id, job_id)
        check_if_match(request, tag(loaded.row))
        row = reopen(
            connection, workshop_id=holder.workshop_id, loaded=loaded, wanted=wanted, now=now
        )
        return loaded.row, row

    await change(request, unit, lambda opened: _trace(opened[0], opened[1]))
    loaded = await _loaded(request, job_id)
    return answer(view(loaded), headers={"ETag": tag(loaded.row)})


HANDLERS = (
    start_job,
    get_job,
    list_jobs,
    post_events,
    list_events,
    get_guidance,
    close_job,
    reopen_job,
    *papers.HANDLERS,
    *legal_hold.HANDLERS,
    *personal_data.HANDLERS,
)


def _trace(before: store.JobRow | None, after: store.JobRow) -> Trace:
    return Trace(
        target=f"jobs/{after.job_id}",
        before=digest_of(before) if before else None,
        after=digest_of(after),
    )


def _sign_off(request: Request) -> SignOff:
    running, operation_id = service(request), declared.CLOSE.operation_id
    spare = spare_key(
        running.outside, actor=f"key {principal(request).key_id}", operation=operation_id
    )
    return SignOff(
        spare=spare, stamp=bool(running.settings.timestamp_url), now=running.outside.now()
    )


async def _loaded(request: Request, job_id: str) -> store.LoadedJob:
    workshop_id = principal(request).workshop_id
    return await service(request).database.read(
        lambda connection: store.load(connection, workshop_id, job_id)
    )


def _filters(wanted: JobQuery) -> dict[str, str]:
    given = {
        "state": wanted.state,
        "plan_id": str(wanted.plan_id) if wanted.plan_id else None,
        "updated_since": as_stamp(wanted.updated_since) if wanted.updated_since else None,
    }
    return {name: value for name, value in given.items() if value is not None}

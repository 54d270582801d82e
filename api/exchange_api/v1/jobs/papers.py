"""The documents of a job over HTTP: its record in every form and the warranty pack."""

from collections.abc import Callable
from functools import partial
from uuid import UUID

import msgspec
from litestar import Response, get

from exchange_api.attachment_store import attachment, find
from exchange_api.bodies import make_room
from exchange_api.conditional import etag, not_modified
from exchange_api.documents.filed import Filed
from exchange_api.documents.forms import HTML, PDF, Reader, document
from exchange_api.documents.history import ever_in_force
from exchange_api.documents.labels import LabelSheet, label_sheet
from exchange_api.documents.pack import PhotoFile, warranty_pack
from exchange_api.documents.pdf import make_pdf
from exchange_api.documents.photos import Photo, photos_of
from exchange_api.documents.printing import printed
from exchange_api.documents.workshop import workshop_record
from exchange_api.media import PAGE_POLICY
from exchange_api.operations import JSON, operation
from exchange_api.queries import query
from exchange_api.records_store import SignedRecord
from exchange_api.security import principal
from exchange_api.serving import Request, media_type, path_uuid, service
from exchange_api.storage.units import Connection
from exchange_api.timestamp_tokens import stamped
from exchange_api.v1.jobs import operations as declared
from exchange_api.v1.jobs import store
from exchange_api.v1.jobs.answers import RecordQuery
from exchange_api.v1.jobs.closing import record, state_of
from exchange_api.v1.jobs.signed import SIGNED, only_signed, signed_of
from libexchange.record import JobRecord


@get("/v1/jobs/{job_id:str}/record", **operation(declared.RECORD))
async def get_record(request: Request) -> Response[bytes]:
    """The record of a closed job, for programs, the workshop or the customer."""
    wanted, kind = query(request, RecordQuery), media_type(request)
    if kind == SIGNED:
        signed = await _signed(request, wanted.closing)
        return await _shown(request, kind, lambda: _as_signed(signed))
    if wanted.closing is not None:
        raise only_signed(wanted.closing)
    loaded = await _loaded(request)
    return await _shown(request, kind, lambda: _representation(loaded, kind, wanted.reader))


@get("/v1/jobs/{job_id:str}/warranty-pack", **operation(declared.WARRANTY_PACK))
async def get_warranty_pack(request: Request) -> Response[bytes]:
    """The record for the workshop with its photos, as one document."""
    loaded = await _loaded(request)
    made = await printed(lambda: record(loaded))
    photos = photos_of(made.plan, ever_in_force(made))
    sizes = await _sizes(request, photos)
    chosen = _chosen(sizes)
    await make_room(request, sum(sizes[digest] for digest in chosen))
    files = await _files(request, chosen)
    too_many = sizes.keys() - files.keys()
    return await _shown(request, PDF, lambda: _pack(loaded, made, photos, files, too_many))


@get("/v1/jobs/{job_id:str}/labels", **operation(declared.LABELS))
async def get_labels(request: Request) -> Response[bytes]:
    """The labels of the samples, as soon as they are drawn."""
    loaded = await _loaded(request)
    job_id = UUID(loaded.row.job_id)
    sheet = partial(
        label_sheet,
        job_id=job_id,
        plan=loaded.plan,
        workshop=principal(request).workshop,
        record_url=f"{_address(request)}/v1/jobs/{job_id}/record",
    )
    return await _shown(request, PDF, lambda: _labels(sheet, loaded))


LARGEST_PACK = 64 * 2**20
"""So many bytes of photos has a pack room for; those beyond are named and not printed."""

HANDLERS = (get_record, get_warranty_pack, get_labels)


async def _loaded(request: Request) -> store.LoadedJob:
    job_id, workshop_id = path_uuid(request, "job_id"), principal(request).workshop_id
    return await service(request).database.read(
        lambda connection: store.load(connection, workshop_id, job_id)
    )


def _address(request: Request) -> str:
    """By which the service is reached: what was set, else what the caller used."""
    return (service(request).settings.public_url or str(request.base_url)).rstrip("/")


def _as_signed(signed: SignedRecord) -> bytes:
    """The kept bytes, and the time stamp over their signature once there is one."""
    token = signed.timestamp_token
    return signed.document if token is None else stamped(signed.document, token)


async def _signed(request: Request, closing: int | None) -> SignedRecord:
    unit = signed_of(
        workshop_id=principal(request).workshop_id,
        job_id=path_uuid(request, "job_id"),
        closing=closing,
    )
    return await service(request).database.read(unit)


async def _shown(request: Request, kind: str, make: Callable[[], bytes]) -> Response[bytes]:
    """What is made, off the event loop, or 304 where the caller has it already."""
    content = await printed(make)
    current = etag(content, kind)
    found = not_modified(request, current) or Response(content, media_type=kind)
    found.headers |= {"ETag": current, "Vary": "Accept"}
    if kind == HTML:
        found.headers["Content-Security-Policy"] = PAGE_POLICY
    return found


def _representation(loaded: store.LoadedJob, kind: str, reader: Reader) -> bytes:
    made = record(loaded)
    if kind == JSON:
        return msgspec.json.encode(made)
    return document(made, _filed(loaded, made), reader=reader, media_type=kind)


def _labels(sheet: Callable[..., LabelSheet], loaded: store.LoadedJob) -> bytes:
    return make_pdf("labels.typ", sheet(state=state_of(loaded)))


def _filed(loaded: store.LoadedJob, made: JobRecord) -> Filed:
    return Filed(
        digest=loaded.record_digest or made.digest,
        received={one.event.event.event_id: one.received_at for one in loaded.events},
        related=loaded.related,
        earlier_closings=loaded.earlier_closings,
    )


def _pack(
    loaded: store.LoadedJob,
    made: JobRecord,
    photos: list[Photo],
    files: dict[str, PhotoFile],
    too_many: set[str],
) -> bytes:
    content = workshop_record(made, _filed(loaded, made))
    return warranty_pack(content, photos, files=files, too_many=too_many)


async def _sizes(request: Request, photos: list[Photo]) -> dict[str, int]:
    """How large the file of each photo is, of those that were sent."""
    workshop_id = principal(request).workshop_id

    def unit(connection: Connection) -> dict[str, int]:
        kept = {one.digest: find(connection, workshop_id, one.digest) for one in photos}
        return {digest: file.kept_size for digest, file in kept.items() if file is not None}

    return await service(request).database.read(unit)


def _chosen(sizes: dict[str, int]) -> list[str]:
    """Those that a pack has room for."""
    chosen: list[str] = []
    total = 0
    for digest, size in sizes.items():
        if total + size <= LARGEST_PACK:
            chosen.append(digest)
            total += size
    return chosen


async def _files(request: Request, digests: list[str]) -> dict[str, PhotoFile]:
    workshop_id = principal(request).workshop_id

    def unit(connection: Connection) -> dict[str, PhotoFile]:
        found = {digest: attachment(connection, workshop_id, digest) for digest in digests}
        return {
            digest: PhotoFile(media_type=file.media_type, content=file.content)
            for digest, file in found.items()
            if file is not None
        }

    return await service(request).database.read(unit)

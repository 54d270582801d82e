"""`/v1/attachments/{digest}`: pictures, kept under the digest of the bytes as they were sent."""

import asyncio
import re
from collections.abc import AsyncGenerator
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from hashlib import sha256

from litestar import Response, get, put
from litestar.response import Stream

from exchange_api import attachment_store as store
from exchange_api.attachment_store import KeptAttachment
from exchange_api.audit import Trace, digest_of
from exchange_api.bodies import raw_body
from exchange_api.changing import change
from exchange_api.conditional import not_modified
from exchange_api.disk import is_nearly_full
from exchange_api.media import bare
from exchange_api.operations import operation
from exchange_api.pictures import MEDIA_TYPES, MediaType, Picture, cleaned
from exchange_api.problems import RETRY_AFTER_S, Problem
from exchange_api.security import principal
from exchange_api.serving import Request, Service, answer, check_accepted, nothing_at, service
from exchange_api.storage.units import Connection, Database
from exchange_api.v1.attachments import operations as declared
from exchange_api.v1.attachments.operations import LARGEST_KEPT, Attachment
from libexchange.errors import Fault

_DIGEST = re.compile("[0-9a-f]{64}")
_SUFFIXES = {"image/jpeg": "jpg", "image/png": "png"}
# one picture is decoded at a time, for each takes 100 MB while it is
_DECODER = ThreadPoolExecutor(max_workers=1, thread_name_prefix="pictures")


@put("/v1/attachments/{digest:str}", **operation(declared.PUT))
async def put_attachment(request: Request) -> Response[bytes]:
    """Keep a picture, or find that it was kept before."""
    digest, workshop_id = _digest(request), principal(request).workshop_id
    raw = await raw_body(request, media_type=MEDIA_TYPES[0])
    _check_digest(raw, digest)
    running = service(request)
    kept = await running.database.read(partial(_find, workshop_id=workshop_id, digest=digest))
    if kept is not None:
        return _shown(kept, status=200)
    picture = await _cleaned(raw, _media_type(request))
    await _check_room(running, workshop_id, len(picture.content))
    new = _row(running, picture, workshop_id=workshop_id, digest=digest, sent_size=len(raw))
    added = await _keep(request, new, picture.content)
    kept = await running.database.read(partial(_find, workshop_id=workshop_id, digest=digest))
    return _shown(kept or new, status=201 if added else 200)


@get("/v1/attachments/{digest:str}", **operation(declared.GET))
async def get_attachment(request: Request) -> Response[bytes] | Stream:
    """The picture, a part at a time."""
    digest, database = _digest(request), service(request).database
    workshop_id = principal(request).workshop_id
    kept = await database.read(partial(_find, workshop_id=workshop_id, digest=digest))
    if kept is None:
        raise nothing_at("digest", digest)
    check_accepted(request, kept.media_type)
    if (unchanged := not_modified(request, _tag(kept))) is not None:
        return unchanged
    name = f"{digest[:16]}.{_SUFFIXES[kept.media_type]}"
    headers = {
        "ETag": _tag(kept),
        "Content-Disposition": f'attachment; filename="{name}"',
        "Content-Length": str(kept.kept_size),
    }
    return Stream(_parts(database, kept), media_type=kept.media_type, headers=headers)


HANDLERS = (put_attachment, get_attachment)


def _digest(request: Request) -> str:
    digest: str = request.path_params["digest"]
    if not _DIGEST.fullmatch(digest):
        raise nothing_at("digest", digest)
    return digest


def _media_type(request: Request) -> MediaType:
    given = bare(request.headers["content-type"])
    return next(one for one in MEDIA_TYPES if one == given)


def _check_digest(raw: bytes, digest: str) -> None:
    found = sha256(raw).hexdigest()
    if found != digest:
        fault = Fault(
            pointer="",
            code="digest-differs",
            detail=f"the body has the SHA-256 {found}, the address names {digest}",
            value=found,
            allowed=digest,
            remedy="Send the bytes that the digest is of; an upload that was damaged, again.",
        )
        raise Problem("invalid-body", "The body is not what its address names.", errors=[fault])


async def _cleaned(raw: bytes, media_type: MediaType) -> Picture:
    work = partial(cleaned, raw, media_type, largest=LARGEST_KEPT)
    return await asyncio.get_running_loop().run_in_executor(_DECODER, work)


async def _check_room(running: Service, workshop_id: str, more: int) -> None:
    """Raises: Problem 507 beyond the quota of the workshop, 503 when the disk is nearly full."""
    quota = running.settings.attachment_quota
    used = await running.database.read(lambda at: store.used(at, workshop_id))
    if used + more > quota:
        fault = Fault(
            pointer="",
            code="quota-reached",
            detail=f"{used} bytes are kept already",
            value=more,
            allowed=f"{quota} bytes in all",
            remedy="Keep the file where it is; ask whoever runs the service for more room.",
        )
        raise Problem("quota-reached", "There is no room for it.", errors=[fault])
    if is_nearly_full(running.settings, more=more):
        headers = {"Retry-After": str(RETRY_AFTER_S)}
        detail = "The disk of the database is nearly full."
        raise Problem("storage-unavailable", detail, headers=headers)


def _row(
    running: Service, picture: Picture, *, workshop_id: str, digest: str, sent_size: int
) -> KeptAttachment:
    return KeptAttachment(
        workshop_id=workshop_id,
        digest=digest,
        upload_id=running.outside.new_id(),
        received_at=running.outside.stamp(),
        media_type=picture.media_type,
        sent_size=sent_size,
        kept_digest=sha256(picture.content).hexdigest(),
        kept_size=len(picture.content),
        width=picture.width,
        height=picture.height,
    )


async def _keep(request: Request, new: KeptAttachment, content: bytes) -> bool:
    """Whether it is new; its pieces are written before, in units of their own."""
    database = service(request).database
    try:
        await store.stage(database, new.upload_id, content, now=new.received_at)
        trace = Trace(target=f"attachments/{new.digest}", after=digest_of(new))
        return await change(request, store.add(new), lambda added: trace if added else None)
    except BaseException:
        await store.drop(database, new.upload_id)
        raise


def _find(connection: Connection, *, workshop_id: str, digest: str) -> KeptAttachment | None:
    return store.find(connection, workshop_id, digest)


def _shown(kept: KeptAttachment, *, status: int) -> Response[bytes]:
    told = {name: getattr(kept, name) for name in Attachment.__struct_fields__}
    headers = {"ETag": _tag(kept)}
    if status == 201:
        headers["Location"] = f"/v1/attachments/{kept.digest}"
    return answer(Attachment(**told), status=status, headers=headers)


def _tag(kept: KeptAttachment) -> str:
    return f'"{kept.kept_digest}"'


async def _parts(database: Database, kept: KeptAttachment) -> AsyncGenerator[bytes, None]:
    first = 0
    while content := await database.read(store.part(kept.upload_id, first)):
        yield content
        first += store.PIECES_AT_A_TIME

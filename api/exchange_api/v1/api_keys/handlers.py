"""`/v1/api-keys`: list, make and revoke the keys of the caller's workshop."""

from litestar import Response, get, post
from msgspec.structs import replace

from exchange_api.audit import Trace, digest_of
from exchange_api.bodies import body
from exchange_api.changing import change
from exchange_api.conditional import check_if_match, not_modified
from exchange_api.keys import new_key, new_key_trace, revoke
from exchange_api.operations import operation
from exchange_api.outside import as_stamp
from exchange_api.paging import page_of, position
from exchange_api.problems import Problem
from exchange_api.queries import query
from exchange_api.scopes import ADMINISTRATOR
from exchange_api.security import for_administrators, principal
from exchange_api.serving import Request, answer, path_uuid, service
from exchange_api.storage.units import Connection
from exchange_api.v1.api_keys import operations as declared
from exchange_api.v1.api_keys import store
from exchange_api.v1.api_keys.answers import (
    ApiKeyPage,
    ApiKeyQuery,
    ApiKeyRequest,
    NewApiKey,
    tag,
    view,
)
from libexchange.errors import Fault, InvalidInput


@get("/v1/api-keys", **operation(declared.LIST))
async def list_api_keys(request: Request) -> Response[bytes]:
    """The keys of the caller's workshop, without their secrets."""
    wanted, operation_id = query(request, ApiKeyQuery), declared.LIST.operation_id
    after = None
    if wanted.cursor is not None:
        after = position(wanted.cursor, operation_id=operation_id, filters={}, width=2)
    workshop_id = principal(request).workshop_id
    rows = await service(request).database.read(
        store.page(workshop_id=workshop_id, after=after, limit=wanted.limit)
    )
    items, cursor = page_of(
        rows,
        limit=wanted.limit,
        keys=lambda row: (row.facts.created_at, row.facts.key_id),
        operation_id=operation_id,
        filters={},
    )
    return answer(ApiKeyPage(items=[view(row) for row in items], next_cursor=cursor))


@get("/v1/api-keys/{key_id:str}", **operation(declared.GET))
async def get_api_key(request: Request) -> Response[bytes]:
    """One key."""
    key_id, workshop_id = path_uuid(request, "key_id"), principal(request).workshop_id
    row = await service(request).database.read(store.one(workshop_id=workshop_id, key_id=key_id))
    return not_modified(request, tag(row)) or answer(view(row), headers={"ETag": tag(row)})


@post("/v1/api-keys", **operation(declared.CREATE))
async def create_api_key(request: Request) -> Response[bytes]:
    """Make a key that allows no more than the caller's; its text is answered once."""
    wanted, holder, running = (
        await body(request, ApiKeyRequest),
        principal(request),
        service(request),
    )
    scopes = frozenset[str](wanted.scopes)
    _check_scopes(scopes - holder.scopes)
    expires_at = as_stamp(wanted.expires_at) if wanted.expires_at else None
    key = new_key(running.outside, name=wanted.name, expires_at=expires_at)
    if expires_at is not None and expires_at <= key.created_at:
        raise InvalidInput(_already_expired(expires_at))
    left = new_key_trace(key, scopes)
    row = await change(
        request,
        store.create(workshop_id=holder.workshop_id, key=key, scopes=scopes),
        lambda _: left(holder.workshop_id),
    )
    headers = {"ETag": tag(row), "Location": f"/v1/api-keys/{key.key_id}"}
    return answer(NewApiKey(api_key=view(row), text=key.text), status=201, headers=headers)


@post("/v1/api-keys/{key_id:str}/revoke", **operation(declared.REVOKE))
async def revoke_api_key(request: Request) -> Response[bytes]:
    """Bar a key from the next request on."""
    key_id, holder = path_uuid(request, "key_id"), principal(request)
    now = service(request).outside.stamp()

    def unit(connection: Connection) -> tuple[store.KeyRow, store.KeyRow]:
        row = store.one(workshop_id=holder.workshop_id, key_id=key_id)(connection)
        check_if_match(request, tag(row))
        if ADMINISTRATOR in row.facts.scopes and not holder.administrator:
            raise for_administrators("Only an administrator revokes an administrator's key.")
        return row, replace(row, facts=revoke(connection, row.facts, now=now))

    _, row = await change(request, unit, _revoke_trace)
    return answer(view(row), headers={"ETag": tag(row)})


HANDLERS = (list_api_keys, get_api_key, create_api_key, revoke_api_key)


def _revoke_trace(rows: tuple[store.KeyRow, store.KeyRow]) -> Trace | None:
    before, after = rows
    if before == after:
        return None
    return Trace(
        target=f"api-keys/{after.facts.key_id}",
        before=digest_of(before.facts),
        after=digest_of(after.facts),
    )


def _check_scopes(beyond: frozenset[str]) -> None:
    if not beyond:
        return
    fault = Fault(
        pointer="/scopes",
        code="beyond-own-scopes",
        detail=f"the caller's key lacks {', '.join(sorted(beyond))}",
        value=sorted(beyond),
        allowed="scopes of the caller's own key",
        remedy="Leave them out, or ask with a key that has them.",
    )
    raise Problem("forbidden", "A key gives no more than it has.", errors=[fault])


def _already_expired(expires_at: str) -> Fault:
    return Fault(
        pointer="/expires_at",
        code="already-expired",
        detail="the key would have expired already",
        value=expires_at,
        allowed="a moment in the future",
        remedy="Choose a later moment, or leave it out for a key without end.",
    )

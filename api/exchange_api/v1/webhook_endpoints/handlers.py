"""`/v1/webhook-endpoints`: who is told of what happens, and what came of telling it."""

import litestar
from litestar import Response, get, post, put
from msgspec.structs import replace

from exchange_api.audit import Trace, digest_of
from exchange_api.bodies import body
from exchange_api.changing import change
from exchange_api.conditional import check_if_match, not_modified
from exchange_api.operations import operation
from exchange_api.paging import page_of, position
from exchange_api.queries import query
from exchange_api.security import principal
from exchange_api.serving import Request, answer, path_uuid, service
from exchange_api.storage.units import Connection
from exchange_api.v1.webhook_endpoints import operations as declared
from exchange_api.v1.webhook_endpoints import store
from exchange_api.v1.webhook_endpoints.answers import (
    WebhookEndpointPage,
    WebhookEndpointQuery,
    WebhookEndpointRequest,
    WebhookEndpointSecret,
    tag,
    view,
)
from exchange_api.v1.webhook_endpoints.deliveries import (
    list_deliveries,
    redeliver_webhook,
    test_endpoint,
)
from exchange_api.v1.webhook_endpoints.rotating import rotate_secret
from exchange_api.webhook_addresses import target_of
from exchange_api.webhook_rows import EndpointRow, change_endpoint
from exchange_api.webhook_signing import secret_text


@get("/v1/webhook-endpoints", **operation(declared.LIST))
async def list_endpoints(request: Request) -> Response[bytes]:
    """The endpoints of the caller's workshop."""
    wanted, operation_id = query(request, WebhookEndpointQuery), declared.LIST.operation_id
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
        keys=lambda row: (row.created_at, row.endpoint_id),
        operation_id=operation_id,
        filters={},
    )
    return answer(WebhookEndpointPage(items=[view(row) for row in items], next_cursor=cursor))


@get("/v1/webhook-endpoints/{endpoint_id:str}", **operation(declared.GET))
async def get_endpoint(request: Request) -> Response[bytes]:
    """One endpoint."""
    named = _named(request)
    row = await service(request).database.read(lambda connection: store.one(connection, **named))
    return not_modified(request, tag(row)) or answer(view(row), headers={"ETag": tag(row)})


@post("/v1/webhook-endpoints", **operation(declared.CREATE))
async def create_endpoint(request: Request) -> Response[bytes]:
    """Make an endpoint; its secret is answered once."""
    wanted, outside = await _wanted(request), service(request).outside
    now, secret = outside.stamp(), secret_text(outside.new_secret())
    row = EndpointRow(
        endpoint_id=outside.new_id(),
        workshop_id=principal(request).workshop_id,
        url=wanted.url,
        events=tuple(wanted.events),
        enabled=wanted.enabled,
        disabled_reason=None if wanted.enabled else "by_request",
        disabled_at=None if wanted.enabled else now,
        created_at=now,
        updated_at=now,
        version=1,
        old_secret_until=None,
    )
    await change(request, store.add(row, secret=secret), lambda added: _trace(None, added))
    headers = {"ETag": tag(row), "Location": f"/v1/webhook-endpoints/{row.endpoint_id}"}
    told = WebhookEndpointSecret(endpoint=view(row), secret=secret)
    return answer(told, status=201, headers=headers)


@put("/v1/webhook-endpoints/{endpoint_id:str}", **operation(declared.CHANGE))
async def put_endpoint(request: Request) -> Response[bytes]:
    """Change an endpoint as it was seen."""
    named, wanted = _named(request), await _wanted(request)
    now = service(request).outside.stamp()

    def unit(connection: Connection) -> tuple[EndpointRow, EndpointRow]:
        before = store.one(connection, **named)
        check_if_match(request, tag(before))
        after = _changed(before, wanted, now)
        change_endpoint(connection, after)
        return before, after

    _, row = await change(request, unit, lambda rows: _trace(*rows))
    return answer(view(row), headers={"ETag": tag(row)})


@litestar.delete("/v1/webhook-endpoints/{endpoint_id:str}", **operation(declared.DELETE))
async def delete_endpoint(request: Request) -> Response[None]:
    """Delete an endpoint as it was seen."""
    named = _named(request)

    def unit(connection: Connection) -> EndpointRow:
        before = store.one(connection, **named)
        check_if_match(request, tag(before))
        store.remove(connection, before.endpoint_id)
        return before

    await change(request, unit, lambda before: _trace(before, None))
    return Response(None, status_code=204)


HANDLERS = (
    list_endpoints,
    get_endpoint,
    create_endpoint,
    put_endpoint,
    delete_endpoint,
    rotate_secret,
    test_endpoint,
    list_deliveries,
    redeliver_webhook,
)


def _named(request: Request) -> dict[str, str]:
    endpoint_id = path_uuid(request, "endpoint_id")
    return {"workshop_id": principal(request).workshop_id, "endpoint_id": endpoint_id}


async def _wanted(request: Request) -> WebhookEndpointRequest:
    """What is asked for. Raises: Problem and InvalidInput, for a URL that is not allowed too."""
    wanted = await body(request, WebhookEndpointRequest)
    target_of(wanted.url, in_house=service(request).settings.webhook_hosts)
    return wanted


def _changed(before: EndpointRow, wanted: WebhookEndpointRequest, now: str) -> EndpointRow:
    is_newly_disabled = before.enabled and not wanted.enabled
    reason, since = before.disabled_reason, before.disabled_at
    if wanted.enabled:
        reason, since = None, None
    elif is_newly_disabled:
        reason, since = "by_request", now
    return replace(
        before,
        url=wanted.url,
        events=tuple(wanted.events),
        enabled=wanted.enabled,
        disabled_reason=reason,
        disabled_at=since,
        updated_at=now,
        version=before.version + 1,
    )


def _trace(before: EndpointRow | None, after: EndpointRow | None) -> Trace | None:
    row = after or before
    if row is None:
        return None
    return Trace(
        target=f"webhook-endpoints/{row.endpoint_id}",
        before=digest_of(before) if before else None,
        after=digest_of(after) if after else None,
    )

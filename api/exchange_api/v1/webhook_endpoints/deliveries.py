"""`/v1/webhook-endpoints/{endpoint_id}/deliveries`: the log, once more, and a test."""

import re
from collections.abc import Callable

from litestar import Response, get, post

from exchange_api.audit import Trace, digest_of
from exchange_api.changing import change
from exchange_api.operations import operation
from exchange_api.paging import page_of, position, wrong_cursor
from exchange_api.problems import Problem, parameter_fault
from exchange_api.queries import query
from exchange_api.security import principal
from exchange_api.serving import Request, answer, path_uuid, service
from exchange_api.storage.units import Connection
from exchange_api.v1.webhook_endpoints import operations as declared
from exchange_api.v1.webhook_endpoints import store
from exchange_api.v1.webhook_endpoints.answers import (
    WebhookDelivery,
    WebhookDeliveryPage,
    WebhookDeliveryQuery,
    delivery_view,
)
from exchange_api.webhook_messages import EndpointTold, News
from exchange_api.webhook_queue import announce_to


@get("/v1/webhook-endpoints/{endpoint_id:str}/deliveries", **operation(declared.LIST_DELIVERIES))
async def list_deliveries(request: Request) -> Response[bytes]:
    """What was and is to be delivered to an endpoint."""
    wanted, operation_id = (
        query(request, WebhookDeliveryQuery),
        declared.LIST_DELIVERIES.operation_id,
    )
    named = _named(request)
    filters = {"endpoint_id": named["endpoint_id"]}
    before = None
    if wanted.cursor is not None:
        (text,) = position(wanted.cursor, operation_id=operation_id, filters=filters, width=1)
        before = _sequence(text)

    def unit(connection: Connection) -> tuple[list[store.DeliveryRow], list[WebhookDelivery]]:
        store.one(connection, **named)
        rows = store.deliveries(connection, **filters, before=before, limit=wanted.limit)
        shown = rows[: wanted.limit]
        attempts = store.attempts(connection, **filters, rows=shown)
        return rows, [delivery_view(row, attempts[row.delivery_id]) for row in shown]

    rows, items = await service(request).database.read(unit)
    _, cursor = page_of(
        rows,
        limit=wanted.limit,
        keys=lambda row: (str(row.sequence),),
        operation_id=operation_id,
        filters=filters,
    )
    return answer(WebhookDeliveryPage(items=items, next_cursor=cursor))


@post(
    "/v1/webhook-endpoints/{endpoint_id:str}/deliveries/{delivery_id:str}/redeliver",
    **operation(declared.REDELIVER),
)
async def redeliver_webhook(request: Request) -> Response[bytes]:
    """Put a message in the queue once more."""
    named, delivery_id = _named(request), path_uuid(request, "delivery_id")
    keyed = {"endpoint_id": named["endpoint_id"], "delivery_id": delivery_id}
    now = service(request).outside.stamp()

    def unit(connection: Connection) -> WebhookDelivery:
        _check_enabled(connection, named)
        store.delivery(connection, **keyed)
        store.requeue(connection, **keyed, now=now)
        return _view(connection, keyed)

    return answer(await change(request, unit, _trace(named)), status=202)


@post("/v1/webhook-endpoints/{endpoint_id:str}/test", **operation(declared.TEST))
async def test_endpoint(request: Request) -> Response[bytes]:
    """Put a test message in the queue of an endpoint."""
    named, outside = _named(request), service(request).outside
    endpoint_id = named["endpoint_id"]
    news = News(
        workshop_id=named["workshop_id"],
        type="endpoint.test",
        at=outside.stamp(),
        message_id=outside.new_id(),
        data=EndpointTold(endpoint_id=endpoint_id),
    )

    def unit(connection: Connection) -> WebhookDelivery:
        _check_enabled(connection, named)
        announce_to(connection, news, endpoint_id=endpoint_id)
        return _view(connection, {"endpoint_id": endpoint_id, "delivery_id": news.message_id})

    return answer(await change(request, unit, _trace(named)), status=202)


def _named(request: Request) -> dict[str, str]:
    endpoint_id = path_uuid(request, "endpoint_id")
    return {"workshop_id": principal(request).workshop_id, "endpoint_id": endpoint_id}


def _sequence(text: str) -> int:
    """The sequence of a cursor, which 64 bits hold. Raises: Problem 400."""
    if not re.fullmatch("[0-9]{1,18}", text):
        raise wrong_cursor("the cursor is damaged")
    return int(text)


def _view(connection: Connection, keyed: dict[str, str]) -> WebhookDelivery:
    row = store.delivery(connection, **keyed)
    attempts = store.attempts(connection, endpoint_id=keyed["endpoint_id"], rows=[row])
    return delivery_view(row, attempts[row.delivery_id])


def _check_enabled(connection: Connection, named: dict[str, str]) -> None:
    if not store.one(connection, **named).enabled:
        error = parameter_fault(
            "path", "endpoint_id", code="conflict", detail="the endpoint is disabled",
            value=named["endpoint_id"], allowed="an enabled endpoint", remedy="Enable it first.",
        )  # fmt: skip
        raise Problem("conflict", "The endpoint is disabled.", errors=[error])


def _trace(named: dict[str, str]) -> Callable[[WebhookDelivery], Trace]:
    path = f"webhook-endpoints/{named['endpoint_id']}/deliveries"
    return lambda told: Trace(target=f"{path}/{told.delivery_id}", after=digest_of(told))

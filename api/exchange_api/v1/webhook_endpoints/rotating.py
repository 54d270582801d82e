"""`/v1/webhook-endpoints/{endpoint_id}/rotate-secret`: a new secret beside the old one."""

from datetime import timedelta

from litestar import Response, post
from msgspec.structs import replace

from exchange_api.audit import Trace, digest_of
from exchange_api.changing import change
from exchange_api.conditional import check_if_match
from exchange_api.operations import operation
from exchange_api.outside import as_stamp
from exchange_api.security import principal
from exchange_api.serving import Request, answer, path_uuid, service
from exchange_api.storage.units import Connection
from exchange_api.v1.webhook_endpoints import operations as declared
from exchange_api.v1.webhook_endpoints import store
from exchange_api.v1.webhook_endpoints.answers import WebhookEndpointSecret, tag, view
from exchange_api.webhook_rows import EndpointRow
from exchange_api.webhook_signing import secret_text

OLD_SIGNS_FOR = timedelta(hours=24)


@post("/v1/webhook-endpoints/{endpoint_id:str}/rotate-secret", **operation(declared.ROTATE))
async def rotate_secret(request: Request) -> Response[bytes]:
    """Give an endpoint a new secret; the old one signs along for a day."""
    endpoint_id, workshop_id = path_uuid(request, "endpoint_id"), principal(request).workshop_id
    outside = service(request).outside
    now, secret = outside.now(), secret_text(outside.new_secret())

    def unit(connection: Connection) -> tuple[EndpointRow, EndpointRow]:
        before = store.one(connection, workshop_id=workshop_id, endpoint_id=endpoint_id)
        check_if_match(request, tag(before))
        after = replace(
            before,
            old_secret_until=as_stamp(now + OLD_SIGNS_FOR),
            updated_at=as_stamp(now),
            version=before.version + 1,
        )
        store.rotate(connection, after, secret=secret)
        return before, after

    _, row = await change(request, unit, _trace)
    told = WebhookEndpointSecret(endpoint=view(row), secret=secret)
    return answer(told, headers={"ETag": tag(row)})


def _trace(rows: tuple[EndpointRow, EndpointRow]) -> Trace:
    before, after = rows
    target = f"webhook-endpoints/{after.endpoint_id}"
    return Trace(target=target, before=digest_of(before), after=digest_of(after))

"""`GET /metrics`."""

from litestar import Response, get

from exchange_api.metrics import CONTENT_TYPE
from exchange_api.operations import Answer, Operation, operation
from exchange_api.serving import Request, service

_METRICS = Operation(
    operation_id="getMetrics",
    summary="What this process counts of itself, in the text format of Prometheus",
    description="Route templates, methods and classes of status; nothing of a workshop.",
    tag="health",
    scope=None,
    is_limited=False,
    answers={200: Answer(description="The samples.", media_types=("text/plain",))},
)


@get("/metrics", **operation(_METRICS))
async def get_metrics(request: Request) -> Response[bytes]:
    """The counts."""
    return Response(service(request).metrics.text().encode(), media_type=CONTENT_TYPE)


HANDLERS = (get_metrics,)

"""`GET /openapi.json` and `GET /docs`."""

from litestar import Response, get

from exchange_api.conditional import etag, not_modified
from exchange_api.docs import page
from exchange_api.media import PAGE_POLICY
from exchange_api.operations import Answer, Operation, operation
from exchange_api.serving import Request, answer, service

_CONTRACT = Operation(
    operation_id="getContract",
    summary="This contract",
    tag="contract",
    scope=None,
    headers=("If-None-Match",),
    answers={200: Answer(description="OpenAPI 3.1.", content=dict, headers=("ETag",))},
)
_DOCS = Operation(
    operation_id="getDocs",
    summary="This contract as a page that needs no network",
    tag="contract",
    scope=None,
    answers={200: Answer(description="A page.", media_types=("text/html",))},
)


@get("/openapi.json", **operation(_CONTRACT))
async def get_contract(request: Request) -> Response[bytes]:
    """The contract that this process keeps."""
    contract = service(request).contract
    current = etag(contract)
    return not_modified(request, current) or answer(contract, headers={"ETag": current})


@get("/docs", **operation(_DOCS))
async def get_docs(request: Request) -> Response[bytes]:
    """The contract for readers."""
    html = page(service(request).contract)
    return Response(
        html,
        media_type="text/html",
        headers={"Content-Security-Policy": PAGE_POLICY},
    )


HANDLERS = (get_contract, get_docs)

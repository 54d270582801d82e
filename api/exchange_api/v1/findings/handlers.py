"""`GET /v1/findings`: every code that a finding can have, readable without a key."""

import msgspec
from litestar import Response, get
from msgspec import Struct

from exchange_api.conditional import etag, not_modified
from exchange_api.operations import Answer, Operation, operation
from exchange_api.serving import Request, answer
from libexchange.finding_catalogue import ALL_KINDS
from libexchange.findings import Kind


class FindingKinds(Struct, frozen=True, kw_only=True):
    """Every kind of finding, by code."""

    items: tuple[Kind, ...]


_LIST = Operation(
    operation_id="listFindings",
    summary="Every kind of finding",
    description="What each code means, how grave it usually is, what to do about it, and why we "
    "believe it. A finding itself may be graver or milder than is usual.",
    tag="findings",
    scope=None,
    headers=("If-None-Match",),
    answers={200: Answer(description="All kinds.", content=FindingKinds, headers=("ETag",))},
)
_BODY = msgspec.json.encode(FindingKinds(items=ALL_KINDS))
_ETAG = etag(_BODY)


@get("/v1/findings", **operation(_LIST))
async def list_findings(request: Request) -> Response[bytes]:
    """All kinds."""
    return not_modified(request, _ETAG) or answer(_BODY, headers={"ETag": _ETAG})


HANDLERS = (list_findings,)

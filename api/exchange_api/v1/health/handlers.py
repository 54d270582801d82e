"""`GET /health/live` and `GET /health/ready`."""

from typing import Literal

from litestar import Response, get
from msgspec import Struct

from exchange_api.disk import is_nearly_full
from exchange_api.operations import Answer, Operation, operation
from exchange_api.problems import RETRY_AFTER_S, Problem
from exchange_api.serving import Request, answer, service
from exchange_api.storage.migrate import current_revision


class Health(Struct, frozen=True, kw_only=True):
    """How the service is."""

    status: Literal["ok"]


_OK = Health(status="ok")
_LIVE = Operation(
    operation_id="getLive",
    summary="Does the process answer?",
    is_limited=False,
    tag="health",
    scope=None,
    answers={200: Answer(description="It does.", content=Health)},
)
_READY = Operation(
    operation_id="getReady",
    summary="Can it work: is the database there, with the tables this version needs, and room?",
    is_limited=False,
    tag="health",
    scope=None,
    answers={200: Answer(description="It can.", content=Health)},
)


@get("/health/live", **operation(_LIVE))
async def live() -> Response[bytes]:
    """The process answers."""
    return answer(_OK)


@get("/health/ready", **operation(_READY))
async def ready(request: Request) -> Response[bytes]:
    """The database answers, has the newest tables and room on its disk."""
    running = service(request)
    if await running.database.read(current_revision) != running.revision:
        raise _not_ready("The tables are of another version.")
    if is_nearly_full(running.settings):
        raise _not_ready("The disk of the database is nearly full.")
    return answer(_OK)


HANDLERS = (live, ready)


def _not_ready(detail: str) -> Problem:
    headers = {"Retry-After": str(RETRY_AFTER_S)}
    return Problem("storage-unavailable", detail, headers=headers)

"""`GET /v1/audit-log`: who changed what."""

from typing import Literal

from litestar import Response, get
from msgspec import Struct

from exchange_api.audit import INSTALLATION, Sealed
from exchange_api.audit_chain import seal_all
from exchange_api.operations import Answer, Operation, operation
from exchange_api.paging import Cursor, Limit, page_of, position
from exchange_api.queries import query
from exchange_api.security import for_administrators, principal
from exchange_api.serving import Request, answer, service
from exchange_api.v1.audit_log import store


class AuditQuery(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which log: the workshop's own, or the installation's, which an administrator may read."""

    log: Literal["workshop", "installation"] = "workshop"
    cursor: Cursor | None = None
    limit: Limit = 50


class AuditEvent(Sealed, frozen=True, kw_only=True):
    """A change: who made it (a key, or the command line), to what, and when.

    `before_sha256` and `after_sha256` are digests of the thing, null where it was not or is not.
    `chain_sha256` is the SHA-256 of the JSON array of the row before's `chain_sha256` (an empty
    text in the first row), `sequence`, and then `audit_id`, `workshop_id`, `at`, `actor`,
    `operation`, `target`, `before_sha256`, `after_sha256` and `request_id`, without spaces.
    """


class AuditPage(Struct, frozen=True, kw_only=True):
    """A page of the log, the oldest first.

    items: what is on this page    next_cursor: asks for the next page; null on the last
    """

    items: list[AuditEvent]
    next_cursor: str | None


_LIST = Operation(
    operation_id="listAuditLog",
    summary="Read the audit log, the oldest change first",
    description="Rows are only ever added. Each holds a digest over itself and the row before, so "
    "whoever has a row can tell whether anything before it was altered.",
    tag="access",
    scope="audit:read",
    query=AuditQuery,
    answers={200: Answer(description="A page of changes.", content=AuditPage)},
)


@get("/v1/audit-log", **operation(_LIST))
async def list_audit_log(request: Request) -> Response[bytes]:
    """A log that the caller may read, sealed up to now."""
    wanted, running = query(request, AuditQuery), service(request)
    owner = _owner(request, wanted)
    filters, operation_id, after = {"log": wanted.log}, _LIST.operation_id, 0
    if wanted.cursor is not None:
        (text,) = position(wanted.cursor, operation_id=operation_id, filters=filters, width=1)
        after = store.sequence(text)
    await seal_all(running.database, running.log)
    rows = await running.database.read(store.page(owner=owner, after=after, limit=wanted.limit))
    items, cursor = page_of(
        [AuditEvent(**row) for row in rows],
        limit=wanted.limit,
        keys=lambda row: [str(row.sequence)],
        operation_id=operation_id,
        filters=filters,
    )
    return answer(AuditPage(items=list(items), next_cursor=cursor))


HANDLERS = (list_audit_log,)


def _owner(request: Request, wanted: AuditQuery) -> str:
    holder = principal(request)
    if wanted.log == "workshop":
        return holder.workshop_id
    if not holder.administrator:
        raise for_administrators("Only an administrator reads the log of the installation.")
    return INSTALLATION

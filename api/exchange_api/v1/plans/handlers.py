"""`/v1/plans`: make, preview, read and list plans."""

import re

from litestar import Response, get, post
from msgspec import Struct

from exchange_api.audit import Trace, digest_of
from exchange_api.bodies import body
from exchange_api.changing import change
from exchange_api.conditional import not_modified
from exchange_api.erased_texts import refuse_erased
from exchange_api.operations import Answer, Link, Operation, operation
from exchange_api.paging import Cursor, Limit, page_of, position
from exchange_api.problems import Problem, parameter_fault
from exchange_api.queries import query
from exchange_api.security import principal
from exchange_api.serving import Request, answer, header, nothing_at, path_uuid, service
from exchange_api.v1.plans import store
from exchange_api.v1.plans.examples import ROUTINE_REQUEST
from exchange_api.v1.plans.making import new_plan, planned
from libexchange.canonical import digest
from libexchange.fields import Slug
from libexchange.plan.records import Plan
from libexchange.plan.request import PlanRequest

_KEY = re.compile("[!-~]{1,255}")


class PlanPage(Struct, frozen=True, kw_only=True):
    """A page of plans, the newest first.

    items: what is on this page    next_cursor: asks for the next page; null on the last
    """

    items: list[store.PlanSummary]
    next_cursor: str | None


class PlanQuery(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which plans to list."""

    transmission_id: Slug | None = None
    cursor: Cursor | None = None
    limit: Limit = 50


_START = Link(
    operation_id="startJob",
    description="Start a job on it, under an id of the caller's own.",
    body={"plan_id": "$response.body#/plan_id"},
)
_CREATE = Operation(
    operation_id=store.OPERATION,
    summary="Make a service plan and keep it",
    description="The same Idempotency-Key with the same request answers the plan that it made; "
    "with another request it is refused. A plan with a stop finding is kept with "
    "`feasible: false`.",
    tag="plans",
    scope="plans:write",
    body=PlanRequest,
    headers=("Idempotency-Key",),
    problems=("key-reused",),
    changes=True,
    examples={"routine": ROUTINE_REQUEST},
    answers={
        201: Answer(
            description="The plan.",
            content=Plan,
            headers=("ETag", "Location"),
            links={
                "read": Link(
                    operation_id="getPlan",
                    description="Read the plan again.",
                    parameters={"plan_id": "$response.body#/plan_id"},
                ),
                "start": _START,
            },
        )
    },
)
_PREVIEW = Operation(
    operation_id="previewPlan",
    summary="Compute a service plan without keeping it",
    tag="plans",
    scope="plans:read",
    body=PlanRequest,
    examples={"routine": ROUTINE_REQUEST},
    answers={200: Answer(description="The plan, which nothing keeps.", content=Plan)},
)
_GET = Operation(
    operation_id="getPlan",
    summary="Read a plan",
    tag="plans",
    scope="plans:read",
    headers=("If-None-Match",),
    answers={
        200: Answer(
            description="The plan.", content=Plan, headers=("ETag",), links={"start": _START}
        )
    },
)
_LIST = Operation(
    operation_id="listPlans",
    summary="List plans, the newest first",
    tag="plans",
    scope="plans:read",
    query=PlanQuery,
    answers={
        200: Answer(
            description="A page of plans.",
            content=PlanPage,
            links={
                "first": Link(
                    operation_id="getPlan",
                    description="Read the first of them.",
                    parameters={"plan_id": "$response.body#/items/0/plan_id"},
                )
            },
        )
    },
)


@post("/v1/plans", **operation(_CREATE))
async def create_plan(request: Request) -> Response[bytes]:
    """Make a plan and keep it, once for each Idempotency-Key."""
    holder, key = principal(request), _idempotency_key(request)
    wanted = await body(request, PlanRequest)
    refuse_erased(wanted.vehicle, under="/vehicle")
    database = service(request).database
    request_sha256 = digest(wanted)
    known = store.claimed(workshop_id=holder.workshop_id, key=key, request_sha256=request_sha256)
    try:
        kept = await database.read(known)
        if kept is None:
            plan = await planned(request, holder, wanted)
            new = new_plan(plan, holder, key=key, request_sha256=request_sha256)
            kept = await change(request, store.keep(new), lambda kept: _trace(new, kept))
    except store.KeyReused:
        raise _key_reused(key) from None
    headers = {"ETag": kept.etag, "Location": f"/v1/plans/{kept.plan_id}"}
    return answer(kept.document, status=201, headers=headers)


@post("/v1/plans/preview", **operation(_PREVIEW))
async def preview_plan(request: Request) -> Response[bytes]:
    """Compute a plan and keep nothing."""
    wanted = await body(request, PlanRequest)
    refuse_erased(wanted.vehicle, under="/vehicle")
    plan = await planned(request, principal(request), wanted)
    return answer(plan)


@get("/v1/plans/{plan_id:str}", **operation(_GET))
async def get_plan(request: Request) -> Response[bytes]:
    """A plan of the caller's workshop."""
    plan_id = path_uuid(request, "plan_id")
    workshop_id = principal(request).workshop_id
    found = await service(request).database.read(
        store.one(workshop_id=workshop_id, plan_id=plan_id)
    )
    if found is None:
        raise nothing_at("plan_id", plan_id)
    unchanged = not_modified(request, found.etag)
    return unchanged or answer(found.document, headers={"ETag": found.etag})


@get("/v1/plans", **operation(_LIST))
async def list_plans(request: Request) -> Response[bytes]:
    """The plans of the caller's workshop."""
    wanted = query(request, PlanQuery)
    filters, operation_id = {"transmission_id": wanted.transmission_id}, _LIST.operation_id
    after = None
    if wanted.cursor is not None:
        after = position(wanted.cursor, operation_id=operation_id, filters=filters, width=2)
    rows = await service(request).database.read(
        store.page(
            workshop_id=principal(request).workshop_id,
            transmission_id=wanted.transmission_id,
            after=after,
            limit=wanted.limit,
        )
    )
    page, cursor = page_of(
        rows,
        limit=wanted.limit,
        keys=lambda row: (row.created_at, row.plan_id),
        operation_id=operation_id,
        filters=filters,
    )
    return answer(PlanPage(items=list(page), next_cursor=cursor))


HANDLERS = (create_plan, preview_plan, get_plan, list_plans)


def _trace(new: store.NewPlan, kept: store.StoredPlan) -> Trace | None:
    if kept.plan_id != new.plan_id:
        return None  # the key had made a plan before
    return Trace(target=f"plans/{kept.plan_id}", after=digest_of(kept.document))


def _key_reused(key: str) -> Problem:
    error = parameter_fault(
        "header", "Idempotency-Key", code="key-reused", detail="it stands for another request",
        value=key, allowed="a key that was not used for another request",
        remedy="Send a fresh UUID for each new request.",
    )  # fmt: skip
    return Problem("key-reused", "This Idempotency-Key stands for another request.", errors=[error])


def _idempotency_key(request: Request) -> str:
    key = header(request, "Idempotency-Key")
    if _KEY.fullmatch(key):
        return key
    error = parameter_fault(
        "header", "Idempotency-Key", code="pattern", detail="it holds other characters or too many",
        value=key, allowed="1 to 255 printable ASCII characters without spaces",
        remedy="Send a fresh UUID for each new request.",
    )  # fmt: skip
    raise Problem("invalid-parameter", "The Idempotency-Key is not usable.", errors=[error])

"""How plans are kept: once made they never change; an Idempotency-Key points to what it made."""

from typing import Any

from msgspec import Struct
from sqlalchemy import Select, bindparam, select, tuple_
from sqlalchemy.dialects.postgresql import insert

from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import IDEMPOTENCY, PLANS
from exchange_api.storage.units import Connection, Unit
from exchange_api.webhook_messages import plan_created
from exchange_api.webhook_queue import announce

OPERATION = "createPlan"


class StoredPlan(Struct, frozen=True, kw_only=True):
    """A plan as it was answered."""

    plan_id: str
    etag: str
    document: bytes


class NewPlan(Struct, frozen=True, kw_only=True):
    """Everything that is kept when a plan is made."""

    workshop_id: str
    key: str
    request_sha256: str
    plan_id: str
    created_at: str
    service_date: str
    transmission_id: str | None
    route: str | None
    feasible: bool
    supersedes: str | None
    etag: str
    document: bytes
    facts: bytes


class KeyReused(Exception):
    """The Idempotency-Key stands for another request."""


class PlanSummary(Struct, frozen=True, kw_only=True):
    """What a list shows of a plan.

    plan_id: its id    created_at: when    service_date: planned day of the service
    transmission_id: of the catalogue, null where it was sent with the request
    route: proposed, null without one    feasible: whether a route may be taken
    supersedes: the plan that it corrects, null without one
    """

    plan_id: str
    created_at: str
    service_date: str
    transmission_id: str | None
    route: str | None
    feasible: bool
    supersedes: str | None


_CLAIM = Statement(
    insert(IDEMPOTENCY)
    .values({column.name: bindparam(column.name) for column in IDEMPOTENCY.columns})
    .on_conflict_do_nothing()
    .returning(IDEMPOTENCY.c.target)
)
_CLAIMED = Statement(
    select(IDEMPOTENCY.c.request_sha256, IDEMPOTENCY.c.target).where(
        IDEMPOTENCY.c.workshop_id == bindparam("workshop_id"),
        IDEMPOTENCY.c.operation == bindparam("operation"),
        IDEMPOTENCY.c.key == bindparam("key"),
    )
)
_INSERT = Statement(
    PLANS.insert().values({c.name: bindparam(c.name) for c in PLANS.columns if c.name != "release"})
)
_ONE = Statement(
    select(PLANS.c.plan_id, PLANS.c.etag, PLANS.c.document).where(
        PLANS.c.workshop_id == bindparam("workshop_id"), PLANS.c.plan_id == bindparam("plan_id")
    )
)


def claimed(*, workshop_id: str, key: str, request_sha256: str) -> Unit[StoredPlan | None]:
    """The plan that this key made; None when it is new. Raises: KeyReused."""

    def unit(connection: Connection) -> StoredPlan | None:
        keyed = {"workshop_id": workshop_id, "operation": OPERATION, "key": key}
        rows = connection.execute(_CLAIMED, keyed)
        if not rows:
            return None
        kept_sha256, plan_id = rows[0]
        if kept_sha256 != request_sha256:
            raise KeyReused
        return one(workshop_id=workshop_id, plan_id=plan_id)(connection)

    return unit


def keep(new: NewPlan) -> Unit[StoredPlan]:
    """Keep a plan under its key, or answer the plan that the key made before. Raises: KeyReused."""

    def unit(connection: Connection) -> StoredPlan:
        claim = {
            "workshop_id": new.workshop_id,
            "operation": OPERATION,
            "key": new.key,
            "request_sha256": new.request_sha256,
            "target": new.plan_id,
            "created_at": new.created_at,
        }
        if not connection.execute(_CLAIM, claim):
            earlier = claimed(
                workshop_id=new.workshop_id, key=new.key, request_sha256=new.request_sha256
            )(connection)
            if earlier is not None:
                return earlier
        connection.execute(_INSERT, _columns(new))
        made = {"workshop_id": new.workshop_id, "plan_id": new.plan_id, "at": new.created_at}
        announce(connection, plan_created(**made))
        return StoredPlan(plan_id=new.plan_id, etag=new.etag, document=new.document)

    return unit


def one(*, workshop_id: str, plan_id: str) -> Unit[StoredPlan | None]:
    """A plan of a workshop; None when there is none of that id in it."""

    def unit(connection: Connection) -> StoredPlan | None:
        rows = connection.execute(_ONE, {"workshop_id": workshop_id, "plan_id": plan_id})
        if not rows:
            return None
        found_id, etag, document = rows[0]
        return StoredPlan(plan_id=found_id, etag=etag, document=bytes(document))

    return unit


def page(
    *, workshop_id: str, transmission_id: str | None, after: tuple[str, ...] | None, limit: int
) -> Unit[list[PlanSummary]]:
    """The newest plans of a workshop, one more than the page holds."""
    statement = _PAGES[transmission_id is not None, after is not None]
    params: dict[str, str | int] = {"workshop_id": workshop_id, "rows": limit + 1}
    if transmission_id is not None:
        params["transmission_id"] = transmission_id
    if after is not None:
        params["created_at"], params["plan_id"] = after

    def unit(connection: Connection) -> list[PlanSummary]:
        return [_summary(row) for row in connection.execute(statement, params)]

    return unit


def _columns(new: NewPlan) -> dict[str, object]:
    return {
        "workshop_id": new.workshop_id,
        "plan_id": new.plan_id,
        "created_at": new.created_at,
        "service_date": new.service_date,
        "transmission_id": new.transmission_id,
        "route": new.route,
        "feasible": int(new.feasible),
        "supersedes": new.supersedes,
        "etag": new.etag,
        "document": new.document,
        "facts": new.facts,
    }


def _summary(row: tuple[Any, ...]) -> PlanSummary:
    named = dict(zip(PlanSummary.__struct_fields__, row, strict=True))
    return PlanSummary(**named | {"feasible": bool(named["feasible"])})


def _select_page(*, by_transmission: bool, after: bool) -> Select[Any]:
    columns = [PLANS.c[name] for name in PlanSummary.__struct_fields__]
    statement = select(*columns).where(PLANS.c.workshop_id == bindparam("workshop_id"))
    if by_transmission:
        statement = statement.where(PLANS.c.transmission_id == bindparam("transmission_id"))
    if after:
        # compared as a row, for PostgreSQL starts in the middle of an index only then
        last = tuple_(bindparam("created_at"), bindparam("plan_id"))
        statement = statement.where(tuple_(PLANS.c.created_at, PLANS.c.plan_id) < last)
    newest = (PLANS.c.created_at.desc(), PLANS.c.plan_id.desc())
    return statement.order_by(*newest).limit(bindparam("rows"))


_PAGES = {
    (by_transmission, after): Statement(_select_page(by_transmission=by_transmission, after=after))
    for by_transmission in (False, True)
    for after in (False, True)
}

"""How endpoints and their deliveries are kept."""

from typing import Any, Literal

from msgspec import Struct
from sqlalchemy import Select, bindparam, delete, func, insert, select, tuple_, update

from exchange_api.problems import Problem
from exchange_api.serving import nothing_at
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import WEBHOOK_ATTEMPTS, WEBHOOK_DELIVERIES, WEBHOOK_ENDPOINTS
from exchange_api.storage.units import Connection, Unit
from exchange_api.webhook_client import Outcome
from exchange_api.webhook_messages import MessageType
from exchange_api.webhook_queue import events_text
from exchange_api.webhook_rows import ENDPOINT_COLUMNS, EndpointRow, endpoint_row
from libexchange.errors import Fault

MOST_ENDPOINTS = 20
"""So many may a workshop have, since each change is told to all of them."""


class DeliveryRow(Struct, frozen=True, kw_only=True):
    """A delivery as it is kept, without its body."""

    delivery_id: str
    sequence: int
    type: MessageType
    created_at: str
    state: Literal["waiting", "delivered", "failed", "held"]
    next_at: str | None
    lease: str | None


class AttemptRow(Struct, frozen=True, kw_only=True):
    """An attempt as it is kept; `status` 0 where no answer came."""

    delivery_id: str
    number: int
    at: str
    duration_ms: int
    status: int
    outcome: Outcome
    excerpt: str


_E, _D, _A = WEBHOOK_ENDPOINTS.c, WEBHOOK_DELIVERIES.c, WEBHOOK_ATTEMPTS.c
_DELIVERY = tuple(_D[name] for name in DeliveryRow.__struct_fields__)
_ONE = Statement(
    select(*ENDPOINT_COLUMNS).where(
        _E.workshop_id == bindparam("workshop_id"), _E.endpoint_id == bindparam("endpoint_id")
    )
)
_COUNT = Statement(select(func.count()).where(_E.workshop_id == bindparam("workshop_id")))
_ADD = Statement(insert(WEBHOOK_ENDPOINTS))
_ROTATE = Statement(
    update(WEBHOOK_ENDPOINTS)
    .where(_E.endpoint_id == bindparam("of_endpoint"))
    .values(old_secret=_E.secret, secret=bindparam("new_secret"))
    .values({name: bindparam(name) for name in ("old_secret_until", "updated_at", "version")})
)
_REMOVE = (
    Statement(delete(WEBHOOK_ATTEMPTS).where(_A.endpoint_id == bindparam("of_endpoint"))),
    Statement(delete(WEBHOOK_DELIVERIES).where(_D.endpoint_id == bindparam("of_endpoint"))),
    Statement(delete(WEBHOOK_ENDPOINTS).where(_E.endpoint_id == bindparam("of_endpoint"))),
)
_ONE_DELIVERY = Statement(
    select(*_DELIVERY).where(
        _D.endpoint_id == bindparam("endpoint_id"), _D.delivery_id == bindparam("delivery_id")
    )
)
_ATTEMPTS = Statement(
    select(*(_A[name] for name in AttemptRow.__struct_fields__))
    .select_from(WEBHOOK_ATTEMPTS.join(WEBHOOK_DELIVERIES))
    .where(
        _D.endpoint_id == bindparam("endpoint_id"),
        _D.sequence.between(bindparam("low"), bindparam("high")),
    )
    .order_by(_D.sequence, _A.number)
)
_REQUEUE = Statement(
    update(WEBHOOK_DELIVERIES)
    .where(
        _D.endpoint_id == bindparam("of_endpoint"),
        _D.delivery_id == bindparam("of_delivery"),
        _D.lease.is_(None),
    )
    .values(state="waiting", tries=0, next_at=bindparam("now"))
)


def _page_statement(*, is_first: bool) -> Statement:
    wanted: Select[Any] = select(*ENDPOINT_COLUMNS).where(
        _E.workshop_id == bindparam("workshop_id")
    )
    if not is_first:
        last = tuple_(bindparam("created_at"), bindparam("endpoint_id"))
        wanted = wanted.where(tuple_(_E.created_at, _E.endpoint_id) < last)
    newest_first = wanted.order_by(_E.created_at.desc(), _E.endpoint_id.desc())
    return Statement(newest_first.limit(bindparam("rows")))


def _deliveries_statement(*, is_first: bool) -> Statement:
    wanted: Select[Any] = select(*_DELIVERY).where(_D.endpoint_id == bindparam("endpoint_id"))
    if not is_first:
        wanted = wanted.where(_D.sequence < bindparam("sequence"))
    return Statement(wanted.order_by(_D.sequence.desc()).limit(bindparam("rows")))


_PAGES = {is_first: _page_statement(is_first=is_first) for is_first in (True, False)}
_DELIVERIES = {is_first: _deliveries_statement(is_first=is_first) for is_first in (True, False)}


def page(*, workshop_id: str, after: tuple[str, ...] | None, limit: int) -> Unit[list[EndpointRow]]:
    """A unit: the newest endpoints of a workshop, one more than the page holds."""
    params: dict[str, str | int] = {"workshop_id": workshop_id, "rows": limit + 1}
    if after is not None:
        params["created_at"], params["endpoint_id"] = after
    statement = _PAGES[after is None]
    return lambda connection: [endpoint_row(row) for row in connection.execute(statement, params)]


def one(connection: Connection, *, workshop_id: str, endpoint_id: str) -> EndpointRow:
    """An endpoint of a workshop. Raises: Problem 404."""
    keyed = {"workshop_id": workshop_id, "endpoint_id": endpoint_id}
    rows = connection.execute(_ONE, keyed)
    if not rows:
        raise nothing_at("endpoint_id", endpoint_id)
    return endpoint_row(rows[0])


def add(row: EndpointRow, *, secret: str) -> Unit[EndpointRow]:
    """A unit: keep an endpoint. Raises: Problem 409 when the workshop has too many."""

    def unit(connection: Connection) -> EndpointRow:
        ((count,),) = connection.execute(_COUNT, {"workshop_id": row.workshop_id})
        if count >= MOST_ENDPOINTS:
            raise _too_many()
        columns: dict[str, Any] = {name: getattr(row, name) for name in row.__struct_fields__}
        columns |= {"events": events_text(row.events), "enabled": int(row.enabled)}
        columns |= {"secret": secret, "old_secret": None, "sequence": 0, "failing_since": None}
        connection.execute(_ADD, columns)
        return row

    return unit


def rotate(connection: Connection, row: EndpointRow, *, secret: str) -> None:
    """Give an endpoint a new secret; the one it had becomes the old one."""
    named = {name: getattr(row, name) for name in ("old_secret_until", "updated_at", "version")}
    connection.execute(_ROTATE, {"of_endpoint": row.endpoint_id, "new_secret": secret, **named})


def remove(connection: Connection, endpoint_id: str) -> None:
    """Remove an endpoint with everything that was or is to be delivered to it."""
    for statement in _REMOVE:
        connection.execute(statement, {"of_endpoint": endpoint_id})


def deliveries(
    connection: Connection, *, endpoint_id: str, before: int | None, limit: int
) -> list[DeliveryRow]:
    """The newest deliveries of an endpoint, one more than the page holds."""
    params: dict[str, str | int] = {"endpoint_id": endpoint_id, "rows": limit + 1}
    if before is not None:
        params["sequence"] = before
    rows = connection.execute(_DELIVERIES[before is None], params)
    return [_delivery(row) for row in rows]


def delivery(connection: Connection, *, endpoint_id: str, delivery_id: str) -> DeliveryRow:
    """A delivery of an endpoint. Raises: Problem 404."""
    keyed = {"endpoint_id": endpoint_id, "delivery_id": delivery_id}
    rows = connection.execute(_ONE_DELIVERY, keyed)
    if not rows:
        raise nothing_at("delivery_id", delivery_id)
    return _delivery(rows[0])


def attempts(
    connection: Connection, *, endpoint_id: str, rows: list[DeliveryRow]
) -> dict[str, list[AttemptRow]]:
    """The attempts of deliveries that follow one another, by delivery."""
    found: dict[str, list[AttemptRow]] = {row.delivery_id: [] for row in rows}
    if not rows:
        return found
    numbers = [row.sequence for row in rows]
    between = {"endpoint_id": endpoint_id, "low": min(numbers), "high": max(numbers)}
    for row in connection.execute(_ATTEMPTS, between):
        attempt = AttemptRow(**dict(zip(AttemptRow.__struct_fields__, row, strict=True)))
        if attempt.delivery_id in found:
            found[attempt.delivery_id].append(attempt)
    return found


def requeue(connection: Connection, *, endpoint_id: str, delivery_id: str, now: str) -> None:
    """Put a delivery in the queue anew, with all its tries; one that is being sent stays."""
    keyed = {"of_endpoint": endpoint_id, "of_delivery": delivery_id}
    connection.execute(_REQUEUE, {**keyed, "now": now})


def _delivery(row: tuple[Any, ...]) -> DeliveryRow:
    return DeliveryRow(**dict(zip(DeliveryRow.__struct_fields__, row, strict=True)))


def _too_many() -> Problem:
    fault = Fault(
        pointer="",
        code="too-many-endpoints",
        detail=f"the workshop has {MOST_ENDPOINTS} endpoints",
        allowed=f"at most {MOST_ENDPOINTS} endpoints of a workshop",
        remedy="Delete one that is not needed any more, or change it.",
    )
    return Problem("conflict", "The workshop has as many endpoints as it may.", errors=[fault])

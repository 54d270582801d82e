"""Endpoints as they are kept, and what enabling and disabling does to their queue."""

from typing import Any, Literal

from msgspec import Struct
from sqlalchemy import bindparam, or_, select, update

from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import WEBHOOK_DELIVERIES, WEBHOOK_ENDPOINTS
from exchange_api.storage.units import Connection
from exchange_api.webhook_queue import events_text

DisabledReason = Literal["by_request", "gone", "failing"]
"""Why nothing is sent: asked for, answered 410, or no success for days."""


class EndpointRow(Struct, frozen=True, kw_only=True):
    """What may be told of an endpoint: all but its secrets."""

    endpoint_id: str
    workshop_id: str
    url: str
    events: tuple[str, ...]
    enabled: bool
    disabled_reason: DisabledReason | None
    disabled_at: str | None
    created_at: str
    updated_at: str
    version: int
    old_secret_until: str | None


ENDPOINT_COLUMNS = tuple(WEBHOOK_ENDPOINTS.c[name] for name in EndpointRow.__struct_fields__)
_CHANGED = ("url", "events", "enabled", "disabled_reason", "disabled_at", "updated_at", "version")
_ONE = Statement(
    select(*ENDPOINT_COLUMNS).where(WEBHOOK_ENDPOINTS.c.endpoint_id == bindparam("of_endpoint"))
)
_CHANGE = Statement(
    update(WEBHOOK_ENDPOINTS)
    .where(WEBHOOK_ENDPOINTS.c.endpoint_id == bindparam("of_endpoint"))
    .values({name: bindparam(name) for name in _CHANGED} | {"failing_since": None})
)
_OF_ENDPOINT = WEBHOOK_DELIVERIES.c.endpoint_id == bindparam("of_endpoint")
# one that is being sent is held once that has ended, or its lease
_HOLD = Statement(
    update(WEBHOOK_DELIVERIES)
    .where(
        _OF_ENDPOINT,
        WEBHOOK_DELIVERIES.c.state == "waiting",
        or_(WEBHOOK_DELIVERIES.c.lease.is_(None), WEBHOOK_DELIVERIES.c.next_at <= bindparam("now")),
    )
    .values(state="held", next_at=None, lease=None)
)
_RELEASE = Statement(
    update(WEBHOOK_DELIVERIES)
    .where(_OF_ENDPOINT, WEBHOOK_DELIVERIES.c.state == "held")
    .values(state="waiting", next_at=bindparam("now"), tries=0)
)


def endpoint_row(row: tuple[Any, ...]) -> EndpointRow:
    """An endpoint from a row of ENDPOINT_COLUMNS."""
    named = dict(zip(EndpointRow.__struct_fields__, row, strict=True))
    events = tuple(named["events"].split())
    return EndpointRow(**named | {"events": events, "enabled": bool(named["enabled"])})


def find_endpoint(connection: Connection, endpoint_id: str) -> EndpointRow | None:
    """An endpoint of whichever workshop."""
    rows = connection.execute(_ONE, {"of_endpoint": endpoint_id})
    return endpoint_row(rows[0]) if rows else None


def change_endpoint(connection: Connection, row: EndpointRow) -> None:
    """Keep a changed endpoint; it does not count as failing any more.

    What waits is held while it is disabled, and put in the queue anew when it is enabled.
    """
    columns: dict[str, Any] = {name: getattr(row, name) for name in _CHANGED}
    columns |= {"events": events_text(row.events), "enabled": int(row.enabled)}
    connection.execute(_CHANGE, {"of_endpoint": row.endpoint_id, **columns})
    whose = {"of_endpoint": row.endpoint_id, "now": row.updated_at}
    connection.execute(_RELEASE if row.enabled else _HOLD, whose)


def hold(connection: Connection, *, endpoint_id: str, now: str) -> None:
    """Hold what waits for an endpoint that is disabled."""
    connection.execute(_HOLD, {"of_endpoint": endpoint_id, "now": now})

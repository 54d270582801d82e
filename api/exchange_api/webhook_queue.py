"""The queue of webhooks: a message is put in by the very unit of work that it tells of.

So neither is there without the other, whatever ends the process. Where no endpoint asks for a
message this costs one indexed statement.
"""

from collections.abc import Sequence
from typing import Any

import msgspec
from sqlalchemy import ColumnElement, bindparam, insert, select, update

from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import WEBHOOK_DELIVERIES, WEBHOOK_ENDPOINTS
from exchange_api.storage.units import Connection
from exchange_api.webhook_messages import EventType, News

_WHO_ASKS: tuple[ColumnElement[Any], ...] = (
    WEBHOOK_ENDPOINTS.c.workshop_id == bindparam("of_workshop"),
    WEBHOOK_ENDPOINTS.c.events.like(bindparam("wanted")),
)
_ASKED = Statement(select(WEBHOOK_ENDPOINTS.c.endpoint_id).where(*_WHO_ASKS).limit(1))
_COUNT = {"sequence": WEBHOOK_ENDPOINTS.c.sequence + 1}
_COUNTED = tuple(WEBHOOK_ENDPOINTS.c[name] for name in ("endpoint_id", "sequence", "enabled"))
# counted in the change's own transaction: the order of the numbers is that of the changes
_COUNT_ALL = Statement(
    update(WEBHOOK_ENDPOINTS).where(*_WHO_ASKS).values(_COUNT).returning(*_COUNTED)
)
_COUNT_ONE = Statement(
    update(WEBHOOK_ENDPOINTS)
    .where(WEBHOOK_ENDPOINTS.c.endpoint_id == bindparam("of_endpoint"))
    .values(_COUNT)
    .returning(*_COUNTED)
)
_ADD = Statement(insert(WEBHOOK_DELIVERIES))


def events_text(events: Sequence[str]) -> str:
    """The events that an endpoint asks for, as they are kept.

    >>> events_text(["job.closed", "plan.created"])
    ' job.closed plan.created '
    """
    return f" {' '.join(events)} "


def is_asked(connection: Connection, *, workshop_id: str, event: EventType) -> bool:
    """Whether any endpoint of a workshop asks for a message, for what costs to find out."""
    return bool(connection.execute(_ASKED, _asking(workshop_id, event)))


def announce(connection: Connection, news: News) -> None:
    """Put a message in the queue of every endpoint that asks for it.

    For one that is disabled it is only counted, so that a gap tells it later what it has missed.
    """
    asking = _asking(news.workshop_id, news.type)
    for endpoint_id, sequence, enabled in connection.execute(_COUNT_ALL, asking):
        if enabled:
            _add(connection, news, endpoint_id, sequence)


def announce_to(connection: Connection, news: News, *, endpoint_id: str) -> None:
    """Put a message in the queue of one endpoint, whatever it asks for."""
    for _, sequence, _ in connection.execute(_COUNT_ONE, {"of_endpoint": endpoint_id}):
        _add(connection, news, endpoint_id, sequence)


def _asking(workshop_id: str, event: str) -> dict[str, str]:
    return {"of_workshop": workshop_id, "wanted": f"% {event} %"}


def _add(connection: Connection, news: News, endpoint_id: str, sequence: int) -> None:
    body = {
        "type": news.type,
        "timestamp": news.at,
        "sequence": sequence,
        "data": msgspec.to_builtins(news.data),
    }
    row = {
        "endpoint_id": endpoint_id,
        "delivery_id": news.message_id,
        "sequence": sequence,
        "type": news.type,
        "created_at": news.at,
        "state": "waiting",
        "attempts": 0,
        "tries": 0,
        "next_at": news.at,
        "lease": None,
        "document": msgspec.json.encode(body),
    }
    connection.execute(_ADD, row)

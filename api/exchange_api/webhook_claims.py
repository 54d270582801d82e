"""Which webhooks are due, who sends them, and what is kept of each attempt.

A delivery is claimed by a lease, so that of several processes one sends it. Whoever dies in
between leaves a lease that ends, and it is sent again: at least once, with the same id.
"""

from datetime import datetime
from typing import Any

from msgspec import Struct
from msgspec.structs import replace
from sqlalchemy import bindparam, func, insert, select, update

from exchange_api.outside import as_stamp
from exchange_api.storage.statements import Statement
from exchange_api.storage.tables import WEBHOOK_ATTEMPTS, WEBHOOK_DELIVERIES, WEBHOOK_ENDPOINTS
from exchange_api.storage.units import Connection, Unit
from exchange_api.webhook_client import Told
from exchange_api.webhook_rows import (
    DisabledReason,
    EndpointRow,
    change_endpoint,
    find_endpoint,
    hold,
)
from exchange_api.webhook_schedule import FAILING_FOR

GONE = 410

_OF_DELIVERY = (
    WEBHOOK_DELIVERIES.c.endpoint_id == bindparam("of_endpoint"),
    WEBHOOK_DELIVERIES.c.delivery_id == bindparam("of_delivery"),
)
_OF_ENDPOINT = WEBHOOK_ENDPOINTS.c.endpoint_id == bindparam("of_endpoint")
_DUE = Statement(
    select(WEBHOOK_DELIVERIES.c.endpoint_id, func.count())
    .where(WEBHOOK_DELIVERIES.c.next_at <= bindparam("now"))
    .group_by(WEBHOOK_DELIVERIES.c.endpoint_id)
    .order_by(func.min(WEBHOOK_DELIVERIES.c.next_at))
)
_OLDEST = Statement(
    select(
        WEBHOOK_DELIVERIES.c.delivery_id,
        WEBHOOK_DELIVERIES.c.attempts,
        WEBHOOK_DELIVERIES.c.tries,
        WEBHOOK_DELIVERIES.c.document,
    )
    .where(
        WEBHOOK_DELIVERIES.c.endpoint_id == bindparam("of_endpoint"),
        WEBHOOK_DELIVERIES.c.next_at <= bindparam("now"),
    )
    .order_by(WEBHOOK_DELIVERIES.c.next_at, WEBHOOK_DELIVERIES.c.sequence)
    .limit(1)
)
_TAKE = Statement(
    update(WEBHOOK_DELIVERIES)
    .where(*_OF_DELIVERY)
    .values(next_at=bindparam("until"), lease=bindparam("taken_by"))
)
_SECRETS = Statement(
    select(
        WEBHOOK_ENDPOINTS.c.secret,
        WEBHOOK_ENDPOINTS.c.old_secret,
        WEBHOOK_ENDPOINTS.c.old_secret_until,
    ).where(_OF_ENDPOINT)
)
_SETTLE = Statement(
    update(WEBHOOK_DELIVERIES)
    .where(*_OF_DELIVERY, WEBHOOK_DELIVERIES.c.lease == bindparam("taken_by"))
    .values({name: bindparam(name) for name in ("state", "attempts", "tries", "next_at")})
    .values(lease=None)
    .returning(WEBHOOK_DELIVERIES.c.delivery_id)
)
_NOTE = Statement(insert(WEBHOOK_ATTEMPTS))
_FAILING_SINCE = Statement(select(WEBHOOK_ENDPOINTS.c.failing_since).where(_OF_ENDPOINT))
_SET_FAILING_SINCE = Statement(
    update(WEBHOOK_ENDPOINTS).where(_OF_ENDPOINT).values(failing_since=bindparam("since"))
)


class Claim(Struct, frozen=True, kw_only=True):
    """A delivery that this process is to send, and with which secrets it is signed."""

    lease: str
    endpoint_id: str
    workshop_id: str
    delivery_id: str
    attempts: int
    tries: int
    url: str
    secrets: list[str]
    document: bytes


class Attempt(Struct, frozen=True, kw_only=True):
    """What became of an attempt; `next_at` is when the next one is due, None for never."""

    at: str
    ended_at: datetime
    duration_ms: int
    told: Told
    next_at: str | None


class Disabled(Struct, frozen=True, kw_only=True):
    """An endpoint before and after it was disabled."""

    before: EndpointRow
    after: EndpointRow


def due(*, now: str) -> Unit[dict[str, int]]:
    """A unit: the endpoints that something is due for and how much, the longest waiting first."""

    def unit(connection: Connection) -> dict[str, int]:
        return {str(row[0]): int(row[1]) for row in connection.execute(_DUE, {"now": now})}

    return unit


def claim(endpoint_id: str, *, lease: str, now: str, until: str) -> Unit[Claim | None]:
    """A unit: take the oldest delivery that is due for an endpoint; None when there is none.

    lease: a text that nobody else uses    until: when it may be taken by others
    """

    def unit(connection: Connection) -> Claim | None:
        endpoint = find_endpoint(connection, endpoint_id)
        if endpoint is None:
            return None
        if not endpoint.enabled:  # the lease of one that was being sent has ended
            hold(connection, endpoint_id=endpoint_id, now=now)
            return None
        rows = connection.execute(_OLDEST, {"of_endpoint": endpoint_id, "now": now})
        if not rows:
            return None
        delivery_id, attempts, tries, document = rows[0]
        keyed = {"of_endpoint": endpoint_id, "of_delivery": delivery_id}
        connection.execute(_TAKE, {**keyed, "until": until, "taken_by": lease})
        return Claim(
            lease=lease,
            endpoint_id=endpoint_id,
            workshop_id=endpoint.workshop_id,
            delivery_id=delivery_id,
            attempts=attempts,
            tries=tries,
            url=endpoint.url,
            secrets=_secrets(connection, endpoint_id, now),
            document=bytes(document),
        )

    return unit


def _secrets(connection: Connection, endpoint_id: str, now: str) -> list[str]:
    ((secret, old_secret, until),) = connection.execute(_SECRETS, {"of_endpoint": endpoint_id})
    return [secret, old_secret] if old_secret is not None and until > now else [secret]


def settle(claim: Claim, attempt: Attempt) -> Unit[Disabled | None]:
    """A unit: keep what became of an attempt, and disable an endpoint that is gone or failing.

    Nothing is kept when the delivery was taken over by others or removed meanwhile.
    """

    def unit(connection: Connection) -> Disabled | None:
        endpoint = find_endpoint(connection, claim.endpoint_id)
        if endpoint is None or not connection.execute(_SETTLE, _settled(claim, attempt, endpoint)):
            return None
        connection.execute(_NOTE, _noted(claim, attempt))
        return _standing(connection, endpoint, attempt) if endpoint.enabled else None

    return unit


def _settled(claim: Claim, attempt: Attempt, endpoint: EndpointRow) -> dict[str, Any]:
    next_at, state = attempt.next_at, "waiting"
    if attempt.told.outcome == "delivered":
        next_at, state = None, "delivered"
    elif not endpoint.enabled:
        next_at, state = None, "held"
    elif next_at is None:
        state = "failed"
    return {
        "of_endpoint": claim.endpoint_id,
        "of_delivery": claim.delivery_id,
        "taken_by": claim.lease,
        "state": state,
        "attempts": claim.attempts + 1,
        "tries": claim.tries + 1,
        "next_at": next_at,
    }


def _noted(claim: Claim, attempt: Attempt) -> dict[str, Any]:
    return {
        "endpoint_id": claim.endpoint_id,
        "delivery_id": claim.delivery_id,
        "number": claim.attempts + 1,
        "at": attempt.at,
        "duration_ms": attempt.duration_ms,
        "status": attempt.told.status,
        "outcome": attempt.told.outcome,
        "excerpt": attempt.told.excerpt,
    }


def _standing(connection: Connection, endpoint: EndpointRow, attempt: Attempt) -> Disabled | None:
    """What an attempt says of its endpoint; its row is written only when that is news."""
    keyed = {"of_endpoint": endpoint.endpoint_id}
    ((since,),) = connection.execute(_FAILING_SINCE, keyed)
    if attempt.told.outcome == "delivered":
        if since is not None:
            connection.execute(_SET_FAILING_SINCE, {**keyed, "since": None})
        return None
    if attempt.told.status == GONE:
        return _disable(connection, endpoint, attempt, "gone")
    if since is None:
        connection.execute(_SET_FAILING_SINCE, {**keyed, "since": as_stamp(attempt.ended_at)})
    elif since <= as_stamp(attempt.ended_at - FAILING_FOR):
        return _disable(connection, endpoint, attempt, "failing")
    return None


def _disable(
    connection: Connection, endpoint: EndpointRow, attempt: Attempt, reason: DisabledReason
) -> Disabled:
    now = as_stamp(attempt.ended_at)
    after = replace(
        endpoint,
        enabled=False,
        disabled_reason=reason,
        disabled_at=now,
        updated_at=now,
        version=endpoint.version + 1,
    )
    change_endpoint(connection, after)
    return Disabled(before=endpoint, after=after)

"""What is asked and answered about endpoints of webhooks and their deliveries."""

from typing import Annotated, Literal

from msgspec import Meta, Struct

from exchange_api.paging import Cursor, Limit
from exchange_api.v1.webhook_endpoints import store
from exchange_api.webhook_addresses import LONGEST_URL
from exchange_api.webhook_client import Outcome
from exchange_api.webhook_messages import EVENT_TYPES, EventType, MessageType
from exchange_api.webhook_rows import DisabledReason, EndpointRow
from libexchange.errors import Fault, InvalidInput

Url = Annotated[
    str,
    Meta(
        min_length=9,
        max_length=LONGEST_URL,
        pattern=r"^https?://[!-\[\]-~]+(?!\n)$",
        description="Where messages are posted to: https, a full host name, no user or password. "
        "In-house hosts that the installation's settings list may be reached by http too.",
        examples=["https://hooks.example/fluid"],
    ),
]
Events = Annotated[
    list[EventType],
    Meta(
        min_length=1,
        max_length=len(EVENT_TYPES),
        description="What it is told of.",
        extra_json_schema={"uniqueItems": True},
    ),
]


class WebhookEndpointQuery(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which page of endpoints."""

    cursor: Cursor | None = None
    limit: Limit = 50


class WebhookDeliveryQuery(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which page of deliveries."""

    cursor: Cursor | None = None
    limit: Limit = 50


class WebhookEndpointRequest(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An endpoint to be made or changed: where it is, what it is told of, and whether it is.

    enabled: whether it is told of anything
    """

    url: Url
    events: Events
    enabled: bool = True

    def __post_init__(self) -> None:
        if len(set(self.events)) != len(self.events):
            raise InvalidInput(_named_twice(self.events))


class WebhookEndpoint(Struct, frozen=True, kw_only=True):
    """An endpoint without its secret.

    `disabled_reason` is `by_request`, `gone` after an answer of 410, or `failing` after three days
    without any success; null while it is enabled. Until `old_secret_until` messages are signed by
    the secret before as well.

    endpoint_id: its id    url: where messages go    events: that it asked for
    enabled: whether messages are sent    disabled_at: null while it is enabled
    created_at, updated_at: of the endpoint
    """

    endpoint_id: str
    url: str
    events: list[EventType]
    enabled: bool
    disabled_reason: DisabledReason | None
    disabled_at: str | None
    old_secret_until: str | None
    created_at: str
    updated_at: str


class WebhookEndpointSecret(Struct, frozen=True, kw_only=True):
    """An endpoint with a new secret, which is never shown again."""

    endpoint: WebhookEndpoint
    secret: str


class WebhookEndpointPage(Struct, frozen=True, kw_only=True):
    """A page of endpoints, the newest first."""

    items: list[WebhookEndpoint]
    next_cursor: str | None


class WebhookAttempt(Struct, frozen=True, kw_only=True):
    """An attempt: `status` of the answer, null without one.

    `excerpt` is the beginning of an answer that was no success.

    number: from 1    at: when    duration_ms: that it took    outcome: what came of it
    """

    number: int
    at: str
    duration_ms: int
    outcome: Outcome
    status: int | None
    excerpt: str


class WebhookDelivery(Struct, frozen=True, kw_only=True):
    """A message to an endpoint; `delivery_id` is its `webhook-id`.

    `waiting` until `next_attempt_at`, `sending`, `delivered`, `failed` after the last attempt, or
    `held` while the endpoint is disabled.

    sequence: of messages to this endpoint    type: of the message    created_at: when
    state: how far it is    next_attempt_at: null while none is due    attempts: oldest first
    """

    delivery_id: str
    sequence: int
    type: MessageType
    created_at: str
    state: Literal["waiting", "sending", "delivered", "failed", "held"]
    next_attempt_at: str | None
    attempts: list[WebhookAttempt]


class WebhookDeliveryPage(Struct, frozen=True, kw_only=True):
    """A page of deliveries, the newest first."""

    items: list[WebhookDelivery]
    next_cursor: str | None


def view(row: EndpointRow) -> WebhookEndpoint:
    """An endpoint as it is answered."""
    return WebhookEndpoint(
        endpoint_id=row.endpoint_id,
        url=row.url,
        events=list(row.events),  # type: ignore[arg-type]  # only known ones are ever kept
        enabled=row.enabled,
        disabled_reason=row.disabled_reason,
        disabled_at=row.disabled_at,
        old_secret_until=row.old_secret_until,
        created_at=row.created_at,
        updated_at=row.updated_at,
    )


def tag(row: EndpointRow) -> str:
    """The entity tag of an endpoint: its version; what is delivered does not count."""
    return f'"{row.endpoint_id}.{row.version}"'


def delivery_view(row: store.DeliveryRow, attempts: list[store.AttemptRow]) -> WebhookDelivery:
    """A delivery with its attempts, as it is answered."""
    is_sending = row.state == "waiting" and row.lease is not None
    return WebhookDelivery(
        delivery_id=row.delivery_id,
        sequence=row.sequence,
        type=row.type,
        created_at=row.created_at,
        state="sending" if is_sending else row.state,
        next_attempt_at=None if is_sending else row.next_at,
        attempts=[_attempt(one) for one in attempts],
    )


def _attempt(row: store.AttemptRow) -> WebhookAttempt:
    return WebhookAttempt(
        number=row.number,
        at=row.at,
        duration_ms=row.duration_ms,
        outcome=row.outcome,
        status=row.status or None,
        excerpt=row.excerpt,
    )


def _named_twice(events: list[EventType]) -> Fault:
    return Fault(
        pointer="/events",
        code="named-twice",
        detail="an event is named twice",
        value=list(events),
        allowed="each event once",
        remedy="Name each event once.",
    )

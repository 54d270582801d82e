"""The part of the contract that tells what the service itself sends: its webhooks."""

from collections.abc import Callable
from typing import Any, get_args

from exchange_api.contract_parts import Json
from exchange_api.webhook_messages import Message

MESSAGES: tuple[Any, ...] = get_args(Message)
"""The bodies of all webhooks."""

_SIGNED = (
    "`v1,` and the HMAC-SHA256, in base64, of id, timestamp and body with full stops between; "
    "several with spaces between while a secret rotates."
)
_HEADERS = {
    "webhook-id": ("The same whenever the message is sent again.", {"type": "string"}),
    "webhook-timestamp": ("When it is sent, in seconds since 1970.", {"type": "integer"}),
    "webhook-signature": (_SIGNED, {"type": "string"}),
}
_PARAMETERS = [
    {"name": name, "in": "header", "required": True, "description": meaning, "schema": schema}
    for name, (meaning, schema) in _HEADERS.items()
]


def webhooks(schema_of: Callable[[Any], Json]) -> Json:
    """Every message by its type.

    schema_of: the schema of a body, as it stands in the document
    """
    return {kind.__struct_config__.tag: {"post": _sent(kind, schema_of)} for kind in MESSAGES}


def _sent(kind: Any, schema_of: Callable[[Any], Json]) -> Json:
    return {
        "summary": str(kind.__doc__).strip().rstrip("."),
        "tags": ["webhooks"],
        "parameters": _PARAMETERS,
        "requestBody": {
            "required": True,
            "content": {"application/json": {"schema": schema_of(kind)}},
        },
        "responses": {"2XX": {"description": "It arrived, and is not sent again by itself."}},
    }

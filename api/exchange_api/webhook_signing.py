"""Signatures of webhooks, by the Standard Webhooks specification 1.0.0: `v1`, HMAC with SHA-256."""

import hmac
from base64 import b64decode, b64encode
from collections.abc import Iterable

PREFIX = "whsec_"


def secret_text(secret: bytes) -> str:
    """A secret as it is shown to its receiver.

    secret: 24 to 64 random bytes

    >>> secret_text(bytes(24))
    'whsec_AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA'
    """
    return PREFIX + b64encode(secret).decode()


def signature(secret: str, *, message_id: str, timestamp: int, body: bytes) -> str:
    """One signature over id, time of the attempt and body.

    secret: as `secret_text` gives it    timestamp: whole seconds since 1970 [s]

    >>> signature(secret_text(bytes(24)), message_id="a", timestamp=0, body=b"{}")[:12]
    'v1,AHlLsbdlS'
    """
    key = b64decode(secret.removeprefix(PREFIX))
    signed = f"{message_id}.{timestamp}.".encode() + body
    return "v1," + b64encode(hmac.digest(key, signed, "sha256")).decode()


def signed_headers(
    secrets: Iterable[str], *, message_id: str, timestamp: int, body: bytes
) -> dict[str, str]:
    """The three headers of a message, with a signature by each secret.

    >>> sorted(signed_headers([], message_id="a", timestamp=0, body=b""))
    ['webhook-id', 'webhook-signature', 'webhook-timestamp']
    """
    signatures = (
        signature(secret, message_id=message_id, timestamp=timestamp, body=body)
        for secret in secrets
    )
    return {
        "webhook-id": message_id,
        "webhook-timestamp": str(timestamp),
        "webhook-signature": " ".join(signatures),
    }

"""Signatures, held against the reference implementation of the specification."""

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from standardwebhooks.webhooks import Webhook, WebhookVerificationError

from exchange_api.webhook_signing import secret_text, signature, signed_headers

SECRETS = st.binary(min_size=24, max_size=64).map(secret_text)


def now() -> datetime:
    """The reference takes no message that is minutes old, and a run of all tests is longer."""
    return datetime.now(UTC)


@given(SECRETS, st.uuids().map(str), st.text().map(lambda text: text.encode("utf-8", "replace")))
def test_a_signature_is_the_one_of_the_reference(secret: str, message_id: str, body: bytes) -> None:
    moment = datetime(2026, 3, 1, tzinfo=UTC)
    ours = signature(secret, message_id=message_id, timestamp=int(moment.timestamp()), body=body)

    assert ours == Webhook(secret).sign(message_id, moment, body.decode())


@given(SECRETS, SECRETS)
def test_while_a_secret_rotates_either_one_verifies(new: str, old: str) -> None:
    body, timestamp = b'{"type":"plan.created"}', int(now().timestamp())
    headers = signed_headers([new, old], message_id="m", timestamp=timestamp, body=body)

    assert headers["webhook-signature"].count("v1,") == 2
    assert Webhook(new).verify(body, headers) == {"type": "plan.created"}
    assert Webhook(old).verify(body, headers) == {"type": "plan.created"}


@pytest.mark.parametrize("part", ["webhook-id", "webhook-timestamp", "body", "secret"])
def test_whatever_is_altered_does_not_verify(part: str) -> None:
    secret, body, timestamp = secret_text(b"a" * 32), b'{"a":1}', int(now().timestamp())
    headers = signed_headers([secret], message_id="m", timestamp=timestamp, body=body)
    Webhook(secret).verify(body, headers)
    altered = {"webhook-id": "n", "webhook-timestamp": str(timestamp - 1)}
    if part in headers:
        headers[part] = altered[part]

    with pytest.raises(WebhookVerificationError):
        Webhook(secret_text(b"b" * 32) if part == "secret" else secret).verify(
            b'{"a":2}' if part == "body" else body, headers
        )

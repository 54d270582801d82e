"""`POST /v1/records/verify` and the public keys, over HTTP."""

from collections.abc import Callable
from typing import Any

import httpx
import msgspec
import pytest

from libexchange.invented import closed_record
from libexchange.signed_record import sign_record
from tests.exchange_api.bay_desk import close, problem, worked
from tests.exchange_api.proof.test_signed_records import signed

JSON = "application/json"
TYPE = "application/jose+json"


def verified(client: httpx.Client, sent: bytes, media_type: str = TYPE) -> dict[str, Any]:
    answered = client.post("/v1/records/verify", content=sent, headers={"Content-Type": media_type})
    assert answered.status_code == 200, answered.text
    told: dict[str, Any] = answered.json()
    return told


def codes(told: dict[str, Any]) -> set[str]:
    return {fault["code"] for fault in told["verification"]["faults"]}


@pytest.fixture
def document(client: httpx.Client) -> bytes:
    path, _ = worked(client)
    close(client, path)
    return signed(client, path)


def test_a_record_as_it_was_signed_is_authentic_whole_and_known(
    client: httpx.Client, other_client: httpx.Client, document: bytes
) -> None:
    for caller in (client, other_client):
        told = verified(caller, document)
        found = told["verification"]

        assert (found["authentic"], found["whole"], found["faults"]) == (True, True, [])
        assert told["known"]


def test_the_plain_record_is_whole_though_nobody_signed_it(client: httpx.Client) -> None:
    path, _ = worked(client)
    close(client, path)
    told = verified(client, client.get(f"{path}/record").content, JSON)

    assert told["verification"]["authentic"] is None
    assert told["verification"]["whole"]
    assert told["known"]


def test_the_compact_form_is_taken(client: httpx.Client, document: bytes) -> None:
    parts = msgspec.json.decode(document)
    sent = ".".join((parts["protected"], parts["payload"], parts["signature"]))
    told = verified(client, sent.encode(), "application/jose")

    assert told["verification"]["form"] == "compact"
    assert told["verification"]["authentic"]


def _swap(name: str) -> Callable[[bytes], bytes]:
    """Another first letter of a member."""

    def altered(document: bytes) -> bytes:
        members = msgspec.json.decode(document)
        text = members[name]
        members[name] = ("B" if text[0] != "B" else "C") + text[1:]
        return msgspec.json.encode(members, order="sorted")

    return altered


def _disclosed(document: bytes) -> bytes:
    members = msgspec.json.decode(document)
    members["header"]["disclosures"][0]["value"] += "x"
    return msgspec.json.encode(members, order="sorted")


@pytest.mark.parametrize(
    ("alter", "code"),
    [
        (_swap("signature"), "signature-differs"),
        (_swap("payload"), "signature-differs"),
        (_disclosed, "disclosure-differs"),
        (lambda document: document + b" ", "not-canonical"),
        (lambda document: document.replace(b'"header"', b'"header":{},"header"'), "duplicate-name"),
        (lambda _: b"an invented letter", "not-json"),
        (lambda _: b"", "not-json"),
        (lambda _: b"[]", "not-a-record"),
        (lambda _: b'{"digest": "\\u0000", "job_id": "\\u0000"}', "not-a-record"),
    ],
)
def test_what_was_altered_is_named(
    client: httpx.Client, document: bytes, alter: Callable[[bytes], bytes], code: str
) -> None:
    told = verified(client, alter(document))

    assert not told["verification"]["whole"]
    assert code in codes(told)


def test_a_record_of_another_key_is_not_ours(client: httpx.Client) -> None:
    told = verified(client, sign_record(closed_record(), private_key=bytes(32)))

    assert codes(told) == {"unknown-key"}
    assert not told["verification"]["authentic"]
    assert not told["known"]


def test_verifying_needs_a_key_and_a_form_that_is_known(
    client: httpx.Client, stranger: httpx.Client
) -> None:
    assert stranger.post("/v1/records/verify", content=b"{}").status_code == 401
    answered = client.post("/v1/records/verify", content=b"", headers={"Content-Type": "text/csv"})
    assert problem(answered)[0] == 415


def test_a_record_that_is_too_large_is_refused(client: httpx.Client) -> None:
    sent = b" " * (8 * 2**20 + 1)
    answered = client.post("/v1/records/verify", content=sent, headers={"Content-Type": TYPE})

    assert answered.status_code == 413


def test_the_public_keys_are_for_everybody_and_may_be_cached(
    client: httpx.Client, stranger: httpx.Client, document: bytes
) -> None:
    told = stranger.get("/.well-known/jwks.json")
    kid = verified(client, document)["verification"]["kid"]
    again = stranger.get("/.well-known/jwks.json", headers={"If-None-Match": told.headers["etag"]})

    assert kid in {key["kid"] for key in told.json()["keys"]}
    assert all(set(key) == {"kty", "crv", "x", "kid", "use", "alg"} for key in told.json()["keys"])
    assert told.headers["cache-control"].startswith("public")
    assert (again.status_code, again.content) == (304, b"")
    assert again.headers["cache-control"] == told.headers["cache-control"]

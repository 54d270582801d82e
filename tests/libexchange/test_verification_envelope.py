"""Around a signed record: nothing that nobody signed, one algorithm, one kind of document."""

import json
from typing import Any

import pytest

from libexchange.canonical import canonical_json
from libexchange.signature import public_jwk, signed
from libexchange.verification import Verification, verify_record
from tests.libexchange.proof_desk import KEYS, SEED, SIGNED, b64, named, payload

KID = public_jwk(SEED)["kid"]
HEADER = {"alg": "EdDSA", "kid": KID, "typ": "service-record"}


def document(signed_header: Any = HEADER, octets: bytes | None = None, **members: Any) -> bytes:
    """A document signed with our key, whatever its header and payload."""
    protected = signed_header
    if not isinstance(signed_header, str):
        protected = b64(canonical_json(signed_header))
    body = b64(canonical_json(payload()) if octets is None else octets)
    signature = b64(signed(f"{protected}.{body}".encode(), private_key=SEED))
    made = {"protected": protected, "payload": body, "signature": signature}
    return canonical_json(made | members)


def told(data: bytes, keys: bytes = KEYS) -> list[tuple[str, str]]:
    return named(verify_record(data, keys=keys))


def test_a_document_without_a_header_around_it_is_whole() -> None:
    found = verify_record(document(), keys=KEYS)

    assert (found.authentic, found.whole, found.disclosed) == (True, True, 0)


@pytest.mark.parametrize(
    ("members", "pointers"),
    [
        ({"note": 1}, ["/note"]),
        ({"signatures": [], "a/b": 1}, ["/signatures", "/a~1b"]),
        ({"header": {"kid": KID}}, ["/header/kid"]),
        ({"header": {"disclosures": [], "a/b": 1}}, ["/header/a~1b"]),
        ({"header": 1}, ["/header"]),
    ],
)
def test_what_nobody_signed_is_named(members: dict[str, Any], pointers: list[str]) -> None:
    found = verify_record(document(**members), keys=KEYS)

    assert sorted(named(found)) == sorted(("unprotected-member", at) for at in pointers)
    assert found.authentic


@pytest.mark.parametrize(
    "data", [SIGNED + b"\n", b" " + SIGNED, json.dumps(json.loads(SIGNED)).encode(),
             json.dumps(json.loads(SIGNED), indent=1).encode()],
)  # fmt: skip
def test_spaces_around_what_is_signed_are_told(data: bytes) -> None:
    found = verify_record(data, keys=KEYS)

    assert named(found) == [("not-canonical", "")]
    assert (found.authentic, found.whole) == (True, False)


def test_a_number_that_canonical_json_does_not_have_is_not_canonical() -> None:
    assert told(SIGNED[:-1] + b',"zoo":9007199254740993}') == [
        ("unprotected-member", "/zoo"), ("not-canonical", ""),
    ]  # fmt: skip


@pytest.mark.parametrize("alg", ["none", "HS256", "ES256", "eddsa", None, 1])
def test_no_other_algorithm_is_taken(alg: Any) -> None:
    found = verify_record(document(HEADER | {"alg": alg}), keys=KEYS)

    assert named(found) == [("alg-not-allowed", "/protected/alg")]
    assert (found.authentic, found.kid) == (False, KID)


@pytest.mark.parametrize("typ", ["JWT", "Service-Record", None])
def test_no_other_kind_of_document_is_taken(typ: Any) -> None:
    assert told(document(HEADER | {"typ": typ})) == [("not-a-record", "/protected/typ")]


@pytest.mark.parametrize("kid", [None, 1, ""])
def test_a_key_must_be_named(kid: Any) -> None:
    found = verify_record(document(HEADER | {"kid": kid}), keys=KEYS)

    assert named(found) == [("unknown-key", "/protected/kid")]
    assert (found.authentic, found.kid) == (False, kid if kid == "" else None)


def test_an_extension_that_must_be_understood_is_not() -> None:
    header = HEADER | {"crit": ["b64"], "b64": False}

    assert told(document(header)) == [("critical-header", "/protected/crit")]


def test_other_members_of_the_signed_header_are_its_own_affair() -> None:
    assert verify_record(document(HEADER | {"iat": 1}), keys=KEYS).whole


@pytest.mark.parametrize(
    ("header", "fault"),
    [
        ("*", ("not-json", "/protected")),
        (b64(b"{"), ("not-json", "/protected")),
        (b64(b"[]"), ("not-json", "/protected")),
        (b64(b'{"alg":"EdDSA","alg":"none"}'), ("duplicate-name", "/protected/alg")),
    ],
)
def test_a_signed_header_that_cannot_be_read_is_told(header: str, fault: tuple[str, str]) -> None:
    found = verify_record(document(header), keys=KEYS)

    assert (named(found), found.authentic) == ([fault], False)
    assert verify_record(document(header)).authentic is None


@pytest.mark.parametrize(
    ("octets", "fault"),
    [
        (b"[]", ("not-a-record", "/payload")),
        (b"{", ("not-json", "")),
        (b"{}", ("not-a-record", "/job_id")),
        (canonical_json(payload()) + b" ", ("payload-not-canonical", "/payload")),
        (json.dumps(payload()).encode(), ("payload-not-canonical", "/payload")),
    ],
)
def test_a_payload_that_is_no_record_is_told(octets: bytes, fault: tuple[str, str]) -> None:
    found = verify_record(document(octets=octets), keys=KEYS)

    assert (named(found), found.authentic) == ([fault], True)


def test_a_payload_that_is_no_base64url_is_told() -> None:
    damaged = canonical_json(json.loads(document()) | {"payload": "*"})

    assert told(damaged) == [("signature-differs", "/signature"), ("not-json", "/payload")]


@pytest.mark.parametrize("signature", ["", "*", "AA", "A"])
def test_a_signature_that_is_none_is_told(signature: str) -> None:
    damaged = canonical_json(json.loads(document()) | {"signature": signature})

    assert told(damaged) == [("signature-differs", "/signature")]


@pytest.mark.parametrize(
    "keys", [b"", b"{}", b"[]", b'{"keys":[],"keys":[]}', b" " * (1024 * 1024 + 1)]
)
def test_keys_that_cannot_be_read_are_told(keys: bytes) -> None:
    found: Verification = verify_record(document(), keys=keys)

    assert (named(found), found.authentic) == ([("keys-not-readable", "")], False)
    assert found.faults[0].detail.startswith("The keys")


def test_a_key_set_may_be_as_large_as_said() -> None:
    assert verify_record(document(), keys=KEYS.ljust(1024 * 1024)).authentic
    assert told(document(), KEYS.ljust(1024 * 1024 + 1)) == [("keys-not-readable", "")]

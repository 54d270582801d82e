"""Keys as they are given and looked up, and the one way in which base64url is written."""

import json
from typing import Any

import msgspec
import pytest
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, generate_private_key
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    KeySerializationEncryption,
    NoEncryption,
    PrivateFormat,
)
from hypothesis import given
from hypothesis import strategies as st

from libexchange import jws
from libexchange.errors import InvalidInput
from libexchange.jws import Envelope
from libexchange.record import JobRecord
from libexchange.signature import is_signed, public_jwk, public_keys, signed
from libexchange.signed_record import compact, sign_record, with_disclosures
from tests.libexchange.proof_desk import OTHER_SEED, PLAIN, RECORD, SEED, SIGNED

PUBLIC = jws.decoded(public_jwk(SEED)["x"])


def pem_of(key: Any, encryption: KeySerializationEncryption) -> bytes:
    pem: bytes = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, encryption)
    return pem


PEM = pem_of(Ed25519PrivateKey.from_private_bytes(SEED), NoEncryption())


def test_a_key_is_a_seed_or_its_pem() -> None:
    assert public_jwk(PEM) == public_jwk(SEED)
    assert sign_record(RECORD, private_key=PEM) == SIGNED


@pytest.mark.parametrize(
    "key",
    [
        b"",
        SEED[1:],
        SEED + b"x",
        PEM[:-40],
        pem_of(Ed25519PrivateKey.from_private_bytes(SEED), BestAvailableEncryption(b"invented")),
        pem_of(generate_private_key(SECP256R1()), NoEncryption()),
    ],
    ids=["empty", "short", "long", "cut", "encrypted", "of another kind"],
)
def test_another_key_is_refused_without_being_repeated(key: bytes) -> None:
    with pytest.raises(InvalidInput) as caught:
        signed(b"", private_key=key)

    (fault,) = caught.value.faults
    assert (fault.code, fault.pointer) == ("key-not-readable", "")
    assert not key or repr(key)[2:-1] not in repr(fault)


@given(st.binary(max_size=40), st.integers(0, 63), st.integers(1, 255))
def test_a_signature_is_of_one_message_by_one_key(message: bytes, at: int, other: int) -> None:
    signature = signed(message, private_key=SEED)
    flipped = bytearray(signature)
    flipped[at] ^= other

    assert is_signed(message, signature=signature, public_key=PUBLIC)
    assert not is_signed(message, signature=bytes(flipped), public_key=PUBLIC)
    assert not is_signed(message, signature=signature[:-1], public_key=PUBLIC)
    other_key = jws.decoded(public_jwk(OTHER_SEED)["x"])
    assert not is_signed(message, signature=signature, public_key=other_key)


def found(*keys: Any, kid: str = "a") -> int:
    return len(public_keys(json.dumps({"keys": list(keys)}).encode(), kid=kid))


def test_keys_are_found_by_name_and_by_thumbprint() -> None:
    jwk = public_jwk(SEED)

    assert found(jwk, kid=jwk["kid"]) == 1
    assert found(jwk, kid="a") == 0
    assert found(jwk | {"kid": "a"}, kid="a") == 1
    assert found(jwk | {"kid": "a"}, kid=jwk["kid"]) == 1
    assert found(jwk | {"kid": "a"}, public_jwk(OTHER_SEED) | {"kid": "a"}) == 2


@pytest.mark.parametrize(
    "change",
    [{"kty": "EC"}, {"crv": "X25519"}, {"use": "enc"}, {"alg": "ES256"}, {"key_ops": ["sign"]},
     {"key_ops": "verify"}, {"x": 1}, {"x": "AA"}, {"x": "*"}, {"x": "A"}],
    ids=str,
)  # fmt: skip
def test_keys_of_other_kinds_and_uses_are_passed_over(change: dict[str, Any]) -> None:
    assert (
        found(1, public_jwk(SEED) | {"kid": "a"} | change, public_jwk(OTHER_SEED) | {"kid": "a"})
        == 1
    )


@pytest.mark.parametrize("change", [{"alg": "Ed25519"}, {"key_ops": ["verify"]}], ids=str)
def test_keys_that_say_so_in_other_words_are_taken(change: dict[str, Any]) -> None:
    assert found(public_jwk(SEED) | {"kid": "a"} | change) == 1


def test_a_key_need_not_say_what_it_is_for() -> None:
    jwk = {name: public_jwk(SEED)[name] for name in ("kty", "crv", "x")}

    assert found(jwk, kid=public_jwk(SEED)["kid"]) == 1


@pytest.mark.parametrize("keys", [b"[]", b"{}", b'{"keys":{}}'])
def test_what_is_no_key_set_is_refused(keys: bytes) -> None:
    with pytest.raises(InvalidInput) as caught:
        public_keys(keys, kid="a")

    assert caught.value.faults[0].code == "keys-not-readable"


@given(st.binary(max_size=70))
def test_any_octets_are_read_back(octets: bytes) -> None:
    assert jws.decoded(jws.encoded(octets)) == octets


@pytest.mark.parametrize("text", ["A", "AB", "AAB", "AA==", "A+/A", "AA\n", " AA", "AAAAA", "é"])
def test_octets_are_written_in_one_way(text: str) -> None:
    with pytest.raises(ValueError, match="base64url"):
        jws.decoded(text)


@pytest.mark.parametrize("data", [b"", b"a.b", b"a.b.c.d", b"a..c", b".b.c", b"a.b.", b"a.b.c\n",
                                  b" a.b.c", b"a.b.=", b"\xff.b.c"])  # fmt: skip
def test_what_is_no_compact_form_is_taken_for_none(data: bytes) -> None:
    assert jws.from_compact(data) is None


@pytest.mark.parametrize("missing", ["protected", "payload", "signature"])
def test_a_flattened_form_has_three_texts(missing: str) -> None:
    members = {"protected": "a", "payload": "b", "signature": "c", "header": 1}

    assert jws.from_members(members) == Envelope("a", "b", "c", 1)
    assert jws.from_members(members | {missing: 1}) is None
    assert jws.from_members({n: one for n, one in members.items() if n != missing}) is None


@pytest.mark.parametrize("document", [b"[]", b'{"payload":"a"}', b""])
def test_what_is_no_signed_record_is_refused(document: bytes) -> None:
    for change in (compact, lambda one: with_disclosures(one, ())):
        with pytest.raises(InvalidInput):
            change(document)


def test_a_record_that_was_kept_as_json_is_signed_to_the_same_bytes() -> None:
    assert sign_record(msgspec.json.decode(PLAIN, type=JobRecord), private_key=SEED) == SIGNED


def test_a_signed_record_is_in_canonical_form_with_all_its_texts() -> None:
    document = json.loads(SIGNED)

    assert list(document) == ["header", "payload", "protected", "signature"]
    assert len(document["header"]["disclosures"]) == len(RECORD.personal)
    assert json.loads(jws.decoded(document["protected"])) == {
        "alg": "EdDSA", "kid": public_jwk(SEED)["kid"], "typ": "service-record",
    }  # fmt: skip

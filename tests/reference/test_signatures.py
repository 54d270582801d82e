"""Keys and signatures against the published vectors; each test's id names source and status."""

import tomllib
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from libexchange import jws
from libexchange.canonical import canonical_json
from libexchange.jws import Envelope
from libexchange.signature import is_signed, public_jwk, public_keys, signed, thumbprint

VECTORS = tomllib.loads(Path(__file__).with_name("signatures.toml").read_text("utf-8"))


def ids(case: dict[str, Any]) -> str:
    return f"{case['id']} [{case['source']}; {case['status']}]"


@pytest.mark.parametrize("case", VECTORS["signature"], ids=ids)
def test_the_published_signature_is_made_and_verified(case: dict[str, Any]) -> None:
    seed, public, message, signature = (
        bytes.fromhex(case[name]) for name in ("seed", "public", "message", "signature")
    )

    assert jws.decoded(public_jwk(seed)["x"]) == public
    assert signed(message, private_key=seed) == signature
    assert is_signed(message, signature=signature, public_key=public)
    assert not is_signed(message + b"x", signature=signature, public_key=public)


@pytest.mark.parametrize("case", [VECTORS["jws"]], ids=ids)
def test_the_published_web_signature_is_made_and_verified(case: dict[str, Any]) -> None:
    seed = jws.decoded(case["d"])
    unsigned = Envelope(jws.encoded(case["header"].encode()), jws.encoded(case["payload"].encode()),
                        "")  # fmt: skip
    signature = signed(unsigned.signing_input, private_key=seed)
    envelope = unsigned._replace(signature=jws.encoded(signature))
    jwk = public_jwk(seed)

    assert jws.compact(envelope).decode() == case["compact"]
    assert jws.from_compact(case["compact"].encode()) == envelope
    assert (jwk["x"], jwk["kid"], thumbprint(jwk)) == (
        case["x"], case["thumbprint"], case["thumbprint"],
    )  # fmt: skip
    (public,) = public_keys(canonical_json({"keys": [jwk]}), kid=case["thumbprint"])
    assert is_signed(envelope.signing_input, signature=signature, public_key=public)


@pytest.mark.parametrize("case", [VECTORS["thumbprint"]], ids=ids)
def test_canonical_json_gives_the_published_thumbprint(case: dict[str, Any]) -> None:
    """Of an RSA key, which we have no use for: only the way to it is ours."""
    members = {name: case[name] for name in ("n", "kty", "e")}

    assert jws.encoded(sha256(canonical_json(members)).digest()) == case["expected"]


@pytest.mark.parametrize("case", VECTORS["base64url"], ids=ids)
def test_the_published_text_stands_for_the_octets(case: dict[str, Any]) -> None:
    assert jws.encoded(bytes.fromhex(case["octets"])) == case["text"]
    assert jws.decoded(case["text"]) == bytes.fromhex(case["octets"])

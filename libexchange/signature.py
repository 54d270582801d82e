"""Ed25519 keys and signatures: the one module that needs `cryptography` (`libexchange[verify]`)."""

from collections.abc import Mapping
from hashlib import sha256
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import load_pem_private_key

from libexchange.canonical import canonical_json
from libexchange.errors import Fault, InvalidInput
from libexchange.jws import ALGORITHM, decoded, encoded
from libexchange.strict_json import read_json

KEY_BYTES = 32
_NAMES_OF_ALGORITHM = (None, ALGORITHM, "Ed25519")


def signed(message: bytes, *, private_key: bytes) -> bytes:
    """The Ed25519 signature of a message [64 bytes].

    private_key: 32 bytes of seed, or an unencrypted PEM (PKCS #8)
    Raises: InvalidInput for anything else    Source: RFC 8032, section 5.1.6.

    >>> signed(b"", private_key=bytes(32)).hex()[:16]
    '8f895b3cafe2c950'
    """
    return _private(private_key).sign(message)


def is_signed(message: bytes, *, signature: bytes, public_key: bytes) -> bool:
    """Whether a signature is that of a message by the holder of a key.

    public_key: 32 bytes    Source: RFC 8032, section 5.1.7.

    >>> public = decoded(public_jwk(bytes(32))["x"])
    >>> is_signed(b"", signature=signed(b"", private_key=bytes(32)), public_key=public)
    True
    """
    try:
        Ed25519PublicKey.from_public_bytes(public_key).verify(signature, message)
    except InvalidSignature:
        return False
    return True


def public_jwk(private_key: bytes) -> dict[str, str]:
    """The public half of a key as a JSON Web Key, named by its thumbprint.

    private_key: 32 bytes of seed, or an unencrypted PEM (PKCS #8)
    Raises: InvalidInput for anything else    Source: RFC 7517; RFC 8037, section 2.

    >>> public_jwk(bytes(32))["x"][:8]
    'O2onvM62'
    """
    x = encoded(_private(private_key).public_key().public_bytes_raw())
    jwk = {"kty": "OKP", "crv": "Ed25519", "x": x}
    return jwk | {"kid": thumbprint(jwk), "use": "sig", "alg": ALGORITHM}


def thumbprint(jwk: Mapping[str, Any]) -> str:
    """SHA-256 over the members that make an octet key pair what it is, base64url.

    jwk: with `crv`, `kty` and `x`    Source: RFC 7638, section 3; RFC 8037, section 2.

    >>> thumbprint({"kty": "OKP", "crv": "Ed25519", "x": "AA"})[:8]
    '3I7TDbW-'
    """
    members = {name: jwk[name] for name in ("crv", "kty", "x")}
    return encoded(sha256(canonical_json(members)).digest())


def public_keys(jwks: bytes, *, kid: str) -> list[bytes]:
    """The Ed25519 keys of a JSON Web Key Set that have a name or a thumbprint.

    Keys of other kinds or uses, and ones that cannot be read, are passed over.
    Raises: InvalidInput for what is no key set    Source: RFC 7517, section 5.

    >>> public_keys(canonical_json({"keys": [public_jwk(bytes(32))]}), kid="invented")
    []
    """
    told = read_json(jwks)
    keys = told.get("keys") if isinstance(told, dict) else None
    if not isinstance(keys, list):
        raise InvalidInput(_NO_KEY_SET)
    usable = ((one, _octets(one)) for one in keys if isinstance(one, dict) and _is_usable(one))
    return [octets for one, octets in usable if octets and kid in (one.get("kid"), thumbprint(one))]


def _is_usable(jwk: Mapping[str, Any]) -> bool:
    """Whether a key is of our kind and may be used to verify."""
    operations = jwk.get("key_ops", ["verify"])
    return (
        jwk.get("kty") == "OKP"
        and jwk.get("crv") == "Ed25519"
        and jwk.get("use", "sig") == "sig"
        and jwk.get("alg") in _NAMES_OF_ALGORITHM
        and isinstance(operations, list)
        and "verify" in operations
    )


def _octets(jwk: Mapping[str, Any]) -> bytes | None:
    x = jwk.get("x")
    try:
        octets = decoded(x) if isinstance(x, str) else b""
    except ValueError:
        return None
    return octets if len(octets) == KEY_BYTES else None


def _private(key: bytes) -> Ed25519PrivateKey:
    if len(key) == KEY_BYTES:
        return Ed25519PrivateKey.from_private_bytes(key)
    try:
        read = load_pem_private_key(key, password=None)
    except (ValueError, TypeError):
        raise InvalidInput(_NO_PRIVATE_KEY) from None
    if not isinstance(read, Ed25519PrivateKey):
        raise InvalidInput(_NO_PRIVATE_KEY)
    return read


_NO_KEY_SET = Fault(
    pointer="",
    code="keys-not-readable",
    detail="not a JSON Web Key Set",
    allowed="an object with a list of keys",
    remedy="Take the public keys as they are published.",
)
_NO_PRIVATE_KEY = Fault(  # without the key itself
    pointer="",
    code="key-not-readable",
    detail="not an Ed25519 private key",
    allowed="32 bytes of seed, or an unencrypted PEM (PKCS #8)",
    remedy="Make one with `openssl genpkey -algorithm ed25519`.",
)

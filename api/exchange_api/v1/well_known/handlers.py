"""`GET /.well-known/jwks.json`: the keys that records were ever signed with."""

from typing import Literal

from litestar import Response, get
from msgspec import Struct

from exchange_api.conditional import etag, not_modified
from exchange_api.operations import Answer, Operation, operation
from exchange_api.serving import Request, answer, service
from exchange_api.signing import public_keys


class PublicKey(Struct, frozen=True, kw_only=True):
    """An Ed25519 key as a JSON Web Key (RFC 7517, RFC 8037).

    kid: its thumbprint (RFC 7638)    x: the public key, base64url
    """

    kty: Literal["OKP"]
    crv: Literal["Ed25519"]
    x: str
    kid: str
    use: Literal["sig"]
    alg: Literal["EdDSA"]


class PublicKeys(Struct, frozen=True, kw_only=True):
    """A JSON Web Key Set: every key that records were ever signed with, the oldest first."""

    keys: list[PublicKey]


_KEYS = Operation(
    operation_id="getPublicKeys",
    summary="The public keys that records are verified with",
    description="Keys that sign no more stay in it for ever, so that what they signed can be "
    "verified. No key is needed, and the answer may be cached. Keep a copy beside your records.",
    tag="records",
    scope=None,
    headers=("If-None-Match",),
    answers={200: Answer(description="The keys.", content=PublicKeys, headers=("ETag",))},
)
_CACHED = {"Cache-Control": "public, max-age=300"}


@get("/.well-known/jwks.json", **operation(_KEYS))
async def get_public_keys(request: Request) -> Response[bytes]:
    """The keys as they are kept."""
    keys = await service(request).database.read(public_keys)
    found = not_modified(request, etag(keys)) or answer(keys, headers={"ETag": etag(keys)})
    found.headers |= _CACHED
    return found


HANDLERS = (get_public_keys,)

"""Time-stamp tokens (RFC 3161) over the signature of a record: asked for, checked, read.

What is stamped is the text of the JWS member `signature`, so that record and key stood together at
that time. A token is trusted only by certificates that whoever checks it was given.
"""

from base64 import b64decode, b64encode, urlsafe_b64decode
from binascii import Error
from collections.abc import Sequence
from datetime import datetime
from hashlib import sha256
from typing import Any, Literal

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from msgspec import Struct
from rfc3161_client import (
    HashAlgorithm,
    TimeStampRequest,
    TimestampRequestBuilder,
    TimeStampResponse,
    VerificationError,
    VerifierBuilder,
    decode_timestamp_response,
)

from libexchange.canonical import canonical_json
from libexchange.errors import InvalidInput
from libexchange.jws import from_members
from libexchange.strict_json import read_json

MEMBER = "timestamp_token"
"""Where a token stands in the unprotected header of a signed record, as base64 of its DER form."""
_GRANTED = bytes.fromhex("3003020100")
_SHA256 = x509.ObjectIdentifier("2.16.840.1.101.3.4.2.1")


class TokenRefused(Exception):
    """An answer or a token that is not what it should be; says why."""


class TimestampFound(Struct, frozen=True, kw_only=True):
    """What the time stamp of a record was found to be.

    `trusted`: by the certificates at hand the signature was there at `at`. `not_checked`: it is
    over this signature, but no certificates were at hand to say who made it. `unknown_authority`:
    those at hand are of others than who made it. `refused`: it is not over this signature, or not
    signed as it should be.
    """

    state: Literal["trusted", "not_checked", "unknown_authority", "refused"]
    at: datetime | None
    authority: str | None
    detail: str


def certificates(pem: bytes) -> tuple[x509.Certificate, ...]:
    """The certificates of a PEM file. Raises: ValueError where there is none."""
    return tuple(x509.load_pem_x509_certificates(pem))


def request_for(signature: str) -> TimeStampRequest:
    """What an authority is asked, with a nonce of its own; its certificate is asked for too."""
    builder = TimestampRequestBuilder().data(signature.encode())
    return builder.hash_algorithm(HashAlgorithm.SHA256).cert_request(cert_request=True).build()


def token_of(
    answer: bytes,
    *,
    request: TimeStampRequest,
    signature: str,
    trusted: Sequence[x509.Certificate],
) -> bytes:
    """The token of an answer, checked against what was asked, as DER. Raises: TokenRefused."""
    response = _read(answer)
    if response.status != 0:
        raise TokenRefused(f"the authority refused: status {response.status}")
    if request.nonce is not None and _nonce(response) != request.nonce:
        raise TokenRefused("it answers another request: the nonce differs")
    _check(response, signature, trusted)
    return response.time_stamp_token()


def stamped(document: bytes, token: bytes) -> bytes:
    """A signed record with a token in its unprotected header, in canonical form."""
    members: Any = read_json(document)
    members["header"][MEMBER] = b64encode(token).decode()
    return canonical_json(members)


def timestamp_in(
    document: bytes, trusted: Sequence[x509.Certificate] = ()
) -> TimestampFound | None:
    """What the time stamp of a signed record says; None where it has none.

    trusted: certificates of authorities; without any nothing is trusted
    """
    found = _token_in(document)
    if found is None:
        return None
    signature, text = found
    try:
        response = _read(_as_response(_decoded(text)))
        authority, at = _authority(response), response.tst_info.gen_time
        if not trusted:
            _check_imprint(response, signature)
            return TimestampFound(
                state="not_checked", at=at, authority=authority,
                detail="No certificates were given to check it with.",
            )  # fmt: skip
        _check_imprint(response, signature)
        if not _is_of(response, trusted):
            return TimestampFound(
                state="unknown_authority", at=None, authority=authority,
                detail="None of the certificates given is of who made it.",
            )  # fmt: skip
        _check(response, signature, trusted)
    except TokenRefused as refused:
        detail = f"The time stamp does not hold: {refused}."
        return TimestampFound(state="refused", at=None, authority=None, detail=detail)
    return TimestampFound(
        state="trusted", at=at, authority=authority, detail=_beside_close(document, at)
    )


def _beside_close(document: bytes, at: datetime) -> str:
    """What a time that is trusted says of the one at which the record says it was closed."""
    there = "The signature was there at that time"
    closed_at = _closed_at(document)
    if closed_at is None or at >= closed_at.replace(microsecond=0):
        return f"{there}."
    return f"{there}, before the record says that it was closed ({closed_at.isoformat()})."


def _closed_at(document: bytes) -> datetime | None:
    """When a signed record says that it was closed; None where it does not."""
    try:
        text = read_json(document)["payload"]
        record: Any = read_json(urlsafe_b64decode(text + "=" * (-len(text) % 4)))
        closed_at = datetime.fromisoformat(record["closing"]["closed_at"])
    except (InvalidInput, Error, KeyError, TypeError, ValueError):
        return None
    return closed_at if closed_at.tzinfo else None


def _is_of(response: TimeStampResponse, trusted: Sequence[x509.Certificate]) -> bool:
    """Whether a certificate that came with a token is a trusted one, or made by one."""
    return any(one == root or _made_by(one, root) for one in _within(response) for root in trusted)


def _made_by(one: x509.Certificate, root: x509.Certificate) -> bool:
    try:
        one.verify_directly_issued_by(root)
    except (InvalidSignature, TypeError, ValueError):
        return False
    return True


def _within(response: TimeStampResponse) -> list[x509.Certificate]:
    try:
        raw = list(response.signed_data.certificates)
        return [x509.load_der_x509_certificate(one) for one in raw]
    except Exception:  # noqa: BLE001 -- malformed certificates raise whatever they do
        raise TokenRefused("its certificates cannot be read") from None


def _token_in(document: bytes) -> tuple[str, Any] | None:
    """The signature of a document and the token over it, as they stand there."""
    try:
        members = read_json(document)
    except InvalidInput:
        return None
    envelope = from_members(members) if isinstance(members, dict) else None
    if envelope is None or not isinstance(envelope.header, dict):
        return None
    return (envelope.signature, envelope.header[MEMBER]) if MEMBER in envelope.header else None


def _decoded(text: Any) -> bytes:
    try:
        token = b64decode(text, validate=True)
    except (Error, TypeError, ValueError):
        raise TokenRefused("it is not base64") from None
    if b64encode(token).decode() != text:
        raise TokenRefused("it is not base64 as it is written")
    return token


def _as_response(token: bytes) -> bytes:
    """A token as the answer that it came with, which is what can be read."""
    content = _GRANTED + token
    size = len(content).to_bytes(4, "big").lstrip(b"\x00")
    length = size if len(content) < 0x80 else bytes([0x80 + len(size)]) + size
    return b"\x30" + length + content


def _read(answer: bytes) -> TimeStampResponse:
    try:
        response = decode_timestamp_response(answer)
        if response.status == 0:
            response.tst_info.message_imprint.message  # noqa: B018 -- read lazily, and may fail
    except Exception:  # noqa: BLE001 -- the reader has no error of its own for what is malformed
        raise TokenRefused("it cannot be read") from None
    return response


def _nonce(response: TimeStampResponse) -> int | None:
    try:
        return response.tst_info.nonce
    except Exception:  # noqa: BLE001 -- as above, for one that is missing
        return None


def _check_imprint(response: TimeStampResponse, signature: str) -> None:
    imprint = response.tst_info.message_imprint
    if imprint.hash_algorithm != _SHA256 or imprint.message != sha256(signature.encode()).digest():
        raise TokenRefused("it is over something else")


def _check(
    response: TimeStampResponse, signature: str, trusted: Sequence[x509.Certificate]
) -> None:
    _check_imprint(response, signature)
    verifier = VerifierBuilder(roots=list(trusted)).build()
    try:
        verifier.verify(response, sha256(signature.encode()).digest())
    except VerificationError:
        raise TokenRefused("it is not signed as it should be, or not for this use") from None
    except Exception:  # noqa: BLE001 -- malformed certificates raise whatever they do
        raise TokenRefused("its certificates cannot be read") from None


def _authority(response: TimeStampResponse) -> str:
    """The name in the certificate that signed, as far as the token tells it."""
    try:
        (signer,) = response.signed_data.signer_infos
        for known in _within(response):
            if (known.issuer, known.serial_number) == (signer.issuer, signer.serial_number):
                return known.subject.rfc4514_string()
        return f"certificate {signer.serial_number} of {signer.issuer.rfc4514_string()}"
    except Exception:  # noqa: BLE001 -- malformed certificates raise whatever they do
        raise TokenRefused("its certificates cannot be read") from None

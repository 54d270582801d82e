"""The JSON Web Signature around a record: its flattened JSON and its compact form (RFC 7515)."""

import re
from base64 import urlsafe_b64decode, urlsafe_b64encode
from binascii import Error
from collections.abc import Mapping
from typing import Any, NamedTuple

from libexchange.canonical import canonical_json

ALGORITHM = "EdDSA"
TYPE = "service-record"
"""What `typ` in the protected header says, so that no other signed document passes for a record."""

_ALPHABET = re.compile("[A-Za-z0-9_-]*")
_COMPACT = re.compile(rb"[A-Za-z0-9_-]+(\.[A-Za-z0-9_-]+){2}")


class Envelope(NamedTuple):
    """The members of a flattened signature, still encoded, and its unprotected header."""

    protected: str
    payload: str
    signature: str
    header: Any = None

    @property
    def signing_input(self) -> bytes:
        """What is signed. Source: RFC 7515, section 5.1."""
        return f"{self.protected}.{self.payload}".encode()


def encoded(octets: bytes) -> str:
    """Base64url without padding. Source: RFC 7515, appendix C.

    >>> encoded(bytes([3, 236, 255, 224, 193]))
    'A-z_4ME'
    """
    return urlsafe_b64encode(octets).rstrip(b"=").decode()


def decoded(text: str) -> bytes:
    """What base64url without padding stands for, written in the one way that there is for it.

    Raises: ValueError for padding, other characters and bits that stand for nothing
    Source: RFC 7515, appendix C.

    >>> list(decoded("A-z_4ME"))
    [3, 236, 255, 224, 193]
    """
    if not _ALPHABET.fullmatch(text):
        raise ValueError("not base64url")
    try:
        octets = urlsafe_b64decode(text + "=" * (-len(text) % 4))
    except Error:
        raise ValueError("not base64url") from None
    if encoded(octets) != text:
        raise ValueError("not base64url as it is written")
    return octets


def protected_header(kid: str) -> str:
    """The protected header of a signed record, encoded.

    kid: names the key that it is signed with

    >>> decoded(protected_header("invented"))
    b'{"alg":"EdDSA","kid":"invented","typ":"service-record"}'
    """
    return encoded(canonical_json({"alg": ALGORITHM, "kid": kid, "typ": TYPE}))


def flattened(envelope: Envelope) -> bytes:
    """The flattened JSON form, in the canonical form of JSON.

    Source: RFC 7515, section 7.2.2; RFC 8785.

    >>> flattened(Envelope("a", "b", "c"))
    b'{"payload":"b","protected":"a","signature":"c"}'
    """
    members = envelope._asdict()
    if envelope.header is None:
        del members["header"]
    return canonical_json(members)


def compact(envelope: Envelope) -> bytes:
    """The compact form, which has no unprotected header. Source: RFC 7515, section 7.1.

    >>> compact(Envelope("a", "b", "c", {"disclosures": []}))
    b'a.b.c'
    """
    return f"{envelope.protected}.{envelope.payload}.{envelope.signature}".encode()


def from_compact(data: bytes) -> Envelope | None:
    """The parts of a compact form; None for anything else.

    >>> from_compact(b"a.b.c"), from_compact(b"a.b")
    (Envelope(protected='a', payload='b', signature='c', header=None), None)
    """
    return Envelope(*data.decode().split(".")) if _COMPACT.fullmatch(data) else None


def from_members(members: Mapping[str, Any]) -> Envelope | None:
    """The parts of a flattened form; None where one is missing or no text.

    >>> from_members({"protected": "a", "payload": "b"}) is None
    True
    """
    match members:
        case {"protected": str(protected), "payload": str(payload), "signature": str(signature)}:
            return Envelope(protected, payload, signature, members.get("header"))
    return None

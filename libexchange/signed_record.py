"""A signed record: a flattened JSON Web Signature over the canonical bytes of the concealed record.

The personal texts are not signed. They stand as disclosures in the unprotected header, and each is
tied to the record by its commitment; without them the signature holds all the same.
"""

from collections.abc import Iterable
from typing import Any

from msgspec import to_builtins

from libexchange import jws
from libexchange.canonical import canonical_json
from libexchange.errors import Fault, InvalidInput
from libexchange.jws import Envelope
from libexchange.personal import Disclosure
from libexchange.record import JobRecord, concealed_record
from libexchange.signature import public_jwk, signed
from libexchange.strict_json import read_json


def sign_record(record: JobRecord, *, private_key: bytes) -> bytes:
    """The signed record as flattened JSON, in its canonical form, with all its disclosures.

    private_key: 32 bytes of seed, or an unencrypted PEM (PKCS #8)
    Raises: InvalidInput for another key, or where `personal` does not go with the record
    Source: RFC 7515, section 7.2.2; RFC 8037; RFC 8785.

    >>> from libexchange.invented import closed_record
    >>> document = sign_record(closed_record(), private_key=bytes(32))
    >>> list(read_json(document))
    ['header', 'payload', 'protected', 'signature']
    """
    hidden = concealed_record(record)
    protected = jws.protected_header(public_jwk(private_key)["kid"])
    unsigned = Envelope(protected, jws.encoded(canonical_json(hidden.form)), "")
    signature = jws.encoded(signed(unsigned.signing_input, private_key=private_key))
    return _with(unsigned._replace(signature=signature), hidden.disclosures)


def with_disclosures(document: bytes, disclosures: Iterable[Disclosure]) -> bytes:
    """The same signed record with other disclosures; with none of them nothing personal is left.

    Raises: InvalidInput for what is no signed record

    >>> from libexchange.invented import closed_record
    >>> document = sign_record(closed_record(), private_key=bytes(32))
    >>> read_json(with_disclosures(document, ()))["header"]
    {'disclosures': []}
    """
    return _with(_read(document), disclosures)


def compact(document: bytes) -> bytes:
    """The compact form of a signed record, in three parts and without disclosures.

    Raises: InvalidInput for what is no signed record    Source: RFC 7515, section 7.1.

    >>> from libexchange.invented import closed_record
    >>> compact(sign_record(closed_record(), private_key=bytes(32))).count(b".")
    2
    """
    return jws.compact(_read(document))


def _with(envelope: Envelope, disclosures: Iterable[Disclosure]) -> bytes:
    header = {"disclosures": [to_builtins(one) for one in disclosures]}
    return jws.flattened(envelope._replace(header=header))


def _read(document: bytes) -> Envelope:
    members: Any = read_json(document)
    envelope = jws.from_members(members) if isinstance(members, dict) else None
    if envelope is None:
        raise InvalidInput(_NOT_SIGNED)
    return envelope


_NOT_SIGNED = Fault(
    pointer="",
    code="not-a-record",
    detail="not a signed record",
    allowed="a flattened JSON Web Signature",
    remedy="Take the document as it was handed over.",
)

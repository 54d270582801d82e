"""Whether a record is authentic and whole, from its bytes alone: no server, no network, no clock.

Three forms are taken: the signed record as flattened JSON, its compact form, and the plain record,
which is not signed, so that only its wholeness shows. What differs is named, never raised.
"""

from dataclasses import dataclass, field
from typing import Any, Literal

from msgspec import Struct, ValidationError, convert

from libexchange import jws
from libexchange.errors import InvalidInput
from libexchange.jws import Envelope
from libexchange.personal import PersonalPlaces, disclosed
from libexchange.record_faults import RecordFault, Refused, differing, record_fault
from libexchange.strict_json import read_json
from libexchange.verification_envelope import (
    around_faults,
    as_refused,
    disclosures_in,
    payload_of,
    signature_of,
)
from libexchange.verification_plain import concealed_plain
from libexchange.verification_record import form_faults

LARGEST_RECORD = 32 * 2**20
"""The largest document that is looked at [bytes]."""

MOST_FAULTS = 1000
"""So many faults are told; the rest would say no more."""

DocumentForm = Literal["signed", "compact", "plain", "unreadable"]


class Verification(Struct, frozen=True, kw_only=True):
    """What a document was found to be. It is good where it is both `authentic` and `whole`.

    `authentic`: signed by the holder of a key that was given; null where nothing is signed or no
    keys were given. `whole`: nothing differs. `disclosed`: personal texts that go with the record.
    """

    form: DocumentForm
    authentic: bool | None
    whole: bool
    kid: str | None
    job_id: str | None
    record_digest: str | None
    disclosed: int
    faults: tuple[RecordFault, ...]


@dataclass
class _Seen:
    """What is known so far of a document that is being looked through."""

    form: DocumentForm = "unreadable"
    authentic: bool | None = None
    kid: str | None = None
    record: dict[str, Any] = field(default_factory=dict)
    disclosed: int = 0
    faults: list[RecordFault] = field(default_factory=list)


def verify_record(
    data: bytes, *, keys: bytes | None = None, digest: str | None = None
) -> Verification:
    """Whether a record is authentic and whole, and what differs.

    data: a signed record, its compact form or a plain record, at most 32 MiB
    keys: public keys as a JSON Web Key Set (RFC 7517), at most 1 MiB
    digest: that of the record as it was handed over, to be compared; spaces do not matter
    Source: RFC 7515, RFC 8037, RFC 8785.

    >>> from libexchange.canonical import canonical_json
    >>> from libexchange.invented import closed_record
    >>> from libexchange.signature import public_jwk
    >>> from libexchange.signed_record import sign_record
    >>> document = sign_record(closed_record(), private_key=bytes(32))
    >>> keys = canonical_json({"keys": [public_jwk(bytes(32))]})
    >>> found = verify_record(document, keys=keys)
    >>> found.authentic, found.whole
    (True, True)
    >>> [one.code for one in verify_record(document + b" ", keys=keys).faults]
    ['not-canonical']
    >>> [one.code for one in verify_record(b'{"job_id": "1", "job_id": "2"}').faults]
    ['duplicate-name']
    """
    seen = _Seen()
    try:
        _look(seen, data, keys)
    except Refused as refused:
        seen.faults += refused.faults
    except InvalidInput as invalid:
        seen.faults += as_refused(invalid).faults
    stated = _text(seen.record, "digest")
    if digest is not None:
        text = "The record has another digest than the one that was handed over."
        wanted = "".join(digest.split()).lower()
        seen.faults += differing("other-digest", "/digest", text, expected=wanted, found=stated)
    return Verification(
        form=seen.form,
        authentic=seen.authentic,
        whole=not seen.faults,
        kid=seen.kid,
        job_id=_text(seen.record, "job_id"),
        record_digest=stated,
        disclosed=seen.disclosed,
        faults=tuple(seen.faults[:MOST_FAULTS]),
    )


def _text(record: dict[str, Any], name: str) -> str | None:
    value = record.get(name)
    return value if isinstance(value, str) else None


def _look(seen: _Seen, data: bytes, keys: bytes | None) -> None:
    """Take a document for what it is and look through it."""
    if len(data) > LARGEST_RECORD:
        raise Refused(record_fault("too-large", "", f"More than {LARGEST_RECORD:,} bytes."))
    envelope = jws.from_compact(data)
    if envelope is not None:
        seen.form = "compact"
        _look_at_signed(seen, envelope, keys)
        return
    members = read_json(data)
    if not isinstance(members, dict):
        raise Refused(record_fault("not-a-record", "", "Not an object."))
    envelope = jws.from_members(members)
    if envelope is None:
        seen.form = "plain"
        _look_at_plain(seen, members)
        return
    seen.form = "signed"
    seen.faults += around_faults(members, data)
    _look_at_signed(seen, envelope, keys)


def _look_at_signed(seen: _Seen, envelope: Envelope, keys: bytes | None) -> None:
    seen.kid, seen.authentic, faults = signature_of(envelope, keys)
    seen.faults += faults
    seen.record, faults = payload_of(envelope)
    seen.faults += faults
    seen.faults += form_faults(seen.record)
    disclosures = disclosures_in(envelope.header)
    disclosed(seen.record, disclosures)
    seen.disclosed = len(disclosures)


def _look_at_plain(seen: _Seen, members: dict[str, Any]) -> None:
    seen.record = members
    try:
        places = convert(members.pop("personal", []), tuple[PersonalPlaces, ...])
    except ValidationError:
        text = "Not a list of places with their salts."
        raise Refused(record_fault("disclosure-differs", "/personal", text)) from None
    disclosures, astray = concealed_plain(members, places)
    seen.faults += astray
    seen.faults += form_faults(members)
    seen.disclosed = len(disclosures)

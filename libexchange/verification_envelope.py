"""What is around a signed record: its headers, its signature, and how its payload is written."""

from collections.abc import Mapping
from typing import Any, NamedTuple

from msgspec import ValidationError, convert

from libexchange import jws
from libexchange.canonical import canonical_json
from libexchange.errors import InvalidInput, OutOfRange
from libexchange.jws import Envelope
from libexchange.personal import Disclosure
from libexchange.record_faults import RecordFault, Refused, record_fault
from libexchange.signature import is_signed, public_keys
from libexchange.strict_json import member, read_json

UNSIGNED = ("disclosures", "timestamp_token")
"""What may stand in the unprotected header; each proves by itself that it goes with the record."""

LARGEST_KEYS = 2**20
"""The largest key set that is looked at [bytes]."""


class SignatureFound(NamedTuple):
    """What a signature was found to be; `authentic` is None where no keys were given."""

    kid: str | None
    authentic: bool | None
    faults: list[RecordFault]


def around_faults(members: Mapping[str, Any], data: bytes) -> list[RecordFault]:
    """What differs around what is signed: members that nobody signed, spaces, order.

    members: the flattened form as it was read from `data`

    >>> [one.pointer for one in around_faults({"payload": "a", "note": 1}, b"")]
    ['/note', '']
    """
    header = members.get("header", {})
    strange = [member("", name) for name in members if name not in Envelope._fields]
    if isinstance(header, dict):
        strange += [member("/header", name) for name in header if name not in UNSIGNED]
    else:
        strange.append("/header")
    text = "Nobody has signed this."
    faults = [record_fault("unprotected-member", at, text) for at in strange]
    return faults if _is_canonical(members, data) else [*faults, _NOT_CANONICAL]


_NOT_CANONICAL = record_fault(
    "not-canonical", "", "The document around the signed record is not in canonical form."
)


def _is_canonical(value: Any, data: bytes) -> bool:
    try:
        return canonical_json(value) == data
    except OutOfRange:
        return False


def signature_of(envelope: Envelope, keys: bytes | None) -> SignatureFound:
    """Whether a record is signed by the holder of one of the keys.

    keys: a JSON Web Key Set    Source: RFC 7515, section 5.2; RFC 8037, section 3.1.

    >>> signature_of(Envelope(jws.protected_header("invented"), "", ""), None).kid
    'invented'
    """
    kid = None
    try:
        header = _header(envelope)
        kid = _kid_in(header)
        _check_header(header)
        if keys is not None:
            _check_signature(envelope, keys, kid)
    except Refused as refused:
        return SignatureFound(kid, None if keys is None else False, [*refused.faults])
    return SignatureFound(kid, None if keys is None else True, [])


def _header(envelope: Envelope) -> dict[str, Any]:
    header = _json_in(envelope.protected, "/protected", under="/protected")
    if not isinstance(header, dict):
        raise Refused(record_fault("not-json", "/protected", "Not an object."))
    return header


def _kid_in(header: Mapping[str, Any]) -> str:
    kid = header.get("kid")
    if not isinstance(kid, str):
        raise Refused(record_fault("unknown-key", "/protected/kid", "It names no key."))
    return kid


def _check_header(header: Mapping[str, Any]) -> None:
    if header.get("alg") != jws.ALGORITHM:
        text = f"Not signed with {jws.ALGORITHM}."
        raise Refused(record_fault("alg-not-allowed", "/protected/alg", text))
    if "crit" in header:
        text = "It asks for an extension that is not known here."
        raise Refused(record_fault("critical-header", "/protected/crit", text))
    if header.get("typ") != jws.TYPE:
        raise Refused(record_fault("not-a-record", "/protected/typ", f"Not a {jws.TYPE}."))


def _check_signature(envelope: Envelope, keys: bytes, kid: str) -> None:
    public = _keys_named(keys, kid)
    if not public:
        text = "None of the keys has this name or thumbprint."
        raise Refused(record_fault("unknown-key", "/protected/kid", text))
    try:
        signature = jws.decoded(envelope.signature)
    except ValueError:
        raise Refused(record_fault("signature-differs", "/signature", "Not base64url.")) from None
    message = envelope.signing_input
    if not any(is_signed(message, signature=signature, public_key=key) for key in public):
        text = "The signature is not that of this record with this key."
        raise Refused(record_fault("signature-differs", "/signature", text))


def _keys_named(keys: bytes, kid: str) -> list[bytes]:
    if len(keys) > LARGEST_KEYS:
        text = f"The keys have more than {LARGEST_KEYS:,} bytes."
        raise Refused(record_fault("keys-not-readable", "", text))
    try:
        return public_keys(keys, kid=kid)
    except InvalidInput as invalid:
        text = f"The keys: {invalid}"
        raise Refused(record_fault("keys-not-readable", "", text)) from None


def payload_of(envelope: Envelope) -> tuple[dict[str, Any], list[RecordFault]]:
    """The concealed record that is signed, and whether it is written in canonical form.

    Raises: Refused for what is no JSON object    Source: RFC 8785.

    >>> payload_of(Envelope("", jws.encoded(b'{"job_id":"1"}'), ""))
    ({'job_id': '1'}, [])
    """
    form = _json_in(envelope.payload, "/payload", under="")
    if not isinstance(form, dict):
        raise Refused(record_fault("not-a-record", "/payload", "Not an object."))
    if _is_canonical(form, jws.decoded(envelope.payload)):
        return form, []
    text = "The signed bytes are not the canonical form of the record."
    return form, [record_fault("payload-not-canonical", "/payload", text)]


def disclosures_in(header: Any) -> tuple[Disclosure, ...]:
    """The disclosures of an unprotected header. Raises: Refused where they cannot be read.

    >>> disclosures_in(None), disclosures_in({})
    ((), ())
    """
    told = header.get("disclosures", []) if isinstance(header, dict) else []
    try:
        return convert(told, tuple[Disclosure, ...])
    except ValidationError:
        at, text = "/header/disclosures", "Not a list of salts with their texts."
        raise Refused(record_fault("disclosure-differs", at, text)) from None


def as_refused(invalid: InvalidInput, *, under: str = "") -> Refused:
    """The faults of what could not be read, as faults of a record.

    under: where what was read stands
    """
    faults = [
        record_fault(f.code, f"{under}{f.pointer}", _sentence(f.detail)) for f in invalid.faults
    ]
    return Refused(*faults)


def _sentence(detail: str) -> str:
    return f"{detail[:1].upper()}{detail[1:]}."


def _json_in(text: str, at: str, *, under: str) -> Any:
    """The value of JSON in base64url; its faults point into it, `under` first."""
    try:
        octets = jws.decoded(text)
    except ValueError:
        raise Refused(record_fault("not-json", at, "Not base64url.")) from None
    try:
        return read_json(octets)
    except InvalidInput as invalid:
        raise as_refused(invalid, under=under) from None

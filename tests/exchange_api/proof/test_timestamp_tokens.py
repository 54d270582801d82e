"""Tokens as an invented authority makes them, well and badly."""

from base64 import b64encode
from collections.abc import Sequence
from datetime import datetime, timedelta

import pytest
from cryptography import x509
from msgspec.structs import replace

from exchange_api.timestamp_tokens import (
    MEMBER,
    TimestampFound,
    TokenRefused,
    request_for,
    stamped,
    timestamp_in,
    token_of,
)
from libexchange.canonical import canonical_json
from libexchange.invented import closed_record
from libexchange.record import make_record
from libexchange.signed_record import sign_record
from libexchange.strict_json import read_json
from tests.exchange_api.proof.authority import GEN_TIME, NAME, Authority

DOCUMENT = sign_record(closed_record(), private_key=bytes(32))
SIGNATURE: str = read_json(DOCUMENT)["signature"]


def token(authority: Authority, trusted: Sequence[x509.Certificate] | None = None) -> bytes:
    request = request_for(SIGNATURE)
    answer = authority.answer(request.as_bytes())
    roots = (authority.root,) if trusted is None else trusted
    return token_of(answer, request=request, signature=SIGNATURE, trusted=roots)


def test_a_token_over_the_signature_is_trusted_by_its_certificate() -> None:
    authority = Authority()
    document = stamped(DOCUMENT, token(authority))
    found = timestamp_in(document, [authority.root])

    assert found is not None
    assert (found.state, found.at) == ("trusted", GEN_TIME)
    assert found.authority is not None
    assert NAME in found.authority


@pytest.mark.parametrize(
    ("mode", "why"),
    [
        ("garbage", "cannot be read"),
        ("refuse", "refused"),
        ("wrong-nonce", "nonce"),
        ("wrong-imprint", "something else"),
        ("stranger", "not signed as it should be"),
    ],
)
def test_an_answer_that_is_not_what_was_asked_for_is_refused(mode: str, why: str) -> None:
    authority = Authority()
    authority.mode = mode

    with pytest.raises(TokenRefused, match=why):
        token(authority)


def test_an_authority_that_nobody_vouches_for_is_refused() -> None:
    with pytest.raises(TokenRefused):
        token(Authority(), [Authority().root])


def found_in(document: bytes, authority: Authority | None) -> TimestampFound | None:
    return timestamp_in(document, [authority.root] if authority else [])


def test_without_certificates_nothing_is_trusted() -> None:
    found = found_in(stamped(DOCUMENT, token(Authority())), None)

    assert found is not None
    assert (found.state, found.at) == ("not_checked", GEN_TIME)


def test_an_authority_that_others_vouch_for_is_not_known() -> None:
    """It may be a good one: whoever checks has the certificates of others."""
    found = found_in(stamped(DOCUMENT, token(Authority())), Authority())

    assert found is not None
    assert (found.state, found.at) == ("unknown_authority", None)
    assert found.authority is not None
    assert NAME in found.authority


@pytest.mark.parametrize(
    ("after", "detail"),
    [
        (timedelta(0), "The signature was there at that time."),
        (timedelta(microseconds=1), "The signature was there at that time."),  # it counts seconds
        (timedelta(seconds=1), "before the record says that it was closed (2026-03-01T12:00:01"),
    ],
)
def test_a_stamp_from_before_the_close_is_told(after: timedelta, detail: str) -> None:
    as_kept = closed_record()
    record = make_record(
        job_id=as_kept.job_id,
        plan=as_kept.plan,
        device_events=(),
        late_events=(),
        closing=replace(as_kept.closing, closed_at=GEN_TIME + after),
        salt=bytes(32),
    )
    document = sign_record(record, private_key=bytes(32))
    authority, signature = Authority(), read_json(document)["signature"]
    request = request_for(signature)
    answer = authority.answer(request.as_bytes())
    made = token_of(answer, request=request, signature=signature, trusted=[authority.root])
    found = timestamp_in(stamped(document, made), [authority.root])

    assert found is not None
    assert found.state == "trusted"
    assert detail in found.detail


def test_a_record_without_a_token_tells_none() -> None:
    for document in (DOCUMENT, b"", b"[]", b'{"payload":"a","protected":"b","signature":"c"}'):
        assert timestamp_in(document) is None


def test_a_token_of_another_signature_is_refused_with_or_without_certificates() -> None:
    authority = Authority()
    other = sign_record(closed_record(), private_key=bytes([1] * 32))
    document = stamped(other, token(authority))

    for known in (authority, None):
        found = found_in(document, known)
        assert found is not None
        assert found.state == "refused"
        assert "something else" in found.detail


@pytest.mark.parametrize("text", ["", "====", 7, None, b64encode(b"\x30\x00").decode(), "AB"])
def test_what_is_no_token_is_refused(text: object) -> None:
    members = read_json(DOCUMENT)
    members["header"][MEMBER] = text
    found = timestamp_in(canonical_json(members))

    assert found is not None
    assert found.state == "refused"


def test_no_changed_byte_of_a_token_moves_its_time() -> None:
    authority = Authority()
    good = token(authority)
    told: list[tuple[str, datetime | None]] = []
    for place in range(len(good)):
        bad = bytearray(good)
        bad[place] ^= 1
        found = found_in(stamped(DOCUMENT, bytes(bad)), authority)
        assert found is not None
        told.append((found.state, found.at))

    # within the certificate that came along it is another certificate
    changed = {("refused", None), ("unknown_authority", None)}
    assert set(told) <= changed | {("trusted", GEN_TIME)}
    assert told.count(("refused", None)) > len(told) / 2

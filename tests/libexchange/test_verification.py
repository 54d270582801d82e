"""A signed record: authentic and whole as it is, never after any change, which is named."""

import json
from typing import Any
from uuid import UUID

import msgspec
import pytest
from msgspec.structs import replace

from libexchange.canonical import canonical_json
from libexchange.job.events import Note
from libexchange.personal import Disclosure
from libexchange.record import concealed_record, erased_record, make_record
from libexchange.record_faults import REMEDIES
from libexchange.signed_record import compact, sign_record, with_disclosures
from libexchange.verification import verify_record
from tests.job.plans import Bay
from tests.libexchange.proof_desk import (
    FOREMAN,
    KEYS,
    OTHER_SEED,
    PLAIN,
    REASON,
    RECORD,
    REFERENCE,
    REMARK,
    SALT,
    SEED,
    SIGNED,
    VIN,
    b64,
    key_set,
    named,
    payload,
    retied,
    tampered,
    with_payload,
)

TEXTS = 7  # reference, VIN, digest of the plan, foreman, his reason, remark, who closed


def test_a_signed_record_is_authentic_and_whole() -> None:
    found = verify_record(SIGNED, keys=KEYS, digest=RECORD.digest)

    assert (found.form, found.authentic, found.whole, found.faults) == ("signed", True, True, ())
    assert found.kid == json.loads(KEYS)["keys"][0]["kid"]
    assert (found.job_id, found.record_digest) == (str(RECORD.job_id), RECORD.digest)
    assert found.disclosed == TEXTS


def test_its_compact_form_is_authentic_and_whole_and_discloses_nothing() -> None:
    found = verify_record(compact(SIGNED), keys=KEYS, digest=RECORD.digest)

    assert (found.form, found.authentic, found.whole, found.disclosed) == ("compact", True, True, 0)


def test_a_plain_record_is_whole_and_of_nobody() -> None:
    found = verify_record(PLAIN, keys=KEYS, digest=RECORD.digest)

    assert (found.form, found.authentic, found.whole) == ("plain", None, True)
    assert (found.kid, found.disclosed) == (None, TEXTS)


def test_without_keys_wholeness_alone_is_told() -> None:
    found = verify_record(SIGNED)

    assert (found.authentic, found.whole, found.faults) == (None, True, ())


def test_who_makes_all_digests_anew_still_cannot_sign() -> None:
    form = payload()
    form["fresh_share"] = None
    del form["events"][3]
    form["event_count"] -= 1
    found = verify_record(with_payload(retied(form)), keys=KEYS)

    assert named(found) == [("signature-differs", "/signature")]
    assert (found.authentic, found.whole) == (False, False)


def test_the_digest_that_was_handed_over_tells_a_record_that_was_signed_anew() -> None:
    form = payload()
    form["leak_check"] = None
    other = with_payload(retied(form), seed=SEED)

    assert verify_record(other, keys=KEYS).whole
    found = verify_record(other, keys=KEYS, digest=RECORD.digest)
    assert (found.authentic, named(found)) == (True, [("other-digest", "/digest")])


@pytest.mark.parametrize(
    "written", [RECORD.digest.upper(), " ".join([RECORD.digest[:8], RECORD.digest[8:]]) + "\n"]
)
def test_a_digest_may_be_typed_with_spaces_and_capitals(written: str) -> None:
    assert verify_record(SIGNED, keys=KEYS, digest=written).whole


def test_an_old_key_still_verifies_and_another_does_not() -> None:
    assert verify_record(SIGNED, keys=key_set(OTHER_SEED, SEED)).authentic
    found = verify_record(SIGNED, keys=key_set(OTHER_SEED))
    assert (found.authentic, named(found)) == (False, [("unknown-key", "/protected/kid")])


def test_a_key_of_the_same_name_does_not_verify() -> None:
    keys = json.loads(key_set(OTHER_SEED))
    keys["keys"][0]["kid"] = json.loads(KEYS)["keys"][0]["kid"]
    found = verify_record(SIGNED, keys=canonical_json(keys))

    assert (found.authentic, named(found)) == (False, [("signature-differs", "/signature")])


def test_erasure_leaves_digest_and_signature_as_they_are() -> None:
    erased = erased_record(RECORD)
    document = with_disclosures(SIGNED, ())

    assert concealed_record(erased).form == concealed_record(RECORD).form
    assert sign_record(erased, private_key=SEED) == document
    found = verify_record(document, keys=KEYS, digest=RECORD.digest)
    assert (found.authentic, found.whole, found.disclosed) == (True, True, 0)
    plain = verify_record(msgspec.json.encode(erased), digest=RECORD.digest)
    assert (plain.whole, plain.disclosed) == (True, 0)
    for data in (document, msgspec.json.encode(erased), msgspec.json.encode(payload())):
        assert [text for text in PERSONAL if text.encode() in data] == []
    assert erased_record(erased) == erased


PERSONAL = (VIN, REFERENCE, FOREMAN, REASON, REMARK, "invented key", RECORD.plan.digest)


def test_no_personal_text_is_in_what_is_signed() -> None:
    signed = canonical_json(payload())

    assert all(text.encode() in PLAIN for text in PERSONAL)
    assert [text for text in PERSONAL if text.encode() in signed] == []


def test_some_disclosures_may_be_withheld() -> None:
    disclosures = [Disclosure(**one) for one in json.loads(SIGNED)["header"]["disclosures"]]
    found = verify_record(with_disclosures(SIGNED, disclosures[1:]), keys=KEYS)

    assert (found.authentic, found.whole, found.disclosed) == (True, True, TEXTS - 1)


def differing_disclosures(*disclosures: Disclosure) -> list[tuple[str, str]]:
    return named(verify_record(with_disclosures(SIGNED, disclosures), keys=KEYS))


def test_a_disclosure_that_goes_with_nothing_is_named() -> None:
    first, second, *_ = (Disclosure(**one) for one in json.loads(SIGNED)["header"]["disclosures"])
    code = "disclosure-differs"

    assert differing_disclosures(first, second) == []
    assert differing_disclosures(first, replace(second, value="another")) == [
        (code, "/header/disclosures/1")
    ]
    assert differing_disclosures(replace(first, salt="0" * 64), second) == [
        (code, "/header/disclosures/0")
    ]
    assert differing_disclosures(first, second, first) == [(code, "/header/disclosures/2")]


@pytest.mark.parametrize("told", ["text", [1], [{"salt": "AB" * 32, "value": "a"}], [{}]])
def test_disclosures_that_cannot_be_read_are_told(told: Any) -> None:
    document = with_payload(payload(), header={"disclosures": told})

    found = verify_record(document, keys=KEYS)
    assert named(found) == [("disclosure-differs", "/header/disclosures")]
    assert found.authentic


def test_a_plain_record_whose_texts_do_not_go_with_their_salts_is_told() -> None:
    document = json.loads(PLAIN)
    document["closing"]["closed_by"] = "somebody else"
    codes = {one.code for one in verify_record(json.dumps(document).encode()).faults}
    assert codes == {"record-digest-differs", "part-changed"}

    document["personal"][0]["pointers"] = ["/nowhere"]
    found = verify_record(json.dumps(document).encode())
    assert ("disclosure-differs", "/nowhere") in named(found)

    document["personal"] = [1]
    found = verify_record(json.dumps(document).encode())
    assert named(found) == [("disclosure-differs", "/personal")]


@pytest.mark.parametrize("place", [0, 3, -2])
def test_in_a_plain_record_every_event_that_went_or_moved_is_named(place: int) -> None:
    """Though the places of all personal texts behind it have moved along."""
    codes: dict[str, set[str]] = {}
    for change in ("remove", "twice", "move"):
        document = json.loads(PLAIN)
        events = document["events"]
        event = events[place]
        if change == "twice":
            events.insert(0, event)
        else:
            events.remove(event)
        if change == "move":
            events.insert(1, event)
        found = verify_record(json.dumps(document).encode())
        assert not found.whole
        codes[change] = {one.code for one in found.faults} - {"record-digest-differs"}

    assert "event-added" in codes.pop("twice")
    assert codes == {"remove": {"event-removed"}, "move": {"event-reordered"}}


def test_a_plain_record_without_its_salts_differs_where_texts_stand() -> None:
    document = json.loads(PLAIN)
    del document["personal"]
    found = verify_record(json.dumps(document).encode())

    assert ("part-changed", "/closing") in named(found)
    assert verify_record(canonical_json(payload())).whole  # which needs none


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "not-json"),
        (b"\xff", "not-json"),
        (b"[]", "not-a-record"),
        (b"{}", "not-a-record"),
        (b'{"job_id":"1","job_id":"1"}', "duplicate-name"),
        (b"a.b", "not-json"),
        (b"x" * (32 * 1024 * 1024 + 1), "too-large"),
        (b" " * 32 * 1024 * 1024, "not-json"),
    ],
)
def test_what_is_no_record_is_told(data: bytes, code: str) -> None:
    found = verify_record(data, keys=KEYS)

    assert [one.code for one in found.faults] == [code]
    assert (found.authentic, found.whole) == (None, False)
    assert (found.job_id, found.record_digest, found.disclosed) == (None, None, 0)


def test_a_member_named_twice_is_named() -> None:
    twice = SIGNED[:-1] + b',"payload":"AA"}'
    inside = b'{"a":{"job_id":1,"job_id":2}}'
    document = json.loads(SIGNED) | {"payload": b64(inside)}

    (fault,) = verify_record(twice, keys=KEYS).faults
    assert (fault.code, fault.pointer) == ("duplicate-name", "/payload")
    assert fault.detail == "The member is named more than once."
    found = verify_record(canonical_json(document), keys=KEYS)
    assert named(found) == [("signature-differs", "/signature"), ("duplicate-name", "/a/job_id")]


def test_no_more_faults_are_told_than_are_of_use() -> None:
    document = json.loads(PLAIN) | {f"part {number}": 1 for number in range(1005)}

    assert len(verify_record(json.dumps(document).encode()).faults) == 1000


def test_a_record_with_a_number_that_json_does_not_share_is_told() -> None:
    document = PLAIN[:-1] + b',"note":9007199254740993}'

    assert named(verify_record(document)) == [("not-a-record", "")]


def test_every_fault_says_what_to_do() -> None:
    found = tampered(lambda form: form.update(leak_check="leak"))

    assert {one.code for one in found.faults} == {
        "signature-differs", "record-digest-differs", "part-changed",
    }  # fmt: skip
    assert all(
        one.remedy == REMEDIES[one.code] and one.detail.endswith(".") for one in found.faults
    )


def test_a_thousand_events_are_verified_as_one_record() -> None:
    bay = Bay(RECORD.plan, first_id=9000)
    for number in range(1000):
        bay.add(Note, text=f"invented remark {number}")
    record = make_record(job_id=UUID(int=3), plan=RECORD.plan, device_events=bay.events,
                         late_events=[], closing=RECORD.closing, salt=SALT)  # fmt: skip
    document = sign_record(record, private_key=SEED)

    found = verify_record(document, keys=KEYS)
    assert (found.authentic, found.whole) == (True, True)

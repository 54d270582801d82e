"""Whatever is changed in a record or sent in its place is told, and is never an error."""

import json
from typing import Any

import msgspec
from hypothesis import given
from hypothesis import strategies as st

from libexchange.record_faults import REMEDIES
from libexchange.signed_record import compact
from libexchange.verification import verify_record
from tests.libexchange.proof_desk import (
    KEYS,
    PLAIN,
    SIGNED,
    payload,
)


@given(st.data())
def test_one_changed_byte_is_never_authentic_and_whole(data: st.DataObject) -> None:
    place = data.draw(st.integers(0, len(SIGNED) - 1))
    octet = data.draw(st.integers(0, 255).filter(lambda one: one != SIGNED[place]))
    found = verify_record(SIGNED[:place] + bytes([octet]) + SIGNED[place + 1 :], keys=KEYS)

    assert not (found.authentic and found.whole)
    assert found.faults
    assert {one.code for one in found.faults} <= REMEDIES.keys()


@given(st.data())
def test_one_changed_byte_of_the_compact_form_is_never_authentic_and_whole(
    data: st.DataObject,
) -> None:
    document = compact(SIGNED)
    place = data.draw(st.integers(0, len(document) - 1))
    octet = data.draw(st.integers(0, 255).filter(lambda one: one != document[place]))
    found = verify_record(document[:place] + bytes([octet]) + document[place + 1 :], keys=KEYS)

    assert not (found.authentic and found.whole)


@given(st.data())
def test_one_byte_less_or_more_is_never_authentic_and_whole(data: st.DataObject) -> None:
    place = data.draw(st.integers(0, len(SIGNED)))
    more = data.draw(st.binary(min_size=1, max_size=2))

    for document in (SIGNED[:place] + more + SIGNED[place:], SIGNED[:place] + SIGNED[place + 1 :]):
        found = verify_record(document, keys=KEYS)
        assert document == SIGNED or not (found.authentic and found.whole)


@given(st.binary(max_size=200) | st.text(max_size=200).map(str.encode))
def test_any_bytes_get_an_answer(data: bytes) -> None:
    found = verify_record(data, keys=data)

    assert not found.whole
    assert msgspec.json.decode(msgspec.json.encode(found))["faults"]


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3)
    ),
    max_leaves=8,
)


@given(st.sampled_from(sorted(payload())), JSON)
def test_any_value_for_any_part_gets_an_answer(name: str, value: Any) -> None:
    document = json.loads(PLAIN) | {name: value}
    found = verify_record(json.dumps(document).encode())

    same = json.dumps(value) == json.dumps(payload()[name])
    assert found.whole == same


@given(st.sampled_from(["events", "parts", "personal", "late_events"]), JSON)
def test_any_value_inside_a_part_gets_an_answer(name: str, value: Any) -> None:
    document = json.loads(PLAIN)
    document[name] = {"a": value} if name == "parts" else [value, *document[name]]

    assert not verify_record(json.dumps(document).encode()).whole

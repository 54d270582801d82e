"""JSON that two readers could take differently is refused, with what is wrong and where."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from libexchange.errors import InvalidInput
from libexchange.strict_json import member, read_json


def refused(text: bytes) -> list[tuple[str, str]]:
    with pytest.raises(InvalidInput) as caught:
        read_json(text)
    return [(one.code, one.pointer) for one in caught.value.faults]


LEAVES = st.none() | st.booleans() | st.integers(-(10**18), 10**18) | st.floats(
    allow_nan=False, allow_infinity=False
) | st.text(st.characters(exclude_categories=["Cs"]))  # fmt: skip


@given(st.recursive(LEAVES, lambda one: st.lists(one) | st.dictionaries(st.text("ab"), one)))
def test_plain_json_is_read_as_any_reader_reads_it(value: Any) -> None:
    assert read_json(json.dumps(value).encode()) == value
    assert read_json(json.dumps(value, ensure_ascii=False).encode()) == value


@pytest.mark.parametrize(
    ("text", "pointers"),
    [
        (b'{"a":1,"a":1}', ["/a"]),
        (b'{"a":1,"b":2,"a":3,"b":4,"c":5}', ["/a", "/b"]),
        (b'[0,{"x/y":{"~":1,"~":2}}]', ["/1/x~1y/~0"]),
        (b'{"a":{"b":1,"b":2},"a":{"c":1,"c":2}}', ["/a", "/a/c"]),
        (b'{"a":1,"\\u0061":2}', ["/a"]),
    ],
)
def test_members_named_twice_are_each_named(text: bytes, pointers: list[str]) -> None:
    assert refused(text) == [("duplicate-name", pointer) for pointer in pointers]


@pytest.mark.parametrize(
    "text", [b"", b" ", b"{", b"[1,]", b"{} {}", b"'a'", b"NaN", b"[Infinity]", b"-Infinity",
             b"\xff", b'"\xed\xa0\x80"', b"\xef\xbb\xbf{}", b"[" * 100_000,
             b"123456789012345678901", b'"\x00"'],
)  # fmt: skip
def test_what_is_no_json_is_refused_as_a_whole(text: bytes) -> None:
    assert refused(text) == [("not-json", "")]


@pytest.mark.parametrize(
    ("text", "pointer"),
    [
        (b'{"a":[1e400]}', "/a/0"),
        (b'{"a":[-1e400]}', "/a/0"),
        (b'["\\ud800"]', "/0"),
        (b'["\\udfff x"]', "/0"),
        (b'{"a":{"\\ud800":1}}', "/a"),
    ],
)
def test_what_canonical_json_cannot_hold_is_refused(text: bytes, pointer: str) -> None:
    assert refused(text) == [("not-json", pointer)]


def test_whole_pairs_and_their_neighbours_are_texts() -> None:
    assert read_json(b'["\\ud83d\\ude00","\\ud7ff","\\ue000"]') == [
        "\U0001f600",
        "\ud7ff",
        "\ue000",
    ]


def test_a_number_may_have_as_many_digits_as_canonical_json_writes() -> None:
    assert read_json(b"-1234567890123456789") == -1234567890123456789
    assert read_json(b"12345678901234567890") == 12345678901234567890


def test_nesting_is_bounded() -> None:
    assert read_json(b"[" * 65 + b"]" * 65) is not None
    deep = b"[" * 66 + b"]" * 66
    assert refused(deep) == [("not-json", "/0" * 65)]
    assert refused(b'{"a":' * 65 + b"1" + b"}" * 65) == [("not-json", "/a" * 65)]


def test_a_pointer_names_a_member_whatever_it_is_called() -> None:
    assert member("/a", "b/~c") == "/a/b~1~0c"


def test_a_fault_says_what_to_do() -> None:
    with pytest.raises(InvalidInput) as caught:
        read_json(b'{"a":1,"a":2')
    (fault,) = caught.value.faults

    assert "line 1" in fault.detail
    assert (fault.allowed, fault.remedy) == (
        "one JSON value in UTF-8", "Take the document as it was handed over."
    )  # fmt: skip

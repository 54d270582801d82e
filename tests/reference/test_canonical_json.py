"""The canonical JSON form against published vectors and against an independent program."""

import json
import struct
import tomllib
from pathlib import Path
from typing import Any

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from libexchange.canonical import LARGEST_EXACT, canonical_json, digest
from libexchange.errors import OutOfRange

VECTORS = tomllib.loads((Path(__file__).parent / "canonical_json.toml").read_text())


def ids(case: dict[str, Any]) -> str:
    what = case.get("case") or case["ieee754"]
    return f"{case['id']}, {what} [{case['source']}; {case['status']}]"


@pytest.mark.parametrize("case", VECTORS["document"], ids=ids)
def test_document_has_the_published_form_and_digest(case: dict[str, Any]) -> None:
    value = json.loads(case["json"])

    assert canonical_json(value).decode() == case["canonical"]
    assert digest(value) == case["sha256"]


@pytest.mark.parametrize("case", VECTORS["number"], ids=ids)
def test_number_has_the_published_text(case: dict[str, Any]) -> None:
    (number,) = struct.unpack(">d", bytes.fromhex(case["ieee754"]))

    assert canonical_json(number).decode() == case["text"]


ANY_TEXT = st.text(st.characters(exclude_categories=["Cs"]))
LEAVES = (
    st.none()
    | st.booleans()
    | st.integers(-LARGEST_EXACT, LARGEST_EXACT)
    | st.floats(allow_nan=False, allow_infinity=False)
    | ANY_TEXT
)
VALUES = st.recursive(
    LEAVES, lambda inner: st.lists(inner) | st.dictionaries(ANY_TEXT, inner), max_leaves=20
)


@given(VALUES)
def test_any_value_has_the_form_that_an_independent_program_writes(value: Any) -> None:
    assert canonical_json(value) == rfc8785.dumps(value)


@given(st.integers(0, 2**64 - 1))
def test_any_double_has_the_text_that_an_independent_program_writes(bits: int) -> None:
    (number,) = struct.unpack(">d", bits.to_bytes(8, "big"))
    if number - number != 0:  # not a number, or infinite
        with pytest.raises(OutOfRange):
            canonical_json(number)
        return

    assert canonical_json(number) == rfc8785.dumps(number)


def test_names_are_sorted_by_utf16_code_units() -> None:
    # U+1F600 starts with the unit D83D and comes before U+FB33, though its code point is higher
    assert canonical_json({"\ufb33": 1, "\U0001f600": 2}) == '{"\U0001f600":2,"\ufb33":1}'.encode()


@pytest.mark.parametrize("number", [2**53, -(2**53)])
def test_an_integer_that_no_double_holds_is_refused(number: int) -> None:
    with pytest.raises(OutOfRange):
        canonical_json([number])


def test_a_digest_leaves_out_the_names_it_is_told_to() -> None:
    assert digest({"a": 1, "digest": "x"}, without=("digest",)) == digest({"a": 1})
    assert digest({"a": 1, "digest": "x"}) != digest({"a": 1})


def test_the_value_itself_stays_as_it_is() -> None:
    value = {"b": [1.0, {"d": 2.0, "c": ()}], "a": "text"}
    before = repr(value)
    canonical_json(value)
    digest(value, without=("a",))

    assert repr(value) == before

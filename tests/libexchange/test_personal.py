"""Personal texts: found by type, concealed by commitments, erased while all digests stay."""

import json
import re
from hashlib import sha256
from typing import Annotated, Any

import msgspec
import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st
from msgspec import Meta, Struct
from msgspec.structs import replace

from libexchange.errors import InvalidInput, OutOfRange
from libexchange.fields import Person, PersonalText
from libexchange.personal import (
    Disclosure,
    PersonalPlaces,
    commitment,
    conceal,
    conceal_at,
    disclosed,
    erase,
    erased,
    is_erased,
    salt_of,
)
from libexchange.personal_fields import personal_texts
from libexchange.plan.request import Vehicle
from tests.job.plans import plan_for
from tests.libexchange.proof_desk import SALT, VIN

TEXTS = st.text(st.characters(exclude_categories=["Cs"]), min_size=1)


class Inner(Struct, frozen=True):
    """A record in a record."""

    by: Person
    number: int = 0


class Outer(Struct, frozen=True, rename="camel"):
    """Every way in which a personal text may stand in a record."""

    plain_text: str = "open"
    checked_by: Person | None = None
    told: tuple[Person, ...] = ()
    remarks: dict[str, PersonalText] = {}
    rows: tuple[tuple[Person, int], ...] = ()
    inner: Inner | None = None
    inners: tuple[Inner, ...] = ()
    others: dict[str, Inner] = {}
    narrow: Annotated[Person, Meta(description="a person")] | int = 3


OUTER = Outer(
    checked_by="Ann",
    told=("Ann", "Bob"),
    remarks={"a/b": "Cid", "c~": "Ann"},
    rows=(("Dan", 1),),
    inner=Inner(by="Eve"),
    inners=(Inner(by="Fay", number=2), Inner(by="Eve")),
    others={"x": Inner(by="Gus")},
    narrow="Hal",
)


def test_texts_are_found_wherever_their_type_says() -> None:
    assert list(personal_texts(OUTER)) == [
        ("/checkedBy", "Ann"),
        ("/told/0", "Ann"),
        ("/told/1", "Bob"),
        ("/remarks/a~1b", "Cid"),
        ("/remarks/c~0", "Ann"),
        ("/rows/0/0", "Dan"),
        ("/inner/by", "Eve"),
        ("/inners/0/by", "Fay"),
        ("/inners/1/by", "Eve"),
        ("/others/x/by", "Gus"),
        ("/narrow", "Hal"),
    ]
    assert list(personal_texts(Outer())) == []


def test_every_text_is_concealed_and_nothing_else() -> None:
    hidden = conceal(OUTER, salt=SALT)
    form = hidden.form

    assert form["plainText"] == "open"
    assert form["checkedBy"] == form["told"][0] == form["remarks"]["c~"]
    assert form["rows"][0][1] == 1
    assert re.findall(r"Ann|Bob|Cid|Dan|Eve|Fay|Gus|Hal", json.dumps(form)) == []
    assert [one.value for one in hidden.disclosures] == [
        "Ann", "Bob", "Cid", "Dan", "Eve", "Fay", "Gus", "Hal",
    ]  # fmt: skip
    assert hidden.places[0].pointers == ("/checkedBy", "/told/0", "/remarks/c~0")
    assert disclosed(form, hidden.disclosures) == json.loads(msgspec.json.encode(OUTER))


@given(TEXTS, st.binary(min_size=32, max_size=32))
def test_a_commitment_is_the_hash_of_salt_and_text(text: str, salt: bytes) -> None:
    of = commitment(text, salt=salt_of(text, salt=salt))

    quoted = rfc8785.dumps(text)
    assert of == sha256(bytes.fromhex(salt_of(text, salt=salt)) + quoted).hexdigest()
    assert commitment(erased(of), salt="") == of
    assert is_erased(erased(of))
    assert not is_erased(text) or len(text) == 73


def test_each_job_has_commitments_of_its_own() -> None:
    one, other = (conceal(OUTER, salt=salt).form for salt in (SALT, bytes(32)))

    assert one["checkedBy"] != other["checkedBy"]


@pytest.mark.parametrize("length", [0, 31, 33])
def test_a_salt_of_another_length_is_refused(length: int) -> None:
    with pytest.raises(OutOfRange, match="salt_bytes"):
        conceal(OUTER, salt=bytes(length))


@pytest.mark.parametrize(
    "text", ["[erased]", "[erased " + "A" * 64 + "]", "[erased " + "a" * 63 + "]",
             "[erased " + "a" * 64 + "]\n", " [erased " + "a" * 64 + "]"],
)  # fmt: skip
def test_what_looks_like_erased_and_is_not(text: str) -> None:
    assert not is_erased(text)


def test_erasing_leaves_the_concealed_form_and_who_was_the_same() -> None:
    after = erase(OUTER, salt=SALT)

    assert after.checked_by == after.told[0] != after.told[1]
    assert all(is_erased(text) for _, text in personal_texts(after))
    assert erase(after, salt=bytes(32)) == after
    hidden = conceal(after, salt=bytes(32))
    assert hidden.form == conceal(OUTER, salt=SALT).form
    assert hidden.disclosures == ()
    assert {one.salt for one in hidden.places} == {None}


def test_the_vehicle_of_a_plan_and_its_digest_are_erased() -> None:
    plan = plan_for(vehicle=Vehicle(reference="invented 7", vin=VIN))
    after = erase(plan, salt=SALT)

    assert {at for at, _ in personal_texts(plan)} == {
        "/request/vehicle/reference", "/request/vehicle/vin", "/digest",
    }  # fmt: skip
    assert (VIN.encode() in msgspec.json.encode(plan), plan.digest == after.digest) == (True, False)
    assert [
        t for t in (VIN, "invented 7", plan.digest) if t.encode() in msgspec.json.encode(after)
    ] == []
    assert replace(after, request=plan.request, digest=plan.digest) == plan
    assert msgspec.json.decode(msgspec.json.encode(after), type=type(plan)) == after


def astray(plain: Any, *places: PersonalPlaces) -> str:
    with pytest.raises(InvalidInput) as caught:
        conceal_at(plain, places)
    (fault,) = caught.value.faults
    assert fault.code == "disclosure-differs"
    return fault.pointer


@pytest.mark.parametrize("pointer", ["", "/", "/x", "/by/0", "/rows/2", "/rows/x", "/rows", "/n",
                                     "by", "/rows/0/a"])  # fmt: skip
def test_a_place_without_a_text_is_refused(pointer: str) -> None:
    plain = {"by": "Ann", "rows": ["a", {"b": 1}], "n": None}

    assert astray(plain, PersonalPlaces(salt="0" * 64, pointers=(pointer,))) == pointer


def test_a_salt_belongs_to_a_text_and_none_to_an_erased_one() -> None:
    assert astray({"by": "Ann"}, PersonalPlaces(salt=None, pointers=("/by",))) == "/by"
    gone = {"by": erased("ab" * 32)}
    assert astray(gone, PersonalPlaces(salt="0" * 64, pointers=("/by",))) == "/by"
    twice = PersonalPlaces(salt="0" * 64, pointers=("/by", "/by"))
    assert astray({"by": "Ann"}, twice) == "/by"


def test_disclosures_that_go_with_nothing_are_each_named() -> None:
    hidden = conceal(OUTER, salt=SALT)
    first, second, *_ = hidden.disclosures
    of = commitment(second.value, salt=second.salt)
    wrong = [first, replace(first, value="Zoe"), first, Disclosure(salt="0" * 64, value=erased(of))]

    with pytest.raises(InvalidInput) as caught:
        disclosed(hidden.form, wrong)
    assert [one.pointer for one in caught.value.faults] == [
        "/header/disclosures/1", "/header/disclosures/2", "/header/disclosures/3",
    ]  # fmt: skip
    assert disclosed(hidden.form, [second])["told"] == [hidden.form["told"][0], "Bob"]


@pytest.mark.parametrize(
    "form", [{"commitment": 1}, {"commitment": "a"}, {"commitment": "A" * 64},
             {"commitment": "ab" * 32, "more": 1}, "ab" * 32],
)  # fmt: skip
def test_what_only_looks_like_a_commitment_is_none(form: Any) -> None:
    with pytest.raises(InvalidInput):
        disclosed([form], [Disclosure(salt="0" * 64, value="Ann")])
    assert disclosed([form], []) == [form]

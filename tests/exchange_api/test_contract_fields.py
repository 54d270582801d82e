"""What a record's docstring says of its fields stands beside the fields."""

from typing import Annotated

import msgspec
from msgspec import Meta, Struct

from exchange_api.contract_fields import split_fields
from exchange_api.contract_parts import schemas_of


class Bath(Struct):
    """What all baths have.

    number: of the bath    made_by: who mixed it
    """

    number: int
    made_by: str


class Warm(Bath):
    """A warm bath.

    Its heat is judged.

    heat, limit: of the fluid, at
        most 150 [Cel]    Source: memory.
    owner: nobody here has it
    """

    heat: float
    limit: float
    named: Annotated[str, Meta(description="By its type.")]
    inner: Bath | None = None
    other: Bath = msgspec.field(default_factory=lambda: Bath(1, "a"))


class Told(Warm):
    """A bath with words for what it has.

    made_by: the person on
    shift    named: never told
    other: beside it
    """


def test_entries_are_told_beside_their_fields() -> None:
    _, made = schemas_of([Warm])

    warm = made["Warm"]["properties"]
    assert warm["heat"]["description"] == "of the fluid, at most 150 [Cel]"
    assert warm["limit"]["description"] == "of the fluid, at most 150 [Cel]"
    assert "description" not in warm["inner"]


def test_what_is_no_entry_stays_with_its_paragraphs() -> None:
    _, made = schemas_of([Warm])

    assert made["Warm"]["description"] == (
        "A warm bath.\n\nIts heat is judged.\n\nSource: memory. owner: nobody here has it"
    )


def test_fields_of_a_base_keep_its_words_until_others_are_given() -> None:
    _, made = schemas_of([Told])

    told = made["Told"]["properties"]
    assert told["number"]["description"] == "of the bath"
    assert told["made_by"]["description"] == "the person on shift"
    assert told["heat"]["description"] == "of the fluid, at most 150 [Cel]"


def test_what_the_type_says_of_itself_wins() -> None:
    _, made = schemas_of([Told])

    assert made["Told"]["properties"]["named"]["description"] == "By its type."


def test_a_reference_has_its_words_beside_it() -> None:
    _, made = schemas_of([Told])

    other = made["Told"]["properties"]["other"]
    assert other["description"] == "beside it"
    assert other["$ref"] == "#/components/schemas/Bath"


def test_a_word_that_is_no_field_begins_no_entry() -> None:
    assert split_fields("A look: at it.\nnote: this.", ("look",)) == (
        "A look: at it.\nnote: this.",
        {},
    )


class Kept(Struct, tag_field="sort", tag="kept"):
    """A record among others."""


def test_what_tells_records_apart_is_said() -> None:
    _, made = schemas_of([Kept])

    assert "which of the records" in made["Kept"]["properties"]["sort"]["description"]

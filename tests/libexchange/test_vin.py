"""The alphabet and the check digit of vehicle identification numbers; all numbers are invented."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from libexchange.errors import InvalidInput
from libexchange.vin import VALUES, check_digit, is_well_formed, judge_vin, weighted_sum

ALPHABET = "".join(VALUES)
NUMBERS = st.text(alphabet=ALPHABET, min_size=17, max_size=17)


def with_check_digit(vin: str) -> str:
    return vin[:8] + check_digit(vin=vin) + vin[9:]


def test_the_alphabet_has_no_letter_that_looks_like_a_digit() -> None:
    assert len(ALPHABET) == 33
    assert set("IOQ").isdisjoint(ALPHABET)


@given(vin=NUMBERS)
def test_a_number_with_its_check_digit_matches_wherever_it_is_from(vin: str) -> None:
    answer = judge_vin(vin=with_check_digit(vin))

    assert answer.well_formed
    assert answer.check_digit == "matches"


@given(vin=NUMBERS, place=st.integers(0, 16), other=st.sampled_from(ALPHABET))
def test_one_character_that_counts_differently_is_noticed(vin: str, place: int, other: str) -> None:
    right = with_check_digit("1" + vin[1:])
    assume(place != 8 and VALUES[other] != VALUES[right[place]])
    wrong = right[:place] + other + right[place + 1 :]

    told = judge_vin(vin=wrong).check_digit
    assert told == ("differs" if wrong[0] in "12345" else "not_applicable")


@given(vin=NUMBERS)
def test_the_ninth_place_counts_nothing_in_the_sum(vin: str) -> None:
    assert weighted_sum(vin=vin) == weighted_sum(vin=with_check_digit(vin))


@pytest.mark.parametrize("first", ALPHABET)
def test_a_wrong_check_digit_differs_in_north_america_only(first: str) -> None:
    right = with_check_digit(first + "1111111111111111")
    wrong = right[:8] + ("2" if right[8] != "2" else "3") + right[9:]

    expected = "differs" if first in "12345" else "not_applicable"
    assert judge_vin(vin=wrong).check_digit == expected


@pytest.mark.parametrize(
    "text",
    ["", "1", "1" * 16, "1" * 18, "1" * 16 + "I", "1" * 16 + "\n", "1" * 16 + " ", "\x00" * 17,
     "1" * 16 + "\u017f", "1" * 15 + "\u00df", "1" * 16 + "\u0661"],
)  # fmt: skip
def test_what_is_no_number_has_no_check_digit(text: str) -> None:
    answer = judge_vin(vin=text)

    assert (answer.well_formed, answer.check_digit) == (False, "not_applicable")
    with pytest.raises(InvalidInput) as refused:
        check_digit(vin=text)
    assert refused.value.faults[0].pointer == "/vin"


@given(vin=NUMBERS)
def test_small_letters_count_as_capitals(vin: str) -> None:
    assert is_well_formed(vin=vin.lower())
    assert judge_vin(vin=vin.lower()) == judge_vin(vin=vin)

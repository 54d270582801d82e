"""Letters that the fonts have, and what becomes of the others."""

import json

import pytest
import typst

from exchange_api.documents import pdf
from exchange_api.documents.forms import HTML
from exchange_api.documents.pdf import UNSHOWN, compiled, is_surely_shown
from tests.exchange_api.documents.paper import made, text_of
from tests.exchange_api.documents.test_forms import written

SURE = [chr(n) for low, high in pdf._SHOWN_RANGES for n in range(low, high + 1)]


SOURCE = """
#set document(title: "letters", date: none)
#set text(font: "Libertinus Serif", fallback: false, weight: "WEIGHT", style: "STYLE")
#title()
#json(bytes(sys.inputs.data))
"""


@pytest.mark.parametrize(
    ("weight", "style"), [("regular", "normal"), ("bold", "normal"), ("regular", "italic")]
)
def test_the_font_has_every_letter_that_is_said_to_be_there(weight: str, style: str) -> None:
    source = SOURCE.replace("WEIGHT", weight).replace("STYLE", style).encode()

    assert compiled({"a.typ": source}, "a.typ", json.dumps("".join(SURE)), squares=False)


def test_a_letter_that_is_not_there_is_refused() -> None:
    with pytest.raises(typst.TypstError, match="could not be displayed"):
        compiled({"a.typ": SOURCE.replace("WEIGHT", "bold").replace("STYLE", "normal").encode()},
                 "a.typ", json.dumps("\N{CJK UNIFIED IDEOGRAPH-8ECA}"), squares=False)  # fmt: skip


@pytest.mark.parametrize("word", ["żółw", "Привет", "Ωμέγα", "5 µm ≥ 4", "שלום"])
def test_a_text_whose_letters_are_there_is_printed_as_it_is(word: str) -> None:
    text = text_of(made(written(word)))

    assert UNSHOWN not in text
    assert "A square stands for" not in text


def test_a_letter_that_no_font_has_is_a_square_and_the_document_says_so() -> None:
    record = written("well 👍 done, Привет")
    text = text_of(made(record))

    assert f"well {UNSHOWN} done, Привет" in text
    assert "A square stands for a letter that the fonts of this document do not have" in text
    assert "well 👍 done" in made(record, form=HTML).decode()


def test_letters_written_in_two_parts_are_joined_first() -> None:
    text = text_of(made(written("e\N{COMBINING ACUTE ACCENT} 車")))

    assert f"é {UNSHOWN}" in text


def test_every_plane_ends_somewhere() -> None:
    assert [is_surely_shown(sign) for sign in "\x1f \x7f\xa0ƀ\u2009"] == [
        False, True, False, True, False, False,
    ]  # fmt: skip

"""What holds for every document of a record, whatever its form."""

import re
from html.parser import HTMLParser

import pypdfium2
import pytest

from exchange_api.documents.forms import HTML, PDF, Reader
from libexchange.job.events import CautionAcknowledged, Note
from libexchange.record import JobRecord, erased_record
from tests.exchange_api.documents.paper import (
    DIGEST,
    FORMS,
    made,
    nothing_done,
    record_of,
    text_of,
    whole,
)
from tests.job.plans import Bay, plan_for

SOURCE = '#read("/etc/passwd") #eval("1+1") *bold* $x^2$ [b] @ref // gone <script>alert(1)</script>'
READERS: tuple[Reader, ...] = ("customer", "workshop")
every_form = pytest.mark.parametrize(("reader", "form"), FORMS)
every_reader = pytest.mark.parametrize("reader", READERS)


class Tags(HTMLParser):
    """What stands in a page, and what it would load."""

    def __init__(self, page: bytes) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.loads: list[str] = []
        self.feed(page.decode())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.loads += [value or "" for name, value in attrs if name in ("src", "href", "action")]


def written(text: str) -> JobRecord:
    """A record in which somebody typed a text into a note and into a reason."""
    bay = Bay(plan_for())
    bay.add(Note, text=text)
    bay.add(CautionAcknowledged, code="leak", by="invented foreman", reason=text)
    return record_of(bay)


@every_form
def test_the_same_record_gives_the_same_bytes(reader: Reader, form: str) -> None:
    assert made(whole(), reader, form) == made(whole(), reader, form)


@every_reader
def test_a_pdf_is_tagged_and_says_its_title_and_language(reader: Reader) -> None:
    pdf = made(whole(), reader)
    with pypdfium2.PdfDocument(pdf) as opened:
        metadata = opened.get_metadata_dict()

    assert "service" in metadata["Title"]
    assert metadata["CreationDate"] == metadata["ModDate"] == ""
    assert b"/Lang(en)" in pdf
    assert b"/MarkInfo<</Marked true" in pdf
    assert b"/StructTreeRoot" in pdf
    assert b"<pdfuaid:part>1</pdfuaid:part>" in pdf


@every_reader
def test_every_font_is_inside(reader: Reader) -> None:
    pdf = made(whole(), reader)
    described = re.findall(rb"/Type/FontDescriptor[^\n]*", pdf)

    assert described
    assert all(b"/FontFile3 " in one or b"/FontFile2 " in one for one in described)


@every_form
def test_pictures_say_in_words_what_they_show(reader: Reader, form: str) -> None:
    document = made(whole(), reader, form)
    words = b"Share of fresh fluid on a line from 0 to 100 parts"

    assert words in document  # as /Alt of a figure, or as a label
    assert (b"/S/Figure" in document) == (form == PDF)


@every_form
def test_what_people_type_is_shown_and_never_run(reader: Reader, form: str) -> None:
    document = made(written(SOURCE), reader, form)

    assert SOURCE in text_of(document, form)
    assert b"root:" not in document


@every_reader
def test_a_page_loads_nothing_and_runs_nothing(reader: Reader) -> None:
    page = Tags(made(written(SOURCE), reader, HTML))

    assert page.loads == []
    assert page.tags.isdisjoint({"script", "link", "img", "iframe", "form", "object"})


@every_form
def test_a_word_without_an_end_stays_on_the_paper(reader: Reader, form: str) -> None:
    word = "x" * 1500
    document = made(written(word), reader, form)
    shown = text_of(document, form).replace(" ", "")

    assert word[: 190 if reader == "customer" else 1500] in shown


@every_form
def test_invented_data_is_marked(reader: Reader, form: str) -> None:
    assert "invented demonstration data" in text_of(made(whole(), reader, form), form)


@every_form
def test_the_verdict_stands_before_all_else(reader: Reader, form: str) -> None:
    text = text_of(made(nothing_done(), reader, form), form)
    places = [text.index(words) for words in ("Incomplete", "Not done", "Declined", "Overridden")]

    assert places == sorted(places)
    assert places[-1] < text.index("Calculated, not measured")


@every_form
def test_the_digest_that_the_customer_was_given_can_be_read(reader: Reader, form: str) -> None:
    groups = " ".join(DIGEST[n : n + 8] for n in range(0, 64, 8))

    assert groups in text_of(made(whole(), reader, form), form)


@every_form
def test_people_read_no_unit_codes(reader: Reader, form: str) -> None:
    bay = Bay(plan_for())
    bay.confirm("cool_down")

    assert " Cel" not in text_of(made(record_of(bay), reader, form), form)


@every_form
def test_no_share_is_ever_told_as_whole(reader: Reader, form: str) -> None:
    text = text_of(made(whole(), reader, form), form)
    told = re.findall(r"about (\d+) of 100 parts", text)

    assert told
    assert all(0 < int(parts) < 100 for parts in told)


@every_form
def test_what_was_erased_is_said_to_be_so(reader: Reader, form: str) -> None:
    record = erased_record(written("an invented person"))
    text = text_of(made(record, reader, form), form)

    assert "an invented person" not in text
    assert "[erased], because [erased]" in text
    assert re.search("erased [0-9a-f]", text) is None

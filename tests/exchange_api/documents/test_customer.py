"""The sheet for the customer: one page, plain words, nothing promised."""

import re

import pytest

from exchange_api.documents.customer import customer_sheet
from exchange_api.documents.fitting import ROWS, fitted
from exchange_api.documents.forms import HTML
from exchange_api.documents.pdf import make_pdf
from libexchange.job.events import CautionAcknowledged, FluidOpened
from libexchange.record import JobRecord
from tests.exchange_api.documents.paper import (
    DIGEST,
    made,
    nothing_done,
    page_texts,
    record_of,
    text_of,
    whole,
)
from tests.job.plans import Bay, plan_for

PROMISES = r"guarant|warrant|promis|assur|ensur|always|never again|perfect|100 %|like new|certif"


def with_remarks(count: int, text: str) -> JobRecord:
    """A record in which a foreman went on so many times."""
    bay = Bay(plan_for(conditions=("leak", "burnt_smell", "shift_complaint", "under_warranty")))
    for number in range(count):
        bay.add(CautionAcknowledged, code=f"caution-{number}", by=text[:200], reason=text)
    return record_of(bay, workshop=text[:200])


@pytest.mark.parametrize("text", ["invented words " * 12, "W" * 200, "W " * 100, "ж" * 200])
@pytest.mark.parametrize("count", [0, 5, 60])
def test_it_is_one_sheet_however_much_there_is_to_say(count: int, text: str) -> None:
    (page,) = page_texts(made(with_remarks(count, text), "customer"))

    assert "Keep this sheet" in page
    assert "Who to ask" in page


def test_what_has_no_room_is_counted_and_named() -> None:
    record = with_remarks(60, "invented words " * 12)
    sheet = customer_sheet(record, digest=DIGEST)
    overridden = next(one.lines for one in sheet.beside if one.name == "Overridden")
    shown = len(overridden) - 1

    assert 0 < shown < 60
    assert overridden[-1] == f"and {60 - shown} more"
    assert sheet.left_out >= 60 - shown
    for form in ("application/pdf", HTML):
        text = text_of(made(record, "customer", form), form)
        assert f"{sheet.left_out} lines are left out or cut short; the record for" in text


def test_nothing_is_left_out_where_all_has_room() -> None:
    assert customer_sheet(whole(), digest=DIGEST).left_out == 0
    assert "cut short" not in text_of(made(whole(), "customer"))


def test_no_list_loses_its_first_line() -> None:
    long = ["word " * 40] * ROWS
    lists = fitted(beside=[long, long], found=long, watch=long, next_due=long)

    for lines in (*lists.beside, lists.found, lists.watch, lists.next_due):
        shown = len(lines) - 1
        assert lines == ("word " * 39 + "word ",) * shown + (f"and {ROWS - shown} more",)
        assert shown >= 1


def test_other_ways_give_their_lines_first_and_what_is_fixed_keeps_all() -> None:
    lines = ["short"] * (ROWS - 6)
    lists = fitted(
        fixed=["a"] * 3, beside=[["b"], ["c"] * 4], found=lines, watch=["a"], next_due=["b"]
    )

    assert lists.beside == [("b",), ("c", "and 3 more")]
    assert lists.found == (*lines[:-1], "and 1 more")
    assert lists.left_out == 4


def test_a_line_that_is_cut_short_counts_as_left_out() -> None:
    told = [
        fitted(beside=[["word " * 47 + "w" * n]], found=["a"], watch=["b"], next_due=["c"])
        for n in (5, 6)
    ]

    assert [one.left_out for one in told] == [0, 1]


def test_lists_that_just_have_room_are_whole_and_one_line_more_is_not() -> None:
    lines = ["short"] * (ROWS - 2)
    whole_lists = fitted(beside=[], found=lines, watch=["a"], next_due=["b"])
    cut = fitted(beside=[], found=[*lines, "one more"], watch=["a"], next_due=["b"])

    assert (whole_lists.left_out, cut.left_out) == (0, 1)
    assert cut.found == (*lines, "and 1 more")


@pytest.mark.parametrize("record", [whole(), nothing_done(), with_remarks(3, "a reason")])
def test_it_promises_nothing(record: JobRecord) -> None:
    bare = re.sub("under warranty", "", text_of(made(record, "customer")))

    assert re.search(PROMISES, bare, re.IGNORECASE) is None


def test_it_says_in_plain_words_what_was_done() -> None:
    bay = Bay(plan_for())
    bay.work_to_level()
    bay.add(FluidOpened, fluid_kind="invented-red-six", lot="lot-5")
    bay.look("drip")
    bay.work_after_level()
    text = text_of(made(record_of(bay), "customer"))

    for words in (
        "Invented six-speed automatic", "4 March 2026", "Accepted",
        "about 80 of 100 parts (74 to 83)",
        "calculated from typical values, not measured on your vehicle",
        "8.4 L filled in computed to 15 °C", "kind invented-red-six, lot lot-5",
        "Filter changed", "checked at 39.0 °C set", "no leak seen",
        "123,000 km after this service, because the fluid counts as worn out then",
    ):  # fmt: skip
        assert words in text, words


def test_what_was_not_done_is_said_without_numbers_of_steps() -> None:
    text = text_of(made(nothing_done(), "customer"))

    assert "Raise the vehicle level and secure it." in text
    assert "step-02" not in text
    assert "Filter not changed" in text
    assert "Level of the fluid not checked" in text


def test_a_route_without_the_pan_says_that_the_filter_was_no_part_of_it() -> None:
    record = record_of(Bay(plan_for(route="drain")).whole_job())

    assert "Filter not changed not part of this work" in text_of(made(record, "customer"))


def test_the_gravest_finding_comes_first() -> None:
    sheet = customer_sheet(with_remarks(0, "a"), digest=DIGEST)
    stops = [line for line in sheet.found if line.startswith("The fluid level is not set")]

    assert sheet.found[0] == stops[0]
    assert sheet.found.index("On arrival: leak.") > 1


def test_the_code_holds_the_digest_and_nothing_else() -> None:
    same, other = (customer_sheet(whole(), digest=one).code for one in (DIGEST, DIGEST[:-1] + "0"))

    assert same == customer_sheet(nothing_done(), digest=DIGEST).code
    assert same != other


def test_the_sheet_is_made_of_data_alone() -> None:
    assert make_pdf("customer.typ", customer_sheet(whole(), digest=DIGEST)) == made(
        whole(), "customer"
    )

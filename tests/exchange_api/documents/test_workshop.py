"""The full record: every section that a dispute asks for, in words that the record holds."""

from datetime import timedelta
from typing import Any
from uuid import UUID

import pytest
from msgspec.structs import replace

from exchange_api.documents.blocks import Section
from exchange_api.documents.filed import Filed
from exchange_api.documents.forms import HTML, PDF
from exchange_api.documents.workshop import workshop_record
from libexchange import invented
from libexchange.job.events import CautionAcknowledged, ReadingTaken
from libexchange.job.view import EarlierClosing, RelatedJob
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
from tests.job.plans import Bay, celsius, plan_for


def sections(record: JobRecord, **filed: Any) -> dict[str, Section]:
    content = workshop_record(record, Filed(digest=DIGEST, **filed))
    return {section.title: section for section in content.sections}


def rows(section: Section) -> list[tuple[str, ...]]:
    assert section.table is not None
    plain = [tuple(cell.replace("\N{NO-BREAK SPACE}", " ") for cell in row)
             for row in section.table.rows]  # fmt: skip
    assert all(len(row) == len(section.table.columns) for row in plain)
    return plain


@pytest.mark.parametrize("form", [HTML, PDF])
def test_both_forms_say_the_same(form: str) -> None:
    content = workshop_record(whole(), Filed(digest=DIGEST))
    text = text_of(made(whole(), form=form), form)

    for section in content.sections:
        assert section.title in text
        for row in section.table.rows if section.table else ():
            for cell in row:
                assert cell.replace("\N{NO-BREAK SPACE}", " ") in text, cell


def test_the_litres_are_told_as_entered_and_at_15_degrees() -> None:
    told = rows(sections(whole())["Litres in and out"])

    assert [row[1:] for row in told] == [
        ("out", "pan and filter", "3.740 kg", "", "usual", "4.400"),
        ("in", "refill", "3.740 kg", "", "usual", "4.400"),
        ("in", "line exchange", "3.400 kg", "", "usual", "4.000"),
        ("out", "line exchange", "3.400 kg", "", "usual", "4.000"),
    ]


def test_looks_at_the_level_and_its_corrections_are_told() -> None:
    bay = Bay(plan_for())
    bay.work_to_level(lacking_l=0.3)
    bay.look("nothing", 38)
    bay.move("in", 0.5, "set_level")
    bay.look("drip", 39, engine_running=None)
    section = sections(record_of(bay))["Looks at the level"]

    assert [row[1:] for row in rows(section)] == [
        ("overflow plug", "nothing", "38.0 °C", "running", "not noted"),
        ("overflow plug", "drip", "39.0 °C", "not noted", "not noted"),
    ]
    assert section.note.startswith("Corrections: 1, 0.20")


def test_who_went_on_and_who_closed_is_told_with_reasons() -> None:
    bay = Bay(plan_for())
    bay.add(CautionAcknowledged, code="leak", by="invented foreman", reason="seen and dried")
    told = rows(sections(record_of(bay))["Who did, checked and decided what"])

    assert told == [
        ("2026-03-04 08:01:00 +00:00", "invented foreman", "went on with leak", "seen and dried"),
        ("2026-03-04 08:01:00 +00:00", "invented key", "closed the job", ""),
    ]


def test_the_makers_documents_and_departures_are_told() -> None:
    bay = Bay(plan_for())
    bay.confirm("refill")
    bay.confirm("raise_vehicle")
    by_ids = replace(bay.plan.request, transmission=None, fluid=None)
    bay.plan = replace(bay.plan, request=by_ids)
    section = sections(record_of(bay))["Maker's documents"]

    assert rows(section)[0] == (
        "Transmission", str(invented.INVENTED.document), "not noted", "not noted",
        "sent with the plan",
    )  # fmt: skip
    assert rows(section)[1][1] == str(invented.INVENTED.document)
    assert section.lead.startswith("Departures from the route: The steps were confirmed in")
    assert sections(whole())["Maker's documents"].lead == (
        "No departure from the route planned was recorded."
    )


def test_every_step_says_whether_it_was_done() -> None:
    done = [row[-1] for row in rows(sections(whole())["What was planned"])]
    left = [row[-1] for row in rows(sections(nothing_done())["What was planned"])]

    assert set(done) == {"yes"}
    assert set(left) == {"NOT DONE"}


def test_the_findings_of_the_close_stand_first() -> None:
    content = workshop_record(nothing_done(), Filed(digest=DIGEST))
    told = rows(content.sections[0])

    assert content.sections[0].title == "Why this verdict"
    assert [row[0] for row in told] == [*["stop"] * (len(told) - 1), "note"]
    assert sections(whole())["Why this verdict"].lead == "Nothing speaks against it."


def test_related_jobs_point_to_each_other_in_words() -> None:
    related = (
        RelatedJob(job_id=UUID(int=7), relation="comeback", direction="to"),
        RelatedJob(job_id=UUID(int=8), relation="warranty", direction="from"),
    )

    assert rows(sections(whole(), related=related)["Related jobs"]) == [
        (str(UUID(int=7)), "this job is a comeback of it"),
        (str(UUID(int=8)), "is a claim on this job"),
    ]


def test_a_closing_that_no_longer_counts_is_told() -> None:
    closing = whole().closing
    earlier = EarlierClosing(
        closing=closing, by="invented foreman", reason="a leak after all",
        reopened_at=closing.closed_at + timedelta(days=1),
    )  # fmt: skip

    (told,) = rows(
        sections(whole(), earlier_closings=(earlier,))["Earlier closings, which no longer count"]
    )
    assert told == (
        f"{closing.closed_at:%Y-%m-%d %H:%M:%S} +00:00", "Accepted, by invented key",
        f"{earlier.reopened_at:%Y-%m-%d %H:%M:%S} +00:00", "invented foreman", "a leak after all",
    )  # fmt: skip


def test_photos_are_listed_with_their_digests_once() -> None:
    bay = Bay(plan_for())
    for _ in range(2):
        bay.add(ReadingTaken, source="scan_tool_typed", temperature=celsius(40), photo="ab" * 32)
    told = rows(sections(record_of(bay))["Photos"])

    assert told == [
        ("1", "reading, 2026-03-04 08:01:00 +00:00: source scan tool typed, temperature 40 °C",
         " ".join(["abababab"] * 8))
    ]  # fmt: skip


def test_sections_without_anything_to_tell_are_left_out() -> None:
    titles = sections(nothing_done()).keys()

    assert titles.isdisjoint(
        {"Temperature of the fluid", "Litres in and out", "Share of the fluid that is fresh",
         "Looks at the level", "Further findings on the work", "Photos", "Related jobs"}
    )  # fmt: skip


def test_a_long_job_has_numbered_pages_and_each_its_foot() -> None:
    bay = Bay(plan_for())
    for number in range(200):
        bay.read(20.0 + number % 9)
        bay.add(CautionAcknowledged, code="leak", by="invented foreman", reason=f"look {number}")
    pages = page_texts(made(record_of(bay)))

    assert len(pages) > 5
    for number, page in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in page
    assert "look 199" in " ".join(pages)

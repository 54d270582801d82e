"""Labels: one for each sample that is still there, whatever its words."""

from datetime import date
from uuid import UUID

import httpx
import pytest

from exchange_api.documents.labels import HOLD, LabelSheet, label_sheet
from exchange_api.documents.pdf import make_pdf
from libexchange.job.events import LegalHold, SampleDestroyed, SampleDrawn, SampleSealed
from libexchange.job.fold import fold
from tests.exchange_api.bay_desk import items, send, started
from tests.exchange_api.documents.paper import page_texts, text_of
from tests.exchange_api.documents.test_evidence import drawn
from tests.job.plans import Bay, plan_for

PDF = "application/pdf"


@pytest.fixture
def bay() -> Bay:
    return Bay(plan_for())


def sheet(bay: Bay, **more: str) -> LabelSheet:
    given = {"workshop": "invented workshop", "record_url": "https://shop.example/record"} | more
    return label_sheet(job_id=UUID(int=2), plan=bay.plan, state=fold(bay.plan, bay.events), **given)


def test_a_label_says_what_it_is_and_how_long_it_is_kept(bay: Bay) -> None:
    drawn(bay)
    made = sheet(bay)
    text = text_of(make_pdf("labels.typ", made))

    assert [one.sample_id for one in made.labels] == ["used-a", "used-b"]
    for words in (
        "used-a", "Used fluid", "Seal N-1", "Drawn 2026-03-04 08:01:00 +00:00", "Where drain",
        "Part of used", "Kept for workshop", "Keep until 4 March 2028", "Keep until not noted",
        str(UUID(int=2)), "invented workshop (invented data)",
    ):  # fmt: skip
        assert words in text, words
    assert HOLD not in text


def test_what_is_destroyed_or_split_has_no_label(bay: Bay) -> None:
    drawn(bay)
    bay.add(SampleDestroyed, sample_id="used-a", by="invented foreman", reason="kept long enough")

    assert [one.sample_id for one in sheet(bay).labels] == ["used-b"]


def test_a_hold_stands_on_every_label(bay: Bay) -> None:
    drawn(bay)
    bay.add(LegalHold, by="invented foreman", state="set", reason="a claim")

    assert [one.hold for one in sheet(bay).labels] == [HOLD, HOLD]
    assert text_of(make_pdf("labels.typ", sheet(bay))).count(HOLD) == 2


def test_eight_labels_have_room_on_a_sheet_and_nine_take_two(bay: Bay) -> None:
    pages = []
    for number in range(9):
        bay.add(SampleDrawn, sample_id=f"sample-{number}", fluid="new", drawn_from="container")
        pages.append(len(page_texts(make_pdf("labels.typ", sheet(bay)))))

    assert pages == [1] * 8 + [2]


def test_long_words_stay_on_their_label(bay: Bay) -> None:
    bay.add(SampleDrawn, sample_id="s" * 64, fluid="new", drawn_from="container", lot="W" * 200)
    bay.add(SampleSealed, sample_id="s" * 64, seal="N" * 200, kept_for="workshop",
            keep_until=date(2028, 3, 4))  # fmt: skip
    (page,) = page_texts(make_pdf("labels.typ", sheet(bay, workshop="X" * 200)))
    text = page.replace(" ", "")

    for words in ("s" * 64, "W" * 200, "N" * 200, "X" * 200, str(UUID(int=2))):
        assert words in text


def test_the_code_leads_to_the_record(bay: Bay) -> None:
    drawn(bay)
    one, same = sheet(bay).labels
    (other, _) = sheet(bay, record_url="https://shop.example/another").labels

    assert one.code == same.code != other.code
    assert "https://shop.example/record" in one.code.alt


def test_labels_can_be_had_before_the_close_and_change_with_the_samples(
    client: httpx.Client,
) -> None:
    path, bay = started(client)
    none = client.get(f"{path}/labels")
    drawn(bay)
    send(client, path, items(bay.events))
    some = client.get(f"{path}/labels", headers={"Accept": PDF})
    again = client.get(f"{path}/labels", headers={"If-None-Match": some.headers["etag"]})

    assert none.headers["content-type"] == some.headers["content-type"] == PDF
    assert "No sample was drawn in this job." in text_of(none.content)
    assert "used-a" in text_of(some.content)
    assert again.status_code == 304


def test_the_same_samples_give_the_same_labels(bay: Bay) -> None:
    drawn(bay)

    assert make_pdf("labels.typ", sheet(bay)) == make_pdf("labels.typ", sheet(bay))

"""Codes on paper, read back from the printed page as a phone would read them."""

import io
from pathlib import Path
from typing import Any
from uuid import UUID

import pypdfium2
import pytest
import zxingcpp

from exchange_api.documents.forms import Reader
from exchange_api.documents.labels import label_sheet
from exchange_api.documents.pdf import make_pdf
from libexchange.job.fold import fold
from tests.exchange_api.bay_desk import items, send, started
from tests.exchange_api.documents.paper import DIGEST, made, whole
from tests.exchange_api.documents.test_evidence import drawn
from tests.exchange_api.running import running
from tests.job.plans import Bay, plan_for

URL = "https://shop.example/v1/jobs/0192/record"


def codes_of(pdf: bytes) -> list[str]:
    """What every code on the pages says, at the resolution of a poor picture."""
    with pypdfium2.PdfDocument(io.BytesIO(pdf)) as document:
        pictures = [page.render(scale=1.5).to_pil() for page in document]
    return [code.text for picture in pictures for code in zxingcpp.read_barcodes(picture)]


@pytest.mark.parametrize("reader", ["customer", "workshop"])
def test_the_code_of_a_record_says_its_digest(reader: Reader) -> None:
    assert codes_of(made(whole(), reader)) == [DIGEST]


@pytest.mark.parametrize(
    ("told", "begins"),
    [({}, None), ({"public_url": "https://shop.example/fluid/"}, "https://shop.example/fluid")],
)
def test_a_label_leads_where_the_service_is_reached(
    tmp_path: Path, told: dict[str, Any], begins: str | None
) -> None:
    with running(tmp_path, **told) as app, app.client_of("Invented") as client:
        path, bay = started(client)
        drawn(bay)
        send(client, path, items(bay.events))
        sheet = client.get(f"{path}/labels").content

        assert set(codes_of(sheet)) == {f"{begins or app.url}{path}/record"}


def test_the_code_of_a_label_leads_to_the_record() -> None:
    bay = Bay(plan_for())
    drawn(bay)
    sheet = label_sheet(
        job_id=UUID(int=2),
        plan=bay.plan,
        state=fold(bay.plan, bay.events),
        workshop="invented workshop",
        record_url=URL,
    )

    assert codes_of(make_pdf("labels.typ", sheet)) == [URL, URL]

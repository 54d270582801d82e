"""Invented records, their documents, and PDF files read back."""

import re
from collections.abc import Sequence
from html import unescape
from typing import Any
from uuid import UUID

import pypdfium2

from exchange_api.documents.filed import Filed
from exchange_api.documents.forms import HTML, PDF, Reader, document
from libexchange.job.events import DeviceEvent
from libexchange.job.fold import fold
from libexchange.job.verdict import verdict
from libexchange.job.view import Closing
from libexchange.record import JobRecord, make_record
from tests.job.plans import Bay, plan_for

WORKSHOP = "invented workshop"
DIGEST = "0123456789abcdef" * 4
FORMS: tuple[tuple[Reader, str], ...] = (
    ("customer", HTML), ("customer", PDF), ("workshop", HTML), ("workshop", PDF),
)  # fmt: skip


def record_of(bay: Bay, late: Sequence[DeviceEvent] = (), *, workshop: str = WORKSHOP) -> JobRecord:
    """The record of a job that was closed as it stands."""
    judged = verdict(bay.plan, fold(bay.plan, bay.events))
    closing = Closing(
        verdict=judged.verdict,
        findings=judged.findings,
        closed_at=bay.now,
        closed_by="invented key",
        workshop=workshop,
    )
    return make_record(
        job_id=UUID(int=2),
        plan=bay.plan,
        device_events=bay.events,
        late_events=late,
        closing=closing,
        salt=bytes(32),
    )


def whole() -> JobRecord:
    """The record of a job in which everything went as planned."""
    return record_of(Bay(plan_for()).whole_job())


def nothing_done() -> JobRecord:
    """The record of a job that was closed before anything was done."""
    return record_of(Bay(plan_for()))


def made(record: JobRecord, reader: Reader = "workshop", form: str = PDF, **more: Any) -> bytes:
    """A document of a record."""
    filed = Filed(**({"digest": DIGEST} | more))
    return document(record, filed, reader=reader, media_type=form)


def page_texts(pdf: bytes) -> list[str]:
    """What each page says, in one line each."""
    with pypdfium2.PdfDocument(pdf) as opened:
        return [one_line(page.get_textpage().get_text_bounded()) for page in opened]


def text_of(content: bytes, form: str = PDF) -> str:
    """What a document says, in one line."""
    if form == PDF:
        return " ".join(page_texts(content))
    return one_line(unescape(re.sub("<[^>]*>", " ", content.decode())))


def one_line(text: str) -> str:
    """A text whose breaks, and the marks where words may be broken, are single spaces or gone."""
    text = text.replace("\N{ZERO WIDTH SPACE}", "").replace("\ufffe", "-").replace("\x02", "-")
    return " ".join(text.replace("\N{NO-BREAK SPACE}", " ").split())

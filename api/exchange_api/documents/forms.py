"""The documents of a record by reader and media type."""

from typing import Literal

from exchange_api.documents.customer import customer_sheet
from exchange_api.documents.filed import Filed
from exchange_api.documents.html import make_html
from exchange_api.documents.pdf import make_pdf
from exchange_api.documents.workshop import workshop_record
from libexchange.record import JobRecord

Reader = Literal["workshop", "customer"]
"""Whom a document is for."""

HTML, PDF = "text/html", "application/pdf"


def document(record: JobRecord, filed: Filed, *, reader: Reader, media_type: str) -> bytes:
    """The record as its reader gets it, as `text/html` or `application/pdf`."""
    if reader == "customer":
        sheet = customer_sheet(record, digest=filed.digest)
        if media_type == HTML:
            return make_html("customer.html.jinja", sheet)
        return make_pdf("customer.typ", sheet)
    made = workshop_record(record, filed)
    if media_type == HTML:
        return make_html("workshop.html.jinja", made)
    return make_pdf("workshop.typ", made)

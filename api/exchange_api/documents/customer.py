"""What the customer reads: one sheet in plain words."""

import re

from msgspec import Struct

from exchange_api.documents.beside import VERDICTS, first_beside, further_beside
from exchange_api.documents.blocks import Beside, Fact
from exchange_api.documents.customer_facts import done_of, found_of, watch_of
from exchange_api.documents.fitting import fitted
from exchange_api.documents.next_told import next_of, odometer_of
from exchange_api.documents.qr import qr_code
from exchange_api.documents.share_chart import share_chart
from exchange_api.documents.since_close import since_of
from exchange_api.documents.svg import Picture
from exchange_api.documents.words import day, grouped, moment, shown
from libexchange.record import JobRecord

SUMMARY = {
    "accepted": "The work was done and the checks after it were passed.",
    "accepted_with_remarks": "The work was done and the checks after it were passed. Read the "
    "remarks.",
    "not_accepted": "The work did not pass its checks.",
    "incomplete": "The work or its checks are not complete.",
}

SINCE = "So it stood at the close; read what came since."

REASONS = {
    "routine": "routine service",
    "heavy_use": "heavy use of the vehicle",
    "wrong_fluid": "a wrong fluid in the transmission",
    "unknown_fluid": "an unknown fluid in the transmission",
    "maker_drain": "a change of fluid that the maker asks for",
}

STEP_NUMBER = re.compile(r"^step-[0-9]+: ")


class CustomerSheet(Struct, frozen=True, kw_only=True):
    """The sheet in its order; `left_out` counts lines for which there was no room."""

    workshop: str
    invented: bool
    subject: tuple[Fact, ...]
    verdict: str
    passed: bool
    summary: str
    beside: tuple[Beside, ...]
    done: tuple[Fact, ...]
    share: Picture | None
    found: tuple[str, ...]
    watch: tuple[str, ...]
    next_due: tuple[str, ...]
    ask: str
    digest: str
    code: Picture
    left_out: int


def customer_sheet(record: JobRecord, *, digest: str) -> CustomerSheet:
    """The sheet of a record; `digest` is the one that the customer is given to keep."""
    first, further = first_beside(record), further_beside(record)
    lists = fitted(
        fixed=[line for one in first for line in one.lines],
        beside=[_without_numbers(one.lines) for one in further],
        found=found_of(record), watch=watch_of(record), next_due=next_of(record),
    )  # fmt: skip
    pairs = zip(further, lists.beside, strict=True)
    return CustomerSheet(
        workshop=record.closing.workshop,
        invented=record.plan.subject.invented,
        subject=_subject(record),
        verdict=VERDICTS[record.closing.verdict],
        passed=record.closing.verdict.startswith("accepted"),
        summary=_summary(record),
        beside=(*first, *(Beside(name=one.name, lines=lines) for one, lines in pairs)),
        done=done_of(record),
        share=share_chart(record),
        found=lists.found,
        watch=lists.watch,
        next_due=lists.next_due,
        ask=_ask(record),
        digest=grouped(digest),
        code=qr_code(digest, alt="The digest of the record as a code"),
        left_out=lists.left_out,
    )


def _summary(record: JobRecord) -> str:
    told = SUMMARY[record.closing.verdict]
    return f"{told} {SINCE}" if since_of(record) else told


def _without_numbers(lines: tuple[str, ...]) -> list[str]:
    return [STEP_NUMBER.sub("", line) for line in lines]


def _subject(record: JobRecord) -> tuple[Fact, ...]:
    request, odometer = record.plan.request, odometer_of(record)
    return (
        Fact(name="Vehicle", value=request.vehicle.reference or "not named"),
        Fact(name="Odometer", value=shown(odometer, 0) if odometer else "not recorded"),
        Fact(name="Transmission", value=record.plan.subject.transmission),
        Fact(name="Why it was done", value=REASONS[request.reason]),
        Fact(name="Day of the service", value=day(request.service_date)),
        Fact(name="Closed", value=moment(record.closing.closed_at)),
    )


def _ask(record: JobRecord) -> str:
    return f"{record.closing.workshop}. Name this job: {record.job_id}"

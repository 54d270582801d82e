"""The full record for the workshop: everything that a dispute asks for, in sections."""

import re
from collections.abc import Iterator

from msgspec import Struct

from exchange_api.documents import workshop_evidence as evidence
from exchange_api.documents import workshop_fluid as fluid
from exchange_api.documents import workshop_people as people
from exchange_api.documents.beside import VERDICTS, first_beside, further_beside
from exchange_api.documents.blocks import (
    Beside,
    Fact,
    Section,
    code,
    number,
    table,
    text,
)
from exchange_api.documents.customer_facts import GRAVEST_FIRST
from exchange_api.documents.event_rows import Received, rows_of
from exchange_api.documents.filed import Filed
from exchange_api.documents.history import ever_in_force
from exchange_api.documents.next_told import odometer_of
from exchange_api.documents.photos import photos_of
from exchange_api.documents.qr import qr_code
from exchange_api.documents.since_close import since_of
from exchange_api.documents.svg import Picture
from exchange_api.documents.words import (
    day,
    grouped,
    in_words,
    moment,
    of_hundred,
    shown,
    spaced,
)
from libexchange.findings import Finding
from libexchange.record import JobRecord

SINCE = "Read what came since."


class WorkshopRecord(Struct, frozen=True, kw_only=True):
    """Head, verdict with what stands beside it, and the sections in their order."""

    title: str
    job_id: str
    workshop: str
    invented: bool
    subject: tuple[Fact, ...]
    verdict: str
    closed: str
    beside: tuple[Beside, ...]
    sections: tuple[Section, ...]
    code: Picture


def workshop_record(record: JobRecord, filed: Filed) -> WorkshopRecord:
    """The document of a record, with what the service knows beside it."""
    return WorkshopRecord(
        title="Record of a fluid service",
        job_id=str(record.job_id),
        workshop=record.closing.workshop,
        invented=record.plan.subject.invented,
        subject=_subject(record),
        verdict=VERDICTS[record.closing.verdict],
        closed=f"Closed {moment(record.closing.closed_at)} "
        f"{people.closer_of(record.closing.closed_by)}",
        beside=(*first_beside(record), *further_beside(record)),
        sections=tuple(_sections(record, filed)),
        code=qr_code(filed.digest, alt="The digest of the record as a code"),
    )


def _subject(record: JobRecord) -> tuple[Fact, ...]:
    request = record.plan.request
    vehicle, odometer = request.vehicle, odometer_of(record)
    facts = (
        ("Vehicle", vehicle.reference or "not named"),
        ("Identification number", vehicle.vin or ""),
        ("Odometer", shown(odometer, 0) if odometer else ""),
        ("Transmission", record.plan.subject.transmission),
        ("Fluid", record.plan.subject.fluid or "not named"),
        ("Day of the service", day(request.service_date)),
    )
    return tuple(Fact(name=name, value=value) for name, value in facts if value)


def _sections(record: JobRecord, filed: Filed) -> Iterator[Section]:
    yield _findings_of_close(record)
    yield Section(title="What came of it", facts=fluid.results_of(record))
    yield from fluid.sections_of(record)
    events = ever_in_force(record)
    yield from evidence.sections_of(record, events)
    yield from people.sections_of(record, events, filed)
    yield from _photos(record)
    yield from _findings(record)
    yield _planned(record)
    yield _cautions(record)
    yield _happened(record, filed.received)
    yield from _basis(record)
    yield _identity(record, filed.digest)


def _findings_of_close(record: JobRecord) -> Section:
    graded = sorted(record.closing.findings, key=lambda one: GRAVEST_FIRST.index(one.severity))
    rows = [_finding(one) for one in graded]
    columns = (text("Weight"), text("What", 3), text("What to do", 3), text("Source", 1))
    made = table(columns, rows)
    against = f"Nothing spoke against it at the close. {SINCE}" * bool(since_of(record))
    return Section(
        title="Why this verdict", table=made,
        lead="" if made else against or "Nothing speaks against it.",
    )  # fmt: skip


def _finding(one: Finding) -> tuple[str, ...]:
    """Title and message are told once where they are the same, and in words, not in wire names."""
    message = "" if one.message.rstrip(".") == one.title else one.message
    what = f"{one.title}. {message}".rstrip()
    return one.severity, in_words(what), in_words(one.remedy), one.source


def _findings(record: JobRecord) -> Iterator[Section]:
    told = {(one.code, one.message) for one in record.closing.findings}
    rows = [_finding(one) for one in record.findings if (one.code, one.message) not in told]
    columns = (text("Weight"), text("What", 3), text("What to do", 3), text("Source", 1))
    if rows:
        yield Section(title="Further findings on the work", table=table(columns, rows))


def _planned(record: JobRecord) -> Section:
    left = {step.step_id for step in record.not_done}
    rows = [
        (
            step.step_id.removeprefix("step-"),
            step.title,
            shown(step.quantity, 2) if step.quantity else "",
            step.gate.text if step.gate else "",
            "NOT DONE" if step.step_id in left else "yes",
        )
        for step in record.plan.steps
    ]
    columns = (number("Step"), text("What", 3), number("Amount"), text("Gate", 3), text("Done"))
    made = table(columns, rows)
    return Section(title="What was planned", table=made, lead="" if made else "No steps.")


def _cautions(record: JobRecord) -> Section:
    rows = [
        (one.text, ", ".join(re.sub("^step-", "", step) for step in one.step_ids))
        for one in record.cautions_given
    ]
    made = table((text("Caution", 4), text("At steps", 1)), rows)
    return Section(
        title="Cautions that were given", table=made, lead="" if made else "None.",
        note="The maker's data, local law and licensed practice come before everything said here.",
    )  # fmt: skip


def _photos(record: JobRecord) -> Iterator[Section]:
    photos = enumerate(photos_of(record.plan, ever_in_force(record)), 1)
    rows = [(str(n), photo.caption, grouped(photo.digest)) for n, photo in photos]
    if rows:
        columns = (number("No."), text("What it shows", 1), code("Digest of the file"))
        yield Section(title="Photos", table=table(columns, rows))


def _happened(record: JobRecord, received: Received) -> Section:
    rows = [
        (row.when, row.device, row.kind + (f" ({row.remark})" if row.remark else ""), row.text)
        for row in rows_of(record, received)
    ]
    columns = (text("When"), text("Device", 1.5), text("Event", 2), text("What", 4))
    made = table(columns, rows)
    return Section(
        title="What happened", table=made, lead="" if made else "Nothing was recorded.",
        note="Readings that follow one another stand in one row, from the first to the last; the "
        "record for programs holds each of them. Both times are told where something was entered "
        "5 min or more after it was done." if made else "",
    )  # fmt: skip


def _basis(record: JobRecord) -> Iterator[Section]:
    forecast = record.plan.forecast
    if forecast is None:
        return
    share = forecast.fresh_share
    rows = [(one.part, spaced(one.origin), one.source) for one in forecast.basis]
    yield Section(
        title="What the forecast rests on",
        lead=f"Forecast of the plan: {of_hundred(share.expected)} of 100 parts fresh "
        f"({of_hundred(share.low)} to {of_hundred(share.high)}).",
        table=table((text("Value", 1), text("Origin", 1), text("Source", 3)), rows),
    )


def _late_head(record: JobRecord) -> str:
    return grouped(record.late_chain_head) if record.late_events else "no late event"


def _identity(record: JobRecord, digest: str) -> Section:
    rows = (
        ("Job", str(record.job_id)),
        ("Plan", str(record.plan.plan_id)),
        ("Digest of the record at its close", grouped(digest)),
        ("Digest of the record as it is now", grouped(record.digest)),
        ("Digest of the last event", grouped(record.chain_head)),
        ("Digest of the last late event", _late_head(record)),
        ("Version of the record's form", str(record.record_version)),
    )
    return Section(
        title="Identity", table=table((text("What"), code("Value", 1)), rows),
        note="Digests are SHA-256 over the canonical form (RFC 8785) in which salted commitments "
        "stand for personal texts.",
    )  # fmt: skip

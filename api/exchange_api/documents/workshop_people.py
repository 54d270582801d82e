"""Of the workshop's record: who decided what, the maker's documents, and departures from them."""

import re
from collections.abc import Iterable, Iterator
from datetime import datetime
from itertools import groupby

from exchange_api.documents.beside import VERDICTS
from exchange_api.documents.blocks import Section, table, text
from exchange_api.documents.event_texts import kind_of
from exchange_api.documents.filed import Filed
from exchange_api.documents.words import day, moment, sentence, spaced
from libexchange.catalogue import DataSource
from libexchange.job.events import (
    CautionAcknowledged,
    ConsentGiven,
    Correction,
    Event,
    FindingOverridden,
    ReadingTaken,
    SecondCheck,
)
from libexchange.plan.records import CatalogueVersion
from libexchange.record import JobRecord


def sections_of(record: JobRecord, events: Iterable[Event], filed: Filed) -> Iterator[Section]:
    """Their sections, each where there is something to tell.

    events: those in force, the late ones with them, and corrections
    """
    yield _decided(record, events)
    yield _documents(record)
    yield from _related(filed)
    yield from _earlier(filed)


def _decided(record: JobRecord, events: Iterable[Event]) -> Section:
    told = [(e.occurred_at, *decision) for e in events if (decision := _decision(e))]
    closing = record.closing
    told.append((closing.closed_at, *_closed(closing.closed_by), ""))
    columns = (text("When"), text("Who", 2), text("What", 4), text("Why", 4))
    return Section(
        title="Who did, checked and decided what", table=table(columns, _by_person(told))
    )


def _closed(by: str) -> tuple[str, str]:
    """Who closed the job and what was done; a key is no person."""
    closer = closer_of(by)
    return (by, "closed the job") if closer == f"by {by}" else ("", f"closed the job {closer}")


def closer_of(by: str) -> str:
    """Who closed a job: by whom, or with which key.

    >>> closer_of("invented foreman")
    'by invented foreman'
    >>> closer_of("01a2169b-ceee-73db-9b26-05ff5ea48610")
    'with the access key 01a2169b-ceee-73db-9b26-05ff5ea48610'
    """
    return f"with the access key {by}" if KEY.match(by) else f"by {by}"


KEY = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}\Z")


def _by_person(told: Iterable[tuple[datetime, str, str, str]]) -> Iterator[tuple[str, ...]]:
    """What one person did in one go, without a reason of its own, is one row."""
    in_order = sorted(told, key=lambda one: one[0])
    for (who, why), group in groupby(in_order, key=lambda one: one[1::2]):
        run = list(group)
        what = dict.fromkeys(deed for _, _, deed, _ in run)
        yield moment(run[0][0]), who, "; ".join(what), why


def _decision(event: Event) -> tuple[str, str, str] | None:
    """Who, what and why, of an event in which somebody decides."""
    match event:
        case CautionAcknowledged():
            qualified = f"; {event.qualification}" if event.qualification else ""
            return event.by, f"went on with {spaced(event.code)}{qualified}", event.reason
        case FindingOverridden():
            what = f"overrode {spaced(event.code)}; the customer knew: {event.acknowledged_by}"
            return event.by, what, event.reason
        case SecondCheck():
            what = f"checked the {event.checked}: {spaced(event.result)}"
            return event.by, what, event.remark or ""
        case ConsentGiven():
            return event.given_by, _consent(event), ""
    return _deed(event)


def _deed(event: Event) -> tuple[str, str, str] | None:
    """Who did something that needs no further words; readings are told in their own section."""
    if isinstance(event, Correction):
        return event.by or "not noted", f"withdrew {event.corrects}", event.reason
    if event.by is None or isinstance(event, ReadingTaken):
        return None
    step = f", {event.step_id}" if event.step_id else ""
    return event.by, f"{kind_of(event)}{step}", ""


def _consent(event: ConsentGiven) -> str:
    told = [f"agreed to estimate {event.estimate} ({spaced(event.how)})"]
    if event.route:
        told.append(f"route {spaced(event.route)}")
    if event.not_to_exceed:
        told.append(f"not more than {event.not_to_exceed.amount} {event.not_to_exceed.currency}")
    if event.declined:
        told.append(f"declined: {', '.join(event.declined)}")
    return "; ".join(told)


def _documents(record: JobRecord) -> Section:
    subject, versions = record.plan.subject, record.plan.catalogue_versions
    rows = [
        ("Transmission", *_source(subject.transmission_source, versions.transmission)),
        ("Fluid", *_source(subject.fluid_source, versions.fluid)),
    ]
    columns = (text("For"), text("Document", 3), text("Revision", 1), text("Of", 1),
               text("Kept as", 2))  # fmt: skip
    return Section(title="Maker's documents", table=table(columns, rows), lead=_departures(record))


def _source(source: DataSource | None, version: CatalogueVersion | None) -> tuple[str, ...]:
    if source is None:
        return ("not known", "", "", "")
    kept = f"{version.entry_id}, version {version.version}" if version else "sent with the plan"
    document = source.document or f"not named; origin {spaced(source.kind)}"
    return (document, source.revision or "not noted",
            day(source.dated) if source.dated else "not noted", kept)  # fmt: skip


def _departures(record: JobRecord) -> str:
    found = [one for one in record.closing.findings if one.code == "route-departed"]
    if not found:
        return "No departure from the route planned was recorded."
    return "Departures from the route: " + " ".join(sentence(one.message) for one in found)


RELATIONS = {
    ("comeback", "to"): "this job is a comeback of it",
    ("recheck", "to"): "this job is a recheck of it",
    ("warranty", "to"): "this job is a claim on it",
    ("comeback", "from"): "came back to this job",
    ("recheck", "from"): "is a recheck of this job",
    ("warranty", "from"): "is a claim on this job",
}


def _related(filed: Filed) -> Iterator[Section]:
    rows = [(str(one.job_id), RELATIONS[one.relation, one.direction]) for one in filed.related]
    if rows:
        columns = (text("Job", 1), text("How it belongs to this one", 2))
        yield Section(title="Related jobs", table=table(columns, rows))


def _earlier(filed: Filed) -> Iterator[Section]:
    rows = [
        (
            moment(one.closing.closed_at),
            f"{VERDICTS[one.closing.verdict]}, {closer_of(one.closing.closed_by)}",
            moment(one.reopened_at),
            one.by,
            one.reason,
        )
        for one in filed.earlier_closings
    ]
    if rows:
        columns = (text("Closed"), text("Verdict then", 2), text("Reopened"), text("By", 1),
                   text("Why", 2))  # fmt: skip
        yield Section(title="Earlier closings, which no longer count", table=table(columns, rows))

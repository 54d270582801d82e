"""Of the workshop's record: who decided what, the maker's documents, and departures from them."""

from collections.abc import Iterator

from exchange_api.documents.beside import VERDICTS
from exchange_api.documents.blocks import Section, table, text
from exchange_api.documents.filed import Filed
from exchange_api.documents.words import day, moment, plain, sentence, spaced
from libexchange.catalogue import DataSource
from libexchange.plan.records import CatalogueVersion
from libexchange.record import JobRecord


def sections_of(record: JobRecord, filed: Filed) -> Iterator[Section]:
    """Their sections, each where there is something to tell."""
    yield _decided(record)
    yield _documents(record)
    yield from _related(filed)
    yield from _earlier(filed)


def _decided(record: JobRecord) -> Section:
    rows = [
        (moment(one.acknowledged_at), one.by, f"went on with {spaced(one.code)}", one.reason)
        for one in record.acknowledged
    ]
    rows.append((moment(record.closing.closed_at), record.closing.closed_by, "closed the job", ""))
    columns = (text("When"), text("Who", 1), text("What", 2), text("Why", 3))
    return Section(title="Who did, checked and decided what", table=table(columns, rows))


def _documents(record: JobRecord) -> Section:
    request, versions = record.plan.request, record.plan.catalogue_versions
    transmission, fluid = request.transmission, request.fluid
    rows = [
        (
            "Transmission",
            *_source(transmission.source if transmission else None, versions.transmission),
        ),
        ("Fluid", *_source(fluid.source if fluid else None, versions.fluid)),
    ]
    columns = (text("For"), text("Document", 3), text("Revision", 1), text("Of", 1),
               text("Kept as", 2))  # fmt: skip
    return Section(title="Maker's documents", table=table(columns, rows), lead=_departures(record))


def _source(source: DataSource | None, version: CatalogueVersion | None) -> tuple[str, ...]:
    kept = f"{version.entry_id}, version {version.version}" if version else "sent with the plan"
    if source is None:
        return ("see the catalogue", "", "", kept)
    document = source.document or f"not named; origin {spaced(source.kind)}"
    return (document, source.revision or "not noted",
            day(source.dated) if source.dated else "not noted", kept)  # fmt: skip


def _departures(record: JobRecord) -> str:
    found = [one for one in record.closing.findings if one.code == "route-departed"]
    if not found:
        return "No departure from the route planned was recorded."
    return "Departures from the route: " + " ".join(sentence(plain(one.message)) for one in found)


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
            f"{VERDICTS[one.closing.verdict]}, by {one.closing.closed_by}",
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

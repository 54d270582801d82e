"""Labels for retained samples: one each, with a code that leads to the record of the job."""

from collections.abc import Iterator, Sequence
from uuid import UUID

from msgspec import Struct

from exchange_api.documents.blocks import Fact
from exchange_api.documents.qr import qr_code
from exchange_api.documents.samples import Sample, is_held, samples_of
from exchange_api.documents.svg import Picture
from exchange_api.documents.words import day, moment
from libexchange.job.events import Event
from libexchange.plan.records import Plan


class Label(Struct, frozen=True, kw_only=True):
    """What is stuck on a bottle; `hold` says that nobody may destroy it."""

    sample_id: str
    contents: str
    facts: tuple[Fact, ...]
    hold: str
    code: Picture


class LabelSheet(Struct, frozen=True, kw_only=True):
    """All labels of a job, in the order in which the samples were drawn."""

    title: str
    workshop: str
    invented: bool
    labels: tuple[Label, ...]


FLUIDS = {"used": "Used fluid", "new": "New fluid"}
PLACES = {
    "sump": "sump",
    "sump_unmixed": "sump, unmixed",
    "line": "line, while it flows",
    "drain": "drain",
    "container": "container",
}
HOLD = "LEGAL HOLD: not to be destroyed"


def label_sheet(
    *, job_id: UUID, plan: Plan, events: Sequence[Event], workshop: str, record_url: str
) -> LabelSheet:
    """The labels of a job: one for each sample that is neither split nor destroyed.

    record_url: what the code leads to
    """
    hold = HOLD if is_held(events) else ""
    code = qr_code(record_url, alt=f"The address of the record as a code: {record_url}")
    return LabelSheet(
        title=f"Labels of the samples of job {job_id}",
        workshop=workshop,
        invented=plan.subject.invented,
        labels=tuple(_label(one, job_id, hold, code) for one in samples_of(events) if not one.gone),
    )


def _label(sample: Sample, job_id: UUID, hold: str, code: Picture) -> Label:
    drawn = sample.drawn
    return Label(
        sample_id=sample.sample_id,
        contents=FLUIDS[drawn.fluid] if drawn else "Drawing not recorded",
        facts=tuple(_facts(sample, job_id)),
        hold=hold,
        code=code,
    )


def _facts(sample: Sample, job_id: UUID) -> Iterator[Fact]:
    drawn = sample.drawn
    yield Fact(name="Seal", value=sample.seal or "not sealed")
    yield Fact(name="Drawn", value=moment(drawn.occurred_at) if drawn else "not recorded")
    yield Fact(name="Where", value=PLACES[drawn.drawn_from] if drawn else "not recorded")
    if drawn and drawn.lot:
        yield Fact(name="Lot", value=drawn.lot)
    if sample.part_of:
        yield Fact(name="Part of", value=sample.part_of)
    if sample.kept_for:
        yield Fact(name="Kept for", value=sample.kept_for)
    until = day(sample.keep_until) if sample.keep_until else "not noted"
    yield Fact(name="Keep until", value=until)
    yield Fact(name="Job", value=str(job_id))

"""Labels for retained samples: one each, with a code that leads to the record of the job."""

from collections.abc import Iterator
from uuid import UUID

from msgspec import Struct

from exchange_api.documents.blocks import Fact
from exchange_api.documents.qr import qr_code
from exchange_api.documents.svg import Picture
from exchange_api.documents.words import day, moment
from libexchange.job.custody_records import GONE, RetainedSample, is_held
from libexchange.job.state import JobState
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
    *, job_id: UUID, plan: Plan, state: JobState, workshop: str, record_url: str
) -> LabelSheet:
    """The labels of a job: one for each sample that is neither split nor destroyed.

    record_url: what the code leads to
    """
    hold = HOLD if is_held(state.legal_hold) else ""
    code = qr_code(record_url, alt=f"The address of the record as a code: {record_url}")
    return LabelSheet(
        title=f"Labels of the samples of job {job_id}",
        workshop=workshop,
        invented=plan.subject.invented,
        labels=tuple(
            _label(one, job_id, hold, code) for one in state.samples if one.standing not in GONE
        ),
    )


def _label(sample: RetainedSample, job_id: UUID, hold: str, code: Picture) -> Label:
    return Label(
        sample_id=sample.sample_id,
        contents=FLUIDS[sample.fluid],
        facts=tuple(_facts(sample, job_id)),
        hold=hold,
        code=code,
    )


def _facts(sample: RetainedSample, job_id: UUID) -> Iterator[Fact]:
    yield Fact(name="Seal", value=sample.seal or "not sealed")
    yield Fact(name="Drawn", value=moment(sample.drawn_at))
    yield Fact(name="Where", value=PLACES[sample.drawn_from])
    if sample.lot:
        yield Fact(name="Lot", value=sample.lot)
    if sample.part_of:
        yield Fact(name="Part of", value=sample.part_of)
    if sample.kept_for:
        yield Fact(name="Kept for", value=sample.kept_for)
    until = day(sample.keep_until) if sample.keep_until else "not noted"
    yield Fact(name="Keep until", value=until)
    yield Fact(name="Job", value=str(job_id))

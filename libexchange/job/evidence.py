"""What stands as evidence in a job: arrival, codes, bench, pictures, parts, tools, consent, checks.

Records of it as they are shown and kept, and how the events fold to them.
"""

from datetime import date
from typing import Literal, NamedTuple

from msgspec import Struct
from msgspec.structs import asdict, replace

from libexchange.bench_checks import BenchChecks
from libexchange.fields import Digest, Instant, Money, Person, PersonalText
from libexchange.job.events import (
    Arrived,
    BenchChecked,
    ConsentGiven,
    FaultCodesRead,
    PartFitted,
    PhotoTaken,
    SecondCheck,
    TestDriven,
    ToolUsed,
)
from libexchange.job.history import History
from libexchange.laboratory import LaboratoryResults
from libexchange.level import is_heavy
from libexchange.plan.records import Plan
from libexchange.plan.request import Route
from libexchange.quantities import Distance, Torque, Volume
from libexchange.used_fluid import OverrideNeed, Recheck, UsedFluidAnswer, judge_used_fluid
from libexchange.used_fluid_findings import Decision

DriveResult = Literal["ok", "complaint"]


class Arrival(Struct, frozen=True, kw_only=True):
    """The state on arrival, of all that was told of it; null is what nobody looked at.

    arrived_at: when it was first told
    """

    arrived_at: Instant
    odometer: Distance | None
    complaint: PersonalText | None
    leak: Literal["dry", "leak"] | None
    level: Literal["in_range", "low", "high"] | None
    drive: Literal["ok", "complaint", "no_drive"] | None
    warning_lamp: bool | None
    modifications: PersonalText | None
    towing: bool | None
    under_warranty: bool | None
    fluid_kind: str | None
    photos: tuple[Digest, ...]
    acknowledged_by: Person | None


class CodesRead(Struct, frozen=True, kw_only=True):
    """The fault memory as it was read for the last time."""

    read_at: Instant
    codes: tuple[str, ...]
    cleared: bool | None


class FaultCodes(Struct, frozen=True, kw_only=True):
    """The fault memory before the work and after it; null where nobody read it."""

    before: CodesRead | None
    after: CodesRead | None


class BenchState(Struct, frozen=True, kw_only=True):
    """What was seen of the used fluid, the latest look at each check, and what it decides."""

    checked_at: Instant
    sample_id: str | None
    photo: Digest | None
    seen: BenchChecks
    decision: Decision
    overridable: bool
    override_needs: tuple[OverrideNeed, ...]
    recheck: Recheck | None


class JobPhoto(Struct, frozen=True, kw_only=True):
    """A picture of the job, and when the job was told of it."""

    digest: Digest
    size: int
    media_type: str
    taken_at: Instant
    told_at: Instant
    shows: str
    caption: PersonalText | None


class FittedPart(Struct, frozen=True, kw_only=True):
    """A part that went in, what it was tightened to and by which tool."""

    part: str
    count: int
    new: bool
    torque: Torque | None
    tool: str | None
    fitted_at: Instant
    by: Person | None


class UsedTool(Struct, frozen=True, kw_only=True):
    """A measuring tool or a vessel that the job relies on."""

    tool: str
    sort: str
    calibrated_until: date | None
    last_fluid_kind: str | None
    purged: Volume | None
    used_at: Instant


class Consent(Struct, frozen=True, kw_only=True):
    """What the customer agreed to; the last one rules."""

    estimate: str
    route: Route | None
    declined: tuple[str, ...]
    not_to_exceed: Money | None
    given_by: Person
    how: str
    given_at: Instant


class SecondLook(Struct, frozen=True, kw_only=True):
    """What somebody else looked at too."""

    checked: Literal["fluid", "route", "level", "release", "correction"]
    result: Literal["agreed", "not_agreed"]
    by: Person
    remark: PersonalText | None
    checked_at: Instant


class Evidence(NamedTuple):
    """All evidence of a job."""

    arrival: Arrival | None
    fault_codes: FaultCodes
    bench: BenchState | None
    photos: tuple[JobPhoto, ...]
    parts_fitted: tuple[FittedPart, ...]
    tools: tuple[UsedTool, ...]
    consents: tuple[Consent, ...]
    second_checks: tuple[SecondLook, ...]
    drive_before: DriveResult | None


def evidence_of(plan: Plan, history: History) -> Evidence:
    """The evidence that the events of a job come to.

    Source: common practice.
    """
    return Evidence(
        arrival=_arrival(history),
        fault_codes=FaultCodes(before=_codes(history, "before"), after=_codes(history, "after")),
        bench=_bench(plan, history),
        photos=tuple(map(_photo, history.of(PhotoTaken))),
        parts_fitted=tuple(map(_part, history.of(PartFitted))),
        tools=tuple(map(_tool, history.of(ToolUsed))),
        consents=tuple(map(_consent, history.of(ConsentGiven))),
        second_checks=tuple(map(_second, history.of(SecondCheck))),
        drive_before=driven(history, "before"),
    )


def driven(history: History, when: Literal["before", "after"]) -> DriveResult | None:
    """How the last drive before or after the work went, null where nobody drove."""
    drives = [drive.result for drive in history.of(TestDriven) if drive.when == when]
    return drives[-1] if drives else None


def bench_answer(plan: Plan, bench: BenchChecks) -> UsedFluidAnswer:
    """What bench checks decide for the unit of a plan."""
    laboratory = LaboratoryResults()
    return judge_used_fluid(bench=bench, laboratory=laboratory, heavy=is_heavy_unit(plan))


def is_heavy_unit(plan: Plan) -> bool:
    """Whether the unit of a plan is known to hold more than 15 L."""
    card = plan.offline_card
    return card is not None and is_heavy(total_l=card.total.l)


def _arrival(history: History) -> Arrival | None:
    """What was told later stands where it says something; pictures add up."""
    told = history.of(Arrived)
    if not told:
        return None
    stated: dict[str, object] = {}
    for event in told:
        stated |= {name: value for name, value in asdict(event).items() if value is not None}
    names = (name for name in Arrival.__struct_fields__ if name not in ("arrived_at", "photos"))
    return Arrival(
        arrived_at=told[0].occurred_at,
        photos=tuple(dict.fromkeys(photo for event in told for photo in event.photos)),
        **{name: stated.get(name) for name in names},  # type: ignore[arg-type]  # same names and types
    )


def _codes(history: History, when: Literal["before", "after"]) -> CodesRead | None:
    read = [event for event in history.of(FaultCodesRead) if event.when == when]
    if not read:
        return None
    last = read[-1]
    return CodesRead(read_at=last.occurred_at, codes=last.codes, cleared=last.cleared)


def _bench(plan: Plan, history: History) -> BenchState | None:
    """A look that leaves a check out takes nothing back of what an earlier one saw."""
    looks = history.of(BenchChecked)
    if not looks:
        return None
    seen, last = BenchChecks(), looks[-1]
    for look in looks:
        told = {name: value for name, value in asdict(look.bench).items() if value is not None}
        seen = replace(seen, **told)
    answer = bench_answer(plan, seen)
    return BenchState(
        checked_at=last.occurred_at,
        sample_id=last.sample_id,
        photo=last.photo,
        seen=seen,
        decision=answer.decision,
        overridable=answer.overridable,
        override_needs=answer.override_needs,
        recheck=answer.recheck,
    )


def _photo(event: PhotoTaken) -> JobPhoto:
    return JobPhoto(
        digest=event.digest,
        size=event.size,
        media_type=event.media_type,
        taken_at=event.taken_at,
        told_at=event.occurred_at,
        shows=event.shows,
        caption=event.caption,
    )


def _part(event: PartFitted) -> FittedPart:
    return FittedPart(
        part=event.part,
        count=event.count,
        new=event.new,
        torque=event.torque,
        tool=event.tool,
        fitted_at=event.occurred_at,
        by=event.by,
    )


def _tool(event: ToolUsed) -> UsedTool:
    return UsedTool(
        tool=event.tool,
        sort=event.sort,
        calibrated_until=event.calibrated_until,
        last_fluid_kind=event.last_fluid_kind,
        purged=event.purged,
        used_at=event.occurred_at,
    )


def _consent(event: ConsentGiven) -> Consent:
    return Consent(
        estimate=event.estimate,
        route=event.route,
        declined=event.declined,
        not_to_exceed=event.not_to_exceed,
        given_by=event.given_by,
        how=event.how,
        given_at=event.occurred_at,
    )


def _second(event: SecondCheck) -> SecondLook:
    return SecondLook(
        checked=event.checked,
        result=event.result,
        by=event.by,
        remark=event.remark,
        checked_at=event.occurred_at,
    )

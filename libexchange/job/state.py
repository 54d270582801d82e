"""What a job has come to: the record that its events fold to. Answer records have no defaults."""

from typing import Literal
from uuid import UUID

from msgspec import Struct

from libexchange.fields import Instant, Person, PersonalText
from libexchange.findings import Finding
from libexchange.job.course import Ended, FoundLater, Overridden, Pause, Secured
from libexchange.job.custody_records import LegalHoldState, RetainedSample
from libexchange.job.evidence import (
    Arrival,
    BenchState,
    Consent,
    DriveResult,
    FaultCodes,
    FittedPart,
    JobPhoto,
    SecondLook,
    UsedTool,
)
from libexchange.job.fluids import JobBalance, LineLitres
from libexchange.job.looks import LevelState
from libexchange.job.share import ReachedShare
from libexchange.job.standing import Standing
from libexchange.readings import Reading

Progress = Literal["planned", "running", "paused", "finished", "aborted", "voided"]
"""How far the bay is; `closed` is an act of the office and stands outside the fold."""


class ConfirmedStep(Struct, frozen=True, kw_only=True):
    """A step that was confirmed.

    step_id: of the plan    confirmed_at: for the last time    in_plan: false where it has none such
    """

    step_id: str
    confirmed_at: Instant
    in_plan: bool


class Acknowledged(Struct, frozen=True, kw_only=True):
    """A caution that someone read and went on with.

    code: of the caution    by: who    reason: for going on    acknowledged_at: when
    qualification: for the work that it warns of, null where none was told
    """

    code: str
    by: Person
    reason: PersonalText
    qualification: PersonalText | None
    acknowledged_at: Instant


class OpenedFluid(Struct, frozen=True, kw_only=True):
    """A container that was opened.

    fluid_id: of the catalogue, null where none was told    fluid_kind: what it holds
    lot: as printed on it, null where it was not told    opened_at: when
    """

    fluid_id: str | None
    fluid_kind: str
    lot: str | None
    opened_at: Instant


class JobState(Struct, frozen=True, kw_only=True):
    """What the events of a job tell, whatever order and repetition they arrived in.

    progress: of the bay; the office closes the job    started_at, finished_at: null until then
    confirmed_steps: each once, with the last time
    withdrawn: events that stay in the history and count for nothing
    open_late_events: came after the close and change nothing but `findings`
    readings: the latest of each source    balance: litres in and out, null while none is told
    line_exchange: litres through the lines, null without any
    level: by the last look, null before one    fresh_share: calculated, null while it cannot be
    leak_check: the last one after all that it is to judge, null without one
    drive_before, test_drive: before the work and after it, null without one
    arrival: the vehicle as it came, null where nobody told    fault_codes: before and after
    bench: what the used fluid told, null without a check    photos: told of, oldest first
    parts_fitted, tools: with torque and calibration    consents: of the customer, oldest first
    second_checks: by somebody else    samples, legal_hold: go on after the close
    standing: whether it may run or drive, and what makes it safe    pauses: oldest first
    ended: aborted or voided, else null    made_safe: by whom and how, else null
    overridden: stops that people answer for, whether it counts or not
    found_later: what came to light afterwards    acknowledged: cautions by their code
    fluids_opened: containers, oldest first    findings: what all of it tells against the job
    """

    progress: Progress
    started_at: Instant | None
    finished_at: Instant | None
    confirmed_steps: tuple[ConfirmedStep, ...]
    withdrawn: tuple[UUID, ...]
    open_late_events: tuple[UUID, ...]
    readings: tuple[Reading, ...]
    balance: JobBalance | None
    line_exchange: LineLitres | None
    level: LevelState | None
    fresh_share: ReachedShare | None
    leak_check: Literal["dry", "leak"] | None
    drive_before: DriveResult | None
    test_drive: DriveResult | None
    arrival: Arrival | None
    fault_codes: FaultCodes
    bench: BenchState | None
    photos: tuple[JobPhoto, ...]
    parts_fitted: tuple[FittedPart, ...]
    tools: tuple[UsedTool, ...]
    consents: tuple[Consent, ...]
    second_checks: tuple[SecondLook, ...]
    samples: tuple[RetainedSample, ...]
    legal_hold: LegalHoldState | None
    standing: Standing
    pauses: tuple[Pause, ...]
    ended: Ended | None
    made_safe: Secured | None
    overridden: tuple[Overridden, ...]
    found_later: tuple[FoundLater, ...]
    acknowledged: tuple[Acknowledged, ...]
    fluids_opened: tuple[OpenedFluid, ...]
    findings: tuple[Finding, ...]

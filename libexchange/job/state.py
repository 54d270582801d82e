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
    """A step that was confirmed, when for the last time, and whether the plan has it."""

    step_id: str
    confirmed_at: Instant
    in_plan: bool


class Acknowledged(Struct, frozen=True, kw_only=True):
    """A caution that someone read and went on with; `qualification` is null where none was told."""

    code: str
    by: Person
    reason: PersonalText
    qualification: PersonalText | None
    acknowledged_at: Instant


class OpenedFluid(Struct, frozen=True, kw_only=True):
    """A container that was opened."""

    fluid_id: str | None
    fluid_kind: str
    lot: str | None
    opened_at: Instant


class JobState(Struct, frozen=True, kw_only=True):
    """What the events of a job tell, whatever order and repetition they arrived in.

    `readings` are the latest of each source; `withdrawn` events stay in the history and count for
    nothing; `open_late_events` came after the close and change nothing but `findings`. `balance`,
    `line_exchange`, `level` and `fresh_share` are null until there is something to tell.
    `test_drive` is the one after the work; `samples` and `legal_hold` go on after the close.
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

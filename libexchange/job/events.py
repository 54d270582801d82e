"""What happens in the bay, as a closed tagged union: `kind` tells which event it is.

Events are only ever added. A wrong one is withdrawn by a `correction` and stays in the history.
"""

from typing import Annotated, Any, TypeAlias

from msgspec import Meta, Struct

from libexchange.fields import Instant
from libexchange.job.course_events import (
    Aborted,
    CautionAcknowledged,
    Correction,
    FindingOverridden,
    LateFinding,
    MadeSafe,
    Paused,
    Resumed,
    Voided,
)
from libexchange.job.custody_events import (
    LegalHold,
    SampleDestroyed,
    SampleDrawn,
    SampleHandedOver,
    SampleSealed,
    SampleSplit,
)
from libexchange.job.event_base import AppVersion, DeviceId, Event, Sequence
from libexchange.job.evidence_events import (
    Arrived,
    BenchChecked,
    ConsentGiven,
    FaultCodesRead,
    PartFitted,
    PhotoTaken,
    SecondCheck,
    ToolUsed,
)
from libexchange.job.work_events import (
    FluidMoved,
    FluidOpened,
    FluidSetAside,
    LeakChecked,
    LevelChecked,
    Note,
    ReadingTaken,
    Started,
    StepConfirmed,
    TestDriven,
    WorkFinished,
)

LARGEST_BATCH = 1000

JobEvent: TypeAlias = (
    Arrived
    | Started
    | FaultCodesRead
    | BenchChecked
    | PhotoTaken
    | PartFitted
    | ToolUsed
    | SecondCheck
    | ConsentGiven
    | StepConfirmed
    | ReadingTaken
    | FluidMoved
    | FluidOpened
    | FluidSetAside
    | LevelChecked
    | LeakChecked
    | TestDriven
    | WorkFinished
    | Note
    | SampleDrawn
    | SampleSplit
    | SampleSealed
    | SampleHandedOver
    | SampleDestroyed
    | LegalHold
    | CautionAcknowledged
    | FindingOverridden
    | Paused
    | Resumed
    | Aborted
    | MadeSafe
    | Voided
    | Correction
    | LateFinding
)
"""Every kind of event."""


class DeviceEvent(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An event and the device that recorded it: what a job folds from.

    device_id: the device that recorded it    event: as it was recorded
    """

    device_id: DeviceId
    event: JobEvent


class EventBatch(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What a device sends at once, up to 1,000 events.

    The items stay undecoded: each is decoded as a `JobEvent` by itself, so that a bad one is
    refused alone.
    app_version: of the program that recorded them
    """

    device_id: DeviceId
    sent_at: Instant
    app_version: AppVersion | None = None
    events: Annotated[list[Any], Meta(max_length=LARGEST_BATCH)]


__all__ = [
    "LARGEST_BATCH",
    "Aborted",
    "AppVersion",
    "Arrived",
    "BenchChecked",
    "CautionAcknowledged",
    "ConsentGiven",
    "Correction",
    "DeviceEvent",
    "DeviceId",
    "Event",
    "EventBatch",
    "FaultCodesRead",
    "FindingOverridden",
    "FluidMoved",
    "FluidOpened",
    "FluidSetAside",
    "JobEvent",
    "LateFinding",
    "LeakChecked",
    "LegalHold",
    "LevelChecked",
    "MadeSafe",
    "Note",
    "PartFitted",
    "Paused",
    "PhotoTaken",
    "ReadingTaken",
    "Resumed",
    "SampleDestroyed",
    "SampleDrawn",
    "SampleHandedOver",
    "SampleSealed",
    "SampleSplit",
    "SecondCheck",
    "Sequence",
    "Started",
    "StepConfirmed",
    "TestDriven",
    "ToolUsed",
    "Voided",
    "WorkFinished",
]

"""What can stand against accepting a job: the finding codes of `verdict`."""

from libexchange.findings import COMMON_PRACTICE, Kind
from libexchange.job import custody_findings
from libexchange.job.course_findings import STILL_TO_DO
from libexchange.job.high_voltage import NOT_ACKNOWLEDGED as NOT_QUALIFIED
from libexchange.job.history import EVENT_AFTER_CLOSE
from libexchange.job.late_told import FOUND_AFTER_CLOSE
from libexchange.job.level_doubts import LEAK_AFTER_LOOK, STUCK_AT_LOOK
from libexchange.job.looks import LevelStanding
from libexchange.job.order import FINISHED_EARLY
from libexchange.used_fluid_findings import LATE

PLAN_BARRED = Kind(
    code="work-without-feasible-plan",
    severity="stop",
    title="The plan itself says that the work must not be done",
    remedy="Make a new plan once its reasons are dealt with.",
    source=COMMON_PRACTICE,
)
WORK_NOT_FINISHED = Kind(
    code="work-not-finished",
    severity="stop",
    title="The bay has not said that the work is finished",
    remedy="Finish the steps and post work_finished.",
    source=COMMON_PRACTICE,
)
STEPS_UNCONFIRMED = Kind(
    code="steps-unconfirmed",
    severity="stop",
    title="Steps of the plan were not confirmed",
    remedy="Confirm what was done; do what was not.",
    source=COMMON_PRACTICE,
)
ROUTE_DEPARTED = Kind(
    code="route-departed",
    severity="caution",
    title="The work departed from the plan",
    remedy="Note why, who decided it and who was told.",
    source=COMMON_PRACTICE,
)
LEVEL_NOT_SET = Kind(
    code="level-not-set",
    severity="stop",
    title="The fluid level is not set",
    remedy="Look at the level in its temperature window, correct it, and look again.",
    source=COMMON_PRACTICE,
)
LEVEL_NOT_KNOWN = Kind(
    code="level-not-known",
    severity="stop",
    title="The fluid level is not known",
    remedy="Hold the release. Nobody hands over a vehicle whose level is not known.",
    source=COMMON_PRACTICE,
)
LEAK_NOT_CHECKED = Kind(
    code="leak-not-checked",
    severity="stop",
    title="Nobody has looked for leaks",
    remedy="Dry the area, idle at working temperature, look again and record it.",
    source=COMMON_PRACTICE,
)
LEAK_FOUND = Kind(
    code="leak-found",
    severity="stop",
    title="The unit leaks",
    remedy="Repair it, set the level again and repeat the leak check.",
    source=COMMON_PRACTICE,
)
NOT_DRIVEN = Kind(
    code="test-drive-missing",
    severity="stop",
    title="The vehicle was not driven after the work",
    remedy="Drive gently through all gears and reverse, read fault codes and record it.",
    source=COMMON_PRACTICE,
)
DRIVE_COMPLAINT = Kind(
    code="test-drive-complaint",
    severity="stop",
    title="The test drive brought a complaint",
    remedy="Check the level again and diagnose before the vehicle is handed over.",
    source=COMMON_PRACTICE,
)
NOTHING_MEASURED = Kind(
    code="litres-not-recorded",
    severity="stop",
    title="What went in and came out was not recorded",
    remedy="Record every litre by meter or by weight.",
    source=COMMON_PRACTICE,
)
FLUID_NOT_TOLD = Kind(
    code="fluid-not-told",
    severity="stop",
    title="Fluid went in and nobody has told from which container",
    remedy="Read the container and post fluid_opened with its kind and lot. Where it is gone: "
    "drain and refill with a known fluid.",
    source=COMMON_PRACTICE,
)
NOT_ACKNOWLEDGED = Kind(
    code="caution-not-acknowledged",
    severity="stop",
    title="A caution of the plan was not acknowledged",
    remedy="Say who goes on with the work and why, or do not go on.",
    source=COMMON_PRACTICE,
)
UNDER_CAUTION = Kind(
    code="worked-under-caution",
    severity="caution",
    title="The work went on under a caution",
    remedy="Tell the customer what the caution was.",
    source=COMMON_PRACTICE,
)
MAY_NOT_DRIVE = Kind(
    code="vehicle-may-not-drive",
    severity="stop",
    title="The vehicle may not be driven as it stands",
    remedy="Do what stands under make_safe. Where it leaves on a trailer, post made_safe with tow.",
    source=COMMON_PRACTICE,
)
KINDS = (
    PLAN_BARRED, WORK_NOT_FINISHED, STEPS_UNCONFIRMED, ROUTE_DEPARTED, LEVEL_NOT_SET,
    LEVEL_NOT_KNOWN, LEAK_NOT_CHECKED, LEAK_FOUND, NOT_DRIVEN, DRIVE_COMPLAINT, NOTHING_MEASURED,
    FLUID_NOT_TOLD, NOT_ACKNOWLEDGED, UNDER_CAUTION, MAY_NOT_DRIVE,
)  # fmt: skip
"""Every finding code of a verdict."""

MISSING = (
    WORK_NOT_FINISHED, STEPS_UNCONFIRMED, LEVEL_NOT_SET, LEAK_NOT_CHECKED, NOT_DRIVEN,
    NOTHING_MEASURED, FLUID_NOT_TOLD, NOT_ACKNOWLEDGED, MAY_NOT_DRIVE, FINISHED_EARLY,
    LEAK_AFTER_LOOK, STUCK_AT_LOOK, NOT_QUALIFIED, *STILL_TO_DO,
)  # fmt: skip
"""What is still to be done; on its own it leaves a job incomplete rather than refused."""

TELL_ONLY = frozenset(
    {
        EVENT_AFTER_CLOSE.code,
        FOUND_AFTER_CLOSE.code,
        LATE.code,
        *(kind.code for kind in custody_findings.KINDS),
    }
)
"""Codes that are told and change no verdict."""

LEVEL_BY_STANDING: dict[LevelStanding, Kind] = {
    "not_set": LEVEL_NOT_SET,
    "not_known": LEVEL_NOT_KNOWN,
    "stopped": LEVEL_NOT_KNOWN,
}
"""What each standing of the level says against the work; the others say nothing."""

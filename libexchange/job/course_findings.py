"""What the course of a job says against it: ends, pauses and what people said of the fluid."""

from collections.abc import Iterator
from typing import NamedTuple

from msgspec.structs import replace

from libexchange.findings import COMMON_PRACTICE, Finding, Kind
from libexchange.job.checked_since import CheckedSince
from libexchange.job.course import Ended, Overridden, Pause, Secured
from libexchange.job.course_events import FluidIn
from libexchange.job.standing import Standing

JOB_ABORTED = Kind(
    code="job-aborted",
    severity="stop",
    title="The work was ended before the plan was through",
    remedy="Make the vehicle safe, tell the customer what was done and what was not.",
    source=COMMON_PRACTICE,
)
MAKE_SAFE_MISSING = Kind(
    code="make-safe-missing",
    severity="stop",
    title="The work was ended and nobody made the vehicle safe",
    remedy="Do what stands under make_safe, then post made_safe with what the vehicle may do.",
    source=COMMON_PRACTICE,
)
JOB_VOIDED = Kind(
    code="job-voided",
    severity="stop",
    title="The job was opened in error",
    remedy="Close it as it is; a job of the right vehicle gets its own plan.",
    source=COMMON_PRACTICE,
)
VOIDED_WITH_WORK = Kind(
    code="voided-with-work-done",
    severity="stop",
    title="The job was voided although something was opened or fluid was moved",
    remedy="The used oil and the opened container are real: withdraw the void by a correction and "
    "abort the job instead, or withdraw what belongs to another vehicle.",
    source=COMMON_PRACTICE,
)
FLUID_TOLD_DIFFERS = Kind(
    code="fluid-in-told-differently",
    severity="caution",
    title="What was said of the fluid is not what the litres tell",
    remedy="Look again before the engine is started; correct what was entered wrong.",
    source=COMMON_PRACTICE,
)
DRIVE_UNKNOWN = Kind(
    code="drive-without-known-level",
    severity="stop",
    title="A vehicle was let go on its wheels without its fluid at a known level",
    remedy="Do not drive it: set the level, or tow.",
    source=COMMON_PRACTICE,
)
PAUSE_NOT_ENDED = Kind(
    code="pause-never-ended",
    severity="note",
    title="The work was finished in a pause that nobody ended",
    remedy="Post resumed with who took the vehicle over, and when.",
    source=COMMON_PRACTICE,
)
STOP_OVERRIDDEN = Kind(
    code="stop-overridden",
    severity="caution",
    title="A person answers for going on against a stop",
    remedy="Tell the customer on the first page of the record what it was and who decided.",
    source=COMMON_PRACTICE,
)
OVERRIDE_NOT_ALLOWED = Kind(
    code="override-not-allowed",
    severity="caution",
    title="An override does not count",
    remedy="The stop stands. Deal with its reason; where somebody may answer for it, post that "
    "after it was found, acknowledged by another person.",
    source=COMMON_PRACTICE,
)
OVERRIDE_OF_NOTHING = Kind(
    code="override-of-nothing",
    severity="note",
    title="Something was overridden that was not found",
    remedy="Check the code; withdraw the override by a correction if it was a slip.",
    source=COMMON_PRACTICE,
)
KINDS = (
    JOB_ABORTED, MAKE_SAFE_MISSING, JOB_VOIDED, VOIDED_WITH_WORK, FLUID_TOLD_DIFFERS, DRIVE_UNKNOWN,
    PAUSE_NOT_ENDED, STOP_OVERRIDDEN, OVERRIDE_NOT_ALLOWED, OVERRIDE_OF_NOTHING,
)  # fmt: skip
"""Every finding code of the course of a job."""

STILL_TO_DO = (JOB_ABORTED, JOB_VOIDED)
"""What leaves a job incomplete rather than refused."""


class CourseFacts(NamedTuple):
    """What the findings are told from.

    told_in: the fluid that is in, by the litres    checked: what was checked since the last opening
    work_done: what was opened or moved    finished: the bay said so
    """

    ended: Ended | None
    secured: Secured | None
    last_pause: Pause | None
    standing: Standing
    told_in: FluidIn
    checked: CheckedSince
    work_done: tuple[str, ...]
    finished: bool


def course_findings(facts: CourseFacts) -> list[Finding]:
    """What the course of a job says against it. Source: common practice."""
    return [*_ends(facts), *_said(facts), *_paused(facts), *_let_go(facts)]


def _ends(facts: CourseFacts) -> Iterator[Finding]:
    if facts.ended is None:
        return
    voided = facts.ended.kind == "voided"
    at = facts.ended.at.isoformat(timespec="seconds")
    yield (JOB_VOIDED if voided else JOB_ABORTED).at("#/ended", f"Ended at {at}.")
    if voided and facts.work_done:
        yield VOIDED_WITH_WORK.at("#/ended", f"In this job: {', '.join(facts.work_done)}.")
    if not voided and facts.work_done and facts.secured is None:
        first = facts.standing.first
        yield MAKE_SAFE_MISSING.at("#/standing", first.text, values={"first": first.action})


def _said(facts: CourseFacts) -> Iterator[Finding]:
    """What was said last of the fluid, against what the litres tell."""
    pause = facts.last_pause
    told = [("#/made_safe", facts.secured.fluid_in)] if facts.secured else []
    if not told and pause is not None and pause.resumed_at is None:
        told = [("#/pauses", pause.fluid_in)]
    for pointer, said in told:
        litres = facts.told_in
        if "not_known" not in (said, litres) and said != litres:
            text = f"Said: {said}; by the litres: {litres}."
            yield FLUID_TOLD_DIFFERS.at(pointer, text, values={"said": said, "litres": litres})


def _paused(facts: CourseFacts) -> Iterator[Finding]:
    pause = facts.last_pause
    if facts.finished and pause is not None and pause.resumed_at is None:
        at = pause.paused_at.isoformat(timespec="seconds")
        yield PAUSE_NOT_ENDED.at("#/pauses", f"Paused at {at}.")


def _let_go(facts: CourseFacts) -> Iterator[Finding]:
    safe = facts.secured
    if safe is None or safe.vehicle != "drive":
        return
    if not facts.standing.may_drive or safe.fluid_in != "all":
        told = facts.standing
        text = (
            f"Fluid in: {told.fluid_in}; level known: {told.level_known}; may run: {told.may_run}."
        )
        yield DRIVE_UNKNOWN.at("#/made_safe", text)


def answered(findings: list[Finding], overrides: tuple[Overridden, ...]) -> list[Finding]:
    """The findings with stops that somebody may answer for, and does, as cautions."""
    stops = {one.code for one in findings if one.severity == "stop"}
    told = [_told(number, one, stops) for number, one in enumerate(overrides)]
    return [*(_lighter(one, overrides) for one in findings), *told]


def _lighter(finding: Finding, overrides: tuple[Overridden, ...]) -> Finding:
    codes = {one.code for one in overrides if one.allowed}
    if finding.severity != "stop" or finding.code not in codes:
        return finding
    return replace(finding, severity="caution")


def _told(number: int, one: Overridden, stops: set[str]) -> Finding:
    """What became of an override."""
    pointer, values = f"#/overridden/{number}", {"code": one.code}
    if one.code not in stops:
        return OVERRIDE_OF_NOTHING.at(pointer, f"{one.code} stops nothing.", values=values)
    if not one.allowed:
        return OVERRIDE_NOT_ALLOWED.at(pointer, f"{one.code} stands.", values=values)
    return STOP_OVERRIDDEN.at(pointer, f"{one.code} was answered for.", values=values)

"""Who may work where orange cables carry dangerous voltage: said by name before the opening."""

from libexchange.findings import COMMON_PRACTICE, Finding, Kind
from libexchange.job.checked_since import THROUGH_OPENINGS
from libexchange.job.events import (
    CautionAcknowledged,
    FluidMoved,
    JobEvent,
    LevelChecked,
    PartFitted,
    SampleDrawn,
)
from libexchange.job.history import History
from libexchange.job.open_now import BEFORE_OPENING, OPENS
from libexchange.plan.cautions import HIGH_VOLTAGE, carries_high_voltage
from libexchange.plan.records import Plan, StepKind

NOT_ACKNOWLEDGED = Kind(
    code="high-voltage-not-acknowledged",
    severity="stop",
    title="Nobody qualified for high voltage has said so",
    remedy="Open nothing. Post caution_acknowledged of high-voltage with who works on it and the "
    "qualification; without one the vehicle goes to somebody who has it.",
    source=COMMON_PRACTICE,
)
OPENED_UNQUALIFIED = Kind(
    code="high-voltage-opened-unqualified",
    severity="stop",
    title="A vehicle with high voltage was opened before anybody qualified was named",
    remedy="Stop the work. Have a person qualified for high voltage look at the vehicle by the "
    "maker's procedure before anybody goes on.",
    source=COMMON_PRACTICE,
)
KINDS = (NOT_ACKNOWLEDGED, OPENED_UNQUALIFIED)
"""Every finding code of high voltage."""


def high_voltage_findings(plan: Plan, history: History) -> list[Finding]:
    """What is to be said where a plan tells of high voltage; once opened, no word mends it.

    Source: common practice.

    >>> from libexchange.invented import routine_plan
    >>> from libexchange.job.history import history_of
    >>> high_voltage_findings(routine_plan(), history_of([]))
    []
    """
    if not carries_high_voltage(plan):
        return []
    steps = {step.step_id: step.kind for step in plan.steps}
    for event in history.in_force:
        if _qualified(event):
            return []
        if _opens(event, steps):
            at = event.occurred_at.isoformat(timespec="seconds")
            text = f"The first opening was told of {at}."
            return [OPENED_UNQUALIFIED.at("#/acknowledged", text)]
    return [NOT_ACKNOWLEDGED.at("#/acknowledged", "Nothing was opened so far.")]


def _qualified(event: JobEvent) -> bool:
    return (
        isinstance(event, CautionAcknowledged)
        and event.code == HIGH_VOLTAGE
        and event.qualification is not None
    )


def _opens(event: JobEvent, steps: dict[str, StepKind]) -> bool:
    """Whether it cannot be told of unless something was opened."""
    if isinstance(event, LevelChecked):
        return event.method in THROUGH_OPENINGS
    if isinstance(event, FluidMoved | PartFitted | SampleDrawn):
        return True
    begun = steps.get(event.step_id or "") in OPENS
    return begun and not isinstance(event, BEFORE_OPENING)

"""The fluid that was opened against the fluid that was planned."""

from collections.abc import Iterable

from libexchange.findings import COMMON_PRACTICE, MAKER_DATA, Finding, Kind
from libexchange.job.events import FluidOpened
from libexchange.plan.records import Plan

FLUID_KIND_DIFFERS = Kind(
    code="fluid-opened-of-other-kind",
    severity="stop",
    title="A fluid of another kind than the transmission takes was opened",
    remedy="Do not fill it in. Where it has gone in: do not start, drain that space, keep a "
    "sample and refill with the right fluid.",
    source=MAKER_DATA,
)
FLUID_PRODUCT_DIFFERS = Kind(
    code="fluid-opened-not-planned",
    severity="caution",
    title="Another fluid than the planned one was opened",
    remedy="Check its approval for this transmission and note why it was chosen.",
    source=COMMON_PRACTICE,
)
KINDS = (FLUID_KIND_DIFFERS, FLUID_PRODUCT_DIFFERS)
"""Every finding code of fluid opened."""


def opened_findings(plan: Plan, opened: Iterable[FluidOpened]) -> list[Finding]:
    """What is wrong with the containers opened: another kind, or another product."""
    kinds, planned_id = kinds_taken(plan), _planned_id(plan)
    findings = []
    for number, one in enumerate(opened):
        pointer = f"#/fluids_opened/{number}"
        if kinds and one.fluid_kind not in kinds:
            text = f"{one.fluid_kind} was opened; the transmission takes {', '.join(kinds)}."
            values = {"opened": one.fluid_kind, "planned": ", ".join(kinds)}
            findings.append(FLUID_KIND_DIFFERS.at(pointer, text, values=values))
        elif planned_id and one.fluid_id and one.fluid_id != planned_id:
            text = f"{one.fluid_id} was opened; {planned_id} was planned."
            values = {"opened": one.fluid_id, "planned": planned_id}
            findings.append(FLUID_PRODUCT_DIFFERS.at(pointer, text, values=values))
    return findings


def kinds_taken(plan: Plan) -> tuple[str, ...]:
    """The kinds the transmission takes; where none is known, those of the planned fluid."""
    if plan.offline_card and plan.offline_card.fluid_kinds:
        return plan.offline_card.fluid_kinds
    return plan.request.fluid.kinds if plan.request.fluid else ()


def _planned_id(plan: Plan) -> str | None:
    return plan.request.fluid.fluid_id if plan.request.fluid else plan.request.fluid_id

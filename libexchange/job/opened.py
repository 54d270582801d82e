"""The fluid that was opened against the fluid that was planned."""

from collections.abc import Sequence

from libexchange.findings import COMMON_PRACTICE, MAKER_DATA, Finding, Kind
from libexchange.job.events import FluidOpened
from libexchange.job.history import History
from libexchange.job.set_aside import set_aside
from libexchange.plan.records import Plan

FLUID_KIND_DIFFERS = Kind(
    code="fluid-opened-of-other-kind",
    severity="stop",
    title="A fluid of another kind than the transmission takes was opened",
    remedy="Do not fill it in, and post that it was set aside. Where it has gone in: do not start, "
    "drain that space, keep a sample and refill with the right fluid; then post that it was set "
    "aside and drained, and have somebody else check the fluid.",
    source=MAKER_DATA,
)
FLUID_SET_ASIDE = Kind(
    code="fluid-of-other-kind-set-aside",
    severity="caution",
    title="A fluid of another kind was opened and set aside",
    remedy="Label the container and note its lot. Where some of it had gone in, keep a sample of "
    "what was drained and check the fluid again soon.",
    source=COMMON_PRACTICE,
)
FLUID_PRODUCT_DIFFERS = Kind(
    code="fluid-opened-not-planned",
    severity="caution",
    title="Another fluid than the planned one was opened",
    remedy="Check its approval for this transmission and note why it was chosen.",
    source=COMMON_PRACTICE,
)
KINDS = (FLUID_KIND_DIFFERS, FLUID_SET_ASIDE, FLUID_PRODUCT_DIFFERS)
"""Every finding code of fluid opened."""


def opened_findings(plan: Plan, history: History) -> list[Finding]:
    """What is wrong with the containers opened: another kind, or another product."""
    kinds, planned_id = kinds_taken(plan), _planned_id(plan)
    findings = []
    for number, one in enumerate(history.of(FluidOpened)):
        pointer = f"#/fluids_opened/{number}"
        if kinds and one.fluid_kind not in kinds:
            findings.append(_other_kind(pointer, one, kinds, history))
        elif planned_id and one.fluid_id and one.fluid_id != planned_id:
            text = f"{one.fluid_id} was opened; {planned_id} was planned."
            values = {"opened": one.fluid_id, "planned": planned_id}
            findings.append(FLUID_PRODUCT_DIFFERS.at(pointer, text, values=values))
    return findings


def _other_kind(pointer: str, one: FluidOpened, kinds: Sequence[str], history: History) -> Finding:
    planned, told = ", ".join(kinds), set_aside(history, one)
    text = f"{one.fluid_kind} was opened; the transmission takes {planned}."
    values = {"opened": one.fluid_kind, "planned": planned}
    if told is not None and told.counts:
        became = told.became.replace("_", " ")
        text = f"{text} It was set aside: {became}."
        return FLUID_SET_ASIDE.at(pointer, text, values=values | {"became": told.became})
    if told is not None:
        text = f"{text} That it was set aside does not count: {told.against}."
    return FLUID_KIND_DIFFERS.at(pointer, text, values=values)


def kinds_taken(plan: Plan) -> tuple[str, ...]:
    """The kinds the transmission takes; where none is known, those of the planned fluid."""
    if plan.offline_card and plan.offline_card.fluid_kinds:
        return plan.offline_card.fluid_kinds
    return plan.request.fluid.kinds if plan.request.fluid else ()


def _planned_id(plan: Plan) -> str | None:
    return plan.request.fluid.fluid_id if plan.request.fluid else plan.request.fluid_id

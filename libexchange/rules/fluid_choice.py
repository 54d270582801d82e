"""Rules on which fluid goes in."""

from libexchange.findings import COMMON_PRACTICE, MAKER_DATA, Finding, Kind, Rule
from libexchange.plan.priors import TYPICAL_DENSITY_15_KG_M3
from libexchange.rules.facts import PlanFacts, transmission_pointer

FLUID_NOT_NAMED = Kind(
    code="fluid-not-named",
    severity="caution",
    title="No fluid is named",
    remedy="Name the fluid that the maker approves for this transmission before the job starts.",
    source=MAKER_DATA,
)
FLUID_NOT_APPROVED = Kind(
    code="fluid-not-approved",
    severity="stop",
    title="The fluid is not of a kind that the transmission takes",
    remedy="Choose a fluid approved for this transmission; fluids of different kinds bear similar "
    "names.",
    source=MAKER_DATA,
)
FLUID_APPROVAL_UNKNOWN = Kind(
    code="fluid-approval-unknown",
    severity="caution",
    title="Which fluid kinds the transmission takes is not known",
    remedy="Take the approved kinds from the maker's data and complete the catalogue entry; "
    "a label that claims to fit everything is no approval.",
    source=MAKER_DATA,
)
DENSITY_ASSUMED = Kind(
    code="density-assumed",
    severity="note",
    title="The density of the fluid is assumed",
    remedy="Enter the density at 15 °C from the fluid's data sheet.",
    source=COMMON_PRACTICE,
)


def fluid_not_named(facts: PlanFacts) -> list[Finding]:
    """A plan without a fluid can be computed but not worked from."""
    if facts.fluid is not None:
        return []
    return [FLUID_NOT_NAMED.at("#/fluid_id", "The request names no fluid.")]


def fluid_not_approved(facts: PlanFacts) -> list[Finding]:
    """The fluid must share a kind with the transmission."""
    wanted = facts.transmission.fluid_kinds
    if facts.fluid is None or not wanted or set(wanted) & set(facts.fluid.kinds):
        return []
    offered = ", ".join(facts.fluid.kinds) or "no kind"
    message = f"The fluid is {offered}; the transmission takes {', '.join(wanted)}."
    values = {"fluid_kinds": offered, "transmission_kinds": ", ".join(wanted)}
    return [FLUID_NOT_APPROVED.at(_pointer(facts), message, values=values)]


def fluid_approval_unknown(facts: PlanFacts) -> list[Finding]:
    """A profile without fluid kinds approves nothing."""
    if facts.transmission.fluid_kinds:
        return []
    message = "The transmission's record lists no fluid kind."
    return [FLUID_APPROVAL_UNKNOWN.at(transmission_pointer(facts, "fluid_kinds"), message)]


def density_assumed(facts: PlanFacts) -> list[Finding]:
    """Without the fluid's own density a typical one is used, and said so."""
    if facts.fluid is not None and facts.fluid.density_15 is not None:
        return []
    message = f"{TYPICAL_DENSITY_15_KG_M3:g} kg/m3 at 15 °C is used."
    values = {"density_15_kg_m3": TYPICAL_DENSITY_15_KG_M3}
    return [DENSITY_ASSUMED.at(_pointer(facts), message, values=values)]


def _pointer(facts: PlanFacts) -> str:
    return "#/fluid" if facts.request.fluid is not None else "#/fluid_id"


RULES: tuple[Rule[PlanFacts], ...] = (
    Rule(kind=FLUID_NOT_NAMED, check=fluid_not_named),
    Rule(kind=FLUID_NOT_APPROVED, check=fluid_not_approved),
    Rule(kind=FLUID_APPROVAL_UNKNOWN, check=fluid_approval_unknown),
    Rule(kind=DENSITY_ASSUMED, check=density_assumed),
)
"""The rules on the fluid, in the order they are reported."""

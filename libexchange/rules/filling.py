"""Rules on how much the unit holds and how much leaves it."""

from libexchange.circuit import all_old, ceiling
from libexchange.findings import COMMON_PRACTICE, Finding, Kind, Rule, Severity
from libexchange.plan.priors import CONVERTER_FAMILIES
from libexchange.plan.unit import LARGEST_SUMP_SHARE, refill_l, shares_sum, shares_usable
from libexchange.rules.facts import PlanFacts, transmission_pointer

DRY_FILL_BELOW_SERVICE_FILL = Kind(
    code="dry-fill-below-service-fill",
    severity="stop",
    title="The total fill is not above the drained amount",
    remedy="Check which of the two is the dry fill and which the service fill, in the maker's "
    "data; a dry fill poured in as service fill over-fills the unit by litres.",
    source=COMMON_PRACTICE,
)
DRAINED_SHARE_UNUSUAL = Kind(
    code="drained-share-unusual",
    severity="caution",
    title="The drained amount is an unusual part of the total fill",
    remedy="Check total and drained amount, and the units they were given in, against the maker's "
    "data.",
    source=COMMON_PRACTICE,
)
NOT_REFILLED_L = 0.05
"""So far below the drained amount a refill shows in tenths of a litre [L]."""

DRAINED_NOT_USED = Kind(
    code="drained-amount-not-used",
    severity="caution",
    title="Less is planned to be refilled than the stated drained amount",
    remedy="Check total, drained amount and shares against the maker's data; refill what came out, "
    "measured.",
    source="computed from the profile",
)
TOTAL_FILL_UNUSUAL = Kind(
    code="total-fill-unusual",
    severity="stop",
    title="The total fill is outside what a transmission holds",
    remedy="Check the number and its unit: 0.5 to 500 L can be planned.",
    source=COMMON_PRACTICE,
)
SHARES_DO_NOT_SUM = Kind(
    code="compartment-shares-do-not-sum",
    severity="caution",
    title="The compartment shares do not sum to one",
    remedy="Correct the shares in the catalogue; typical shares of the family were used instead.",
    source="arithmetic",
)
CONVERTER_CONTRADICTS = Kind(
    code="converter-volume-contradicts-profile",
    severity="caution",
    title="The converter volume does not fit the rest of the profile",
    remedy="Check the converter volume in the maker's data; published figures often mix converter "
    "and total fill.",
    source=COMMON_PRACTICE,
)
TARGET_ABOVE_CEILING = Kind(
    code="target-above-ceiling",
    severity="caution",
    title="The target cannot be reached however many litres are used",
    remedy="Lower the target, or plan a second visit after driving.",
    source="fluid that no flow reaches stays old: ceiling = 1 - stranded / total",
)


def dry_fill_below_service_fill(facts: PlanFacts) -> list[Finding]:
    """The drained amount must be less than the total."""
    total_l, drained_l = facts.transmission.total.l, facts.transmission.drained.l
    if drained_l < total_l:
        return []
    message = f"Total {total_l:g} L, drained {drained_l:g} L."
    values = {"total_l": total_l, "drained_l": drained_l}
    return [
        DRY_FILL_BELOW_SERVICE_FILL.at(
            transmission_pointer(facts, "drained"), message, values=values
        )
    ]


def drained_share_unusual(facts: PlanFacts) -> list[Finding]:
    """A drain between a quarter and 85 % of the total is usual."""
    total_l, drained_l = facts.transmission.total.l, facts.transmission.drained.l
    usual = 0.25 * total_l <= drained_l <= _most_drained(facts) * total_l + 1e-9
    if usual or drained_l >= total_l:
        return []
    share = drained_l / total_l
    message = f"{drained_l:g} L of {total_l:g} L is a share of {share:.2f}."
    values = {"total_l": total_l, "drained_l": drained_l, "share": share}
    severity: Severity = "caution" if drained_l else "stop"  # nothing drained cannot be computed
    pointer = transmission_pointer(facts, "drained")
    return [DRAINED_SHARE_UNUSUAL.at(pointer, message, values=values, severity=severity)]


def drained_not_used(facts: PlanFacts) -> list[Finding]:
    """A sump that is too small for the drained amount gives less, and that is said."""
    if facts.unit is None:
        return []
    drained_l, planned_l = (
        facts.transmission.drained.l,
        refill_l(facts.unit.circuit, facts.unit.by_plug),
    )
    if planned_l >= drained_l - NOT_REFILLED_L:
        return []
    message = f"Stated are {drained_l:.1f} L; {planned_l:.1f} L fit the sump and are planned."
    values = {"drained_l": drained_l, "planned_l": planned_l}
    pointer = transmission_pointer(facts, "drained")
    return [DRAINED_NOT_USED.at(pointer, message, values=values)]


def total_fill_unusual(facts: PlanFacts) -> list[Finding]:
    """The computation covers 0.5 to 500 L."""
    total_l = facts.transmission.total.l
    if 0.5 <= total_l <= 500:
        return []
    message = f"Total {total_l:g} L."
    return [
        TOTAL_FILL_UNUSUAL.at(
            transmission_pointer(facts, "total"), message, values={"total_l": total_l}
        )
    ]


def shares_do_not_sum(facts: PlanFacts) -> list[Finding]:
    """Shares of a profile sum to 1 within 0.02."""
    shares = facts.transmission.shares
    if shares is None or shares_usable(facts.transmission):
        return []
    total = shares_sum(shares)
    message = f"The five shares sum to {total:g}."
    return [
        SHARES_DO_NOT_SUM.at(transmission_pointer(facts, "shares"), message, values={"sum": total})
    ]


def converter_contradicts(facts: PlanFacts) -> list[Finding]:
    """A stated converter volume must fit the shares, the family and what the drain leaves."""
    transmission = facts.transmission
    if transmission.converter is None:
        return []
    converter_l = transmission.converter.l
    reason = _converter_contradiction(facts, converter_l)
    if reason is None:
        return []
    values = {"converter_l": converter_l, "total_l": transmission.total.l}
    return [
        CONVERTER_CONTRADICTS.at(transmission_pointer(facts, "converter"), reason, values=values)
    ]


def _converter_contradiction(facts: PlanFacts, converter_l: float) -> str | None:
    transmission = facts.transmission
    room_l = transmission.total.l - transmission.drained.l
    if converter_l > room_l:
        return f"Converter {converter_l:g} L, but only {max(room_l, 0):.2f} L stay after a drain."
    if transmission.shares is not None:
        expected_l = transmission.shares.converter * transmission.total.l
        if abs(converter_l - expected_l) > 0.5:
            return f"Converter {converter_l:g} L, but its share says {expected_l:.2f} L."
    elif converter_l > 0 and transmission.family not in CONVERTER_FAMILIES:
        return f"Converter {converter_l:g} L on a family that usually has none."
    return None


def target_above_ceiling(facts: PlanFacts) -> list[Finding]:
    """No number of litres reaches fluid that no flow reaches."""
    if facts.unit is None or facts.target_share is None:
        return []
    circuit = facts.unit.circuit
    limit = ceiling(circuit=circuit, state=all_old(circuit))
    if facts.target_share < limit:
        return []
    message = ceiling_text(target=facts.target_share, ceiling=limit)
    values = {"target_fresh_share": facts.target_share, "ceiling": limit}
    return [TARGET_ABOVE_CEILING.at("#/target_fresh_share", message, values=values)]


def ceiling_text(*, target: float, ceiling: float) -> str:
    """A target and the ceiling that it is not below, in as many digits as tell them apart.

    >>> ceiling_text(target=0.9999, ceiling=0.9998)
    'The target is 0.9999, the ceiling 0.9998.'
    >>> ceiling_text(target=1, ceiling=1)
    'The target is 1, the ceiling 1, which is approached and never reached.'
    """
    for digits in range(3, 10):
        told, limit = f"{target:.{digits}g}", f"{ceiling:.{digits}g}"
        if told != limit:
            return f"The target is {told}, the ceiling {limit}."
    return f"The target is {told}, the ceiling {limit}, which is approached and never reached."


def _most_drained(facts: PlanFacts) -> float:
    return LARGEST_SUMP_SHARE if facts.transmission.family == "power_split_hybrid" else 0.85


RULES: tuple[Rule[PlanFacts], ...] = (
    Rule(kind=DRY_FILL_BELOW_SERVICE_FILL, check=dry_fill_below_service_fill),
    Rule(kind=DRAINED_SHARE_UNUSUAL, check=drained_share_unusual),
    Rule(kind=DRAINED_NOT_USED, check=drained_not_used),
    Rule(kind=TOTAL_FILL_UNUSUAL, check=total_fill_unusual),
    Rule(kind=SHARES_DO_NOT_SUM, check=shares_do_not_sum),
    Rule(kind=CONVERTER_CONTRADICTS, check=converter_contradicts),
    Rule(kind=TARGET_ABOVE_CEILING, check=target_above_ceiling),
)
"""The rules on filling, in the order they are reported."""

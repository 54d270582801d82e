"""Rules on the vehicle's earlier services and its state on arrival."""

from libexchange.findings import COMMON_PRACTICE, Finding, Kind, Rule
from libexchange.rules.facts import PlanFacts

ODOMETER_BELOW_LAST_SERVICE = Kind(
    code="odometer-below-last-service",
    severity="caution",
    title="The odometer is lower than at the last service",
    remedy="Check both readings and their units; note a replaced instrument cluster.",
    source=COMMON_PRACTICE,
)
SERVICE_BEFORE_LAST_SERVICE = Kind(
    code="service-not-after-last-service",
    severity="caution",
    title="The service date is not after the last service",
    remedy="Check both dates; after a visit on the same day the fluid is no longer all old.",
    source=COMMON_PRACTICE,
)
LEVEL_WRONG_ON_ARRIVAL = Kind(
    code="level-wrong-on-arrival",
    severity="caution",
    title="The level was not right on arrival",
    remedy="Set the level and drive before anything else, and note the state on arrival.",
    source=COMMON_PRACTICE,
)
FILLED_AFTER_REPAIR = Kind(
    code="filled-after-repair",
    severity="stop",
    title="A repaired or replaced unit is filled by the maker's filling procedure",
    remedy="Use the maker's procedure for a dry or partly dry unit; this is no fluid exchange.",
    source=COMMON_PRACTICE,
)
LITRES_BEYOND_USE = Kind(
    code="litres-beyond-use",
    severity="caution",
    title="The fixed litres are more than three total fills",
    remedy="Check the number and its unit; the last litres renew next to nothing.",
    source=COMMON_PRACTICE,
)


EARLIER_SHARE_NOT_USED = Kind(
    code="earlier-fresh-share-not-used",
    severity="note",
    title="The share renewed at the last service is not used in the forecast",
    remedy="The forecast takes all fluid as old; after a recent service less need be renewed.",
    source=COMMON_PRACTICE,
)
NO_LITRES_FIXED = Kind(
    code="fixed-litres-are-zero",
    severity="caution",
    title="The litres of line exchange are fixed at nothing",
    remedy="Leave them out to have them computed, or give the litres.",
    source=COMMON_PRACTICE,
)


def odometer_below_last_service(facts: PlanFacts) -> list[Finding]:
    """An odometer does not run backwards."""
    last, now = facts.request.last_service, facts.request.vehicle.odometer
    if last is None or last.odometer is None or now is None or now.km >= last.odometer.km:
        return []
    message = f"Now {now.km:.0f} km, at the last service {last.odometer.km:.0f} km."
    values = {"odometer_km": now.km, "last_odometer_km": last.odometer.km}
    return [ODOMETER_BELOW_LAST_SERVICE.at("#/vehicle/odometer", message, values=values)]


def service_before_last_service(facts: PlanFacts) -> list[Finding]:
    """A second visit on one day does not start from old fluid."""
    last = facts.request.last_service
    if last is None or last.service_date < facts.request.service_date:
        return []
    message = f"Service on {facts.request.service_date}, last service on {last.service_date}."
    return [SERVICE_BEFORE_LAST_SERVICE.at("#/last_service/service_date", message)]


def level_wrong_on_arrival(facts: PlanFacts) -> list[Finding]:
    """An over- or under-filled unit is set right and driven first."""
    named = {"level_low_on_arrival", "level_high_on_arrival"} & set(facts.request.conditions)
    said = " and ".join(sorted(name.split("_")[1] for name in named))
    return [LEVEL_WRONG_ON_ARRIVAL.at("#/conditions", f"The level was {said}.")] if named else []


def filled_after_repair(facts: PlanFacts) -> list[Finding]:
    """A dry unit is no exchange."""
    if "after_repair" not in facts.request.conditions:
        return []
    return [FILLED_AFTER_REPAIR.at("#/conditions", "The unit was repaired or replaced.")]


def litres_beyond_use(facts: PlanFacts) -> list[Finding]:
    """More than three fills through the lines is a typing error or waste."""
    fixed, total_l = facts.request.exchanged, facts.transmission.total.l
    if fixed is None or fixed.l <= 3 * total_l:
        return []
    message = f"{fixed.l:g} L asked for, the unit holds {total_l:g} L."
    values = {"exchanged_l": fixed.l, "total_l": total_l}
    return [LITRES_BEYOND_USE.at("#/exchanged", message, values=values)]


def earlier_share_not_used(facts: PlanFacts) -> list[Finding]:
    """How old the renewed share has become since then is not known."""
    last = facts.request.last_service
    if last is None or last.fresh_share is None:
        return []
    message = (
        f"{last.fresh_share:.2f} was renewed on {last.service_date}; the forecast starts at 0."
    )
    values = {"fresh_share": last.fresh_share}
    return [EARLIER_SHARE_NOT_USED.at("#/last_service/fresh_share", message, values=values)]


def no_litres_fixed(facts: PlanFacts) -> list[Finding]:
    """Nothing through the lines is no line exchange."""
    fixed = facts.request.exchanged
    if fixed is None or fixed.l > 0:
        return []
    return [NO_LITRES_FIXED.at("#/exchanged", "0 L are fixed.")]


RULES: tuple[Rule[PlanFacts], ...] = (
    Rule(kind=ODOMETER_BELOW_LAST_SERVICE, check=odometer_below_last_service),
    Rule(kind=SERVICE_BEFORE_LAST_SERVICE, check=service_before_last_service),
    Rule(kind=LEVEL_WRONG_ON_ARRIVAL, check=level_wrong_on_arrival),
    Rule(kind=FILLED_AFTER_REPAIR, check=filled_after_repair),
    Rule(kind=LITRES_BEYOND_USE, check=litres_beyond_use),
    Rule(kind=EARLIER_SHARE_NOT_USED, check=earlier_share_not_used),
    Rule(kind=NO_LITRES_FIXED, check=no_litres_fixed),
)
"""The rules on history and arrival, in the order they are reported."""
